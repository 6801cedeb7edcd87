"""What ``switchsolve design`` says of arrangements, in words."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from switchsolve.design import Wish
from switchsolve.designing import RAIL, TURNOUTS, Arrangement, Found, Fulfilled, Way
from switchsolve.lengths import format_length
from switchsolve.minutes import SpanOfTime, span_text
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["choice_text", "cost_text", "drop_text", "tally_text", "verdict_line", "wish_texts"]


def verdict_line(found: Found) -> str:
    """What was found, and what is proved of it."""
    count = len(found.arrangements)
    if count and found.is_exhaustive:
        if not found.tally.left:
            ends = "s" if count == 1 else ""
            return f"{_arrangements(count)} fulfill{ends} every wish, and no other does (proved)."
        if count == 1:
            return "The cheapest arrangement that fulfills every wish (proved)."
        return f"The {count} cheapest arrangements that fulfill every wish (proved)."
    if found.is_exhaustive:
        return "No arrangement fulfills every wish (proved)."
    why = f"stopped by {found.stopped}" if found.stopped else "some could not be decided"
    told = f"{_arrangements(count)} found" if count else "No arrangement found"
    return (
        f"{told}; not proved that these are the best: {why}." if count else f"{told}, nothing proved: {why}."
    )


def _arrangements(count: int) -> str:
    return counted(count, "arrangement")


def cost_text(one: Arrangement) -> str:
    """Cost, rail and turnouts."""
    rail = format_length(one.rail, one.puzzle)
    return f"Cost {float(one.cost):.1f}: {rail} of rail, {counted(one.turnouts, 'turnout')}"


def choice_text(one: Arrangement) -> str:
    """What is chosen, in one line."""
    return "; ".join(f"{choice}: {option}" for choice, option in one.chosen)


def wish_texts(one: Arrangement) -> list[tuple[Fulfilled, str]]:
    """What each wish came to; several spots as one range."""
    told = []
    for _, group in groupby(one.fulfilled, key=lambda row: row.wish.name):
        rows = list(group)
        told.append((rows[0], _wish_text(rows[0].wish, rows)))
    return told


def _wish_text(wish: Wish, rows: list[Fulfilled]) -> str:
    if wish.about in ("set-ups", "standards"):
        return "yes"
    if wish.about == "plain crew":
        return _minutes(rows[0])
    if wish.about == "work":
        return _moves(rows[0])
    return ", ".join(f"{row.about} in {_moves(row)}" for row in rows)


def _moves(row: Fulfilled) -> str:
    figure = row.answer.figure
    if not figure.is_proved:
        return "moves not proved"
    told = "no way" if figure.most > 1_000_000 else counted(figure.most, "move")
    trips = row.answer.trips
    return told if row.wish.most_trips is None or trips is None else f"{told} with {counted(trips, 'trip')}"


def _minutes(row: Fulfilled) -> str:
    """From the plan of the fewest moves to a plain crew's."""
    crew, best = row.answer.figure.most, row.answer.at_best
    ends = [Fraction(end, 1000) for end in (crew if best is None else best, crew)]
    return f"{span_text(SpanOfTime(min(ends), max(ends)))}, from the fewest moves to a plain crew's"


def drop_text(way: Way) -> str:
    """What to leave out, and what the best arrangement costs then."""
    named = {RAIL: "the limit on rail", TURNOUTS: "the limit on turnouts"}
    names = [named.get(name, f'"{name}"') for name in way.left_out]
    return f"Without {' and '.join(names)} there is one: {cost_text(way.arrangement).lower()}."


def tally_text(puzzle: Puzzle, found: Found) -> Iterator[str]:
    """How the arrangements were counted out."""
    tally = found.tally
    parts = [f"{count:,} {_reason(puzzle, reason)}" for reason, count in tally.ruled_out.most_common()]
    if tally.found:
        parts.append(f"{tally.found:,} shown")
    if tally.undecided:
        parts.append(f"{tally.undecided:,} not decided")
    if tally.left:
        none = ", none of them cheaper" if found.is_exhaustive else ""
        parts.append(f"{tally.left:,} not looked at{none}")
    yield f"{_arrangements(tally.all).replace(str(tally.all), f'{tally.all:,}', 1)}: {'; '.join(parts)}."
    from_file = f", {found.from_file:,} answers taken from the file of rows" if found.from_file else ""
    yield f"{counted(found.questions, 'question')} put to the solver, many about several at once{from_file}."
    if not found.arrangements and found.is_exhaustive and not found.ways:
        yield "Nothing that could be left out alone or together was found to help."
    if found.ways and found.ways_exhaustive and len(found.ways[0].left_out) > 1:
        yield f"Leaving out fewer than {len(found.ways[0].left_out)} does not help (proved)."


def _reason(puzzle: Puzzle, reason: str) -> str:
    design = puzzle.design
    assert design is not None
    if reason == "too much rail" and design.most_rail is not None:
        return f"with more than {format_length(design.most_rail, puzzle)} of rail"
    if reason == "too many turnouts" and design.most_turnouts is not None:
        return f"with more than {counted(design.most_turnouts, 'turnout')}"
    if any(wish.name == reason for wish in design.wishes) or reason == "the client's standards":
        return f'ruled out by "{reason}"'
    return f"({reason})"
