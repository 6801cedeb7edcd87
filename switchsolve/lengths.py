"""Lengths: exact numbers as people write them, and whole numbers on one grid.

A puzzle file measures in one unit (inches, millimeters, centimeters, feet, or standard cars).  Every
length is put on a grid of 1/1,000,000 of that unit, so that no answer hangs on a rounding of binary
fractions: vehicles are rounded up, track is rounded down.

A length in a file is a number in the file's unit, or a text with a unit of its own::

    6.0625        "44 ft 2 1/2 in"        "15 cm"        "7 1/2 in"        "2.5 cars"

:func:`parse_length` reads it without rounding; :func:`format_length` writes grid units for people.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Protocol

__all__ = [
    "FILE_UNITS",
    "GRID",
    "MM_PER_UNIT",
    "BadLength",
    "Measure",
    "Measured",
    "decimal_text",
    "exact_number",
    "format_length",
    "format_length_down",
    "format_length_up",
    "on_grid_down",
    "on_grid_up",
    "parse_length",
]

GRID = 1_000_000
"""Grid units in one unit of a file."""

FILE_UNITS = ("in", "mm", "cm", "ft", "car")
"""Units that a file may measure in."""

MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
"""Millimeters in each unit of real length."""

_SPELLINGS = {
    "in": "in", "inch": "in", "inches": "in", '"': "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
    "mm": "mm", "cm": "cm", "m": "m", "car": "car", "cars": "car",
}  # fmt: skip
_NUMBER = r"-?[0-9]+[ -][0-9]+/[0-9]+|-?[0-9]+/[0-9]+|-?[0-9]*\.?[0-9]+"
_TERM = re.compile(rf"\s*({_NUMBER})\s*(inches|inch|in|feet|foot|ft|cars|car|mm|cm|m|\"|')(?![a-z])")
_MOST_DIGITS = 40
_HOW = 'write a number, or a text with its unit such as "7 1/2 in" or "15 cm"'


class BadLength(ValueError):
    """What was given is not a length; ``what`` says why, ``cure`` how to mend it."""

    def __init__(self, what: str, cure: str = _HOW) -> None:
        self.what = what
        self.cure = cure
        super().__init__(f"{what}; {cure}")


class Measured(Protocol):
    """Whatever knows its unit and grid: a puzzle, or a reader at work on one."""

    @property
    def unit(self) -> str:
        """The unit that lengths are written in."""

    @property
    def grid(self) -> int:
        """Grid units in one unit."""


@dataclass(frozen=True, slots=True)
class Measure:
    """A length as written: the sum of ``terms`` (number, unit); unit ``""`` is the file's own."""

    terms: tuple[tuple[Fraction, str], ...]
    text: str

    @property
    def units(self) -> frozenset[str]:
        """The units that the text names; ``""`` for a plain number."""
        return frozenset(unit for _, unit in self.terms)


def exact_number(value: object) -> Fraction:
    """The exact value of a whole number or decimal read from a file.  Raises :class:`BadLength`."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise BadLength("this is not a number")
    number = Decimal(value) if isinstance(value, int) and abs(value) < 10**_MOST_DIGITS else value
    if isinstance(number, int) or number.is_infinite() or number.adjusted() > _MOST_DIGITS:
        raise BadLength("this is far too much", "write a shorter length")
    if number.is_nan():
        raise BadLength("this is not a number")
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int) or exponent < -_MOST_DIGITS:
        raise BadLength("this has far too many decimals", "write six decimals at most")
    return Fraction(number)


def parse_length(value: object) -> Measure:
    """Read a length as it stands in a file: a number, or a text with units.

    Nothing is rounded and no unit is converted.  Raises :class:`BadLength`; signs are left to the caller.
    """
    if isinstance(value, str):
        return Measure(tuple(_terms(value)), value.strip())
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise BadLength("this is not a length")
    return Measure(((exact_number(value), ""),), str(value))


def _terms(text: str) -> list[tuple[Fraction, str]]:
    """The terms of a text such as ``44 ft 2 1/2 in``, read from left to right."""
    if len(text) > 2 * _MOST_DIGITS or not text.strip():
        raise BadLength("this is not a length")
    terms: list[tuple[Fraction, str]] = []
    place = 0
    while place < len(text.rstrip()):
        match = _TERM.match(text, place)
        if match is None:
            raise BadLength(_why_not(text))
        terms.append((_fraction(match[1]), _SPELLINGS[match[2]]))
        place = match.end()
    if len({unit for _, unit in terms}) < len(terms):
        raise BadLength("this names one unit twice")
    return terms


def _why_not(text: str) -> str:
    """Why ``text`` is no length, as far as one can tell."""
    if re.fullmatch(rf"\s*({_NUMBER})\s*", text):
        return "this text gives no unit"
    return "this is not a length"


def _fraction(text: str) -> Fraction:
    """``2 1/2``, ``2-1/2``, ``1/2`` or ``2.5`` as an exact number."""
    if "/" not in text:
        return Fraction(text)
    sign = -1 if text.startswith("-") else 1
    *whole, parts = re.split(r"[ -]", text.removeprefix("-"))
    above, below = (int(number) for number in parts.split("/"))
    if below == 0:
        raise BadLength("this divides by zero")
    return sign * (Fraction(above, below) + sum(int(number) for number in whole))


def on_grid_up(units: Fraction, grid: int = GRID) -> int:
    """Grid units that ``units`` (of the file's unit) come to, rounded up: for vehicles."""
    return -((-units * grid).__floor__())


def on_grid_down(units: Fraction, grid: int = GRID) -> int:
    """Grid units that ``units`` (of the file's unit) come to, rounded down: for track."""
    return (units * grid).__floor__()


def decimal_text(length: int, grid: int = GRID) -> str:
    """Grid units as an exact decimal number of units, without needless zeros.

    ``grid`` must divide a power of ten.  Raises ``ValueError`` if it does not.
    """
    scale, digits = 1, 0
    while scale % grid:
        scale, digits = scale * 10, digits + 1
        if digits > _MOST_DIGITS:
            raise ValueError(f"a grid of {grid} to the unit has no exact decimals")
    whole, rest = divmod(abs(length) * (scale // grid), scale)
    decimals = f"{rest:0{digits}d}".rstrip("0") if digits else ""
    return f"{'-' if length < 0 else ''}{whole}{'.' if decimals else ''}{decimals}"


def format_length(length: int, puzzle: Measured) -> str:
    """A length for people, in the unit of ``puzzle``: at most three decimals, as ``"6.091 in"``.

    Rounded to the nearest; but what is not zero is never shown as zero: ``"under 0.001 in"``.
    """
    thousandths = (abs(length) * 2000 + puzzle.grid) // (2 * puzzle.grid)
    sign = "-" if length < 0 else ""
    if length and not thousandths:
        return f"{sign}under {_thousandths_text(1, puzzle)}"
    return sign + _thousandths_text(thousandths, puzzle)


def format_length_up(length: int, puzzle: Measured) -> str:
    """The same rounded up, for what must be at least so long: whoever builds it has no less."""
    return _thousandths_text(-(-length * 1000 // puzzle.grid), puzzle)


def format_length_down(length: int, puzzle: Measured) -> str:
    """The same rounded down, for what may be taken away: whoever cuts so much does not cut too much."""
    return _thousandths_text(length * 1000 // puzzle.grid, puzzle)


def _thousandths_text(thousandths: int, puzzle: Measured) -> str:
    unit = "cars" if puzzle.unit == "car" and thousandths != 1000 else puzzle.unit
    return f"{decimal_text(thousandths, 1000)} {unit}"
