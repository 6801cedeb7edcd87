"""What a length buys over many drawn sessions: the steps of each session, added up track by track.

The sessions are drawn once, from the district as it is, the work of each one done before the next; the same
cars stand and come at every length.  At a length at which some session cannot even stand nothing is added up:
the sum begins where all of them can.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass

from switchsolve.measuring.length_steps import LengthSteps, length_steps
from switchsolve.measuring.pieces import NO_PLAN, PieceSteps, longest, pieces_of
from switchsolve.puzzle import Puzzle
from switchsolve.search.readying import RUNS
from switchsolve.study import SEASON, Pace, cores, pool
from switchsolve.study.likes import key_of, nameless
from switchsolve.traffic import sessions

__all__ = ["SessionGain", "SessionLengths", "SessionPiece", "SessionStep", "added_up", "session_lengths"]

Tell = Callable[[str], None] | None


@dataclass(frozen=True, slots=True)
class SessionStep:
    """From the length ``at_least`` (grid units) on: in ``cannot`` sessions the work is impossible, the others
    take ``moves`` moves together.
    """

    at_least: int
    cannot: int
    moves: int


@dataclass(frozen=True, slots=True)
class SessionGain:
    """Rail longer by ``extra`` grid units: ``made_possible`` sessions more can do their work, and those that
    can now save ``saved`` moves together.
    """

    extra: int
    made_possible: int
    saved: int


@dataclass(frozen=True, slots=True)
class SessionPiece:
    """One piece of rail.  ``counted``: the sessions added up, all their steps proved; ``open``: the others.

    ``steps``: ascending, none if nothing could be added up; ``gains``: what more rail than now buys,
    ascending.  ``spare``: how much shorter it could be at no cost.  ``kept_by``, ``longest``, ``is_final``
    and ``unmeasured`` as of :class:`~switchsolve.measuring.pieces.PieceSteps`.
    """

    piece: PieceSteps
    counted: int
    open: int
    steps: tuple[SessionStep, ...] = ()
    gains: tuple[SessionGain, ...] = ()
    spare: int = 0
    kept_by: str = ""
    longest: int = 0
    is_final: bool = False
    unmeasured: str = ""

    @property
    def now(self) -> SessionStep | None:
        """The step of the length of now, if anything was added up."""
        return next((one for one in reversed(self.steps) if one.at_least <= self.piece.length), None)


@dataclass(frozen=True, slots=True)
class SessionLengths:
    """What came out: ``sessions`` of ``asked`` are added up (fewer after Ctrl-C), ``solved`` different."""

    asked: int
    sessions: int
    solved: int
    pieces: tuple[SessionPiece, ...]

    @property
    def is_proved(self) -> bool:
        """Whether every session asked for is in every sum."""
        return self.sessions == self.asked and not any(one.open for one in self.pieces)


def session_lengths(
    puzzle: Puzzle,
    count: int,
    seed: int,
    tracks: Sequence[str] | None = None,
    *,
    workers: int | None = None,
    seconds: float | None = None,
    tell: Tell = None,
) -> SessionLengths:
    """The steps of all ``tracks`` (``None``: every one) over ``count`` sessions, on ``workers`` processes
    (``None``: one for each core); ``seconds`` for each session.  Ctrl-C ends it and keeps what there is.

    Raises ``KeyError`` for an unknown track, ``ValueError`` for numbers that are too small.
    """
    if count < 1 or seed < 0 or (workers is not None and workers < 1):
        raise ValueError("one session and one worker at least, and a seed of 0 or more")
    drawn = list(_drawn(puzzle, count, seed))
    keys = [key_of(nameless(one)[0]) for one in drawn]
    different = dict(zip(keys, drawn, strict=True))
    found: dict[str, LengthSteps] = {}
    reach = _reach(list(different.values()), tracks)
    number = workers or cores()
    pace = Pace()
    try:
        with pool(number, RUNS) as executor:
            at_once = 1 if number == 1 else 2 * number
            answers = _answered(executor, different.values(), tracks, reach, seconds, at_once)
            for key, steps in zip(different, answers, strict=True):
                found[key] = steps
                if tell is not None:
                    left = pace.left(len(found), len(different), len(found))
                    tell(f"{len(found)} of {len(different)} different sessions measured; {left}")
    except KeyboardInterrupt:
        pass
    rows = [found[key] for key in keys if key in found]
    pieces = tuple(map(added_up, zip(*(row.pieces for row in rows), strict=True)))
    return SessionLengths(count, len(rows), len(found), pieces)


def _drawn(puzzle: Puzzle, count: int, seed: int) -> Iterator[Puzzle]:
    """The set-ups of all sessions."""
    for first in range(0, count, SEASON):
        season = sessions(puzzle, min(SEASON, count - first), seed, first // SEASON + 1)
        yield from (one.puzzle for one in season)


def _answered(
    executor: Executor,
    puzzles: Iterable[Puzzle],
    tracks: Sequence[str] | None,
    reach: Sequence[int],
    seconds: float | None,
    at_once: int,
) -> Iterator[LengthSteps]:
    """The steps of each, in order; so many are asked for together."""
    asked: deque[Future[LengthSteps]] = deque()
    for puzzle in puzzles:
        asked.append(executor.submit(_measured, puzzle, tracks, reach, seconds))
        if len(asked) == at_once:
            yield asked.popleft().result()
    while asked:
        yield asked.popleft().result()


def _measured(
    puzzle: Puzzle, tracks: Sequence[str] | None, reach: Sequence[int], seconds: float | None
) -> LengthSteps:
    """What a worker is asked."""
    return length_steps(puzzle, tracks, seconds=seconds, reach=reach)


def _reach(puzzles: Sequence[Puzzle], tracks: Sequence[str] | None) -> list[int]:
    """How far to look at each piece: as far as any session asks, so that all can be added up to there."""
    rows = [[longest(one, piece)[0] for piece in pieces_of(one, tracks)] for one in puzzles]
    return [max(column) for column in zip(*rows, strict=True)]


# ---- one piece


def added_up(rows: Sequence[PieceSteps]) -> SessionPiece:
    """One piece of rail over its sessions, one or more."""
    first = rows[0]
    unmeasured = next((row.unmeasured for row in rows if row.unmeasured), "")
    proved = [row for row in rows if all(step.minimum.is_proved for step in row.steps)]
    if unmeasured or not proved:
        return SessionPiece(first, 0, 0 if unmeasured else len(rows), unmeasured=unmeasured)
    tightest = max(proved, key=lambda row: row.steps[0].at_least)
    far = min(row.longest for row in proved)
    steps = tuple(_steps(proved, tightest.steps[0].at_least, far))
    return SessionPiece(
        first,
        len(proved),
        len(rows) - len(proved),
        steps,
        tuple(_gains(proved, steps)),
        first.length - max(step.at_least for step in steps if step.at_least <= first.length),
        tightest.kept_by,
        far,
        all(row.is_final for row in proved),
    )


def _steps(rows: Sequence[PieceSteps], shortest: int, far: int) -> Iterator[SessionStep]:
    """The sum at each length at which it changes."""
    before: tuple[int, int] | None = None
    lengths = {step.at_least for row in rows for step in row.steps}
    for length in sorted({shortest} | {one for one in lengths if shortest < one <= far}):
        minima = [_at(row, length) for row in rows]
        able = [moves for moves in minima if moves < NO_PLAN]
        now = len(rows) - len(able), sum(able)
        if now != before:
            yield SessionStep(length, *now)
        before = now


def _gains(rows: Sequence[PieceSteps], steps: Sequence[SessionStep]) -> Iterator[SessionGain]:
    """What each step beyond the length of now buys."""
    length = rows[0].length
    now = [_at(row, length) for row in rows]
    for step in steps:
        if step.at_least > length:
            pairs = [(old, _at(row, step.at_least)) for old, row in zip(now, rows, strict=True)]
            possible = sum(old == NO_PLAN > new for old, new in pairs)
            saved = sum(old - new for old, new in pairs if old < NO_PLAN)
            yield SessionGain(step.at_least - length, possible, saved)


def _at(row: PieceSteps, length: int) -> int:
    """The proved minimum of a session at a length on which it can stand."""
    return next(step.minimum.least for step in reversed(row.steps) if step.at_least <= length)
