"""Lengths: exact reading, the grid, and how they are shown to people."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from switchsolve import lengths
from switchsolve.lengths import (
    GRID,
    BadLength,
    Measure,
    decimal_text,
    exact_number,
    format_length,
    format_length_down,
    format_length_up,
    on_grid_down,
    on_grid_up,
    parse_length,
)


@dataclass(frozen=True)
class Shown:
    """Something that has a unit and a grid."""

    unit: str = "in"
    grid: int = GRID


@pytest.mark.parametrize(
    ("value", "terms"),
    [
        (7, ((Fraction(7), ""),)),
        (Decimal("6.0625"), ((Fraction(97, 16), ""),)),
        ("44 ft 2 1/2 in", ((Fraction(44), "ft"), (Fraction(5, 2), "in"))),
        ("44' 2-1/2\"", ((Fraction(44), "ft"), (Fraction(5, 2), "in"))),
        ("15 cm", ((Fraction(15), "cm"),)),
        ("15cm", ((Fraction(15), "cm"),)),
        ("7 1/2 in", ((Fraction(15, 2), "in"),)),
        ("1/2 inch", ((Fraction(1, 2), "in"),)),
        (" .5 feet ", ((Fraction(1, 2), "ft"),)),
        ("2.5 cars", ((Fraction(5, 2), "car"),)),
        ("1 car", ((Fraction(1), "car"),)),
        ("16.5 mm", ((Fraction(33, 2), "mm"),)),
        ("13.47 m", ((Fraction(1347, 100), "m"),)),
        ("-3 1/2 in", ((Fraction(-7, 2), "in"),)),
    ],
)
def test_a_length_is_read_exactly(value: object, terms: tuple[tuple[Fraction, str], ...]) -> None:
    """Numbers and texts with units give exact fractions, term by term."""
    assert parse_length(value).terms == terms


@pytest.mark.parametrize(
    "value",
    ["", "in", "7", "7 1/2", "7,5 cm", "7 furlongs", "7 in 3", "7 in 2 in", "1/0 in", "7 1/0 in", "7 inn",
     "٧ in", "9" * 100 + " in", True, None, [], 1.5, Decimal("nan"), Decimal("inf"), Decimal("1e50"),
     Decimal("1e-50"), 10**60],
)  # fmt: skip
def test_what_is_no_length_is_refused(value: object) -> None:
    """Everything else is refused with a cure, binary fractions included, and never with another error."""
    with pytest.raises(BadLength) as caught:
        parse_length(value)
    assert caught.value.what and caught.value.cure


def test_the_units_of_a_measure() -> None:
    """A measure knows the units it names."""
    assert parse_length("44 ft 2 in").units == {"ft", "in"}
    assert Measure(((Fraction(3), ""),), "3").units == {""}


def test_an_exact_number_is_not_rounded() -> None:
    """A decimal that no binary fraction can hold stays what it is."""
    assert exact_number(Decimal("0.1")) == Fraction(1, 10)


def test_real_units() -> None:
    """An inch is 25.4 mm and a foot 12 inches (international inch, 1959)."""
    per = lengths.MM_PER_UNIT
    assert per["in"] == Fraction(127, 5)
    assert per["ft"] == 12 * per["in"]
    assert [per["cm"], per["m"]] == [10, 1000]


@given(st.fractions(min_value=0, max_value=10_000))
def test_track_is_rounded_down_and_vehicles_up(exact: Fraction) -> None:
    """Both stay within one grid unit of the exact length, on their own side, and agree on the grid."""
    down, up = on_grid_down(exact), on_grid_up(exact)
    assert down <= exact * GRID < down + 1
    assert up - 1 < exact * GRID <= up


@given(st.integers(min_value=0, max_value=10**12))
def test_an_exact_decimal_reads_back(length: int) -> None:
    """Grid units written as a decimal are the same grid units when they are read."""
    assert on_grid_down(exact_number(Decimal(decimal_text(length)))) == length


def test_exact_decimals() -> None:
    """Needless zeros are left out; a grid of thirds has no exact decimals."""
    assert [decimal_text(length) for length in (6_062_500, 6_000_000, 1, -500_000, 0)] == [
        "6.0625", "6", "0.000001", "-0.5", "0",
    ]  # fmt: skip
    assert decimal_text(17, 1) == "17"
    assert decimal_text(5, 4) == "1.25"
    with pytest.raises(ValueError, match="no exact decimals"):
        decimal_text(1, 3)


@pytest.mark.parametrize(
    ("length", "shown", "says"),
    [
        (6_091_000, Shown(), "6.091 in"),
        (6_091_699, Shown(), "6.092 in"),
        (6_500_000, Shown(), "6.5 in"),
        (6_000_000, Shown("mm"), "6 mm"),
        (0, Shown(), "0 in"),
        (499, Shown(), "under 0.001 in"),
        (500, Shown(), "0.001 in"),
        (1, Shown(), "under 0.001 in"),
        (-1, Shown(), "-under 0.001 in"),
        (-2_500_000, Shown("cm"), "-2.5 cm"),
        (1_000_000, Shown("car"), "1 car"),
        (2_500_000, Shown("car"), "2.5 cars"),
        (12, Shown("in", 1), "12 in"),
        (2, Shown("in", 3), "0.667 in"),
    ],
)
def test_lengths_for_people(length: int, shown: Shown, says: str) -> None:
    """Three decimals at most, no needless zeros, and what is not zero is never shown as zero."""
    assert format_length(length, shown) == says


def test_lengths_to_build_and_to_cut() -> None:
    """What must be built is rounded up, what may be cut off is rounded down, to a thousandth."""
    assert [format_length_up(length, Shown()) for length in (1, 5_600_000, 5_600_001)] == [
        "0.001 in", "5.6 in", "5.601 in",
    ]  # fmt: skip
    assert [format_length_down(length, Shown()) for length in (999, 5_600_000, 5_600_999)] == [
        "0 in", "5.6 in", "5.6 in",
    ]  # fmt: skip
    assert format_length_up(999_999, Shown("car")) == "1 car"
