"""The facts of a district in words: what spurs hold, tails take and run-arounds pass, and the standards."""

from __future__ import annotations

from switchsolve.facts import StandardResult, Tightest
from switchsolve.facts.counts import Count, SpotFact
from switchsolve.facts.deciding import Answer
from switchsolve.lengths import format_length
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = [
    "NOT_PROVED",
    "faces_text",
    "holds_text",
    "spare_text",
    "spot_text",
    "standard_text",
    "takes_text",
    "tightest_text",
]

NOT_PROVED = "not proved"


def faces_text(answer: Answer) -> str:
    """How a spur is reached: ``facing``, ``trailing``, or in how many moves."""
    if answer.is_possible is None:
        return NOT_PROVED
    if answer.moves is None:
        return "no way in"
    known = {1: "facing", 2: "trailing"}
    return known.get(answer.moves, f"{answer.moves} moves in")


def holds_text(count: Count | None, how: str = "") -> str:
    """How many cars, and under which conditions; ``how`` follows the number."""
    if count is None:
        return NOT_PROVED
    text = counted(count.number, "car") + how
    if count.with_idlers:
        text += f" (and {counted(count.with_idlers, 'idler')})"
    if count.side:
        text += f", {count.side} only"
    return text if count.is_proved else f"{text}; more: {NOT_PROVED}"


def takes_text(count: Count | None) -> str:
    """What a tail takes."""
    if count is None:
        return NOT_PROVED
    text = _engine_text(count.number)
    return text if count.is_proved else f"{text}; more: {NOT_PROVED}"


def _engine_text(cars: int) -> str:
    if cars < 0:
        return "not even the engine"
    return "the engine" + (f" and {counted(cars, 'car')}" if cars else " alone")


def spare_text(puzzle: Puzzle, count: Count | None, where: str) -> str:
    """What can be taken off before the number drops, and off which track if that is not ``where``."""
    if count is None or count.spare is None:
        return "-"
    on = "" if count.spare.track == where else f" on {count.spare.track}"
    return format_length(count.spare.length, puzzle) + on


def spot_text(puzzle: Puzzle, fact: SpotFact) -> str:
    """A spot that no work can reach, or where that is not proved."""
    if fact.is_possible is None:
        return f"{fact.place}: whether work can reach it is {NOT_PROVED}."
    if fact.cure is None:
        return f"{fact.place}: no work can reach it; no single track was found that helps if made longer."
    longer = format_length(fact.cure.length, puzzle)
    return f"{fact.place}: no work can reach it; {fact.cure.track} is {longer} short."


def standard_text(puzzle: Puzzle, result: StandardResult) -> str:
    """Whether a standard is met, or by how much it is short."""
    if result.is_met is None:
        return f"{NOT_PROVED} ({result.found})"
    if result.is_met:
        return f"met ({result.found})"
    if result.cure is None:
        return f"not met ({result.found}); no single track was found that meets it if made longer"
    return f"short by {format_length(result.cure.length, puzzle)} on {result.cure.track} ({result.found})"


def tightest_text(puzzle: Puzzle, tightest: Tightest) -> str:
    """``the tail Lane tail: 0.5 in to spare for the engine and 1 car``."""
    name = tightest.name if tightest.where == "spur" else f"the {tightest.where} {tightest.name}"
    on = "" if tightest.track == tightest.name else f" on {tightest.track}"
    what = _engine_text(tightest.cars) if tightest.where == "tail" else counted(tightest.cars, "car")
    return f"{name}: {format_length(tightest.length, puzzle)} to spare{on} for {what}"
