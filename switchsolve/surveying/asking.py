"""All that a survey of a district asks, one part after the other, each within its own time.

======== ============================================================================================
facts    what spurs hold, tails take and run-arounds pass; the client's standards
spots    the fewest moves to spot a car, and to exchange one, at every spot of the empty district
sessions sessions drawn from the file's traffic, each solved
changes  the file's own work, and the same with one thing changed
lengths  for the tracks that a change showed to be short: how much longer each must be
======== ============================================================================================

What is not proved when a part's time is up is told as not proved; nothing is guessed.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from switchsolve.district import Track
from switchsolve.facts import Facts, examine
from switchsolve.measuring.arrivals import Task
from switchsolve.measuring.length_steps import LengthSteps, length_steps
from switchsolve.measuring.spots import SpotWork, measure_spots
from switchsolve.minutes import SpanOfTime, crew_for, span_of
from switchsolve.nuisances import Kind, Weighing, weigh
from switchsolve.puzzle import Puzzle
from switchsolve.study import Pace, Tally, cores, play

__all__ = ["TASKS", "Stop", "Survey", "Tell", "survey", "too_short"]

Stop = Callable[[], str | None]
"""Asked whether to stop: gives the reason, or ``None``."""
Tell = Callable[[str], None]

TASKS = (Task.SPOT, Task.EXCHANGE)
_QUESTION = 5.0
"""Seconds for one question about a spot."""
_SESSION = 10.0
"""Seconds for one session, and for one question of its plain crew: a part waits for the first one to end."""
_KINDS = frozenset(Kind) - {Kind.SKIP, Kind.ORDER}
"""What is asked is the district; cars to skip and the order of the train are the crew's."""
_RAIL = (Kind.TAIL, Kind.RUN_AROUND, Kind.SPUR, Kind.TRACK)


@dataclass(frozen=True, slots=True)
class Survey:
    """What was found.  ``sessions``: ``None`` if none were asked for, or the file has no traffic.

    ``span``: the range of time of the file's own work, where no sessions are drawn (``None``: not asked, or
    no plan).  ``lengths``: ``None`` if no track was found to be short.  ``stopped``: Ctrl-C ended it.
    """

    puzzle: Puzzle
    facts: Facts
    spots: SpotWork
    sessions: Tally | None
    asked: int
    seed: int
    changes: Weighing
    span: SpanOfTime | None
    lengths: LengthSteps | None
    stopped: str | None


def survey(
    puzzle: Puzzle,
    *,
    sessions: int = 20,
    seed: int = 1,
    workers: int | None = None,
    seconds: float = 30.0,
    tell: Tell | None = None,
    stop: Stop | None = None,
) -> Survey:
    """Ask everything, ``seconds`` at most for each of the five parts.

    ``sessions``: how many to draw; 0, or a file without traffic: none.  ``seed``: of all that is drawn.
    ``workers``: processes for all parts but the facts (``None``: one for each core).
    """
    heard: Stop = stop or (lambda: None)
    drawn = sessions if puzzle.traffic is not None else 0
    facts = examine(puzzle, seconds=seconds, tell=_part(tell, "facts"), stop=heard)
    told, until = _part(tell, "spots"), _until(seconds, heard)
    each, count = min(seconds, _QUESTION), workers or cores()
    spots = measure_spots(puzzle, tasks=TASKS, seconds_each=each, workers=count, tell=told, stop=until)
    told = _part(tell, "sessions")
    tally = _sessions(puzzle, drawn, seed, workers, seconds, told, heard) if drawn else None
    told = _part(tell, "changes")
    changes = weigh(puzzle, kinds=_KINDS, seconds=seconds, workers=count, tell=told, stop=heard)
    span = None if drawn else _span(puzzle, changes, seconds, heard)
    names = too_short(puzzle, changes)
    lengths = None
    if names and heard() is None:
        told = _part(tell, "lengths")
        lengths = length_steps(puzzle, names, seconds=seconds, workers=count, tell=told, stop=heard)
    return Survey(puzzle, facts, spots, tally, drawn, seed, changes, span, lengths, heard())


def _part(tell: Tell | None, name: str) -> Tell | None:
    """Progress that says which part it is of."""
    return None if tell is None else lambda text: tell(f"{name}: {text}")


def _until(seconds: float, stop: Stop) -> Stop:
    """A reason to stop once ``seconds`` from now are over, or ``stop`` has one."""
    end = time.monotonic() + seconds
    return lambda: stop() or (f"the limit of {seconds:g} seconds" if time.monotonic() >= end else None)


def _sessions(
    puzzle: Puzzle,
    number: int,
    seed: int,
    workers: int | None,
    seconds: float,
    tell: Tell | None,
    stop: Stop,
) -> Tally:
    """The sessions that could be played in the time there is."""
    tally, until, pace = Tally(), _until(seconds, stop), Pace()
    if stop() is not None:
        return tally
    played = play(puzzle, number, seed, workers=workers, seconds=min(seconds, _SESSION), tell=tell)
    for one in played:
        tally.add(one.row)
        if tell is not None:
            done = tally.sessions
            tell(f"{done} of {number}, {pace.left(done, number, done)}")
        if until() is not None:
            played.close()
            break
    return tally


def _span(puzzle: Puzzle, changes: Weighing, seconds: float, stop: Stop) -> SpanOfTime | None:
    """The range of time of the file's own work."""
    if changes.now.counts is None:
        return None
    crew = crew_for(puzzle, seconds_each=seconds, stop=stop)
    return span_of(puzzle, changes.now.counts, None if crew is None else crew.counts)


def too_short(puzzle: Puzzle, changes: Weighing) -> list[str]:
    """The tracks that, made longer, save a move for certain, or make impossible work possible."""
    names: dict[str, None] = {}
    for gain in changes.savings:
        if gain.nuisance.kind in _RAIL and gain.nuisance.without is not None:
            names |= dict.fromkeys(_longer(puzzle, gain.nuisance.without.district.tracks))
    return list(names)


def _longer(puzzle: Puzzle, tracks: Iterable[Track]) -> Iterable[str]:
    return (track.name for track in tracks if track.length > puzzle.district.track(track.name).length)
