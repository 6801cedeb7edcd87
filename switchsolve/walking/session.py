"""A walk: where everything stands, what can be chosen, what has been done, and what is still to do."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from functools import cached_property

from switchsolve.drawing import placed_at_start
from switchsolve.goal import Goal, Met
from switchsolve.packing import pack
from switchsolve.plan import Placed, Plan, Run, Verdict
from switchsolve.planning import Stretch, fixed_cars, follow, make_plan, start_names
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules, Standing
from switchsolve.solving import Onward, Walked, solve_onward
from switchsolve.walking.choices import Choice, choices_of
from switchsolve.walking.hints import next_step, rest_of
from switchsolve.walking.stops import Stop, rested, stops_of
from switchsolve.walking.telling import step_text
from switchsolve.walking.wishes import wish_after, wish_at_start

__all__ = ["Here", "Step", "Walk"]


@dataclass(frozen=True, slots=True)
class Here:
    """Where a walk has come to.

    ``names``: the vehicles in each string of ``standing``; ``points``: where in its cells each is shown;
    ``placed``: the same on real rail, do-not-touch cars among them.  ``moves``, ``couplings`` and ``cuts``
    are counted as in a plan; locomotives under way at the start are in a move already.
    """

    standing: Standing
    names: tuple[tuple[str, ...], ...]
    points: tuple[int, ...]
    placed: tuple[Placed, ...]
    moves: int
    couplings: int = 0
    cuts: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a walk: from where, how, to where, and in words.

    ``set_off``: where everything is shown when it sets off, do-not-touch cars among them; ``run``: what is
    then run (``None``: a table was lined).
    """

    before: Here
    stop: Stop
    set_off: tuple[Placed, ...]
    run: Run | None
    after: Here
    text: str


