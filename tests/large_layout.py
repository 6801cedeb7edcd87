"""The work of a session on a large layout: forty districts, sixty trains; drawn by a seed, nothing solved."""

from __future__ import annotations

import random
from collections.abc import Iterator

from switchsolve.timetable.sessionwork import SessionWork, Step, StepKind, TrainRun, YardStep

__all__ = ["large_work"]

_STATIONS, _DISTRICTS, _FREIGHTS, _MAILS, _CREWS, _AISLES = 10, 40, 14, 6, 14, 12


def large_work(seed: int) -> SessionWork:
    """A main line of ten stations with double track in its middle, four districts at each station, a yard;
    forty locals, fourteen freights, six trains with a fixed time, fourteen crews, a cut for half of the
    locals."""
    chance = random.Random(seed)
    crews = tuple(f"crew {number + 1}" for number in range(_CREWS))
    locals_ = [_local(chance, number, crews) for number in range(_DISTRICTS)]
    freights = [_through(chance, f"freight {number + 1}", crews, None) for number in range(_FREIGHTS)]
    mails = [_through(chance, f"mail {number + 1}", crews, 10 + 12 * number) for number in range(_MAILS)]
    yard = [
        YardStep(f"make up {train.name}", train.name, chance.randrange(2, 5), True, 30)
        for train in locals_[: _DISTRICTS // 2]
    ]
    links = {f"main {number}": 2 if number in (4, 5) else 1 for number in range(_STATIONS - 1)}
    links |= {f"spur {number}": 1 for number in range(_DISTRICTS)}
    aisles = {f"aisle {number}": 2 for number in range(_AISLES)}
    aisle_of = {f"district {number}": f"aisle {number % _AISLES}" for number in range(_DISTRICTS)}
    made = {step.train for step in yard}
    trains = [_with_cut(train) if train.name in made else train for train in locals_]
    return SessionWork(
        crews,
        "yard",
        crews,
        (*trains, *freights, *mails),
        tuple(yard),
        links,
        aisles,
        aisle_of,
        {},
        (200, 0),
    )


def _with_cut(train: TrainRun) -> TrainRun:
    return TrainRun(train.name, train.crews, train.steps, cut_out=30)


def _local(chance: random.Random, number: int, crews: tuple[str, ...]) -> TrainRun:
    """Out over its spur, work, home."""
    name = f"local {number + 1}"
    steps = (
        Step(f"{name}: run 1", StepKind.RUN, f"spur {number}", chance.randrange(1, 4)),
        Step(f"{name}: works", StepKind.WORK, f"district {number}", chance.randrange(8, 30)),
        Step(f"{name}: last run", StepKind.RUN, f"spur {number}", chance.randrange(1, 4)),
    )
    return TrainRun(name, _some(chance, crews), steps)


def _some(chance: random.Random, crews: tuple[str, ...]) -> tuple[str, ...]:
    """Half of the crews or more."""
    return tuple(sorted(chance.sample(crews, chance.randrange(len(crews) // 2, len(crews)))))


def _through(chance: random.Random, name: str, crews: tuple[str, ...], leaves: int | None) -> TrainRun:
    """Over the main line; one with a fixed time eastwards, another one way or the other."""
    order = list(range(_STATIONS - 1))
    if leaves is None and chance.random() < 0.5:
        order.reverse()
    steps = tuple(_runs(name, order, leaves is None))
    return TrainRun(name, _some(chance, crews), steps, leaves)


def _runs(name: str, order: list[int], stops: bool) -> Iterator[Step]:
    for place, link in enumerate(order):
        is_last = place == len(order) - 1
        run = f"{name}: last run" if is_last else f"{name}: run {place + 1}"
        yield Step(run, StepKind.RUN, f"main {link}", 2)
        if stops and place == len(order) // 2:
            yield Step(f"{name}: stop", StepKind.STOP, "yard", 3)
