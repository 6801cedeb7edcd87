"""Through tracks from which the cars are drawn one at a time.

A cut arrives car by car and each car is set on one of several through tracks, at one end; the cars come out
at the other end, each track giving up its cars in the order in which they came.  That is a sort with parallel
queues: ``m`` tracks put a cut in order in one pass if and only if no more than ``m`` of its cars, read in
order of arrival, are wanted in strictly falling order (R. Tarjan, as told by B. Hayes, American Scientist
95(2), 2007).  No two cars of such a falling run can share a track, so the run itself is the proof.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["ThroughTracks", "fewest_tracks"]


@dataclass(frozen=True, slots=True)
class ThroughTracks:
    """The answer.  Cars are numbered by their place in the arriving cut, from 0.

    ``tracks``: the cars of each track, in order of arrival; there are as few tracks as can be.
    ``falling``: as many cars, in order of arrival, each wanted before the one that came before it.
    """

    tracks: tuple[tuple[int, ...], ...]
    falling: tuple[int, ...]


def fewest_tracks(order: Sequence[int]) -> ThroughTracks:
    """The fewest through tracks that put an arriving cut in order in one pass, and who stands on which.

    ``order[i]`` is the place at which the ``i``-th arriving car is wanted; cars with the same number are of
    one block, and stand in it as they come.  Every car goes over a track; none passes by.
    """
    tracks: list[list[int]] = []
    ends: list[int] = []  # minus the number last set on each track: rising, so that it can be searched
    before: list[int | None] = []
    for car, wanted in enumerate(order):
        # the first track whose last car is wanted no later than this one
        track = bisect_left(ends, -wanted)
        before.append(tracks[track - 1][-1] if track else None)
        if track == len(tracks):
            tracks.append([])
            ends.append(0)
        tracks[track].append(car)
        ends[track] = -wanted
    return ThroughTracks(tuple(map(tuple, tracks)), _falling(tracks, before))


def _falling(tracks: list[list[int]], before: list[int | None]) -> tuple[int, ...]:
    """A falling run with a car of every track: from the last track's car to one above it, and so on."""
    if not tracks:
        return ()
    run: list[int] = []
    car: int | None = tracks[-1][0]
    while car is not None:
        run.append(car)
        car = before[car]
    return tuple(reversed(run))
