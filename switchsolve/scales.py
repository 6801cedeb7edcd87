"""Scales and gauges, and what a turnout measures by its number.

Scales: HO is 3.5 mm to the foot, which is 1:87.0857 (often written 1:87.1); this one ratio is used
for HO throughout.  H0 is 1:87 (NEM 010), OO is 4 mm to the foot.  The other ratios are the usual ones.
Gauges are those of NEM 010, from memory.

A turnout of number N on track of gauge g, with parallel tracks c apart, is taken in its classical form
(textbooks of railroad engineering, from memory): frog angle t = 2 atan(1/(2N)); one lead curve, tangent to
the straight track at the points and reaching the frog at angle t, so R = g / (1 - cos t) and the lead is
R sin t = 2 g N.  Beyond the frog both legs are straight until their center lines are c apart.  So from
points to clearance point::

    straight leg    2 g N + (c - g) / tan t
    diverging leg   R t   + (c - g) / sin t
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import atan

__all__ = ["SCALES", "Scale", "turnout_legs"]

_FOOT_MM = Fraction(3048, 10)


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale: ``ratio`` real lengths to one of the model; ``gauge_mm`` of the model, millimeters."""

    name: str
    ratio: Fraction
    gauge_mm: Fraction
    says: str


SCALES = {
    scale.name: scale
    for scale in (
        Scale("HO", _FOOT_MM / Fraction(35, 10), Fraction(165, 10), "3.5 mm to the foot"),
        Scale("H0", Fraction(87), Fraction(165, 10), "1:87"),
        Scale("OO", _FOOT_MM / 4, Fraction(165, 10), "4 mm to the foot"),
        Scale("N", Fraction(160), Fraction(9), "1:160"),
        Scale("TT", Fraction(120), Fraction(12), "1:120"),
        Scale("S", Fraction(64), Fraction(225, 10), "1:64"),
        Scale("O", Fraction(48), Fraction(32), "1:48"),
        Scale("0", Fraction(45), Fraction(32), "1:45"),
        Scale("Z", Fraction(220), Fraction(65, 10), "1:220"),
        Scale("I", Fraction(32), Fraction(45), "1:32"),
    )
}
"""The scales that a file may name."""


def turnout_legs(number: Fraction, gauge: Fraction, centers: Fraction) -> tuple[Fraction, Fraction]:
    """Lengths of the straight and the diverging leg of a turnout, points to clearance point.

    ``gauge`` and ``centers`` are in one unit, and so is what comes back.  Sine, cosine and tangent of the
    frog angle are rational in the number; only the arc needs the angle itself, taken as the nearest
    binary fraction.  Raises ``ValueError`` unless ``centers`` > ``gauge`` > 0 and ``number`` >= 1.
    """
    if not (number >= 1 and centers > gauge > 0):
        raise ValueError("a turnout needs a number of 1 or more and track centers wider than its gauge")
    four = 4 * number**2
    radius = gauge * (four + 1) / 2
    angle = Fraction(2 * atan(1 / (2 * float(number))))
    beyond = (centers - gauge) / (4 * number)
    return 2 * gauge * number + beyond * (four - 1), radius * angle + beyond * (four + 1)
