"""The sessions of all arrangements, played at the same time and put side by side."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import quote

from switchsolve.comparing.cases import Case
from switchsolve.comparing.pairing import Pairing, pair
from switchsolve.comparing.tallying import Differences, can_all
from switchsolve.puzzle import DrawingHints, Puzzle, Standards
from switchsolve.search.readying import RUNS
from switchsolve.study import Pace, Played, Tally, cores, key_of, play, pool

__all__ = ["Comparison", "Far", "compare"]

_FARTHEST = 3
Tell = Callable[[str], None] | None


@dataclass(frozen=True, slots=True)
class Far:
    """A session in which the second of two cases takes ``more`` moves than the first (below zero: fewer)."""

    more: int
    first: Played
    second: Played


class Comparison:
    """What came out: for each case its sums, for each but the first its differences from the first.

    ``moves``: for each case how often each number of moves comes, of sessions with a plan for all the work.
    ``farthest``: for each but the first the sessions that differ most, the farthest first.  ``solved``: how
    many sessions had to be solved.  ``is_complete`` is false if Ctrl-C ended it: then the sessions are those
    that all cases have come to.
    """

    def __init__(self, cases: Sequence[Case], pairing: Pairing, asked: int) -> None:
        self.cases = tuple(cases)
        self.pairing = pairing
        self.asked = asked
        self.tallies = [Tally() for _ in cases]
        self.moves: list[Counter[int]] = [Counter() for _ in cases]
        self.differences = [Differences() for _ in cases[1:]]
        self.solved = 0
        self.is_complete = False
        self._heaps: list[list[tuple[int, int, int, Far]]] = [[] for _ in cases[1:]]

    @property
    def sessions(self) -> int:
        """How many there are of each."""
        return self.tallies[0].sessions

    @property
    def farthest(self) -> list[list[Far]]:
        """Only sessions that do differ."""
        return [[entry[-1] for entry in sorted(heap, reverse=True)] for heap in self._heaps]

    def add(self, played: Sequence[Played]) -> None:
        """One session, as every case has played it."""
        first = played[0]
        for tally, moves, one in zip(self.tallies, self.moves, played, strict=True):
            tally.add(one.row)
            if can_all(one.row) and one.row.moves is not None:
                moves[one.row.moves] += 1
        for number, second in enumerate(played[1:]):
            before = self.differences[number].compared
            self.differences[number].add(first.row, second.row)
            if self.differences[number].compared > before:
                self._keep(number, first, second)

    def _keep(self, number: int, first: Played, second: Played) -> None:
        """Remember a session if it is one of the farthest."""
        assert first.row.moves is not None and second.row.moves is not None
        more = second.row.moves - first.row.moves
        if more:
            entry = (abs(more), -first.row.season, -first.row.session, Far(more, first, second))
            heapq.heappush(self._heaps[number], entry)
            if len(self._heaps[number]) > _FARTHEST:
                heapq.heappop(self._heaps[number])


def compare(
    cases: Sequence[Case],
    sessions: int,
    seed: int,
    *,
    workers: int | None = None,
    executor: Executor | None = None,
    at_once: int | None = None,
    seconds: float | None = None,
    with_crew: bool = True,
    rows: str | Path | None = None,
    tell: Tell = None,
) -> Comparison:
    """Send the same traffic to all cases, and put their sessions side by side; Ctrl-C ends it, and what there
    is is returned.  Arrangements that are the same but for their title are played once.

    ``workers``, ``executor``, ``at_once``, ``seconds`` (for each session) and ``with_crew`` as for
    :func:`switchsolve.study.play`.  ``rows``: a folder that is there, in which each arrangement has a
    file of rows, called by its name: a comparison that was killed goes on where they end.

    Raises as :func:`~switchsolve.comparing.pairing.pair` and :func:`~switchsolve.study.play`, and
    ``ValueError`` for fewer than two cases or numbers that are too small.
    """
    if len(cases) < 2 or sessions < 1 or seed < 0 or (workers is not None and workers < 1):
        raise ValueError("two arrangements, one session and one worker at least, and a seed of 0 or more")
    found = Comparison(cases, pair(cases), sessions)
    keys = [key_of(_bare(puzzle)) for puzzle in found.pairing.puzzles]
    distinct = dict(zip(keys, found.pairing.puzzles, strict=True))
    names = {key: case.name for key, case in reversed(list(zip(keys, cases, strict=True)))}
    try:
        with nullcontext(executor) if executor else pool(workers or cores(), RUNS) as chosen:
            players = {
                key: play(
                    puzzle,
                    sessions,
                    seed,
                    executor=chosen,
                    at_once=at_once,
                    seconds=seconds,
                    with_crew=with_crew,
                    with_forced=False,
                    rows=None if rows is None else Path(rows) / f"{quote(names[key], safe=' ,()')}.jsonl",
                    tell=tell,
                )
                for key, puzzle in distinct.items()
            }
            _gather(found, keys, players, tell)
        found.is_complete = True
    except KeyboardInterrupt:
        pass
    return found


def _bare(puzzle: Puzzle) -> Puzzle:
    """Without what makes no difference to any session."""
    return replace(
        puzzle,
        title="",
        standards=Standards(),
        drawing=DrawingHints(),
        notes={},
        stated_minimum=None,
        stated_verdict=None,
    )


def _gather(
    found: Comparison, keys: Sequence[str], players: Mapping[str, Iterator[Played]], tell: Tell
) -> None:
    """Take sessions from all players in turn; one that all have played is put side by side."""
    pace = Pace()
    waiting: dict[tuple[int, int], dict[str, Played]] = {}
    going = dict(players)
    while going:
        for key in list(going):
            played = next(going[key], None)
            if played is None:
                del going[key]
                continue
            found.solved += played.is_new
            place = played.row.season, played.row.session
            waiting.setdefault(place, {})[key] = played
            if len(waiting[place]) == len(players):
                together = waiting.pop(place)
                found.add([together[key] for key in keys])
        if tell is not None and found.sessions and found.sessions < found.asked:
            tell(_progress(found, pace))


def _progress(found: Comparison, pace: Pace) -> str:
    left = pace.left(found.sessions, found.asked, found.solved)
    return f"{found.sessions} of {found.asked} sessions of all, {found.solved} solved; {left}"
