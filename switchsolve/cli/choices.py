"""The table of ``solve --choices``: plans that trade one figure against another."""

from __future__ import annotations

from rich.table import Table
from rich.text import Text

from switchsolve.cli.minutes import Evening
from switchsolve.cli.screen import Screen
from switchsolve.lengths import format_length
from switchsolve.minutes import span_text
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Choice

__all__ = ["choices_as_json", "print_choices"]

_NOTE = (
    "Each plan is best in what its last column says; with a star, proved: no plan at all has less. "
    "Cars in hand: those in the string at the beginning of each run and those it couples to, added up. "
    "Minutes: real ones, from the plan without a mistake to what a crew makes of the same work."
)


def print_choices(puzzle: Puzzle, table: tuple[Choice, ...], evening: Evening | None) -> None:
    """One row for each plan; ``evening``: the crew beside them."""
    console = Screen()
    rows = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for head in ("moves", "couplings\n+ cuts", "minutes", "cars\nin hand", "distance"):
        rows.add_column(head, justify="right", vertical="top")
    rows.add_column("best in", vertical="top")
    for choice in table:
        counts = choice.replayed.counts
        rows.add_row(
            str(counts.moves),
            f"{counts.couplings} + {counts.cuts}",
            "" if evening is None else span_text(evening.span_for(counts)).removesuffix(" minutes"),
            str(choice.replayed.cars_in_hand),
            format_length(counts.distance, puzzle),
            Text(", ".join(f"{name}*" if name in choice.proved else name for name in choice.best_in)),
        )
    console.print()
    console.print(Text("Other plans for the same work", style="bold"))
    console.print(rows)
    console.print(Text(_NOTE))


def choices_as_json(puzzle: Puzzle, table: tuple[Choice, ...]) -> list[dict[str, object]]:
    """The documented form of the table."""
    return [
        {
            "moves": choice.replayed.counts.moves,
            "couplings": choice.replayed.counts.couplings,
            "cuts": choice.replayed.counts.cuts,
            "seconds": float(choice.seconds),
            "cars_in_hand": choice.replayed.cars_in_hand,
            "distance": choice.replayed.counts.distance / puzzle.grid,
            "best_in": list(choice.best_in),
            "proved": list(choice.proved),
        }
        for choice in table
    ]
