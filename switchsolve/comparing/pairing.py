"""The same traffic for all: whose industry is whose, and what cannot be asked for everywhere.

Industries are the same if their tracks have the same name.  Of those left over, one is taken for another if
the same cars come to it (kinds, stay, share taken at first), in the order of the files.  An industry that one
arrangement lacks is sent nothing in any of them.  All figures of the traffic are those of the first
arrangement, but for the train's track and its locomotive's end, which are each one's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from switchsolve.comparing.cases import Case
from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Industry, Puzzle, Traffic
from switchsolve.puzzlefile import dumps, loads
from switchsolve.traffic import roads_of

__all__ = ["Pairing", "pair"]


@dataclass(frozen=True, slots=True)
class Pairing:
    """``puzzles``: for each case the set-up whose sessions are drawn.  ``left_out``: industries that are sent
    nothing, with the names of the cases that lack them.  ``taken_for``: (industry of the first, case, its own
    name for it).  ``own_traffic``: cases whose file says other figures than those used.
    """

    puzzles: tuple[Puzzle, ...]
    left_out: tuple[tuple[str, tuple[str, ...]], ...]
    taken_for: tuple[tuple[str, str, str], ...]
    own_traffic: tuple[str, ...]


def pair(cases: Sequence[Case]) -> Pairing:
    """Give the traffic of the first case to all.

    Raises :class:`~switchsolve.errors.FileError` with all that stands against it: no traffic, no industry in
    common, a kind of car that a file does not know, a track that is too short for it.
    """
    problems = [_no_traffic(case) for case in cases if case.puzzle.traffic is None]
    if problems:
        raise FileError(problems)
    first = _traffic(cases[0])
    partners = [_partners(first.industries, _traffic(case).industries) for case in cases]
    shared = [one for one in first.industries if all(one.track in found for found in partners)]
    if not shared:
        what = "no industry is in all that are compared"
        cure = "compare arrangements that have an industry in common"
        raise FileError([Problem(cases[0].file, "traffic.industries", "", what, cure)])
    roads = first.roads or roads_of(cases[0].puzzle)
    puzzles = []
    for case, found in zip(cases, partners, strict=True):
        try:
            puzzles.append(_given(case, replace(first, roads=roads), shared, found))
        except FileError as error:
            problems += [replace(one, key=f"{case.name}: {one.key}") for one in error.problems]
    if problems:
        raise FileError(problems)
    return Pairing(
        tuple(puzzles),
        tuple(_left_out(cases, partners, [one.track for one in shared])),
        tuple(
            (one, case.name, found[one])
            for case, found in zip(cases, partners, strict=True)
            for one in found
            if found[one] != one and any(one == other.track for other in shared)
        ),
        tuple(
            case.name for case, found in zip(cases, partners, strict=True) if _differs(first, case, found)
        ),
    )


def _no_traffic(case: Case) -> Problem:
    cure = "add what sessions bring (see DEVELOPERS.md, the puzzle file), or leave it out of all"
    what = "this is missing, and another file of the comparison has it"
    return Problem(case.file, "traffic", "", what, cure)


def _traffic(case: Case) -> Traffic:
    assert case.puzzle.traffic is not None
    return case.puzzle.traffic


def _partners(ours: Sequence[Industry], theirs: Sequence[Industry]) -> dict[str, str]:
    """For each industry of the first case the name of its track in another one, as far as it has it."""
    names = {one.track for one in theirs}
    found = {one.track: one.track for one in ours if one.track in names}
    left = [one for one in theirs if one.track not in found]
    for one in ours:
        if one.track not in found:
            alike = next((other for other in left if replace(other, track=one.track) == one), None)
            if alike is not None:
                found[one.track] = alike.track
                left.remove(alike)
    return found


def _given(case: Case, first: Traffic, shared: Sequence[Industry], found: dict[str, str]) -> Puzzle:
    """The set-up of a case with the shared traffic, checked as a file is."""
    own = _traffic(case)
    traffic = replace(
        first,
        train=own.train,
        locomotive_at=own.locomotive_at,
        departs_at=own.departs_at,
        industries=tuple(replace(one, track=found[one.track]) for one in shared),
    )
    return loads(dumps(replace(case.puzzle, traffic=traffic, variants=())), case.file)


def _left_out(
    cases: Sequence[Case], partners: Sequence[dict[str, str]], shared: Sequence[str]
) -> list[tuple[str, tuple[str, ...]]]:
    """Industries that are sent nothing, with who lacks them."""
    lacking: dict[str, list[str]] = {}
    for one in _traffic(cases[0]).industries:
        if one.track not in shared:
            lacking[one.track] = [
                case.name for case, found in zip(cases, partners, strict=True) if one.track not in found
            ]
    for case, found in zip(cases, partners, strict=True):
        for one in _traffic(case).industries:
            if one.track not in found.values():
                lacking.setdefault(one.track, [cases[0].name])
    return [(track, tuple(names)) for track, names in lacking.items()]


def _differs(first: Traffic, case: Case, found: dict[str, str]) -> bool:
    """Whether the file of a case says other figures for its traffic."""
    own = _traffic(case)
    theirs = {one.track: one for one in own.industries}
    return (own.most_cars, own.blocking) != (first.most_cars, first.blocking) or any(
        replace(theirs[found[one.track]], track=one.track) != one
        for one in first.industries
        if one.track in found
    )
