"""The work of every spot of a district: all rows, one after the other or on several cores."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.facts.probes import Bench, Entry, bench, entries
from switchsolve.measuring.arrivals import Arrival, Task, among_neighbors, places_of
from switchsolve.measuring.spot_rows import Minimum, Row, SpotAsker, switches_back
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Allowance
from switchsolve.spreading import spread
from switchsolve.work import Place

__all__ = ["Minimum", "Row", "SpotWork", "measure_spots", "switches_back"]


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
    ways, places = entries(puzzle, found.locomotive.name), places_of(puzzle)
    blocks = [
        _Block(place, Arrival(entry, is_ahead), tasks)
        for entry in ways
        for place in places
        for is_ahead in (False, True)
    ]
    allowed = Allowance(None, tell, stop)
    answers = spread(_Measurer(puzzle, found, ways, seconds_each), blocks, allowed, workers=workers)
    rows = tuple(row for _, block in answers for row in block)
    has_neighbors = among_neighbors(puzzle, found) is not None
    wanted = len(tasks) * len(blocks)
    stopped = allowed.stopped if len(rows) < wanted else None
    return SpotWork(found, ways, places, rows, wanted, has_neighbors, stopped)


@dataclass(frozen=True, slots=True)
class _Block:
    """The rows of one spot for one arrival, which share what is known of the way in."""

    place: Place
    arrival: Arrival
    tasks: tuple[Task, ...]

    def __str__(self) -> str:
        return f"{self.place} from {self.arrival.entry.track}"


@dataclass(frozen=True, slots=True)
class _Measurer:
    """What measures block after block, here or in another process; ``seconds`` for each question."""

    puzzle: Puzzle
    bench: Bench
    ways: tuple[Entry, ...]
    seconds: float

    def __call__(
        self,
        block: _Block,
        seconds: float | None,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> list[Row]:
        """The rows of a block, as far as they are done."""
        asker = SpotAsker(self.puzzle, self.bench, self.ways, self.seconds, stop)
        rows: list[Row] = []
        for task in block.tasks:
            if tell is not None:
                tell(f"{task} at {block}")
            row = asker.row(block.place, block.arrival, task)
            if row is None:
                break
            rows.append(row)
        return rows