class Walk:
    """One person's walk through one set-up.

    ``start``: which of the starting standings that the file allows (a string may lie over several parts of
    its track).  Raises ``ValueError`` if there is no such start.
    """

    def __init__(self, puzzle: Puzzle, start: int = 0) -> None:
        self.puzzle = puzzle
        self.rules = Rules(pack(puzzle))
        self.goal = Goal(self.rules)
        self.steps: list[Step] = []
        self._undone: list[Step] = []
        self._known: dict[Standing, Onward] = {}
        self._fixed = fixed_cars(self.rules)
        self._first = self._beginning(start)
        self._choices: tuple[Here, list[Stop], list[Choice]] | None = None

    def _beginning(self, start: int) -> Here:
        starts = [still for one in self.rules.starts() if (still := rested(self.rules, one)) is not None]
        if not 0 <= start < len(starts):
            raise ValueError(f"there is no start {start}: the file allows {len(starts)}")
        standing = starts[start]
        names = start_names(self.rules, standing)
        wish = wish_at_start(self.rules, standing, names, placed_at_start(self.puzzle))
        shown = follow(self.rules, [standing], [], names, standing.zone, wish)
        moves = sum(1 for last in standing.last if last)
        return Here(standing, shown.names, shown.points, (*shown.end, *self._fixed), moves)

    @cached_property
    def starts(self) -> int:
        """How many starting standings the file allows."""
        return sum(1 for one in self.rules.starts() if rested(self.rules, one) is not None)

    def copy(self) -> Walk:
        """The same walk, to go on by itself."""
        other = copy(self)
        other.steps, other._undone = self.steps[:], self._undone[:]
        return other

    # ---- now

    @property
    def here(self) -> Here:
        """Where the walk has come to."""
        return self.steps[-1].after if self.steps else self._first

    @property
    def met(self) -> Met | None:
        """How the work is done here, or ``None``."""
        return self.goal.met(self.here.standing)

    @property
    def is_done(self) -> bool:
        """Whether the work is done here, once the last cuts are made."""
        return self.met is not None

    @property
    def last_cuts(self) -> tuple[tuple[str, str], ...]:
        """The pairs to be uncoupled at the end, if the work is done here."""
        met = self.met
        names = self.here.names
        return () if met is None else tuple((names[slot][v], names[slot][v + 1]) for slot, v in met.cuts)

    @property
    def choices(self) -> list[Choice]:
        """Every step that the law allows now, in a fixed order."""
        return self._looked_up()[1]

    @property
    def stops(self) -> list[Stop]:
        """The same as rows of actions of the law."""
        return self._looked_up()[0]

    def _looked_up(self) -> tuple[list[Stop], list[Choice]]:
        here = self.here
        if self._choices is None or self._choices[0] is not here:
            stops = stops_of(self.rules, here.standing)
            self._choices = here, stops, choices_of(self.rules, here.standing, here.names, stops)
        return self._choices[1:]

    # ---- on and back

    def go(self, number: int) -> Step:
        """Make the step of ``choices[number]``.  Raises ``ValueError`` if there is none."""
        if not 0 <= number < len(self.stops):
            raise ValueError(f"there is no choice {number}: there are {len(self.stops)}")
        known = self._known_after(number)
        step = self._step(self.stops[number])
        self.steps.append(step)
        self._undone.clear()
        if known is not None:
            self.learn(known)
        return step

    def _known_after(self, number: int) -> Onward | None:
        """The rest of the plan that is known, if this is the step with which it begins."""
        onward = self._known.get(self.here.standing)
        found = None if onward is None else next_step(self.rules, self.here.standing, self.stops, onward)
        if onward is None or found is None or found[0] != number:
            return None
        stop = self.stops[number]
        return rest_of(self.rules, stop.end, onward, found[1], stop.cost.moves)

    def undo(self) -> bool:
        """Take back one step; whether there was one."""
        if not self.steps:
            return False
        self._undone.append(self.steps.pop())
        return True

    def redo(self) -> bool:
        """Make again the step that was taken back last; whether there was one."""
        if not self._undone:
            return False
        self.steps.append(self._undone.pop())
        return True

    @property
    def can_redo(self) -> bool:
        """Whether a step was taken back that can be made again."""
        return bool(self._undone)

    def _step(self, stop: Stop) -> Step:
        before = self.here
        wish = wish_after(self.rules, before.standing, before.points, stop)
        row = [before.standing, *stop.standings]
        shown = follow(self.rules, row, stop.actions, before.names, stop.end.zone, wish)
        after = self._after(before, stop, shown)
        run = shown.runs[0] if shown.runs else None
        set_off = (*shown.start, *self._fixed)
        text = step_text(self.puzzle, stop, set_off, run, after.placed)
        return Step(before, stop, set_off, run, after, text)

    def _after(self, before: Here, stop: Stop, shown: Stretch) -> Here:
        return Here(
            stop.end,
            shown.names,
            shown.points,
            (*shown.end, *self._fixed),
            before.moves + stop.cost.moves,
            before.couplings + sum(1 for action in stop.actions if action.event == "couple"),
            before.cuts + sum(1 for action in stop.actions if action.cut),
        )

    # ---- the whole

    def walked(self) -> Walked:
        """All that has been done so far, as a row of actions of the law."""
        standings = [self._first.standing, *(one for step in self.steps for one in step.stop.standings)]
        actions = [action for step in self.steps for action in step.stop.actions]
        return Walked(tuple(standings), tuple(actions), self.here.moves)

    def plan(self) -> Plan:
        """All that has been done so far on real positions, with the last cuts if the work is done."""
        walked, met = self.walked(), self.met
        if met is None:
            met = Met(self.here.standing.zone, ())
        return make_plan(self.rules, list(walked.standings), list(walked.actions), met)

    # ---- on request

    def ahead(
        self,
        *,
        seconds: float | None = None,
        tell: Callable[[str], None] | None = None,
        stop: Callable[[], str | None] | None = None,
    ) -> Onward:
        """What can be said of the moves that are still needed from here; at once, if it is known.

        Raises :class:`~switchsolve.errors.PlanError` if the referee rejects the plan found (a defect).
        """
        onward = self._known.get(self.here.standing)
        if onward is None:
            onward = solve_onward(self.rules.p, self.walked(), seconds=seconds, tell=tell, stop=stop)
        return onward

    def learn(self, onward: Onward) -> None:
        """Remember what :meth:`ahead` has found from here, if it is proved.

        Whoever then follows its plan is told the rest of it.
        """
        if onward.verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE):
            self._known[self.here.standing] = onward

    def good_next(self, onward: Onward) -> int | None:
        """The choice with which the plan of ``onward``, found from here, begins; ``None`` if that has no
        step.
        """
        found = next_step(self.rules, self.here.standing, self.stops, onward)
        return None if found is None else found[0]
