"""A study: seasons of sessions, each session solved, on all cores.

The sessions of a **season** follow each other, so they are solved one after the other; seasons do not depend
on each other, and several are played at the same time.  What a row holds depends on the puzzle, the seed and
its own number, and not on who solved it when - unless a session runs into the limit of seconds.  A session
without an answer in time counts as done for the one that follows.
"""

from __future__ import annotations

import heapq
from collections import OrderedDict, deque
from collections.abc import Callable, Generator, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.exact import applies
from switchsolve.search.readying import EVENTS, RUNS, make_ready
from switchsolve.study.answering import Outcome, answer, without
from switchsolve.study.likes import key_of, nameless
from switchsolve.study.pace import Pace
from switchsolve.study.pools import Here, cores, pool
from switchsolve.study.rows import Row, RowsError, StudyRows, row_of
from switchsolve.study.tally import Tally
from switchsolve.traffic import Season, Session

__all__ = ["SEASON", "Played", "Study", "play", "study"]

SEASON = 10
"""Sessions of a season."""
_KEPT = 20_000
"""Outcomes of different set-ups that are remembered; the one asked for longest ago goes first."""
_HARDEST = 3

Tell = Callable[[str], None] | None


@dataclass(frozen=True, slots=True)
class Played:
    """A session with its row.  ``is_new``: it had to be solved (it is no repeat, and was in no file)."""

    session: Session
    row: Row
    is_new: bool

    @property
    def puzzle(self) -> Puzzle:
        """The set-up with the work that was done, and what came out as stated minimum."""
        done = without(self.session.puzzle, self.row.left_over)
        if self.row.moves is None:
            return done
        return replace(done, stated_verdict=str(self.row.verdict), stated_minimum=self.row.moves)


@dataclass(slots=True)
class Study:
    """What a study found; ``is_complete`` is false if Ctrl-C ended it.

    ``solved``: how many sessions had to be solved, repeats and rows of the file not counted.
    ``hardest``: the sessions with most moves, the hardest first.
    """

    asked: int
    tally: Tally = field(default_factory=Tally)
    solved: int = 0
    hardest: list[Played] = field(default_factory=list)
    is_complete: bool = False


def study(
    puzzle: Puzzle,
    sessions: int,
    seed: int,
    *,
    workers: int | None = None,
    executor: Executor | None = None,
    at_once: int | None = None,
    seconds: float | None = None,
    rows: str | Path | None = None,
    tell: Tell = None,
) -> Study:
    """Play ``sessions`` sessions, and sum them up; Ctrl-C ends it, and what there is is returned.

    The arguments, and what is raised, are those of :func:`play`.
    """
    found = Study(sessions)
    heap: list[tuple[int, int, int, Played]] = []
    pace = Pace()
    try:
        for played in play(
            puzzle,
            sessions,
            seed,
            workers=workers,
            executor=executor,
            at_once=at_once,
            seconds=seconds,
            rows=rows,
            tell=tell,
        ):
            found.tally.add(played.row)
            found.solved += played.is_new
            if played.row.moves is not None:
                entry = (played.row.moves, -played.row.season, -played.row.session, played)
                heapq.heappush(heap, entry)
                if len(heap) > _HARDEST:
                    heapq.heappop(heap)
            if tell is not None and found.tally.sessions < sessions:
                tell(_progress(found, pace))
        found.is_complete = True
    except KeyboardInterrupt:
        pass
    found.hardest = [entry[-1] for entry in sorted(heap, reverse=True)]
    return found


def _progress(found: Study, pace: Pace) -> str:
    """How far it is, and how long it may take."""
    done = found.tally.sessions
    left = pace.left(done, found.asked, found.solved)
    return f"{done} of {found.asked} sessions, {found.solved} of them solved; {left}"


def play(
    puzzle: Puzzle,
    sessions: int,
    seed: int,
    *,
    workers: int | None = None,
    executor: Executor | None = None,
    at_once: int | None = None,
    seconds: float | None = None,
    rows: str | Path | None = None,
    with_crew: bool = True,
    with_forced: bool = True,
    tell: Tell = None,
) -> Generator[Played, None, None]:
    """The sessions with their rows, as they come: in order within a season.  Closed, it drops the others.

    ``workers``: processes (``None``: one for each core; 1: none, this process solves); or ``executor``, any
    executor that can call functions of this package elsewhere, which stays open.  (Several processes begin by
    importing the caller's main module: a script calls this under ``if __name__ == "__main__"``.)
    ``at_once``: seasons played together (``None``: four for each worker, or core), enough to keep all busy.
    ``seconds`` is for each session, ``None`` as long as it takes.  ``rows`` names a file to which every row
    is added as it comes; rows that are in it are not solved again.  Each session is done by a plain crew as
    well, if it is ``with_crew``, and its forced moves are counted, if it is ``with_forced``.

    Raises ``ValueError`` for a puzzle without traffic, numbers that are too small, or both ``workers`` and
    ``executor``; :class:`~switchsolve.study.RowsError` if ``rows`` cannot be used.
    """
    if puzzle.traffic is None:
        raise ValueError("this puzzle has no traffic")
    if sessions < 1 or seed < 0 or any(n is not None and n < 1 for n in (workers, at_once)):
        raise ValueError("one session and one worker at least, and a seed of 0 or more")
    if workers is not None and executor is not None:
        raise ValueError("either workers or an executor")
    question = {"study": key_of(puzzle), "seed": seed, "season": SEASON, "seconds": seconds}
    question["crew"] = "plain" if with_crew else None
    if not with_forced:
        question["forced"] = False
    file = None if rows is None else StudyRows(rows, question)
    room = RUNS if applies(Rules(pack(puzzle)), with_halts=True) is None else EVENTS
    make_ready(tell, room)
    with ExitStack() as stack:
        if file is not None:
            stack.callback(file.close)
        count = workers or cores()
        chosen = executor or stack.enter_context(pool(count, room))
        together = at_once or (1 if isinstance(chosen, Here) else 4 * count)
        ask = partial(answer, seconds=seconds, with_crew=with_crew, with_forced=with_forced)
        yield from _Player(puzzle, sessions, seed, chosen, together, ask, file).play()


