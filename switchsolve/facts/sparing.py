"""How much shorter a track could be before a number drops, and how much longer it must be to reach one.

Both are thresholds of one track's length: there the rules say yes, and one step below they say no.  Longer
rail never makes work harder, but for rail that is closed to locomotives or to some cars, which is therefore
never looked at.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from switchsolve.district import District, End, Track
from switchsolve.facts.probes import Bench, is_open

__all__ = ["Ask", "Change", "resized", "shortage", "spare"]

Ask = Callable[[Bench], bool | None]
"""Whether a thing can be done in a district; ``None``: not proved."""

_STEPS_PER_UNIT = 1000
"""Thresholds that are no sum of lengths are found to a thousandth of the file's unit."""


@dataclass(frozen=True, slots=True)
class Change:
    """A ``track``, and how much longer or shorter it may be or must be, grid units."""

    track: str
    length: int


def resized(bench: Bench, name: str, length: int) -> Bench:
    """The bench with the track ``name`` so long.

    It is cut or stretched in its longest part; but where a car stands at a fixed place or a spot, at the end
    by which one comes in, so that the car keeps its place from the bumper.  Raises ``ValueError`` if the part
    is shorter than what is to be cut off, or if both ends of such a track are linked.
    """
    district = bench.district
    track = district.track(name)
    extra = length - track.length
    index, shift = _where(bench, track)
    left = track.parts[index].length + extra
    if left <= 0:
        raise ValueError(f"no part of {track.name} is long enough to be cut so much")
    parts = (*track.parts[:index], replace(track.parts[index], length=left), *track.parts[index + 1 :])
    by = extra if shift else 0
    spots = tuple(replace(spot, at=spot.at + by) for spot in track.spots if 0 <= spot.at + by <= length)
    changed = replace(track, parts=parts, spots=spots)
    tracks = tuple(changed if one.name == name else one for one in district.tracks)
    plan = District(tracks, district.junctions, district.tables, district.links, district.limits)
    start = bench.puzzle.start
    strings = tuple(
        replace(string, fixed_at=string.fixed_at + by)
        if string.track == name and string.fixed_at is not None
        else string
        for string in start.strings
    )
    return replace(bench, puzzle=replace(bench.puzzle, district=plan, start=replace(start, strings=strings)))


def _where(bench: Bench, track: Track) -> tuple[int, bool]:
    """Which part of the track is cut or stretched, and whether that shifts what is measured from ``from``."""
    if not _anchored(bench, track.name):
        return max(range(len(track.parts)), key=lambda index: track.parts[index].length), False
    linked = [end for end in ("from", "to") if bench.district.mate(End(track.name, end)) is not None]
    if len(linked) != 1:
        raise ValueError(f"a car stands at a fixed place between the two ends of {track.name}")
    return (0, True) if linked[0] == "from" else (len(track.parts) - 1, False)


def _anchored(bench: Bench, name: str) -> bool:
    """Whether a car stands at a fixed place or a spot of the track."""
    return any(
        string.track == name and (string.spots or string.fixed_at is not None)
        for string in bench.puzzle.start.strings
    )


def _free_length(bench: Bench, track: Track) -> int:
    """Length from the end by which one comes in to the first car that is fixed; or the whole track."""
    lengths = bench.puzzle.vehicles
    lows = [
        (string.fixed_at, string.fixed_at + sum(lengths[name].length for name in string.vehicles))
        for string in bench.puzzle.start.strings
        if string.track == track.name and string.fixed_at is not None
    ]
    if not lows:
        return track.length
    if bench.district.mate(End(track.name, "from")) is not None:
        return min(low for low, _ in lows)
    return track.length - max(high for _, high in lows)


def spare(
    bench: Bench, tracks: Iterable[str], cars: int, ask: Ask, look: Ask | None = None, *, needs: int = 0
) -> Change | None:
    """The track of ``tracks`` that can be cut least while the answer stays yes, and by how much.

    ``None`` if none of them matters, or it was not proved.  ``cars``: standard cars in the question;
    ``look``: sees a yes of ``ask`` soon, or says nothing (``None``: there is no such thing); ``needs``: a
    length of any one of the tracks under which the answer is no, if one is known.
    """
    names = [name for name in tracks if _can_change(bench, name)]
    idle = set() if look is None else _idle(bench, names, look)
    best: Change | None = None
    for name in names:
        if name not in idle:
            best = _spare_of(bench, name, cars, ask, look, best, needs) or best
    return best


def _idle(bench: Bench, names: list[str], look: Ask) -> set[str]:
    """Tracks, two of them at least, that can be cut as far as can be, all at once: so none of them matters.

    Looked for among all of ``names``, then in either half.
    """
    if len(names) < 2:
        return set()
    cut = bench
    for name in names:
        cut = resized(cut, name, _shortest(bench, name))
    if look(cut):
        return set(names)
    half = len(names) // 2
    return _idle(bench, names[:half], look) | _idle(bench, names[half:], look)


