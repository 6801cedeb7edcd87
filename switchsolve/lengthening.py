"""The same set-up with a track of another length, and the lengths at which that may matter.

A track grows or shrinks at the ``to`` end of one of its parts.  Places told as a distance from the track's
``from`` end (spots, and vehicles that stand fixed) stay where they are.
"""

from __future__ import annotations

from dataclasses import replace

from switchsolve.puzzle import Puzzle

__all__ = ["endless_tracks", "fitting_lengths", "lengthened", "row_lengths", "told_places"]

_MOST_ROWS = 4096
"""Rows looked at.  With more vehicles some lengths are not foreseen, and are found by halving instead."""


def lengthened(puzzle: Puzzle, name: str, extra: int, part: int = -1) -> Puzzle:
    """The set-up with part ``part`` (the last one) of track ``name`` longer by ``extra`` grid units.

    ``extra`` below zero makes it shorter.  Raises ``KeyError`` for an unknown track, ``ValueError`` if no
    rail would be left of the part, or if a place of the track would lie beyond its end.
    """
    district = puzzle.district
    track = district.track(name)
    parts = list(track.parts)
    parts[part] = replace(parts[part], length=parts[part].length + extra)
    new = replace(track, parts=tuple(parts))
    if parts[part].length <= 0 or max(told_places(puzzle, name), default=0) > new.length:
        raise ValueError(f"{name} cannot be shorter by {-extra} grid units")
    tracks = tuple(new if one is track else one for one in district.tracks)
    return replace(puzzle, district=replace(district, tracks=tracks))


def told_places(puzzle: Puzzle, name: str) -> dict[int, str]:
    """What is told as a distance from the ``from`` end of track ``name``, grid units, and what it is.

    The spots, and both ends of every string that stands fixed.  Raises ``KeyError`` for an unknown track.
    """
    places = {spot.at: f"spot {spot.name}" for spot in puzzle.district.track(name).spots}
    for string in puzzle.start.strings:
        if string.track == name and string.fixed_at is not None:
            length = sum(puzzle.vehicles[vehicle].length for vehicle in string.vehicles)
            names = " and ".join(string.vehicles)
            places |= {string.fixed_at: names, string.fixed_at + length: names}
    return places


def endless_tracks(puzzle: Puzzle) -> frozenset[str]:
    """Entrance tracks without a length of their own: the reader made them just long enough for the file."""
    enough = sum(vehicle.length + 1 for vehicle in puzzle.vehicles.values())
    return frozenset(
        track.name
        for track in puzzle.district.tracks
        if track.entrances and track.length == enough and track.name in puzzle.notes
    )


def row_lengths(puzzle: Puzzle) -> set[int]:
    """Lengths of rows that vehicles of the set-up can form, 0 for none; not all, if there are very many."""
    sums = {0}
    for vehicle in puzzle.vehicles.values():
        sums |= {total + vehicle.length for total in sums}
        if len(sums) > _MOST_ROWS:
            break
    return sums


def fitting_lengths(puzzle: Puzzle) -> set[int]:
    """Lengths of a track at which some row just begins to fit it, or it and a junction beside it."""
    routes = {0, *(route.length for junction in puzzle.district.junctions for route in junction.routes)}
    return {total - route for total in row_lengths(puzzle) for route in routes}
