"""``switchsolve solve``: the verdict, the plan, the counts, the tightest place."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from fractions import Fraction
from textwrap import fill

from rich.text import Text

from switchsolve.cli.choices import choices_as_json, print_choices
from switchsolve.cli.codes import USAGE
from switchsolve.cli.effort import effort_as_json, figures_of
from switchsolve.cli.memory import most_bytes
from switchsolve.cli.minutes import Evening, evening_of
from switchsolve.cli.opening import opened
from switchsolve.cli.pictures import print_pictures
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.explaining import Explanation, explain
from switchsolve.lengths import format_length
from switchsolve.objectives import OBJECTIVES
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.solving import SEARCHES, Choice, choices, solve
from switchsolve.words import counted, counts_text, move_texts, tightest_text, verdict_text

__all__ = ["as_json", "run_solve"]


def run_solve(arguments: Namespace) -> int:
    """Solve one file and print the answer; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    table: tuple[Choice, ...] | None = None
    with Stop() as stop:
        seconds, memory = arguments.limit_seconds, most_bytes(arguments.limit_memory)
        try:
            if arguments.choices:
                solution, table = choices(
                    puzzle, seconds=seconds, most_bytes=memory, tell=Progress(), stop=stop
                )
            else:
                solution = solve(
                    puzzle,
                    objective=arguments.objective,
                    seconds=seconds,
                    search=arguments.search,
                    most_bytes=memory,
                    tell=Progress(),
                    stop=stop,
                )
        except ValueError as error:
            print(f"--search {arguments.search}: {error}", file=sys.stderr)
            return USAGE
        evening: Evening | None = None
        is_asked = arguments.crew or table or arguments.objective == "minutes" or puzzle.times.crew_ratio
        if is_asked and solution.counts is not None:
            each = min(30.0, seconds or 30.0)
            evening = evening_of(puzzle, solution.counts, seconds_each=each, tell=Progress(), stop=stop)
    explanation = None
    if solution.verdict is Verdict.IMPOSSIBLE and not arguments.no_explanation:
        try:
            explanation = explain(puzzle, seconds=arguments.limit_seconds or 60, tell=Progress())
        except KeyboardInterrupt:
            print("explaining: stopped by Ctrl-C", file=sys.stderr)
    if arguments.json:
        answer = as_json(puzzle, solution, explanation)
        answer["crew"] = None if evening is None else evening.as_json()
        if table is not None:
            answer["choices"] = choices_as_json(puzzle, table)
        print(json.dumps(answer, indent=2))
    else:
        _print(puzzle, solution, explanation, evening)
        if table:
            print_choices(puzzle, table, evening)
        if arguments.show:
            print()
            print_pictures(puzzle, solution.plan, ascii_only=arguments.ascii)
    return CODE_OF_VERDICT[solution.verdict]


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.search not in SEARCHES:
        wrong.append(f"--search {arguments.search}: it is one of {', '.join(SEARCHES)}")
    if arguments.objective not in OBJECTIVES:
        wrong.append(f"--objective {arguments.objective}: it is one of {', '.join(OBJECTIVES)}")
    other = "--choices" if arguments.choices else f"--objective {arguments.objective}"
    if arguments.search != "auto" and (arguments.choices or arguments.objective != "moves"):
        wrong.append(f"--search {arguments.search}: a search is named for moves only; leave {other} out")
    if arguments.choices and arguments.objective != "moves":
        wrong.append(f"--objective {arguments.objective}: --choices asks for every objective; leave one out")
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if arguments.limit_memory is not None and not arguments.limit_memory > 0:
        wrong.append(f"--limit-memory {arguments.limit_memory:g}: give MiB above zero")
    return wrong


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
        "objective": solution.objective,
        "value": counts.moves if counts and solution.objective == "moves" else _number(solution.value),
        "value_bound": _number(
            solution.lower_bound if solution.objective == "moves" else solution.value_bound
        ),
        "lower_bound": solution.lower_bound,
        "couplings_and_cuts_proved": solution.couplings_proved,
        "distance_proved": solution.distance_proved,
        "limit": solution.limit,
        "plan": _plan_rows(puzzle, solution),
        "effort": effort_as_json(puzzle, figures_of(puzzle, solution.plan)) if solution.plan else None,
        "tightest": None,
        "explanation": explanation.text if explanation else None,
        "choices": None,
        "crew": None,
        "stats": dict(solution.stats),
    }
    if solution.tightest is not None:
        answer["tightest"] = {
            "move": solution.tightest.move,
            "place": solution.tightest.place,
            "spare": solution.tightest.spare / puzzle.grid,
        }
    return answer


def _number(value: int | Fraction | None) -> int | float | None:
    """A count as it is, seconds as a decimal."""
    return float(value) if isinstance(value, Fraction) else value


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


def _print(
    puzzle: Puzzle, solution: Solution, explanation: Explanation | None, evening: Evening | None
) -> None:
    console = Screen()
    if puzzle.title:
        console.print(Text(puzzle.title, style="bold"))
    console.print(Text(_verdict(solution), style="bold"))
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
    for line in evening.lines() if evening is not None else ():
        console.print(Text(fill(line, 79, break_on_hyphens=False)))
    if explanation is not None:
        console.print(Text(explanation.text))


def _verdict(solution: Solution) -> str:
    if solution.objective != "moves" and solution.verdict is not Verdict.IMPOSSIBLE:
        return _verdict_by_figure(solution)
    return verdict_text(solution)


def _verdict_by_figure(solution: Solution) -> str:
    if solution.objective == "minutes":
        return _verdict_by_time(solution)
    if solution.verdict is Verdict.GAVE_UP:
        least = f"{solution.value_bound or 0} couplings and cuts"
        return f"Gave up: stopped by {solution.limit} before a plan was found; it cannot be under {least}."
    figure = f"{solution.value} couplings and cuts"
    if solution.verdict is Verdict.PROVED:
        return f"Proved minimum: {figure}."
    least = f"{solution.value_bound or 0} couplings and cuts"
    return f"Best found: {figure}, cannot be under {least}; the proof was stopped by {solution.limit}."


def _verdict_by_time(solution: Solution) -> str:
    """No minutes here: those of one plan alone are no crew's, the range comes below."""
    if solution.verdict is Verdict.GAVE_UP:
        return f"Gave up: stopped by {solution.limit} before a plan was found."
    if solution.verdict is Verdict.PROVED:
        return "Proved minimum: no plan takes less time by the file's figures."
    assert solution.value
    least = int(100 * (solution.value_bound or 0) / solution.value)
    return (
        f"Best found: no plan takes less than {least} % of its time by the file's figures; the proof was "
        f"stopped by {solution.limit}."
    )


def _counts(puzzle: Puzzle, solution: Solution) -> str:
    if solution.objective != "moves":
        return _counts_by_figure(puzzle, solution)
    return counts_text(puzzle, solution)


def _counts_by_figure(puzzle: Puzzle, solution: Solution) -> str:
    counts = solution.counts
    assert counts is not None
    moves = " (proved least for that figure)" if solution.moves_proved else ""
    distance = " (proved least)" if solution.distance_proved else ""
    return (
        f"{counted(counts.moves, 'move')}{moves}; "
        f"{counted(counts.couplings, 'coupling')} and {counted(counts.cuts, 'cut')}; "
        f"distance {format_length(counts.distance, puzzle)}{distance}; "
        f"{counted(counts.cars_moved, 'car')} moved; {counted(counts.turnouts_thrown, 'turnout')} thrown."
    )
