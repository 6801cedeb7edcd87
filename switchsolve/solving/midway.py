"""In the midst of a plan: the fewest moves that do some work from where its runs have brought everything.

Unlike :mod:`~switchsolve.solving.onward` it needs no row of actions: the standing is that of the real
positions on which the referee sees the runs end, strings that are foul of a junction among them.
"""

from __future__ import annotations

from switchsolve.goal import Goal
from switchsolve.packing import PackedPuzzle, pack
from switchsolve.plan import Placed, Plan, Solution, Verdict
from switchsolve.planning import follow
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Frame, replay, replay_so_far
from switchsolve.rules import BegunRules, Rules, String
from switchsolve.search.events import EventResult
from switchsolve.solving.by_moves import MovesCase, row_of
from switchsolve.solving.limit import Limit, allowed

__all__ = ["solve_midway"]


def solve_midway(puzzle: Puzzle, so_far: Plan, *, seconds: float | None = None) -> Solution | None:
    """The work of ``puzzle`` in the fewest moves after the runs of ``so_far`` (its last cuts left aside).

    The plan and the counts of the answer are of the whole, ``so_far`` included, and so is its lower bound.
    ``None``: there are several locomotives, a table or a do-not-touch car, which is not done here.  Raises
    :class:`~switchsolve.errors.PlanError` if the runs are not legal.
    """
    packed = pack(puzzle)
    judged = replay_so_far(puzzle, so_far)
    placed = judged.frames[-1].standing
    is_plain = len(packed.loco_names) == 1 and not packed.start_lined
    if not is_plain or any(name not in packed.class_of for one in placed for name in one.vehicles):
        return None
    rules = Rules(packed)
    moved = frozenset(name for frame in judged.frames for name in frame.moving)
    rows = [(_string(packed, one, moved), one.offset) for one in placed]
    found = rules.at_places(rows, _direction(packed, judged.frames))
    if found is None:
        return None
    standing, numbers = found
    names = [_listed(rows[at][0], placed[at], standing.strings[new]) for new, at in enumerate(numbers)]
    begun = BegunRules(packed, standing)
    case = _Case(begun, so_far, names, judged.counts.moves, allowed(seconds, None, None))
    return case.solve("steady", False)


class _Case(MovesCase):
    """The rest of one set-up's work being solved."""

    def __init__(
        self, rules: Rules, so_far: Plan, names: list[tuple[str, ...]], moves: int, limit: Limit
    ) -> None:
        super().__init__(rules.p.puzzle, rules, Goal(rules), limit, 0, is_steady=True)
        self._so_far, self._names = so_far, names
        self._before = moves - self.under_way

    def _with_ties(self, proof: EventResult, moves: int) -> Solution:
        # ties are not told here
        return self._answer(Verdict.PROVED, self.rules, proof, moves, moves)

    def _answer(
        self,
        verdict: Verdict,
        rules: Rules,
        result: EventResult,
        moves: int,
        least: int,
        handling_proved: bool = False,
    ) -> Solution:
        assert result.met is not None
        standings, actions = row_of(result)
        stretch = follow(rules, standings, actions, self._names, result.met.zone)
        cuts = tuple((stretch.names[slot][at], stretch.names[slot][at + 1]) for slot, at in result.met.cuts)
        plan = Plan(self._so_far.start, (*self._so_far.runs, *stretch.runs), cuts)
        counts = replay(self.puzzle, plan).counts
        if counts.moves != self._before + moves:
            found = self._before + moves
            raise AssertionError(f"the referee counts {counts.moves} moves, not {found}: a defect")
        limit = self.limit.name() if verdict is Verdict.BEST_FOUND else None
        return Solution(verdict, self._before + least, plan=plan, counts=counts, limit=limit)


def _string(packed: PackedPuzzle, placed: Placed, moved: frozenset[str]) -> String:
    """A string by number; what has ``moved`` is no longer exempt from keeping clear."""

    def token(name: str) -> int:
        number = packed.class_of[name]
        return 2 * (packed.moved[number] if name in moved else number) + (placed.noses.get(name, 1) < 0)

    ways = tuple(2 * packed.pieces[way.cell][0] + (way.sign < 0) for way in placed.ways)
    return String(ways, tuple(token(name) for name in placed.vehicles))


def _direction(packed: PackedPuzzle, frames: tuple[Frame, ...]) -> tuple[int, ...]:
    """The direction of the locomotive's last motion."""
    if len(frames) == 1:
        return packed.start_last
    moving = next(one for one in frames[-1].standing if one.vehicles == frames[-1].moving)
    return (moving.noses[packed.loco_names[0]],)


def _listed(string: String, placed: Placed, ordered: String) -> tuple[str, ...]:
    """The names of a string, in the order in which the standing lists it."""
    return placed.vehicles if ordered.ways == string.ways else placed.vehicles[::-1]
