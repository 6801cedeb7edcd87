"""``switchsolve solve``: the verdict, the plan, the counts, the tightest place."""

from __future__ import annotations

import json
import signal
import sys
import threading
from argparse import Namespace
from textwrap import fill

from rich.console import Console
from rich.text import Text

from switchsolve.cli.codes import CODE_OF_VERDICT, USAGE
from switchsolve.cli.draw import print_pictures
from switchsolve.cli.progress import Progress
from switchsolve.explaining import Explanation, explain
from switchsolve.lengths import format_length
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.solving import SEARCHES, solve
from switchsolve.words import counted, move_texts, tightest_text, verdict_text

__all__ = ["as_json", "run_solve"]

_SHARE_OF_FREE = 0.7
"""Of the memory free at the start: what the search may take if nobody says otherwise."""


class _Stop:
    """Ctrl-C: the first one stops the search, which says what it has; the second one ends the program."""

    def __init__(self) -> None:
        self._is_asked = False
        self._before: object = None

    def __enter__(self) -> _Stop:
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._ask)
        return self

    def __exit__(self, *_: object) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, signal.default_int_handler)

    def _ask(self, *_: object) -> None:
        if self._is_asked:
            raise KeyboardInterrupt
        self._is_asked = True
        print("stopping; what there is follows (Ctrl-C again ends at once)", file=sys.stderr)

    def __call__(self) -> str | None:
        return "Ctrl-C" if self._is_asked else None


def run_solve(arguments: Namespace) -> int:
    """Solve one file and print the answer; returns the exit code."""
    if arguments.search not in SEARCHES:
        print(f"--search {arguments.search}: it is one of {', '.join(SEARCHES)}", file=sys.stderr)
        return USAGE
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        print(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero", file=sys.stderr)
        return USAGE
    if arguments.limit_memory is not None and not arguments.limit_memory > 0:
        print(f"--limit-memory {arguments.limit_memory:g}: give MiB above zero", file=sys.stderr)
        return USAGE
    puzzle = load(arguments.file)
    with _Stop() as stop:
        try:
            solution = solve(
                puzzle,
                seconds=arguments.limit_seconds,
                search=arguments.search,
                most_bytes=_most_bytes(arguments.limit_memory),
                tell=Progress(),
                stop=stop,
            )
        except ValueError as error:
            print(f"--search {arguments.search}: {error}", file=sys.stderr)
            return USAGE
    explanation = None
    if solution.verdict is Verdict.IMPOSSIBLE and not arguments.no_explanation:
        try:
            explanation = explain(puzzle, seconds=arguments.limit_seconds or 60, tell=Progress())
        except KeyboardInterrupt:
            print("explaining: stopped by Ctrl-C", file=sys.stderr)
    if arguments.json:
        print(json.dumps(as_json(puzzle, solution, explanation), indent=2))
    else:
        _print(puzzle, solution, explanation)
        if arguments.show:
            print()
            print_pictures(puzzle, solution.plan, ascii_only=arguments.ascii)
    return CODE_OF_VERDICT[solution.verdict]


def _most_bytes(mebibytes: float | None) -> int:
    """What the search may take: as asked, else most of the memory that is free now."""
    if mebibytes is not None:
        return int(mebibytes * 2**20)
    from psutil import virtual_memory

    return int(_SHARE_OF_FREE * virtual_memory().available)


def as_json(puzzle: Puzzle, solution: Solution, explanation: Explanation | None) -> dict[str, object]:
    """The documented, stable form of an answer."""
    counts = solution.counts
    answer: dict[str, object] = {
        "title": puzzle.title,
        "verdict": solution.verdict.value,
        "moves": counts.moves if counts else None,
        "reversals": counts.reversals if counts else None,
        "couplings": counts.couplings if counts else None,
        "cuts": counts.cuts if counts else None,
        "cars_moved": counts.cars_moved if counts else None,
        "turnouts_thrown": counts.turnouts_thrown if counts else None,
        "tables_turned": counts.tables_turned if counts else None,
        "distance": counts.distance / puzzle.grid if counts else None,
        "unit": puzzle.unit,
        "lower_bound": solution.lower_bound,
        "couplings_and_cuts_proved": solution.couplings_proved,
        "distance_proved": solution.distance_proved,
        "limit": solution.limit,
        "plan": _plan_rows(puzzle, solution),
        "tightest": None,
        "explanation": explanation.text if explanation else None,
        "stats": dict(solution.stats),
    }
    if solution.tightest is not None:
        answer["tightest"] = {
            "move": solution.tightest.move,
            "place": solution.tightest.place,
            "spare": solution.tightest.spare / puzzle.grid,
        }
    return answer


def _plan_rows(puzzle: Puzzle, solution: Solution) -> list[dict[str, object]] | None:
    if solution.plan is None:
        return None
    replayed = replay(puzzle, solution.plan)
    texts = move_texts(puzzle, solution.plan, replayed)
    rows: list[dict[str, object]] = []
    for number, run in enumerate(solution.plan.runs):
        frame = replayed.frames[number + 1]
        rows.append(
            {
                "locomotive": run.locomotive,
                "direction": "forward" if run.forward else "back",
                "text": texts[number],
                "enters": [way.cell.place for way in frame.entered],
                "couples": [list(names) for names in frame.coupled],
                "cuts": [list(names) for names in frame.cut],
            }
        )
    return rows


def _print(puzzle: Puzzle, solution: Solution, explanation: Explanation | None) -> None:
    console = Console(width=80, highlight=False, soft_wrap=False)
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    console.print(Text(verdict_text(solution), style="bold"))
    if solution.plan is not None and solution.counts is not None:
        replayed = replay(puzzle, solution.plan)
        console.print()
        for number, text in enumerate(move_texts(puzzle, solution.plan, replayed), 1):
            head = f"{number:3}  " if number <= len(solution.plan.runs) else "     "
            console.print(Text(fill(text, 79, initial_indent=head, subsequent_indent="     ")))
        console.print()
        console.print(Text(_counts(puzzle, solution)))
    if solution.tightest is not None:
        console.print(Text(tightest_text(puzzle, solution)))
    if explanation is not None:
        console.print(Text(explanation.text))


def _counts(puzzle: Puzzle, solution: Solution) -> str:
    counts = solution.counts
    assert counts is not None
    handling = "proved least" if solution.couplings_proved else "best found"
    distance = "proved least" if solution.distance_proved else "best found"
    return (
        f"{counted(counts.moves, 'move')} (a move is what a locomotive does between two reversals); "
        f"{counted(counts.couplings, 'coupling')} and {counted(counts.cuts, 'cut')} "
        f"({handling} for so many moves); distance {format_length(counts.distance, puzzle)} ({distance}); "
        f"{counted(counts.cars_moved, 'car')} moved; {counted(counts.turnouts_thrown, 'turnout')} thrown."
    )
