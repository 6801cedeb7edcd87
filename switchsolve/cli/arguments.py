"""The parser of all commands."""

from __future__ import annotations

import argparse

from switchsolve.cli.printarguments import add_print_commands, add_survey
from switchsolve.cli.sessionarguments import add_session
from switchsolve.cli.solvingarguments import add_paper_commands, add_solving_commands, add_yard_and_walk
from switchsolve.cli.studyarguments import add_calibrate, add_compare, add_design, add_questions, add_study

__all__ = ["parser"]

_EPILOG = """exit codes: 0 proved minimum (check: all well; census: counted; lengths,
measure: all proved; walk: ended by Ctrl-C), 10 best found (compare, design,
lengths, measure, study: not all proved), 11 impossible, 12 gave up (census:
refused), 13 a standard is not met, 3 a file is badly written, 2 wrong
arguments, 130 interrupted.
A move is what a locomotive does between two reversals. For models only, never
for real train movements."""


def parser() -> argparse.ArgumentParser:
    """A new one; which function runs a command is told by :mod:`switchsolve.cli.main`."""
    made = argparse.ArgumentParser(
        prog="switchsolve",
        description="Fewest locomotive moves, proved, for model-railroad switching districts.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = made.add_subparsers(dest="command", required=True, metavar="COMMAND", title="commands")
    of_one_file = add_solving_commands(commands)
    study = commands.add_parser("study", help="many drawn sessions, each solved: how much work there is")
    add_study(study)
    add_compare(commands.add_parser("compare", help="arrangements side by side, with the same traffic"))
    of_one_file += [study, *add_paper_commands(commands)]
    add_design(
        commands.add_parser("design", help="the arrangements of track that fulfill the wishes of a file")
    )
    of_one_file += add_yard_and_walk(commands)
    add_session(commands.add_parser("session", help="a whole layout: cars and crews, session by session"))
    of_one_file += add_print_commands(commands)
    survey = commands.add_parser("survey", help="two printed pages on a district, for its owner")
    add_survey(survey)
    add_questions(commands)
    for one in (*of_one_file, survey):
        one.add_argument("--variant", metavar="NAME", help="of [[variants]] in FILE, instead of FILE itself")
    add_calibrate(commands.add_parser("calibrate", help="your own time figures, from a log of timed runs"))
    schema = commands.add_parser("schema", help="print the JSON Schema of puzzle files, for editors")
    schema.add_argument("--layout", action="store_true", help="of layout files instead")
    return made
