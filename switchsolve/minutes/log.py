"""A club's log of timed runs: a CSV file, one row for each run, with a line of heads.

================ =====================================================================================
head             what stands under it
================ =====================================================================================
``minutes``      needed: real minutes by a watch, as ``41``, ``41.5`` or ``41:30``
``puzzle``       a puzzle file, named from the folder of the log; its minimum plan gives what is left empty
``minimum``      the fewest moves, proved; with ``puzzle`` it is found
``moves``        the crew's moves, counted
``couplings``, ``cuts``, ``turnouts``, ``tables``, ``distance``   counted in the same way
``failed``       cuts that did not let go at once
``cars``         cars worked
================ =====================================================================================

Without ``puzzle`` a row needs moves, couplings and cuts.  What a row with ``puzzle`` leaves empty is that of
the minimum plan, taken as many times as the crew made moves for each move of the minimum.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from switchsolve.errors import FileError, Problem
from switchsolve.puzzlefile.problems import suggestion

__all__ = ["COUNTED", "HEADS", "LogRow", "read_log"]

COUNTED = ("moves", "couplings", "cuts", "turnouts", "tables", "distance", "failed")
"""Heads of what takes time."""
HEADS = ("minutes", "puzzle", "minimum", *COUNTED, "cars")
_NEEDED = ("moves", "couplings", "cuts")
_MOST_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True)
class LogRow:
    """One line of the log.  ``numbers``: what stands under each head; heads left empty are not in it."""

    line: int
    seconds: Fraction
    numbers: Mapping[str, Fraction]
    puzzle: str | None = None


def read_log(path: str | Path) -> list[LogRow]:
    """The rows of the log at ``path``.  Raises :class:`~switchsolve.errors.FileError` with all problems."""
    text = _text(path)
    first = text.split("\n", 1)[0]
    lines = list(csv.reader(io.StringIO(text), delimiter=";" if ";" in first and "," not in first else ","))
    reading = _Reading(str(path))
    heads = reading.heads(lines[0] if lines else [])
    rows = [reading.row(number, heads, line) for number, line in enumerate(lines[1:], 2) if any(line)]
    if heads and not rows:
        reading.add("file", "", "there is no run in it", "write a row for each timed run")
    if reading.problems:
        raise FileError(reading.problems)
    return [row for row in rows if row is not None]


def _text(path: str | Path) -> str:
    """The text of the file, or a ``FileError``."""
    try:
        return Path(path).read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        problem = Problem(str(path), "file", "", "this is not UTF-8 text", "save the file as CSV in UTF-8")
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        problem = Problem(str(path), "file", "", f"it cannot be read ({why})", "check the name")
    raise FileError([problem])


class _Reading:
    """Reads lines, and keeps every problem."""

    def __init__(self, file: str) -> None:
        self._file = file
        self.problems: list[Problem] = []

    def add(self, key: str, value: str, what: str, cure: str) -> None:
        """Note a problem."""
        self.problems.append(Problem(self._file, key, value, what, cure))

    def heads(self, line: Sequence[str]) -> list[str]:
        """The heads, each one known and there once, and ``minutes`` among them."""
        heads = [head.strip().lower() for head in line]
        for number, head in enumerate(heads):
            if head not in HEADS:
                cure = suggestion(head, HEADS, f"use some of: {', '.join(HEADS)}")
                self.add(f"line 1, column {number + 1}", head, "there is no such head", cure)
            elif head in heads[:number]:
                self.add(f"line 1, column {number + 1}", head, "this head is there twice", "keep one of them")
        if "minutes" not in heads:
            cure = "add it: real minutes of each run, by a watch"
            self.add("line 1", "", "there is no column `minutes`", cure)
        return heads

    def row(self, number: int, heads: Sequence[str], line: Sequence[str]) -> LogRow | None:
        """One row; ``None`` if something in it is wrong."""
        before = len(self.problems)
        if len(line) > len(heads):
            what, cure = "there are more cells than heads", "take commas out, or put the cell in quotes"
            self.add(f"line {number}", line[len(heads)], what, cure)
        cells = {head: cell.strip() for head, cell in zip(heads, line, strict=False) if cell.strip()}
        numbers = {
            head: found
            for head in HEADS
            if head not in ("minutes", "puzzle") and head in cells
            if (found := self._number(f"line {number}, {head}", head, cells[head])) is not None
        }
        seconds = self._seconds(f"line {number}, minutes", cells.get("minutes", ""), "minutes" in heads)
        puzzle = cells.get("puzzle")
        lacking = [head for head in _NEEDED if head not in cells]
        if puzzle is None and lacking:
            what = f"without a puzzle this run needs {', '.join(lacking)}"
            self.add(f"line {number}", "", what, "count them, or name the puzzle file that was worked")
        self._check_sense(number, numbers, puzzle)
        if len(self.problems) > before or seconds is None:
            return None
        return LogRow(number, seconds, numbers, puzzle)

    def _check_sense(self, number: int, numbers: Mapping[str, Fraction], puzzle: str | None) -> None:
        """Note numbers that do not go together."""
        moves, minimum = numbers.get("moves"), numbers.get("minimum")
        if moves is not None and minimum is not None and moves < minimum:
            what = f"no crew does it in fewer moves than the minimum, {minimum}"
            self.add(f"line {number}, moves", str(moves), what, "count the moves again, or mend `minimum`")
        if "failed" in numbers and "cuts" in numbers and numbers["failed"] > numbers["cuts"]:
            what = f"more cuts failed than there were, {numbers['cuts']}"
            self.add(f"line {number}, failed", str(numbers["failed"]), what, "count each cut once")
        if puzzle is not None and minimum is not None:
            what = "with a puzzle the minimum is found"
            self.add(f"line {number}, minimum", str(minimum), what, "leave one of the two empty")

    def _number(self, key: str, head: str, cell: str) -> Fraction | None:
        """A count, or a distance."""
        number = _fraction(cell)
        is_whole = head != "distance"
        if number is None or number < 0 or (is_whole and number.denominator != 1):
            what = "this is no count" if is_whole else "this is no distance"
            self.add(key, cell, what, f"write a {'whole number' if is_whole else 'length, such as 214.5'}")
            return None
        return number

    def _seconds(self, key: str, cell: str, has_column: bool) -> Fraction | None:
        """Minutes, also as minutes and seconds."""
        minutes, colon, rest = cell.partition(":")
        whole, seconds = _fraction(minutes), _fraction(rest) if colon else Fraction(0)
        if colon and (whole is None or whole.denominator != 1 or seconds is None or not 0 <= seconds < 60):
            whole = None
        total = None if whole is None or seconds is None else whole * 60 + seconds
        if total is not None and 0 < total <= _MOST_MINUTES * 60:
            return total
        if has_column:
            what = "this is no time of a run" if cell else "the time of this run is missing"
            self.add(key, cell, what, "write real minutes, such as 41, 41.5 or 41:30")
        return None


def _fraction(text: str) -> Fraction | None:
    """A plain decimal number, exact."""
    return Fraction(text) if re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,9})?", text) else None
