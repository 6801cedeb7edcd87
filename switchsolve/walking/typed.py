"""Where everything stands now, typed in: the same district and work, begun from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from switchsolve.district import District
from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Puzzle, Start
from switchsolve.puzzlefile import restarted
from switchsolve.work import AnyCars, EndsIn, Hold, Item, Place, Work

__all__ = ["NAME", "Typed", "begun_from"]

NAME = "where cars stand now"
"""What stands for the file in messages."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What a person says of how everything stands.

    ``start``: lines as under ``[start]`` of a puzzle file.  By locomotive, ``heads``: the end of its track to
    which its front points ("from" or "to"); ``ran``: how it last moved ("forward" or "back"; left out: it
    begins its first move).  ``lined``: by table the number of the pair to which it is lined.
    """

    start: str
    heads: Mapping[str, str] = field(default_factory=dict)
    ran: Mapping[str, str] = field(default_factory=dict)
    lined: Mapping[str, int] = field(default_factory=dict)


def begun_from(puzzle: Puzzle, typed: Typed) -> Puzzle:
    """The set-up with the same work that starts as ``typed`` says.

    A car that is to be back in its place has its place where ``puzzle`` has it.  Raises
    :class:`~switchsolve.errors.FileError` with all problems.
    """
    problems = [*_strange(puzzle, typed)]
    if problems:
        raise FileError(problems)
    heads = {**puzzle.start.heads, **typed.heads}
    under_way = {name: _end(heads[name], way) for name, way in typed.ran.items()}
    begun = replace(
        puzzle,
        start=Start(puzzle.start.strings, heads, under_way),
        district=_lined(puzzle.district, typed.lined),
        work=Work((*(item for item in puzzle.work.items if not isinstance(item, Hold)), *_held(puzzle))),
        stated_minimum=None,
        stated_verdict=None,
        traffic=None,
        variants=(),
    )
    found = restarted(begun, typed.start, NAME)
    astray = [*_astray(puzzle, found)]
    if astray:
        raise FileError(astray)
    return found


def _end(heads: str, way: str) -> str:
    """The end of the track towards which a locomotive runs that way."""
    return heads if way == "forward" else {"from": "to", "to": "from"}[heads]


def _lined(district: District, lined: Mapping[str, int]) -> District:
    tables = tuple(replace(table, lined=lined.get(table.name, table.lined)) for table in district.tables)
    return District(district.tracks, district.junctions, tables, district.links, district.limits)


def _homes(puzzle: Puzzle) -> dict[str, Place]:
    return {
        name: Place(string.track, string.spots.get(name))
        for string in puzzle.start.strings
        for name in string.vehicles
    }


def _candidates(puzzle: Puzzle) -> set[str]:
    """Cars of which any may serve an item."""
    kinds = {item.kind for item in puzzle.work.items if isinstance(item, AnyCars)}
    return {
        car.name for car in puzzle.cars if car.kind in kinds and puzzle.work.of_car(car.name) is None
    }


def _held(puzzle: Puzzle) -> list[Item]:
    """An item for each car that is to be back in its place."""
    homes, candidates = _homes(puzzle), _candidates(puzzle)
    return [
        EndsIn(car.name, (homes[car.name],))
        for car in puzzle.cars
        if isinstance(puzzle.work.of_car(car.name), Hold)
        or (puzzle.work.of_car(car.name) is None and car.name not in candidates)
    ]


def _astray(puzzle: Puzzle, found: Puzzle) -> list[Problem]:
    """Cars of which any may serve an item, and that do not stand where the file has them."""
    homes, now = _homes(puzzle), _homes(found)
    return [
        Problem(
            NAME,
            f'start."{now[car].track}"',
            f'"{car}"',
            "any car of its kind will do for an item, and the others belong where the file has them:"
            f" {homes[car]}",
            "put it there, or give it an item of its own under [work] of the file",
        )
        for car in sorted(_candidates(puzzle))
        if now[car] != homes[car]
    ]


def _strange(puzzle: Puzzle, typed: Typed) -> list[Problem]:
    """What is said of locomotives and tables that there are not, or that cannot be."""
    engines = {loco.name for loco in puzzle.locomotives}
    tables = {table.name: len(table.meets) for table in puzzle.district.tables}
    found = []
    for key, said, words in (("heads", typed.heads, ("from", "to")), ("ran", typed.ran, ("forward", "back"))):
        for name, word in said.items():
            if name not in engines:
                found.append(Problem(NAME, key, name, "there is no such locomotive", "leave it out"))
            elif word not in words:
                cure = f"write {' or '.join(words)}"
                found.append(Problem(NAME, f"{key} of {name}", word, "this cannot be", cure))
    for name, index in typed.lined.items():
        if not 0 <= index < tables.get(name, 0):
            found.append(Problem(NAME, f"lined of {name}", str(index), "this cannot be", "choose another"))
    return found
