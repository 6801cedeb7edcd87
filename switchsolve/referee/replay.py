"""Replay a plan on real positions, step by step, and say no at the first thing that is not allowed.

Here are the steps, what is remembered from one to the next, and the counts; one advance is followed
in :mod:`switchsolve.referee.sweep`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from switchsolve.district import Junction, KeepClear, Way
from switchsolve.errors import PlanError
from switchsolve.plan import Advance, Counts, Couple, Cut, Line, Placed, Plan, Run, Step
from switchsolve.puzzle import Puzzle
from switchsolve.referee.finish import Finish
from switchsolve.referee.marks import broken_limit, left_foul
from switchsolve.referee.rail import (
    Ground,
    contacts,
    is_live,
    joined,
    names,
    overlap,
    split,
    turned,
)
from switchsolve.referee.start import check_start
from switchsolve.referee.sweep import Sweep
from switchsolve.vehicles import Car

__all__ = ["Frame", "Replay", "replay", "replay_so_far"]


@dataclass(frozen=True, slots=True)
class Frame:
    """The standing at rest after one stage of the plan, and what was done in that stage.

    ``label`` is ``start``, ``run 1``, ``run 2``, ... or ``end`` (after the final cuts).  ``moving`` is the
    string that the run moved, as it was at the end of the run, listed in its direction of travel.
    ``entered``: the ways that its leading end newly entered.  ``coupled`` and ``cut``: the strings taken up
    and left, as the steps list them.  ``reversing``: the locomotives that changed direction.
    """

    label: str
    standing: tuple[Placed, ...]
    moving: tuple[str, ...] = ()
    entered: tuple[Way, ...] = ()
    coupled: tuple[tuple[str, ...], ...] = ()
    cut: tuple[tuple[str, ...], ...] = ()
    reversing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Replay:
    """A plan that has been found legal: what it costs, and the standing after each stage.

    ``cars_in_hand``: cars (dead locomotives among them) in the string that sets off and those that it couples
    to, added up over the runs; a measure of how much is dragged about.
    """

    counts: Counts
    frames: tuple[Frame, ...]
    cars_in_hand: int = 0


def replay(puzzle: Puzzle, plan: Plan) -> Replay:
    """Replay ``plan``.

    Raises ``PlanError`` at the first violation; ``where`` is ``start``, ``run 3``, ``run 3, step 2``,
    ``final cut 1`` or ``end`` (runs and steps counted from 1).
    """
    return _Referee(puzzle, plan).judge()


def replay_so_far(puzzle: Puzzle, plan: Plan) -> Replay:
    """Replay a plan that need not come to the end of the work: its last cuts and the items are not looked at.

    There is a frame for the start and for each run.  Raises ``PlanError`` as :func:`replay` does.
    """
    return _Referee(puzzle, plan).judge(to_the_end=False)


@dataclass
class _Tally:
    """What happened in one stage (a run, or the final cuts)."""

    reversing: list[str] = field(default_factory=list)
    coupled: list[tuple[str, ...]] = field(default_factory=list)
    cut: list[tuple[str, ...]] = field(default_factory=list)
    entered: list[Way] = field(default_factory=list)
    in_hand: int | None = None
    """``None`` until the string sets off."""


class _Referee:
    """The state of a replay: the standing strings, the moving one, and what is remembered."""

    def __init__(self, puzzle: Puzzle, plan: Plan) -> None:
        self._puzzle, self._plan = puzzle, plan
        self._ground = Ground.of(puzzle)
        self._district = puzzle.district
        self._lined = {table.name: table.lined for table in puzzle.district.tables}
        self._standing = check_start(self._ground, puzzle, plan.start)
        # Each locomotive's direction of last motion: True is its own forward.
        self._forward = {
            locomotive: puzzle.start.heads[locomotive] == end
            for locomotive, end in puzzle.start.under_way.items()
        }
        self._ever_moved: set[str] = set()
        self._tables_turned = 0
        self._tallies: list[_Tally] = []
        self._frames = [Frame("start", tuple(self._standing))]
        # Within a run only: ``_standing`` then holds all strings but the moving one.
        self._moving: Placed
        self._met: Placed | None = None
        self._before_cut: list[Placed] | None = None

    def judge(self, to_the_end: bool = True) -> Replay:
        """Everything in order."""
        for number, run in enumerate(self._plan.runs, 1):
            self._run(f"run {number}", run)
        if to_the_end:
            self._final_cuts()
            self._end()
        in_hand = sum(tally.in_hand or 0 for tally in self._tallies)
        return Replay(self._counts(), tuple(self._frames), in_hand)

    # -- runs ---------------------------------------------------------------------------------

    def _run(self, where: str, run: Run) -> None:
        self._tallies.append(_Tally())
        self._begin(where, run)
        for index, step in enumerate(run.steps):
            following = run.steps[index + 1] if index + 1 < len(run.steps) else None
            self._step(f"{where}, step {index + 1}", run, step, following)
        self._standing.append(self._moving)
        self._add_frame(where, self._moving.vehicles)

    def _begin(self, where: str, run: Run) -> None:
        """Take the running locomotive's string out of the standing, listed in the direction of travel."""
        if run.locomotive not in self._ground.vehicles or not is_live(self._ground, run.locomotive):
            raise PlanError(where, f"{run.locomotive} is no live locomotive of the set-up")
        if not any(isinstance(step, Advance) for step in run.steps):
            raise PlanError(where, "the run goes nowhere")
        string = next(string for string in self._standing if run.locomotive in string.vehicles)
        self._standing.remove(string)
        goes_along = (string.noses[run.locomotive] > 0) == run.forward
        self._moving = string if goes_along else turned(self._ground, string)
        self._before_cut = None

    def _step(self, where: str, run: Run, step: Step, following: Step | None) -> None:
        if isinstance(step, Advance):
            self._advance(where, step)
            if self._met is not None and not isinstance(following, Couple):
                touched = names(self._met.vehicles)
                raise PlanError(where, f"comes to touch {touched} and does not couple to it")
        elif isinstance(step, Couple):
            self._couple(where, step)
        elif isinstance(step, Cut):
            self._cut(where, run, step, following)
        else:
            self._line(where, step)

    # -- advance ------------------------------------------------------------------------------

    def _advance(self, where: str, step: Advance) -> None:
        if step.distance <= 0:
            raise PlanError(where, f"the distance {step.distance} is not above zero")
        self._remember_directions(where)
        if self._tallies[-1].in_hand is None:
            self._tallies[-1].in_hand = self._cars_of(self._moving.vehicles)
        sweep = Sweep(where, self._ground, self._standing, self._lined)
        self._moving = sweep.advance(self._moving, step)
        self._ever_moved.update(self._moving.vehicles)
        self._tallies[-1].entered.extend(step.enters)
        self._before_cut = None
        self._check_standing(where)

    def _remember_directions(self, where: str) -> None:
        """Note which locomotives reverse; if any does, what is to be kept clear must be clear."""
        turning = []
        for locomotive, nose in self._moving.noses.items():
            if self._forward.get(locomotive, nose > 0) != (nose > 0):
                turning.append(locomotive)
            self._forward[locomotive] = nose > 0
        self._tallies[-1].reversing.extend(turning)
        if turning:
            strings = self._before_cut or [*self._standing, self._moving]
            foul = left_foul(self._ground, strings, self._ever_moved, {KeepClear.ALWAYS})
            if foul:
                raise PlanError(where, f"at the reversal of {names(turning)}, {foul}")

    def _check_standing(self, where: str) -> None:
        """No overlap, no excluded routes; note the string at the leading end, and allow no other contact.

        All but the leading end is a net under the sweep, which has refused such things already.
        """
        everything = [*self._standing, self._moving]
        wrong = overlap(self._ground, everything)
        if wrong:
            raise PlanError(where, wrong)
        self._met = None
        for one, other in contacts(self._ground, everything, self._lined):
            if one == self._moving:
                self._met = other
            elif set(other.vehicles) != set(self._moving.vehicles):
                raise PlanError(where, f"{names(one.vehicles)} touches {names(other.vehicles)}")

    # -- the other steps ----------------------------------------------------------------------

    def _couple(self, where: str, step: Couple) -> None:
        if self._met is None:
            raise PlanError(
                where, f"nothing that couples is touched; cannot couple to {names(step.vehicles)}"
            )
        if step.vehicles != self._met.vehicles:
            raise PlanError(where, f"touches {names(self._met.vehicles)}, not {names(step.vehicles)}")
        string = joined(self._ground, self._moving, self._met)
        wrong = broken_limit(self._ground, string, [way.cell for way in string.ways])
        if wrong:
            raise PlanError(where, wrong)
        taken = set(self._met.vehicles)
        self._standing = [other for other in self._standing if set(other.vehicles) != taken]
        self._moving = string
        self._tallies[-1].coupled.append(step.vehicles)
        self._tallies[-1].in_hand = (self._tallies[-1].in_hand or 0) + self._cars_of(step.vehicles)
        self._check_standing(where)

    def _cut(self, where: str, run: Run, step: Cut, following: Step | None) -> None:
        count = len(step.vehicles)
        if count == 0 or step.vehicles != self._moving.vehicles[:count][::-1]:
            raise PlanError(where, f"{names(step.vehicles)} do not trail in {names(self._moving.vehicles)}")
        if run.locomotive in step.vehicles:
            raise PlanError(where, f"{run.locomotive}, which runs, would be left behind")
        if not isinstance(following, Advance):
            raise PlanError(where, "a cut must be followed by an advance of the rest")
        self._before_cut = [*self._standing, self._moving]
        left, self._moving = split(self._ground, self._moving, count)
        self._standing.append(left)
        self._tallies[-1].cut.append(step.vehicles)

    def _line(self, where: str, step: Line) -> None:
        table = next((table for table in self._district.tables if table.name == step.table), None)
        if table is None or not 0 <= step.index < len(table.meets):
            raise PlanError(where, f"{step.table} has no pair {step.index} to be lined to")
        if self._lined[table.name] == step.index:
            raise PlanError(where, f"{table.name} is lined so already")
        for string in (*self._standing, self._moving):
            places = {way.cell.place for way in string.ways}
            if table.name in places and len(places) > 1:
                raise PlanError(where, f"{names(string.vehicles)} stands partly on {table.name}")
        self._lined[table.name] = step.index
        self._tables_turned += 1
        self._check_no_contact(where)

    def _check_no_contact(self, where: str) -> None:
        for one, other in contacts(self._ground, [*self._standing, self._moving], self._lined):
            raise PlanError(where, f"{names(one.vehicles)} would touch {names(other.vehicles)}")

    # -- the end ------------------------------------------------------------------------------

    def _final_cuts(self) -> None:
        self._tallies.append(_Tally())
        for number, (one, other) in enumerate(self._plan.final_cuts, 1):
            self._final_cut(f"final cut {number}", one, other)
        self._add_frame("end", ())

    def _final_cut(self, where: str, one: str, other: str) -> None:
        for index, string in enumerate(self._standing):
            for count, pair in enumerate(zip(string.vehicles, string.vehicles[1:], strict=False), 1):
                if set(pair) == {one, other}:
                    self._standing[index : index + 1] = split(self._ground, string, count)
                    self._tallies[-1].cut.append((one, other))
                    return
        raise PlanError(where, f"{one} and {other} are not coupled to each other")

    def _end(self) -> None:
        Finish(self._ground, self._puzzle, self._standing).check()
        forms = {KeepClear.ALWAYS, KeepClear.AT_END}
        foul = left_foul(self._ground, self._standing, self._ever_moved, forms)
        if foul:
            raise PlanError("end", foul)

    def _add_frame(self, label: str, moving: tuple[str, ...]) -> None:
        tally = self._tallies[-1]
        self._frames.append(
            Frame(
                label=label,
                standing=tuple(self._standing),
                moving=moving,
                entered=tuple(tally.entered),
                coupled=tuple(tally.coupled),
                cut=tuple(tally.cut),
                reversing=tuple(tally.reversing),
            )
        )

    def _counts(self) -> Counts:
        reversals = sum(len(tally.reversing) for tally in self._tallies)
        entered = [way for tally in self._tallies for way in tally.entered]
        return Counts(
            moves=reversals + len(self._forward),
            reversals=reversals,
            couplings=sum(len(tally.coupled) for tally in self._tallies),
            cuts=sum(len(tally.cut) for tally in self._tallies),
            cars_moved=sum(isinstance(self._ground.vehicles[name], Car) for name in self._ever_moved),
            turnouts_thrown=self._turnouts_thrown(entered),
            tables_turned=self._tables_turned,
            distance=sum(self._district.cell_length(way.cell) for way in entered),
        )

    def _cars_of(self, vehicles: tuple[str, ...]) -> int:
        return sum(not is_live(self._ground, name) for name in vehicles)

    def _turnouts_thrown(self, entered: list[Way]) -> int:
        """Times that a route is entered other than the one used last in its junction."""
        thrown, last = 0, dict[str, int]()
        for way in entered:
            if isinstance(self._district.place(way.cell.place), Junction):
                thrown += last.get(way.cell.place, way.cell.index) != way.cell.index
                last[way.cell.place] = way.cell.index
        return thrown
