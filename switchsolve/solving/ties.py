"""Ties among plans with the fewest moves: couplings + cuts, then distance, where few standings prove them."""

from __future__ import annotations

from dataclasses import replace

from switchsolve.goal import Goal
from switchsolve.objectives import DISTANCE, HANDLING, MOVES
from switchsolve.rules import MeasuredRules, Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.tariffs import Tariff, in_turn

__all__ = ["least_distance", "least_handling"]

_COMPILED = 10
"""So many times as many standings are looked at by the compiled search, in less time."""


def least_handling(
    rules: Rules, goal: Goal, moves: int, standings: int, *, is_compiled: bool
) -> EventResult | None:
    """The plan with the least couplings + cuts, final cuts counted, then distance, among those of ``moves``
    moves (the fewest, locomotives under way at the start not counted), if ``standings`` prove it.

    Its ``figures`` are moves, couplings + cuts, and distance in grid units as the law tells it: an end at the
    edge of a cell may enter for nothing, so no plan has less.  ``is_compiled``: the compiled search is
    loaded.
    """
    if not standings:
        return None
    if is_compiled and is_compilable(rules):
        return _compiled(rules, goal, moves, standings * _COMPILED)
    result = search_events(
        rules,
        goal,
        ties=True,
        most_moves=moves,
        should_stop=lambda expanded: "enough" if expanded > standings else None,
    )
    return result if result.is_exhausted and result.node is not None else None


def _compiled(rules: Rules, goal: Goal, moves: int, standings: int) -> EventResult | None:
    from switchsolve.search.compiled import search_compiled

    charged = in_turn(rules, moves)
    if charged is None:
        return None
    charges, move, coupling = charged
    result = search_compiled(
        rules,
        goal,
        should_stop=lambda expanded: "enough" if expanded > standings else None,
        charges=charges,
        most=(moves + 1) * move - 1,
    )
    if not result.is_exhausted or result.node is None:
        return None
    figure = result.figures[0]
    return replace(result, figures=(figure // move, figure % move // coupling, figure % coupling))


def least_distance(rules: Rules, moves: int, standings: int) -> tuple[Rules, EventResult] | None:
    """The same by the law that tells entries exactly, with that law; ``None``: so many standings do not
    prove it."""
    law = MeasuredRules(rules.p)
    result = search_events(
        law,
        Goal(law),
        tariff=Tariff(law, (MOVES, HANDLING, DISTANCE)),
        most_moves=moves,
        should_stop=lambda expanded: "enough" if expanded > standings else None,
    )
    return (law, result) if result.is_exhausted and result.node is not None else None
