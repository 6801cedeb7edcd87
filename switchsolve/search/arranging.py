"""Cars where they are wanted: for every track which of them, in which order, over which of its cells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from itertools import combinations_with_replacement
from math import prod

from switchsolve.packing import CarClass, PackedPuzzle
from switchsolve.rules import Rules, String
from switchsolve.search.lying import Group, Wanted, fits
from switchsolve.work import Place

__all__ = ["TooManyEndings", "arrangements", "car_counts", "orders", "shares"]


class TooManyEndings(Exception):
    """There are more goal standings than the caller wants to see."""


def arrangements(
    rules: Rules, most: int, counts: Counter[int], look: Callable[[], None]
) -> Iterator[tuple[Group, ...]]:
    """All ways to have every car that does not leave with the train where it is wanted."""
    seen = 0
    for by_track in shares(rules, counts):
        look()
        per_track: list[list[tuple[Group, ...]]] = []
        for track, cars in sorted(by_track.items()):
            ways = []
            for way in _on_track(rules, track, cars, look):
                ways.append(way)
                if len(ways) > most:
                    break  # too many, unless another track has none
            per_track.append(ways)
            if not ways:
                break
        if all(per_track):
            if prod(map(len, per_track)) + seen > most:
                raise TooManyEndings
            for groups in _product(per_track):
                seen += 1
                yield groups


def _product(options: list[list[tuple[Group, ...]]]) -> Iterator[tuple[Group, ...]]:
    if not options:
        yield ()
        return
    for first in options[0]:
        for rest in _product(options[1:]):
            yield (*first, *rest)


def shares(rules: Rules, counts: Counter[int]) -> Iterator[dict[str, Counter[Wanted]]]:
    """Which cars end on which track, class by class; no track has more than it has room for."""
    p = rules.p
    room = {name: sum(rules.lengths[cell] for cell in cells) for name, cells in p.cells_of_track.items()}
    rails = sorted({*(t.name for t in p.puzzle.district.tracks), *(t.name for t in p.puzzle.district.tables)})

    all_there = car_counts(p)
    spare = [0] * len(p.any_cars)
    for number, what in enumerate(p.classes):
        if what.any_of >= 0:
            spare[what.any_of] += all_there[number] - counts[number]

    def choose(classes: list[int], left: list[int]) -> Iterator[list[tuple[int, Place]]]:
        if not classes:
            # a car left out may be one of those that would have been chosen
            if all(few <= most for few, most in zip(left, spare, strict=True)):
                yield []
            return
        number, rest = classes[0], classes[1:]
        what, count = p.classes[number], counts[classes[0]]
        for places, taken in _places(p, what, count, rails):
            taking = {place.track: 0 for place in places}
            for place in places:
                taking[place.track] += p.token_lengths[2 * number]
            if any(room.get(track, 0) < length for track, length in taking.items()):
                continue
            for track, length in taking.items():
                room[track] -= length
            if taken:
                left[what.any_of] -= taken
            if what.any_of < 0 or left[what.any_of] >= 0:
                for more in choose(rest, left):
                    yield [(number, place) for place in places] + more
            if taken:
                left[what.any_of] += taken
            for track, length in taking.items():
                room[track] += length

    standing = sorted(number for number in counts if p.classes[number].train < 0)
    for chosen in choose(standing, [wanted.count for wanted in p.any_cars]):
        by_track: dict[str, Counter[Wanted]] = {}
        for number, place in chosen:
            by_track.setdefault(place.track, Counter())[(2 * number, place.spot)] += 1
        yield by_track


def car_counts(p: PackedPuzzle) -> Counter[int]:
    """How many cars of each class there are."""
    return Counter(number for number in p.class_of.values() if not p.classes[number].is_locomotive)


def _places(
    p: PackedPuzzle, what: CarClass, count: int, rails: list[str]
) -> Iterator[tuple[tuple[Place, ...], int]]:
    """Where ``count`` cars of one class may be, and how many of them fill an any-car item."""
    if what.any_of >= 0:
        there = p.any_cars[what.any_of].place
        for taken in range(min(count, p.any_cars[what.any_of].count) + 1):
            for places in combinations_with_replacement(what.places, count - taken):
                yield (there,) * taken + places, taken
        return
    homes = [Place(rail) for rail in rails] if what.free else list(what.places)
    for where in combinations_with_replacement(homes, count):
        yield where, 0


def _on_track(
    rules: Rules, track: str, cars: Counter[Wanted], look: Callable[[], None]
) -> Iterator[tuple[Group, ...]]:
    """Every order of the cars, over every choice of the track's cells."""
    cells = sorted(rules.p.cells_of_track.get(track, ()))
    clear = set(rules.p.keep_clear_at_end)
    for order in orders(cars):
        look()
        yield from _over_cells(rules, cells, clear, order, 0)


def orders(cars: Counter[Wanted]) -> Iterator[tuple[Wanted, ...]]:
    """Every order of these cars, like cars alike."""
    if not cars:
        yield ()
        return
    for car in sorted(cars, key=lambda one: (one[0], one[1] or "")):
        rest = cars.copy()
        rest[car] -= 1
        rest += Counter()
        for more in orders(rest):
            yield (car, *more)


def _over_cells(
    rules: Rules, cells: list[int], clear: set[int], order: tuple[Wanted, ...], first: int
) -> Iterator[tuple[Group, ...]]:
    if not order:
        yield ()
        return
    for size in range(1, len(order) + 1):
        for i in range(first, len(cells)):
            for j in range(i, len(cells)):
                if cells[j] in clear or (j > i and not _joined(rules, cells[j - 1], cells[j])):
                    break
                group = Group(tuple(2 * cell for cell in cells[i : j + 1]), order[:size])
                if fits(rules, String(group.ways, ()), [(group, n) for n in range(size)], None):
                    for more in _over_cells(rules, cells, clear, order[size:], j + 1):
                        yield (group, *more)


def _joined(rules: Rules, one: int, other: int) -> bool:
    return 2 * other in rules.p.ways_on[2 * one]
