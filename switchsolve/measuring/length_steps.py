"""What a length buys: the proved minimum as a step function of one track's length, all else as it is.

Where more rail never makes the work harder (:func:`why_not_measured`) the minimum only falls as the length
grows.  So between two lengths with the same minimum it is the same everywhere, and all steps are found by
halving what lies between two that differ, down to one grid unit.  Lengths at which some row of vehicles
begins to fit are tried first, for there most steps are; that saves time and decides nothing.

The shortest length looked at is the least on which the vehicles that start there can stand.  The longest,
where the steps end, is one on which every vehicle of the set-up can stand: see :func:`longest`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from switchsolve.lengthening import fitting_lengths, row_lengths
from switchsolve.measuring.minimum import Minima
from switchsolve.measuring.pieces import (
    NO_PLAN,
    Minimum,
    PieceSteps,
    Step,
    longest,
    pieces_of,
    places,
    shortest,
    why_not_measured,
)
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Allowance
from switchsolve.spreading import spread

__all__ = ["NO_PLAN", "Gain", "LengthSteps", "Minimum", "PieceSteps", "Step", "gains", "length_steps"]


@dataclass(frozen=True, slots=True)
class LengthSteps:
    """The pieces asked for, in the order of the plan; ``limit`` names what stopped the proofs, if anything.

    ``now``: the minimum of the set-up as it is.
    """

    now: Minimum
    pieces: tuple[PieceSteps, ...]
    limit: str | None = None


@dataclass(frozen=True, slots=True)
class Gain:
    """``piece`` longer by ``extra`` grid units takes ``moves`` moves, ``saved`` fewer than now.

    ``saved`` is ``None`` if there is no plan now.
    """

    piece: PieceSteps
    extra: int
    moves: int
    saved: int | None


def gains(result: LengthSteps) -> list[Gain]:
    """What more rail buys, proved steps only, shortest first.

    If the proofs were stopped, less rail may be enough for one, but never more is needed.
    """
    found = [
        Gain(piece, step.at_least - piece.length, step.minimum.most, _saved(piece.now, step.minimum))
        for piece in result.pieces
        for step in piece.steps
        if step.at_least > piece.length and step.minimum.is_proved and piece.now.is_proved
    ]
    return sorted(found, key=lambda gain: (gain.extra, gain.moves))


def _saved(before: Minimum, after: Minimum) -> int | None:
    return None if before.most == NO_PLAN else before.most - after.most


def length_steps(
    puzzle: Puzzle,
    tracks: Iterable[str] | None = None,
    *,
    seconds: float | None = None,
    most_bytes: int | None = None,
    reach: Sequence[int] | None = None,
    workers: int = 1,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> LengthSteps:
    """The steps of every track (of ``tracks``: only those), each part of a track in several parts by itself.

    Entrances without a length of their own are left out.  ``seconds`` limits all together: each track has
    an equal share of what is left when its turn comes.  ``most_bytes`` is what the standings kept by one
    search may take; ``reach``: for each piece a length (grid units) up to which it is looked at at
    least; ``workers``: processes at most; ``tell`` receives lines of progress; ``stop`` is asked often
    whether to stop, and gives the reason, or ``None``.  What was not proved so is a :class:`Minimum` with
    two ends.

    Raises ``KeyError`` for an unknown track, ``BrokenExecutor`` if a process is lost.
    """
    pieces = [
        replace(piece, unmeasured=why_not_measured(puzzle, piece.track, piece.part))
        for piece in pieces_of(puzzle, tracks)
    ]
    allowed = Allowance(seconds, tell, stop)
    out_of_time = "" if seconds is None else f"the limit of {seconds:g} seconds"
    first = Minima(puzzle, allowed.share(len(pieces) + 1), most_bytes, tell, stop, out_of_time)
    measurer = _Measurer(puzzle, first.as_it_is(), most_bytes, out_of_time)
    far = reach or [0] * len(pieces)
    wanted = [_Wanted(*one) for one in zip(pieces, far, strict=True) if not one[0].unmeasured]
    found = dict(spread(measurer, wanted, allowed, workers=workers))
    for one in wanted:
        if one not in found:  # nothing is known of it
            found[one] = measurer(one, None, None, lambda: allowed.stopped)
    measured = {one.piece: found[one][0] for one in wanted}
    limits = [limit for limit in (first.limit, *(found[one][1] for one in wanted)) if limit is not None]
    told = tuple(measured.get(piece, piece) for piece in pieces)
    return LengthSteps(measurer.now, told, limits[-1] if limits else None)


# ---- one piece


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A piece, and a length up to which it is looked at at least."""

    piece: PieceSteps
    reach: int

    def __str__(self) -> str:
        return self.piece.name


