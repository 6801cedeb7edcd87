"""Search by events: uniform-cost search over the law itself, exact for every feature of the model.

A state is a standing with its zone.  A standing whose zone lies within that of an equal standing that costs
no more is dropped.  Costs are compared as (moves, couplings + cuts, distance), or as moves alone, or as the
figures of a :class:`~switchsolve.search.tariffs.Tariff`: always in order, and always sums of what each action
adds, none below zero.  So what is cheaper stays cheaper when the same actions follow.

Three savings keep it exact:

* A standing that differs in the directions of ``k`` last motions only, and costs ``k`` moves less, can do all
  that the dearer one can: it turns those locomotives first.  (Not with parts to be kept clear at every
  reversal, for then turning is not always allowed.)  Under a tariff it must cost ``k`` times less what the
  tariff charges for a move, in every figure that comes with it; and the saving is left out where turning can
  cost more than that: where distance counts (it may have to enter a cell anew, see
  :class:`~switchsolve.rules.MeasuredRules`) or cars in hand (they count again).
* With several locomotives, a standing in which one is on the move can do all that one at the same positions
  with everything at rest can: its head may touch what a string at rest must keep a gap to, but need not.
* A string need not turn back whole before its run has met anything, has cut anything off or has passed a
  choice of routes on the way back: turning back undoes the run.  After a mere shift within its cells it need
  not go on whole either: the standing before could do that as well.  It may be cut, and others may move.
  This holds under every tariff.  Say that the run from A led to B and is undone to C.  Without it, C is
  reached from A by part of the run, or by going back at once: fewer moves (one at most instead of two), no
  coupling, no cut, no table more, no cell entered that is not entered on the way to C by B, no car more in
  hand.  So no figure is higher, and moves, which are among the figures, are fewer.

At the end the crew cuts off what does not depart: where cuts count, these are charged before a standing in
which the work is done may be the answer.  Ties are looked at in the order of what they will come to at least
(:meth:`~switchsolve.goal.Goal.handling_left`).
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import count
from operator import le
from typing import Any

from switchsolve.goal import Goal, Met
from switchsolve.rules import Action, Cost, Rules, Standing, String, Wanted
from switchsolve.search.tariffs import Figures, Tariff, plus

__all__ = ["EventNode", "EventResult", "search_events"]


@dataclass(slots=True)
class EventNode:
    """A reached standing, how it was reached, and at what cost."""

    standing: Standing
    parent: EventNode | None
    action: Action | None
    cost: Cost
    undoes: int = -1
    """The locomotive that would only undo its run by turning back whole now, or -1."""
    is_dropped: bool = False
    figures: Figures = ()
    """What it costs as the search compares it."""


@dataclass(slots=True)
class EventResult:
    """``node`` met the work as ``met`` (or ``None``: exhausted, impossible).

    ``lower_bound``: no plan has fewer moves, or less of the first figure of the tariff (not counting
    locomotives under way at the start).  ``is_exhausted``: the search ran to its end or to a goal, so the
    answer is proved; else ``node``, if there is one, is the best found.
    """

    node: EventNode | None
    met: Met | None
    lower_bound: int
    is_exhausted: bool
    stats: dict[str, int] = field(default_factory=dict)
    reason: str | None = None
    """What stopped it, if that was not the caller."""
    figures: Figures = ()
    """Those of ``node``, final cuts included."""


def _is_within(inner: tuple[int, ...], outer: tuple[int, ...]) -> bool:
    return all(map(le, inner, outer))


def _is_no_worse(one: EventNode, other: EventNode, per_move: Figures, is_bounded: bool) -> bool:
    """Whether ``one``, equal but for zone, directions and who is on the move, can do all that ``other`` can,
    as cheaply (``is_bounded``: and in as few moves).
    """
    if one.standing.moving != other.standing.moving != (-1, -1):
        return False
    mine, turned = one.figures, 0
    if one.standing.last != other.standing.last:
        turned = sum(
            a != b and b != 0 for a, b in zip(one.standing.last, other.standing.last, strict=True)
        )
        mine = plus(mine, per_move, turned)
    if mine > other.figures or (is_bounded and one.cost.moves + turned > other.cost.moves):
        return False
    return _is_within(other.standing.zone, one.standing.zone)


def _undoes(rules: Rules, parent: EventNode, action: Action, standing: Standing, moves: int) -> int:
    """The locomotive whose run up to ``standing`` would only be undone by turning back whole, or -1."""
    if action.cut or action.event not in ("go", "enter", "leave"):
        return -1
    string = parent.standing.strings[action.string]
    runner = max(rules.p.loco_index[token] for token in string.tokens)
    if parent.undoes != runner and not moves:
        return -1
    if action.event == "leave":
        tail = string.ways[1] ^ 1 if action.side else string.ways[-2]
        if len(rules.p.ahead(tail, standing.lined)) > 1:
            return -1
    return runner


def _cell_left(standing: Standing, action: Action) -> int:
    """The cell that the trailing end goes out of."""
    going = standing.strings[action.string]
    if action.cut:
        going = going._replace(
            ways=going.ways[action.joint :] if action.side else going.ways[: action.joint + 1]
        )
    return (going.ways[0] if action.side else going.ways[-1]) >> 1


ALL = frozenset(("go", "enter", "leave", "couple"))
GO = frozenset(("go",))


def _useless(rules: Rules, node: EventNode) -> dict[tuple[int, int], frozenset[str]]:
    """By (string, side) the events that bring nothing new if the whole string does them after ``node``."""
    action = node.action
    if action is None or node.parent is None or action.event not in ("go", "enter", "leave"):
        return {}
    standing = node.standing
    runner = max(rules.p.loco_index[token] for token in node.parent.standing.strings[action.string].tokens)
    if action.cut:
        mine = node.parent.standing.strings[action.string].tokens
        going = mine[-action.cut :] if action.side else mine[: action.cut]
        runner = max(rules.p.loco_index[token] for token in going)
    for slot, string in enumerate(standing.strings):
        for token in string.tokens:
            if rules.p.loco_index[token] == runner:
                on = int((standing.last[runner] > 0) != bool(token & 1))
                if action.event == "go" and not action.cut:
                    return {(slot, 0): ALL, (slot, 1): ALL}
                back = {(slot, 1 - on): ALL} if node.undoes >= 0 else {}
                return {(slot, on): GO, **back}
    raise AssertionError("a locomotive is gone: a defect")


def _from(may: Callable[[Any, int], bool] | None, moves: int) -> Callable[[Any, int], bool] | None:
    """The same, told by how many moves an action adds to ``moves``."""
    return None if may is None else lambda what, more: may(what, moves + more)


def search_events(
    rules: Rules,
    goal: Goal,
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    ties: bool = False,
    tariff: Tariff | None = None,
    most_moves: int | None = None,
    may_begin: Callable[[Standing, Cost], bool] | None = None,
    guide: Callable[[Standing, Cost], int] | None = None,
    may_leave: Callable[[String, int], bool] | None = None,
    may_enter: Callable[[int, int], bool] | None = None,
    may_go_on: Callable[[Standing, int, int], bool] | None = None,
    may_line: Callable[[Action, int], bool] | None = None,
    starts: Iterable[Standing] | None = None,
) -> EventResult:
    """The cheapest way to meet the work, by moves (``ties``: then by couplings + cuts, then by distance), or
    by ``tariff`` (exact in distance if ``rules`` are :class:`~switchsolve.rules.MeasuredRules`).

    ``most_moves``: plans with more are not looked for (then "exhausted" speaks of the others only).
    ``may_begin``: whether a new move may begin from that standing; a caller that says no somewhere gets a
    plan, not a proof.  ``guide``: gives the order in which standings are looked at, by a guess: then what is
    found is a plan too, not a proof, and never "exhausted".  ``may_leave``: whether a part may be cut off and
    left like that, in a run begun after so many moves (for callers who know that nothing else can lead to a
    plan); ``may_enter``: the same for a way to be entered; ``may_go_on``: the same for a standing after the
    moving string has left a cell (its number) for good; ``may_line``: the same for a table to be lined.
    ``starts``: where it begins, if not where the file says.
    """
    numbers = count() if guide is None or may_begin is None else count(0, -1)  # the latest first: straight on
    # an answer comes before a standing of equal figures
    heap: list[tuple[int, Figures, bool, int, EventNode, Met | None]] = []
    reached: dict[tuple[object, ...], list[EventNode]] = {}
    stats = {"expanded": 0, "generated": 0, "stored": 0}
    turns = may_begin is None and not rules.p.keep_clear_always and (tariff is None or tariff.is_even)
    per_move = (1, 0, 0) if tariff is None else tariff.per_move
    per_cut: Figures = (0, int(ties), 0) if tariff is None else tariff.per_cut  # at the end
    is_bounded = most_moves is not None and tariff is not None
    best: tuple[Figures, EventNode, Met] | None = None

    def offer(fresh: EventNode, moves: int) -> None:
        stats["generated"] += 1
        standing = fresh.standing
        key = standing.place if turns else standing.key
        if may_begin is not None:
            key = (fresh.cost.moves, *key)  # what may begin there depends on it
        known = reached.setdefault(key, [])
        for node in known:
            if _is_no_worse(node, fresh, per_move, is_bounded):
                return
        kept = []
        for node in known:
            if _is_no_worse(fresh, node, per_move, is_bounded):
                node.is_dropped = True
            else:
                kept.append(node)
        if fresh.parent is not None and fresh.action is not None:
            fresh.undoes = _undoes(rules, fresh.parent, fresh.action, standing, moves)
        reached[key] = [*kept, fresh]
        stats["stored"] += 1
        likely = guide(standing, fresh.cost) if guide is not None else 0
        least = fresh.figures
        if ties and tariff is None:
            least = plus(least, (0, goal.handling_left(standing), 0))
        heapq.heappush(heap, (likely, least, True, next(numbers), fresh, None))

    for standing in rules.starts() if starts is None else starts:
        begun = Cost(0, 0, 0)
        figures: Figures = begun if tariff is None else tariff.nothing
        offer(EventNode(standing, None, None, begun, figures=figures), 0)
    while heap:
        likely, least, _, number, node, met = heapq.heappop(heap)
        if met is not None:
            return EventResult(node, met, least[0], guide is None, stats, figures=least)
        if node.is_dropped:
            continue
        cost = node.cost
        met = goal.met(node.standing)
        if met is not None:
            total = plus(node.figures, per_cut, len(met.cuts))
            if total == least:
                return EventResult(node, met, total[0], guide is None, stats, figures=total)
            if best is None or total < best[0]:
                best = total, node, met
                heapq.heappush(heap, (likely, total, False, number, node, met))
        stats["expanded"] += 1
        if should_stop(stats["expanded"]) is not None:
            if best is not None:
                return EventResult(best[1], best[2], least[0], False, stats, figures=best[0])
            return EventResult(None, None, least[0], False, stats)
        begins = may_begin is None or may_begin(node.standing, cost)
        spare = _useless(rules, node)
        if may_begin is not None:  # a run may have to turn back where the caller wants it to
            spare = {end: events for end, events in spare.items() if events is GO}
        left = None if most_moves is None else most_moves - cost.moves
        wanted = Wanted(left if begins else 0, _from(may_leave, cost.moves), _from(may_enter, cost.moves))
        for action, standing, step in rules.actions(node.standing, spare, wanted):
            moves = cost.moves + step.moves
            if action.event == "leave" and may_go_on is not None and (
                not may_go_on(standing, _cell_left(node.standing, action), moves)
            ):
                continue
            if action.event == "line" and may_line is not None and not may_line(action, moves):
                continue
            if ties or tariff is not None:
                after = Cost(moves, cost.handling + step.handling, cost.distance + step.distance)
            else:
                after = Cost(moves, 0, 0)
            if tariff is None:
                figures = after
            else:
                begins_run = step.moves > 0 or node.parent is None
                charge = tariff.charge(node.standing, action, step, begins_run)
                figures = plus(node.figures, charge)
            offer(EventNode(standing, node, action, after, figures=figures), step.moves)
    return EventResult(None, None, 0, guide is None, stats)
