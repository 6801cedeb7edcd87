"""Arguments, and which command does what."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence

from switchsolve.cli.codes import BAD_FILE, INTERRUPTED, OK
from switchsolve.errors import FileError

__all__ = ["main"]

EPILOG = """exit codes: 0 proved minimum (check: all well; measure: all proved), 10 best found (measure: not
all proved), 11 impossible, 12 gave up, 13 a standard is not met, 3 a file is badly written, 2 wrong
arguments, 130 interrupted.
A move is what a locomotive does between two reversals. For models only, never for real train movements."""


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="switchsolve",
        description="Fewest locomotive moves, proved, for model-railroad switching districts.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(dest="command", required=True)
    check = commands.add_parser("check", help="every problem of each file, then what the district can do")
    check.add_argument("files", nargs="+", metavar="FILE")
    solve = commands.add_parser("solve", help="the fewest moves that do the work, with proof and plan")
    solve.add_argument("file", metavar="FILE")
    solve.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    solve.add_argument(
        "--objective",
        default="moves",
        metavar="NAME",
        help='what is to be least: "moves" (default), "couplings and cuts", or "minutes"',
    )
    solve.add_argument(
        "--choices",
        action="store_true",
        help="a short table of plans that trade moves against couplings and cuts, time, cars and distance",
    )
    solve.add_argument("--search", default="auto", metavar="NAME", help="one search by name, for study")
    solve.add_argument(
        "--limit-seconds", type=float, metavar="N", help="stop the search for moves after N seconds"
    )
    solve.add_argument(
        "--limit-memory",
        type=float,
        metavar="MIB",
        help="stop before the standings kept take more (default: most of what is free)",
    )
    solve.add_argument(
        "--no-explanation",
        action="store_true",
        help="do not look for what would make impossible work possible",
    )
    measure = commands.add_parser("measure", help="the work of every spot: proved minima, and a plain crew")
    _add_measure(measure)
    commands.add_parser("schema", help="print the JSON Schema of puzzle files, for editors")
    return parser


def _add_measure(measure: argparse.ArgumentParser) -> None:
    measure.add_argument("file", metavar="FILE")
    measure.add_argument("--json", action="store_true", help="print everything as JSON (see DEVELOPERS.md)")
    measure.add_argument("--csv", metavar="FILE", help="write the rows to FILE, too")
    measure.add_argument("--parquet", metavar="FILE", help="the same as Parquet (needs switchsolve[tables])")
    measure.add_argument(
        "--limit-seconds", type=float, default=20.0, metavar="N", help="for one question (default: 20)"
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    arguments = _parser().parse_args(argv)
    try:
        if arguments.command == "schema":
            from switchsolve.puzzlefile import json_schema

            print(json.dumps(json_schema(), indent=2))
            return OK
        if arguments.command == "solve":
            from switchsolve.cli.solve import run_solve

            return run_solve(arguments)
        if arguments.command == "measure":
            from switchsolve.cli.measure import run_measure

            return run_measure(arguments)
        from switchsolve.cli.check import run_check

        return run_check(arguments.files)
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return BAD_FILE
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return INTERRUPTED