@dataclass(slots=True)
class _Chain:
    """A season being played: the session that is open, and how many are still to come."""

    season: Season
    left: int
    session: Session | None = None
    names: Mapping[str, str] = field(default_factory=dict)


class _Player:
    """Plays seasons, several at once, on an executor."""

    def __init__(
        self,
        puzzle: Puzzle,
        sessions: int,
        seed: int,
        executor: Executor,
        at_once: int,
        ask: Callable[[Puzzle], Outcome],
        file: StudyRows | None,
    ) -> None:
        self._executor = executor
        self._at_once = at_once
        self._ask = ask
        self._file = file
        self._stored = {(row.season, row.session): row for row in file.read()} if file else {}
        self._known: OrderedDict[str, Outcome] = OrderedDict()
        self._chains = (
            _Chain(Season(puzzle, seed, number + 1), min(SEASON, sessions - number * SEASON))
            for number in range(-(-sessions // SEASON))
        )
        self._ready: deque[_Chain] = deque()
        self._asked: dict[Future[Outcome], tuple[str, list[_Chain]]] = {}

    def play(self) -> Iterator[Played]:
        """Every session, as it comes."""
        for _ in range(self._at_once):
            self._begin_another()
        while self._ready or self._asked:
            while self._ready:
                played = self._step(self._ready.popleft())
                if played is not None:
                    yield played
            for future in wait(self._asked, return_when=FIRST_COMPLETED).done if self._asked else ():
                key, chains = self._asked.pop(future)
                outcome = future.result()
                self._keep(key, outcome)
                for place, chain in enumerate(chains):
                    yield self._close(chain, outcome, is_new=not place)

    def _begin_another(self) -> None:
        """Begin the next season, if there is one."""
        chain = next(self._chains, None)
        if chain is not None:
            self._ready.append(chain)

    def _step(self, chain: _Chain) -> Played | None:
        """Draw the next session of a season; what is known is closed, the rest asked for."""
        session = chain.season.draw()
        plain, chain.names = nameless(session.puzzle)
        chain.session = session
        key = key_of(plain)
        row = self._stored.pop((session.season, session.number), None)
        if row is not None:
            return self._close_as_stored(chain, session, row, key)
        if key in self._known:
            self._known.move_to_end(key)
            return self._close(chain, self._known[key], is_new=False)
        for asked, chains in self._asked.values():
            if asked == key:
                chains.append(chain)
                return None
        self._asked[self._executor.submit(self._ask, plain)] = (key, [chain])
        return None

    def _close_as_stored(self, chain: _Chain, session: Session, row: Row, key: str) -> Played:
        """Take a session as the file has it."""
        if (row.arrived, row.picked_up) != (session.arrived, session.picked_up):
            where = f"session {session.number} of season {session.season}"
            raise RowsError(f"the file of rows has another {where} than is drawn; name another file")
        number = {name: plain for plain, name in chain.names.items()}
        outcome = row.outcome
        self._keep(key, replace(outcome, left_over=tuple(number[name] for name in outcome.left_over)))
        return self._closed(chain, Played(session, row, is_new=False))

    def _keep(self, key: str, outcome: Outcome) -> None:
        """Remember an outcome."""
        self._known[key] = outcome
        if len(self._known) > _KEPT:
            self._known.popitem(last=False)

    def _close(self, chain: _Chain, outcome: Outcome, is_new: bool) -> Played:
        """Close the open session of a season with its outcome, whose cars are numbered."""
        assert chain.session is not None
        named = replace(outcome, left_over=tuple(chain.names[number] for number in outcome.left_over))
        row = row_of(chain.session, named)
        if self._file is not None:
            self._file.write(row)
        return self._closed(chain, Played(chain.session, row, is_new))

    def _closed(self, chain: _Chain, played: Played) -> Played:
        """Let the season go on with its next session, or another season begin."""
        chain.season.close(played.row.left_over)
        chain.session = None
        chain.left -= 1
        if chain.left:
            self._ready.append(chain)
        else:
            self._begin_another()
        return played
