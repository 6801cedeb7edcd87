"""What a panel of a plot shows: plain figures and words, no railroad."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Bars", "Heights", "Panel", "Shares", "Spans"]


@dataclass(frozen=True, slots=True)
class Heights:
    """How often each whole number comes, and what that is called."""

    name: str
    counts: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Bars:
    """Bars beside each other, one or two for each whole number; ``marked``: numbers to be told apart;
    ``across``: numbers that the axis goes over in any case, so that panels can be compared.
    """

    series: tuple[Heights, ...]
    marked: frozenset[int] = frozenset()
    across: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Shares:
    """Which share of all is at or under each figure: the low end and the high end of a range.

    ``lines``: shares (0 to 1) at which a line helps to read them, each with its words.
    """

    low: Heights
    high: Heights
    lines: Mapping[float, str]
    unit: int = 1
    """By how much a figure is divided before it is shown (60: seconds as minutes)."""


@dataclass(frozen=True, slots=True)
class Spans:
    """For each whole number a stroke from the least to the most figure, with two marks on it.

    ``values``: number -> (least, lower mark, upper mark, most).
    """

    names: tuple[str, str, str]
    """Of the stroke, the lower and the upper mark."""
    values: Mapping[int, tuple[int, int, int, int]]


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel: its heading, the names of its axes, and what it shows (``None``: only the ``note``)."""

    head: str
    across: str
    up: str
    shown: Bars | Shares | Spans | None
    note: str = ""
