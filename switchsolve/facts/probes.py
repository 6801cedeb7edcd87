"""Small set-ups that ask one thing of a district each, with a standard car and locomotive.

The district is emptied: only the cars that are not to be touched stay.  A train of the standard locomotive
and some standard cars stands where trains come from, and the work says what is asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from switchsolve.district import Cell, District, End, KeepClear, Limits, Marks, Track
from switchsolve.lengthening import endless_tracks
from switchsolve.marking import remarked
from switchsolve.puzzle import Puzzle, Standards, Start, StartString
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import DoNotTouch, EndsIn, Free, Item, LocomotiveEnds, Place, Train, Work

__all__ = [
    "Bench",
    "Entry",
    "bench",
    "entries",
    "is_open",
    "is_shut_out",
    "opened",
    "pass_probe",
    "reach_probe",
    "spot_probe",
    "tail_probe",
    "train_probe",
    "unused_names",
]


@dataclass(frozen=True, slots=True)
class Entry:
    """Where a train comes from: it stands on ``track`` and goes in by the end ``inward``."""

    track: str
    inward: str
    is_entrance: bool = True
    """``False``: the district has no entrance, and this is where the locomotive starts."""

    @property
    def outward(self) -> str:
        """The other end of the track."""
        return "from" if self.inward == "to" else "to"


@dataclass(frozen=True, slots=True)
class Bench:
    """The emptied district (``puzzle``: with the cars not to be touched), and what to probe it with.

    ``kind`` and ``car_length`` (grid units, allowance included) are those of the standard car;
    ``endless``: entrance tracks that are as long as need be.
    """

    puzzle: Puzzle
    locomotive: Locomotive
    kind: str
    car_length: int
    endless: frozenset[str] = frozenset()

    @property
    def district(self) -> District:
        """The track plan."""
        return self.puzzle.district

    def on(self, district: District) -> Bench:
        """The same bench with another track plan."""
        return replace(self, puzzle=replace(self.puzzle, district=district))


def bench(puzzle: Puzzle) -> Bench | None:
    """The bench for ``puzzle``; ``None`` if it has no locomotive, or no car to go by.

    The standard car is of the kind that ``[standards]`` names, else of the commonest kind in the file (the
    first of those as common); the standard locomotive the one named, else the first.
    """
    locomotives = {locomotive.name: locomotive for locomotive in puzzle.locomotives}
    kind = _standard_kind(puzzle)
    if not locomotives or kind is None:
        return None
    chosen = puzzle.standards.locomotive or puzzle.locomotives[0].name
    length = _length_of(puzzle, kind)
    return Bench(_emptied(puzzle), locomotives[chosen], kind, length, endless_tracks(puzzle))


def _standard_kind(puzzle: Puzzle) -> str | None:
    if puzzle.standards.car is not None:
        return puzzle.standards.car
    common = Counter(car.kind for car in puzzle.cars if not car.is_dead_locomotive).most_common(1)
    if common:
        return common[0][0]
    return next(iter(puzzle.kinds), None)


def _length_of(puzzle: Puzzle, kind: str) -> int:
    """Length of a car of ``kind``: as the file gives it for the kind, else its longest car of that kind."""
    if kind in puzzle.kinds:
        return puzzle.kinds[kind]
    return max(car.length for car in puzzle.cars if car.kind == kind)


def _emptied(puzzle: Puzzle) -> Puzzle:
    """The puzzle with none but its do-not-touch cars, and no other work."""
    stay = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    strings = tuple(string for string in puzzle.start.strings if string.vehicles[0] in stay)
    items = tuple(item for item in puzzle.work.items if isinstance(item, DoNotTouch))
    return replace(
        puzzle,
        cars=tuple(car for car in puzzle.cars if car.name in stay),
        locomotives=(),
        start=Start(strings, {}),
        work=Work(items),
        standards=Standards(),
        stated_minimum=None,
        stated_verdict=None,
    )


def entries(puzzle: Puzzle, locomotive: str) -> tuple[Entry, ...]:
    """Where trains come from: each entrance; without any, the track where ``locomotive`` starts."""
    found = [
        Entry(track.name, "to" if "from" in track.entrances else "from")
        for track in puzzle.district.tracks
        if len(track.entrances) == 1
    ]
    if found:
        return tuple(found)
    for string in puzzle.start.strings:
        if locomotive in string.vehicles and isinstance(puzzle.district.place(string.track), Track):
            return (Entry(string.track, _way_in(puzzle, string.track, locomotive), False),)
    return ()


def _way_in(puzzle: Puzzle, track: str, locomotive: str) -> str:
    """The end by which one leaves the track: the only one that is linked, else the one headed for."""
    linked = [end for end in ("from", "to") if puzzle.district.mate(End(track, end)) is not None]
    return linked[0] if len(linked) == 1 else puzzle.start.heads[locomotive]


# ---- the probes


def reach_probe(bench: Bench, entry: Entry, track: str) -> Puzzle:
    """The locomotive alone is to get wholly into ``track``."""
    item = LocomotiveEnds(bench.locomotive.name, track)
    return train_probe(bench, entry, (), (item,), is_ahead=False)


def spot_probe(
    bench: Bench,
    entry: Entry,
    place: Place,
    cars: int,
    *,
    is_ahead: bool,
    idlers: int = 0,
    comes_back: bool = True,
) -> Puzzle:
    """``cars`` standard cars, ahead of the locomotive or behind it, are to be spotted at ``place``.

    ``idlers``: so many more between them and the locomotive, which may end anywhere in the clear: they reach
    where a locomotive may not go.  ``comes_back``: the locomotive is to end where it came from, and not to be
    shut in behind its cars.
    """
    names = [*unused_names(bench, "idler", idlers), *unused_names(bench, "car", cars)]
    items: list[Item] = [Free(name) for name in names[:idlers]]
    items += [EndsIn(name, (place,)) for name in names[idlers:]]
    if comes_back:
        items.append(LocomotiveEnds(bench.locomotive.name, entry.track))
    return train_probe(bench, entry, names, items, is_ahead=is_ahead)


def tail_probe(bench: Bench, entry: Entry, track: str, cars: int, *, is_ahead: bool) -> Puzzle:
    """The locomotive and ``cars`` standard cars, coupled, are to stand wholly on ``track``."""
    if not cars:
        return reach_probe(bench, entry, track)
    names = unused_names(bench, "car", cars)
    item = Train(bench.locomotive.name, track, frozenset(names))
    return train_probe(bench, entry, names, (item,), is_ahead=is_ahead)


def pass_probe(bench: Bench, entry: Entry, cars: int) -> Puzzle:
    """A train pulled in is to stand where it came from, the locomotive at the other end of its cars."""
    names = unused_names(bench, "car", cars)
    item = Train(bench.locomotive.name, entry.track, frozenset(names), locomotive_at=entry.outward)
    return train_probe(bench, entry, names, (item,), is_ahead=False)


def train_probe(
    bench: Bench,
    entry: Entry,
    cars: Iterable[str],
    items: Iterable[Item],
    *,
    is_ahead: bool,
    more: int = 0,
) -> Puzzle:
    """A set-up of its own: the locomotive and ``cars`` (the nearest to it first) on the track of ``entry``.

    ``is_ahead``: the cars are on the side of the locomotive that goes in first.  Its rear is to the cars, so
    that a locomotive that couples at the rear only will do.  ``more``: so many standard cars are
    as long as all those that stand in the district and may be moved; its limits must bind them too.
    """
    names = tuple(cars)
    fleet = tuple(Car(name, bench.car_length, bench.kind) for name in names)
    engine = bench.locomotive
    inwards = (engine.name, *names) if is_ahead else (*reversed(names), engine.name)
    order = inwards if entry.inward == "to" else inwards[::-1]
    heads = entry.outward if is_ahead else entry.inward
    base = bench.puzzle
    wanted = tuple(items)
    stand_there = any(string.track == entry.track for string in base.start.strings)
    leaves = None if stand_there or _may_be_left(wanted, entry.track) else entry.track
    train = StartString(entry.track, order)
    return replace(
        base,
        district=_room_for(bench, len(fleet) + more, leaves),
        cars=(*base.cars, *fleet),
        locomotives=(engine,),
        start=Start(_with_train(base.start.strings, train, entry), {engine.name: heads}),
        work=Work((*base.work.items, *wanted)),
    )


def _may_be_left(items: Iterable[Item], track: str) -> bool:
    """Whether a car may be left alone on ``track`` at the end."""
    return any(
        isinstance(item, Free)
        or (isinstance(item, EndsIn) and any(place.track == track for place in item.places))
        for item in items
    )


def unused_names(bench: Bench, what: str, count: int) -> list[str]:
    """Names that no other vehicle has."""
    taken = {bench.locomotive.name, *(car.name for car in bench.puzzle.cars)}
    names = (f"{what} {number}" for number in range(1, count + 1 + len(taken)))
    return [name for name in names if name not in taken][:count]


def _with_train(
    strings: tuple[StartString, ...], train: StartString, entry: Entry
) -> tuple[StartString, ...]:
    """All strings, the train nearest to the entrance on its track."""
    here = [string for string in strings if string.track == train.track]
    others = [string for string in strings if string.track != train.track]
    row = [train, *here] if entry.inward == "to" else [*here, train]
    return (*row, *others)


def _room_for(bench: Bench, cars: int, left: str | None) -> District:
    """The district with endless entrances long enough, and without the limits that so few cars cannot break.

    ``left``: a track on which no car can be left alone at the end; it need not be kept clear then.  (A mark
    that never binds changes no answer, but would keep the fast search from being used.)
    """
    length = cars * bench.car_length
    need = length + bench.locomotive.length + cars + 1
    old = bench.district
    tracks = tuple(
        _freed(_stretched(track, need) if track.name in bench.endless else track, cars, length)
        for track in old.tracks
    )
    tracks = tuple(_not_cleared(track) if track.name == left else track for track in tracks)
    junctions = tuple(replace(item, marks=_unlimited(item.marks, cars, length)) for item in old.junctions)
    tables = tuple(replace(item, marks=_unlimited(item.marks, cars, length)) for item in old.tables)
    return District(tracks, junctions, tables, old.links, _binding(old.limits, cars, length))


def _stretched(track: Track, need: int) -> Track:
    last = track.parts[-1]
    extra = max(0, need - track.length)
    return replace(track, parts=(*track.parts[:-1], replace(last, length=last.length + extra)))


def _freed(track: Track, cars: int, length: int) -> Track:
    return replace(
        track,
        parts=tuple(replace(part, marks=_unlimited(part.marks, cars, length)) for part in track.parts),
    )


def _not_cleared(track: Track) -> Track:
    """The track without its marks to be clear at the end (those to be clear always stay)."""
    parts = [
        replace(part, marks=replace(part.marks, keep_clear=KeepClear.NO))
        if part.marks.keep_clear is KeepClear.AT_END
        else part
        for part in track.parts
    ]
    return replace(track, parts=tuple(parts))


def _unlimited(marks: Marks, cars: int, length: int) -> Marks:
    return replace(marks, limits=_binding(marks.limits, cars, length)) if marks.limits else marks


def _binding(limits: Limits, cars: int, length: int) -> Limits:
    """Those of ``limits`` that a string of ``cars`` cars, ``length`` long, can break."""
    return Limits(
        _if_below(limits.most_cars, cars),
        _if_below(limits.longest, length),
        _if_below(limits.most_shoved, cars),
    )


def _if_below(limit: int | None, most: int) -> int | None:
    return limit if limit is not None and limit < most else None


def is_shut_out(bench: Bench, track: str) -> bool:
    """Whether the locomotive may touch no part of ``track``."""
    marks = [part.marks for part in bench.district.track(track).parts]
    return all(mark.no_locomotives or bench.locomotive.kind in mark.barred for mark in marks)


def opened(bench: Bench) -> Bench:
    """The bench with nothing closed to locomotives."""
    return bench.on(remarked(bench.district, lambda marks: replace(marks, no_locomotives=False)))


def is_open(district: District, track: str) -> bool:
    """Whether nothing is closed on ``track``: then more length of it never makes work harder."""
    cells = [Cell(track, index) for index in range(len(district.track(track).parts))]
    marks = [district.cell_marks(cell) for cell in cells]
    return not any(mark.no_locomotives or mark.barred for mark in marks)
