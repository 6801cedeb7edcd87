"""The shape of a district: its spurs, tails and run-arounds, found on the graph of its rails.

In the graph every track and every route is a node, and so is every meeting of ends; a table is a node that
meets all the ends that it can be lined to.  A loop of rail is a cycle of this graph.  Where a cycle goes
from one route of a junction to another route of it, at the end they share, a train on it must reverse: a
**cusp**.  A run-around has two cusps, a wye three, a balloon loop one, an oval none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from switchsolve.district import District, End, Junction, Part, Table, Track

__all__ = ["Loop", "isolated", "joined", "loops", "spurs", "tails"]

Node = tuple[str, str, int]
"""Kind (``end``, ``track``, ``route``, ``table``), name, and index of the route."""

_LOOP_KINDS = {0: "oval", 1: "balloon loop", 2: "run-around", 3: "wye"}


@dataclass(frozen=True, slots=True)
class Loop:
    """A cycle of rail.  ``kind`` is ``run-around``, ``wye``, ``balloon loop``, ``oval`` or ``loop``.

    ``sides``: the tracks of each stretch between cusps, as one meets them.  ``opening``: the end of one of
    its tracks at which the rail can be parted so that this loop is gone and no other.
    """

    kind: str
    sides: tuple[tuple[str, ...], ...]
    opening: End

    def tracks(self) -> tuple[str, ...]:
        """All tracks of the loop."""
        return tuple(name for side in self.sides for name in side)


def spurs(district: District) -> tuple[Track, ...]:
    """Tracks linked at one end, with a bumper at the other."""
    return tuple(
        track
        for track in district.tracks
        if not track.entrances and sum(_is_linked(district, track, end) for end in ("from", "to")) == 1
    )


def tails(district: District) -> tuple[tuple[str, ...], ...]:
    """Rows of tracks that lead nowhere on from where two routes of a junction meet (points of a turnout).

    Whoever goes from one of the routes to the other must go in there.  An entrance track is one too: nothing
    may go out at the entrance.  Each row is one track, or several end to end, the one at the points first.
    """
    rows = []
    for junction in district.junctions:
        for end in junction.ends:
            if sum(end in (route.a, route.b) for route in junction.routes) >= 2:
                row = _dead_row(district, End(junction.name, end))
                if row:
                    rows.append(row)
    order = [track.name for track in district.tracks]
    return tuple(sorted(rows, key=lambda row: order.index(row[0])))


def _dead_row(district: District, end: End) -> tuple[str, ...]:
    """The tracks from ``end`` to a bumper or entrance; empty if the rail leads to anything else."""
    row: list[str] = []
    here = district.mate(end)
    while here is not None:
        if not isinstance(district.place(here.place), Track) or here.place in row:
            return ()
        row.append(here.place)
        far = End(here.place, _other(here.end))
        if district.mate(far) is None:
            return () if _is_linked(district, district.track(far.place), far.end) else tuple(row)
        here = district.mate(far)
    return ()


def _other(end: str) -> str:
    return "from" if end == "to" else "to"


def joined(district: District, row: tuple[str, ...]) -> tuple[District, str]:
    """The district with the tracks of a tail made one track, and its name; its ``to`` end is at the points.

    What links them is plain rail, so nothing that moves can tell the difference.
    """
    name = " + ".join(row)
    first = district.track(row[0])
    inner = next(end for end in ("from", "to") if _meets_junction(district, End(first.name, end)))
    mate = district.mate(End(first.name, inner))
    assert mate is not None
    parts: list[Part] = []
    near = inner
    for at, one in enumerate(row):
        track = district.track(one)
        parts += track.parts if near == "from" else reversed(track.parts)
        if at + 1 < len(row):
            following = district.mate(End(one, _other(near)))
            assert following is not None
            near = following.end
    outer = district.track(row[-1])
    entrances = frozenset({"from"}) if outer.entrances else frozenset[str]()
    whole = Track(name, tuple(reversed(parts)), (), entrances)
    tracks = tuple(track for track in district.tracks if track.name not in row)
    links = tuple(pair for pair in district.links if not {end.place for end in pair} & set(row))
    here = (End(name, "to"), mate)
    return District(
        (whole, *tracks), district.junctions, district.tables, (here, *links), district.limits
    ), name


def _meets_junction(district: District, end: End) -> bool:
    mate = district.mate(end)
    return mate is not None and isinstance(district.place(mate.place), Junction)


def _is_linked(district: District, track: Track, end: str) -> bool:
    here = End(track.name, end)
    met = any(here == outside for table in district.tables for _, outside in table.meets)
    return met or district.mate(here) is not None


# ---- loops


def loops(district: District) -> tuple[Loop, ...]:
    """A set of loops that all others are made of; each can be parted from the others (:func:`isolated`)."""
    tree, chords = _spanned(sorted(_edges(district)))
    found = [_loop(district, _path(tree, one, other), (one, other)) for one, other in chords]
    return tuple(loop for loop in found if loop is not None)


def _spanned(
    edges: list[tuple[Node, Node, int]],
) -> tuple[dict[Node, list[Node]], list[tuple[Node, Node]]]:
    """A tree of the shortest edges that joins all that is joined (Kruskal's), by what each node is linked to
    in it; and the edges that are not in it, in order.  Of edges of one length those of nodes met first count
    as shorter.
    """
    near: dict[Node, dict[Node, int]] = {}
    for one, other, length in edges:
        near.setdefault(one, {})[other] = length
        near.setdefault(other, {})[one] = length
    rank = {node: place for place, node in enumerate(near)}
    pairs = [(one, other) for one in near for other in near[one] if rank[one] < rank[other]]
    root: dict[Node, Node] = {}
    tree: dict[Node, list[Node]] = {}
    chords = []

    def first(node: Node) -> Node:
        while node in root:
            node = root[node]
        return node

    for one, other in sorted(pairs, key=lambda pair: near[pair[0]][pair[1]]):
        low, high = first(one), first(other)
        if low == high:
            chords.append((min(one, other), max(one, other)))
            continue
        root[high] = low
        tree.setdefault(one, []).append(other)
        tree.setdefault(other, []).append(one)
    return tree, sorted(chords)


def _path(tree: dict[Node, list[Node]], one: Node, other: Node) -> list[Node]:
    """The only way through a tree from ``one`` to ``other``."""
    before = {one: one}
    waiting = [one]
    while other not in before:
        here = waiting.pop()
        for following in tree[here]:
            if following not in before:
                before[following] = here
                waiting.append(following)
    path = [other]
    while path[-1] != one:
        path.append(before[path[-1]])
    return path[::-1]


def isolated(district: District, loop: Loop) -> District:
    """The district with every other loop parted, so that trains can go around in ``loop`` alone."""
    parted = {other.opening for other in loops(district)} - {loop.opening}
    links = tuple(pair for pair in district.links if not parted & set(pair))
    tables = tuple(
        replace(table, meets=meets, lined=meets.index(table.meets[table.lined]))
        for table in district.tables
        if (meets := _kept(table, parted))
    )
    return District(district.tracks, district.junctions, tables, links, district.limits)


def _kept(table: Table, parted: set[End]) -> tuple[tuple[str, End], ...]:
    """The meetings that stay (that which is lined always does)."""
    return tuple(
        pair for index, pair in enumerate(table.meets) if pair[1] not in parted or index == table.lined
    )


def _edges(district: District) -> list[tuple[Node, Node, int]]:
    """Edges of the graph; lengths are on tracks only, so that a spanning tree leaves out the longest."""
    edges: list[tuple[Node, Node, int]] = []
    for track in district.tracks:
        node: Node = ("track", track.name, 0)
        edges += [(node, _meeting(district, End(track.name, end)), track.length) for end in ("from", "to")]
    for junction in district.junctions:
        for index, route in enumerate(junction.routes):
            node = ("route", junction.name, index)
            edges += [(node, _meeting(district, End(junction.name, end)), 0) for end in (route.a, route.b)]
    for table in district.tables:
        node = ("table", table.name, 0)
        edges += [(node, _meeting(district, outside), 0) for _, outside in table.meets]
    return edges


def _meeting(district: District, end: End) -> Node:
    mate = district.mate(end)
    first = end if mate is None else min(end, mate)
    return ("end", str(first), 0)


def _loop(district: District, path: list[Node], chord: tuple[Node, Node]) -> Loop | None:
    """The loop along ``path``, closed by ``chord``; ``None`` if it is parted at no end of a track."""
    opening = _opening(district, chord)
    if opening is None:
        return None
    cusps = [place for place in range(len(path)) if _is_cusp(path, place)]
    start = cusps[0] if cusps else 0
    sides: list[list[str]] = [[]]
    for place in range(start, start + len(path)):
        if place > start and place % len(path) in cusps:
            sides.append([])
        kind, name, _ = path[place % len(path)]
        if kind == "track":
            sides[-1].append(name)
    kind = _LOOP_KINDS.get(len(cusps), "loop")
    return Loop(kind, tuple(tuple(side) for side in sides), opening)


def _opening(district: District, chord: tuple[Node, Node]) -> End | None:
    for kind, name, _ in chord:
        if kind == "track":
            met = next(node for node in chord if node[0] == "end")
            ends = (End(name, "from"), End(name, "to"))
            return next(end for end in ends if _meeting(district, end) == met)
    return None


def _is_cusp(path: list[Node], place: int) -> bool:
    """Whether a train must reverse there: a table, or the end shared by two routes of one junction."""
    before, here, after = path[place - 1], path[place], path[(place + 1) % len(path)]
    if here[0] == "table":
        return True
    return here[0] == "end" and before[0] == after[0] == "route" and before[1] == after[1]
