"""``switchsolve census``: how many clear standings lie how far from the work done; how many minimum plans."""

from __future__ import annotations

import json
import sys
import time
from argparse import Namespace
from collections.abc import Callable
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import GAVE_UP, IMPOSSIBLE, OK, USAGE
from switchsolve.cli.memory import most_bytes
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.counting import Census, PlanCount, Refused, count_plans, take_census
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps
from switchsolve.words import counted

__all__ = ["run_census"]

_MOST = 50_000
_LOOKS = 20


def run_census(arguments: Namespace) -> int:
    """Count, and print the answer; returns the exit code."""
    most = _MOST if arguments.most is None else arguments.most
    if most < 1:
        print(f"--most {most}: give a number above zero", file=sys.stderr)
        return USAGE
    if arguments.plans and arguments.example:
        print("--example: of the census only, not with --plans", file=sys.stderr)
        return USAGE
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        print(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero", file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    stop = _clock(arguments.limit_seconds)
    try:
        if arguments.plans:
            plans = count_plans(puzzle, most=_LOOKS * most, tell=Progress(), stop=stop)
            return _tell_plans(puzzle, plans, arguments)
        census = take_census(
            puzzle, most=most, tell=Progress(), stop=stop, most_bytes=most_bytes(None)
        )
    except Refused as why:
        return _tell_refusal(puzzle, why, arguments)
    if arguments.example:
        return _tell_example(census)
    if arguments.json:
        _print_json(puzzle, census=census)
    else:
        _print(puzzle, census)
    return OK


def _clock(seconds: float | None) -> Callable[[], str | None]:
    """What gives a reason once ``seconds`` have passed."""
    end = None if seconds is None else time.monotonic() + seconds
    return lambda: f"the limit of {seconds:g} seconds" if end is not None and time.monotonic() > end else None


def _print_json(
    puzzle: Puzzle,
    *,
    census: Census | None = None,
    plans: PlanCount | None = None,
    refused: str | None = None,
) -> None:
    """The documented, stable form of an answer."""
    answer: dict[str, object] = {
        "title": puzzle.title,
        "refused": refused,
        "clear_standings": census.standings if census else None,
        "at_distance": list(census.at) if census else None,
        "farthest": census.farthest if census else None,
        "never": census.never if census else None,
        "example": dumps(census.example) if census and census.example else None,
        "method": census.method if census else None,
        "moves": plans.moves if plans else None,
        "plans": plans.plans if plans else None,
    }
    print(json.dumps(answer, indent=2))


def _tell_refusal(puzzle: Puzzle, why: Refused, arguments: Namespace) -> int:
    if arguments.json:
        _print_json(puzzle, refused=str(why))
    else:
        print(f"Refused: {why}.", file=sys.stderr if arguments.example else sys.stdout)
    return GAVE_UP


def _tell_example(census: Census) -> int:
    if census.example is None:
        why = "the work lets the crew choose among cars"
        if census.farthest is None:
            why = "from no standing can the work be done"
        print(f"Refused: there is no farthest standing to print as a file: {why}.", file=sys.stderr)
        return GAVE_UP
    print(dumps(census.example), end="")
    return OK


def _tell_plans(puzzle: Puzzle, plans: PlanCount, arguments: Namespace) -> int:
    if arguments.json:
        _print_json(puzzle, plans=plans)
    else:
        console = Screen()
        if puzzle.title:
            console.print(Text(puzzle.title, style="bold"))
        console.print(Text(_plans_text(plans), style="bold"))
        if plans.moves is not None:
            console.print(Text(fill(_PLANS, 79)))
    return OK if plans.moves is not None else IMPOSSIBLE


_PLANS = (
    "Plans differ in the directions of their runs, in the cells that the leading end enters, in the strings "
    "coupled to or the parts cut off, or in the order of these. Positions do not count, nor which of several "
    "like cars it is."
)
_STANDINGS = (
    "A clear standing says who stands in which track, in which order, all in the clear, and which way each "
    "locomotive heads. Cars of the same length, kind and items are not told apart. Its distance is the "
    "fewest moves that do the work of this file from there, all locomotives standing, neighbors coupled or "
    "not as suits."
)


def _plans_text(plans: PlanCount) -> str:
    if plans.moves is None:
        return "Impossible: no plan exists (proved)."
    what = "minimum plan" if plans.plans == 1 else "different minimum plans"
    return f"{plans.plans:,} {what} of {counted(plans.moves, 'move')}."


def _print(puzzle: Puzzle, census: Census) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    console.print(Text(f"{census.standings:,} clear standings.", style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for head in ("moves away", "standings", "share"):
        table.add_column(head, justify="right")
    rows = [(str(distance), count) for distance, count in enumerate(census.at)]
    for head, count in [*rows, ("never", census.never)]:
        share = count / census.standings if census.standings else 0
        table.add_row(head, f"{count:,}", f"{share:.1%}")
    console.print()
    console.print(table)
    console.print()
    console.print(Text(_farthest(census)))
    console.print(Text(fill(_STANDINGS, 79)))


def _farthest(census: Census) -> str:
    if census.farthest is None:
        return "From no standing can the work be done."
    how = " (--example prints one as a puzzle file)" if census.example is not None else ""
    number = census.at[-1]
    are = "standing is" if number == 1 else "standings are"
    return f"The farthest {number:,} {are} {counted(census.farthest, 'move')} away{how}."
