"""Which districts can be drawn on a plane at all, and how many of them are drawn with a crossing; for tests
only.

``python -m tests.planar --count 300`` measures the share on random districts.

Whether a plane will do is asked of networkx (``check_planarity``, the left-right test of de Fraysseix and
Rosenstiehl), which shares no code with the drawing.  Each junction is a rim of its ends with a hub in the
middle, so that its ends keep the order that the real device has (up to its mirror image); a table likewise,
but the stalls of a turntable may lie in any order.  That a schematic also runs from left to right, on level
lanes, is *not* asked: so a district called planar here may still need a crossing, or one more bend, in a
schematic.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from itertools import pairwise
from statistics import median

import networkx as nx

from switchsolve.district import District, End, Junction, Table
from switchsolve.drawing import Schematic, draw
from switchsolve.drawing.schematic import Point
from tests.random_plans import random_plan

__all__ = ["crossings", "is_planar", "overlaps"]

Piece = tuple[str, tuple[Point, Point]]

_RIMS = {
    "three-way": ("points", "left", "straight", "right"),
    "crossing": ("a from", "b from", "a to", "b to"),
    "single slip": ("a from", "b from", "a to", "b to"),
    "double slip": ("a from", "b from", "a to", "b to"),
    "slip": ("a from", "b from", "a to", "b to"),
    "double crossover": ("a from", "a to", "b to", "b from"),
}
"""The ends of a junction as they lie round it; where a kind is not named, any order will do."""


def is_planar(district: District) -> bool:
    """Whether the track plan can be drawn on a plane, each device with its ends in order."""
    graph: nx.Graph[object] = nx.Graph()
    for track in district.tracks:
        graph.add_edge(("end", track.name, "from"), ("end", track.name, "to"))
    for junction in district.junctions:
        _device(graph, junction)
    for table in district.tables:
        _table(graph, table)
    graph.add_edges_from((("end", *_key(one)), ("end", *_key(other))) for one, other in district.links)
    planar, _ = nx.check_planarity(graph)
    return bool(planar)


def _key(end: End) -> tuple[str, str]:
    return end.place, end.end


def _device(graph: nx.Graph[object], junction: Junction) -> None:
    for end in junction.ends:
        graph.add_edge(("hub", junction.name), ("end", junction.name, end))
    rim = _RIMS.get(junction.kind, ())
    if set(rim) == set(junction.ends):
        for one, other in pairwise((*rim, rim[0])):
            graph.add_edge(("end", junction.name, one), ("end", junction.name, other))


def _table(graph: nx.Graph[object], table: Table) -> None:
    """A turntable is a hub; a transfer table two hubs, one for each side."""
    for side, outside in table.meets:
        hub = ("hub", table.name, side if table.kind == "transfer table" else "")
        graph.add_edge(hub, ("end", *_key(outside)))
        graph.add_edge(hub, ("hub", table.name))


# ---- what is drawn


def _pieces(ground: Schematic) -> list[Piece]:
    found = [(name, pair) for name, rail in ground.tracks.items() for pair in pairwise(rail.points)]
    for each in ground.junctions:
        found += [(each.name, pair) for leg in each.legs for pair in pairwise(leg.points)]
    return found + [("", pair) for rail in ground.plain for pair in pairwise(rail.points)]


def crossings(ground: Schematic) -> list[frozenset[str]]:
    """Pairs of tracks and junctions whose rails cross, found from the points alone.

    Where the rails of one junction cross in its middle, that is the device itself.
    """
    middles = {each.name: each.middle for each in ground.junctions}
    found = []
    for (one, a), (two, b) in _near(_pieces(ground)):
        if not _cross(a, b):
            continue
        if one == two and one in middles and _is_at(middles[one], a, b):
            continue
        found.append(frozenset((one, two)))
    return list(dict.fromkeys(found))


def overlaps(ground: Schematic) -> list[frozenset[str]]:
    """Pairs of tracks and junctions of which the rails lie over each other for a stretch."""
    found = []
    for (one, a), (two, b) in _near(_pieces(ground)):
        if one == two or not {a[0][1]} == {a[1][1]} == {b[0][1]} == {b[1][1]}:
            continue
        left = max(min(a[0][0], a[1][0]), min(b[0][0], b[1][0]))
        right = min(max(a[0][0], a[1][0]), max(b[0][0], b[1][0]))
        if right - left > 1:
            found.append(frozenset((one, two)))
    return list(dict.fromkeys(found))


def _near(pieces: list[Piece]) -> Iterator[tuple[Piece, Piece]]:
    """Pairs of pieces whose columns meet."""
    pieces = sorted(pieces, key=lambda piece: min(piece[1][0][0], piece[1][1][0]))
    active: list[Piece] = []
    for piece in pieces:
        left = min(piece[1][0][0], piece[1][1][0])
        active = [other for other in active if max(other[1][0][0], other[1][1][0]) >= left]
        yield from ((other, piece) for other in active)
        active.append(piece)


def _cross(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(*one, two[0]) * side(*one, two[1]) < -1 and side(*two, one[0]) * side(*two, one[1]) < -1


def _is_at(middle: Point, one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Whether both pieces come near the middle of a device."""
    return all(min(abs(x - middle[0]) + abs(y - middle[1]) for x, y in piece) < 90 for piece in (one, two))


def main() -> None:
    """Prints the shares."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--most", type=int, default=30, help="tracks")
    wanted = parser.parse_args()
    planar, crossed, number, over = 0, [], 0, []
    seconds = []
    for seed in range(wanted.first, wanted.first + wanted.count):
        puzzle = random_plan(seed, wanted.most)
        start = time.process_time()
        ground = draw(puzzle)
        seconds.append(time.process_time() - start)
        count = len(crossings(ground))
        if overlaps(ground):
            over.append(seed)
        if is_planar(puzzle.district):
            planar += 1
            number += count
            crossed += [seed] if count else []
    print(f"{planar} of {wanted.count} random districts are planar.")
    print(f"{len(crossed)} of these are drawn with a crossing, {number} crossings in all: seeds {crossed}")
    print(f"{len(over)} of all are drawn with rail over rail: seeds {over}")
    slow = sum(one > 2 for one in seconds)
    print(f"Seconds: {median(seconds):.1f} (median), {max(seconds):.1f} (most); {slow} took more than 2.")


if __name__ == "__main__":
    main()
