"""A question about a train of many cars, asked of a train of few long ones.

What can be done with cars that stay coupled can be done with the cars, and its proof is shorter.  (Not the
other way round: cars can be set out in more trips.)
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from switchsolve.district import District, Limits, Marks
from switchsolve.marking import remarked
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import EndsIn, Free, Item, Train, Work

__all__ = ["as_one", "easier", "has_limits", "in_blocks"]


def as_one(probe: Puzzle) -> Puzzle | None:
    """The probe with the cars of its train made one car; ``None`` where the rules could tell the two apart:
    with idlers, and with limits that bind them; and where there is one car at most.
    """
    return in_blocks(probe, len(_cars(probe)))


def easier(probe: Puzzle) -> Iterator[Puzzle]:
    """The probe in smaller and smaller blocks: all cars as one, or as many as limits allow; then halves, if
    these are quick to ask.
    """
    count = len(_cars(probe))
    most = min([count, *(_size(limits, probe) for limits in _all_limits(probe.district))])
    sizes = [most, min(most, (count + 1) // 2)] if _has_long_runs(probe.district) else [most]
    for size in dict.fromkeys(sizes):
        blocks = in_blocks(probe, size)
        if blocks is not None:
            yield blocks


def in_blocks(probe: Puzzle, size: int) -> Puzzle | None:
    """The probe with every ``size`` cars of its train made one, from the locomotive on; the last has what is
    left.  Limits on the number of cars are taken as if every block were full.

    ``None`` with idlers, if the limits do not let a full block come along, or if nothing becomes shorter.
    """
    if size < 2 or any(isinstance(item, Free) for item in probe.work.items):
        return None
    if any(_size(limits, probe) < size for limits in _all_limits(probe.district)):
        return None
    train, cars = _train(probe), _cars(probe)
    blocks = {cars[at]: cars[at : at + size] for at in range(0, len(cars), size)}
    gone = {name for block in blocks.values() for name in block[1:]}
    if not gone:
        return None
    lengths = {first: sum(probe.vehicles[name].length for name in block) for first, block in blocks.items()}
    short = replace(train, vehicles=tuple(name for name in train.vehicles if name not in gone))
    return replace(
        probe,
        district=_by_blocks(probe.district, size),
        cars=tuple(
            replace(car, length=lengths.get(car.name, car.length))
            for car in probe.cars
            if car.name not in gone
        ),
        start=replace(
            probe.start,
            strings=tuple(short if string is train else string for string in probe.start.strings),
        ),
        work=Work(
            tuple(
                _without(item, gone)
                for item in probe.work.items
                if not (isinstance(item, EndsIn) and item.car in gone)
            )
        ),
    )


def has_limits(district: District) -> bool:
    """Whether the moving string is limited anywhere."""
    return any(True for _ in _all_limits(district))


def _has_long_runs(district: District) -> bool:
    """Whether questions are mostly answered by longest runs: without a table, and with no rail closed."""
    closed = any(district.cell_marks(cell).no_locomotives for cell in district.cells())
    return not closed and not district.tables


def _train(probe: Puzzle) -> StartString:
    engine = probe.locomotives[0].name
    return next(string for string in probe.start.strings if engine in string.vehicles)


def _cars(probe: Puzzle) -> list[str]:
    """The cars of the train, the nearest to the locomotive first."""
    engine = probe.locomotives[0].name
    vehicles = _train(probe).vehicles
    return [name for name in (vehicles if vehicles[0] == engine else vehicles[::-1]) if name != engine]


def _without(item: Item, gone: set[str]) -> Item:
    return replace(item, cars=item.cars - gone) if isinstance(item, Train) else item


def _all_limits(district: District) -> Iterator[Limits]:
    """All limits on the moving string that there are."""
    if district.limits:
        yield district.limits
    for cell in district.cells():
        limits = district.cell_marks(cell).limits
        if limits:
            yield limits


def _size(limits: Limits, probe: Puzzle) -> int:
    """How many cars of the train may come along at once."""
    cars = _cars(probe)
    longest = max((probe.vehicles[name].length for name in cars), default=1)
    allowed = (limits.most_cars, limits.most_shoved, limits.longest and limits.longest // longest)
    return min((one for one in allowed if one is not None), default=len(cars))


def _by_blocks(district: District, size: int) -> District:
    """The district with limits on the number of cars made limits on the number of blocks."""

    def of_blocks(limits: Limits) -> Limits:
        most, shoved = (
            None if limit is None else limit // size for limit in (limits.most_cars, limits.most_shoved)
        )
        return Limits(most, limits.longest, shoved)

    def marked(marks: Marks) -> Marks:
        return replace(marks, limits=of_blocks(marks.limits)) if marks.limits else marks

    return replace(remarked(district, marked), limits=of_blocks(district.limits))