def _shortest(bench: Bench, name: str) -> int:
    """To what length the track can be cut."""
    track = bench.district.track(name)
    part = track.parts[_where(bench, track)[0]]
    return track.length - min(part.length, _free_length(bench, track)) + 1


def _spare_of(
    bench: Bench, name: str, cars: int, ask: Ask, look: Ask | None, best: Change | None, needs: int
) -> Change | None:
    """The spare length of one track, if it has less than ``best``."""
    track = bench.district.track(name)
    below = _shortest(bench, name)
    if best is not None:
        below = max(below, track.length - best.length)
    if below >= track.length:
        return None
    if below < needs < track.length and ask(resized(bench, name, needs)):
        return Change(name, track.length - needs)
    least = _threshold(bench, track, cars, ask, look, below, track.length)
    return None if least is None else Change(name, track.length - least)


def shortage(bench: Bench, tracks: Iterable[str], cars: int, ask: Ask) -> Change | None:
    """The track of ``tracks`` that needs least more length for the answer to be yes, and how much.

    ``None`` if no single one of them, made longer by all vehicles of the question, helps, or it was not
    proved.
    """
    reach = cars * bench.car_length + bench.locomotive.length + cars + 1
    best: Change | None = None
    for name in tracks:
        if not _can_change(bench, name):
            continue
        track = bench.district.track(name)
        most = track.length + (best.length - 1 if best is not None else reach)
        if most <= track.length or ask(resized(bench, name, most)) is not True:
            continue
        least = _threshold(bench, track, cars, ask, None, track.length, most)
        if least is not None:
            best = Change(name, least - track.length)
    return best


def _can_change(bench: Bench, name: str) -> bool:
    """Whether a threshold of the track's length means anything, and can be looked for."""
    if name in bench.endless or not is_open(bench.district, name):
        return False
    linked = sum(bench.district.mate(End(name, end)) is not None for end in ("from", "to"))
    return linked == 1 or not _anchored(bench, name)


def _threshold(
    bench: Bench, track: Track, cars: int, ask: Ask, look: Ask | None, below: int, above: int
) -> int | None:
    """The least length with a yes, between ``below`` and ``above``, where it is yes.

    ``None`` if it is yes at ``below`` too, or not proved.  Sums of lengths are tried first, for there the
    answers change.
    """
    places = [below, *_sums(bench, track, cars, below, above), above]
    step = max(1, bench.puzzle.grid // _STEPS_PER_UNIT)
    asked = _Answers(lambda length: ask(resized(bench, track.name, length)), above)
    if look is not None:
        seen = _Answers(lambda length: look(resized(bench, track.name, length)) is True, above)
        _least(seen, places, step)
        asked.yes = seen.yes
        if seen.no is not None:
            asked(seen.no)  # a no where nothing was seen says no to all that is shorter
    return _least(asked, places, step)


class _Answers:
    """Answers by length: a yes is one for all that is longer, a no for all that is shorter."""

    def __init__(self, ask: Callable[[int], bool | None], yes: int) -> None:
        """``yes``: where it is known to be yes."""
        self._ask = ask
        self.yes = yes
        self.no: int | None = None

    def __call__(self, length: int) -> bool | None:
        """The answer for that length."""
        if length >= self.yes:
            return True
        if self.no is not None and length <= self.no:
            return False
        answer = self._ask(length)
        if answer is True:
            self.yes = length
        elif answer is False:
            self.no = length
        return answer


def _least(is_possible: Callable[[int], bool | None], places: list[int], step: int) -> int | None:
    """The least length with a yes, first to within two of ``places``; ``None`` if it is yes at the first of
    them, or not proved.
    """
    low, high = 0, len(places) - 1
    if is_possible(places[low]) is not False:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        answer = is_possible(places[middle])
        if answer is None:
            return None
        low, high = (low, middle) if answer else (middle, high)
    return _between(is_possible, places[low], places[high], step)


def _between(is_possible: Callable[[int], bool | None], no: int, yes: int, step: int) -> int | None:
    """The threshold between two lengths, exact if it is ``yes`` itself, else to within ``step``."""
    if yes - no > 1:
        answer = is_possible(yes - 1)
        if answer is not True:
            return yes if answer is False else None
        yes -= 1
    while yes - no > step:
        middle = (no + yes) // 2
        answer = is_possible(middle)
        if answer is None:
            return None
        no, yes = (no, middle) if answer else (middle, yes)
    return yes


def _sums(bench: Bench, track: Track, cars: int, above: int, below: int) -> list[int]:
    """Lengths at which some cars, with or without the locomotive and gaps, just fit the track.

    Or just fit it together with one junction next to it.
    """
    taken = track.length - _free_length(bench, track)
    rows = {
        taken + number * bench.car_length + engine * bench.locomotive.length + gaps
        for number in range(cars + 1)
        for engine in (0, 1)
        for gaps in (0, 1, 2)
    }
    routes = {0, *(route.length for junction in bench.district.junctions for route in junction.routes)}
    found = sorted({row - route for row in rows for route in routes})
    return found[bisect_left(found, above + 1) : bisect_left(found, below)]
