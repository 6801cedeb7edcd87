"""``switchsolve lengths``: what more or less rail does to the fewest moves, track by track."""

from __future__ import annotations

import csv
import json
import sys
from argparse import Namespace
from textwrap import fill

from rich.console import Console
from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import USAGE
from switchsolve.cli.memory import most_bytes
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.session_lengths import ONE, run_session_lengths, wrong_sessions
from switchsolve.cli.stopping import Stop
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.lengthening import endless_tracks
from switchsolve.lengths import decimal_text, format_length, format_length_down, format_length_up
from switchsolve.measuring.length_steps import (
    NO_PLAN,
    LengthSteps,
    Minimum,
    PieceSteps,
    Step,
    gains,
    length_steps,
)
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile.problems import suggestion
from switchsolve.study import cores
from switchsolve.words import counted

__all__ = ["as_json", "run_lengths"]

_HEADS = ("track", "part", "length_now", "at_least", "least_moves", "most_moves", "is_proved", "not_measured")


def run_lengths(arguments: Namespace) -> int:
    """Measure the tracks of one file; returns the exit code."""
    puzzle = opened(arguments)
    wrong = _what_is_wrong(arguments, puzzle)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    if arguments.sessions is not None:
        return run_session_lengths(puzzle, arguments)
    workers = arguments.workers or cores()
    with Stop() as stop:
        result = length_steps(
            puzzle,
            arguments.track,
            seconds=arguments.limit_seconds,
            most_bytes=most_bytes(None) // workers,
            workers=workers,
            tell=Progress(),
            stop=stop,
        )
    if arguments.csv is not None:
        _write_csv(arguments.csv, puzzle, result)
    if arguments.json:
        print(json.dumps(as_json(puzzle, result), indent=2))
    else:
        _print(puzzle, result)
    return CODE_OF_VERDICT[Verdict.PROVED if result.limit is None else Verdict.BEST_FOUND]


def _what_is_wrong(arguments: Namespace, puzzle: Puzzle) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = wrong_sessions(arguments, puzzle)
    known = [track.name for track in puzzle.district.tracks]
    wrong += [
        f"--track {name}: {arguments.file} has no such track; {suggestion(name, known, _listed(known))}"
        for name in arguments.track or ()
        if name not in known
    ]
    wrong += [
        f"--track {name}: this entrance has no length of its own, it is as long as need be; name another"
        for name in arguments.track or ()
        if name in endless_tracks(puzzle)
    ]
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if arguments.csv is not None and not wrong:
        try:
            with open(arguments.csv, "a", encoding="utf-8"):  # not after minutes of work
                pass
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            wrong.append(f"--csv {arguments.csv}: {reason}; name a file that can be written")
    return wrong


def _listed(names: list[str]) -> str:
    return f"name one of: {', '.join(names)}"


# ---- for programs


def as_json(puzzle: Puzzle, result: LengthSteps) -> dict[str, object]:
    """The documented form of the answer."""
    return {
        "title": puzzle.title,
        "unit": puzzle.unit,
        "now": _moves_as_json(result.now),
        "limit": result.limit,
        "tracks": [_piece_as_json(puzzle, piece) for piece in result.pieces],
        "gains": [
            {
                "track": gain.piece.track,
                "part": _part(gain.piece),
                "longer_by": gain.extra / puzzle.grid,
                "moves": gain.moves,
                "saved": gain.saved,
            }
            for gain in gains(result)
        ],
    }


def _piece_as_json(puzzle: Puzzle, piece: PieceSteps) -> dict[str, object]:
    return {
        "track": piece.track,
        "part": _part(piece),
        "length": piece.length / puzzle.grid,
        "steps": [
            {"at_least": step.at_least / puzzle.grid, **_moves_as_json(step.minimum)} for step in piece.steps
        ],
        "kept_by": piece.kept_by or None,
        "shorter_by": piece.spare / puzzle.grid,
        "longest_tried": piece.longest / puzzle.grid if piece.steps else None,
        "nothing_beyond": piece.is_final,
        "not_measured": piece.unmeasured or None,
    }


def _moves_as_json(minimum: Minimum) -> dict[str, object]:
    return {
        "least": _or_none(minimum.least),
        "most": _or_none(minimum.most),
        "is_proved": minimum.is_proved,
    }


def _or_none(moves: int) -> int | None:
    return None if moves == NO_PLAN else moves


def _part(piece: PieceSteps) -> int | None:
    return None if piece.part is None else piece.part + 1


