"""``switchsolve calibrate``: a club's own time figures, from its timed runs."""

from __future__ import annotations

import json
import math
import sys
from argparse import Namespace
from pathlib import Path
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, OK, USAGE
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.minutes import USUAL, Fit, TimedRun, fit, read_log, timed_runs, times_text
from switchsolve.words import counted

__all__ = ["run_calibrate"]

_NAMES = {
    "reading": "reading the list, once",
    "new_move": "a new move",
    "coupling": "a coupling",
    "cut": "a cut",
    "turnout": "a turnout thrown",
    "table": "a table lined",
    "running": "running",
    "failed_uncoupling": "a failed uncoupling",
}
_RANGE = (
    "Range: where the figure lies, 95 in 100 sure, from runs drawn anew out of this log. More runs make it "
    "narrower; a range that begins at 0 says that the figure may be nothing."
)
_NO_RANGE = "There are too few runs to say how well each figure is known: time some more."
_HAIR = 1e-6
"""Seconds: what a whole number may miss by rounding of fractions."""
_FEW = 10
"""Runs: with fewer of them nine in ten is no more than the slowest."""


def run_calibrate(arguments: Namespace) -> int:
    """Fit the figures to a log and print them; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    with Stop() as stop:
        rows = read_log(arguments.file)
        runs, unit = timed_runs(
            arguments.file, rows, seconds=arguments.limit_seconds, tell=Progress(), stop=stop
        )
    found = fit(runs)
    text = times_text(found, runs, unit)
    if arguments.output:
        try:
            Path(arguments.output).write_text(text, encoding="utf-8")
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            print(f"-o {arguments.output}: it cannot be written ({why}); name another file", file=sys.stderr)
            return USAGE
    if arguments.json:
        print(json.dumps(_as_json(found, runs, unit), indent=2))
    else:
        _print(found, runs, text)
    return BEST_FOUND if found.mixed else OK


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if arguments.output and not arguments.output.endswith(".toml"):
        wrong.append(f"-o {arguments.output}: give a name that ends in .toml")
    return wrong


def _as_json(found: Fit, runs: list[TimedRun], unit: str | None) -> dict[str, object]:
    """The documented, stable form of the answer."""
    ratio = found.ratio
    return {
        "unit": unit,
        "figures": found.seconds,
        "ranges": {name: list(ends) for name, ends in found.ranges.items()} or None,
        "missing": list(found.missing),
        "mixed": [list(group) for group in found.mixed],
        "explained": found.explained,
        "failed_share": found.failed_share,
        "crew_ratio": ratio
        and {"low": ratio.low, "middle": ratio.middle, "high": ratio.high, "runs": ratio.runs},
        "runs": [
            {
                "line": run.line,
                "seconds": timed,
                "fitted": fitted,
                "moves": None if "moves" not in run.counts else float(run.counts["moves"]),
                "minimum": run.minimum,
                "cars": run.cars,
            }
            for run, timed, fitted in zip(runs, found.timed, found.fitted, strict=True)
        ],
    }


# ---- the screen


def _print(found: Fit, runs: list[TimedRun], text: str) -> None:
    console = Screen()
    console.print(Text(f"{counted(len(runs), 'timed run')}: what things take here.", style="bold"))
    console.print()
    console.print(_table(found))
    for line in ("", *_lines(found, runs), "", "To paste into a puzzle file:", ""):
        console.print(Text(fill(line, 79, break_on_hyphens=False)))
    console.print(Text(text.rstrip()))


def _table(found: Fit) -> Table:
    """The figures in whole seconds."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("")
    table.add_column("seconds", justify="right")
    if found.ranges:
        table.add_column("range", justify="right")
    table.add_column("")
    mixed = {name for group in found.mixed for name in group}
    for name, seconds in found.seconds.items():
        told = "not told apart, see below" if name in mixed else "" if seconds else "no time of its own"
        times = 100 if name == "running" else 1
        if name == "running":
            told = f"for 100 of the layout's unit{', ' + told if told else ''}"
        ends = [_range_text(found, name, times)] if found.ranges else []
        table.add_row(_NAMES[name], f"{times * seconds:.0f}", *ends, told)
    return table


def _range_text(found: Fit, name: str, times: int) -> str:
    """Whole seconds, outwards; nothing for what cannot be told from others."""
    if any(name in group for group in found.mixed):
        return ""
    low, high = found.ranges[name]
    return f"{math.floor(times * low + _HAIR)} to {math.ceil(times * high - _HAIR)}"


def _lines(found: Fit, runs: list[TimedRun]) -> list[str]:
    """How good the fit is, and what the log cannot tell."""
    lines = [_how_near(found), _RANGE if found.ranges else _NO_RANGE]
    if found.ratio is not None:
        lines.append(_ratio_line(found))
    else:
        lines.append(
            "The crew's moves beside the minimum are not in the log: count `moves`, and give `minimum` or "
            "`puzzle`."
        )
    for group in found.mixed:
        names = ", ".join(_NAMES[name] for name in group[:-1]) + f" and {_NAMES[group[-1]]}"
        lines.append(
            f"Take care: this log cannot tell apart {names}; they come together in every run. Their sum "
            "holds for runs like these, each alone means nothing. Time runs that differ in just these."
        )
    if found.missing:
        names = ", ".join(_NAMES[name] for name in found.missing)
        lines.append(f"Not in the log, so inside the other figures: {names}.")
    odd = [run for run in runs if run.cars and not USUAL[0] <= run.seconds / run.cars <= USUAL[1]]
    if odd:
        lines.append(
            f"{counted(len(odd), 'run')} outside one and a half to five real minutes a car, which is unusual "
            f"(common practice, no source): line {', '.join(str(run.line) for run in odd)} of the log."
        )
    return lines


def _how_near(found: Fit) -> str:
    """How far the runs are from the fit, in whole minutes."""
    misses = sorted(abs(miss) for miss in found.misses)
    half, worst = misses[(len(misses) - 1) // 2], misses[-1]
    near = f"Half of the runs lie within {_within(half)} of these figures, all within {_within(worst)}."
    if found.explained is None:
        return near
    return f"{near} The figures explain {max(0, round(100 * found.explained))} % of what the times differ by."


def _within(seconds: float) -> str:
    """Whole minutes, rounded up."""
    return counted(max(1, int(-(-seconds // 60))), "minute")


def _ratio_line(found: Fit) -> str:
    ratio = found.ratio
    assert ratio is not None
    runs = counted(ratio.runs, "run")
    few = f" With {runs} the ends are hardly known: ten would do." if ratio.runs < _FEW else ""
    low, middle, high = (_or_under(one) for one in (ratio.low, ratio.middle, ratio.high))
    return (
        f"Moves of the crew for each 10 of the minimum: half the runs {middle}, one in ten {low}, nine in "
        f"ten {high}.{few}"
    )


def _or_under(ratio: float) -> str:
    """Whole moves for ten of the minimum, rounded up so that the words stay true."""
    return f"{math.ceil(10 * ratio - _HAIR)} or under"
