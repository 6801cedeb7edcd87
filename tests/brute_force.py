"""The true minimum of a tiny district, by brute force over whole-number positions; for tests only.

Written from the physical model and from nothing else: no span, no longest run, no bound.  The rail is
chopped into units of one grid unit.  One action moves one string that holds a live locomotive by one
unit, after an optional cut on the side that trails; it costs one move for each locomotive in it whose
direction changes, or that begins its first move.  The cheapest way to a standing at which all the work is
done is the answer.

What is brought together couples at once, except at a do-not-touch car and at the front of a rear-only
locomotive, so strings that are not coupled keep a gap of one unit or more.  A contact that a limit
forbids is not made.

The search is there twice: plain, in this file, and compiled; a test holds them to each other.
"""

from __future__ import annotations

import heapq
from collections import defaultdict

from switchsolve.puzzle import Puzzle
from tests.brute_graph import Graph
from tests.brute_search import HANDLINGS, Search

__all__ = ["TooManyStates", "brute_lexicographic", "brute_minimum", "can_start"]


class TooManyStates(Exception):
    """More standings than ``most_states`` would have to be looked at."""


def brute_minimum(puzzle: Puzzle, *, most_states: int | None = None, plain: bool = False) -> int | None:
    """The least number of moves, or ``None`` if no plan exists.

    ``plain``: by the plain search.  Raises :class:`TooManyStates` when more than ``most_states``
    standings have been reached, and :class:`tests.brute_search.Overflow` for districts of more than 62
    units of rail.
    """
    return _cheapest(Graph(puzzle), 1, 0, most_states, plain)


def brute_lexicographic(
    puzzle: Puzzle, *, most_states: int | None = None, plain: bool = False
) -> tuple[int, int] | None:
    """The least moves, and the least couplings + cuts among plans of so many moves; ``None``: no plan.

    Raises as :func:`brute_minimum`.
    """
    cost = _cheapest(Graph(puzzle), HANDLINGS, 1, most_states, plain)
    return None if cost is None else divmod(cost, HANDLINGS)


def can_start(puzzle: Puzzle) -> bool:
    """Whether there is any standing that the start allows."""
    return any(True for _ in Graph(puzzle).starts())


def _cheapest(graph: Graph, move: int, handling: int, most_states: int | None, plain: bool) -> int | None:
    """Least cost of a plan, a move costing ``move``, a coupling or cut ``handling``."""
    if plain:
        return _plain_cheapest(graph, move, handling, most_states)
    cost, stopped = Search(graph).cheapest(move, handling, most_states)
    if stopped:
        raise TooManyStates(f"more than {most_states} standings")
    return cost


def _plain_cheapest(graph: Graph, move: int, handling: int, most_states: int | None) -> int | None:
    """Least cost of a plan, a move costing ``move``, a coupling or cut ``handling``."""
    under_way = move * len(graph.puzzle.start.under_way)
    best: dict[tuple[int, ...], int] = dict.fromkeys(graph.starts(), under_way)
    waiting = defaultdict(list, {under_way: list(best)})
    costs, least = [under_way], None
    while costs:
        cost = heapq.heappop(costs)
        if least is not None and cost >= least:
            break
        states = waiting.pop(cost)
        while states:
            state = states.pop()
            if best[state] != cost:
                continue
            done = graph.finish(state[1:])
            if done is not None and (least is None or cost + handling * done < least):
                least = cost + handling * done
                if least == cost:
                    return least
            for after, moves, handlings in graph.successors(state):
                reached = cost + move * moves + handling * handlings
                if best.get(after, reached + 1) > reached:
                    best[after] = reached
                    if reached == cost:
                        states.append(after)
                        continue
                    if reached not in waiting:
                        heapq.heappush(costs, reached)
                    waiting[reached].append(after)
            if most_states is not None and len(best) > most_states:
                raise TooManyStates(f"more than {most_states} standings")
    return least
