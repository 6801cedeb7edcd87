"""All the facts of one file, and whether its client's standards are met."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.facts.counts import Count, LoopFact, SpotFact, SpurFact, TailFact
from switchsolve.facts.deciding import Prober
from switchsolve.facts.measuring import Measuring
from switchsolve.facts.probes import Bench, Entry, bench, entries
from switchsolve.facts.shape import loops, spurs, tails
from switchsolve.facts.standards import StandardResult, standards_of
from switchsolve.puzzle import Puzzle
from switchsolve.work import Place

__all__ = ["Facts", "Tightest", "examine", "standards_met"]


@dataclass(frozen=True, slots=True)
class Tightest:
    """The number with the least to spare: ``where`` (``spur``, ``tail`` or ``run-around`` and so on) and
    its name, how many cars it is for, the track that has little, and its length to spare, grid units.
    """

    where: str
    name: str
    cars: int
    track: str
    length: int


@dataclass(frozen=True, slots=True)
class Facts:
    """What a district can do.  ``bench`` is ``None`` if there is no car or no locomotive to go by.

    ``spots_asked``: how many spots were looked at; ``spots``: those that no work can reach, or where that is
    not proved.  ``unproved``: questions given up for want of time.
    """

    bench: Bench | None
    entries: tuple[Entry, ...] = ()
    spurs: tuple[SpurFact, ...] = ()
    loops: tuple[LoopFact, ...] = ()
    tails: tuple[TailFact, ...] = ()
    spots_asked: int = 0
    spots: tuple[SpotFact, ...] = ()
    standards: tuple[StandardResult, ...] = ()
    tightest: Tightest | None = None
    unproved: int = 0

    @property
    def meets_standards(self) -> bool:
        """Whether no standard is short (one that could not be decided is not short)."""
        return all(result.is_met is not False for result in self.standards)


def examine(
    puzzle: Puzzle,
    *,
    seconds: float = 30.0,
    seconds_each: float = 2.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Facts:
    """Every fact of ``puzzle`` that ``seconds`` allow to prove, ``seconds_each`` for one question.

    ``stop`` gives a reason to put no more questions, or ``None``; what is open then is not proved.
    """
    found = bench(puzzle)
    if found is None:
        return Facts(None)
    prober = Prober(seconds=seconds, seconds_each=seconds_each, tell=tell, stop=stop)
    ways = entries(puzzle, found.locomotive.name)
    measuring = Measuring(found, ways, prober)
    _measure(puzzle, measuring, with_spare=False)  # the numbers first: the rest if there is time
    spur_facts, loop_facts, tail_facts = _measure(puzzle, measuring, with_spare=True)
    places = [Place(track.name, spot.name) for track in puzzle.district.tracks for spot in track.spots]
    spot_facts = [measuring.spot(place) for place in places]
    return Facts(
        found,
        ways,
        spur_facts,
        loop_facts,
        tail_facts,
        len(places),
        tuple(fact for fact in spot_facts if not fact.is_possible),
        standards_of(puzzle, measuring, loop_facts, tail_facts),
        _tightest(spur_facts, loop_facts, tail_facts),
        prober.unproved,
    )


def standards_met(puzzle: Puzzle, *, seconds: float | None = None) -> bool | None:
    """Whether every rule under ``[standards]`` is met; ``None`` if ``seconds`` did not decide that.

    A rule that needs a car to go by is not met where there is none.
    """
    found = bench(puzzle)
    if found is None:
        return False
    left = 1e9 if seconds is None else seconds
    prober = Prober(seconds=left, seconds_each=left)
    measuring = Measuring(found, entries(puzzle, found.locomotive.name), prober, looks_for_cures=False)
    wanted, district = puzzle.standards, puzzle.district
    rows = [row for row in tails(district) if not found.endless & set(row)]
    results = standards_of(
        puzzle,
        measuring,
        tuple(measuring.loop(loop, with_spare=False) for loop in loops(district))
        if wanted.run_around_passes is not None
        else (),
        tuple(measuring.tail(row, with_spare=False) for row in rows) if wanted.tail_takes is not None else (),
    )
    if any(result.is_met is False for result in results):
        return False
    return None if any(result.is_met is None for result in results) else True


def _measure(
    puzzle: Puzzle, measuring: Measuring, *, with_spare: bool
) -> tuple[tuple[SpurFact, ...], tuple[LoopFact, ...], tuple[TailFact, ...]]:
    district, endless = puzzle.district, measuring.bench.endless
    rows = [row for row in tails(district) if not endless & set(row)]
    return (
        tuple(measuring.spur(track, with_spare=with_spare) for track in spurs(district)),
        tuple(measuring.loop(loop, with_spare=with_spare) for loop in loops(district)),
        tuple(measuring.tail(row, with_spare=with_spare) for row in rows),
    )


def _tightest(
    spur_facts: tuple[SpurFact, ...], loop_facts: tuple[LoopFact, ...], tail_facts: tuple[TailFact, ...]
) -> Tightest | None:
    """The least length to spare of all the numbers."""
    counted: list[tuple[str, str, Count | None]] = [
        *(("spur", fact.track, fact.holds) for fact in spur_facts),
        *((fact.loop.kind, fact.name, fact.passes) for fact in loop_facts),
        *(("tail", fact.track, fact.takes) for fact in tail_facts),
    ]
    found = [
        Tightest(where, name, count.number, count.spare.track, count.spare.length)
        for where, name, count in counted
        if count is not None and count.spare is not None
    ]
    return min(found, key=lambda one: one.length, default=None)
