"""``switchsolve measure``: the work of every spot."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import BAD_FILE, BEST_FOUND, INTERRUPTED, OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.errors import SwitchsolveError
from switchsolve.lengths import format_length
from switchsolve.measuring.arrivals import Arrival, Task
from switchsolve.measuring.spots import Minimum, Row, SpotWork, measure_spots
from switchsolve.measuring.tables import check_parquet, record_of, turn_record, write_csv, write_parquet
from switchsolve.measuring.turns import Turn, TurnSpot, turn_of
from switchsolve.minutes import club_moves
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.study import cores
from switchsolve.work import Place

__all__ = ["run_measure", "work_as_json"]

_NOTE = (
    "Moves (a move is what a locomotive does between two reversals): the proved minimum, and in brackets "
    "what a plain crew takes. The train starts on the entrance track; with a car taken away it ends there. "
    "r: runs around; s: needs another dead end to reverse in with a car; i: with idlers; +2: so many more "
    "among the file's own cars; no: impossible (proved); full: no room for the car that is to stand there; "
    "?: not proved; (-): the crew gives up."
)
_THEN = ", then "
_NOTE_THEN = "Then: what it is among the file's own cars."


def run_measure(arguments: Namespace) -> int:
    """Measure one file; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    work = _measured(puzzle, arguments)
    if work.bench is None:
        cure = "add a locomotive under [locomotives], and a car, or a kind of car under [kinds]"
        print(f"{arguments.file}: nothing to measure the district by: {cure}", file=sys.stderr)
        return BAD_FILE
    if work.stopped is not None and not work.rows:
        print("interrupted before any row was done", file=sys.stderr)
        return INTERRUPTED
    records = [record_of(row) for row in work.rows]
    if arguments.csv:
        write_csv(Path(arguments.csv), records)
    if arguments.parquet:
        write_parquet(Path(arguments.parquet), records)
    if arguments.json:
        print(json.dumps(work_as_json(puzzle, work), indent=2))
    else:
        _Screen(Screen(), puzzle, work).show()
    is_whole = work.stopped is None and all(row.is_settled for row in work.rows)
    return OK if is_whole else BEST_FOUND


def _measured(puzzle: Puzzle, arguments: Namespace) -> SpotWork:
    """All rows, by the workers asked for."""
    with Stop() as stop:
        return measure_spots(
            puzzle,
            seconds_each=arguments.limit_seconds,
            workers=arguments.workers or cores(),
            tell=Progress(),
            stop=stop,
        )


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if arguments.workers is not None and arguments.workers < 1:
        wrong.append(f"--workers {arguments.workers}: give 1 or more")
    for option, name in (("--csv", arguments.csv), ("--parquet", arguments.parquet)):
        if name and not Path(name).absolute().parent.is_dir():
            wrong.append(f"{option} {name}: there is no folder {Path(name).parent}; make it first")
        elif name and Path(name).is_dir():
            wrong.append(f"{option} {name}: this is a folder; give the name of a file")
    if arguments.parquet:
        try:
            check_parquet()
        except SwitchsolveError as error:
            wrong.append(f"--parquet {arguments.parquet}: {error}")
    return wrong


def work_as_json(puzzle: Puzzle, work: SpotWork) -> dict[str, object]:
    """The documented, stable form of the answer."""
    assert work.bench is not None
    turns = [turn_of(work, task) for task in Task]
    return {
        "title": puzzle.title,
        "car": work.bench.kind,
        "locomotive": work.bench.locomotive.name,
        "neighbors": work.has_neighbors,
        "rows": [record_of(row) for row in work.rows],
        "rows_wanted": work.wanted,
        "stopped": work.stopped,
        "turns": [turn_record(turn) for turn in turns if turn is not None],
    }


