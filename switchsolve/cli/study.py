"""``switchsolve study``: many drawn sessions, each solved, and what they come to."""

from __future__ import annotations

import sys
from argparse import Namespace
from concurrent.futures import BrokenExecutor
from pathlib import Path
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.clusters import executor_of, lost, wrong_workers
from switchsolve.cli.codes import BEST_FOUND, INTERRUPTED, OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.plots import study_panels, written_plot, wrong_plot
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.study_json import json_of_study
from switchsolve.errors import FileError, Problem
from switchsolve.measuring.evenings import minutes_lines
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps
from switchsolve.study import SEASON, ClusterError, Played, RowsError, Study, Tally, at_or_under, study
from switchsolve.words import counted

__all__ = ["run_study"]

_MEDIAN, _ONE_IN_TEN = 0.5, 0.9
_LOST = "with --rows FILE the same command goes on where it stopped"


def run_study(arguments: Namespace) -> int:
    """Play the sessions, and print what they come to; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    if puzzle.traffic is None:
        cure = "add what sessions bring (see DEVELOPERS.md, the puzzle file)"
        raise FileError([Problem(arguments.file, "traffic", "", "this is missing", cure)])
    try:
        found = _found(puzzle, arguments)
    except RowsError as error:
        print(f"--rows {error}", file=sys.stderr)
        return USAGE
    except ClusterError as error:
        print(f"--cluster {error}", file=sys.stderr)
        return USAGE
    except BrokenExecutor:  # killed from outside, or out of memory
        print(f"{lost(arguments)}; {_LOST}", file=sys.stderr)
        return INTERRUPTED
    if not found.tally.sessions:
        raise KeyboardInterrupt
    try:
        files = _write_hardest(found, arguments)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        print(
            f"--hardest {arguments.hardest}: it cannot be written ({why}); name another folder",
            file=sys.stderr,
        )
        return USAGE
    is_plotted = written_plot(
        _title(puzzle, found, arguments.seed), study_panels(found.tally), arguments.plot
    )
    if arguments.json:
        print(json_of_study(puzzle, found, arguments.seed, files))
    else:
        _print(puzzle, found, arguments, files)
    return _code(found) if is_plotted else USAGE


def _found(puzzle: Puzzle, arguments: Namespace) -> Study:
    """The study, by the workers asked for."""
    with executor_of(arguments) as (executor, at_once):
        return study(
            puzzle,
            arguments.sessions,
            arguments.seed,
            workers=arguments.workers,
            executor=executor,
            at_once=at_once,
            seconds=arguments.limit_seconds,
            rows=arguments.rows,
            tell=Progress(),
        )


def _title(puzzle: Puzzle, found: Study, seed: int) -> str:
    """The heading of the plots."""
    return f"{puzzle.title}\n{_head(found, seed)}".lstrip()


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.sessions < 1:
        wrong.append(f"--sessions {arguments.sessions}: give 1 or more")
    if arguments.seed < 0:
        wrong.append(f"--seed {arguments.seed}: give 0 or more")
    wrong += wrong_workers(arguments)
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a number above zero")
    return wrong + wrong_plot(arguments)


def _code(found: Study) -> int:
    """0 if every session was decided, 10 if not, 130 if Ctrl-C came first."""
    if not found.is_complete:
        return INTERRUPTED
    return BEST_FOUND if _undecided(found.tally) else OK


def _undecided(tally: Tally) -> int:
    """Sessions with a gap, without an answer in time, or perhaps with more left over than need be."""
    proved = tally.verdicts[Verdict.PROVED] + tally.verdicts[Verdict.IMPOSSIBLE]
    return tally.sessions - proved or tally.sessions_not_most


def _write_hardest(found: Study, arguments: Namespace) -> list[str]:
    """Write the hardest sessions as puzzle files; returns their names."""
    if arguments.hardest is None:
        return []
    folder = Path(arguments.hardest)
    folder.mkdir(parents=True, exist_ok=True)
    names = []
    for played in found.hardest:
        row = played.row
        name = f"{Path(arguments.file).stem}_season_{row.season}_session_{row.session}.toml"
        (folder / name).write_text(dumps(played.puzzle), encoding="utf-8")
        names.append(str(folder / name))
    return names


# ---- the screen


def _print(puzzle: Puzzle, found: Study, arguments: Namespace, files: list[str]) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    console.print(Text(_head(found, arguments.seed), style="bold"))
    console.print()
    console.print(_table(found.tally))
    for line in (*_lines(puzzle, found), *_hardest_lines(found.hardest, files)):
        console.print(Text(fill(line, 79, subsequent_indent="  ", break_on_hyphens=False)))


def _head(found: Study, seed: int) -> str:
    tally = found.tally
    asked = "" if found.is_complete else f" of {found.asked} (stopped by Ctrl-C)"
    return f"{counted(tally.sessions, 'session')}{asked}, seed {seed}: {_proved(tally)}."


def _proved(tally: Tally) -> str:
    """How the verdicts are spread."""
    names = {
        Verdict.PROVED: "proved",
        Verdict.BEST_FOUND: "with a gap",
        Verdict.IMPOSSIBLE: "impossible",
        Verdict.GAVE_UP: "without a plan in time",
    }
    parts = [
        f"{tally.verdicts[verdict]} {name}" for verdict, name in names.items() if tally.verdicts[verdict]
    ]
    return ", ".join(parts)


def _table(tally: Tally) -> Table:
    """Moves, couplings and cuts."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("")
    for head in ("half the sessions\nat or under", "nine in ten\nat or under", "most"):
        table.add_column(head, justify="right")
    rows = [("moves", tally.moves), ("a plain crew's moves", tally.crew_moves)]
    rows += [("couplings", tally.couplings), ("cuts", tally.cuts)]
    if tally.verdicts[Verdict.BEST_FOUND] + tally.verdicts[Verdict.GAVE_UP]:
        rows.insert(1, ("moves, no plan under", tally.bounds))
    for name, counter in rows:
        if counter:
            figures = (at_or_under(counter, _MEDIAN), at_or_under(counter, _ONE_IN_TEN), max(counter))
            table.add_row(name, *map(str, figures))
    return table


