"""How the pieces of a file's track plan are linked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.district import District, End, Junction, Limits, Marks, Table, Track
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.references import BadReference, Places, Reference
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.puzzlefile.trackplan import JUNCTION_FORMS, TABLE_KINDS

__all__ = ["Linking", "check_names", "places_of"]

_SECTIONS = ("tracks", *JUNCTION_FORMS, "junctions", *TABLE_KINDS)

_CLOSED = {"bumper": "ends at a bumper", "entrance": "is an entrance"}


def check_names(file: PuzzleFile, problems: Problems) -> bool:
    """Whether the names of tracks, junctions and tables are all different."""
    first: dict[str, str] = {}
    for section in _SECTIONS:
        for name in getattr(file, section):
            if name in first:
                what = f"this name stands under [{first[name]}] too"
                problems.add((section, name), what, "give one of them another name", "")
            first.setdefault(name, section)
    return len(first) == sum(len(getattr(file, section)) for section in _SECTIONS)


def places_of(file: PuzzleFile, tracks: tuple[Track, ...], junctions: tuple[Junction, ...]) -> Places:
    """All that a reference can name."""
    ends = {track.name: ("from", "to") for track in tracks} | {item.name: item.ends for item in junctions}
    tables = {name: section for section in TABLE_KINDS for name in getattr(file, section)}
    return Places(ends, tables, {track.name: tuple(spot.name for spot in track.spots) for track in tracks})


@dataclass(frozen=True, slots=True)
class _Claim:
    """One end and what the file says it is linked to."""

    path: Path
    own: End
    text: str


class Linking:
    """Links the ends of tracks and junctions, and finds what each table meets."""

    def __init__(self, file: PuzzleFile, places: Places, problems: Problems) -> None:
        self._file = file
        self._places = places
        self._problems = problems
        self._mate: dict[End, End] = {}
        self._closed: dict[End, str] = {}
        """Ends that are linked to nothing but a table, an entrance or a bumper, and to which."""
        self._meets: dict[str, list[tuple[str, End]]] = {}
        for claim in self._claims():
            self._link(claim)
        self._find_stubs()

    def district(
        self,
        tracks: tuple[Track, ...],
        junctions: tuple[Junction, ...],
        tables: tuple[tuple[str, int, Marks], ...],
        limits: Limits,
    ) -> District:
        """The whole plan.  ``tables`` holds name, length and marks of each, in the order of the file."""
        links = [(own, other) for own, other in self._mate.items() if own <= other]
        built = tuple(self._table(name, length, marks) for name, length, marks in tables)
        return District(tracks, junctions, built, tuple(links), limits)

    def is_bumper(self, end: End) -> bool:
        """Whether a track stops for good at ``end``."""
        return end not in self._mate and self._closed.get(end, "bumper") == "bumper"

    def _claims(self) -> Iterator[_Claim]:
        """What the file says of each end, track by track, then junction by junction."""
        for name, line in self._file.tracks.items():
            yield _Claim(("tracks", name, "from"), End(name, "from"), line.from_)
            if line.to is not None:
                yield _Claim(("tracks", name, "to"), End(name, "to"), line.to)
        for section, name in self._junctions():
            for end, text in getattr(self._file, section)[name].meets.items():
                path = (section, name, "meets", end)
                if end in self._places.ends[name]:
                    yield _Claim(path, End(name, end), text)
                else:
                    cure = f"its ends are {', '.join(self._places.ends[name])}"
                    self._problems.add(path, "this junction has no such end", cure)

    def _junctions(self) -> Iterator[tuple[str, str]]:
        """Section and name of every junction."""
        for section in (*JUNCTION_FORMS, "junctions"):
            yield from ((section, name) for name in getattr(self._file, section))

    def _link(self, claim: _Claim) -> None:
        """Link one end, or note why it cannot be."""
        try:
            reference = self._places.end(claim.text)
        except BadReference as bad:
            self._problems.add(claim.path, bad.what, bad.cure)
            self._closed.setdefault(claim.own, "unknown")
            self._forgive(claim.text)
            return
        if claim.own == reference.end:
            self._problems.add(claim.path, "an end cannot meet itself", "name another end")
            self._closed.setdefault(claim.own, "unknown")
        elif reference.kind == "end":
            self._join(claim, reference.end)
        else:
            self._close(claim, reference)

    def _forgive(self, text: str) -> None:
        """What a misspelled reference seems to mean is not a stub as well."""
        for near in self._places.near_ends(text):
            self._closed.setdefault(near, "unknown")

    def _join(self, claim: _Claim, other: End) -> None:
        """Link two ends of tracks or junctions."""
        if self._mate.get(claim.own) == other:
            return
        taken = [end for end in (claim.own, other) if self._is_taken(end)]
        if taken:
            self._taken(claim.path, taken[0])
            self._closed.setdefault(claim.own, "unknown")
        else:
            self._mate[claim.own] = other
            self._mate[other] = claim.own

    def _is_taken(self, end: End) -> bool:
        """Whether something is known to meet ``end`` already."""
        return end in self._mate or self._closed.get(end, "unknown") != "unknown"

    def _close(self, claim: _Claim, reference: Reference) -> None:
        """Note that an end lies at a table, an entrance or a bumper."""
        own = claim.own
        if self._is_taken(own):
            self._taken(claim.path, own)
        elif reference.kind == "entrance" and claim.path[0] != "tracks":
            self._problems.add(claim.path, "only a track can be an entrance", "put a track between")
        elif reference.kind == "table":
            sides = (reference.end.end,) if reference.end.end else ("from", "to")
            self._meets.setdefault(reference.end.place, []).extend((side, own) for side in sides)
        self._closed.setdefault(own, reference.end.place if reference.kind == "table" else reference.kind)

    def _taken(self, path: Path, end: End) -> None:
        """Note that an end is used twice."""
        there = self._mate.get(end)
        other = (
            f"meets {value_text(str(there))}" if there else _CLOSED.get(self._closed[end], "lies at a table")
        )
        what = f"{value_text(str(end))} {other} already"
        self._problems.add(
            path, what, "an end meets one other end: change one of them, or put a turnout there"
        )

    def _find_stubs(self) -> None:
        """Note every end of a junction that is linked to nothing."""
        for section, name in self._junctions():
            for end in self._places.ends[name]:
                own = End(name, end)
                if own not in self._mate and own not in self._closed:
                    track, meets = value_text(str(own)), f'meets = {{ {_key(end)} = "bumper" }}'
                    cure = f"give the track that leaves from {track}, or add {meets}"
                    self._problems.add(
                        (section, name), f"nothing is linked to its end {value_text(end)}", cure, ""
                    )

    def _table(self, name: str, length: int, marks: Marks) -> Table:
        """One table, with all that it meets."""
        section = self._places.tables[name]
        line = getattr(self._file, section)[name]
        meets = self._meets.get(name, [])
        outside = {str(end): end for _, end in meets}
        lined = 0
        if not meets:
            cure = (
                f"give a track with from = {value_text(name if section == 'turntables' else name + ' from')}"
            )
            self._problems.add((section, name), "no track lies at this table", cure, "")
        elif (pair := (line.lined_by, outside.get(line.lined))) in meets:
            lined = meets.index((line.lined_by, outside[line.lined]))
        elif pair[1] is None:
            cure = suggestion(line.lined, outside, f"name one of {', '.join(map(value_text, outside))}")
            self._problems.add((section, name, "lined"), "the table does not meet this end", cure)
        else:
            what = f"the end {value_text(line.lined_by)} of the table does not meet this"
            self._problems.add((section, name, "lined"), what, "change `lined_by`")
        return Table(name, TABLE_KINDS[section], length, tuple(meets), lined, marks)


def _key(end: str) -> str:
    """An end as a key of the file."""
    return end if end.isalpha() and end.isascii() else value_text(end)