@dataclass(frozen=True, slots=True)
class _Measurer:
    """What measures the pieces of one set-up, here or in another process."""

    puzzle: Puzzle
    now: Minimum
    most_bytes: int | None
    out_of_time: str

    def __call__(
        self,
        wanted: _Wanted,
        seconds: float | None,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> tuple[PieceSteps, str | None]:
        """The piece with its steps, and what stopped the proofs, if anything."""
        minima = Minima(self.puzzle, seconds, self.most_bytes, tell, stop, self.out_of_time, self.now)
        return _measured(minima, wanted.piece, wanted.reach), minima.limit


def _measured(minima: Minima, piece: PieceSteps, reach: int) -> PieceSteps:
    """The piece with its steps, looked at up to ``reach`` at least."""
    low, kept_by = shortest(minima.puzzle, piece)
    high, is_final = longest(minima.puzzle, piece)
    high = max(high, reach)
    known = _Known(minima, piece)
    known.find(low, piece.length)
    known.find(piece.length, high)
    return replace(piece, steps=known.steps(), kept_by=kept_by, longest=high, is_final=is_final)


class _Known:
    """The lengths of one piece that have been solved."""

    def __init__(self, minima: Minima, piece: PieceSteps) -> None:
        self._minima = minima
        self._piece = piece
        self._at: dict[int, Minimum] = {}
        self._likely = _likely_lengths(minima.puzzle, piece)

    def find(self, low: int, high: int) -> None:
        """Solve lengths until all steps between ``low`` and ``high`` are known.

        What lies between two lengths of which one is not proved is left open.
        """
        to_do = [(low, high)]
        while to_do:
            low, high = to_do.pop()
            before, after = self._solved(low), self._solved(high)
            if before.most < after.least:
                raise AssertionError(f"{self._piece.name}: {before} at {low}, {after} at {high}: a defect")
            if high - low > 1 and before.is_proved and after.is_proved and before != after:
                middle = self._between(low, high)
                to_do += [(middle, high), (low, middle)]

    def _between(self, low: int, high: int) -> int:
        """A length between two others: the middle one of those that are likely, or just the middle."""
        for likely in self._likely:
            inside = likely[bisect_right(likely, low) : bisect_left(likely, high)]
            if inside:
                return inside[len(inside) // 2]
        return (low + high) // 2

    def _solved(self, length: int) -> Minimum:
        if length not in self._at:
            self._at[length] = self._minima.at(self._piece, length)
        return self._at[length]

    def steps(self) -> tuple[Step, ...]:
        """The steps that follow from what is solved.

        A plan for one length is one for every greater length, and what is proved impossible, or to take so
        many moves, is so for every lesser length.
        """
        lengths = sorted(self._at)
        most = list(accumulate((self._at[length].most for length in lengths), min))
        least = list(accumulate((self._at[length].least for length in reversed(lengths)), max))[::-1]
        steps: list[Step] = []
        for index, length in enumerate(lengths):
            _append(steps, Step(length, Minimum(least[index], most[index])))
            if index + 1 < len(lengths) and length + 1 < lengths[index + 1]:
                _append(steps, Step(length + 1, Minimum(least[index + 1], most[index])))
        return tuple(steps)


def _append(steps: list[Step], step: Step) -> None:
    if not steps or steps[-1].minimum != step.minimum:
        steps.append(step)


def _likely_lengths(puzzle: Puzzle, piece: PieceSteps) -> tuple[list[int], list[int]]:
    """Lengths at which a step is likely, with those just below and above: first the likeliest, then others.

    A step is known when two lengths one grid unit apart have been solved, and a gap is one grid unit.
    """
    begins = {0, *places(puzzle, piece)}
    others = {0, puzzle.district.track(piece.track).length - piece.length}

    def around(rows: Iterable[int]) -> list[int]:
        fitting = {row + begin - other for row in rows for begin in begins for other in others}
        return sorted({length + by for length in fitting for by in (-1, 0, 1, 2)})

    return around(row_lengths(puzzle)), around(fitting_lengths(puzzle))
