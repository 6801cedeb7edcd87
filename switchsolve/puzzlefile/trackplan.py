"""The track plan of a file: tracks, junctions and tables, with their lengths and marks."""

from __future__ import annotations

from collections.abc import Iterable

from switchsolve.district import Junction, KeepClear, Limits, Marks, Part, Route, Spot, Track
from switchsolve.lengths import Measured, format_length
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.schema import (
    JunctionLine,
    LimitsLine,
    MarksLine,
    PlainJunctionLine,
    PuzzleFile,
    TrackLine,
    TurnoutLine,
)
from switchsolve.puzzlefile.tomltext import value_text

__all__ = ["JUNCTION_FORMS", "TABLE_KINDS", "TrackPlan", "equal_spots", "long_enough", "long_enough_note"]

_CROSS = ("a from", "a to", "b from", "b to")
_A, _B = ("a", "a from", "a to"), ("b", "b from", "b to")
_A_TO_B, _B_TO_A = ("a_to_b", "a from", "b to"), ("b_to_a", "b from", "a to")
_BOTH_STRAIGHT = frozenset({frozenset({0, 1})})

JUNCTION_FORMS: dict[
    str, tuple[str, tuple[str, ...], tuple[tuple[str, str, str], ...], frozenset[frozenset[int]]]
] = {
    "turnouts": (
        "turnout",
        ("points", "straight", "diverging"),
        (("straight", "points", "straight"), ("diverging", "points", "diverging")),
        frozenset(),
    ),
    "three_ways": (
        "three-way",
        ("points", "left", "straight", "right"),
        (("left", "points", "left"), ("straight", "points", "straight"), ("right", "points", "right")),
        frozenset(),
    ),
    "crossings": ("crossing", _CROSS, (_A, _B), frozenset()),
    "single_slips": ("single slip", _CROSS, (_A, _B, _A_TO_B), frozenset()),
    "double_slips": ("double slip", _CROSS, (_A, _B, _A_TO_B, _B_TO_A), frozenset()),
    "double_crossovers": ("double crossover", _CROSS, (_A, _B, _A_TO_B, _B_TO_A), _BOTH_STRAIGHT),
}
"""Section of the file: kind, ends, routes (key of the length, from, to), and routes that go together."""

TABLE_KINDS = {"turntables": "turntable", "transfer_tables": "transfer table"}
"""Section of the file: kind of table."""

_STRENGTH = list(KeepClear)


