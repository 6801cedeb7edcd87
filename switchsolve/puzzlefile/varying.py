"""A file's content as one of its variants has it: tracks dropped or added, spurs turned, other lengths."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

from switchsolve.puzzlefile.dropping import JUNCTIONS, PLACES, Document, drop, owner
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.tomltext import value_text

__all__ = ["MERGED", "varied"]

MERGED = (*PLACES, "kinds", "locomotives", "cars", "start", "fixed", "notes")
"""The sections that a variant may have of its own."""
_TITLE = "{} ({})"


def varied(document: Document, line: Document, path: Path, problems: Problems) -> Document:
    """The content of the file as the variant ``line``, which stands at ``path``, has it.

    What is wrong with the variant itself is noted in ``problems``, and left out.
    """
    varying = _Varying(document, line, path, problems)
    varying.drop()
    varying.flip()
    varying.lengthen()
    varying.merge()
    return varying.document


class _Varying:
    """One variant being made."""

    def __init__(self, document: Document, line: Document, path: Path, problems: Problems) -> None:
        self.document = deepcopy(document)
        for key in ("variants", "stated"):
            self.document.pop(key, None)
        self.document["title"] = _TITLE.format(document.get("title") or "As it is", line["name"])
        self._line = line
        self._path = path
        self._problems = problems

    def drop(self) -> None:
        """Take tracks and junctions out."""
        known = [name for section in PLACES for name in self.document.get(section, {})]
        names = []
        for index, name in enumerate(self._line.get("drop", ())):
            path = (*self._path, "drop", index)
            if name not in known:
                cure = suggestion(name, known, "name a track or junction of the file")
                self._problems.add(path, "there is no such track or junction", cure)
            elif any(name in self._line.get(section, {}) for section in PLACES):
                what = "this is dropped, and changed as well"
                self._problems.add(path, what, "change it only, or give what is new another name")
            else:
                names.append(name)
        drop(self.document, names)

    def flip(self) -> None:
        """Turn the points of the turnouts that lead to some spurs."""
        for index, track in enumerate(self._line.get("flip", ())):
            path = (*self._path, "flip", index)
            if not self._has_track(track, path):
                continue
            legs = [(name, end) for name, end in self._turnouts_at(track) if end != "points"]
            line = self.document["tracks"][track]
            if len(legs) != 1 or "bumper" not in (line.get("from"), line.get("to", "bumper")):
                what = "this is no spur from the leg of a turnout"
                self._problems.add(path, what, "write what changes under `tracks` and `turnouts`")
            else:
                name, leg = legs[0]
                self._swap(name, "straight" if leg == "diverging" else "diverging")

    def lengthen(self) -> None:
        """Give tracks other lengths."""
        for track, length in self._line.get("lengths", {}).items():
            path = (*self._path, "lengths", track)
            if self._has_track(track, path):
                line = self.document["tracks"][track]
                if "parts" in line:
                    cure = "give all its parts anew under `tracks`"
                    self._problems.add(path, "this track has parts, each with a length", cure)
                else:
                    self._change("tracks", track, {"length": length})

    def merge(self) -> None:
        """Add what is new, and change what the variant says anew."""
        for section in MERGED:
            for name, change in self._line.get(section, {}).items():
                self._change(section, name, change)

    def _change(self, section: str, name: str, change: Any) -> None:
        """One line of a section."""
        here = self.document.setdefault(section, {})
        if section in PLACES and isinstance(change, Mapping) and isinstance(here.get(name), dict):
            for key, instead in (("length", "parts"), ("parts", "length")):
                if key in change:
                    here[name].pop(instead, None)
            here[name] |= deepcopy(dict(change))
        else:
            here[name] = deepcopy(change)
        if section != "notes":  # what was said of it holds no longer
            self.document.get("notes", {}).pop(name, None)

    def _has_track(self, name: str, path: Path) -> bool:
        """Whether the file has this track."""
        tracks = self.document.get("tracks", {})
        if name in tracks:
            return True
        cure = suggestion(name, tracks, f"name one of {', '.join(map(value_text, tracks))}")
        self._problems.add(path, "there is no such track", cure, value_text(name))
        return False

    def _turnouts_at(self, track: str) -> Iterator[tuple[str, str]]:
        """The turnouts that meet a track, and with which of their ends."""
        turnouts = self.document.get("turnouts", {})
        line = self.document["tracks"][track]
        for end in ("from", "to"):
            name = owner(line.get(end), turnouts)
            if name is not None:
                yield name, line[end][len(name) + 1 :]
        for name, turnout in turnouts.items():
            for end, reference in turnout.get("meets", {}).items():
                if reference in (f"{track} from", f"{track} to"):
                    yield name, end

    def _swap(self, turnout: str, leg: str) -> None:
        """Let what met the points of a turnout meet a leg of it, and the other way round."""
        ends = {f"{turnout} points": f"{turnout} {leg}", f"{turnout} {leg}": f"{turnout} points"}
        for line in self.document["tracks"].values():
            line |= {end: ends[line[end]] for end in ("from", "to") if line.get(end) in ends}
        for section in JUNCTIONS:
            for line in self.document.get(section, {}).values():
                meets = line.get("meets", {})
                meets |= {end: ends[other] for end, other in meets.items() if other in ends}
        own = self.document["turnouts"][turnout]
        other = {"points": leg, leg: "points"}
        if "meets" in own:
            own["meets"] = {other.get(end, end): meets for end, meets in own["meets"].items()}
