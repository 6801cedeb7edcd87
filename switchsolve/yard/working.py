"""Given tracks, each a stub, through, or open at both ends: can they put a cut in order in one pass?

The cars of an arriving cut are set on tracks one after the other, and drawn from them one after the other;
every car goes over a track, and none is set on a second one.  A stub gives up the car last set on it, a
through track the one set on it first, a track open at both ends either of its outer cars.

The search is exact: it tries, for each arriving car, every track (of like tracks with like cars one) and
every end.  Two things save work and lose nothing.  A car that is wanted next and can be drawn is drawn at
once: it can only stand in the way of others.  And a track whose cars could not come out in the order wanted,
whatever the other tracks do, is never made.

Known values: one stub sorts what avoids the pattern 231 (D. E. Knuth, The Art of Computer Programming 1,
2.2.1); two stubs, OEIS A216040; one track open at both ends, OEIS A182216.  They stand in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import combinations

__all__ = ["Step", "TrackKind", "Undecided", "YardTrack", "fewest_of", "fewest_of_kind", "work_in_one_pass"]


class TrackKind(StrEnum):
    """Where cars go in and come out."""

    THROUGH = "through"
    """In at one end, out at the other."""
    STUB = "stub"
    """In and out at the same end."""
    BOTH_ENDS = "open at both ends"
    """In and out at either end."""


class Undecided(Exception):
    """The search was stopped after ``looks`` standings, with nothing shown."""

    def __init__(self, looks: int) -> None:
        self.looks = looks
        super().__init__(f"not decided after {looks:,} standings")


@dataclass(frozen=True, slots=True, order=True)
class YardTrack:
    """A track.  ``length`` in the unit of the cars' lengths; ``None``: it holds all that come."""

    kind: TrackKind
    length: int | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """``car`` (by its place in the cut, from 0) is set on ``track``, or drawn from it (``is_set`` false).

    ``end`` is the end of the track at which it passes: ``near``, where cars arrive at a stub or a through
    track, or ``far``.
    """

    car: int
    track: int
    is_set: bool
    end: str


_IN = {TrackKind.THROUGH: ("near",), TrackKind.STUB: ("near",), TrackKind.BOTH_ENDS: ("near", "far")}
_OUT = {TrackKind.THROUGH: ("far",), TrackKind.STUB: ("near",), TrackKind.BOTH_ENDS: ("near", "far")}
_Cars = tuple[int, ...]
"""The cars of a track, from its far end to its near end."""


def work_in_one_pass(
    order: Sequence[int],
    tracks: Sequence[YardTrack],
    lengths: Sequence[int] | None = None,
    most_looks: int = 1_000_000,
) -> tuple[Step, ...] | None:
    """What to do with each car, or ``None``: these tracks cannot put the cut in order in one pass (proved).

    ``order[i]`` is the place at which the ``i``-th arriving car is wanted (the same number: one block, in any
    order); ``lengths[i]`` its length (left out: all 1).  Raises :class:`Undecided` after ``most_looks``
    standings, ``ValueError`` if there are not as many lengths as cars.
    """
    if lengths is not None and len(lengths) != len(order):
        raise ValueError(f"{len(order)} cars, but {len(lengths)} lengths")
    search = _Search(tuple(order), tuple(tracks), tuple(lengths or [1] * len(order)), most_looks)
    return tuple(search.steps) if search.goes_on(0, tuple(() for _ in tracks)) else None


def fewest_of_kind(order: Sequence[int], kind: TrackKind, most_looks: int = 1_000_000) -> int:
    """The fewest tracks of one kind, as long as need be, that put the cut in order in one pass.

    Raises :class:`Undecided`, as :func:`work_in_one_pass` does.
    """
    for count in range(len(order)):
        if work_in_one_pass(order, [YardTrack(kind)] * count, most_looks=most_looks) is not None:
            return count
    return len(order)


