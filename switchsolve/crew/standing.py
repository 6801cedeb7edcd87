"""Where everything stands between two items, and the start of a set-up that goes on from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from switchsolve.district import District, Track
from switchsolve.plan import Line, Placed, Plan
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.referee import Replay
from switchsolve.referee.rail import Ground, turned
from switchsolve.work import Place

__all__ = ["Standpoint", "first_standpoint", "next_standpoint"]


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
    """The start of the file.

    Where a dead end is closed to locomotives, its cars stand as near to the way in as they can: a car that
    stands deep in it may be out of reach later, and where in their track cars stand suits the crew.
    """
    start = puzzle.start
    bound = {one.track for one in start.strings if one.fixed_at is not None or one.spots}
    for track in puzzle.district.tracks:
        way_in = _only_way_in(puzzle.district, track)
        if way_in is not None and track.name not in bound:
            start = replace(start, strings=_drawn_up(puzzle, start, track, way_in))
    return Standpoint(start, puzzle.district, False)


def _only_way_in(district: District, track: Track) -> str | None:
    """The end by which a dead end with a part closed to locomotives is reached; ``None``: any other track."""
    is_closed = any(part.marks.no_locomotives for part in track.parts)
    ends = [end for link in district.links for end in link]
    ends += [end for table in district.tables for _, end in table.meets]
    met = {end.end for end in ends if end.place == track.name}
    return next(iter(met)) if is_closed and len(met) == 1 and not track.entrances else None


def _drawn_up(puzzle: Puzzle, start: Start, track: Track, way_in: str) -> tuple[StartString, ...]:
    """All strings, those of ``track`` drawn up to its end ``way_in``, each one grid unit from the next."""
    here = [string for string in start.strings if string.track == track.name]
    lengths = [sum(puzzle.vehicles[name].length for name in string.vehicles) for string in here]
    begins = [sum(lengths[:at]) + at for at in range(len(here))]
    shift = 0 if way_in == "from" else track.length - sum(lengths) - len(here) + 1
    at_place = {id(one): begin + shift for one, begin in zip(here, begins, strict=True)}
    return tuple(
        replace(one, fixed_at=at_place[id(one)]) if id(one) in at_place else one for one in start.strings
    )


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
