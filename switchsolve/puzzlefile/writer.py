"""From a puzzle to the text of a file that reads back as an equal puzzle.

Every computed figure is written as the length that it came to, and what was said about it as a note;
lengths are exact decimals of the puzzle's unit, without the allowance.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from switchsolve.district import End, Junction, KeepClear, Limits, Marks, Part, Table, Track
from switchsolve.lengths import FILE_UNITS, decimal_text
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.puzzlefile.canonical import canonical, section_of
from switchsolve.puzzlefile.designwriter import design_sections
from switchsolve.puzzlefile.tomltext import key_text, value_text
from switchsolve.puzzlefile.trackplan import JUNCTION_FORMS, TABLE_KINDS, equal_spots, long_enough
from switchsolve.puzzlefile.variants import variant_lines
from switchsolve.puzzlefile.workwriter import work_sections
from switchsolve.vehicles import Car, Locomotive, Vehicle

__all__ = ["dumps"]

Lines = dict[str, Any]


def dumps(puzzle: Puzzle) -> str:
    """The puzzle as the text of a file.

    ``loads(dumps(puzzle))`` equals ``canonical(puzzle)``, which is ``puzzle`` itself if it was read from
    a file.  Raises ``ValueError`` for what no file can say: a strange unit, a vehicle not longer than the
    allowance, and what :func:`~switchsolve.puzzlefile.canonical.canonical` refuses.
    """
    if puzzle.unit not in FILE_UNITS:
        raise ValueError(f"a file cannot measure in {puzzle.unit!r}")
    plain = canonical(replace(puzzle, variants=()))
    text = _Writer(plain).text()
    for variant in puzzle.variants:
        line = variant_lines(text, _Writer(canonical(variant.puzzle)).text(), variant.name)
        text += "\n[[variants]]\n" + _keys(line)
    return text


class _Writer:
    """Writes one puzzle that is in the form of files."""

    def __init__(self, puzzle: Puzzle) -> None:
        self._puzzle = puzzle
        self._at_table = _at_tables(puzzle.district.tables)

    def text(self) -> str:
        """The whole file."""
        sections = [_section("", self._head())]
        for name, lines in self._sections():
            if lines:
                sections.append(_section(name, lines))
        for train in work_sections(self._puzzle)[1]:
            sections.append("[[work.train]]\n" + _keys(train))
        if self._puzzle.design is not None:
            tables, lists = design_sections(self._puzzle.design, self._length)
            sections += [_section(name, lines) for name, lines in tables if lines]
            sections += [f"[[{name}]]\n{_keys(lines)}" for name, lines in lists]
        return "\n".join(sections)

    def _sections(self) -> Iterable[tuple[str, Lines]]:
        """Every section with its lines, in the order of the file."""
        puzzle, district = self._puzzle, self._puzzle.district
        if puzzle.track_centers is not None:
            yield "district", {"track_centers": self._length(puzzle.track_centers)}
        yield "tracks", {track.name: self._track(track) for track in district.tracks}
        for section in (*JUNCTION_FORMS, "junctions"):
            here = [item for item in district.junctions if section_of(item) == section]
            yield section, {item.name: self._junction(section, item) for item in here}
        for section, kind in TABLE_KINDS.items():
            yield section, {table.name: self._table(table) for table in district.tables if table.kind == kind}
        yield "kinds", {kind: self._net(length) for kind, length in puzzle.kinds.items()}
        yield "locomotives", {item.name: self._locomotive(item) for item in puzzle.locomotives}
        yield "cars", {car.name: self._car(car) for car in puzzle.cars}
        yield "start", self._start()
        yield "fixed", self._fixed()
        yield from work_sections(puzzle)[0]
        yield "limits", self._limits(district.limits)
        yield "standards", self._standards()
        yield "times", self._times()
        yield "traffic", self._traffic()
        yield "traffic.industries", self._industries()
        yield "drawing", self._drawing()
        yield "stated", self._stated()
        yield "notes", dict(puzzle.notes)

    def _head(self) -> Lines:
        """What stands above all sections."""
        title = {"title": self._puzzle.title} if self._puzzle.title else {}
        allowance = {"allowance": self._length(self._puzzle.allowance)} if self._puzzle.allowance else {}
        return {**title, "unit": self._puzzle.unit, **allowance}

    def _length(self, length: int) -> Decimal:
        """A length as an exact decimal."""
        return Decimal(decimal_text(length, self._puzzle.grid))

    def _net(self, length: int) -> Decimal:
        """Length of a vehicle without the allowance."""
        if length <= self._puzzle.allowance:
            raise ValueError("a vehicle is not longer than the allowance")
        return self._length(length - self._puzzle.allowance)

    def _track(self, track: Track) -> Lines:
        """One track."""
        line: Lines = {"from": self._meets(track, "from")}
        to = self._meets(track, "to")
        if to != "bumper":
            line["to"] = to
        spots = self._spots(track)
        if len(track.parts) == 1 and not track.parts[0].name:
            return line | self._one_piece(track) | spots | self._marks(track.parts[0].marks)
        return line | {"parts": [self._part(part) for part in track.parts]} | spots

    def _meets(self, track: Track, end: str) -> str:
        """What an end of a track meets."""
        return "entrance" if end in track.entrances else self._other(End(track.name, end))

    def _other(self, end: End) -> str:
        """What an end meets: another end, a table, or a bumper."""
        other = self._puzzle.district.mate(end)
        return self._at_table.get(end, "bumper") if other is None else str(other)

    def _one_piece(self, track: Track) -> Lines:
        """The length of a track in one piece; none for an entrance that is as long as need be."""
        enough = long_enough(vehicle.length for vehicle in self._puzzle.vehicles.values())
        if track.entrances and track.length == enough and track.name in self._puzzle.notes:
            return {}
        return {"length": self._length(track.length)}

    def _part(self, part: Part) -> Lines:
        """One part of a track."""
        name = {"name": part.name} if part.name else {}
        return {"length": self._length(part.length), **name} | self._marks(part.marks)

    def _spots(self, track: Track) -> Lines:
        """The spots of a track, as a count if they are equal."""
        if not track.spots:
            return {}
        if track.spots == equal_spots(track.length, len(track.spots)):
            return {"spots": len(track.spots)}
        return {"spots": {spot.name: self._length(spot.at) for spot in track.spots}}

    def _marks(self, marks: Marks) -> Lines:
        """Marks, as far as there are any."""
        line: Lines = {}
        if marks.no_locomotives:
            line["no_locomotives"] = True
        if marks.barred:
            line["barred"] = sorted(marks.barred)
        if marks.keep_clear is not KeepClear.NO:
            line["keep_clear"] = str(marks.keep_clear)
        if marks.limits:
            line["limits"] = self._limits(marks.limits)
        return line

    def _limits(self, limits: Limits) -> Lines:
        """Limits, as far as there are any."""
        longest = None if limits.longest is None else self._length(limits.longest)
        line = {"most_cars": limits.most_cars, "longest": longest, "most_shoved": limits.most_shoved}
        return {key: value for key, value in line.items() if value is not None}

    def _junction(self, section: str, junction: Junction) -> Lines:
        """One junction."""
        line: Lines = {}
        if section == "junctions":
            line["kind"] = junction.kind
            line["routes"] = [
                {"from": route.a, "to": route.b, "length": self._length(route.length)}
                for route in junction.routes
            ]
            if junction.compatible:
                pairs = sorted(sorted(index + 1 for index in pair) for pair in junction.compatible)
                line["compatible"] = pairs
        else:
            keys = [key for key, _, _ in JUNCTION_FORMS[section][2]]
            lengths = [self._length(route.length) for route in junction.routes]
            line |= dict(zip(keys, lengths, strict=True))
        return line | self._junction_meets(junction) | self._marks(junction.marks)

    def _junction_meets(self, junction: Junction) -> Lines:
        """What a junction meets besides tracks, each meeting told by one of the two."""
        tracks = {track.name for track in self._puzzle.district.tracks}
        meets = {}
        for end in junction.ends:
            other = self._puzzle.district.mate(End(junction.name, end))
            if other is None or other.place not in tracks:
                meets[end] = self._other(End(junction.name, end))
        return {"meets": meets} if meets else {}

    def _table(self, table: Table) -> Lines:
        """One table."""
        end, outside = table.meets[table.lined]
        by = {"lined_by": "to"} if end == "to" else {}
        return {"length": self._length(table.length), "lined": str(outside), **by} | self._marks(table.marks)

    def _car(self, car: Car) -> object:
        """One car: its kind, if that says its length."""
        line = self._vehicle(car, "car")
        if car.is_dead_locomotive:
            return line | {"dead_locomotive": True}
        return car.kind if list(line) == ["kind"] else line

    def _locomotive(self, locomotive: Locomotive) -> Lines:
        """One locomotive."""
        start = self._puzzle.start
        line = self._vehicle(locomotive, "locomotive") | {"heads": start.heads[locomotive.name]}
        if locomotive.rear_only:
            line["rear_only"] = True
        if locomotive.name in start.under_way:
            line["under_way"] = start.under_way[locomotive.name]
        return line

    def _vehicle(self, vehicle: Vehicle, usual: str) -> Lines:
        """Kind and length of a vehicle."""
        if self._puzzle.kinds.get(vehicle.kind) == vehicle.length:
            return {"kind": vehicle.kind}
        kind = {} if vehicle.kind == usual else {"kind": vehicle.kind}
        return {"length": self._net(vehicle.length), **kind}

    def _start(self) -> dict[str, list[str]]:
        """Who stands where."""
        lines: dict[str, list[str]] = {}
        for string in self._puzzle.start.strings:
            entries = lines.setdefault(string.track, [])
            if entries:
                entries.append("|")
            entries += [_entry(string, name) for name in string.vehicles]
        return lines

    def _fixed(self) -> Lines:
        """Exact places."""
        return {
            string.vehicles[0]: self._length(string.fixed_at)
            for string in self._puzzle.start.strings
            if string.fixed_at is not None
        }

    def _standards(self) -> Lines:
        """The client's own rules."""
        rules = self._puzzle.standards
        line: Lines = {
            "car": rules.car,
            "locomotive": rules.locomotive,
            "run_around_passes": rules.run_around_passes,
            "tail_takes": rules.tail_takes,
            "spur_holds": dict(rules.spur_holds) or None,
            "clear_at_end": list(rules.clear_at_end) or None,
        }
        return {key: value for key, value in line.items() if value is not None}

    def _times(self) -> Lines:
        """How long things take."""
        times = self._puzzle.times
        names = ("new_move", "coupling", "cut", "table")
        given = zip(names, times.figures[:4], strict=True)
        line: Lines = {name: Decimal(figure) / 1000 for name, figure in given if figure is not None}
        if times.speed is not None:
            line["speed"] = self._length(times.speed)
        for name in ("turnout", "reading", "failed_uncoupling", "failed_share"):
            figure = getattr(times, name)
            if figure is not None:
                line[name] = Decimal(figure) / 1000
        if times.crew_ratio is not None:
            line["crew_ratio"] = [Decimal(ratio) / 1000 for ratio in times.crew_ratio]
        return line

    def _traffic(self) -> Lines:
        """What sessions bring."""
        traffic = self._puzzle.traffic
        if traffic is None:
            return {}
        departs = {} if traffic.departs_at is None else {"departs_at": traffic.departs_at}
        return {
            "train": traffic.train,
            "locomotive_at": traffic.locomotive_at,
            **departs,
            "most_cars": traffic.most_cars,
            "blocking": traffic.blocking,
            **({"roads": list(traffic.roads)} if traffic.roads else {}),
        }

    def _industries(self) -> Lines:
        """What comes to each industry."""
        industries = self._puzzle.traffic.industries if self._puzzle.traffic else ()
        return {
            industry.track: {
                "kinds": {kind: _decimal(cars) for kind, cars in industry.kinds.items()},
                "stay": _decimal(industry.stay),
                "full": _decimal(industry.full),
            }
            for industry in industries
        }

    def _drawing(self) -> Lines:
        """Wishes for the drawing."""
        hints = self._puzzle.drawing
        line: Lines = {"lanes": dict(hints.lanes), "sides": dict(hints.sides)}
        return {key: value for key, value in line.items() if value}

    def _stated(self) -> Lines:
        """What the author promises."""
        line = {"verdict": self._puzzle.stated_verdict, "moves": self._puzzle.stated_minimum}
        return {key: value for key, value in line.items() if value is not None}


def _decimal(figure: float) -> Decimal:
    """A figure as the shortest decimal that reads back as it."""
    return Decimal(repr(figure))


def _at_tables(tables: Iterable[Table]) -> dict[End, str]:
    """What to write for each end that lies at a table."""
    sides: dict[End, dict[str, str]] = {}
    for table in tables:
        for side, outside in table.meets:
            sides.setdefault(outside, {})[side] = table.name
    return {end: _table_end(by_side) for end, by_side in sides.items()}


def _table_end(by_side: Mapping[str, str]) -> str:
    """A table that meets an end with both of its own, or one end of a table."""
    if len(by_side) == 2:
        return by_side["from"]
    return next(f"{table} {side}" for side, table in by_side.items())


def _entry(string: StartString, name: str) -> str:
    """A vehicle, with its spot if it has one."""
    return f"{name} @ {string.spots[name]}" if name in string.spots else name


def _section(name: str, lines: Mapping[str, object]) -> str:
    """One section of the file."""
    return (f"[{name}]\n" if name else "") + _keys(lines)


def _keys(lines: Mapping[str, object]) -> str:
    """Keys and values, one in a line."""
    return "".join(f"{key_text(key)} = {value_text(value)}\n" for key, value in lines.items())
