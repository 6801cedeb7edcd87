"""From a file that leaves something open to arrangements that fulfill its wishes, or to what to leave out.

Every arrangement found is written as a file, read again and solved again, all of its rail as it is, before it
is called one.  If there is none, wishes and limits are left out in turn, the fewest first, until there is.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import combinations, islice
from pathlib import Path

from switchsolve.design import Wish
from switchsolve.designing.answers import Answer
from switchsolve.designing.asking import QUESTION, Asker, TimeOver
from switchsolve.designing.boxes import Indexes
from switchsolve.designing.demands import Demand, demands_of, items_wanted, wishes_of
from switchsolve.designing.searching import Limits, Search, Tally
from switchsolve.designing.space import Space
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, loads
from switchsolve.rowsfile import RowsFile
from switchsolve.rules import Rules
from switchsolve.search.exact import applies
from switchsolve.search.readying import EVENTS, RUNS, make_ready
from switchsolve.study import cores, pool

__all__ = ["RAIL", "TURNOUTS", "Arrangement", "Found", "Fulfilled", "Way", "design"]

RAIL, TURNOUTS = "most_rail", "most_turnouts"
"""What the two limits are called among what can be left out."""
Tell = Callable[[str], None] | None


@dataclass(frozen=True, slots=True)
class Fulfilled:
    """What one demand of a wish came to in one arrangement: ``about`` what, and the answer."""

    wish: Wish
    about: str
    answer: Answer


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One arrangement.  ``text`` is its puzzle file; ``chosen``: choices and options by name; ``rail`` in
    grid units; ``fulfilled``: what every wish came to when the file was solved again.
    """

    text: str
    puzzle: Puzzle
    chosen: tuple[tuple[str, str], ...]
    rail: int
    turnouts: int
    cost: Fraction
    fulfilled: tuple[Fulfilled, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """What to leave out (names of wishes, :data:`RAIL`, :data:`TURNOUTS`) so that there is an arrangement,
    and the best one then.
    """

    left_out: tuple[str, ...]
    arrangement: Arrangement


@dataclass(slots=True)
class Found:
    """What came out.

    ``arrangements``: the cheapest first.  ``is_exhaustive``: nothing that was not looked at, or not decided,
    can be cheaper than these; with none, that there is none.  ``ways``: what to leave out, if there is none;
    ``ways_exhaustive``: these are all of the fewest.  ``stopped``: what ended the work early.
    """

    tally: Tally
    arrangements: list[Arrangement] = field(default_factory=list)
    is_exhaustive: bool = False
    ways: list[Way] = field(default_factory=list)
    ways_exhaustive: bool = False
    stopped: str | None = None
    questions: int = 0
    from_file: int = 0


def design(
    puzzle: Puzzle,
    *,
    most: int = 3,
    workers: int | None = None,
    executor: Executor | None = None,
    rows: str | Path | None = None,
    seconds: float | None = None,
    tell: Tell = None,
) -> Found:
    """The ``most`` cheapest arrangements that fulfill the wishes of ``puzzle``.

    ``workers``: processes (``None``: one for each core; 1: none, this process solves), or ``executor``, which
    stays open; as in :func:`switchsolve.study.play`.  ``rows`` names a file to which every answer is added as
    it comes, and which is asked first.  ``seconds`` is for all of it.  Ctrl-C ends the work: what there is
    then is told, and ``stopped`` says so.

    Raises ``ValueError`` for a puzzle without a design, numbers that are too small, both ``workers`` and
    ``executor``; its :class:`~switchsolve.designing.demands.CannotAsk` at a wish about spots where there is
    no spot, or no car to ask with; :class:`~switchsolve.rowsfile.RowsError` if ``rows`` cannot be used.
    """
    if most < 1 or (workers is not None and workers < 1):
        raise ValueError("one arrangement and one worker at least")
    if workers is not None and executor is not None:
        raise ValueError("either workers or an executor")
    space = Space(puzzle)
    found = Found(Tally(space.design.arrangements))
    try:
        with ExitStack() as stack:
            file = None if rows is None else RowsFile(rows, QUESTION, "design")
            if file is not None:
                stack.callback(file.close)
            room = RUNS if applies(Rules(pack(puzzle)), with_halts=True) is None else EVENTS
            make_ready(tell, room)  # so that it does not hang on the clock which search finds a plan
            chosen = executor or stack.enter_context(pool(workers or cores(), room))
            asker = Asker(chosen, file, None if seconds is None else time.time() + seconds, tell)
            if file is not None:
                asker.read()
            _Finder(space, asker, found).find(most)
    except KeyboardInterrupt:
        found.stopped = "Ctrl-C"
    return found


class _Finder:
    """Fills one :class:`Found`."""

    def __init__(self, space: Space, asker: Asker, found: Found) -> None:
        self._space = space
        self._asker = asker
        self._found = found
        self._wishes = wishes_of(space.puzzle)
        self._names = [wish.name for wish in self._wishes]
        limits = ((RAIL, space.design.most_rail), (TURNOUTS, space.design.most_turnouts))
        self._names += [name for name, limit in limits if limit is not None]

    def find(self, most: int) -> None:
        """The arrangements; if there are none, what to leave out."""
        found, asker = self._found, self._asker
        try:
            search = self._search(())
            found.tally = search.tally
            for arrangement in islice(self._arrangements(search, self._wishes), most):
                found.arrangements.append(arrangement)
            found.is_exhaustive = not search.tally.undecided
            if not found.arrangements and found.is_exhaustive:
                self._find_ways()
        except TimeOver:
            found.stopped = "the limit of seconds"
        finally:
            found.questions, found.from_file = asker.asked, asker.from_file

    def _search(self, left_out: tuple[str, ...]) -> Search:
        """A search without some of what is asked."""
        asked = self._space.design
        limits = Limits(
            None if RAIL in left_out else asked.most_rail,
            None if TURNOUTS in left_out else asked.most_turnouts,
        )
        return Search(self._space, self._counting(left_out), limits, self._asker)

    def _counting(self, left_out: tuple[str, ...]) -> tuple[Wish, ...]:
        return tuple(wish for wish in self._wishes if wish.name not in left_out)

    def _find_ways(self) -> None:
        """Leave out as few wishes and limits as will do, in every way."""
        undecided = 0
        for size in range(1, len(self._names) + 1):
            for left_out in combinations(self._names, size):
                search = self._search(left_out)
                search.note = f"none fulfills everything; without {' and '.join(left_out)}: "
                best = next(self._arrangements(search, self._counting(left_out)), None)
                undecided += search.tally.undecided
                if best is not None:
                    self._found.ways.append(Way(left_out, best))
            if self._found.ways:
                break
        self._found.ways_exhaustive = not undecided

    def _arrangements(self, search: Search, wishes: tuple[Wish, ...]) -> Iterator[Arrangement]:
        for number, (picks, lengths) in enumerate(search.run(), 1):
            arrangement = self._written(picks, lengths, number)
            yield replace(arrangement, fulfilled=self._solved_again(arrangement, wishes))

    def _written(self, picks: Indexes, lengths: Indexes, number: int) -> Arrangement:
        space = self._space
        chosen = space.told(picks, lengths)
        laid = space.laid(picks, lengths)
        title = f"{laid.title} (arrangement {number})" if laid.title else f"Arrangement {number}"
        told = "; ".join(f"{choice}: {option}" for choice, option in chosen)
        puzzle = replace(laid, title=title, notes={**laid.notes, "arrangement": told})
        return Arrangement(
            dumps(puzzle),
            puzzle,
            chosen,
            space.rail(picks, lengths),
            space.turnouts(picks),
            space.cost(picks, lengths),
        )

    # ---- solved again

    def _solved_again(self, arrangement: Arrangement, wishes: tuple[Wish, ...]) -> tuple[Fulfilled, ...]:
        """Every wish asked of the written file, with nothing taken over from the search."""
        again = loads(arrangement.text)
        rows: list[Fulfilled] = []
        for wish in wishes:
            items = demands_of(wish, again, whole=True)
            asked = [[(f"again {one.question.key()}", one) for one in item] for item in items]
            self._asker.put(
                [(key, one.question) for row in asked for key, one in row],
                lambda: "solving what was found again, from its file",
            )
            met = sum(all(self._is_met(key, one) for key, one in row) for row in asked)
            if met < items_wanted(wish, items):
                raise AssertionError(f"{arrangement.text}\ndoes not fulfill {wish.name!r}: a defect")
            rows += [Fulfilled(wish, row[0][1].about, self._asker.known[row[0][0]]) for row in asked]
        return tuple(rows)

    def _is_met(self, key: str, demand: Demand) -> bool:
        answer = self._asker.known[key]
        if demand.of_trips:
            return answer.trips is not None and answer.trips <= demand.most
        return demand.least <= answer.figure.least and answer.figure.most <= demand.most
