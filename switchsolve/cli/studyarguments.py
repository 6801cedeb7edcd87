"""Arguments of the commands that ask many questions: of sessions, of other arrangements, of a club's log."""

from __future__ import annotations

import argparse

__all__ = ["add_calibrate", "add_compare", "add_design", "add_questions", "add_study"]


def add_study(study: argparse.ArgumentParser) -> None:
    """The arguments of ``study``."""
    study.add_argument("file", metavar="FILE", help="a puzzle file with a section [traffic]")
    study.add_argument("--sessions", type=int, default=100, metavar="N", help="how many (default 100)")
    study.add_argument("--seed", type=int, default=1, metavar="S", help="of all that is drawn (default 1)")
    study.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
    study.add_argument(
        "--limit-seconds", type=float, default=60, metavar="N", help="for each session (default 60)"
    )
    study.add_argument(
        "--rows", metavar="FILE", help="add each session to FILE as it comes, and go on where FILE ends"
    )
    study.add_argument("--hardest", metavar="DIR", help="write the hardest sessions to DIR as puzzle files")
    study.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    _add_shared_work(study)


def add_compare(compare: argparse.ArgumentParser) -> None:
    """The arguments of ``compare``."""
    compare.add_argument("files", nargs="+", metavar="FILE", help="with its [[variants]]; two or more in all")
    compare.add_argument("--sessions", type=int, metavar="N", help="of [traffic] (default 100)")
    compare.add_argument("--seed", type=int, metavar="S", help="of all that is drawn (default 1)")
    compare.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
    compare.add_argument(
        "--limit-seconds", type=float, default=60, metavar="N", help="for each session (default 60)"
    )
    compare.add_argument(
        "--no-crew", action="store_true", help="moves only: no plain crew and no minutes, in half the time"
    )
    compare.add_argument(
        "--rows", metavar="DIR", help="add each session to files in DIR as it comes, and go on where they end"
    )
    compare.add_argument(
        "--hardest", metavar="DIR", help="write the sessions that differ most to DIR, as puzzle files"
    )
    compare.add_argument(
        "-o", "--output", metavar="OUT", help="write OUT, a page (.html) or the track plans alone (.svg)"
    )
    compare.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    _add_shared_work(compare)


def _add_shared_work(command: argparse.ArgumentParser) -> None:
    """Add ``--cluster`` and ``--plot`` to a command that solves many sessions."""
    command.add_argument(
        "--cluster", metavar="ADDRESS", help="solve on the workers of a Dask scheduler, not here"
    )
    command.add_argument("--plot", metavar="OUT", help="plot what comes out; OUT ends in .svg or .png")


def add_design(design: argparse.ArgumentParser) -> None:
    """The arguments of ``design``."""
    design.add_argument("file", metavar="FILE", help="a puzzle file with a section [design]")
    design.add_argument(
        "-o", "--output", metavar="DIR", help="write each arrangement to DIR, and all of them side by side"
    )
    design.add_argument("--most", type=int, default=3, metavar="N", help="stop at N of them (default 3)")
    design.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
    design.add_argument(
        "--rows", metavar="FILE", help="add each answer to FILE as it comes, and go on from what is there"
    )
    design.add_argument("--limit-seconds", type=float, metavar="N", help="stop after N seconds")
    design.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")


def add_questions(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Questions about a set-up that is not as it is: other rail, another order, another evening."""
    why = commands.add_parser("why", help="what makes the work long: each nuisance removed, solved again")
    blocking = commands.add_parser("blocking", help="the arriving train in every order: best, worst, average")
    blocking.add_argument("--yard", metavar="FILE", help="a yard: what it takes there to make up an order")
    blocking.add_argument("--seed", type=int, default=1, metavar="S", help="of orders drawn (default 1)")
    capacity = commands.add_parser("capacity", help="cars in so many minutes; longest trains to go around")
    capacity.add_argument("--minutes", type=float, metavar="N", help="how many of the cars in N minutes")
    capacity.add_argument(
        "--trips", type=int, default=2, metavar="N", help="trains up to N trips (default 2)"
    )
    for command in (why, blocking):
        command.add_argument(
            "--workers", type=int, metavar="N", help="processes (default: one for each core)"
        )
    for command in (why, blocking, capacity):
        command.add_argument("file", metavar="FILE")
        command.add_argument("--json", action="store_true", help="print the answer as JSON")
        command.add_argument("--limit-seconds", type=float, metavar="N", help="stop after N seconds")
        command.add_argument("--variant", metavar="NAME", help="of [[variants]] in FILE, instead of FILE")


def add_calibrate(calibrate: argparse.ArgumentParser) -> None:
    """The arguments of ``calibrate``."""
    calibrate.add_argument("file", metavar="LOG.csv", help="one row for each timed run (see DEVELOPERS.md)")
    calibrate.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    calibrate.add_argument("-o", "--output", metavar="TIMES.toml", help="write the table [times], too")
    calibrate.add_argument(
        "--limit-seconds", type=float, default=60, metavar="N", help="for the minimum of each puzzle file"
    )
