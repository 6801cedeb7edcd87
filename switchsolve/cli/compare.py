"""``switchsolve compare``: arrangements side by side, and the answer in one sentence."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Sequence
from concurrent.futures import BrokenExecutor
from pathlib import Path
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.clusters import executor_of, lost, wrong_workers
from switchsolve.cli.codes import BEST_FOUND, INTERRUPTED, OK, USAGE
from switchsolve.cli.compare_tables import (
    farthest_lines,
    json_of_sessions,
    json_of_set_ups,
    sheet_of_sessions,
    sheet_of_set_ups,
)
from switchsolve.cli.plots import comparison_panels, written_plot, wrong_plot
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.comparing import Case, Compared, Comparison, cases_of, compare, compare_once
from switchsolve.comparing.sheet import Sheet, page_html, pictures_svg
from switchsolve.errors import DrawingError, FileError, Problem
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, load
from switchsolve.study import ClusterError, RowsError

__all__ = ["run_compare"]

_ENDINGS = (".html", ".svg")
_TRAFFIC_ONLY = ("sessions", "seed", "workers", "cluster", "hardest", "rows", "plot")
_SESSIONS, _SEED = 100, 1
_LOST = "with --rows DIR the same command goes on where it stopped"


def run_compare(arguments: Namespace) -> int:
    """Compare the files and their variants; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    cases = cases_of(_loaded(arguments.files))
    if len(cases) < 2:
        cure = "name a second file, or add [[variants]] (see DEVELOPERS.md, the puzzle file)"
        raise FileError(
            [Problem(arguments.files[0], "variants", "", "there is nothing to compare it with", cure)]
        )
    if any(case.puzzle.traffic is not None for case in cases):
        return _by_sessions(cases, arguments)
    given = [f"--{name}" for name in _TRAFFIC_ONLY if getattr(arguments, name) is not None]
    if given:
        print(f"{', '.join(given)}: these files have no [traffic]; leave it out", file=sys.stderr)
        return USAGE
    return _by_set_up(cases, arguments)


def _loaded(files: Sequence[str]) -> list[tuple[str, Puzzle]]:
    """All files.  Raises ``FileError`` with the problems of all of them."""
    read: list[tuple[str, Puzzle]] = []
    problems: list[Problem] = []
    for file in files:
        try:
            read.append((file, load(file)))
        except FileError as error:
            problems += error.problems
    if problems:
        raise FileError(problems)
    return read


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    for name, least in (("sessions", 1), ("seed", 0)):
        value = getattr(arguments, name)
        if value is not None and value < least:
            wrong.append(f"--{name} {value}: give {least} or more")
    wrong += wrong_workers(arguments)
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a number above zero")
    if arguments.output is not None and Path(arguments.output).suffix.lower() not in _ENDINGS:
        wrong.append(f"-o {arguments.output}: name a file that ends in {' or '.join(_ENDINGS)}")
    if arguments.rows is not None and Path(arguments.rows).is_file():
        wrong.append(f"--rows {arguments.rows}: this is a file; name a folder")
    return wrong + wrong_plot(arguments)


def _by_sessions(cases: Sequence[Case], arguments: Namespace) -> int:
    """Compare by the traffic."""
    try:
        found = _found(cases, arguments)
    except RowsError as error:
        told = str(error).replace("name another file", "name another folder")  # which has one for each
        print(f"--rows {told}", file=sys.stderr)
        return USAGE
    except ClusterError as error:
        print(f"--cluster {error}", file=sys.stderr)
        return USAGE
    except BrokenExecutor:  # killed from outside, or out of memory
        print(f"{lost(arguments)}; {_LOST}", file=sys.stderr)
        return INTERRUPTED
    if not found.sessions:
        raise KeyboardInterrupt
    try:
        files = _write_farthest(found, arguments.hardest)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        print(f"--hardest {arguments.hardest}: it cannot be written ({why}); name another folder",
              file=sys.stderr)  # fmt: skip
        return USAGE
    seed = _SEED if arguments.seed is None else arguments.seed
    sheet = sheet_of_sessions(found, seed)
    data = json_of_sessions(found, seed, files) if arguments.json else None
    is_plotted = written_plot(sheet.title, comparison_panels(found), arguments.plot)
    if not _shown(cases, sheet, farthest_lines(found, files), data, arguments.output):
        return USAGE
    if not is_plotted:
        return USAGE
    if not found.is_complete:
        return INTERRUPTED
    return BEST_FOUND if any(one.not_decided for one in found.differences) else OK


