"""Is there a plan with the fewest moves and no more than so many trips around?  All of them are looked at.

A **passing** is told as in :mod:`switchsolve.effort.passing`: a locomotive holds a car at one of its ends
where it turns, and later at the other.  A trip lies between the two.  So the least number of runs of which
every passing has one in between is no more than the trips of the plan: if that is more than wished for each
plan of the law, no plan will do.  Else the one found is made and replayed, and its trips are told.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from switchsolve.counting import Refused
from switchsolve.counting.moves_left import moves_left
from switchsolve.counting.refusing import Meter
from switchsolve.effort import trips_around
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.planning import make_plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.rules import Action, Rules, Standing
from switchsolve.work import AnyCars

__all__ = ["Trips", "fewest_trips"]

_MOST = 30_000
"""Standings that may be looked at."""
_Held = tuple[tuple[int, bool, bool], ...]
"""Of each car that was held: its class, whether in front, and whether since the last trip."""


@dataclass(frozen=True, slots=True)
class Trips:
    """No plan of so few moves has fewer trips than ``least``; one has ``most`` (``None``: none is known)."""

    least: int
    most: int | None


def fewest_trips(
    puzzle: Puzzle, moves: int, wanted: int, stop: Callable[[], str | None] = lambda: None
) -> Trips | None:
    """Whether a plan of ``moves`` moves, the fewest, has ``wanted`` trips or fewer; ``None``: not decided.

    Not asked where there are several locomotives or a table, and given up when ``stop`` gives a reason.
    """
    single = _told_apart(puzzle)
    if single is None:
        return None
    rules = Rules(pack(single))
    try:
        looking = _Looking(rules, moves - len(puzzle.start.under_way), Meter(_MOST, None, stop))
        found = next((one for most in range(wanted + 1) if (one := looking.plan(most)) is not None), None)
    except Refused:
        return None
    if found is None:
        return Trips(wanted + 1, None)
    return Trips(0, _trips(puzzle, rules, found))


def _trips(puzzle: Puzzle, rules: Rules, found: _Node) -> int:
    """The trips of the plan that ends there, once it is made."""
    met = Goal(rules).met(found.standing)
    assert met is not None
    rows = found.row()
    actions = [node.action for node in rows if node.action is not None]
    plan = make_plan(rules, [node.standing for node in rows], actions, met)
    return trips_around(puzzle, replay(puzzle, plan))


def _told_apart(puzzle: Puzzle) -> Puzzle | None:
    """The set-up with each car of a kind of its own, so that like cars are not taken for each other."""
    district = puzzle.district
    is_by_kind = any(isinstance(item, AnyCars) for item in puzzle.work.items) or any(
        district.cell_marks(cell).barred for cell in district.cells()
    )
    if len(puzzle.locomotives) != 1 or district.tables or is_by_kind:
        return None
    cars = tuple(replace(car, kind=car.name) for car in puzzle.cars)
    apart = replace(puzzle, cars=cars, design=None)
    classes = Counter(pack(apart).class_of.values())
    return apart if max(classes.values()) == 1 else None


@dataclass(frozen=True, slots=True)
class _Node:
    """A standing on the way, with what was held at each turn before it."""

    standing: Standing
    held: _Held
    trips: int
    moves: int
    action: Action | None
    before: _Node | None

    def row(self) -> list[_Node]:
        """All of the way to here."""
        nodes, node = [self], self.before
        while node is not None:
            nodes.append(node)
            node = node.before
        return nodes[::-1]


class _Looking:
    """Goes through all plans of so many moves."""

    def __init__(self, rules: Rules, moves: int, meter: Meter) -> None:
        self._rules, self._goal = rules, Goal(rules)
        self._moves, self._wanted, self._meter = moves, 0, meter
        meter.doing = "plans with few trips"
        self._left = moves_left(rules, self._goal, moves, meter)
        self._seen: dict[tuple[object, ...], list[tuple[int, ...]]] = {}
        self._layers: list[deque[_Node]] = []

    def plan(self, wanted: int) -> _Node | None:
        """The end of a plan with so few trips, if there is one.  Raises :class:`Refused`."""
        self._wanted, self._seen = wanted, {}
        self._layers = [deque() for _ in range(self._moves + 1)]
        for start in self._rules.starts():
            self._offer(_Node(start, (), 0, 0, None, None))
        for layer in self._layers:
            while layer:
                node = layer.popleft()
                self._meter()
                if self._goal.met(node.standing) is not None and self._stopped(node).trips <= self._wanted:
                    return node
                for after in self._following(node):
                    self._offer(after)
        return None

    def _following(self, node: _Node) -> Iterator[_Node]:
        turned = self._stopped(node)
        for action, after, cost in self._rules.actions(node.standing):
            begun = turned if cost.moves or node.before is None else node
            yield _Node(after, begun.held, begun.trips, node.moves + cost.moves, action, node)

    def _offer(self, node: _Node) -> None:
        left = self._left.get(node.standing.key)
        if left is None or node.moves + left > self._moves or node.trips > self._wanted:
            return
        known = self._seen.setdefault((node.standing.key, node.held, node.trips), [])
        zone = node.standing.zone
        if any(all(a <= b for a, b in zip(zone, other, strict=True)) for other in known):
            return
        known.append(zone)
        self._layers[node.moves].append(node)

    def _stopped(self, node: _Node) -> _Node:
        """The node with what is held there at rest, and a trip more if one must have been made by now."""
        held = {car: (in_front, is_fresh) for car, in_front, is_fresh in node.held}
        now = dict(self._in_hand(node.standing))
        is_trip = any(car in held and held[car] == (not in_front, True) for car, in_front in now.items())
        if is_trip:
            held = {car: (in_front, False) for car, (in_front, _) in held.items()}
        held |= {car: (in_front, True) for car, in_front in now.items()}
        rows = tuple(sorted((car, *how) for car, how in held.items()))
        return replace(node, held=rows, trips=node.trips + is_trip)

    def _in_hand(self, standing: Standing) -> Iterator[tuple[int, bool]]:
        """Each car coupled to the locomotive, by its class, and whether it is in front."""
        moved, is_loco = self._rules.p.moved, self._rules.is_loco
        for string in standing.strings:
            for at, engine in enumerate(string.tokens):
                if is_loco[engine]:
                    for place, token in enumerate(string.tokens):
                        if place != at:
                            yield moved[token >> 1], (place > at) == (engine & 1 == 0)
