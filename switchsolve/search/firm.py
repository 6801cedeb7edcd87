"""A plan of the law along a row of coarse or loose standings.

These leave out that cars have to be shoved to where there is room for what comes after
(:mod:`switchsolve.rules.coarse`).  Here the law goes the same way: within each number of moves it enters only
cells that the row has somebody on the move in, and leaves behind only what the row leaves there; and it goes
on first from where it has come farthest along the row.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from switchsolve.goal import Goal
from switchsolve.rules import Cost, LooseRules, Rules, Standing, String
from switchsolve.search.events import EventNode, EventResult, search_events

__all__ = ["firm_plan"]

Tokens = tuple[int, ...]


@dataclass(slots=True)
class _Move:
    """What happens within one number of moves: the cells that a string on the move lies over, and who is left
    behind (as listed, and from the other end).
    """

    cells: set[int] = field(default_factory=set)
    left: set[Tokens] = field(default_factory=set)


def firm_plan(
    rules: Rules, goal: Goal, seen: LooseRules, coarse: EventNode, should_stop: Callable[[int], str | None]
) -> EventResult | None:
    """A plan of the law, of ``rules`` and ``goal``, with as many moves as the row that ends with ``coarse``,
    standings as ``seen`` has them; ``None``: it has none, or was stopped (``should_stop`` is asked twice from
    nothing on).
    """
    row = _row(coarse)
    moves: dict[int, _Move] = {}
    steps: dict[tuple[object, ...], int] = {}
    begins: dict[int, int] = {}
    for number, node in enumerate(row):
        if number:
            move = moves.setdefault(node.cost.moves, _Move())
            _note(rules, move, row[number - 1].standing, node)
        begins.setdefault(node.cost.moves, number)
        steps[(node.cost.moves, *node.standing.place)] = number

    def guide(standing: Standing, cost: Cost) -> int:
        """The farthest along the row first; what is not on it, as where its move began."""
        place = seen.canonical(seen.draft(standing)).place
        return -steps.get((cost.moves, *place), begins.get(cost.moves, 0))

    def may_enter(way: int, number: int) -> bool:
        return number in moves and way >> 1 in moves[number].cells

    def may_leave(part: String, number: int) -> bool:
        return number in moves and _classes(part.tokens) in moves[number].left

    # where it is tight, cars may have to be shoved against others, and are left coupled to them
    for leaves in (may_leave, None):
        result = search_events(
            rules,
            goal,
            ties=True,
            guide=guide,
            most_moves=coarse.cost.moves,
            may_enter=may_enter,
            may_leave=leaves,
            should_stop=should_stop,
        )
        if result.node is not None:
            return result
    return None


def _row(last: EventNode) -> list[EventNode]:
    """The nodes that lead to ``last``, from the start on."""
    row = [last]
    while row[-1].parent is not None:
        row.append(row[-1].parent)
    return row[::-1]


def _note(rules: Rules, move: _Move, before: Standing, node: EventNode) -> None:
    """What the action of ``node``, from ``before``, has on the move, and leaves."""
    action = node.action
    assert action is not None
    if action.event == "line":
        return
    string = before.strings[action.string]
    going = string.tokens
    if action.cut:
        split = len(going) - action.cut if action.side else action.cut
        parts = going[:split], going[split:]
        left, going = parts if action.side else parts[::-1]
        move.left |= {_classes(left), _classes(left[::-1])}
    locomotive = next(token >> 1 for token in going if rules.is_loco[token])
    after = next(one for one in node.standing.strings if locomotive in _classes(one.tokens))
    move.cells |= {way >> 1 for way in (*string.ways, *after.ways)}


def _classes(tokens: Tokens) -> Tokens:
    """Who stands there, whichever way a locomotive is listed."""
    return tuple(token >> 1 for token in tokens)
