"""Scales, gauges and the geometry of turnouts."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from switchsolve.lengths import format_length, on_grid_up, parse_length
from switchsolve.puzzlefile import loads
from switchsolve.scales import SCALES, turnout_legs

LOCAL = """\
unit = "in"
scale = {scale}
[tracks]
main = {{ from = "entrance" }}
[kinds]
car = {{ prototype = "{prototype}" }}
[locomotives]
"S&I 5" = 5.5
[start]
main = ["S&I 5"]
"""


def test_scales() -> None:
    """HO and OO are millimeters to the foot, H0 1:87 (NEM 010), the others plain ratios (NEM 010, trade)."""
    foot = Fraction(3048, 10)
    assert SCALES["HO"].ratio * Fraction(7, 2) == foot
    assert SCALES["OO"].ratio * 4 == foot
    plain = {"H0": 87, "N": 160, "TT": 120, "S": 64, "O": 48, "0": 45, "Z": 220, "I": 32}
    assert {name: SCALES[name].ratio for name in plain} == plain


@pytest.mark.parametrize(
    ("prototype", "inches"),
    [("44 ft 2 1/2 in", "6.091"), ("55 ft 5 in", "7.635"), ("67 ft 11 in", "9.357"), ("53 ft 1 in", "7.313")],
)
def test_car_lengths_from_the_prototype(prototype: str, inches: str) -> None:
    """Published lengths of cars over pulling faces, at 1:87.1: plain division, given to three decimals."""
    puzzle = loads(LOCAL.format(scale=87.1, prototype=prototype))
    assert format_length(puzzle.kinds["car"], puzzle) == f"{inches} in"


def test_ho_is_its_own_ratio() -> None:
    """At 3.5 mm to the foot a car of 44 ft 2 1/2 in is 3.5 x 44.2083 mm: rounded up on the grid, and
    noted.
    """
    puzzle = loads(LOCAL.format(scale='"HO"', prototype="44 ft 2 1/2 in"))
    feet = Fraction(44) + Fraction(5, 24)
    assert puzzle.kinds["car"] == on_grid_up(Fraction(7, 2) * feet / Fraction(254, 10))
    assert puzzle.notes["car"] == "6.092 in (44 ft 2 1/2 in, HO, 3.5 mm to the foot)"


@pytest.mark.parametrize("number", [Fraction(4), Fraction(9, 2), Fraction(6), Fraction(10)])
def test_turnouts_by_number_follow_the_textbook(number: Fraction) -> None:
    """The legs equal the textbook's formulas written with sines and cosines (from memory) to twelve
    digits.
    """
    gauge, centers = Fraction(165, 254), Fraction(2)
    angle = 2 * math.atan(1 / (2 * float(number)))
    radius = float(gauge) / (1 - math.cos(angle))
    beyond = float(centers - gauge)
    straight, diverging = turnout_legs(number, gauge, centers)
    assert math.isclose(straight, radius * math.sin(angle) + beyond / math.tan(angle), rel_tol=1e-12)
    assert math.isclose(diverging, radius * angle + beyond / math.sin(angle), rel_tol=1e-12)


def test_the_lead_is_two_gauges_for_each_number() -> None:
    """With the clearance point just beyond the frog what is left is the lead, 2 g N."""
    straight, _ = turnout_legs(Fraction(6), Fraction(1), 1 + Fraction(1, 10**9))
    assert abs(straight - 12) < Fraction(1, 10**7)


def test_a_higher_number_is_a_longer_turnout() -> None:
    """Both legs grow with the number, and the diverging leg is the longer one."""
    legs = [turnout_legs(Fraction(number), Fraction(1), Fraction(3)) for number in (4, 5, 6, 8)]
    assert legs == sorted(legs)
    assert all(diverging > straight for straight, diverging in legs)


@pytest.mark.parametrize(("number", "gauge", "centers"), [(0, 1, 2), (6, 1, 1), (6, 2, 1), (6, 0, 1)])
def test_turnouts_that_cannot_be(number: int, gauge: int, centers: int) -> None:
    """No turnout has a number below 1, no gauge, or its clearance point before the frog."""
    with pytest.raises(ValueError, match="a turnout needs"):
        turnout_legs(Fraction(number), Fraction(gauge), Fraction(centers))


def test_gauges() -> None:
    """Gauges of NEM 010 (from memory): scales of one gauge share it."""
    gauges = {name: scale.gauge_mm for name, scale in SCALES.items()}
    assert gauges["HO"] == gauges["H0"] == gauges["OO"] == parse_length("16.5 mm").terms[0][0]
    assert [gauges["N"], gauges["O"], gauges["0"]] == [9, 32, 32]
