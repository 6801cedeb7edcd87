"""The one car to skip when late: the work of each train solved again without each of its cars."""

from __future__ import annotations

from collections.abc import Iterator

from switchsolve.layout import Layout
from switchsolve.operating.asking import Solver
from switchsolve.operating.records import Played, WorkDone
from switchsolve.operating.results import Skip
from switchsolve.operating.timing import minutes_of
from switchsolve.study.answering import without

__all__ = ["skips_of"]


def skips_of(layout: Layout, played: Played, solver: Solver) -> tuple[Skip, ...]:
    """For each work with a plan the car without which most minutes are saved (then most moves); a car that
    was brought goes home again, one that was to be taken stays.  Works where none saves a move have none."""
    asked = {
        (number, car): solver.ask(without(work.puzzle, (*work.worked.left_over, car)))
        for number, work in enumerate(played.works)
        for car in _cars(work)
    }
    found = []
    for number, work in enumerate(played.works):
        before = minutes_of(work.worked.move_seconds, layout.pace)
        skips = []
        for car in _cars(work):
            worked = asked[number, car]()
            # what is left over beyond this car would be no answer to which one to skip
            if worked.moves is not None and work.worked.moves is not None and not worked.left_over:
                saved = before - minutes_of(worked.move_seconds, layout.pace)
                skips.append(Skip(work.train, work.place, car, work.worked.moves - worked.moves, saved))
        best = max(skips, key=lambda skip: (skip.minutes, skip.moves), default=None)
        if best is not None and best.moves > 0:
            found.append(best)
    return tuple(found)


def _cars(work: WorkDone) -> Iterator[str]:
    if work.worked.is_done:
        yield from (car for car in (*work.brought, *work.to_take) if car not in work.worked.left_over)
