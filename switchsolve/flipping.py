"""The same set-up with a spur the other way round: what was facing is trailing, and the other way about.

The turnout of the spur is lifted out and laid again at the same place with its points to the other side: what
met its points meets its other leg, and what met that leg meets the points.  The spur, the rail beside the
turnout and all lengths stay as they are, and so does who stands where.
"""

from __future__ import annotations

from dataclasses import replace

from switchsolve.district import District, End, Junction, Route, Table, Track
from switchsolve.puzzle import Puzzle

__all__ = ["BOTH_WAYS", "both_ways", "flippable", "flipped", "flipped_district", "turnout_of"]

BOTH_WAYS = "both ways"
"""The kind of the junction of a spur that is laid both ways at once (see :func:`both_ways`)."""


def flippable(district: District) -> tuple[str, ...]:
    """The spurs that can be flipped, in the order of the plan: those that leave from a leg of a turnout."""
    return tuple(track.name for track in district.tracks if not isinstance(_turned(district, track), str))


def flipped(puzzle: Puzzle, spur: str) -> Puzzle:
    """The set-up with ``spur`` the other way round, all else as it is.

    Raises ``KeyError`` for an unknown track, and ``ValueError``, with the reason and the cure, for one that
    cannot be flipped (:func:`flippable` lists those that can).
    """
    return replace(puzzle, district=flipped_district(puzzle.district, spur))


def flipped_district(district: District, spur: str) -> District:
    """The district with ``spur`` the other way round; raises as :func:`flipped` does."""
    ends = _turned(district, district.track(spur))
    if isinstance(ends, str):
        raise ValueError(f"{spur} cannot be flipped: {ends}")
    one, other = ends
    swap = {one: other, other: one}
    links = tuple((swap.get(here, here), swap.get(there, there)) for here, there in district.links)
    tables = tuple(_relaid(table, swap) for table in district.tables)
    return replace(district, links=links, tables=tables)


def turnout_of(district: District, spur: str) -> str | None:
    """The turnout from a leg of which ``spur`` leaves; ``None`` if it cannot be flipped."""
    if isinstance(_turned(district, district.track(spur)), str):
        return None
    return next(mate.place for end in ("from", "to") if (mate := district.mate(End(spur, end))) is not None)


def both_ways(puzzle: Puzzle, spur: str) -> Puzzle:
    """The set-up with ``spur`` laid both ways at once: whatever can be done with it as it is, or flipped, can
    be done so, in as few moves.

    A way from the spur to the other leg is added to its turnout, as long as that to the points and counted
    after all others; any two of the three ways exclude each other.  Raises as :func:`flipped` does.
    """
    district = puzzle.district
    ends = _turned(district, district.track(spur))
    if isinstance(ends, str):
        raise ValueError(f"{spur} cannot be flipped: {ends}")
    points, leg = ends
    turnout = next(one for one in district.junctions if one.name == points.place)
    drawn = next(route for route in turnout.routes if leg.end not in (route.a, route.b))
    own = drawn.b if drawn.a == points.end else drawn.a
    wider = replace(turnout, kind=BOTH_WAYS, routes=(*turnout.routes, Route(leg.end, own, drawn.length)))
    junctions = tuple(wider if one is turnout else one for one in district.junctions)
    return replace(puzzle, district=replace(district, junctions=junctions))


def _relaid(table: Table, swap: dict[End, End]) -> Table:
    return replace(table, meets=tuple((side, swap.get(end, end)) for side, end in table.meets))


def _turned(district: District, track: Track) -> tuple[End, End] | str:
    """The two ends of the spur's turnout that change places (points and other leg); or why there are none."""
    mates = [mate for end in ("from", "to") if (mate := district.mate(End(track.name, end))) is not None]
    met = any(end.place == track.name for table in district.tables for _, end in table.meets)
    if len(mates) != 1 or met or track.entrances:
        return "it is no spur; name a track with a turnout at one end and a bumper at the other"
    turnout = district.place(mates[0].place)
    if not isinstance(turnout, Junction) or len(turnout.routes) != 2:
        return f"it meets {mates[0].place}, which is no turnout; name a spur that leaves from a turnout"
    first, second = ({route.a, route.b} for route in turnout.routes)
    points, leg = first & second, (first ^ second) - {mates[0].end}
    if len(points) != 1 or len(leg) != 1 or mates[0].end not in first ^ second:
        return f"it meets the points of {turnout.name}; name a spur that leaves from a leg of a turnout"
    return End(turnout.name, points.pop()), End(turnout.name, leg.pop())