def equal_spots(length: int, count: int) -> tuple[Spot, ...]:
    """``count`` spots in the middle of equal slots of a track of ``length`` grid units."""
    return tuple(Spot(str(index + 1), length * (2 * index + 1) // (2 * count)) for index in range(count))


def long_enough(vehicles: Iterable[int]) -> int:
    """Length of an entrance track that takes every vehicle, each with a gap, grid units."""
    return sum(length + 1 for length in vehicles)


def long_enough_note(length: int, measured: Measured) -> str:
    """What is shown of such a length."""
    return f"{format_length(length, measured)}, long enough for every vehicle"


class TrackPlan:
    """Reads the pieces of the plan; how they are linked is read in :mod:`~switchsolve.puzzlefile.links`."""

    def __init__(
        self, file: PuzzleFile, measures: Measures, problems: Problems, known_kinds: frozenset[str]
    ) -> None:
        self._file = file
        self._measures = measures
        self._problems = problems
        self._known_kinds = known_kinds

    def tracks(self, vehicles: Iterable[int]) -> tuple[Track, ...]:
        """Every track; ``vehicles`` are the lengths of all vehicles, for entrances without a length."""
        enough = long_enough(vehicles)
        return tuple(self._track(name, line, enough) for name, line in self._file.tracks.items())

    def junctions(self) -> tuple[Junction, ...]:
        """Every junction, section by section."""
        found = []
        for section in JUNCTION_FORMS:
            for name, line in getattr(self._file, section).items():
                found.append(self._formed(section, name, line))
        return (*found, *(self._plain(name, line) for name, line in self._file.junctions.items()))

    def tables(self) -> tuple[tuple[str, int, Marks], ...]:
        """Name, length and marks of every table."""
        return tuple(
            (
                name,
                self._measures.track((section, name, "length"), line.length),
                self.marks((section, name), line),
            )
            for section in TABLE_KINDS
            for name, line in getattr(self._file, section).items()
        )

    def limits(self, path: Path, line: LimitsLine | None) -> Limits:
        """Limits on the moving string."""
        if line is None:
            return Limits()
        return Limits(
            line.most_cars, self._measures.limit((*path, "longest"), line.longest), line.most_shoved
        )

    def marks(self, path: Path, line: MarksLine) -> Marks:
        """What is special about a piece of rail."""
        for index, kind in enumerate(line.barred):
            if kind not in self._known_kinds:
                cure = suggestion(kind, self._known_kinds, "name a kind of [kinds], [cars] or [locomotives]")
                self._problems.add((*path, "barred", index), "no vehicle is of this kind", cure)
        keep_clear = KeepClear(line.keep_clear)
        limits = self.limits((*path, "limits"), line.limits)
        return Marks(line.no_locomotives, frozenset(line.barred), keep_clear, limits)

    def _track(self, name: str, line: TrackLine, enough: int) -> Track:
        """One track."""
        path: Path = ("tracks", name)
        parts = self._parts(path, name, line, enough)
        length = sum(part.length for part in parts)
        entrances = {end for end, text in (("from", line.from_), ("to", line.to)) if text == "entrance"}
        return Track(name, parts, self._spots(path, line, length), frozenset(entrances))

    def _parts(self, path: Path, name: str, line: TrackLine, enough: int) -> tuple[Part, ...]:
        """The parts of a track; the marks of the track hold for each of them."""
        whole = self.marks(path, line)
        if line.parts is None:
            return (Part(self._length(path, name, line, enough), whole),)
        if line.length is not None:
            self._measures.refuse((*path, "length"), "the length is given twice", "keep `length` or `parts`")
        parts = []
        for index, part in enumerate(line.parts):
            here = (*path, "parts", index)
            length = self._measures.track((*here, "length"), part.length)
            parts.append(Part(length, _both(whole, self.marks(here, part)), part.name))
        return tuple(parts)

    def _length(self, path: Path, name: str, line: TrackLine, enough: int) -> int:
        """Length of a track in one piece."""
        if line.length is not None:
            return self._measures.track((*path, "length"), line.length)
        if "entrance" not in (line.from_, line.to):
            self._measures.refuse(
                path, "this track has no length", "add `length`; only an entrance may go without"
            )
            return 1
        self._measures.notes[name] = long_enough_note(enough, self._measures)
        return enough

    def _spots(self, path: Path, line: TrackLine, length: int) -> tuple[Spot, ...]:
        """The spots of a track, in the order of the file."""
        if not isinstance(line.spots, dict):
            return equal_spots(length, line.spots or 0)
        spots = []
        for name, measure in line.spots.items():
            here = (*path, "spots", name)
            at = self._measures.place(here, measure)
            if at > length and self._measures.sound:
                told = format_length(length, self._measures)
                self._problems.add(
                    here, f"this spot lies beyond the track, which has {told}", "move the spot"
                )
            spots.append(Spot(name, at))
        return tuple(spots)

    def _formed(self, section: str, name: str, line: JunctionLine) -> Junction:
        """A junction of a kind that has fixed ends and routes."""
        kind, ends, routes, compatible = JUNCTION_FORMS[section]
        path: Path = (section, name)
        computed = self._measures.turnout(path, name, line) if isinstance(line, TurnoutLine) else {}
        built = tuple(Route(a, b, self._route(path, line, key, computed)) for key, a, b in routes)
        return Junction(name, kind, ends, built, compatible, self.marks(path, line))

    def _route(self, path: Path, line: JunctionLine, key: str, computed: dict[str, int]) -> int:
        """Length of one route: its own, else computed, else that of the whole junction."""
        own = getattr(line, key)
        if own is not None:
            return self._measures.track((*path, key), own)
        if key in computed:
            return computed[key]
        if line.length is not None:
            return self._measures.track((*path, "length"), line.length)
        or_number = ", or a `number`" if isinstance(line, TurnoutLine) else ""
        cure = f"add `{key}`, a `length` for all its routes{or_number}"
        self._measures.refuse(path, f"the length of {key.replace('_', ' ')} is missing", cure)
        return 1

    def _plain(self, name: str, line: PlainJunctionLine) -> Junction:
        """A junction given as a list of routes."""
        path: Path = ("junctions", name)
        routes = []
        for index, route in enumerate(line.routes):
            here = (*path, "routes", index)
            if route.from_ == route.to:
                self._problems.add(here, "this route leads back to its own end", "name another end")
            routes.append(Route(route.from_, route.to, self._measures.track((*here, "length"), route.length)))
        ends = tuple(dict.fromkeys(end for route in routes for end in (route.a, route.b)))
        compatible = self._compatible(path, line, routes)
        return Junction(name, line.kind, ends, tuple(routes), compatible, self.marks(path, line))

    def _compatible(
        self, path: Path, line: PlainJunctionLine, routes: list[Route]
    ) -> frozenset[frozenset[int]]:
        """Pairs of routes that may be used at the same time, counted from 0."""
        pairs = set()
        for index, pair in enumerate(line.compatible):
            here = (*path, "compatible", index)
            if len(set(pair)) != 2 or len(pair) != 2 or max(pair) > len(routes):
                self._problems.add(
                    here, "this is no pair of routes", f"name two routes from 1 to {len(routes)}"
                )
                continue
            one, other = (routes[number - 1] for number in pair)
            shared = {one.a, one.b} & {other.a, other.b}
            if shared:
                what = f"these routes share the end {value_text(min(shared))}"
                self._problems.add(here, what, "leave this pair out: they exclude each other")
            pairs.add(frozenset(number - 1 for number in pair))
        return frozenset(pairs)


def _both(whole: Marks, part: Marks) -> Marks:
    """The marks of a part, with those of its whole track: the stricter of each."""
    return Marks(
        whole.no_locomotives or part.no_locomotives,
        whole.barred | part.barred,
        max(whole.keep_clear, part.keep_clear, key=_STRENGTH.index),
        Limits(
            _least(whole.limits.most_cars, part.limits.most_cars),
            _least(whole.limits.longest, part.limits.longest),
            _least(whole.limits.most_shoved, part.limits.most_shoved),
        ),
    )


def _least(one: int | None, other: int | None) -> int | None:
    """The lower of two limits that may both be absent."""
    given = [limit for limit in (one, other) if limit is not None]
    return min(given) if given else None
