"""``switchsolve yard``: an arriving cut into blocks: tracks for one pass, passes, and moves on the lead."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Sequence
from textwrap import fill

from rich.console import Console
from rich.text import Text

from switchsolve.cli.codes import OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.errors import FileError, Problem
from switchsolve.lengths import format_length
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.words import counted, move_texts
from switchsolve.yard import (
    CannotClassify,
    Classified,
    Laps,
    Pass,
    TrackKind,
    Undecided,
    arrival_of,
    classify,
    fewest_laps,
    fewest_of_kind,
    fewest_passes,
    fewest_tracks,
    passes_of,
    passes_that_fit,
    yard_tracks,
)

__all__ = ["run_yard"]

_NO_BREAK = "\u00a0"
_LOOKS = 20_000
"""Standings for the number of stubs; it is told if they do not decide it."""
_MOST_PASSES = 4
_SECONDS = 30.0
"""For each number of passes asked for, if nobody says otherwise."""


def run_yard(arguments: Namespace) -> int:
    """Answer for a cut, or for the cut in a file; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    blocks = _words(arguments.blocks) if arguments.blocks is not None else None
    console = Screen()
    if arguments.file is None:
        cut = _words(arguments.cut)
        try:
            laps = fewest_laps(cut, blocks)
        except ValueError as error:
            print(f"yard: {error}", file=sys.stderr)
            return USAGE
        _tell_cut(console, cut, cut, laps)
        if arguments.tracks is not None:
            _tell_passes(console, cut, laps, arguments.tracks)
        _tell_drawn(console, cut, laps)
        return OK
    return _of_file(console, arguments, blocks)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if (arguments.file is None) == (arguments.cut is None):
        wrong.append("yard: give a FILE whose locomotive stands with a cut, or --cut; one of them")
    if arguments.cut is not None and not _words(arguments.cut):
        wrong.append('--cut "": name the block of each car, such as "QLV THB QLV"')
    if arguments.tracks is not None and arguments.tracks < 1:
        wrong.append(f"--tracks {arguments.tracks}: give one track at least")
    if arguments.tracks is not None and arguments.file is not None:
        wrong.append(f"--tracks {arguments.tracks}: the file says which tracks there are; leave it out")
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    return wrong


def _words(text: str) -> list[str]:
    """Names apart by spaces or commas."""
    return text.replace(",", " ").split()


def _of_file(console: Console, arguments: Namespace, blocks: list[str] | None) -> int:
    puzzle = opened(arguments)
    try:
        arrival = arrival_of(puzzle)
        if puzzle.title:
            console.print(Text(puzzle.title, style="bold"))
        try:
            laps = fewest_laps(arrival.blocks, blocks)
        except ValueError as error:
            raise CannotClassify("blocks", " ".join(blocks or ()), str(error), "mend --blocks") from None
        _tell_cut(console, arrival.cars, arrival.blocks, laps)
        _tell_fit(console, puzzle, blocks, arguments.limit_seconds or _SECONDS)
        with Stop() as stop:
            answer = classify(puzzle, blocks, seconds=arguments.limit_seconds, tell=Progress(), stop=stop)
    except CannotClassify as why:
        raise FileError([Problem(arguments.file, why.key, why.value, why.what, why.cure)]) from None
    _tell_moves(console, answer, is_any=blocks is None)
    return CODE_OF_VERDICT[answer.verdict]


def _print(console: Console, text: str, *, style: str = "", hang: str = "") -> None:
    folded = fill(text, 79, subsequent_indent=hang, break_on_hyphens=False)
    console.print(Text(folded.replace(_NO_BREAK, " "), style=style))


def _names(cars: Sequence[str]) -> str:
    """The names, none of which is to be folded."""
    return ", ".join(car.replace(" ", _NO_BREAK) for car in cars)


def _tell_cut(console: Console, cars: Sequence[str], cut: Sequence[str], laps: Laps) -> None:
    """The cut, and the fewest tracks for one pass."""
    _print(console, f"The cut, from the locomotive: {_names(cars)}.")
    if laps.tracks == 1:
        _print(console, f"It stands in blocks as it is: {', '.join(laps.blocks)}.", style="bold")
        return
    text = f"One pass, tracks pulled whole: {counted(laps.tracks, 'track')} at the fewest (proved)."
    _print(console, text, style="bold")
    for track in range(laps.tracks):
        on_it = [car for car, lap in zip(cars, laps.lap, strict=True) if lap == track]
        _print(console, f"  pulled {track + 1}: {_names(on_it)}", hang="    ")
    _print(console, f"The train then, from the locomotive: {', '.join(laps.blocks)}.")


