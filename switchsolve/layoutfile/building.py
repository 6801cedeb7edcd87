"""From a checked layout file to a layout."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from switchsolve.layout import (
    Aisle,
    CrewPlan,
    DistrictPlace,
    Flow,
    Layout,
    Link,
    StagingPlace,
    Stock,
    TrainPlan,
    WhatIf,
    YardPlace,
)
from switchsolve.layoutfile.schema import FlowLine, LayoutFile, StockLine
from switchsolve.lengths import GRID, MM_PER_UNIT, Measure, on_grid_down, on_grid_up
from switchsolve.puzzle import Puzzle

__all__ = ["build", "leaves_at", "long", "short"]


def long(measure: Measure, unit: str) -> int:
    """A length of vehicles, in grid units, rounded up.  Raises ``ValueError`` for cars as a unit."""
    return on_grid_up(_units(measure, unit))


def short(measure: Measure, unit: str) -> int:
    """A length of track, in grid units, rounded down.  Raises ``ValueError`` for cars as a unit."""
    return on_grid_down(_units(measure, unit))


def leaves_at(file: LayoutFile, time: int | None) -> int | None:
    """The minute of the session at a time of the fast clock, rounded down."""
    if time is None:
        return None
    return int(((time - file.session.begins) % (24 * 60)) / float(file.session.fast_clock))


def build(file: LayoutFile, puzzles: Mapping[str, Puzzle]) -> Layout:
    """The layout of a file with nothing wrong; ``puzzles``: the puzzle of each place."""
    session, unit = file.session, file.unit
    names = tuple(file.trains)
    return Layout(
        title=file.title,
        unit=unit,
        grid=GRID,
        minutes=session.minutes,
        fast_clock=float(session.fast_clock),
        begins=session.begins,
        pace=float(session.pace),
        kinds={kind: long(measure, unit) for kind, measure in file.kinds.items()},
        districts=_districts(file, puzzles),
        yard=_yard(file, puzzles),
        staging=_staging(file),
        links=tuple(
            Link(
                name,
                (line.between[0], line.between[1]),
                line.minutes,
                line.tracks,
                None if line.longest is None else short(line.longest, unit),
            )
            for name, line in file.links.items()
        ),
        aisles=tuple(Aisle(name, tuple(line.places), line.people) for name, line in file.aisles.items()),
        crews=tuple(
            CrewPlan(name, names if can == "all" else tuple(can)) for name, can in file.crews.items()
        ),
        trains=_trains(file),
        what_if=_what_if(file),
    )


def _units(measure: Measure, unit: str) -> Fraction:
    """The length in ``unit``."""
    if "car" in measure.units:
        raise ValueError("a length in cars")
    own = MM_PER_UNIT[unit]
    terms = (number * (MM_PER_UNIT[of] / own if of else 1) for number, of in measure.terms)
    return sum(terms, Fraction(0))


def _stock(lines: Mapping[str, StockLine]) -> dict[str, Stock]:
    return {kind: Stock(line.loaded, line.empty) for kind, line in lines.items()}


def _districts(file: LayoutFile, puzzles: Mapping[str, Puzzle]) -> tuple[DistrictPlace, ...]:
    return tuple(
        DistrictPlace(
            name,
            puzzles[name],
            tuple(_flows(file.industries.get(name, {}))),
            tuple(line.main),
            _stock(line.float),
            line.idler,
        )
        for name, line in file.districts.items()
    )


def _flows(lines: Mapping[str, FlowLine]) -> Iterator[Flow]:
    for track, line in lines.items():
        yield Flow(track, line.comes, line.from_, line.to)
        for kind, own in line.kinds.items():
            yield Flow(track, own.comes, own.from_, own.to, kind)


def _yard(file: LayoutFile, puzzles: Mapping[str, Puzzle]) -> YardPlace:
    ((name, line),) = file.yard.items()
    return YardPlace(
        name, puzzles[name], line.lead, tuple(line.tracks), short(line.room, file.unit), line.stop
    )


def _staging(file: LayoutFile) -> tuple[StagingPlace, ...]:
    return tuple(
        StagingPlace(
            name,
            line.through,
            {track: short(length, file.unit) for track, length in line.tracks.items()},
            tuple(line.keep_empty),
            _stock(line.cars),
        )
        for name, line in file.staging.items()
    )


def _trains(file: LayoutFile) -> tuple[TrainPlan, ...]:
    return tuple(
        TrainPlan(
            name,
            line.kind,
            line.from_,
            line.to,
            tuple(line.works),
            line.most_cars,
            long(line.equipment, file.unit),
            leaves_at(file, line.leaves),
            line.alternates,
        )
        for name, line in file.trains.items()
    )


def _what_if(file: LayoutFile) -> tuple[WhatIf, ...]:
    return tuple(
        WhatIf(
            name,
            tuple(line.without_crews),
            tuple(line.without_trains),
            {
                place: {track: short(length, file.unit) for track, length in tracks.items()}
                for place, tracks in line.staging.items()
            },
            dict(line.most_cars),
        )
        for name, line in file.what_if.items()
    )
