"""The work of every spot of a district: all rows, one after the other or on several cores."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import wait
from dataclasses import dataclass

from switchsolve.facts.probes import Bench, Entry, bench, entries
from switchsolve.measuring.arrivals import Arrival, Task, among_neighbors, places_of
from switchsolve.measuring.spot_rows import Minimum, Row, SpotAsker, switches_back
from switchsolve.puzzle import Puzzle
from switchsolve.search.readying import RUNS, make_ready
from switchsolve.study import pool
from switchsolve.work import Place

__all__ = ["Minimum", "Row", "SpotWork", "measure_spots", "switches_back"]

_ROWS_EACH = 24
"""Rows that make it worth while to begin one more process: that takes two seconds, a row about a quarter."""
_TICK = 0.2
"""Seconds between two looks whether to stop."""
_Asked = tuple[Place, Arrival, Task]


@dataclass(frozen=True, slots=True)
class SpotWork:
    """All rows.  ``bench`` is ``None`` if there is no car or no locomotive to go by.  ``stopped``: what ended
    the work before all rows were done, else ``None``; ``wanted``: how many rows there are in all.
    """

    bench: Bench | None
    entries: tuple[Entry, ...] = ()
    places: tuple[Place, ...] = ()
    rows: tuple[Row, ...] = ()
    wanted: int = 0
    has_neighbors: bool = False
    stopped: str | None = None


def measure_spots(
    puzzle: Puzzle,
    *,
    tasks: tuple[Task, ...] = tuple(Task),
    seconds_each: float = 20.0,
    workers: int = 1,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> SpotWork:
    """Measure each of ``tasks`` at every spot of ``puzzle``, from each entrance, in each order of the train.

    ``seconds_each`` limits each question put to the solver; ``workers``: processes at most; ``tell`` hears of
    progress; ``stop`` is asked often whether to stop, and gives the reason: the rows done till then are kept.
    Raises ``BrokenExecutor`` if a process is lost.
    """
    found = bench(puzzle)
    if found is None:
        return SpotWork(None)
    measuring = _Measuring(puzzle, found, entries(puzzle, found.locomotive.name), seconds_each, tell, stop)
    blocks = list(measuring.blocks(tasks))
    wanted = sum(map(len, blocks))
    count = min(workers, len(blocks), wanted // _ROWS_EACH)
    rows = measuring.spread(blocks, count) if count > 1 else measuring.here(blocks)
    has_neighbors = among_neighbors(puzzle, found) is not None
    return SpotWork(
        found, measuring.ways, measuring.places, tuple(rows), wanted, has_neighbors, measuring.stopped
    )


class _Stopped(Exception):
    """Out of a block in which processes are at work."""


class _Measuring:
    """Has all rows asked for.  ``stopped``: what ended that, else ``None``."""

    def __init__(
        self,
        puzzle: Puzzle,
        found: Bench,
        ways: tuple[Entry, ...],
        seconds: float,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> None:
        self._puzzle = puzzle
        self._bench = found
        self.ways = ways
        self.places = places_of(puzzle)
        self._seconds = seconds
        self._tell = tell
        self._stop = stop
        self.stopped: str | None = None

    def blocks(self, tasks: tuple[Task, ...]) -> Iterator[list[_Asked]]:
        """The rows of each spot from each entrance, which share what is known of the way in."""
        for entry in self.ways:
            for place in self.places:
                yield [
                    (place, Arrival(entry, is_ahead), task) for is_ahead in (False, True) for task in tasks
                ]

    def here(self, blocks: Sequence[Sequence[_Asked]]) -> list[Row]:
        """One row after the other."""
        asker = SpotAsker(self._puzzle, self._bench, self.ways, self._seconds, self._stop)
        asked = [one for block in blocks for one in block]
        rows: list[Row] = []
        for place, arrival, task in asked:
            self._say(f"{len(rows)} of {len(asked)}: {task} at {place} from {arrival.entry.track}")
            row = asker.row(place, arrival, task)
            if asker.stopped is not None:
                break
            rows.append(row)
        self.stopped = asker.stopped
        return rows

    def spread(self, blocks: Sequence[Sequence[_Asked]], count: int) -> list[Row]:
        """Blocks on ``count`` processes; if it is stopped, the rows of the first blocks."""
        make_ready(self._tell, RUNS)
        rows: list[Row] = []
        try:
            with pool(count, RUNS) as executor:
                ground = self._puzzle, self._bench, self.ways, self._seconds
                for future in [executor.submit(_rows_of, *ground, block) for block in blocks]:
                    while not wait([future], timeout=_TICK).done:
                        self._look()
                    rows += future.result()
                    self._say(f"{len(rows)} of {sum(map(len, blocks))} rows")
        except _Stopped as reason:
            self.stopped = str(reason)
        return rows

    def _look(self) -> None:
        """Raises ``_Stopped`` with the reason if it is time to stop."""
        reason = self._stop() if self._stop is not None else None
        if reason is not None:
            raise _Stopped(reason)

    def _say(self, what: str) -> None:
        if self._tell is not None:
            self._tell(what)


def _rows_of(
    puzzle: Puzzle, found: Bench, ways: tuple[Entry, ...], seconds: float, asked: Sequence[_Asked]
) -> list[Row]:
    """What a process is asked."""
    asker = SpotAsker(puzzle, found, ways, seconds, None)
    return [asker.row(*one) for one in asked]
