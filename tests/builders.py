"""Small districts, set-ups and plans for tests, written with few words.

Everything is on whole numbers: one grid unit is one unit.  Names have no spaces, so that several fit in
one text: ends are ``"lead.to"``, ways are ``"T/1 spur -main"`` (route 1 of T, spur, then main backwards).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from switchsolve.district import (
    Cell,
    District,
    End,
    Junction,
    Limits,
    Marks,
    Part,
    Route,
    Spot,
    Table,
    Track,
    Way,
)
from switchsolve.plan import Advance, Couple, Cut, Line, Placed, Run, Step
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import DoNotTouch, Item, Work

__all__ = [
    "advance",
    "balloon_district",
    "build",
    "couple",
    "crossing",
    "cut",
    "junction",
    "line",
    "oval_district",
    "place",
    "run",
    "run_around_district",
    "set_up",
    "spur_district",
    "switchback_district",
    "table_district",
    "track",
    "turnout",
    "ways",
    "wye_district",
]

PLAIN = Marks()
NO_LIMITS = Limits()

Device = tuple[Junction, tuple[tuple[End, End], ...]]
"""A junction and the links of its ends."""


# -- districts --------------------------------------------------------------------------------------


def _end(text: str) -> End:
    place, _, end = text.partition(".")
    return End(place, end)


def track(
    name: str,
    *parts: int | Part,
    spots: Mapping[str, int] | None = None,
    marks: Marks = PLAIN,
    entrance: str = "",
) -> Track:
    """A track of the given parts (a number is a part of that length with ``marks``)."""
    made = tuple(part if isinstance(part, Part) else Part(part, marks) for part in parts)
    doors = tuple(Spot(spot, at) for spot, at in (spots or {}).items())
    return Track(name, made, doors, frozenset(entrance.split()))


def junction(
    name: str,
    links: Mapping[str, str],
    routes: Iterable[Route],
    *,
    kind: str = "junction",
    compatible: Iterable[tuple[int, int]] = (),
    marks: Marks = PLAIN,
) -> Device:
    """Any list of routes; ``links`` gives for each end of the junction the end that it meets."""
    pairs = frozenset(frozenset(pair) for pair in compatible)
    made = Junction(name, kind, tuple(links), tuple(routes), pairs, marks)
    return made, tuple((End(name, end), _end(other)) for end, other in links.items())


def turnout(
    name: str,
    points: str,
    straight: str,
    diverging: str,
    *,
    lengths: tuple[int, int] = (1, 1),
    marks: Marks = PLAIN,
) -> Device:
    """A turnout; its route 0 is points - straight, its route 1 is points - diverging."""
    links = {"points": points, "straight": straight, "diverging": diverging}
    routes = (Route("points", "straight", lengths[0]), Route("points", "diverging", lengths[1]))
    return junction(name, links, routes, kind="turnout", marks=marks)


def crossing(
    name: str, a_from: str, a_to: str, b_from: str, b_to: str, *, compatible: bool = False
) -> Device:
    """Tracks that cross, one unit long: route 0 is a, route 1 is b.  ``compatible``: one above the other."""
    links = {"a_from": a_from, "a_to": a_to, "b_from": b_from, "b_to": b_to}
    routes = (Route("a_from", "a_to", 1), Route("b_from", "b_to", 1))
    return junction(name, links, routes, kind="crossing", compatible=[(0, 1)] if compatible else [])


def build(
    tracks: Iterable[Track],
    devices: Iterable[Device] = (),
    *,
    tables: Iterable[Table] = (),
    links: Iterable[tuple[str, str]] = (),
    limits: Limits = NO_LIMITS,
) -> District:
    """A district of tracks, devices and tables; ``links`` are further meetings of two ends."""
    devices = tuple(devices)
    linked = tuple(link for _, device in devices for link in device)
    more = tuple((_end(one), _end(other)) for one, other in links)
    return District(tuple(tracks), tuple(made for made, _ in devices), tuple(tables), linked + more, limits)


def spur_district(
    lead: int | Track = 6,
    main: int | Track = 4,
    spur: int | Track = 3,
    *,
    turnout_length: int = 1,
    marks: Marks = PLAIN,
    limits: Limits = NO_LIMITS,
) -> District:
    """``lead`` - turnout T (points to the lead) - ``main`` (straight) and ``spur`` (diverging)."""
    tracks = [
        part if isinstance(part, Track) else track(name, part)
        for name, part in (("lead", lead), ("main", main), ("spur", spur))
    ]
    lengths = (turnout_length, turnout_length)
    device = turnout("T", "lead.to", "main.from", "spur.from", lengths=lengths, marks=marks)
    return build(tracks, [device], limits=limits)


def switchback_district(lead: int = 6, tail: int = 3, spur: int = 3) -> District:
    """``lead`` - turnout S (points to the tail) - ``tail``; ``spur`` is reached from the tail only."""
    device = turnout("S", "tail.from", "lead.to", "spur.from")
    return build([track("lead", lead), track("tail", tail), track("spur", spur)], [device])


def run_around_district(west: int = 6, main: int = 4, side: int = 4, east: int = 6) -> District:
    """``west`` - turnout A - ``main`` (straight) and ``side`` (diverging) - turnout B - ``east``."""
    tracks = [track("west", west), track("main", main), track("side", side), track("east", east)]
    return build(
        tracks,
        [
            turnout("A", "west.to", "main.from", "side.from"),
            turnout("B", "east.from", "main.to", "side.to"),
        ],
    )


def oval_district(north: int = 5, south: int = 5, spur: int = 3) -> District:
    """``north`` - turnout T (points to north.to) - ``south`` - back to north.from; ``spur`` diverges at T."""
    return build(
        [track("north", north), track("south", south), track("spur", spur)],
        [turnout("T", "north.to", "south.from", "spur.from")],
        links=[("south.to", "north.from")],
    )


def balloon_district(lead: int = 5, loop: int = 8) -> District:
    """``lead`` - turnout T, whose two legs are the two ends of ``loop``."""
    return build(
        [track("lead", lead), track("loop", loop)], [turnout("T", "lead.to", "loop.from", "loop.to")]
    )


def wye_district(stem: int = 4, left: int = 4, right: int = 4, leg: int = 2) -> District:
    """Three tracks, each ``to`` end at the points of a turnout (X, Y, Z), joined by legs xy, yz, zx."""
    tracks = [track("stem", stem), track("left", left), track("right", right)]
    return build(
        [*tracks, track("xy", leg), track("yz", leg), track("zx", leg)],
        [
            turnout("X", "stem.to", "xy.from", "zx.to"),
            turnout("Y", "left.to", "yz.from", "xy.to"),
            turnout("Z", "right.to", "zx.from", "yz.to"),
        ],
    )


def table_district(lead: int = 5, table: int = 3, stalls: int = 3, *, marks: Marks = PLAIN) -> District:
    """A turntable W between ``lead`` and the stalls ``one`` and ``two``; lined to lead by its ``from`` end.

    Its pairs: 0-2 are its from end to lead, one, two; 3-5 are its to end to lead, one, two.
    """
    outside = [End("lead", "to"), End("one", "from"), End("two", "from")]
    meets = tuple((side, end) for side in ("from", "to") for end in outside)
    tracks = [track("lead", lead), track("one", stalls), track("two", stalls)]
    return build(tracks, tables=[Table("W", "turntable", table, meets, 0, marks)])


# -- set-ups ----------------------------------------------------------------------------------------


def set_up(
    district: District,
    standing: Mapping[str, str],
    *items: Item,
    heads: Mapping[str, str],
    under_way: Mapping[str, str] | None = None,
    lengths: Mapping[str, int] | None = None,
    kinds: Mapping[str, str] | None = None,
    dead: str = "",
    rear_only: str = "",
    spots: Mapping[str, str] | None = None,
    fixed: Mapping[str, int] | None = None,
) -> Puzzle:
    """A puzzle.  ``standing``: for each track its vehicles from ``from`` to ``to``, ``|`` for a gap.

    Vehicles in ``heads`` are live locomotives, all others cars.  Lengths are 1 where nothing else is said.
    ``fixed`` gives the place of a do-not-touch car (its item is added).
    """
    lengths, kinds, spots, fixed = lengths or {}, kinds or {}, spots or {}, fixed or {}
    strings = []
    for name, text in standing.items():
        for string in text.split("|"):
            vehicles = tuple(string.split())
            at_spots = {vehicle: spots[vehicle] for vehicle in vehicles if vehicle in spots}
            strings.append(StartString(name, vehicles, at_spots, fixed.get(vehicles[0])))
    everyone = [vehicle for string in strings for vehicle in string.vehicles]
    cars = tuple(
        Car(name, lengths.get(name, 1), kinds.get(name, "car"), name in dead.split())
        for name in everyone
        if name not in heads
    )
    locomotives = tuple(Locomotive(name, lengths.get(name, 1), name in rear_only.split()) for name in heads)
    work = Work((*items, *(DoNotTouch(car) for car in fixed)))
    return Puzzle(district, cars, locomotives, Start(tuple(strings), heads, under_way or {}), work, grid=1)


def place(puzzle: Puzzle, *starts: int) -> tuple[Placed, ...]:
    """The starting placement: for each starting string the distance of its ``from`` end in its track."""
    return tuple(
        _place(puzzle, string, start) for string, start in zip(puzzle.start.strings, starts, strict=True)
    )


def _place(puzzle: Puzzle, string: StartString, start: int) -> Placed:
    length = sum(puzzle.vehicles[vehicle].length for vehicle in string.vehicles)
    found: list[Way] = []
    begin = offset = 0
    for cell in puzzle.district.cells():
        if cell.place == string.track:
            end = begin + puzzle.district.cell_length(cell)
            if begin < start + length and start < end:
                offset = offset if found else start - begin
                found.append(Way(cell, 1))
            begin = end
    noses = {
        vehicle: 1 if puzzle.start.heads[vehicle] == "to" else -1
        for vehicle in string.vehicles
        if vehicle in puzzle.start.heads
    }
    return Placed(string.vehicles, tuple(found), offset, noses)


# -- plans ------------------------------------------------------------------------------------------


def ways(text: str) -> tuple[Way, ...]:
    """``"T/1 spur -main"``: cell 1 of T, then spur, then main backwards."""
    found = []
    for word in text.split():
        name, _, index = word.lstrip("-").partition("/")
        found.append(Way(Cell(name, int(index or 0)), -1 if word.startswith("-") else 1))
    return tuple(found)


def run(who: str, *steps: Step) -> Run:
    """``"L+"``: locomotive L forward; ``"L-"``: backward."""
    return Run(who[:-1], who.endswith("+"), steps)


def advance(distance: int, enters: str = "") -> Advance:
    """The moving string goes on, its leading end entering ``enters``."""
    return Advance(distance, ways(enters))


def couple(vehicles: str) -> Couple:
    """Couple to a standing string, listed outwards."""
    return Couple(tuple(vehicles.split()))


def cut(vehicles: str) -> Cut:
    """Cut off trailing vehicles, listed from the cut outwards."""
    return Cut(tuple(vehicles.split()))


def line(table: str, index: int) -> Line:
    """Line a table to another of its pairs."""
    return Line(table, index)
