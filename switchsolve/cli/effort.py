"""Chore or puzzle on the screen and in JSON: the figures of a plan."""

from __future__ import annotations

from switchsolve.effort import Effort, Forced, effort_of
from switchsolve.plan import Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.words import counted

__all__ = ["effort_as_json", "effort_text", "figures_of", "forced_as_json", "forced_text"]


def figures_of(puzzle: Puzzle, plan: Plan) -> Effort:
    """The figures of a plan that the solver made."""
    return effort_of(puzzle, plan, replay(puzzle, plan))


def effort_text(effort: Effort) -> str:
    """The figures in a few sentences."""
    moves = counted(effort.runs, "move")
    trips = counted(effort.trips_around, "trip") if effort.trips_around else "no trip"
    share = f"{effort.light_share:.0%}".replace("%", " %")
    text = (
        f"This plan: {trips} around; {effort.light_runs} of {moves} and {share} of the distance run light; "
        f"{_shuttles(effort)}. "
    )
    if not effort.longest_spell:
        return f"{text}Every move spots, picks up or sets out a car for good."
    return (
        f"{text}Longest spell without a car spotted, picked up or set out for good: "
        f"{counted(effort.longest_spell, 'move')}, from move {effort.spell_begins} on."
    )


def _shuttles(effort: Effort) -> str:
    if not effort.shuttles or effort.busiest is None:
        return "no repeated shuttle"
    one, other = effort.busiest.places
    shuttles = counted(effort.shuttles, "repeated shuttle")
    return f"{shuttles} (most between {one} and {other}, {effort.busiest.runs} in all)"


def forced_text(forced: Forced) -> str:
    """How many moves are forced, or why that is not told."""
    if forced.refused is not None:
        return f"Forced moves are not told: {forced.refused}."
    if not forced.numbers:
        return f"None of the {counted(forced.moves, 'move')} is forced: at each the crew has a choice."
    if len(forced.numbers) == forced.moves:
        return f"All {counted(forced.moves, 'move')} are forced: no plan with so few has a choice."
    numbers = ", ".join(map(str, forced.numbers))
    verb = "is" if len(forced.numbers) == 1 else "are"
    return f"{len(forced.numbers)} of {counted(forced.moves, 'move')} {verb} forced (no choice): {numbers}."


def effort_as_json(puzzle: Puzzle, effort: Effort) -> dict[str, object]:
    """The documented form of the figures."""
    busiest = effort.busiest
    return {
        "trips_around": effort.trips_around,
        "repeated_shuttles": effort.shuttles,
        "busiest_places": list(busiest.places) if busiest else None,
        "busiest_runs": busiest.runs if busiest else None,
        "light_moves": effort.light_runs,
        "light_distance": effort.light_distance / puzzle.grid,
        "light_share": effort.light_share,
        "longest_spell": effort.longest_spell,
        "spell_begins": effort.spell_begins,
    }


def forced_as_json(forced: Forced) -> dict[str, object]:
    """The documented form of forced moves."""
    is_told = forced.refused is None
    return {
        "moves": list(forced.numbers) if is_told else None,
        "not_told": forced.refused,
    }
