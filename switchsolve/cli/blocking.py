"""``switchsolve blocking``: the arriving train in every order, and what an order costs the yard."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from dataclasses import dataclass
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, GAVE_UP, IMPOSSIBLE, OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.errors import FileError, Problem
from switchsolve.ordering import (
    Asked,
    CannotReorder,
    Ordering,
    TrainCars,
    YardCost,
    YardMoves,
    in_every_order,
    train_cars,
    with_train,
    yard_cost,
    yard_moves,
)
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.study import cores
from switchsolve.words import counted
from switchsolve.yard import CannotClassify

__all__ = ["run_blocking"]

_SECONDS_YARD = 60.0
"""For the moves in the yard, of each order shown, if nobody says otherwise."""


@dataclass(frozen=True, slots=True)
class _Shown:
    """An order that is shown, and what it costs the yard."""

    name: str
    asked: Asked
    cost: YardCost
    moves: YardMoves | None


def run_blocking(arguments: Namespace) -> int:
    """Ask for every order of the arriving train; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    yard = load(arguments.yard) if arguments.yard is not None else None
    train = _train(arguments, puzzle, yard)
    with Stop() as stop:
        found = in_every_order(
            puzzle,
            seed=arguments.seed,
            seconds=arguments.limit_seconds,
            workers=arguments.workers or cores(),
            tell=Progress(),
            stop=stop,
        )
        shown = _shown(puzzle, train, found, yard, arguments.limit_seconds or _SECONDS_YARD, stop)
    if arguments.json:
        print(json.dumps(_as_json(puzzle, found, shown), indent=2))
    else:
        _print(puzzle, found, shown, has_yard=yard is not None)
    return _code(found)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if arguments.workers is not None and arguments.workers < 1:
        wrong.append(f"--workers {arguments.workers}: give 1 or more")
    if arguments.seed < 0:
        wrong.append(f"--seed {arguments.seed}: give 0 or more")
    return wrong


def _train(arguments: Namespace, puzzle: Puzzle, yard: Puzzle | None) -> TrainCars:
    """The arriving train; both files are looked at before anything is solved."""
    name = arguments.file
    try:
        train = train_cars(puzzle)
        if yard is not None:
            name = arguments.yard
            with_train(yard, puzzle, train)
    except (CannotReorder, CannotClassify) as why:
        raise FileError([Problem(name, why.key, why.value, why.what, why.cure)]) from None
    return train


def _code(found: Ordering) -> int:
    if not found.workable:
        return IMPOSSIBLE if found.is_proved else GAVE_UP
    return OK if found.is_proved else BEST_FOUND


def _shown(
    puzzle: Puzzle, train: TrainCars, found: Ordering, yard: Puzzle | None, seconds: float, stop: Stop
) -> list[_Shown]:
    """The best, the worst, and that of the file."""
    if not found.workable:
        return []
    rows = [("best", found.workable[0]), ("worst", found.workable[-1])]
    given = [one for one in found.asked if one.cars == found.as_given and one.moves is not None]
    rows += [("as in the file", one) for one in given]
    return [
        _Shown(
            name,
            one,
            yard_cost(train, one.cars),
            None
            if yard is None
            else yard_moves(yard, puzzle, train, one.cars, seconds=seconds, tell=Progress(), stop=stop),
        )
        for name, one in rows
    ]


# ---- the screen


def _print(puzzle: Puzzle, found: Ordering, shown: list[_Shown], *, has_yard: bool) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    scope = _scope(found) if len(found.listed.orders) > 1 else ""
    for style, text in (("bold", _headline(found)), ("", scope)):
        if text:
            console.print(Text(fill(text, 79, break_on_hyphens=False), style=style))
    if shown:
        console.print()
        console.print(_table(shown, has_yard=has_yard))
    console.print()
    console.print(Text(fill(_notes(found, has_yard=has_yard), 79, break_on_hyphens=False)))


