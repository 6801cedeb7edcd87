"""What a district can do, on the screen: 80 columns wide, the tightest thing last."""

from __future__ import annotations

from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.pictures import print_pictures
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.facts import Facts, examine
from switchsolve.lengths import format_length
from switchsolve.measuring.saying import (
    NOT_PROVED,
    faces_text,
    holds_text,
    spare_text,
    spot_text,
    standard_text,
    takes_text,
    tightest_text,
)
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["print_facts"]


def print_facts(name: str, puzzle: Puzzle, seconds: float, *, ascii_only: bool) -> bool:
    """Print a picture of the file called ``name`` and what its district can do, ``seconds`` at most for the
    proofs; whether it meets its standards.
    """
    console = Screen()
    console.print(Text(f"{name}: {puzzle.title}" if puzzle.title else name, style="bold"))
    print_pictures(puzzle, ascii_only=ascii_only)
    print()
    facts = examine(puzzle, seconds=seconds, tell=Progress(2.0))
    _Facts(console, puzzle, facts).show()
    return facts.meets_standards


class _Facts:
    """Prints the facts of one file, 80 columns wide."""

    def __init__(self, console: Screen, puzzle: Puzzle, facts: Facts) -> None:
        self._console = console
        self._puzzle = puzzle
        self._facts = facts

    def show(self) -> None:
        """Print all there is to say; the tightest thing last."""
        self._notes()
        if self._facts.bench is None:
            self._line("There is no car, or no locomotive, to measure the district by.")
            return
        self._measured_by()
        self._spurs()
        self._loops()
        self._tails()
        self._spots()
        self._standards()
        if self._facts.unproved:
            asked = counted(self._facts.unproved, "question")
            self._line(f"{asked} ran out of time: see “{NOT_PROVED}”.")
        self._tightest()

    def _line(self, text: str, style: str = "") -> None:
        self._console.print(Text(text, style=style))

    def _length(self, length: int) -> str:
        return format_length(length, self._puzzle)

    def _notes(self) -> None:
        """The reader's figures; those that are the same for several places are told once."""
        places: dict[tuple[str, str], list[str]] = {}
        for what, figure in self._puzzle.notes.items():
            place, comma, rest = what.rpartition(", ")
            places.setdefault((rest if comma else "", figure), []).append(place if comma else what)
        for (rest, figure), names in places.items():
            what = ", ".join([*names, rest] if rest else names)
            self._console.print(Text(fill(f"{what}: {figure}", 78, subsequent_indent="  ")))

    # ---- by what it is measured

    def _measured_by(self) -> None:
        bench, ways = self._facts.bench, self._facts.entries
        assert bench is not None
        car = f"{bench.kind} ({self._length(bench.car_length)})"
        engine = f"{bench.locomotive.name} ({self._length(bench.locomotive.length)})"
        self._line(f"Measured with {engine} and cars like {car}, allowance included.")
        if not ways:
            self._line("There is no entrance, and no track that the locomotive starts from.")
        elif not ways[0].is_entrance:
            self._line(f"There is no entrance: trains come from {ways[0].track}, where it starts.")

    # ---- tables

    def _table(self, *heads: str) -> Table:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        for number, head in enumerate(heads):
            table.add_column(head, overflow="fold", ratio=None if number else 1)
        return table

    def _spurs(self) -> None:
        if not self._facts.spurs:
            return
        table = self._table(
            "spur", *(f"from {way.track}" for way in self._facts.entries), "holds", "to spare"
        )
        for fact in self._facts.spurs:
            ways = [faces_text(answer) for _, answer in fact.reached]
            spare = spare_text(self._puzzle, fact.holds, fact.track)
            table.add_row(Text(fact.track), *ways, holds_text(fact.holds), spare)
        self._print(table)

    def _loops(self) -> None:
        if not self._facts.loops:
            return
        table = self._table("run-around", "passes", "to spare")
        for fact in self._facts.loops:
            name = fact.name if fact.loop.kind == "run-around" else f"{fact.name} ({fact.loop.kind})"
            passes = holds_text(fact.passes, f" in {counted(fact.moves, 'move')}" if fact.moves else "")
            table.add_row(Text(name), passes, spare_text(self._puzzle, fact.passes, ""))
        self._print(table)

    def _tails(self) -> None:
        if not self._facts.tails:
            return
        table = self._table("tail", "takes", "to spare")
        for fact in self._facts.tails:
            spare = spare_text(self._puzzle, fact.takes, fact.track)
            table.add_row(Text(fact.track), takes_text(fact.takes), spare)
        self._print(table)

    def _print(self, table: Table) -> None:
        self._console.print()
        self._console.print(table)

    # ---- lines

    def _spots(self) -> None:
        if not self._facts.spots_asked:
            return
        self._console.print()
        if not self._facts.spots:
            self._line(f"Every spot can be reached ({self._facts.spots_asked}).")
        for fact in self._facts.spots:
            self._line(spot_text(self._puzzle, fact))

    def _standards(self) -> None:
        if not self._facts.standards:
            return
        self._console.print()
        self._line("standards", style="bold")
        for result in self._facts.standards:
            self._line(f"  {result.rule}: {standard_text(self._puzzle, result)}")

    def _tightest(self) -> None:
        tightest = self._facts.tightest
        self._console.print()
        if tightest is None:
            why = "too little was proved" if self._facts.unproved else "no number hangs on one track"
            self._line(f"The tightest thing here is not known: {why}.")
            return
        self._line(f"The tightest thing here is {tightest_text(self._puzzle, tightest)}.")
