"""A file's content without some of its tracks and junctions, and without what stands or belongs there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from switchsolve.puzzlefile.trackplan import JUNCTION_FORMS, TABLE_KINDS

__all__ = ["JUNCTIONS", "PLACES", "Document", "drop", "owner"]

Document = dict[str, Any]
"""What a TOML text holds."""
JUNCTIONS = (*JUNCTION_FORMS, "junctions")
PLACES = ("tracks", *JUNCTIONS, *TABLE_KINDS)
"""The sections that hold tracks, junctions and tables."""


def owner(reference: object, names: Iterable[str]) -> str | None:
    """Which of ``names`` a text such as ``Lane turnout points`` or ``cider works door 1`` begins with."""
    found = [name for name in names if reference == name or str(reference).startswith(f"{name} ")]
    return max(found, key=len, default=None)


def drop(document: Document, names: Collection[str]) -> None:
    """Take these tracks, junctions and tables out of ``document``.

    What met them meets a bumper; the cars that stand there, or whose work is there alone, go too, and so
    does all else that is said of them.
    """
    if not names:
        return
    known = [name for section in PLACES for name in document.get(section, {})]
    _stop_at_bumpers(document, names, known)
    for section in PLACES:
        for name in names:
            document.get(section, {}).pop(name, None)
    gone = {_vehicle(entry) for name in names for entry in document.get("start", {}).get(name, ())}
    gone |= set(_bound_for(document.get("work", {}), names, known))
    _take_away(document, gone)
    for name in names:
        for table in _tables_by_place(document):
            table.pop(name, None)
    standards = document.get("standards", {})
    if "clear_at_end" in standards:
        standards["clear_at_end"] = [name for name in standards["clear_at_end"] if name not in names]


def _tables_by_place(document: Document) -> Iterator[dict[str, Any]]:
    """The tables of the file whose keys are tracks or other places."""
    for path in (
        ("start",),
        ("notes",),
        ("standards", "spur_holds"),
        ("drawing", "lanes"),
        ("drawing", "sides"),
        ("traffic", "industries"),
    ):
        here: Any = document
        for key in path:
            here = here.get(key, {})
        yield here


def _stop_at_bumpers(document: Document, names: Collection[str], known: list[str]) -> None:
    """Let whatever meets one of ``names`` meet a bumper."""
    for name, line in document.get("tracks", {}).items():
        for end in ("from", "to"):
            there = owner(line.get(end), known)
            if name not in names and there in names:
                line[end] = "bumper"
            elif name in names and there is not None and there not in names:
                _close(document, there, str(line[end])[len(there) + 1 :])
    for section in JUNCTIONS:
        for name, line in document.get(section, {}).items():
            for end, reference in line.get("meets", {}).items():
                there = owner(reference, known)
                if name not in names and there in names:
                    line["meets"][end] = "bumper"
                elif name in names and there is not None and there not in names:
                    _close(document, there, str(reference)[len(there) + 1 :])


def _close(document: Document, name: str, end: str) -> None:
    """Put a bumper at an end of a junction that has lost its track."""
    for section in JUNCTIONS:
        if name in document.get(section, {}):
            document[section][name].setdefault("meets", {})[end] = "bumper"


def _vehicle(entry: object) -> str:
    """The vehicle of an entry such as ``OXCC 7 @ door 1``."""
    return str(entry).partition(" @ ")[0]


def _bound_for(work: Mapping[str, Any], names: Collection[str], known: list[str]) -> Iterator[str]:
    """The cars whose work is at these places, and nowhere else."""
    for car, place in work.get("spot", {}).items():
        if owner(place, known) in names:
            yield car
    for car, places in work.get("set_to_any_of", {}).items():
        if all(owner(place, known) in names for place in places):
            yield car
        else:
            places[:] = [place for place in places if owner(place, known) not in names]


def _take_away(document: Document, gone: Collection[str]) -> None:
    """Take vehicles out of the file."""
    gone = set(gone) & set(document.get("cars", {}))
    for section in ("cars", "fixed", "notes"):
        for name in gone:
            document.get(section, {}).pop(name, None)
    for track, entries in document.get("start", {}).items():
        document["start"][track] = _without(entries, gone)
    work = document.get("work", {})
    for key in ("spot", "set_to_any_of"):
        for name in gone:
            work.get(key, {}).pop(name, None)
    for key in ("hold", "do_not_touch", "free"):
        if key in work:
            work[key] = [name for name in work[key] if name not in gone]
    for train in work.get("train", ()):
        _shorten(train, gone)


def _without(entries: list[str], gone: Collection[str]) -> list[str]:
    """A row of vehicles without some of them; a gap stays only between vehicles."""
    row: list[str] = []
    for entry in entries:
        if entry == "|" and (not row or row[-1] == "|"):
            continue
        if _vehicle(entry) not in gone:
            row.append(entry)
    return row[:-1] if row and row[-1] == "|" else row


def _shorten(train: Document, gone: Collection[str]) -> None:
    """A train without some of its cars."""
    if "pick_up" in train:
        train["pick_up"] = [name for name in train["pick_up"] if name not in gone]
    if "blocks" in train:
        blocks = [[name for name in block if name not in gone] for block in train["blocks"]]
        train["blocks"] = [block for block in blocks if block]
    if train.get("last") in gone:
        del train["last"]
