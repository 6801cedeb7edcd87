"""``switchsolve lengths --sessions``: what more or less rail does to the moves of many drawn sessions."""

from __future__ import annotations

import csv
import json
from argparse import Namespace
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, INTERRUPTED, OK
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.lengths import decimal_text, format_length, format_length_down, format_length_up
from switchsolve.measuring.session_steps import SessionLengths, SessionPiece, SessionStep, session_lengths
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["ONE", "run_session_lengths", "wrong_sessions"]

ONE = {"in": "inch", "mm": "millimeter", "cm": "centimeter", "ft": "foot", "car": "car length"}
"""One of each unit, in words."""
_SEED = 1
_HEADS = (
    *("track", "part", "length_now", "at_least"),
    *("sessions", "cannot", "moves", "not_proved", "not_measured"),
)


def wrong_sessions(arguments: Namespace, puzzle: Puzzle) -> list[str]:
    """What is wrong with the arguments of sessions, each with its cure."""
    wrong = []
    if arguments.sessions is None and arguments.seed is not None:
        wrong.append("--seed: this goes with --sessions N; leave it out, or add that")
    if arguments.sessions is not None and puzzle.traffic is None:
        cure = "add what sessions bring (see DEVELOPERS.md, the puzzle file), or leave it out"
        wrong.append(f"--sessions {arguments.sessions}: {arguments.file} has no [traffic]; {cure}")
    for name, least in (("sessions", 1), ("seed", 0), ("workers", 1)):
        value = getattr(arguments, name)
        if value is not None and value < least:
            wrong.append(f"--{name} {value}: give {least} or more")
    return wrong


def run_session_lengths(puzzle: Puzzle, arguments: Namespace) -> int:
    """Measure the tracks over the sessions; returns the exit code."""
    seed = _SEED if arguments.seed is None else arguments.seed
    found = session_lengths(
        puzzle,
        arguments.sessions,
        seed,
        arguments.track,
        workers=arguments.workers,
        seconds=arguments.limit_seconds,
        tell=Progress(),
    )
    if not found.sessions:
        raise KeyboardInterrupt
    if arguments.csv is not None:
        _write_csv(arguments.csv, puzzle, found)
    if arguments.json:
        print(json.dumps(_as_json(puzzle, found, seed), indent=2))
    else:
        _print(puzzle, found, seed)
    if found.sessions < found.asked:
        return INTERRUPTED
    return OK if found.is_proved else BEST_FOUND


# ---- for programs


def _as_json(puzzle: Puzzle, found: SessionLengths, seed: int) -> dict[str, object]:
    """The documented form of the answer."""
    return {
        "title": puzzle.title,
        "unit": puzzle.unit,
        "seed": seed,
        "sessions_asked": found.asked,
        "sessions": found.sessions,
        "solved": found.solved,
        "tracks": [_piece_as_json(puzzle, one) for one in found.pieces],
    }


def _piece_as_json(puzzle: Puzzle, one: SessionPiece) -> dict[str, object]:
    return {
        "track": one.piece.track,
        "part": _part(one),
        "length": one.piece.length / puzzle.grid,
        "counted": one.counted,
        "not_proved": one.open,
        "steps": [
            {"at_least": step.at_least / puzzle.grid, "cannot": step.cannot, "moves": step.moves}
            for step in one.steps
        ],
        "gains": [
            {"longer_by": gain.extra / puzzle.grid, "made_possible": gain.made_possible, "saved": gain.saved}
            for gain in one.gains
        ],
        "kept_by": one.kept_by or None,
        "shorter_by": one.spare / puzzle.grid,
        "longest_tried": one.longest / puzzle.grid if one.steps else None,
        "nothing_beyond": one.is_final,
        "not_measured": one.unmeasured or None,
    }


def _part(one: SessionPiece) -> int | None:
    return None if one.piece.part is None else one.piece.part + 1


