"""Why work is impossible: which length is short, and by how much; or which items clash.

A lengthening is a proved threshold: with it the work can be done, with one grid unit less it cannot.
Longer rail never makes work harder (but for rail closed to locomotives, which is left as it is), so the
threshold is found by halving.
"""

from __future__ import annotations

import time
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations

from switchsolve.district import Track
from switchsolve.lengthening import fitting_lengths, lengthened
from switchsolve.lengths import format_length
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, Item, LocomotiveEnds, Train, Work

__all__ = ["Explanation", "Lengthening", "explain", "smallest_lengthening"]

Tell = Callable[[str], None] | None


@dataclass(frozen=True, slots=True)
class Lengthening:
    """``track`` made ``extra`` grid units longer makes the work possible; one unit less does not (proved)."""

    track: str
    extra: int


@dataclass(frozen=True, slots=True)
class Explanation:
    """What was found.  ``clash``: items that cannot all be true, ``is_smallest``: no smaller set clashes."""

    text: str
    lengthening: Lengthening | None = None
    clash: tuple[Item, ...] = ()
    is_smallest: bool = False


class _Clock:
    """Solves probes until the time is over."""

    def __init__(self, seconds: float, tell: Tell) -> None:
        self._end = time.monotonic() + seconds
        self._tell = tell
        self.undecided = 0

    def is_over(self) -> bool:
        return time.monotonic() >= self._end

    def is_possible(self, puzzle: Puzzle, what: str) -> bool | None:
        """Whether the work can be done; ``None`` if the time ran out first."""
        if self._tell is not None:
            self._tell(f"explaining: {what}")
        left = self._end - time.monotonic()
        if left <= 0:
            self.undecided += 1
            return None
        verdict = solve(puzzle, seconds=left, tie_standings=0).verdict
        if verdict is Verdict.GAVE_UP:
            self.undecided += 1
            return None
        return verdict is not Verdict.IMPOSSIBLE


def explain(puzzle: Puzzle, *, seconds: float = 60, tell: Tell = None) -> Explanation:
    """Why the work of ``puzzle`` (known to be impossible) cannot be done, as far as ``seconds`` allow."""
    clock = _Clock(seconds, tell)
    reach = sum(vehicle.length for vehicle in puzzle.vehicles.values())
    best: Lengthening | None = None
    for track in puzzle.district.tracks:
        found = smallest_lengthening(puzzle, track.name, best.extra if best else reach, clock)
        if found is not None:
            best = found
    longest = format_length(reach, puzzle)
    searched = f"no track made longer by up to {longest} (all vehicles together) helps by itself"
    doubt = " (some tries ran out of time)" if clock.undecided else ""
    if best is not None:
        short = format_length(best.extra, puzzle)
        return Explanation(
            f"{best.track} is {short} short: with that much more the work can be done, with less it cannot"
            f" (proved). No other single track needs less{doubt}.",
            lengthening=best,
        )
    clash, is_smallest = _clash(puzzle, clock)
    if not clash:
        return Explanation(
            f"{searched[0].upper()}{searched[1:]}{doubt}; no clash of items was found in the time."
        )
    names = "; ".join(_item_text(item) for item in clash)
    kind = (
        "A smallest set of items that clash"
        if is_smallest
        else "Items that clash (not proved to be the fewest)"
    )
    return Explanation(
        f"{searched[0].upper()}{searched[1:]}{doubt}. {kind}: {names}.", None, clash, is_smallest
    )


# ---- lengths


def smallest_lengthening(puzzle: Puzzle, name: str, most: int, clock: _Clock) -> Lengthening | None:
    """The least lengthening of one track, up to ``most`` grid units, that makes the work possible."""
    track = puzzle.district.track(name)
    if any(part.marks.no_locomotives or part.marks.barred for part in track.parts):
        return None

    def is_possible(extra: int) -> bool | None:
        return clock.is_possible(lengthened(puzzle, name, extra), f"{name} longer by {extra / puzzle.grid:g}")

    if not is_possible(most):
        return None
    candidates = _candidates(puzzle, track, most)
    low, high = -1, bisect_left(candidates, most)
    candidates = [*candidates[:high], most]
    while high - low > 1:
        middle = (low + high) // 2
        if is_possible(candidates[middle]):
            high = middle
        else:
            low = middle
    bottom, top = (candidates[low] if low >= 0 else 0), candidates[high]
    if top - bottom > 1 and is_possible(top - 1):
        top -= 1
        while top - bottom > 1:
            middle = (bottom + top) // 2
            if is_possible(middle):
                top = middle
            else:
                bottom = middle
    return None if clock.is_over() else Lengthening(name, top)


def _candidates(puzzle: Puzzle, track: Track, most: int) -> list[int]:
    """Lengthenings at which some row of vehicles just begins to fit the track, or it and its neighbours."""
    extras = (length - track.length for length in fitting_lengths(puzzle))
    return sorted(extra for extra in extras if 0 < extra < most)


# ---- clashes


def _demands(puzzle: Puzzle) -> list[Item]:
    """The items, and a hold for each car that has none."""
    items: list[Item] = [item for item in puzzle.work.items if not isinstance(item, Free | DoNotTouch)]
    kinds = {item.kind for item in items if isinstance(item, AnyCars)}
    items += [
        Hold(car.name)
        for car in puzzle.cars
        if puzzle.work.of_car(car.name) is None and car.kind not in kinds
    ]
    return items


def _only(puzzle: Puzzle, kept: tuple[Item, ...]) -> Puzzle:
    """The set-up with the items ``kept`` and everything else free."""
    named = {item.car for item in kept if isinstance(item, EndsIn | Hold)}
    named |= {car for item in kept if isinstance(item, Train) for car in item.cars}
    untouched = [item for item in puzzle.work.items if isinstance(item, DoNotTouch)]
    named |= {item.car for item in untouched}
    kinds = {item.kind for item in kept if isinstance(item, AnyCars)}
    free = [
        Free(car.name)
        for car in puzzle.cars
        if car.name not in named and not (car.kind in kinds and puzzle.work.of_car(car.name) is None)
    ]
    return replace(puzzle, work=Work((*kept, *untouched, *free)))


def _clash(puzzle: Puzzle, clock: _Clock) -> tuple[tuple[Item, ...], bool]:
    items = _demands(puzzle)
    for size in range(1, min(3, len(items)) + 1):
        for kept in combinations(items, size):
            if clock.is_over():
                return _irreducible(puzzle, items, clock), False
            if clock.is_possible(_only(puzzle, kept), f"{size} items alone") is False:
                return kept, clock.undecided == 0
    return _irreducible(puzzle, items, clock), False


def _irreducible(puzzle: Puzzle, items: list[Item], clock: _Clock) -> tuple[Item, ...]:
    kept = list(items)
    for item in items:
        without = [other for other in kept if other is not item]
        if clock.is_possible(_only(puzzle, tuple(without)), "one item fewer") is False:
            kept = without
    return tuple(kept)


def _item_text(item: Item) -> str:
    if isinstance(item, EndsIn):
        return f"spot {item.car} at {' or '.join(str(place) for place in item.places)}"
    if isinstance(item, Hold):
        return f"hold {item.car}"
    if isinstance(item, AnyCars):
        return f"{item.count} of {item.kind} to {item.place}"
    if isinstance(item, Train):
        return f"{item.locomotive} leaves from {item.track} with {', '.join(sorted(item.cars)) or 'no cars'}"
    if isinstance(item, LocomotiveEnds):
        return f"{item.locomotive} ends in {item.track or 'any track'}"
    return str(item)