def _write_csv(path: str, puzzle: Puzzle, result: LengthSteps) -> None:
    """One row for each step, and one for each track that was not measured; lengths are exact."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(_HEADS)
        for piece in result.pieces:
            head = (piece.track, _part(piece), decimal_text(piece.length, puzzle.grid))
            for step in piece.steps:
                low, high = _or_none(step.minimum.least), _or_none(step.minimum.most)
                at_least = decimal_text(step.at_least, puzzle.grid)
                writer.writerow((*head, at_least, low, high, str(step.minimum.is_proved).lower(), ""))
            if piece.unmeasured:
                writer.writerow((*head, "", "", "", "", piece.unmeasured))


# ---- for people


def _print(puzzle: Puzzle, result: LengthSteps) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    console.print(Text(f"As it is: {_moves(result.now)}.", style="bold"))
    console.print()
    for piece in result.pieces:
        told = f"{piece.name} ({format_length(piece.length, puzzle)}): {_piece_text(puzzle, piece)}"
        console.print(Text(fill(told, 79, subsequent_indent="  ")))
    console.print()
    _print_gains(console, puzzle, result)
    if result.limit is not None:
        console.print(Text(f"Stopped by {result.limit}: not everything is proved."))


def _print_gains(console: Console, puzzle: Puzzle, result: LengthSteps) -> None:
    """The table over all tracks, shortest first."""
    found = gains(result)
    if not found:
        doubt = "" if result.limit is None else ", as far as was proved"
        console.print(Text(f"None of the tracks measured saves a move if it alone is longer{doubt}."))
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(f"the next {ONE.get(puzzle.unit, puzzle.unit)} that buys something", overflow="fold")
    for head in ("longer by", "moves", "saved"):
        table.add_column(head, justify="right", no_wrap=True)
    for gain in found:
        saved = "possible" if gain.saved is None else str(gain.saved)
        longer = format_length_up(gain.extra, puzzle)
        table.add_row(Text(gain.piece.name), longer, str(gain.moves), saved)
    console.print(table)


def _piece_text(puzzle: Puzzle, piece: PieceSteps) -> str:
    """The steps of a piece, read as "build at least"."""
    if piece.unmeasured:
        return f"not measured: {piece.unmeasured}."
    upto = "" if piece.is_final else f" up to {format_length_down(piece.longest, puzzle)}"
    steps = _distinct(puzzle, [step for step in piece.steps if step.minimum.least < NO_PLAN])
    if not steps:
        return f"no length{upto} makes the work possible."
    told = [_step_text(puzzle, step, is_first=number == 0) for number, step in enumerate(steps)]
    if steps[0] is piece.steps[0]:
        told[0] = _shortest_text(puzzle, piece)
    built = (number for number, text in enumerate(told) if text[0].isdigit())
    first = next(built, None)
    if first is not None:
        told[first] = f"build at least {told[first]}"
    more = " more" if len(piece.steps) > 1 else ""
    end = f"nothing{more} to gain{upto}" if steps[-1].minimum.is_proved else "more may be gained"
    return f"{', '.join(told)}; {end}.{_spare_text(puzzle, piece)}"


def _distinct(puzzle: Puzzle, steps: list[Step]) -> list[Step]:
    """Without the steps that another follows at a length that is shown as the same: that other one holds."""
    shown = {format_length_up(step.at_least, puzzle): step for step in steps}
    return list(shown.values())


def _step_text(puzzle: Puzzle, step: Step, *, is_first: bool) -> str:
    at_least = format_length_up(step.at_least, puzzle)
    if not step.minimum.is_proved:
        return f"from {at_least} {_moves(step.minimum)}"
    return f"{at_least} for {_moves(step.minimum) if is_first else step.minimum.least}"


def _shortest_text(puzzle: Puzzle, piece: PieceSteps) -> str:
    """The first step, where it does not begin with a length at which the work becomes possible."""
    step = piece.steps[0]
    if not piece.kept_by:
        return f"any length for {_moves(step.minimum)}"
    shortest = format_length_up(step.at_least, puzzle)
    return f"any length for {_moves(step.minimum)} (it cannot be under {shortest}: {piece.kept_by})"


def _moves(minimum: Minimum) -> str:
    """``5 moves``, ``impossible``, or the two ends of what is not proved."""
    if minimum.is_proved:
        return "impossible" if minimum.least == NO_PLAN else counted(minimum.least, "move")
    if minimum.most == NO_PLAN and not minimum.least:
        return "an unknown number of moves"
    if minimum.most == NO_PLAN:
        return f"{counted(minimum.least, 'move')} or more, or impossible (not proved)"
    if not minimum.least:
        return f"{counted(minimum.most, 'move')} or fewer (not proved)"
    return f"between {minimum.least} and {minimum.most} moves (not proved)"


def _spare_text(puzzle: Puzzle, piece: PieceSteps) -> str:
    """What can be taken away at no cost; nothing where any length does."""
    if not piece.spare or (piece.length - piece.spare == piece.steps[0].at_least and not piece.kept_by):
        return ""
    return f" It could be shorter by {format_length_down(piece.spare, puzzle)} at no cost in moves."
