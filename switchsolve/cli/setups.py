"""``switchsolve setups``: set-ups of a district by difficulty."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from pathlib import Path
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, GAVE_UP, INTERRUPTED, OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps
from switchsolve.setups import Asking, Drawer, Graded, Grading, grade, hardest, twins
from switchsolve.words import counted

__all__ = ["run_setups"]

_NOTE = (
    "Moves are the proved minimum. Cars: to be spotted or picked up. Around: trips around cars. Moved: "
    "cars that stand right and must leave their place all the same. Spare: room left at the tightest "
    "place, in cars. Forced: moves at which no plan with the fewest moves has a choice. Ways: how many "
    "such plans there are, told apart by what stands where at each reversal. Wrong: of all next moves "
    "along these plans, those that cost a move or more. Luck: who picks moves blindly keeps to such a "
    "plan once in so many tries. Difficulty: the weighted sum of these (see DEVELOPERS.md)."
)


def run_setups(arguments: Namespace) -> int:
    """Draw, solve, grade and print; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    with Stop() as stop:
        grading = _graded(puzzle, arguments, Asking(arguments.limit_seconds, Progress(), stop))
    if grading.stopped is not None and not grading.chosen:
        print("interrupted before any set-up was done", file=sys.stderr)
        return INTERRUPTED
    try:
        files = _write(grading, arguments)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        print(f"-o {arguments.output}: it cannot be written ({why}); name another folder", file=sys.stderr)
        return USAGE
    if arguments.json:
        print(json.dumps(_as_json(puzzle, grading, arguments, files), indent=2))
    else:
        _print(puzzle, grading, arguments, files)
    if not grading.chosen:
        return GAVE_UP
    return BEST_FOUND if grading.stopped is not None or grading.unproved else OK


def _graded(puzzle: Puzzle, arguments: Namespace, asking: Asking) -> Grading:
    """What was asked for.  Raises ``FileError`` if no set-ups can be drawn."""
    tries, seed = arguments.tries or max(24, 4 * arguments.count), arguments.seed

    def drawer() -> Drawer:
        return Drawer(puzzle, spot=arguments.spot, pick_up=arguments.pick_up, file=arguments.file)

    if arguments.hardest:
        return hardest(puzzle, drawer, seed, tries=tries, asking=asking)
    if arguments.twins:
        return twins(drawer(), seed, tries=tries, asking=asking)
    return grade(drawer(), arguments.count, seed, tries=tries, asking=asking)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    for option, number, least in (
        ("--count", arguments.count, 1),
        ("--seed", arguments.seed, 0),
        ("--tries", arguments.tries, 1),
        ("--spot", arguments.spot, 0),
        ("--pick-up", arguments.pick_up, 0),
    ):
        if number is not None and number < least:
            wrong.append(f"{option} {number}: give {least} or more")
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a number above zero")
    if arguments.output is not None and Path(arguments.output).is_file():
        wrong.append(f"-o {arguments.output}: this is a file; name a folder")
    return wrong


def _names(arguments: Namespace, count: int) -> list[str]:
    """What the set-ups are called, from gentle to nasty."""
    if arguments.hardest:
        return ["hardest"][:count]
    if arguments.twins:
        return ["gentle", "nasty"][:count]
    return [str(number) for number in range(1, count + 1)]


def _write(grading: Grading, arguments: Namespace) -> list[str]:
    """Write the set-ups as puzzle files; returns their names."""
    if arguments.output is None:
        return []
    folder = Path(arguments.output)
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for name, one in zip(_names(arguments, len(grading.chosen)), grading.chosen, strict=True):
        path = folder / f"{Path(arguments.file).stem}_setup_{name}.toml"
        path.write_text(dumps(one.puzzle), encoding="utf-8", newline="\n")
        files.append(str(path))
    return files


# ---- JSON


def _as_json(puzzle: Puzzle, grading: Grading, arguments: Namespace, files: list[str]) -> dict[str, object]:
    """The documented, stable form of the answer."""
    paths: list[str | None] = [*files] or [None] * len(grading.chosen)
    names = _names(arguments, len(grading.chosen))
    return {
        "title": puzzle.title,
        "seed": arguments.seed,
        "looked_at": grading.looked_at,
        "impossible": grading.impossible,
        "unproved": grading.unproved,
        "is_whole": grading.is_whole,
        "is_last_layer": grading.is_last_layer,
        "stopped": grading.stopped,
        "setups": [
            _one_as_json(one, name, path)
            for one, name, path in zip(grading.chosen, names, paths, strict=True)
        ],
    }