def _headline(found: Ordering) -> str:
    """``OXCC 31, THB 12: 19 moves, not 27.``"""
    if not found.workable:
        return "Impossible in every order asked (proved)." if found.is_proved else "No order has a plan yet."
    best, worst = found.workable[0], found.workable[-1]
    names, moves = ", ".join(best.cars), counted(best.moves or 0, "move")
    if len(found.listed.orders) == 1:
        return f"The train has one order only: {moves}."
    if best.moves == worst.moves and not found.impossible:
        return f"The order makes no difference: {moves} in each."
    doubt = "" if found.best_is_proved else " (the best found)"
    if best.moves == worst.moves:
        return f"{names}: {moves}{doubt}; some orders are impossible."
    return f"{names}: {moves}{doubt}, not {worst.moves}."


def _scope(found: Ordering) -> str:
    """Which orders were asked, and what they come to."""
    number, how = len(found.listed.orders), found.listed.how
    what = {
        "all": f"All {number} orders of the arriving train",
        "blocks": f"Its blocks (cars with the same work) in all {number} orders",
        "drawn": f"{number} orders, drawn out of {found.listed.of:,}",
    }[how]
    text = f"{what}, like cars counted once"
    if found.average is not None:
        text += f": {float(found.average):.1f} moves on the average"
        if found.impossible:
            text += f" of those that are possible; {found.impossible} impossible (proved)"
    undecided = sum(one.verdict in (Verdict.BEST_FOUND, Verdict.GAVE_UP) for one in found.asked)
    if undecided:
        text += f"; {undecided} not proved"
    if found.stopped is not None:
        text += f"; stopped by {found.stopped} after {counted(len(found.asked), 'order')}"
    return f"{text}."


def _table(shown: list[_Shown], *, has_yard: bool) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("order", vertical="top")
    table.add_column("from the locomotive", overflow="fold")
    heads = ["moves", "tracks,\none pass", "passes,\n2 tracks", "passes,\n3 tracks"]
    for head in [*heads, *(["moves in\nthe yard"] if has_yard else [])]:
        table.add_column(head, justify="right", vertical="top")
    for one in shown:
        mark = "" if one.asked.verdict is Verdict.PROVED else "?"
        passes = [f"{one.cost.passes[tracks]}" for tracks in (2, 3)]
        table.add_row(
            one.name,
            Text(", ".join(one.asked.cars)),
            f"{one.asked.moves}{mark}",
            str(one.cost.tracks if one.cost.tracks > 1 else 0),
            *passes,
            *([_yard_text(one.moves)] if one.moves is not None else []),
        )
    return table


def _yard_text(found: YardMoves) -> str:
    if found.verdict is Verdict.IMPOSSIBLE:
        return "no"
    if found.moves is None:
        return "?"
    return str(found.moves) if found.verdict is Verdict.PROVED else f"{found.moves}?"


def _notes(found: Ordering, *, has_yard: bool) -> str:
    notes = [
        "Yard: what it takes to bring the train from the order of the file into this one. By counting: "
        "tracks pulled whole, so many for one pass, or so many passes over 2 or 3 tracks; 0: it stands so."
    ]
    if has_yard:
        notes.append("Moves in the yard: the fewest on the lead of the yard's file.")
    if any(one.verdict is not Verdict.PROVED for one in found.asked):
        notes.append("?: not proved. no: impossible.")
    return " ".join(notes)


# ---- JSON


def _as_json(puzzle: Puzzle, found: Ordering, shown: list[_Shown]) -> dict[str, object]:
    """The documented, stable form of an answer."""
    return {
        "title": puzzle.title,
        "orders": found.listed.how,
        "orders_there_are": found.listed.of,
        "asked": [
            {
                "cars": list(one.cars),
                "verdict": one.verdict.value,
                "moves": one.moves,
                "lower_bound": one.bound,
            }
            for one in found.asked
        ],
        "average": float(found.average) if found.average is not None else None,
        "impossible": found.impossible,
        "is_proved": found.is_proved,
        "shown": {one.name: _yard_json(one) for one in shown},
        "stopped": found.stopped,
    }


def _yard_json(one: _Shown) -> dict[str, object]:
    return {
        "cars": list(one.asked.cars),
        "moves": one.asked.moves,
        "tracks_for_one_pass": one.cost.tracks,
        "passes": {str(tracks): passes for tracks, passes in one.cost.passes.items()},
        "counts_are_least": one.cost.is_least,
        "yard_verdict": one.moves.verdict.value if one.moves else None,
        "yard_moves": one.moves.moves if one.moves else None,
        "yard_bound": one.moves.bound if one.moves else None,
    }
