"""Plans, verdicts and solutions: what a solver says.

A plan speaks of real positions, so that anyone can replay it without knowing how it was found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from switchsolve.district import Way

__all__ = [
    "Advance",
    "Counts",
    "Couple",
    "Cut",
    "Line",
    "Placed",
    "Plan",
    "Run",
    "Solution",
    "Step",
    "TightestPlace",
    "Verdict",
]


@dataclass(frozen=True, slots=True)
class Placed:
    """A string at real positions.

    ``ways`` are the cells it touches, in a row, in the direction in which ``vehicles`` are listed;
    ``offset`` is the distance from the start of ``ways[0]`` to the outer end of ``vehicles[0]``
    (0 <= offset < length of ``ways[0]``), grid units.  ``noses`` gives for each locomotive of the string
    +1 if its front points along ``ways``, else -1.
    """

    vehicles: tuple[str, ...]
    ways: tuple[Way, ...]
    offset: int
    noses: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Advance:
    """The moving string goes ``distance`` (> 0) on; its leading end newly enters the ``enters`` in order."""

    distance: int
    enters: tuple[Way, ...] = ()


@dataclass(frozen=True, slots=True)
class Couple:
    """The moving string, now touching it, couples to a standing string; ``vehicles`` outwards."""

    vehicles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """The trailing ``vehicles`` of the moving string are cut off and stay (nearest the cut first)."""

    vehicles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """With everything at rest, ``table`` is lined to ``meets[index]``."""

    table: str
    index: int


Step = Advance | Couple | Cut | Line


@dataclass(frozen=True, slots=True)
class Run:
    """What one locomotive does in one direction: ``forward`` if its own front leads."""

    locomotive: str
    forward: bool
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A starting placement and the runs that follow, in order.

    ``final_cuts``: the pairs of neighbours uncoupled after the last run, one cut each, so that every train
    stands alone and no other car is coupled to a live locomotive.
    """

    start: tuple[Placed, ...]
    runs: tuple[Run, ...]
    final_cuts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Counts:
    """What a plan costs.  ``moves`` = reversals + locomotives that were under way or moved."""

    moves: int
    reversals: int
    couplings: int
    cuts: int
    cars_moved: int
    turnouts_thrown: int
    tables_turned: int
    distance: int


class Verdict(StrEnum):
    """What may be said of a set-up."""

    PROVED = "proved minimum"
    BEST_FOUND = "best found"
    IMPOSSIBLE = "impossible"
    GAVE_UP = "gave up"


@dataclass(frozen=True, slots=True)
class TightestPlace:
    """The run (counted from 1) and the place with the least length to spare in a plan, grid units."""

    move: int
    place: str
    spare: int


@dataclass(frozen=True, slots=True)
class Solution:
    """The answer of a solver.

    ``lower_bound``: no plan has fewer moves (for *impossible*, ``None``).  ``couplings_proved`` and
    ``distance_proved`` say whether couplings + cuts, then distance, are the least among plans of as many
    moves. ``limit`` names what stopped the proof.  ``stats`` are figures of the search.

    ``objective`` names what the plan was to have least of, and the verdict speaks of that.  For another than
    moves ``value`` is that figure of the plan (couplings + cuts, or seconds, exact), ``value_bound`` what no
    plan is under, and ``lower_bound`` is ``None``; ``moves_proved``: no plan with as good a value has fewer
    moves; ``distance_proved``: and among those none is shorter.
    """

    verdict: Verdict
    lower_bound: int | None
    plan: Plan | None = None
    counts: Counts | None = None
    couplings_proved: bool = False
    distance_proved: bool = False
    tightest: TightestPlace | None = None
    limit: str | None = None
    stats: Mapping[str, int | float | str] = field(default_factory=dict)
    objective: str = "moves"
    value: int | Fraction | None = None
    value_bound: int | Fraction | None = None
    moves_proved: bool = False
