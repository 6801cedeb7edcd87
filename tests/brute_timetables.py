"""Timetables by brute force: every start, every wait and every crew, looked at minute by minute.

Shares no code with :mod:`switchsolve.timetable` but the plain data of a session's work.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, product

from switchsolve.timetable.sessionwork import SessionWork, Step, StepKind, TrainRun

Spans = dict[str, tuple[int, int]]


def shortest(work: SessionWork, most: int) -> int | None:
    """The least length of a timetable that ends by ``most``; ``None``: there is none."""
    best: int | None = None
    choices = [list(_of_train(train, most)) for train in work.trains]
    choices += [
        [{step.name: (start, start + step.minutes)} for start in range(most - step.minutes + 1)]
        for step in work.yard_steps
    ]
    for row in product(*choices):
        spans = {name: span for one in row for name, span in one.items()}
        length = max(end for _, end in spans.values())
        if (best is None or length < best) and _is_kept(work, spans, most):
            best = length
    return best


def _of_train(train: TrainRun, most: int) -> Iterator[Spans]:
    """All ways to run a train: when it starts, how long it waits at each stop or work."""
    may_wait = [train.leaves is None and step.kind in (StepKind.STOP, StepKind.WORK) for step in train.steps]
    starts = range(most) if train.leaves is None else [train.leaves]
    for start in starts:
        for waits in product(*(range(most) if may else [0] for may in may_wait)):
            now, spans = start, {}
            for step, wait in zip(train.steps, waits, strict=True):
                spans[step.name] = now, now + step.minutes + wait
                now += step.minutes + wait
            if now <= most:
                yield spans


def _is_kept(work: SessionWork, spans: Spans, most: int) -> bool:
    return (
        _rooms(work, spans, most)
        and _causes(work, spans)
        and _passing(work, spans)
        and _crews(work, spans)
    )


def _rooms(work: SessionWork, spans: Spans, most: int) -> bool:
    """Links, places and aisles, minute by minute."""
    steps = [step for train in work.trains for step in train.steps]
    for minute in range(most):
        now = [step for step in steps if spans[step.name][0] <= minute < spans[step.name][1]]
        yard = [one for one in work.yard_steps if spans[one.name][0] <= minute < spans[one.name][1]]
        for link, room in work.links.items():
            if sum(step.kind is StepKind.RUN and step.where == link for step in now) > room:
                return False
        places = {step.where for step in now if step.kind is not StepKind.RUN}
        for place in places:
            here = [step for step in now if step.where == place]
            if sum(step.kind is StepKind.WORK for step in here) > 1:
                return False
            if sum(step.kind in (StepKind.STOP, StepKind.PASSING) for step in here) > 1:
                return False
        if len(yard) > 1:
            return False
        for aisle, people in work.aisles.items():
            there = sum(_stands_in(work, step, aisle) for step in now)
            there += len(yard) if work.aisle_of.get(work.yard) == aisle else 0
            if there > people:
                return False
    return True


def _stands_in(work: SessionWork, step: Step, aisle: str) -> bool:
    return step.kind in (StepKind.STOP, StepKind.WORK) and work.aisle_of.get(step.where) == aisle


def _causes(work: SessionWork, spans: Spans) -> bool:
    """The yard's order; made up before it leaves, put away after it came in."""
    names = [step.name for step in work.yard_steps]
    if any(spans[one][1] > spans[other][0] for one, other in pairwise(names)):
        return False
    trains = {train.name: train for train in work.trains}
    for step in work.yard_steps:
        train = trains[step.train]
        start, end = spans[step.name]
        if step.is_make_up and end > spans[train.steps[0].name][0]:
            return False
        if not step.is_make_up and start < spans[train.steps[-1].name][1]:
            return False
    return True


def _passing(work: SessionWork, spans: Spans) -> bool:
    """For all passing trains at once there are starts of the parts of the work that leave the main clear."""
    steps = [step for train in work.trains for step in train.steps]
    for one in steps:
        if one.kind is StepKind.WORK:
            passes = [
                spans[other.name]
                for other in steps
                if other.kind is StepKind.PASSING
                and other.where == one.where
                and spans[other.name][0] < spans[one.name][1]
                and spans[one.name][0] < spans[other.name][1]
            ]
            if passes and not _can_clear(one, spans[one.name], passes):
                return False
    return True


def _can_clear(step: Step, span: tuple[int, int], passes: list[tuple[int, int]]) -> bool:
    ranges = [range(span[0], span[1] - part.minutes + 1) for part in step.pieces]
    for starts in product(*ranges):
        ends = [start + part.minutes for start, part in zip(starts, step.pieces, strict=True)]
        if any(end > later for end, later in zip(ends, starts[1:], strict=False)):
            continue
        gaps = list(zip(ends, starts[1:], step.pieces, strict=False))
        if all(
            any(end + part.clear <= first and last + part.clear <= start for end, start, part in gaps)
            for first, last in passes
        ):
            return True
    return False


def _crews(work: SessionWork, spans: Spans) -> bool:
    """Somebody for each train and each task of the yard, nobody twice in a minute."""
    duties = [
        (spans[train.steps[0].name][0], spans[train.steps[-1].name][1], train.crews) for train in work.trains
    ]
    duties += [(*spans[step.name], work.yard_crews) for step in work.yard_steps]
    for chosen in product(*(crews for *_, crews in duties)):
        busy = [
            (crew, minute)
            for crew, (start, end, _) in zip(chosen, duties, strict=True)
            for minute in range(start, end)
        ]
        if len(busy) == len(set(busy)):
            return True
    return False
