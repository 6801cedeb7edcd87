"""Arguments, and which command does what."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence

from switchsolve.cli.codes import BAD_FILE, INTERRUPTED, OK
from switchsolve.errors import FileError

__all__ = ["main"]

EPILOG = """exit codes: 0 proved minimum (check: all well; lengths: all proved),
10 best found (lengths: stopped), 11 impossible, 12 gave up, 13 a standard is not met,
3 a file is badly written, 2 wrong arguments, 130 interrupted.
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
    lengths = commands.add_parser("lengths", help="what more or less rail does to the fewest moves, by track")
    lengths.add_argument("file", metavar="FILE")
    lengths.add_argument(
        "--track", action="append", metavar="NAME", help="this track only; may be given several times"
    )
    lengths.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    lengths.add_argument("--csv", metavar="PATH", help="write one row for each step to this file as well")
    lengths.add_argument(
        "--limit-seconds", type=float, metavar="N", help="stop after N seconds, shared out among the tracks"
    )
    commands.add_parser("schema", help="print the JSON Schema of puzzle files, for editors")
    return parser


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
        if arguments.command == "lengths":
            from switchsolve.cli.lengths import run_lengths

            return run_lengths(arguments)
        from switchsolve.cli.check import run_check

        return run_check(arguments.files)
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return BAD_FILE
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return INTERRUPTED
