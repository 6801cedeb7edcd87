"""The client's own rules: met, or short by how much."""

from __future__ import annotations

from dataclasses import dataclass, replace

from switchsolve.district import District, KeepClear, Part, Track
from switchsolve.facts.counts import LoopFact, TailFact
from switchsolve.facts.measuring import Measuring
from switchsolve.facts.probes import Bench
from switchsolve.facts.shape import tails
from switchsolve.facts.sparing import Change, shortage
from switchsolve.puzzle import Puzzle
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, Item, Place, Work

__all__ = ["StandardResult", "clear_at_end_probe", "left_by_the_work", "standards_of"]


@dataclass(frozen=True, slots=True)
class StandardResult:
    """One rule.  ``is_met``: ``None`` if not proved.  ``found``: what there is instead.

    ``cure``: the track that, made so much longer, meets the rule, and is the least of those that do.
    """

    rule: str
    is_met: bool | None
    found: str = ""
    cure: Change | None = None


_FOR_THE_WORK = 10.0
"""The whole work of a file is a longer question than what a track holds."""


def standards_of(
    puzzle: Puzzle,
    measuring: Measuring,
    loop_facts: tuple[LoopFact, ...],
    tail_facts: tuple[TailFact, ...],
) -> tuple[StandardResult, ...]:
    """Every rule under ``[standards]``, in the order of the reference."""
    wanted = puzzle.standards
    results: list[StandardResult] = []
    if wanted.run_around_passes is not None:
        results.append(_run_around(measuring, loop_facts, wanted.run_around_passes))
    if wanted.tail_takes is not None:
        results += _tails(measuring, tail_facts, wanted.tail_takes)
    results += [_holds(measuring, name, cars) for name, cars in wanted.spur_holds.items()]
    results += [_clear(puzzle, measuring, name) for name in wanted.clear_at_end]
    return tuple(results)


# ---- run-arounds


def _run_around(measuring: Measuring, loops: tuple[LoopFact, ...], cars: int) -> StandardResult:
    """One run-around that passes so many is enough."""
    rule = f"run-around passes {_cars(cars)}"
    facts = [fact for fact in loops if fact.loop.kind == "run-around"]
    if not facts:
        return StandardResult(rule, False, "there is no run-around")
    best = max((fact.passes.number for fact in facts if fact.passes is not None), default=0)
    if best >= cars:
        return StandardResult(rule, True, f"it passes {best}")
    if any(fact.passes is None or not fact.passes.is_proved for fact in facts):
        return StandardResult(rule, None, f"{best} proved so far")
    cures = [cure for fact in facts if (cure := _run_around_cure(measuring, fact, cars)) is not None]
    return StandardResult(rule, False, f"it passes {best}", _least(cures))


def _run_around_cure(measuring: Measuring, fact: LoopFact, cars: int) -> Change | None:
    if not measuring.looks_for_cures:
        return None

    def ask(changed: Bench) -> bool | None:
        return measuring.can_pass(changed, cars, fact.moves)

    return shortage(measuring.alone(fact.loop), measuring.deciding(fact.loop), cars, ask)


# ---- tails and spurs


def _tails(measuring: Measuring, facts: tuple[TailFact, ...], cars: int) -> list[StandardResult]:
    """Every tail must take so many; those that do are told in one line."""
    rule = "every tail takes the engine" + (f" and {_cars(cars)}" if cars else "")
    results = []
    for fact in facts:
        if fact.takes is not None and fact.takes.number >= cars:
            continue
        is_met = False if fact.takes is not None and fact.takes.is_proved else None
        found = fact.track if is_met is False else f"{fact.track} is not decided"
        wants_cure = is_met is False and measuring.looks_for_cures
        cure = _tail_cure(measuring, fact.track, cars) if wants_cure else None
        results.append(StandardResult(rule, is_met, found, cure))
    if results:
        return results
    told = f"{len(facts)} of {len(facts)}" if facts else "there is no tail of a given length"
    return [StandardResult(rule, True, told)]


def _tail_cure(measuring: Measuring, track: str, cars: int) -> Change | None:
    rows = tails(measuring.bench.district)
    here, name = measuring.for_tail(next(row for row in rows if " + ".join(row) == track or row[0] == track))
    return shortage(here.bench, [name], cars, lambda bench: here.can_take(bench, name, cars))


def _holds(measuring: Measuring, track: str, cars: int) -> StandardResult:
    rule = f"{track} holds {_cars(cars)}"
    count = measuring.holds(track, with_spare=False)
    if count is None:
        return StandardResult(rule, None, "not decided")
    if count.number >= cars:
        return StandardResult(rule, True, f"it holds {count.number}")
    if not count.is_proved:
        return StandardResult(rule, None, f"{count.number} proved so far")
    if not measuring.looks_for_cures:
        return StandardResult(rule, False, f"it holds {count.number}")
    place = Place(track)
    cure = shortage(measuring.bench, [track], cars, lambda bench: measuring.can_spot(bench, place, cars))
    return StandardResult(rule, False, f"it holds {count.number}", cure)


