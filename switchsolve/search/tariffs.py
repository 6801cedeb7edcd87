"""What each action of the law adds to the figures of an objective.

A figure is a sum over what is counted (:class:`~switchsolve.objectives.Weights`), so each action has its
charge, and a row of actions costs the sum of theirs.  Nothing is charged below zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from switchsolve.objectives import Weights
from switchsolve.rules import Action, Cost, Rules, Standing

__all__ = ["Charges", "Figures", "Tariff", "by_moves", "charges_of", "in_turn", "plus"]

Figures = tuple[int, ...]
"""Figures, compared in order."""


def plus(figures: Figures, more: Figures, times: int = 1) -> Figures:
    """Figures with ``more`` added so many times."""
    return tuple([one + times * other for one, other in zip(figures, more, strict=True)])


class Tariff:
    """The charges of one row of figures, for one set-up."""

    def __init__(self, rules: Rules, rows: Sequence[Weights]) -> None:
        """Raises ``ValueError`` for a weight below zero: then a longer plan could cost less."""
        if any(weight < 0 for row in rows for weight in row):
            raise ValueError("a weight below zero")
        self._rows = tuple(rows)
        self._classes = rules.p.classes
        self.nothing: Figures = (0,) * len(rows)
        self.per_move: Figures = tuple(row.move for row in rows)
        self.per_cut: Figures = tuple(row.cut for row in rows)
        self.is_even = not any(row.distance or row.dragged for row in rows)
        """Whether a turn costs :attr:`per_move` and nothing more, wherever it is made."""

    def charge(self, standing: Standing, action: Action, cost: Cost, begins: bool) -> Figures:
        """What ``action`` adds, from ``standing``; ``begins``: a run begins with it."""
        counts = (
            cost.moves,
            action.event == "couple",
            action.cut > 0,
            action.event == "line",
            cost.distance,
            self._in_hand(standing, action, begins),
        )
        return tuple(
            [sum([weight * n for weight, n in zip(row, counts, strict=True) if weight]) for row in self._rows]
        )

    def _in_hand(self, standing: Standing, action: Action, begins: bool) -> int:
        """Cars in the string that sets off, and those that it couples to."""
        if action.event == "line":
            return 0
        whole = standing.strings[action.string].tokens
        going = len(whole) if not action.cut else action.cut
        taken: tuple[int, ...] = ()
        if begins:
            taken = whole[len(whole) - going :] if action.side else whole[:going]
        if action.event == "couple":
            # round a loop it may be the part just left
            rest = whole[: len(whole) - going] if action.side else whole[going:]
            met = standing.strings[action.other].tokens if action.other < len(standing.strings) else rest
            taken = (*taken, *met)
        return sum(self._classes[token >> 1].counts_as_car for token in taken)


class Charges(NamedTuple):
    """What each event adds to one figure, a whole number; ``entry`` has one for each cell."""

    move: int
    coupling: int
    cut: int
    line: int
    entry: tuple[int, ...]


_RADIX = 1 << 32
"""A second figure comes below the first by this.  For a plan with less of the first, but so many more
moves that it costs more, a search would have to pass four billion standings that cost less than its answer.
"""
_MOST = 1 << 61


def by_moves(rules: Rules) -> Charges:
    """One for each move, nothing for the rest."""
    return Charges(1, 0, 0, 0, (0,) * len(rules.lengths))


def charges_of(rules: Rules, rows: Sequence[Weights]) -> tuple[Charges, int] | None:
    """The same as one figure, and how many of it make one of the first row's; ``None``: numbers of 64 bits
    have no room for it, or it counts cars in hand.

    With distance only the first row is charged, and entries as the law tells them: an end at the edge of a
    cell may enter for nothing.  So what is found then is a bound, and no more than one.
    """
    first, *more = rows
    if any(row.dragged for row in rows):
        return None
    one = 1
    if more and not first.distance and not more[0].distance:
        one = _RADIX
        first = Weights(*(one * a + b for a, b in zip(first, more[0], strict=True)))
    district = rules.p.puzzle.district
    entry = tuple(first.distance * district.cell_length(cell.cell) for cell in rules.p.cells)
    charges = Charges(first.move, first.coupling, first.cut, first.table, entry)
    # a plan of a thousand events of every kind fits
    return (charges, one) if 1000 * (sum(charges[:4]) + max(entry)) < _MOST else None


def in_turn(rules: Rules, moves: int) -> tuple[Charges, int, int] | None:
    """Moves, then couplings + cuts, then distance as one figure, for plans of at most so many moves: what is
    charged, and how many of it make a move and a coupling; ``None``: numbers of 64 bits have no room for it.

    A coupling comes above distance by a million of the longest cells.  For a plan with fewer couplings, but
    so much more distance that it costs more, a search would have to pass a million standings that cost less.
    """
    district = rules.p.puzzle.district
    entry = tuple(district.cell_length(cell.cell) for cell in rules.p.cells)
    coupling = 1_000_000 * max(entry)
    move = 128 * coupling  # a plan with more couplings is dearer than one move more, and is not looked for
    if (moves + 2) * move >= _MOST:
        return None
    return Charges(move, coupling, coupling, 0, entry), move, coupling