def fewest_of(
    order: Sequence[int],
    tracks: Sequence[YardTrack],
    lengths: Sequence[int] | None = None,
    most_looks: int = 1_000_000,
) -> tuple[int, ...] | None:
    """Which of ``tracks`` (by index), as few as can be, put the cut in order in one pass; ``None``: not all
    of them together.  Raises as :func:`work_in_one_pass` does."""
    for count in range(len(tracks) + 1):
        tried = set()
        for chosen in combinations(range(len(tracks)), count):
            alike = tuple(sorted((tracks[one].kind.value, tracks[one].length or -1) for one in chosen))
            if alike in tried:
                continue
            tried.add(alike)
            these = [tracks[one] for one in chosen]
            if work_in_one_pass(order, these, lengths, most_looks) is not None:
                return chosen
    return None


@dataclass(slots=True)
class _Search:
    """Depth first, with the standings that came to nothing kept."""

    order: tuple[int, ...]
    tracks: tuple[YardTrack, ...]
    lengths: tuple[int, ...]
    most_looks: int
    steps: list[Step] = field(default_factory=list)
    dead: set[tuple[object, ...]] = field(default_factory=set)

    def goes_on(self, arrived: int, standing: tuple[_Cars, ...]) -> bool:
        """Whether the rest can be done; then ``steps`` holds how."""
        kept = len(self.steps)
        standing = self._draw(arrived, standing)
        if arrived == len(self.order):
            return not any(standing)
        key = (arrived, *sorted(self._look(track, cars) for track, cars in enumerate(standing)))
        if key not in self.dead:
            if len(self.dead) >= self.most_looks:
                raise Undecided(self.most_looks)
            self.dead.add(key)
            for step, after in self._sets(arrived, standing):
                self.steps.append(step)
                if self.goes_on(arrived + 1, after):
                    return True
                self.steps.pop()
        del self.steps[kept:]
        return False

    def _look(self, track: int, cars: _Cars) -> tuple[object, ...]:
        """What matters of a track: like tracks with like cars look the same."""
        kind, length = self.tracks[track].kind.value, self.tracks[track].length
        return kind, length or -1, tuple((self.order[car], self.lengths[car]) for car in cars)

    def _draw(self, arrived: int, standing: tuple[_Cars, ...]) -> tuple[_Cars, ...]:
        """Draw all that can come out now: cars wanted no later than any that are still to come out."""
        on_tracks = list(standing)
        while True:
            waiting = [self.order[car] for cars in on_tracks for car in cars]
            soonest = min([*waiting, *self.order[arrived:]], default=0)
            step = self._drawn(on_tracks, soonest)
            if step is None:
                return tuple(on_tracks)
            self.steps.append(step)
            cars = on_tracks[step.track]
            on_tracks[step.track] = cars[1:] if step.end == "far" else cars[:-1]

    def _drawn(self, on_tracks: list[_Cars], soonest: int) -> Step | None:
        for track, cars in enumerate(on_tracks):
            for end in _OUT[self.tracks[track].kind] if cars else ():
                car = cars[0] if end == "far" else cars[-1]
                if self.order[car] == soonest:
                    return Step(car, track, is_set=False, end=end)
        return None

    def _sets(self, car: int, standing: tuple[_Cars, ...]) -> list[tuple[Step, tuple[_Cars, ...]]]:
        """Every way to set the next car that leaves its track able to give up its cars in order."""
        found, seen = [], set()
        for track, cars in enumerate(standing):
            look, room = self._look(track, cars), self.tracks[track].length
            taken = sum(self.lengths[other] for other in (*cars, car))
            if look in seen or (room is not None and taken > room):
                continue
            seen.add(look)
            for end in _IN[self.tracks[track].kind]:
                after = (car, *cars) if end == "far" else (*cars, car)
                if self._comes_out(after, self.tracks[track].kind):
                    step = Step(car, track, is_set=True, end=end)
                    found.append((step, (*standing[:track], after, *standing[track + 1 :])))
        return found

    def _comes_out(self, cars: _Cars, kind: TrackKind) -> bool:
        """Whether the cars of one track can come out in the order wanted."""
        wanted = [self.order[car] for car in cars]
        top = len(wanted) - 1 if kind is TrackKind.THROUGH else 0
        if kind is TrackKind.BOTH_ENDS:
            top = wanted.index(max(wanted))
        rising, falling = wanted[: top + 1], wanted[top:]
        return rising == sorted(rising) and falling == sorted(falling, reverse=True)
