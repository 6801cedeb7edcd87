"""The step with which a plan begins that was found from where a walk has come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from switchsolve.goal import Goal
from switchsolve.planning import points_along
from switchsolve.rules import Action, Rules, Standing, String, reverse_string
from switchsolve.solving import Onward
from switchsolve.walking.stops import Stop, brings_nothing, rested

__all__ = ["next_step", "rest_of"]

Listed = tuple[tuple[String, ...], tuple[int, ...]]


def next_step(
    rules: Rules, here: Standing, stops: Sequence[Stop], onward: Onward
) -> tuple[int, int] | None:
    """The number of the stop with which the plan of ``onward`` begins, and how many of its actions lead
    there; ``None`` if it has no step to make.

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
        if _is_new(rules, here, standings, points, (first, last)):
            action = onward.actions[first]
            return _matching(rules, stops, action, standings[last], points[last]), last
        first = last
    return None


def rest_of(rules: Rules, here: Standing, onward: Onward, used: int, moves: int) -> Onward | None:
    """The plan of ``onward`` after ``used`` of its actions, which cost ``moves`` and led to ``here``;
    ``None`` if the law lists something otherwise, so that it is to be looked for anew.
    """
    standings, standing = [], here
    for action in onward.actions[used:]:
        found = (after for one, after, _ in rules.actions(standing) if one == action)
        following = next(found, None)
        if following is None:
            return None
        standing = following
        standings.append(standing)
    met = Goal(rules).met(standing)
    if met is None or onward.moves is None:
        return None
    return replace(
        onward,
        least=max(onward.least - moves, 0),
        moves=onward.moves - moves,
        actions=onward.actions[used:],
        standings=tuple(standings),
        met=met,
    )


def _is_new(
    rules: Rules,
    here: Standing,
    standings: Sequence[Standing],
    points: Sequence[Sequence[int]],
    step: tuple[int, int],
) -> bool:
    """Whether the stretch of a plan from one standing to another, the first of which can be ``here``, leads
    anywhere.
    """
    first, last = step
    begun, ended = (_touched(rules, standings[at], points[at]) for at in step)
    if begun == ended and standings[first].lined == standings[last].lined:
        return False  # nothing has moved
    still = rested(rules, standings[last])
    return still is None or not brings_nothing(here, still)


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
