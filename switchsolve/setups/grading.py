"""Drawn set-ups, solved and put in order: a graded set, twins, and the hardest."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from switchsolve.counting import Refused, take_census
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.setups.difficulty import difficulty_of, is_whole
from switchsolve.setups.drawer import Drawer
from switchsolve.setups.figures import Figures, figures_of
from switchsolve.setups.twins import arrangements
from switchsolve.solving import solve
from switchsolve.study.likes import key_of, nameless

__all__ = ["Asking", "Graded", "Grading", "grade", "hardest", "twins"]


@dataclass(frozen=True, slots=True)
class Graded:
    """A set-up with its proved minimum (which ``puzzle`` states), its figures and its difficulty."""

    puzzle: Puzzle
    solution: Solution
    figures: Figures
    difficulty: float


@dataclass(slots=True)
class Grading:
    """``chosen``: from gentle to nasty, out of ``every`` one that is proved.

    ``looked_at`` set-ups were drawn and solved; of these ``impossible`` cannot be done (proved), and
    ``unproved`` were not decided in time: neither is among the chosen.  ``is_whole``: the difficulty has all
    its parts (see :mod:`switchsolve.setups.difficulty`).  ``is_last_layer``: proved the hardest of all clear
    standings for the work of the file; ``why_not``: why no census says so.  ``stopped``: by what.
    """

    chosen: list[Graded] = field(default_factory=list)
    every: list[Graded] = field(default_factory=list)
    looked_at: int = 0
    impossible: int = 0
    unproved: int = 0
    is_whole: bool = True
    is_last_layer: bool = False
    why_not: str | None = None
    stopped: str | None = None

    def add(self, other: Grading) -> None:
        """Add the counts of another."""
        self.looked_at += other.looked_at
        self.impossible += other.impossible
        self.unproved += other.unproved
        self.stopped = self.stopped or other.stopped


@dataclass(frozen=True, slots=True)
class Asking:
    """How set-ups are solved: ``seconds`` for each one (``None``: as long as it takes); ``tell`` hears of
    progress; ``stop`` is asked whether to stop, and gives the reason.
    """

    seconds: float | None = None
    tell: Callable[[str], None] = lambda text: None
    stop: Callable[[], str | None] = lambda: None


def grade(drawer: Drawer, count: int, seed: int, *, tries: int, asking: Asking | None = None) -> Grading:
    """``count`` of up to ``tries`` different set-ups, evenly spread from the gentlest to the nastiest."""
    grading = _solved(_drawn(drawer, seed, tries), tries, asking or Asking())
    grading.chosen = _spread(grading.every, count)
    return grading


def twins(drawer: Drawer, seed: int, *, tries: int, asking: Asking | None = None) -> Grading:
    """The gentlest and the nastiest of set-ups with the same cars in the same places and the same work.

    Drawn set-ups are arranged anew one after the other (:mod:`switchsolve.setups.twins`), in at most half of
    ``tries`` ways each, until ``tries`` have been solved; the pair that is farthest apart is taken.
    """
    best, total, asked = Grading(), Grading(), asking or Asking()
    for number in range(1, tries + 1):
        left = tries - total.looked_at
        if left < 2 or asked.stop() is not None:
            break
        found = arrangements(drawer, seed, number, min(left, -(-tries // 2)))
        grading = _solved(_unlike(found), len(found), asked)
        total.add(grading)
        grading.chosen = _spread(grading.every, 2)
        if len(grading.every) > 1 and _apart(grading) > _apart(best):
            best = grading
    return replace(total, chosen=best.chosen, every=best.every, is_whole=best.is_whole)


def _apart(grading: Grading) -> float:
    """How far apart in difficulty the first and the last are."""
    return grading.chosen[-1].difficulty - grading.chosen[0].difficulty if grading.chosen else -1.0


def hardest(
    puzzle: Puzzle,
    drawer: Callable[[], Drawer],
    seed: int,
    *,
    tries: int,
    most: int = 5_000,
    asking: Asking | None = None,
) -> Grading:
    """The hardest set-up: for the work of the file one of the farthest of all its clear standings, if they
    are no more than ``most``; else the one with the most moves (then difficulty) of up to ``tries`` drawn.

    ``drawer`` makes what draws them, if it comes to that; what it raises is let through.
    """
    asked = asking or Asking()
    try:
        example = take_census(puzzle, most=most, tell=_stoppable(asked)).example
        why_not = "the work lets the crew choose, or it can be done from nowhere"
    except (Refused, _Stopped) as error:
        example, why_not = None, str(error)
    if example is not None:
        grading = _solved(iter([example]), 1, replace(asked, seconds=None))
        grading.chosen, grading.is_last_layer = grading.every, bool(grading.every)
        return grading
    grading = _solved(_drawn(drawer(), seed, tries), tries, asked)
    grading.why_not = why_not
    grading.chosen = sorted(grading.every, key=lambda one: (one.figures.moves, one.difficulty))[-1:]
    return grading


class _Stopped(Exception):
    """The caller wants no more."""


def _stoppable(asking: Asking) -> Callable[[str], None]:
    """A teller that ends the census when asked to."""

    def tell(text: str) -> None:
        reason = asking.stop()
        if reason is not None:
            raise _Stopped(f"stopped by {reason}")
        asking.tell(text)

    return tell


def _drawn(drawer: Drawer, seed: int, tries: int) -> Iterator[Puzzle]:
    """Up to ``tries`` different set-ups."""
    drawn = (drawer.draw(seed, number) for number in range(1, tries + 1))
    return _unlike(puzzle for puzzle in drawn if puzzle is not None)


def _unlike(puzzles: Iterable[Puzzle]) -> Iterator[Puzzle]:
    """Each set-up once, also if only the names of like cars differ."""
    seen: set[str] = set()
    for puzzle in puzzles:
        key = key_of(nameless(puzzle)[0])
        if key not in seen:
            seen.add(key)
            yield puzzle


def _solved(puzzles: Iterator[Puzzle], tries: int, asking: Asking) -> Grading:
    """All that are proved, from gentle to nasty."""
    grading = Grading()
    found: list[tuple[Puzzle, Solution, Figures]] = []
    for puzzle in puzzles:
        grading.stopped = asking.stop()
        if grading.stopped is not None:
            break
        grading.looked_at += 1
        told = f"set-up {grading.looked_at} of at most {tries}"
        solution = _solve(puzzle, told, asking)
        if solution.verdict is Verdict.PROVED:
            figures = figures_of(puzzle, solution, seconds=asking.seconds, stop=asking.stop)
            found.append((_stated(puzzle, solution), solution, figures))
        grading.impossible += solution.verdict is Verdict.IMPOSSIBLE
        grading.unproved += solution.verdict in (Verdict.BEST_FOUND, Verdict.GAVE_UP)
    grading.is_whole = all(is_whole(figures) for _, _, figures in found)
    every = [Graded(*one, difficulty_of(one[2], whole=grading.is_whole)) for one in found]
    grading.every = sorted(every, key=lambda one: (one.difficulty, one.figures.moves, one.puzzle.title))
    return grading


def _solve(puzzle: Puzzle, told: str, asking: Asking) -> Solution:
    asking.tell(told)
    return solve(
        puzzle,
        seconds=asking.seconds,
        tell=lambda text: asking.tell(f"{told}: {text}"),
        stop=asking.stop,
    )


def _stated(puzzle: Puzzle, solution: Solution) -> Puzzle:
    """The set-up with its minimum in it."""
    assert solution.counts is not None
    return replace(
        puzzle, stated_minimum=solution.counts.moves, stated_verdict=str(Verdict.PROVED), traffic=None
    )


def _spread(every: Sequence[Graded], count: int) -> list[Graded]:
    """``count`` of them, evenly spread by rank; the first and the last are among them.

    Where there are enough, no two are equally hard.
    """
    unlike = list({round(one.difficulty, 6): one for one in reversed(every)}.values())[::-1]
    chosen = unlike if len(unlike) >= count else list(every)
    if len(chosen) <= count:
        return chosen
    if count == 1:
        return [chosen[len(chosen) // 2]]
    return [chosen[round(place * (len(chosen) - 1) / (count - 1))] for place in range(count)]
