"""The step with which a plan begins that was found from where a walk has come to."""

from __future__ import annotations

from collections.abc import Sequence

from switchsolve.planning import points_along
from switchsolve.rules import Action, Rules, Standing, String, reverse_string
from switchsolve.solving import Onward
from switchsolve.walking.stops import Stop

__all__ = ["next_step"]

Listed = tuple[tuple[String, ...], tuple[int, ...]]


def next_step(rules: Rules, here: Standing, stops: Sequence[Stop], onward: Onward) -> int | None:
    """The number of the stop with which the plan of ``onward`` begins; ``None`` if it has no step to make.

    A plan may list a string with rail that it only comes up to, and then nothing moves: so what is compared
    is where strings really stand on the plan's own positions.
    """
    if onward.met is None or not onward.actions:
        return None
    standings = [here, *onward.standings]
    points = points_along(rules, standings, onward.actions, onward.met.zone)
    first = 0
    while first < len(onward.actions):
        last = _end_of_step(rules, standings, onward.actions, first)
        begun, ended = (_touched(rules, standings[at], points[at]) for at in (first, last))
        if begun != ended or standings[first].lined != standings[last].lined:
            return _matching(rules, stops, onward.actions[first], standings[last], points[last])
        first = last  # nothing has moved
    return None


def _end_of_step(
    rules: Rules, standings: Sequence[Standing], actions: Sequence[Action], first: int
) -> int:
    """The number of the standing at which a step that begins with action number ``first`` ends."""
    at = first
    mover = actions[first].string, actions[first].side
    while True:
        action = actions[at]
        at += 1
        if action.event in ("line", "couple") or at == len(actions):
            return at
        _, sources = rules.ordered(rules.trace(standings[at - 1], action))
        slot = next(number for number, source in enumerate(sources) if source[0] == mover[0])
        mover = slot, mover[1] ^ (sources[slot][1] < 0)
        following = actions[at]
        if following.cut or following.event == "line" or (following.string, following.side) != mover:
            return at


def _matching(
    rules: Rules, stops: Sequence[Stop], action: Action, standing: Standing, point: Sequence[int]
) -> int:
    """The stop that begins like ``action`` and can end on ``point`` of ``standing``.

    Raises ``AssertionError`` if there is none (a defect).
    """
    wanted = _touched(rules, standing, point)
    for number, stop in enumerate(stops):
        if stop.end.last != standing.last or stop.end.lined != standing.lined:
            continue
        first = stop.first
        if bool(first.cut) != bool(action.cut) or (first.event == "line") != (action.event == "line"):
            continue
        if _listed(rules, [(string, None) for string in stop.end.strings]) == wanted[0]:
            return number
    raise AssertionError("the plan begins with a step that cannot be chosen: a defect")


def _touched(rules: Rules, standing: Standing, point: Sequence[int]) -> Listed:
    """The strings on just the cells that they touch, in any one order, and where they stand."""
    pairs = [(string, x) for string, x in zip(standing.strings, point, strict=True)]
    return _listed(rules, pairs), tuple(point)


def _listed(rules: Rules, strings: Sequence[tuple[String, int | None]]) -> tuple[String, ...]:
    found = []
    for string, x in strings:
        ways = string.ways if x is None else _under(rules, string, x)
        one = String(ways, string.tokens)
        found.append(min(one, reverse_string(one, rules.is_loco)))
    return tuple(sorted(found))


def _under(rules: Rules, string: String, x: int) -> tuple[int, ...]:
    """The ways under a string that stands at ``x``."""
    begin, touched, end = 0, [], x + rules.length(string.tokens)
    for way in string.ways:
        after = begin + rules.lengths[way >> 1]
        if max(begin, x) < min(after, end):
            touched.append(way)
        begin = after
    return tuple(touched)
