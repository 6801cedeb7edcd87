"""Where everything stands between two items, and the start of a set-up that goes on from there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from switchsolve.district import District, Track
from switchsolve.plan import Line, Placed, Plan
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.referee import Replay
from switchsolve.referee.rail import Ground, turned
from switchsolve.work import AnyCars, EndsIn, Place

__all__ = ["Standpoint", "first_standpoint", "next_standpoint", "place_matters"]


@dataclass(frozen=True, slots=True)
class Standpoint:
    """The start of the next item: who stands where, on which tracks, and how the tables are lined.

    ``is_fixed``: it has been reached by work, so that every string stands at an exact place; at the very
    start the crew may still choose.
    """

    start: Start
    district: District
    is_fixed: bool

    @property
    def track_of(self) -> dict[str, str]:
        """The track (or table) of each vehicle."""
        return {name: string.track for string in self.start.strings for name in string.vehicles}

    def is_at(self, puzzle: Puzzle, car: str, place: Place) -> bool:
        """Whether ``car`` stands at ``place`` (spots are known only once all places are)."""
        if self.track_of[car] != place.track:
            return False
        if place.spot is None:
            return True
        string = next(string for string in self.start.strings if car in string.vehicles)
        begin = string.fixed_at
        if begin is None:
            return string.spots.get(car) == place.spot
        at = self.district.track(place.track).spot(place.spot).at
        vehicles = puzzle.vehicles
        begin += sum(vehicles[name].length for name in string.vehicles[: string.vehicles.index(car)])
        return begin <= at <= begin + vehicles[car].length


def first_standpoint(puzzle: Puzzle) -> Standpoint:
    """The start of the file."""
    return Standpoint(puzzle.start, puzzle.district, False)


def next_standpoint(
    puzzle: Puzzle, before: Standpoint, plan: Plan, replayed: Replay
) -> Standpoint | None:
    """The standing after the last run of ``plan``, what is coupled still coupled.

    ``before``: where the plan set out.  A locomotive that has moved is under way in the direction of its last
    motion, so that going on in it costs no reversal.  ``None``: a string does not lie on one track.
    """
    ground = Ground.of(puzzle)
    strings = []
    heads = dict(before.start.heads)
    for placed in replayed.frames[len(plan.runs)].standing:
        along = placed if placed.ways[0].sign > 0 else turned(ground, placed)
        if len({way.cell.place for way in along.ways}) > 1:
            return None
        strings.append(_start_string(puzzle, before, along))
        heads |= {name: "to" if nose > 0 else "from" for name, nose in along.noses.items()}
    strings.sort(key=lambda string: (string.track, string.fixed_at or 0))
    under_way = {
        name: heads[name] if is_forward else _other(heads[name])
        for name, is_forward in _directions(before, plan, replayed).items()
    }
    return Standpoint(Start(tuple(strings), heads, under_way), _lined(before.district, plan), True)


def _start_string(puzzle: Puzzle, before: Standpoint, along: Placed) -> StartString:
    """The string at its exact place, with the spots of the file's start at which its cars still stand."""
    name = along.ways[0].cell.place
    place = puzzle.district.place(name)
    begin = along.offset
    spots: dict[str, str] = {}
    if isinstance(place, Track):
        begin += sum(part.length for part in place.parts[: along.ways[0].cell.index])
        homes = {
            car: string.spots[car]
            for string in puzzle.start.strings
            if string.track == name
            for car in string.spots
        }
        end = begin
        for car in along.vehicles:
            start, end = end, end + puzzle.vehicles[car].length
            if car in homes and start <= place.spot(homes[car]).at <= end:
                spots[car] = homes[car]
    return StartString(name, along.vehicles, spots, begin)


def _other(end: str) -> str:
    return "from" if end == "to" else "to"


def _directions(before: Standpoint, plan: Plan, replayed: Replay) -> Mapping[str, bool]:
    """For each locomotive that has moved (or was under way): whether it last moved forward."""
    found = {name: before.start.heads[name] == end for name, end in before.start.under_way.items()}
    for frame in replayed.frames[1 : len(plan.runs) + 1]:
        moving = next(string for string in frame.standing if string.vehicles == frame.moving)
        found |= {name: nose > 0 for name, nose in moving.noses.items()}
    return found


def _lined(district: District, plan: Plan) -> District:
    """The district with its tables as the plan leaves them."""
    last = {
        step.table: step.index for run in plan.runs for step in run.steps if isinstance(step, Line)
    }
    if not last:
        return district
    tables = tuple(replace(table, lined=last.get(table.name, table.lined)) for table in district.tables)
    return District(district.tracks, district.junctions, tables, district.links, district.limits)


def place_matters(puzzle: Puzzle, point: Standpoint) -> bool:
    """Whether the answer can hang on where in its track a vehicle stands: longest runs do not see that.

    So it is where a car is on the track of a spot that it is wanted at, and may not be at it; and where it
    stands at an exact place or a spot, or is wanted at one, on a track that is closed to something in part:
    there it can be out of reach.
    """
    closed = {
        track.name
        for track in puzzle.district.tracks
        if any(part.marks.no_locomotives or part.marks.barred for part in track.parts)
    }
    if any(string.track in closed and _is_bound(string) for string in point.start.strings):
        return True
    return _is_off_its_spot(puzzle, point) or any(
        place.spot is not None and place.track in closed for _, places in _wanted(puzzle) for place in places
    )


def _is_bound(string: StartString) -> bool:
    """Whether the crew may not choose where in its track the string stands at the start."""
    return string.fixed_at is not None or bool(string.spots)


def _wanted(puzzle: Puzzle) -> Iterator[tuple[list[str], tuple[Place, ...]]]:
    """Cars, and the places at which they are wanted."""
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            yield [item.car], item.places
        elif isinstance(item, AnyCars):
            yield [car.name for car in puzzle.cars if car.kind == item.kind], (item.place,)


def _is_off_its_spot(puzzle: Puzzle, point: Standpoint) -> bool:
    return any(
        place.spot is not None and point.track_of[car] == place.track and not point.is_at(puzzle, car, place)
        for cars, places in _wanted(puzzle)
        for place in places
        for car in cars
    )