def _lines(puzzle: Puzzle, found: Study) -> list[str]:
    """What else there is to say."""
    tally = found.tally
    cars = (
        f"Cars: {tally.arrived} brought and {tally.picked_up} to be picked up, {tally.rolled_over} of them "
        f"rolled over from an earlier session; {tally.waiting} waits for room; {tally.turned_away} asked for "
        "when no place was free."
    )
    repeats = tally.sessions - found.solved
    lines = [
        "",
        *minutes_lines(puzzle, tally),
        "Couplings and cuts are those of the plans found, not proved to be the fewest.",
        *_effort_lines(tally),
        cars,
        f"A season has {SEASON} sessions, one after the other. {counted(repeats, 'session')} "
        f"{'was' if repeats == 1 else 'were'} known from a like one or from the file of rows.",
    ]
    if tally.sessions_left_over:
        most = "the most that can be done, proved"
        if tally.sessions_not_most:
            most = f"in {tally.sessions_not_most} of them it is not proved that no more can be done"
        lines.append(
            f"{counted(tally.sessions_left_over, 'session')} with cars left over "
            f"({counted(tally.left_over, 'car')}): {most}."
        )
    if tally.verdicts[Verdict.GAVE_UP]:
        lines.append("Without a plan in time: not among the moves, couplings and cuts above.")
    return lines


def _effort_lines(tally: Tally) -> list[str]:
    """Chore or puzzle, of the plans found: sessions by their trips around, and running light."""
    light = tally.light_share
    if light is None:
        return []
    spread = ", ".join(f"{trips} in {tally.trips[trips]}" for trips in sorted(tally.trips))
    spell = counted(at_or_under(tally.spells, _MEDIAN), "move")
    among = tally.shuttles.total() - tally.shuttles[0]
    most = max(tally.shuttles, default=0)
    shuttles = f"repeated shuttles in {among}, {most} at most" if most else "no repeated shuttle"
    return [
        f"Chore or puzzle, by the same plans: trips around: {spread} sessions; {shuttles}; "
        f"longest spell without a car done: {spell} or fewer in half of them, {max(tally.spells)} at most; "
        f"{100 * light:.0f} % of the distance run light.",
        _forced_text(tally),
    ]


def _forced_text(tally: Tally) -> str:
    """Forced moves: of how many moves, in how many sessions; and where they are not told."""
    told, plans = tally.forced.total(), tally.moves.total()
    if not told:
        return "Forced moves, at which no plan with the fewest has a choice: not told of any session."
    number = sum(forced * sessions for forced, sessions in tally.forced.items())
    share = 100 * number / tally.forced_among if tally.forced_among else 0.0
    median = at_or_under(tally.forced, _MEDIAN)
    rest = "" if told == plans else f"; not told of {counted(plans - told, 'session')}"
    return (
        f"Forced moves, at which no plan with the fewest has a choice: {median} or fewer in half of "
        f"{counted(told, 'session')}, {max(tally.forced)} at most, {share:.0f} % of their moves{rest}."
    )


def _hardest_lines(hardest: list[Played], files: list[str]) -> list[str]:
    """The hardest sessions, with their files or what they bring."""
    lines = ["", "The hardest:"] if hardest else []
    for place, played in enumerate(hardest):
        row = played.row
        left = f", left over {', '.join(row.left_over)}" if row.left_over else ""
        work = f"{len(row.arrived)} brought, {len(row.picked_up)} to be picked up{left}"
        where = f": {files[place]}" if files else ""
        assert row.moves is not None
        gap = "" if row.verdict is Verdict.PROVED else f" (cannot be under {row.bound})"
        moves = f"{counted(row.moves, 'move')}{gap}"
        lines.append(f"  season {row.season}, session {row.session}: {moves}; {work}{where}")
    return lines