def _one_as_json(one: Graded, name: str, path: str | None) -> dict[str, object]:
    figures, turnings = one.figures, one.figures.turnings
    return {
        "name": name,
        "setup_title": one.puzzle.title,
        "moves": figures.moves,
        "cars_of_work": figures.work,
        "difficulty": round(one.difficulty, 3),
        "trips_around": figures.trips,
        "moved": list(figures.moved),
        "moved_is_proved": figures.is_sure,
        "forced": figures.forced,
        "ways": None if turnings is None else str(turnings.ways),
        "wrong": None if turnings is None else round(float(turnings.wrong), 4),
        "luck": None if turnings is None else str(int(turnings.luck)),
        "spare_cars": None if figures.spare is None else round(float(figures.spare), 3),
        "file": path,
    }


# ---- the screen


def _print(puzzle: Puzzle, grading: Grading, arguments: Namespace, files: list[str]) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    console.print(Text(fill(_head(grading, arguments), 79, break_on_hyphens=False), style="bold"))
    if grading.chosen:
        console.print()
        console.print(_table(grading.chosen, _names(arguments, len(grading.chosen)), grading.is_whole))
        console.print()
    for line in _lines(grading, files):
        console.print(Text(fill(line, 79, break_on_hyphens=False)))


def _head(grading: Grading, arguments: Namespace) -> str:
    looked = f"{counted(grading.looked_at, 'set-up')} looked at, seed {arguments.seed}"
    if not grading.chosen:
        return f"No set-up to show: {looked}."
    if grading.is_last_layer:
        return "The hardest for the work of this file (proved: no clear standing needs more moves)."
    if arguments.hardest:
        return f"The hardest found ({looked}); there may be harder ones."
    if arguments.twins and len({one.difficulty for one in grading.chosen}) == 1:
        return f"No twins: those with the same cars, places and work are alike in difficulty ({looked})."
    if arguments.twins:
        return f"Twins: the same cars, places and work, differently arranged ({looked})."
    return f"{counted(len(grading.chosen), 'set-up')} from gentle to nasty ({looked})."


def _table(chosen: list[Graded], names: list[str], whole: bool) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold")
    table.add_column("")
    for head in ("moves", "cars", "around", "moved", "spare"):
        table.add_column(head, justify="right")
    for head in ("forced", "ways", "wrong", "luck"):
        table.add_column(head, justify="right")
    table.add_column("difficulty" if whole else "difficulty*", justify="right")
    for name, one in zip(names, chosen, strict=True):
        table.add_row(name, *_cells(one))
    return table


def _cells(one: Graded) -> tuple[str, ...]:
    figures, turnings = one.figures, one.figures.turnings
    return (
        str(figures.moves),
        str(figures.work),
        str(figures.trips),
        f"{len(figures.moved)}{'' if figures.is_sure else '?'}",
        "-" if figures.spare is None else f"{float(figures.spare):.1f}",
        "-" if figures.forced is None else str(figures.forced),
        "-" if turnings is None else _short(turnings.ways),
        "-" if turnings is None else f"{round(100 * float(turnings.wrong))} %",
        "-" if turnings is None else _short(int(turnings.luck)),
        f"{one.difficulty:.1f}",
    )


def _short(number: int) -> str:
    """A number in few letters: a large one as a power of ten."""
    return f"{number:,}" if number < 100_000 else f"10^{len(str(number)) - 1}"


def _lines(grading: Grading, files: list[str]) -> list[str]:
    """What else there is to say."""
    lines = [_NOTE] if grading.chosen else []
    if not grading.is_whole:
        lines.append(
            "*: without forced moves and luck, which are not to be had for all of them (-: too many "
            "standings to look at, or places in a track that matter)."
        )
    if grading.why_not is not None:
        lines.append(f"No census tells the hardest of all: {grading.why_not}.")
    if grading.impossible:
        lines.append(f"{counted(grading.impossible, 'set-up')} left out: impossible (proved).")
    if grading.unproved:
        lines.append(f"{counted(grading.unproved, 'set-up')} left out: not proved in time (--limit-seconds).")
    if any(not one.figures.is_sure for one in grading.chosen):
        lines.append("?: for some of these cars time did not decide whether they must leave.")
    if grading.stopped is not None:
        lines.append(f"Stopped by {grading.stopped}.")
    return [*lines, *files]
