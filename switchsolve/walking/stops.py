"""Where a crew can go next: every way to set off from a standing, and every stop that it can make.

A step of a walk is one string running one way from one stop to the next: up to the first coupling, or to a
stop of the crew's choice.  It may begin with a cut.  It is a row of actions of the law, and at its end
everything rests and is listed with just the rail that it touches; so between two stops something has really
moved, and the law counts what the referee counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import le

from switchsolve.rules import Action, Cost, Rules, Standing

__all__ = ["Stop", "brings_nothing", "rested", "stops_of"]


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop that can be made, or a table that can be lined.

    ``actions``, and the ``standings`` after each, lead there; the last standing is at rest.  ``mover``: the
    string that has moved, in the last standing, and its leading end (-1, -1 for a table).  ``origin``: for
    each string of the last standing the string that it was, or that had moved, in the first; what a cut has
    left counts as one more there, the last.  ``met``: the string of the first standing coupled to, or -1.
    """

    actions: tuple[Action, ...]
    standings: tuple[Standing, ...]
    cost: Cost
    mover: tuple[int, int]
    origin: tuple[int, ...]
    met: int = -1

    @property
    def first(self) -> Action:
        """How it sets off."""
        return self.actions[0]

    @property
    def end(self) -> Standing:
        """Everything at rest."""
        return self.standings[-1]


def rested(rules: Rules, standing: Standing) -> Standing | None:
    """The standing at rest, each string listed with just the cells that it touches; ``None`` if it cannot
    rest like that.
    """
    still = rules.at_rest(standing)
    return None if still is None else rules.touching(still)


def brings_nothing(before: Standing, after: Standing) -> bool:
    """Whether all that ``after`` can mean, ``before`` can mean already."""
    return before.key == after.key and all(map(le, after.zone, before.zone))


def stops_of(rules: Rules, standing: Standing) -> list[Stop]:
    """Every step that the law allows from ``standing``, which is at rest, in a fixed order.

    Left out are those that bring nothing: to go on a little where it is not said where a string stands.
    """
    found: list[Stop] = []
    for slot, string in enumerate(standing.strings):
        if rules.has_loco(string.tokens):
            for side in (1, 0):
                found += _of_string(rules, standing, slot, side)
    return [*found, *_linings(rules, standing)]


def _linings(rules: Rules, standing: Standing) -> Iterator[Stop]:
    """Tables that can be lined."""
    for action, after, cost in rules.actions(standing) if standing.lined else ():
        if action.event == "line":
            still = rested(rules, after)
            if still is not None:
                yield Stop((action,), (still,), cost, (-1, -1), tuple(range(len(after.strings))))


def _of_string(rules: Rules, standing: Standing, slot: int, side: int) -> Iterator[Stop]:
    """The stops of one string that sets off towards one of its ends, nearest first."""
    here = Stop((), (standing,), Cost(0, 0, 0), (slot, side), tuple(range(len(standing.strings))))
    waiting: dict[tuple[int, int], list[Stop]] = {}
    for begun in _next(rules, here):
        waiting.setdefault((begun.first.cut, begun.first.joint), []).append(begun)
    for beginnings in waiting.values():
        yield from (stop for stop in _run(rules, beginnings) if not brings_nothing(standing, stop.end))


def _next(rules: Rules, here: Stop) -> Iterator[Stop]:
    """What can happen next in a run that has come so far."""
    slot, side = here.mover
    standing = here.standings[-1]
    origin = (*here.origin, len(here.origin))
    for action, after, cost, sources in rules.actions_of(standing, slot, side):
        at = next(number for number, source in enumerate(sources) if source[0] == slot)
        yield Stop(
            (*here.actions, action),
            (*here.standings, after) if here.actions else (after,),
            Cost(*(a + b for a, b in zip(here.cost, cost, strict=True))),
            (at, side ^ (sources[at][1] < 0)),
            tuple(origin[source[0]] for source in sources),
            origin[action.other] if action.event == "couple" else -1,
        )


def _run(rules: Rules, reached: list[Stop]) -> Iterator[Stop]:
    """All stops of runs that have begun in these ways."""
    seen: dict[tuple[object, ...], list[Sequence[int]]] = {}
    stops: dict[tuple[object, ...], list[Stop]] = {}
    while reached:
        here = reached.pop(0)
        zones = seen.setdefault((here.end.key, here.mover), [])
        if any(all(map(le, here.end.zone, zone)) for zone in zones):
            continue
        zones.append(here.end.zone)
        _keep(rules, here, stops)
        if here.met < 0:
            reached += [more for more in _next(rules, here) if _goes_on(more.actions[-1])]
    for kept in stops.values():
        yield from kept


def _goes_on(action: Action) -> bool:
    """Whether a run under way does this without stopping."""
    return not action.cut and action.event != "go"


def _keep(rules: Rules, here: Stop, stops: dict[tuple[object, ...], list[Stop]]) -> None:
    """Note a stop, unless one like it holds all of its positions."""
    still = rested(rules, here.end)
    if still is None:
        return
    kept = stops.setdefault((still.key, here.met), [])
    if any(all(map(le, still.zone, stop.end.zone)) for stop in kept):
        return
    kept[:] = [stop for stop in kept if not all(map(le, stop.end.zone, still.zone))]
    kept.append(
        Stop(here.actions, (*here.standings[:-1], still), here.cost, here.mover, here.origin, here.met)
    )
