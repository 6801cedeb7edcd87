"""Names in a file that point to something else: ends of track, and places in a track.

A reference such as ``Lane turnout points`` is a name, a blank, and an end (or a spot) of what is so named.
Names may hold blanks themselves, so a reference is split by the names that are known.  One that can be
read in two ways is a problem, never a guess.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from switchsolve.district import End
from switchsolve.puzzlefile.problems import suggestion
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.work import Place

__all__ = ["BadReference", "Places", "Reference"]

TWO_WAYS = "this can be read in two ways"
NOWHERE = End("", "")


class BadReference(ValueError):
    """A reference leads nowhere, or to two places."""

    def __init__(self, what: str, cure: str) -> None:
        self.what = what
        self.cure = cure
        super().__init__(f"{what}; {cure}")


@dataclass(frozen=True, slots=True)
class Reference:
    """What an end is linked to.

    ``kind`` is ``"end"``, ``"table"``, ``"entrance"`` or ``"bumper"``.  ``end`` is the other end; at a table,
    the table and its end, or no end (``""``) for both.
    """

    kind: str
    end: End = NOWHERE


@dataclass(frozen=True, slots=True)
class Places:
    """What can be pointed to: the ends of every track and junction, the tables, the spots of tracks."""

    ends: Mapping[str, tuple[str, ...]]
    tables: Mapping[str, str]
    """Section of each table: ``turntables`` or ``transfer_tables``."""
    spots: Mapping[str, Collection[str]] = field(default_factory=dict)

    def end(self, text: str) -> Reference:
        """The end that ``text`` names.  Raises :class:`BadReference`."""
        if text in ("entrance", "bumper"):
            return Reference(text)
        found = [Reference("end", End(name, end)) for name, end in _splits(text, self.ends)]
        found += [Reference("table", End(name, end)) for name, end in self._table_ends(text)]
        if not found:
            raise BadReference("there is no such end", self._end_cure(text))
        if len(found) > 1:
            raise BadReference(
                TWO_WAYS, f"rename {' or '.join(value_text(item.end.place) for item in found)}"
            )
        if self.tables.get(text) == "transfer_tables":
            cure = f'write "{text} from" or "{text} to"'
            raise BadReference("a transfer table has two sides", cure)
        return found[0]

    def near_ends(self, text: str) -> list[End]:
        """The ends of tracks and junctions that a misspelled ``text`` may mean."""
        if text in self.ends:
            return [End(text, end) for end in self.ends[text]]
        near = get_close_matches(text, self._all_ends(), 1, 0.7)
        return [End(*found) for found in _splits(near[0], self.ends)] if near else []

    def place(self, text: str) -> Place:
        """The track (or table), or track and spot, that ``text`` names.  Raises :class:`BadReference`."""
        found = [Place(text)] if text in self.spots or text in self.tables else []
        found += [Place(name, spot) for name, spot in _splits(text, self.spots)]
        if not found:
            known = [*self.spots, *(f"{name} {spot}" for name, spots in self.spots.items() for spot in spots)]
            raise BadReference(
                "there is no such track or spot", suggestion(text, known, "name a track or its spot")
            )
        if len(found) > 1:
            raise BadReference(TWO_WAYS, f"rename {' or '.join(value_text(item.track) for item in found)}")
        return found[0]

    def _table_ends(self, text: str) -> list[tuple[str, str]]:
        """Tables, and ends of tables, that ``text`` may name."""
        whole = [(text, "")] if text in self.tables else []
        return whole + _splits(text, dict.fromkeys(self.tables, ("from", "to")))

    def _all_ends(self) -> list[str]:
        """Every end that can be named."""
        named = [f"{name} {end}" for name, ends in self.ends.items() for end in ends]
        return [*named, *self.tables, "entrance", "bumper"]

    def _end_cure(self, text: str) -> str:
        """A cure for a reference that names no end."""
        if text in self.ends:
            return f"add one of its ends: {', '.join(self.ends[text])}"
        return suggestion(text, self._all_ends(), "name a track or junction and one of its ends")


def _splits(text: str, known: Mapping[str, Collection[str]]) -> list[tuple[str, str]]:
    """Every way to read ``text`` as a known name, a blank, and something known of it."""
    found = []
    for place, letter in enumerate(text):
        if letter == " " and text[:place] in known and text[place + 1 :] in known[text[:place]]:
            found.append((text[:place], text[place + 1 :]))
    return found
