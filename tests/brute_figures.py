"""The least couplings + cuts, and the least time, of a tiny district, by brute force; for tests only.

The standings and actions are those of :mod:`tests.brute_graph`, one unit of rail at a time; nothing here
knows the law, a zone, or how the solver charges.  Figures are tuples, compared in order.

There are two searches, held to each other by a test: a plain one, for any figures; and the compiled one of
:mod:`tests.brute_kernel`, which knows two weights only, with the others put into its steps.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from itertools import count
from typing import NamedTuple

from switchsolve.puzzle import Puzzle
from tests.brute_force import TooManyStates
from tests.brute_graph import Graph, Step
from tests.brute_search import Search

__all__ = ["Prices", "brute_compiled", "brute_figures"]

_MOVES = 64
"""Weight of the figure against moves, in the compiled search: plans of as many moves are not met."""


class Prices(NamedTuple):
    """What one of each costs; distance: one unit of rail entered."""

    move: int = 0
    coupling: int = 0
    cut: int = 0
    table: int = 0
    distance: int = 0


def _entered(graph: Graph, unit: int) -> int:
    """Length of the cell that a leading end newly enters with a directed unit; 0: it is in it already."""
    cell = graph.rail.cell[unit >> 1]
    first = graph.rail.first[cell]
    length = graph.puzzle.district.cell_length(cell)
    edge = first + length - 1 if unit & 1 else first
    return length if unit >> 1 == edge else 0


# -- plain -----------------------------------------------------------------------------------------------


def brute_figures(puzzle: Puzzle, *rows: Prices, most_states: int | None = None) -> tuple[int, ...] | None:
    """The least figures, one for each of ``rows``, in order; ``None``: no plan exists.

    Raises :class:`tests.brute_force.TooManyStates`.
    """
    graph = Graph(puzzle)
    begun = tuple(row.move * len(puzzle.start.under_way) for row in rows)
    best = dict.fromkeys(graph.starts(), begun)
    ranks = count()
    waiting: list[tuple[tuple[int, ...], int, tuple[int, ...] | None]] = []
    waiting += [(begun, next(ranks), state) for state in best]
    while waiting:
        figures, _, state = heapq.heappop(waiting)
        if state is None:
            return figures
        if best[state] != figures:
            continue
        done = graph.finish(state[1:])
        if done is not None:
            total = tuple(figure + done * row.cut for figure, row in zip(figures, rows, strict=True))
            heapq.heappush(waiting, (total, next(ranks), None))
        for after, prices in _successors(graph, state):
            reached = tuple(
                figure + sum(price * n for price, n in zip(row, prices, strict=True))
                for figure, row in zip(figures, rows, strict=True)
            )
            if after not in best or reached < best[after]:
                best[after] = reached
                heapq.heappush(waiting, (reached, next(ranks), after))
        if most_states is not None and len(best) > most_states:
            raise TooManyStates(f"more than {most_states} standings")
    return None


def _successors(graph: Graph, state: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], Prices]]:
    """Each standing one action away, with how much of each it takes."""
    strings, lining, numbers = graph.strings, state[0], state[1:]
    everything = sum(strings[number].mask for number in numbers)
    for number in numbers:
        if not strings[number].live:
            continue
        others = everything ^ strings[number].mask
        for left, oriented, entering, touching, reverses, moves, cuts in graph.steps(number, lining):
            if others & entering or (reverses and not all(strings[n].clear for n in numbers)):
                continue
            after = [n for n in numbers if n != number] + ([left] if left >= 0 else [])
            moving, coupled = oriented >> 1, False
            met = [n for n in after if strings[n].mask & touching]
            if met:
                whole = graph.couple(oriented, met[0], lining)
                if whole == -2:
                    continue
                if whole >= 0:
                    after.remove(met[0])
                    moving, coupled = whole, True
            distance = _entered(graph, graph.read(oriented)[1][-1])
            yield (lining, *sorted([*after, moving])), Prices(moves, coupled, cuts, 0, distance)
    for after_lining in graph.lines(state):
        yield after_lining, Prices(table=1)


# -- compiled --------------------------------------------------------------------------------------------


class _Priced(Graph):
    """Steps say what they cost, in couplings, in the place of their cuts."""

    def __init__(self, puzzle: Puzzle, prices: Prices) -> None:
        self.prices = prices
        super().__init__(puzzle)

    def _advance(  # type: ignore[override]
        self, left: object, vehicles: object, left_path: object, path: object, following: int, lining: int
    ) -> Step | None:
        step = super()._advance(left, vehicles, left_path, path, following, lining)  # type: ignore[arg-type]
        if step is None:
            return None
        price = self.prices.cut * step[6] + self.prices.distance * _entered(self, following)
        return (*step[:6], price)

    def finish(self, numbers: tuple[int, ...]) -> int | None:
        done = super().finish(numbers)
        return None if done is None else self.prices.cut * done


def brute_compiled(
    puzzle: Puzzle, prices: Prices, *, most_states: int | None = None
) -> tuple[int, int] | None:
    """The least of a figure, then of moves; ``None``: no plan exists.

    A coupling must cost 1, and lining a table nothing: so little the compiled search knows.
    Raises :class:`tests.brute_force.TooManyStates`, :class:`tests.brute_search.Overflow`.
    """
    assert prices.coupling == 1 and prices.table == 0
    cost, stopped = Search(_Priced(puzzle, prices)).cheapest(prices.move * _MOVES + 1, _MOVES, most_states)
    if stopped:
        raise TooManyStates(f"more than {most_states} standings")
    return None if cost is None else divmod(cost, _MOVES)
