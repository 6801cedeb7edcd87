"""The work of one session as the timetable sees it: trains with their steps, and the yard's tasks in order.

Times are whole minutes, lengths whole numbers of one unit of the caller's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["Piece", "SessionWork", "Step", "StepKind", "TrainRun", "YardStep"]


class StepKind(StrEnum):
    """What a train does in one step."""

    RUN = "run"
    PASSING = "passing"
    STOP = "stop"
    WORK = "work"


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the work in a district, up to its move number ``after``, after which the crew can clear the
    main in ``clear`` minutes (and needs as many to come back), by so many ``moves``."""

    minutes: int
    clear: int = 0
    moves: int = 0
    after: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """One step.  ``where``: the link that it runs over, or the place.  ``pieces`` of the work, if a train
    passes the place (then ``minutes`` is their sum)."""

    name: str
    kind: StepKind
    where: str
    minutes: int
    pieces: tuple[Piece, ...] = ()


@dataclass(frozen=True, slots=True)
class TrainRun:
    """A train's steps, one right after the other; at a stop or at work it may wait.

    ``leaves``: fixed minute of the first step; then it waits nowhere.  ``from_track`` and ``to_track``: names
    of staging tracks that it leaves and comes to, with the lengths that it takes from the one and brings to
    the other.  ``cut_out``: length of the made-up cut that it takes from the departure track; ``cut_in``: of
    the cut that it brings to the arrival track.  Both change hands at its stop, if it has one.
    """

    name: str
    crews: tuple[str, ...]
    steps: tuple[Step, ...]
    leaves: int | None = None
    from_track: tuple[str, int] | None = None
    to_track: tuple[str, int] | None = None
    cut_out: int = 0
    cut_in: int = 0

    @property
    def stop(self) -> Step | None:
        """Its stop at the yard."""
        return next((step for step in self.steps if step.kind is StepKind.STOP), None)


@dataclass(frozen=True, slots=True)
class YardStep:
    """A cut of ``length`` made up for ``train`` or put away from it (the train ``""``: from an earlier
    session)."""

    name: str
    train: str
    minutes: int
    is_make_up: bool
    length: int


@dataclass(frozen=True, slots=True)
class SessionWork:
    """All of it.

    ``links``, ``aisles``: how many trains, or people, at once.  ``aisle_of``: the aisle of a place, if any.
    ``tracks``: staging tracks with the length of each and what stands on it at the beginning.  ``room``:
    length of the arrival and departure tracks of ``yard``, and what stands there at the beginning.
    """

    crews: tuple[str, ...]
    yard: str
    yard_crews: tuple[str, ...]
    trains: tuple[TrainRun, ...]
    yard_steps: tuple[YardStep, ...]
    links: Mapping[str, int]
    aisles: Mapping[str, int]
    aisle_of: Mapping[str, str]
    tracks: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    room: tuple[int, int] = (0, 0)
