"""How little would do: the fewest yard tracks, the shortest staging, the fewest cars of each train with which
no more cars wait, or with which the sessions at least stay in balance; each by itself, all else as it is.

Played on paper (all work taken as done) with every limit in force.  Between what does and what does not the
step is halved until they lie one step apart, so that both have been played.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from switchsolve.layout import FREIGHT, LOCALS, Layout, StagingPlace
from switchsolve.operating.asking import OnPaper
from switchsolve.operating.balancing import out_of_cars, waiting_rows
from switchsolve.operating.railroad import begin
from switchsolve.operating.results import Least
from switchsolve.operating.running import play
from switchsolve.operating.trends import FEWEST_SESSIONS, grows

__all__ = ["leasts_of"]


@dataclass(frozen=True, slots=True)
class _Knob:
    """One thing to take away from: ``most`` steps can be taken, and how much is left after so many."""

    name: str
    most: int
    left: Callable[[int], int]
    with_less: Callable[[int], Layout]


@dataclass(frozen=True, slots=True)
class _Trial:
    is_kept: bool
    waits: int


def leasts_of(layout: Layout, seed: int, sessions: int) -> tuple[Least, ...]:
    """For each thing the least that does; nothing if balance is not kept on paper as it is, or if there are
    too few sessions to speak of it."""
    if sessions < FEWEST_SESSIONS:
        return ()
    now = _played(layout, seed, sessions)
    return tuple(_least(knob, now, seed, sessions) for knob in _knobs(layout)) if now.is_kept else ()


def _least(knob: _Knob, now: _Trial, seed: int, sessions: int) -> Least:
    """With balance kept, and with no more cars waiting either."""
    trials = {0: now}

    def trial(steps: int) -> _Trial:
        if steps not in trials:
            trials[steps] = _played(knob.with_less(steps), seed, sessions)
        return trials[steps]

    def is_as_good(steps: int) -> bool:
        return trial(steps).is_kept and trial(steps).waits <= now.waits

    free = _most_steps(0, knob.most, is_as_good)
    kept = _most_steps(free, knob.most, lambda steps: trial(steps).is_kept)
    waits = now.waits, trials[kept].waits
    return Least(knob.name, knob.left(0), knob.left(free), knob.left(kept), *waits)


def _most_steps(good: int, most: int, is_good: Callable[[int], bool]) -> int:
    """Steps that do, where one more does not or cannot be taken; ``good`` are known to do."""
    bad = most + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if is_good(middle) else (good, middle)
    return good


def _played(layout: Layout, seed: int, sessions: int) -> _Trial:
    """Whether balance is kept on paper, and how often cars wait."""
    railroad = begin(layout, seed)
    played = [play(railroad, number, OnPaper()) for number in range(1, sessions + 1)]
    lasting = any(one.since for one in out_of_cars(played))
    backlog = any(grows(row) for row in waiting_rows(played).values())
    carried = any(one.sets_by_hand for one in played)
    is_kept = not (lasting or backlog or carried or begin(layout, seed).homeless)
    return _Trial(is_kept, sum(len(one.waited) for one in played))


def _knobs(layout: Layout) -> Iterator[_Knob]:
    yield _yard(layout)
    for place in layout.staging:
        yield _staging(layout, place)
    for train in layout.trains:
        if train.kind in (FREIGHT, *LOCALS) and train.most_cars:
            yield _train(layout, train.name, train.most_cars)


def _yard(layout: Layout) -> _Knob:
    """The shortest tracks are left out first."""
    rail = layout.yard.puzzle.district
    tracks = sorted(layout.yard.tracks, key=lambda name: -rail.track(name).length)

    def with_less(steps: int) -> Layout:
        kept = set(tracks[: len(tracks) - steps])
        own = tuple(name for name in layout.yard.tracks if name in kept)
        return replace(layout, yard=replace(layout.yard, tracks=own))

    return _Knob("yard", len(tracks) - 1, lambda steps: len(tracks) - steps, with_less)


def _staging(layout: Layout, place: StagingPlace) -> _Knob:
    """The longest track that is not kept empty is shortened by the longest car, step by step."""
    step = max(layout.kinds.values())
    rows = [dict(place.tracks)]
    while True:
        free = {name: own for name, own in rows[-1].items() if name not in place.keep_empty}
        longest = max(free, key=lambda name: free[name])
        if free[longest] <= step:
            break
        rows.append({**rows[-1], longest: free[longest] - step})

    def with_less(steps: int) -> Layout:
        shorter = replace(place, tracks=rows[steps])
        staging = tuple(shorter if one is place else one for one in layout.staging)
        return replace(layout, staging=staging)

    return _Knob(place.name, len(rows) - 1, lambda steps: sum(rows[steps].values()), with_less)


def _train(layout: Layout, name: str, most_cars: int) -> _Knob:
    def with_less(steps: int) -> Layout:
        trains = tuple(
            replace(train, most_cars=most_cars - steps) if train.name == name else train
            for train in layout.trains
        )
        return replace(layout, trains=trains)

    return _Knob(name, most_cars - 1, lambda steps: most_cars - steps, with_less)