class _Screen:
    """Prints the rows of one file, 80 columns wide."""

    def __init__(self, console: Console, puzzle: Puzzle, work: SpotWork) -> None:
        self._console = console
        self._puzzle = puzzle
        self._work = work

    def show(self) -> None:
        """Print all there is to say."""
        work, bench = self._work, self._work.bench
        assert bench is not None
        if self._puzzle.title:
            self._line(self._puzzle.title, "bold")
        car = f"{bench.kind} ({format_length(bench.car_length, self._puzzle)})"
        self._line(f"Work per spot, with {bench.locomotive.name} and cars like {car}.")
        if not work.places:
            self._line("There is no spot, and no track with a dead end.")
        if not work.entries:
            self._line("There is no entrance, and no track that the locomotive starts from.")
        for entry in work.entries:
            self._from_entrance([row for row in work.rows if row.arrival.entry == entry], entry.track)
        turn = turn_of(work, Task.EXCHANGE)
        if turn is not None:
            self._turn(turn)
        if work.rows:
            self._console.print()
            is_told = any(_THEN in _cell(row) for row in work.rows)
            self._line(f"{_NOTE} {_NOTE_THEN}" if is_told else _NOTE)
            self._club()
        if work.stopped is not None:
            self._line(f"Stopped by {work.stopped}: {len(work.rows)} of {work.wanted} rows are done.", "bold")

    def _club(self) -> None:
        """What the club's own crews make of each minimum that stands above, by the ratio of the file."""
        least = sorted({row.alone.proved for row in self._work.rows if row.alone.proved})
        spans = {moves: club_moves(self._puzzle, moves) for moves in least}
        told = [f"{span[0]} to {span[1]} for {moves}" for moves, span in spans.items() if span is not None]
        if told:
            self._line(f"By the club's own ratio a crew makes {', '.join(told)} moves of the minimum.")

    def _line(self, text: str, style: str = "") -> None:
        self._console.print(Text(text, style=style))

    def _from_entrance(self, rows: list[Row], entrance: str) -> None:
        if not rows:
            return
        table = _table(f"from {entrance}", "cars", "way in", *(task.value for task in Task))
        cells: dict[tuple[Place, Arrival], dict[Task, Row]] = {}
        for row in rows:
            cells.setdefault((row.place, row.arrival), {})[row.task] = row
        for (place, arrival), done in cells.items():
            way_in = _way_in(next(iter(done.values())).way_in)
            texts = [_cell(done[task]) if task in done else "" for task in Task]
            table.add_row(Text(str(place)), arrival.order, way_in, *texts)
        self._console.print()
        self._console.print(table)

    def _turn(self, turn: Turn) -> None:
        legs = [f"from {leg.entry.track}, cars {leg.order}" for leg in turn.legs]
        table = _table("a turn: exchange", "outbound", "homebound", "better")
        for spot in turn.spots:
            legs_of = (_or_none(spot.outbound), _or_none(spot.homebound))
            table.add_row(Text(str(spot.place)), *legs_of, _better(spot))
        totals = (_or_none(total) for total in (turn.outbound, turn.homebound, turn.split))
        table.add_row("all, one by one", *totals, style="bold")
        self._console.print()
        self._console.print(table)
        self._line(f"Outbound: {legs[0]}. Homebound: {legs[1]}.")


def _table(*heads: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for number, head in enumerate(heads):
        table.add_column(head, overflow="fold", ratio=None if number else 1)
    return table


def _way_in(moves: int | None) -> str:
    if moves is None:
        return "none"
    return {1: "facing", 2: "trailing"}.get(moves, f"{moves} moves")


def _cell(row: Row) -> str:
    text = _figure(row.alone)
    if row.among is None or row.added == 0 or _figure(row.among) == text:
        return text
    return f"{text} {row.added:+d}" if row.added is not None else f"{text}{_THEN}{_figure(row.among)}"


def _figure(one: Minimum) -> str:
    if one.verdict is None:
        return "full"
    if one.verdict is Verdict.IMPOSSIBLE:
        return "no"
    if one.verdict is not Verdict.PROVED:
        return f"{one.bound}?" if one.moves is None else f"{one.bound} to {one.moves}?"
    marks = {"r": one.runs_around, "s": one.switches_back, "i": one.idlers}
    crew = "-" if one.crew is None else str(one.crew)
    return " ".join([f"{one.moves} ({crew})", *(mark for mark, is_set in marks.items() if is_set)])


def _or_none(moves: int | None) -> str:
    return "-" if moves is None else str(moves)


def _better(spot: TurnSpot) -> str:
    return "-" if spot.better == "neither" else spot.better