def _tell_passes(console: Console, cut: Sequence[str], laps: Laps, tracks: int) -> None:
    """The fewest passes over so many tracks of any length."""
    count = fewest_passes(laps.tracks, tracks)
    if count is None:
        _print(console, "With 1 track: never; one track changes no order.", style="bold")
        return
    if count < 2:
        told = "as it stands" if count == 0 else "in 1 pass"
        _print(console, f"With {counted(tracks, 'track')}: {told} (proved).", style="bold")
        return
    text = f"With {counted(tracks, 'track')}: {count} passes at the fewest (proved)."
    _print(console, text, style="bold")
    _tell_each_pass(console, cut, passes_of(laps.lap, tracks, count))


def _tell_each_pass(
    console: Console, cars: Sequence[str], passes: Sequence[Pass], names: Sequence[Sequence[str]] = ()
) -> None:
    """Who stands on which track in each pass, in the order in which the tracks are pulled."""
    for number, one in enumerate(passes):
        for place, track in enumerate(one.tracks):
            if track:
                where = f" ({names[number][place]})" if names else ""
                on_it = _names([cars[car] for car in track])
                text = f"  pass {number + 1}, pulled {place + 1}{where}: {on_it}"
                _print(console, text, hang="    ")


def _tell_drawn(console: Console, cut: Sequence[str], laps: Laps) -> None:
    """Tracks from which cars are drawn one at a time, for the order of blocks that was found or asked for.

    The first to arrive is the car at the locomotive's end.
    """
    order = [laps.blocks.index(block) for block in cut]
    through = len(fewest_tracks(order).tracks)
    told = f"{counted(through, 'through track')} at the fewest (proved); stubs: "
    try:
        stubs = fewest_of_kind(order, TrackKind.STUB, most_looks=_LOOKS)
        told = f"{counted(through, 'through track')} or {counted(stubs, 'stub')} at the fewest (proved)."
    except Undecided as why:
        told += f"{why}."
    what = "Cars set out and drawn one at a time, in that order of blocks, the first car first"
    _print(console, f"{what}: {told}")


def _tell_fit(console: Console, puzzle: Puzzle, blocks: list[str] | None, seconds: float) -> None:
    """The fewest passes over the tracks that the file has, by their lengths."""
    arrival, tracks = arrival_of(puzzle), yard_tracks(puzzle)
    told = ", ".join(f"{name} {format_length(length, puzzle)}" for name, length in tracks.items())
    if not tracks:
        _print(console, "No track is free to set the cut on.", style="bold")
        return
    of = {car.name: car.length for car in puzzle.cars}
    names = list(tracks)
    fitted = passes_that_fit(
        arrival.blocks,
        [of[car] for car in arrival.cars],
        list(tracks.values()),
        blocks,
        most_passes=_MOST_PASSES,
        seconds=seconds,
    )
    if fitted.passes is None:
        _print(console, f"On {told}: {_no_passes(fitted.at_least)}.", style="bold")
        return
    count = len(fitted.passes)
    proof = "proved" if count == fitted.at_least else f"not under {fitted.at_least}"
    _print(console, f"On {told}: {count} {'pass' if count == 1 else 'passes'} ({proof}).", style="bold")
    where = [[names[track] for track in order] for order in fitted.tracks]
    _tell_each_pass(console, arrival.cars, fitted.passes, where)


def _no_passes(at_least: int) -> str:
    if at_least > _MOST_PASSES:
        return f"no way in {_MOST_PASSES} passes or less (proved)"
    return f"no way in {_MOST_PASSES} passes or less was found in time; not under {at_least} (proved)"


def _tell_moves(console: Console, answer: Classified, *, is_any: bool) -> None:
    """The moves of the locomotive, by the solver."""
    console.print()
    solution, order = answer.solution, ", ".join(answer.blocks)
    _print(console, _verdict(answer, is_any=is_any), style="bold")
    if solution.plan is None or solution.counts is None:
        return
    _print(console, f"The train, from the locomotive: {order}.")
    replayed = replay(answer.puzzle, solution.plan)
    for number, text in enumerate(move_texts(answer.puzzle, solution.plan, replayed), 1):
        head = f"{number:3}  " if number <= len(solution.plan.runs) else "     "
        console.print(Text(fill(text, 79, initial_indent=head, subsequent_indent="     ")))


def _verdict(answer: Classified, *, is_any: bool) -> str:
    over = "On the lead, blocks in " + ("any order" if is_any else "the order given")
    counts, limit = answer.solution.counts, answer.solution.limit
    if answer.verdict is Verdict.IMPOSSIBLE:
        return f"{over}: impossible (proved)."
    if counts is None:
        return f"{over}: no plan found (stopped by {limit}); not under {answer.lower_bound} moves."
    moves = counted(counts.moves, "move")
    if answer.verdict is Verdict.PROVED:
        return f"{over}: {moves} at the fewest (proved)."
    return f"{over}: {moves} found, not under {answer.lower_bound}; not every proof was finished."
