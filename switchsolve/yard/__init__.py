"""Yard work: an arriving cut put into order or into blocks, with few tracks, few passes, few moves.

Three ways to work a yard, each with its own exact answer:

- cars drawn one at a time from through tracks (:func:`fewest_tracks`), or from tracks of any kind, with
  lengths if need be (:func:`work_in_one_pass`, :func:`fewest_of`);
- tracks pulled whole, one after the other, in one pass (:func:`fewest_laps`) or several
  (:func:`fewest_passes`, :func:`passes_that_fit`);
- the moves of a locomotive on a lead, found by the solver (:func:`classify`).
"""

from __future__ import annotations

from switchsolve.yard.fitting import Fitted, passes_that_fit
from switchsolve.yard.lead import (
    Arrival,
    CannotClassify,
    Classified,
    arrival_of,
    classify,
    made_up,
    yard_tracks,
)
from switchsolve.yard.marshalling import MOST_BLOCKS, Laps, Pass, fewest_laps, fewest_passes, passes_of
from switchsolve.yard.merging import ThroughTracks, fewest_tracks
from switchsolve.yard.working import (
    Step,
    TrackKind,
    Undecided,
    YardTrack,
    fewest_of,
    fewest_of_kind,
    work_in_one_pass,
)

__all__ = [
    "MOST_BLOCKS",
    "Arrival",
    "CannotClassify",
    "Classified",
    "Fitted",
    "Laps",
    "Pass",
    "Step",
    "ThroughTracks",
    "TrackKind",
    "Undecided",
    "YardTrack",
    "arrival_of",
    "classify",
    "fewest_laps",
    "fewest_of",
    "fewest_of_kind",
    "fewest_passes",
    "fewest_tracks",
    "made_up",
    "passes_of",
    "passes_that_fit",
    "work_in_one_pass",
    "yard_tracks",
]