# ---- clear at the end


def left_by_the_work(puzzle: Puzzle, name: str) -> tuple[str, ...]:
    """Cars that the work itself wants on the track ``name`` at the end, and in no train."""
    starts = {one for string in puzzle.start.strings if string.track == name for one in string.vehicles}
    kinds = {item.kind for item in puzzle.work.items if isinstance(item, AnyCars)}
    left = []
    for car in puzzle.cars:
        item = puzzle.work.of_car(car.name)
        stays = isinstance(item, Hold | DoNotTouch) or (item is None and car.kind not in kinds)
        if stays and car.name in starts:
            left.append(car.name)
        if isinstance(item, EndsIn) and all(place.track == name for place in item.places):
            left.append(car.name)
    return tuple(left)


def clear_at_end_probe(puzzle: Puzzle, name: str) -> Puzzle:
    """The work of the file, with nothing to be left on the track ``name`` at the end.

    What is coupled to a locomotive is not left.  A car that may end in one of several tracks may not end in
    this one; a car that is free may not stay there if it starts there.
    """
    old = puzzle.district
    tracks = tuple(_kept_clear(track) if track.name == name else track for track in old.tracks)
    district = District(tracks, old.junctions, old.tables, old.links, old.limits)
    items = tuple(_elsewhere(puzzle, item, name) for item in puzzle.work.items)
    return replace(puzzle, district=district, work=Work(items))


def _elsewhere(puzzle: Puzzle, item: Item, name: str) -> Item:
    if isinstance(item, EndsIn):
        return replace(item, places=tuple(place for place in item.places if place.track != name))
    if isinstance(item, Free) and _starts_on(puzzle, item.car, name):
        others = tuple(Place(track.name) for track in puzzle.district.tracks if track.name != name)
        return EndsIn(item.car, others)
    return item


def _starts_on(puzzle: Puzzle, vehicle: str, name: str) -> bool:
    return any(string.track == name and vehicle in string.vehicles for string in puzzle.start.strings)


def _is_open_question(puzzle: Puzzle, name: str) -> bool:
    """Whether cars stand there of which the work says only "any of this kind": which ones is not known."""
    items = [item for item in puzzle.work.items if isinstance(item, AnyCars)]
    kinds = {item.kind for item in items}
    candidates = [car for car in puzzle.cars if car.kind in kinds and puzzle.work.of_car(car.name) is None]
    return any(item.place.track == name for item in items) or any(
        _starts_on(puzzle, car.name, name) for car in candidates
    )


def _kept_clear(track: Track) -> Track:
    return replace(track, parts=tuple(_clear_part(part) for part in track.parts))


def _clear_part(part: Part) -> Part:
    if part.marks.keep_clear is KeepClear.ALWAYS:
        return part
    return replace(part, marks=replace(part.marks, keep_clear=KeepClear.AT_END))


def _clear(puzzle: Puzzle, measuring: Measuring, name: str) -> StandardResult:
    rule = f"nothing left on {name} at the end"
    left = left_by_the_work(puzzle, name)
    if left:
        return StandardResult(rule, False, f"the work leaves {', '.join(left)} there")
    if _is_open_question(puzzle, name):
        return StandardResult(rule, None, "which cars stay is not known")
    probe = clear_at_end_probe(puzzle, name)
    prober = measuring.prober
    answer = prober.ask(probe, patience=_FOR_THE_WORK)
    if answer.is_possible is None:
        return StandardResult(rule, None, "not decided")
    if answer.is_possible:
        return StandardResult(rule, True, "the work can be done so")
    if prober.ask(puzzle).is_possible is False:
        return StandardResult(rule, False, "the work cannot be done at all")
    if not measuring.looks_for_cures:
        return StandardResult(rule, False, "the work cannot be done so")
    whole = replace(measuring.bench, puzzle=probe, endless=frozenset())

    def ask(changed: Bench) -> bool | None:
        return prober.ask(changed.puzzle).is_possible

    names = [track.name for track in puzzle.district.tracks]
    return StandardResult(
        rule, False, "the work cannot be done so", shortage(whole, names, len(puzzle.cars), ask)
    )


def _least(changes: list[Change]) -> Change | None:
    return min(changes, key=lambda change: change.length, default=None)


def _cars(number: int) -> str:
    return f"{number} {'car' if number == 1 else 'cars'}"