def _found(cases: Sequence[Case], arguments: Namespace) -> Comparison:
    """The comparison, by the workers asked for."""
    with executor_of(arguments) as (executor, at_once):
        return compare(
            cases,
            _SESSIONS if arguments.sessions is None else arguments.sessions,
            _SEED if arguments.seed is None else arguments.seed,
            workers=arguments.workers,
            executor=executor,
            at_once=at_once,
            seconds=arguments.limit_seconds,
            with_crew=not arguments.no_crew,
            rows=_folder(arguments.rows),
            tell=Progress(),
        )


def _folder(rows: str | None) -> str | None:
    """The folder of rows, made if it is not there.  Raises ``RowsError`` if it cannot be."""
    if rows is not None:
        try:
            Path(rows).mkdir(parents=True, exist_ok=True)
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise RowsError(f"{rows}: it cannot be written ({why}); name another folder") from None
    return rows


def _by_set_up(cases: Sequence[Case], arguments: Namespace) -> int:
    """Compare the one set-up of each file."""
    with Stop() as stop:
        found = compare_once(
            cases,
            seconds=arguments.limit_seconds,
            with_crew=not arguments.no_crew,
            tell=Progress(),
            stop=stop,
        )
        stopped = stop() is not None
    data = json_of_set_ups(found) if arguments.json else None
    if not _shown(cases, sheet_of_set_ups(found), [], data, arguments.output):
        return USAGE
    return _code_of(found, stopped)


def _code_of(found: Sequence[Compared], stopped: bool) -> int:
    if all(one.solution.verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE) for one in found):
        return OK
    return INTERRUPTED if stopped and all(one.solution.plan is None for one in found) else BEST_FOUND


def _write_farthest(found: Comparison, folder: str | None) -> list[list[tuple[str, str]]]:
    """Write the sessions that differ most as pairs of puzzle files; returns their names."""
    if folder is None:
        return [[] for _ in found.farthest]
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    names: list[list[tuple[str, str]]] = []
    for number, some in enumerate(found.farthest):
        names.append([])
        for far in some:
            row = far.first.row
            pair = []
            for case, played in ((0, far.first), (number + 1, far.second)):
                stem = f"{_stem(found.cases[case].name)}_season_{row.season}_session_{row.session}.toml"
                (place / stem).write_text(dumps(played.puzzle), encoding="utf-8")
                pair.append(str(place / stem))
            names[-1].append((pair[0], pair[1]))
    return names


def _stem(name: str) -> str:
    """A name as part of a file's name."""
    return "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in name)


def _shown(
    cases: Sequence[Case], sheet: Sheet, lines: Sequence[str], data: str | None, output: str | None
) -> bool:
    """Print the answer and write the picture; whether that could be written."""
    if output is not None:
        try:
            is_picture = Path(output).suffix.lower() == ".svg"
            text = pictures_svg(cases) if is_picture else page_html(cases, sheet)
            Path(output).write_text(text, encoding="utf-8")
        except DrawingError as error:
            print(f"compare: {error}", file=sys.stderr)
            return False
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            print(f"-o {output}: it cannot be written ({why}); name another file", file=sys.stderr)
            return False
    if data is not None:
        print(data)
    else:
        _print(sheet, lines)
    return True


def _print(sheet: Sheet, lines: Sequence[str]) -> None:
    console = Screen()
    console.print(Text(fill(sheet.title, 79), style="bold"))
    for answer in sheet.answers:
        console.print(Text(fill(answer, 79, break_on_hyphens=False)))
    console.print()
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for place, head in enumerate(sheet.heads):
        table.add_column(head, justify="right" if place else "left", overflow="fold")
    for row in sheet.rows:
        table.add_row(*map(Text, row))
    console.print(table)
    for line in (*lines, *(("", *sheet.notes) if sheet.notes else ())):
        console.print(Text(fill(line, 79, subsequent_indent="  ", break_on_hyphens=False)))
