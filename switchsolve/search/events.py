"""Search by events: uniform-cost search over the law itself, exact for every feature of the model.

A state is a standing with its zone.  A standing whose zone lies within that of an equal standing that costs
no more is dropped.  Costs are compared as (moves, couplings + cuts, distance), or as moves alone.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count

from switchsolve.goal import Goal, Met
from switchsolve.rules import Action, Cost, Rules, Standing

__all__ = ["EventNode", "EventResult", "search_events"]


@dataclass(slots=True)
class EventNode:
    """A reached standing, how it was reached, and at what cost."""

    standing: Standing
    parent: EventNode | None
    action: Action | None
    cost: Cost
    is_dropped: bool = False


@dataclass(slots=True)
class EventResult:
    """``node`` met the work as ``met`` (or ``None``: exhausted, impossible).

    ``lower_bound``: no plan has fewer moves (not counting locomotives under way at the start).
    ``is_exhausted``: the search ran to its end or to a goal, so the answer is proved.
    """

    node: EventNode | None
    met: Met | None
    lower_bound: int
    is_exhausted: bool
    stats: dict[str, int] = field(default_factory=dict)


def _is_within(inner: tuple[int, ...], outer: tuple[int, ...]) -> bool:
    return all(a <= b for a, b in zip(inner, outer, strict=True))


def search_events(
    rules: Rules,
    goal: Goal,
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    ties: bool = False,
    most_moves: int | None = None,
    may_begin: Callable[[Standing, Cost], bool] = lambda standing, cost: True,
) -> EventResult:
    """The cheapest way to meet the work, by moves (``ties``: then by couplings + cuts, then by distance).

    ``most_moves``: plans with more are not looked for (then "exhausted" speaks of the others only).
    ``may_begin``: whether a new move may begin from that standing; a caller that says no somewhere gets a
    plan, not a proof.
    """
    numbers = count()
    heap: list[tuple[Cost, int, EventNode]] = []
    reached: dict[tuple[object, ...], list[EventNode]] = {}
    stats = {"expanded": 0, "generated": 0, "stored": 0}

    def offer(standing: Standing, parent: EventNode | None, action: Action | None, cost: Cost) -> None:
        stats["generated"] += 1
        known = reached.setdefault(standing.key, [])
        for node in known:
            if node.cost <= cost and _is_within(standing.zone, node.standing.zone):
                return
        kept = []
        for node in known:
            if cost <= node.cost and _is_within(node.standing.zone, standing.zone):
                node.is_dropped = True
            else:
                kept.append(node)
        fresh = EventNode(standing, parent, action, cost)
        reached[standing.key] = [*kept, fresh]
        stats["stored"] += 1
        heapq.heappush(heap, (cost, next(numbers), fresh))

    for standing in rules.starts():
        offer(standing, None, None, Cost(0, 0, 0))
    while heap:
        cost, _, node = heapq.heappop(heap)
        if node.is_dropped:
            continue
        met = goal.met(node.standing)
        if met is not None:
            return EventResult(node, met, cost.moves, True, stats)
        stats["expanded"] += 1
        if should_stop(stats["expanded"]) is not None:
            return EventResult(None, None, cost.moves, False, stats)
        begins = may_begin(node.standing, cost)
        for action, standing, step in rules.actions(node.standing):
            if step.moves and (
                not begins or (most_moves is not None and cost.moves + step.moves > most_moves)
            ):
                continue
            if ties:
                total = Cost(
                    cost.moves + step.moves, cost.handling + step.handling, cost.distance + step.distance
                )
            else:
                total = Cost(cost.moves + step.moves, 0, 0)
            offer(standing, node, action, total)
    return EventResult(None, None, 0, True, stats)
