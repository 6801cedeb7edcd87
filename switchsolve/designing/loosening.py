"""Spurs laid both ways at once: one question for all arrangements that differ in which way round spurs lie.

What can be done whichever way a spur is laid can be done with both at once, so the fewest moves then are a
lower bound for all of them.  And a plan that uses the spur one way only, or not at all, is a plan for every
arrangement that has it so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.district import Cell, District, Junction
from switchsolve.flipping import BOTH_WAYS
from switchsolve.plan import Advance, Plan

__all__ = ["Ways", "is_loose", "ways_of"]


@dataclass(frozen=True, slots=True)
class Ways:
    """Turnouts of loose spurs that a plan uses as they are ``drawn``, and as they are when ``turned``."""

    drawn: tuple[str, ...]
    turned: tuple[str, ...]


def is_loose(district: District) -> bool:
    """Whether a spur of the district is laid both ways at once."""
    return any(_loose(district))


def ways_of(district: District, plan: Plan) -> Ways:
    """How ``plan`` uses the loose spurs: a vehicle is nowhere but where it starts, or where a run leads."""
    runs = [step.enters for run in plan.runs for step in run.steps if isinstance(step, Advance)]
    used = {way.cell for ways in (*runs, *(one.ways for one in plan.start)) for way in ways}
    loose = list(_loose(district))
    return Ways(
        tuple(one.name for one in loose if Cell(one.name, _drawn(one)) in used),
        tuple(one.name for one in loose if Cell(one.name, _TURNED) in used),
    )


_TURNED = 2
"""The route that a loose turnout has besides its own two."""


def _loose(district: District) -> Iterator[Junction]:
    return (junction for junction in district.junctions if junction.kind == BOTH_WAYS)


def _drawn(turnout: Junction) -> int:
    """The route from the spur to the points: that which has no end of the straight way's leg."""
    turned = turnout.routes[_TURNED]
    return next(n for n, route in enumerate(turnout.routes) if turned.a not in (route.a, route.b))
