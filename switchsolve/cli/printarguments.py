"""Arguments of the commands that make something to print: set-ups, work sheets, table kits, the survey."""

from __future__ import annotations

import argparse

__all__ = ["add_print_commands", "add_survey"]


def add_print_commands(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
) -> tuple[argparse.ArgumentParser, argparse.ArgumentParser]:
    """Add ``setups``, ``sheets`` and ``kit``; returns those that take one file: ``setups`` and ``kit``."""
    sheets = commands.add_parser("sheets", help="work sheets to print, the solutions on sheets of their own")
    sheets.add_argument("files", nargs="+", metavar="FILE")
    sheets.add_argument("-o", "--output", metavar="OUT", required=True, help="write OUT, which ends in .html")
    sheets.add_argument(
        "--limit-seconds", type=float, default=60.0, metavar="N", help="for each file (default: 60)"
    )
    kit = commands.add_parser("kit", help="the district at the size of the model on sheets, cars to cut out")
    kit.add_argument("file", metavar="FILE")
    kit.add_argument("-o", "--output", metavar="OUT", required=True, help="write OUT, which ends in .html")
    kit.add_argument("--paper", choices=("a4", "letter"), default="letter", help="(default: letter)")
    setups = commands.add_parser("setups", help="set-ups by difficulty: graded, twins, the hardest")
    _add_setups(setups)
    return setups, kit


def _add_setups(setups: argparse.ArgumentParser) -> None:
    setups.add_argument("file", metavar="FILE")
    setups.add_argument("--count", type=int, default=6, metavar="N", help="how many (default 6)")
    setups.add_argument("--seed", type=int, default=1, metavar="S", help="of all that is drawn (default 1)")
    form = setups.add_mutually_exclusive_group()
    form.add_argument("--hardest", action="store_true", help="the hardest one instead")
    form.add_argument(
        "--twins", action="store_true", help="a gentle and a nasty one with the same cars, places and work"
    )
    setups.add_argument("--spot", type=int, metavar="N", help="cars to spot (default: as in the file)")
    setups.add_argument("--pick-up", type=int, metavar="N", help="cars to pick up (default: as in the file)")
    setups.add_argument(
        "--tries", type=int, metavar="N", help="draw so many (default: 4 for each shown, 24 or more)"
    )
    setups.add_argument("-o", "--output", metavar="DIR", help="write them to DIR as puzzle files")
    setups.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    setups.add_argument(
        "--limit-seconds", type=float, default=30.0, metavar="N", help="for each set-up (default: 30)"
    )


def add_survey(survey: argparse.ArgumentParser) -> None:
    """The arguments of ``survey``."""
    survey.add_argument("file", metavar="FILE")
    survey.add_argument("-o", "--output", metavar="OUT", required=True, help="write OUT, which ends in .html")
    survey.add_argument(
        "--sessions", type=int, default=20, metavar="N", help="of [traffic], 0 for none (default 20)"
    )
    survey.add_argument("--seed", type=int, default=1, metavar="S", help="of all that is drawn (default 1)")
    survey.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
    survey.add_argument(
        "--limit-seconds", type=float, default=30.0, metavar="N", help="for each of five parts (default: 30)"
    )
