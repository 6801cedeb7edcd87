"""One piece of work solved: its moves, how long each takes, where everything stands after it.

Runs in whatever process an executor has; what it needs and gives is plain data.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from switchsolve.operating.clearing import Clearing, clearings_of
from switchsolve.operating.lasting import seconds_of_moves
from switchsolve.operating.lessening import part_of_it
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.referee.rail import Ground, turned
from switchsolve.study.answering import answered, without
from switchsolve.work import EndsIn, Train

__all__ = ["Worked", "done_on_paper", "parted", "why_left", "work_out"]


@dataclass(frozen=True, slots=True)
class Worked:
    """What came out.

    ``move_seconds``: of each move, by the file's ``[times]``, last cuts with the last.  ``train``: cars of
    the departing train from the locomotive outwards; ``standing``: the others by track, from its ``from`` end
    ``clearings``: for each standing after a move but the last (``None``: no way was found in time).
    """

    verdict: Verdict
    moves: int | None
    bound: int | None
    left_over: tuple[str, ...]
    is_most: bool
    move_seconds: tuple[float, ...] = ()
    train: tuple[str, ...] = ()
    standing: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    clearings: tuple[Clearing | None, ...] = ()

    @property
    def is_done(self) -> bool:
        """Whether there is a plan."""
        return self.moves is not None

    def renamed(self, names: Mapping[str, str]) -> Worked:
        """The same with cars of other names."""
        return replace(
            self,
            left_over=tuple(names[car] for car in self.left_over),
            train=tuple(names[car] for car in self.train),
            standing={track: tuple(names[car] for car in row) for track, row in self.standing.items()},
        )


def work_out(puzzle: Puzzle, seconds: float | None = None, main: tuple[str, ...] = ()) -> Worked:
    """The most of the work that can be done, in the fewest moves; ``seconds`` for all of it.

    ``main``: tracks to be cleared for passing trains.  The puzzle has one locomotive.  If no plan for all of
    it is found in time, a part of it is tried (then ``is_most`` is false).  The verdict *gave up* means that
    there is no plan in time even so: nothing is done.
    """
    outcome, solution = answered(puzzle, seconds)
    if outcome.verdict is Verdict.GAVE_UP:
        outcome, solution = part_of_it(puzzle, seconds)
    if solution is None or solution.plan is None:
        return Worked(outcome.verdict, None, outcome.bound, outcome.left_over, outcome.is_most)
    done = without(puzzle, outcome.left_over)
    replayed = replay(done, solution.plan)
    train, standing = _standing_after(done, replayed)
    return Worked(
        outcome.verdict,
        outcome.moves,
        outcome.bound,
        outcome.left_over,
        outcome.is_most,
        seconds_of_moves(done, solution.plan, replayed),
        train,
        standing,
        clearings_of(done, solution.plan, replayed, main, seconds) if main else (),
    )


def done_on_paper(puzzle: Puzzle) -> Worked:
    """As if all the work were done, with nothing solved: for questions of cars and lengths alone."""
    brought = {item.car: item.places[0].track for item in puzzle.work.items if isinstance(item, EndsIn)}
    taken = [car for item in puzzle.work.items if isinstance(item, Train) for car in sorted(item.cars)]
    standing: dict[str, list[str]] = {}
    cars = {car.name for car in puzzle.cars}
    for string in puzzle.start.strings:
        for name in string.vehicles:
            if name in cars and name not in taken:
                standing.setdefault(brought.get(name, string.track), []).append(name)
    rows = {track: tuple(row) for track, row in standing.items()}
    return Worked(Verdict.GAVE_UP, 0, 0, (), True, (), tuple(taken), rows)


def why_left(worked: Worked) -> str:
    """Why work was left undone."""
    if worked.verdict is Verdict.GAVE_UP or not worked.is_most:
        return "no plan found in time for all of it"
    return "not possible with the rest of the work" if worked.is_done else "not possible"


def parted(worked: Worked, blocks: Mapping[str, tuple[str, ...]]) -> Worked:
    """What came out, with the cars of each long car instead of it (see ``yarding``); ``standing`` is left as
    it is, by long cars."""
    return replace(
        worked,
        left_over=tuple(car for name in worked.left_over for car in blocks[name]),
        train=tuple(car for name in worked.train for car in blocks[name]),
    )


def _standing_after(puzzle: Puzzle, replayed: Replay) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """The cars of the train from the locomotive outwards, and the rest by track from its ``from`` end."""
    (locomotive,) = (one.name for one in puzzle.locomotives)
    train: tuple[str, ...] = ()
    ground = Ground.of(puzzle)
    rows: dict[str, list[tuple[int, int, tuple[str, ...]]]] = {}
    for placed in replayed.frames[-1].standing:
        if locomotive in placed.vehicles:
            place = placed.vehicles.index(locomotive)
            # those on the other side of the locomotive come after the rest
            train = placed.vehicles[place + 1 :] + placed.vehicles[:place][::-1]
            continue
        along = placed if placed.ways[0].sign > 0 else turned(ground, placed)
        cell = along.ways[0].cell
        rows.setdefault(cell.place, []).append((cell.index, along.offset, along.vehicles))
    in_order = {track: [car for *_, row in sorted(found) for car in row] for track, found in rows.items()}
    return train, {track: tuple(row) for track, row in in_order.items()}
