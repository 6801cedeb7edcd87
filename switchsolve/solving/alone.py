"""One locomotive does all the work, and the others stand as cars: where several could share it, a plan that
is found soon.

It is a plan, and seldom a shortest one.  What a locomotive that stands is shoved about counts, too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise

from switchsolve.plan import Placed, Plan
from switchsolve.puzzle import Puzzle, Start
from switchsolve.referee import replay
from switchsolve.vehicles import Car
from switchsolve.work import EndsIn, Free, Item, LocomotiveEnds, Place, Train, Work

__all__ = ["alone", "of_all"]


def alone(puzzle: Puzzle) -> Iterator[Puzzle]:
    """For each locomotive that can have all the work, the set-up with the others as dead ones among the cars.

    None where a train is to leave with one that would be dead, or a front must not couple.
    """
    if any(engine.rear_only for engine in puzzle.locomotives):
        return
    leaving = {item.locomotive for item in puzzle.work.items if isinstance(item, Train)}
    for engine in puzzle.locomotives:
        if leaving <= {engine.name}:
            yield _without(puzzle, engine.name)


def _without(puzzle: Puzzle, name: str) -> Puzzle:
    """The set-up with all locomotives dead but this one."""
    dead = [engine for engine in puzzle.locomotives if engine.name != name]
    items: list[Item] = [
        item
        for item in puzzle.work.items
        if not (isinstance(item, LocomotiveEnds) and item.locomotive != name)
    ]
    for engine in dead:
        tracks = [
            item.track
            for item in puzzle.work.items
            if isinstance(item, LocomotiveEnds) and item.locomotive == engine.name and item.track
        ]
        items.append(EndsIn(engine.name, (Place(tracks[0]),)) if tracks else Free(engine.name))
    start = puzzle.start
    return replace(
        puzzle,
        cars=(*puzzle.cars, *(Car(engine.name, engine.length, engine.kind, True) for engine in dead)),
        locomotives=tuple(engine for engine in puzzle.locomotives if engine.name == name),
        start=Start(start.strings, _only(start.heads, name), _only(start.under_way, name)),
        work=Work(tuple(items)),
        traffic=None,
        design=None,
        variants=(),
    )


def _only(ends: Mapping[str, str], name: str) -> dict[str, str]:
    return {engine: end for engine, end in ends.items() if engine == name}


def of_all(puzzle: Puzzle, lone: Puzzle, plan: Plan) -> Plan:
    """The plan of ``lone``, one of :func:`alone`, as one of ``puzzle``: every locomotive has a nose where it
    begins, and none is coupled to cars that stay where it ends.
    """
    heads = puzzle.start.heads
    dead = set(heads) - set(lone.start.heads)
    cuts = [
        pair
        for string in replay(lone, plan).frames[-1].standing
        for pair in pairwise(string.vehicles)
        if dead.intersection(pair)
    ]
    return replace(
        plan,
        start=tuple(_nosed(string, heads) for string in plan.start),
        final_cuts=(*plan.final_cuts, *cuts),
    )


def _nosed(string: Placed, heads: Mapping[str, str]) -> Placed:
    along = string.ways[0].sign
    noses = {name: along if heads[name] == "to" else -along for name in string.vehicles if name in heads}
    return replace(string, noses=noses)