def _write_csv(path: str, puzzle: Puzzle, found: SessionLengths) -> None:
    """One row for each step, and one for each track that has none; lengths are exact."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(_HEADS)
        for one in found.pieces:
            head = (one.piece.track, _part(one), decimal_text(one.piece.length, puzzle.grid))
            for step in one.steps:
                at_least = decimal_text(step.at_least, puzzle.grid)
                writer.writerow((*head, at_least, one.counted, step.cannot, step.moves, one.open, ""))
            if not one.steps:
                writer.writerow((*head, "", one.counted, "", "", one.open, one.unmeasured))


# ---- for people


def _print(puzzle: Puzzle, found: SessionLengths, seed: int) -> None:
    console = Screen()
    console.print(Text(fill(puzzle.title, 79), style="bold"))
    console.print(Text(fill(_head(found, seed), 79)))
    for one in found.pieces:
        console.print()
        _print_piece(console, puzzle, one)
    console.print()
    _print_gains(console, puzzle, found)
    console.print()
    console.print(Text(fill(_NOTE, 79, subsequent_indent="  ", break_on_hyphens=False)))


_NOTE = (
    "Each track is changed by itself, at its `to` end, all else as it is; every figure is proved. The "
    "sessions are drawn from the district as it is, all work of one done before the next. Lengths on which "
    "not every session can stand are not told."
)


def _head(found: SessionLengths, seed: int) -> str:
    some = "" if found.sessions == found.asked else f" of {found.asked}"
    different = f", {found.solved} of them different" if found.solved < found.sessions else ""
    return f"{counted(found.sessions, 'session')}{some} drawn with seed {seed}{different}."


def _print_piece(console: Screen, puzzle: Puzzle, one: SessionPiece) -> None:
    """The steps of a piece: a table where there are several, else a sentence."""
    head = f"{one.piece.name} ({format_length(one.piece.length, puzzle)})"
    if len(one.steps) < 2:
        console.print(Text(fill(f"{head}: {_one_step_text(puzzle, one)}.", 79, subsequent_indent="  ")))
    else:
        console.print(Text(fill(f"{head}: build at least", 79)))
        console.print(_table(puzzle, one))
    lines = _remarks(puzzle, one)
    if lines:
        console.print(Text(fill(" ".join(lines), 79)))


def _remarks(puzzle: Puzzle, one: SessionPiece) -> list[str]:
    """What is to be said below the steps of a piece."""
    lines = []
    if len(one.steps) > 1 and one.steps[0].cannot == one.counted:
        least = format_length_up(one.steps[1].at_least, puzzle)
        lines.append(f"Under {least} no session can do its work.")
    if len(one.steps) > 1 and one.spare:
        lines.append(f"It could be shorter by {format_length_down(one.spare, puzzle)} at no cost in moves.")
    if one.steps and not one.is_final:
        lines.append(f"Looked at up to {format_length_down(one.longest, puzzle)}.")
    if one.open:
        lines.append(f"{counted(one.open, 'session')} not proved in time and left out here.")
    return lines


def _one_step_text(puzzle: Puzzle, one: SessionPiece) -> str:
    if one.unmeasured:
        return f"not measured: {one.unmeasured}"
    if not one.steps:
        return "nothing proved"
    step = one.steps[0]
    at_least = format_length_up(step.at_least, puzzle)
    why = f" (it cannot be under {at_least}: {one.kept_by})" if one.kept_by else ""
    return f"any length for {_average(one, step)} moves a session{_cannot_text(step)}{why}"


def _cannot_text(step: SessionStep) -> str:
    return f", {counted(step.cannot, 'session')} impossible" if step.cannot else ""


def _average(one: SessionPiece, step: SessionStep) -> str:
    """The mean over the sessions that can do their work at this length."""
    able = one.counted - step.cannot
    return f"{step.moves / able:.2f}" if able else "no"


def _table(puzzle: Puzzle, one: SessionPiece) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    shown = [step for step in one.steps if step.cannot < one.counted]
    has_cannot = any(step.cannot for step in shown)
    heads = ("", "moves a session", *(("sessions impossible",) if has_cannot else ()), "")
    for place, head in enumerate(heads):
        table.add_column(head, justify="left" if place == len(heads) - 1 else "right", no_wrap=True)
    for step in shown:
        figures = (_average(one, step), *((str(step.cannot),) if has_cannot else ()))
        note = "as it is" if step == one.now else ""
        is_any = step == one.steps[0] and not one.kept_by
        length = "any length" if is_any else format_length_up(step.at_least, puzzle)
        table.add_row(f"  {length}", *figures, note)
    return table


def _print_gains(console: Screen, puzzle: Puzzle, found: SessionLengths) -> None:
    """The next step of each track, shortest first."""
    gaining = sorted((one for one in found.pieces if one.gains), key=lambda one: one.gains[0].extra)
    if not gaining:
        console.print(Text("None of the tracks measured saves a move if it alone is longer."))
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(f"the next {ONE.get(puzzle.unit, puzzle.unit)} that buys something", overflow="fold")
    for head in ("longer by", "moves saved", "sessions made possible"):
        table.add_column(head, justify="right")
    for one in gaining:
        gain = one.gains[0]
        row = format_length_up(gain.extra, puzzle), str(gain.saved), str(gain.made_possible)
        table.add_row(Text(one.piece.name), *row)
    console.print(table)
