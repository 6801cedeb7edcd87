"""``switchsolve design``: the arrangements of track that fulfill a file's wishes, or what to leave out."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from concurrent.futures import BrokenExecutor
from pathlib import Path
from textwrap import fill

from rich.console import Console
from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, IMPOSSIBLE, INTERRUPTED, OK, USAGE
from switchsolve.cli.designwords import (
    choice_text,
    cost_text,
    drop_text,
    tally_text,
    verdict_line,
    wish_texts,
)
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.designing import Arrangement, CannotAsk, Found, design
from switchsolve.errors import FileError, Problem
from switchsolve.paper import Column, side_by_side_html
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.rowsfile import RowsError

__all__ = ["run_design"]

_LOST = "a worker was lost; with --rows FILE the same command goes on where it stopped"
_SHEET = "side_by_side.html"


def run_design(arguments: Namespace) -> int:
    """Find the arrangements, and print them; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = load(arguments.file)
    if puzzle.design is None:
        cure = "add what may vary and what is wanted (see DEVELOPERS.md, designing)"
        raise FileError([Problem(arguments.file, "design", "", "this is missing", cure)])
    try:
        found = design(
            puzzle,
            most=arguments.most,
            workers=arguments.workers,
            rows=arguments.rows,
            seconds=arguments.limit_seconds,
            tell=Progress(),
        )
    except RowsError as error:
        print(f"--rows {error}", file=sys.stderr)
        return USAGE
    except CannotAsk as error:
        problem = Problem(arguments.file, "design.wishes", f'"{error.wish}"', str(error), error.cure)
        raise FileError([problem]) from None
    except BrokenExecutor:  # killed from outside, or out of memory
        print(_LOST, file=sys.stderr)
        return INTERRUPTED
    try:
        files = _write(puzzle, found, arguments)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        print(f"-o {arguments.output}: it cannot be written ({why}); name another folder", file=sys.stderr)
        return USAGE
    if arguments.json:
        print(json.dumps(_as_json(puzzle, found, files), indent=2))
    else:
        _print(puzzle, found, files)
    return _code(found)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.most < 1:
        wrong.append(f"--most {arguments.most}: give 1 or more")
    if arguments.workers is not None and arguments.workers < 1:
        wrong.append(f"--workers {arguments.workers}: give 1 or more")
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    return wrong


def _code(found: Found) -> int:
    """0 if these are proved the best, 11 if it is proved that there is none, else 10; 130 after Ctrl-C."""
    if found.stopped == "Ctrl-C":
        return INTERRUPTED
    if not found.is_exhaustive:
        return BEST_FOUND
    return OK if found.arrangements else IMPOSSIBLE


# ---- files


def _write(puzzle: Puzzle, found: Found, arguments: Namespace) -> list[str]:
    """Write the arrangements as puzzle files, and all of them on one sheet; returns the names."""
    if arguments.output is None or not found.arrangements:
        return []
    folder = Path(arguments.output)
    folder.mkdir(parents=True, exist_ok=True)
    names = []
    for number, arrangement in enumerate(found.arrangements, 1):
        path = folder / f"arrangement_{number}.toml"
        path.write_text(arrangement.text, encoding="utf-8")
        names.append(str(path))
    columns = [_column(n, one) for n, one in enumerate(found.arrangements, 1)]
    told = [verdict_line(found), *tally_text(puzzle, found)]
    sheet = folder / _SHEET
    sheet.write_text(side_by_side_html(puzzle.title or "A district", told, columns), encoding="utf-8")
    return [*names, str(sheet)]


def _column(number: int, one: Arrangement) -> Column:
    rows = [("Cost", cost_text(one).removeprefix("Cost ")), *((name, option) for name, option in one.chosen)]
    rows += [(wish.wish.name, text) for wish, text in wish_texts(one)]
    return Column(f"Arrangement {number}", one.puzzle, tuple(rows))


# ---- JSON


def _as_json(puzzle: Puzzle, found: Found, files: list[str]) -> dict[str, object]:
    """The documented, stable form of an answer."""
    tally = found.tally
    names = [*files, *[None] * len(found.arrangements)]
    return {
        "title": puzzle.title,
        "unit": puzzle.unit,
        "all": tally.all,
        "ruled_out": dict(tally.ruled_out),
        "undecided": tally.undecided,
        "not_looked_at": tally.left,
        "questions": found.questions,
        "from_rows": found.from_file,
        "is_exhaustive": found.is_exhaustive,
        "stopped": found.stopped,
        "arrangements": [
            _arrangement(one, file) for one, file in zip(found.arrangements, names, strict=False)
        ],
        "leave_out": [
            {"names": list(way.left_out), "arrangement": _arrangement(way.arrangement, None)}
            for way in found.ways
        ],
        "leave_out_is_exhaustive": found.ways_exhaustive,
    }


def _arrangement(one: Arrangement, file: str | None) -> dict[str, object]:
    return {
        "chosen": [{"choice": choice, "option": option} for choice, option in one.chosen],
        "rail": one.rail / one.puzzle.grid,
        "turnouts": one.turnouts,
        "cost": float(one.cost),
        "wishes": [{"name": row.wish.name, "told": text} for row, text in wish_texts(one)],
        "file": file,
        "puzzle": one.text,
    }


# ---- the screen


def _print(puzzle: Puzzle, found: Found, files: list[str]) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    _fold(console, verdict_line(found), style="bold")
    for number, one in enumerate(found.arrangements, 1):
        console.print()
        _fold(console, f"{number}  {cost_text(one)}", hang="   ")
        _fold(console, choice_text(one), hang="   ", lead="   ")
        for row, text in wish_texts(one):
            _fold(console, f"{row.wish.name}: {text}", hang="     ", lead="   - ")
    for way in found.ways:
        console.print()
        _fold(console, drop_text(way), hang="   ")
        _fold(console, choice_text(way.arrangement), hang="   ", lead="   ")
    console.print()
    for line in tally_text(puzzle, found):
        _fold(console, line)
    if files:
        _fold(console, f"Written: {', '.join(files)}.")


def _fold(console: Console, text: str, *, style: str = "", hang: str = "", lead: str = "") -> None:
    console.print(
        Text(fill(text, 79, initial_indent=lead, subsequent_indent=hang, break_on_hyphens=False), style=style)
    )
