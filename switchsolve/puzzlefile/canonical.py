"""One form for puzzles that say the same, so that what is written reads back as an equal puzzle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from switchsolve.design import Design
from switchsolve.district import District, End, Junction, Limits, Marks, Table, Track
from switchsolve.lengths import GRID
from switchsolve.puzzle import Puzzle, Start
from switchsolve.puzzlefile.trackplan import JUNCTION_FORMS, TABLE_KINDS
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, Item, LocomotiveEnds, Train, Work

__all__ = ["canonical", "rescaled", "section_of"]

_SECTIONS = (*JUNCTION_FORMS, "junctions")
_ITEMS = (EndsIn, DoNotTouch, Hold, Free, Train, AnyCars, LocomotiveEnds)


def canonical(puzzle: Puzzle) -> Puzzle:
    """The same puzzle in the form in which a file is read.

    On the file's grid; junctions, tables, links, strings and items in the order of the file's sections;
    ends of junctions in their usual order; without marks for kinds that no vehicle is of.  Whatever is done
    with a puzzle, these differences do not change it.  Raises ``ValueError`` if its grid does not divide
    the file's, or if a table is of a kind that no file can name.
    """
    puzzle = rescaled(puzzle)
    kinds = frozenset({vehicle.kind for vehicle in puzzle.vehicles.values()} | set(puzzle.kinds))
    order = {
        track: index for index, track in enumerate(dict.fromkeys(item.track for item in puzzle.start.strings))
    }
    strings = tuple(sorted(puzzle.start.strings, key=lambda string: order[string.track]))
    return replace(
        puzzle,
        district=_district(puzzle.district, kinds),
        start=Start(strings, dict(puzzle.start.heads), dict(puzzle.start.under_way)),
        work=Work(tuple(sorted(puzzle.work.items, key=_item_rank))),
    )


def section_of(junction: Junction) -> str:
    """The section of the file that can hold ``junction``."""
    for section, (kind, ends, routes, compatible) in JUNCTION_FORMS.items():
        same_routes = tuple((a, b) for _, a, b in routes) == tuple(
            (route.a, route.b) for route in junction.routes
        )
        if junction.kind == kind and same_routes and junction.compatible == compatible:
            return section if set(junction.ends) <= set(ends) else "junctions"
    return "junctions"


def _item_rank(item: Item) -> tuple[int, bool]:
    """Where an item stands in the file."""
    return _ITEMS.index(type(item)), isinstance(item, EndsIn) and len(item.places) > 1


def _district(district: District, kinds: frozenset[str]) -> District:
    """The district with its pieces in the order of the file."""
    tracks = tuple(
        replace(track, parts=tuple(replace(part, marks=_marks(part.marks, kinds)) for part in track.parts))
        for track in district.tracks
    )
    junctions = [
        replace(item, ends=_ends(item), marks=_marks(item.marks, kinds)) for item in district.junctions
    ]
    junctions.sort(key=lambda junction: _SECTIONS.index(section_of(junction)))
    ends = [*(End(track.name, end) for track in tracks for end in ("from", "to"))]
    ends += [End(junction.name, end) for junction in junctions for end in junction.ends]
    tables = [_table(table, ends, kinds) for table in district.tables]
    tables.sort(key=lambda table: list(TABLE_KINDS.values()).index(table.kind))
    return District(tracks, tuple(junctions), tuple(tables), tuple(_links(district, ends)), district.limits)


def _ends(junction: Junction) -> tuple[str, ...]:
    """The ends of a junction in their usual order."""
    section = section_of(junction)
    if section != "junctions":
        return JUNCTION_FORMS[section][1]
    return tuple(dict.fromkeys(end for route in junction.routes for end in (route.a, route.b)))


def _links(district: District, ends: list[End]) -> Iterator[tuple[End, End]]:
    """Every link once, by the first of its ends."""
    known = set(ends)
    done: set[End] = set()
    for end in ends:
        other = district.mate(end)
        if other in known and end not in done and other is not None:
            done.add(other)
            yield end, other


def _table(table: Table, ends: list[End], kinds: frozenset[str]) -> Table:
    """A table with what it meets in the order of ``ends``, its own end ``from`` first."""
    if table.kind not in TABLE_KINDS.values():
        raise ValueError(f"a file has no tables of the kind {table.kind!r}")
    rank = {end: index for index, end in enumerate(ends)}
    meets = sorted(table.meets, key=lambda pair: (rank[pair[1]], pair[0] == "to"))
    lined = meets.index(table.meets[table.lined])
    return replace(table, meets=tuple(meets), lined=lined, marks=_marks(table.marks, kinds))


def _marks(marks: Marks, kinds: frozenset[str]) -> Marks:
    """The marks, as far as they concern any vehicle."""
    return replace(marks, barred=marks.barred & kinds)


def rescaled(puzzle: Puzzle, grid: int = GRID) -> Puzzle:
    """The same puzzle on a finer grid.  Raises ``ValueError`` unless ``grid`` is a multiple of its own."""
    times, rest = divmod(grid, puzzle.grid)
    if rest:
        raise ValueError(f"a grid of {puzzle.grid} does not divide one of {grid}")
    return puzzle if times == 1 else _times(puzzle, grid, times)


def _times(puzzle: Puzzle, grid: int, times: int) -> Puzzle:
    """Every length of the puzzle, so many times."""
    speed = puzzle.times.speed
    strings = tuple(
        replace(string, fixed_at=None if string.fixed_at is None else string.fixed_at * times)
        for string in puzzle.start.strings
    )
    return replace(
        puzzle,
        district=_district_times(puzzle.district, times),
        cars=tuple(replace(car, length=car.length * times) for car in puzzle.cars),
        locomotives=tuple(replace(item, length=item.length * times) for item in puzzle.locomotives),
        start=replace(puzzle.start, strings=strings),
        grid=grid,
        allowance=puzzle.allowance * times,
        kinds={kind: length * times for kind, length in puzzle.kinds.items()},
        design=None if puzzle.design is None else _design_times(puzzle.design, times),
        track_centers=None if puzzle.track_centers is None else puzzle.track_centers * times,
        times=replace(puzzle.times, speed=None if speed is None else speed * times),
    )


def _design_times(design: Design, times: int) -> Design:
    """Every length of what is left open, so many times."""
    choices = tuple(
        replace(
            choice,
            options=tuple(
                replace(option, lengths={track: length * times for track, length in option.lengths.items()})
                for option in choice.options
            ),
        )
        for choice in design.choices
    )
    rail = None if design.most_rail is None else design.most_rail * times
    return replace(design, choices=choices, most_rail=rail)


def _district_times(district: District, times: int) -> District:
    """Every length of the district, so many times."""
    return District(
        tuple(_track_times(track, times) for track in district.tracks),
        tuple(
            replace(
                junction,
                routes=tuple(replace(route, length=route.length * times) for route in junction.routes),
                marks=_marks_times(junction.marks, times),
            )
            for junction in district.junctions
        ),
        tuple(
            replace(table, length=table.length * times, marks=_marks_times(table.marks, times))
            for table in district.tables
        ),
        district.links,
        _limits_times(district.limits, times),
    )


def _track_times(track: Track, times: int) -> Track:
    """Every length of the track, so many times."""
    parts = tuple(
        replace(part, length=part.length * times, marks=_marks_times(part.marks, times))
        for part in track.parts
    )
    return replace(track, parts=parts, spots=tuple(replace(spot, at=spot.at * times) for spot in track.spots))


def _marks_times(marks: Marks, times: int) -> Marks:
    """The lengths in the marks, so many times."""
    return replace(marks, limits=_limits_times(marks.limits, times))


def _limits_times(limits: Limits, times: int) -> Limits:
    """The lengths in the limits, so many times."""
    return limits if limits.longest is None else replace(limits, longest=limits.longest * times)
