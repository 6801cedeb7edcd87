"""Arguments, and which command does what."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from switchsolve.cli.arguments import add_print_commands, add_shared_work, add_survey
from switchsolve.cli.codes import BAD_FILE, INTERRUPTED, OK
from switchsolve.cli.sessionarguments import add_session
from switchsolve.errors import FileError

__all__ = ["main"]

EPILOG = """exit codes: 0 proved minimum (check: all well; census: counted; lengths, measure: all proved;
walk: ended by Ctrl-C),
10 best found (compare, design, lengths, measure, study: not all proved), 11 impossible,
12 gave up (census: refused), 13 a standard is not met, 3 a file is badly written,
2 wrong arguments, 130 interrupted.
A move is what a locomotive does between two reversals. For models only, never for real train
movements."""


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
    census = commands.add_parser(
        "census", help="how many standings lie how many moves from the work done; how many minimum plans"
    )
    census.add_argument("file", metavar="FILE")
    form = census.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    form.add_argument(
        "--example", action="store_true", help="print a farthest standing as a puzzle file, and nothing else"
    )
    census.add_argument(
        "--plans", action="store_true", help="count the different minimum plans of the file instead"
    )
    census.add_argument(
        "--most",
        type=int,
        metavar="N",
        help="refuse more than N clear standings (default 50000), or looks at more than 20 N standings",
    )
    solve.add_argument("--crew", action="store_true", help="with a plain crew's moves, and minutes")
    solve.add_argument("--show", action="store_true", help="draw the district, and where each move ends")
    solve.add_argument("--ascii", action="store_true", help="draw with plain letters")
    check.add_argument("--ascii", action="store_true", help="draw with plain letters")
    draw = commands.add_parser("draw", help="the district as a picture, on the screen or in a file")
    draw.add_argument("file", metavar="FILE")
    draw.add_argument("-o", "--output", metavar="OUT", help="write OUT, which ends in .svg or .png")
    lengths = draw.add_mutually_exclusive_group()
    lengths.add_argument("--to-scale", action="store_true", help="tracks as long as they are (the default)")
    lengths.add_argument("--even", action="store_true", help="all tracks alike")
    draw.add_argument("--plan", action="store_true", help="solve it, and draw where each move ends")
    draw.add_argument("--limit-seconds", type=float, metavar="N", help="with --plan: stop the search after N")
    draw.add_argument("--terminal", action="store_true", help="on the screen too, if -o is given")
    draw.add_argument("--ascii", action="store_true", help="on the screen with plain letters")
    study = commands.add_parser("study", help="many drawn sessions, each solved: how much work there is")
    _add_study(study)
    compare = commands.add_parser("compare", help="arrangements side by side, with the same traffic")
    _add_compare(compare)
    for one in (study, compare):
        add_shared_work(one)
    paper = commands.add_parser("paper", help="a switch list to print, with the solution on a second sheet")
    paper.add_argument("file", metavar="FILE")
    paper.add_argument("-o", "--output", metavar="OUT", required=True, help="write OUT, which ends in .html")
    paper.add_argument("--no-solution", action="store_true", help="the switch list only; nothing is solved")
    paper.add_argument("--limit-seconds", type=float, metavar="N", help="stop the search after N seconds")
    paper.add_argument(
        "--no-explanation",
        action="store_true",
        help="do not look for what would make impossible work possible",
    )
    buys = commands.add_parser("lengths", help="what more or less rail does to the fewest moves, by track")
    buys.add_argument("file", metavar="FILE")
    buys.add_argument(
        "--track", action="append", metavar="NAME", help="this track only; may be given several times"
    )
    buys.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    buys.add_argument("--csv", metavar="PATH", help="write one row for each step to this file as well")
    buys.add_argument(
        "--limit-seconds", type=float, metavar="N", help="stop after N seconds, shared out among the tracks"
    )
    page = commands.add_parser("replay", help="a web page, one file, that plays the plan")
    page.add_argument("file", metavar="FILE")
    page.add_argument("-o", "--output", metavar="OUT", required=True, help="write OUT, which ends in .html")
    page.add_argument("--limit-seconds", type=float, metavar="N", help="stop the search after N seconds")
    page.add_argument(
        "--no-explanation",
        action="store_true",
        help="do not look for what would make impossible work possible",
    )
    measure = commands.add_parser("measure", help="the work of every spot: proved minima, and a plain crew")
    _add_measure(measure)
    yard = commands.add_parser("yard", help="an arriving cut into blocks: tracks, passes, moves on the lead")
    yard.add_argument("file", nargs="?", metavar="FILE", help="a yard whose locomotive stands with the cut")
    yard.add_argument("--cut", metavar="BLOCKS", help="instead: the block of each car, from the locomotive")
    yard.add_argument("--blocks", metavar="BLOCKS", help="the order wanted (default: any)")
    yard.add_argument("--tracks", type=int, metavar="N", help="with --cut: how many tracks there are")
    yard.add_argument("--limit-seconds", type=float, metavar="N", help="stop the search for moves after N")
    _add_design(
        commands.add_parser("design", help="the arrangements of track that fulfill the wishes of a file")
    )
    walk = commands.add_parser("walk", help="work the district by hand, on a page in the browser")
    walk.add_argument("file", metavar="FILE")
    walk.add_argument("--port", type=int, default=0, metavar="N", help="serve on this port (default: any)")
    walk.add_argument("--no-browser", action="store_true", help="only print the address of the page")
    walk.add_argument(
        "--limit-seconds", type=float, default=20, metavar="N", help="for each look ahead (default 20)"
    )
    walk.add_argument(
        "--proof-seconds", type=float, default=300, metavar="N", help="for the minimum (default 300)"
    )
    add_session(commands.add_parser("session", help="a whole layout: cars and crews, session by session"))
    setups, kit = add_print_commands(commands)
    survey = commands.add_parser("survey", help="two printed pages on a district, for its owner")
    add_survey(survey)
    _add_questions(commands)
    for one in (solve, census, draw, study, paper, buys, page, measure, yard, walk, setups, kit, survey):
        one.add_argument("--variant", metavar="NAME", help="of [[variants]] in FILE, instead of FILE itself")
    _add_calibrate(commands.add_parser("calibrate", help="your own time figures, from a log of timed runs"))
    commands.add_parser("schema", help="print the JSON Schema of puzzle files, for editors")
    return parser


def _add_questions(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
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
    for command in (why, blocking, capacity):
        command.add_argument("file", metavar="FILE")
        command.add_argument("--json", action="store_true", help="print the answer as JSON")
        command.add_argument("--limit-seconds", type=float, metavar="N", help="stop after N seconds")
        command.add_argument("--variant", metavar="NAME", help="of [[variants]] in FILE, instead of FILE")


def _add_study(study: argparse.ArgumentParser) -> None:
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


def _add_design(design: argparse.ArgumentParser) -> None:
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


def _add_compare(compare: argparse.ArgumentParser) -> None:
    compare.add_argument("files", nargs="+", metavar="FILE", help="with its [[variants]]; two or more in all")
    compare.add_argument("--sessions", type=int, metavar="N", help="of [traffic] (default 100)")
    compare.add_argument("--seed", type=int, metavar="S", help="of all that is drawn (default 1)")
    compare.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
    compare.add_argument(
        "--limit-seconds", type=float, default=60, metavar="N", help="for each session (default 60)"
    )
    compare.add_argument(
        "--hardest", metavar="DIR", help="write the sessions that differ most to DIR, as puzzle files"
    )
    compare.add_argument(
        "-o", "--output", metavar="OUT", help="write OUT, a page (.html) or the track plans alone (.svg)"
    )
    compare.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")


def _add_measure(measure: argparse.ArgumentParser) -> None:
    measure.add_argument("file", metavar="FILE")
    measure.add_argument("--json", action="store_true", help="print everything as JSON (see DEVELOPERS.md)")
    measure.add_argument("--csv", metavar="FILE", help="write the rows to FILE, too")
    measure.add_argument("--parquet", metavar="FILE", help="the same as Parquet (needs switchsolve[tables])")
    measure.add_argument(
        "--limit-seconds", type=float, default=20.0, metavar="N", help="for one question (default: 20)"
    )


def _add_calibrate(calibrate: argparse.ArgumentParser) -> None:
    calibrate.add_argument("file", metavar="LOG.csv", help="one row for each timed run (see DEVELOPERS.md)")
    calibrate.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
    calibrate.add_argument("-o", "--output", metavar="TIMES.toml", help="write the table [times], too")
    calibrate.add_argument(
        "--limit-seconds", type=float, default=60, metavar="N", help="for the minimum of each puzzle file"
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    arguments = _parser().parse_args(argv)
    try:
        if arguments.command == "schema":
            import json

            from switchsolve.puzzlefile import json_schema

            print(json.dumps(json_schema(), indent=2))
            return OK
        if arguments.command == "solve":
            from switchsolve.cli.solve import run_solve

            return run_solve(arguments)
        if arguments.command == "census":
            from switchsolve.cli.census import run_census

            return run_census(arguments)
        if arguments.command == "draw":
            from switchsolve.cli.draw import run_draw

            return run_draw(arguments)
        if arguments.command == "study":
            from switchsolve.cli.study import run_study

            return run_study(arguments)
        if arguments.command == "compare":
            from switchsolve.cli.compare import run_compare

            return run_compare(arguments)
        if arguments.command == "paper":
            from switchsolve.cli.paper import run_paper

            return run_paper(arguments)
        if arguments.command == "lengths":
            from switchsolve.cli.lengths import run_lengths

            return run_lengths(arguments)
        if arguments.command == "replay":
            from switchsolve.cli.replay import run_replay

            return run_replay(arguments)
        if arguments.command == "measure":
            from switchsolve.cli.measure import run_measure

            return run_measure(arguments)
        if arguments.command == "yard":
            from switchsolve.cli.yard import run_yard

            return run_yard(arguments)
        if arguments.command == "session":
            from switchsolve.cli.session import run_session

            return run_session(arguments)
        if arguments.command == "design":
            from switchsolve.cli.design import run_design

            return run_design(arguments)
        if arguments.command == "walk":
            from switchsolve.cli.walk import run_walk

            return run_walk(arguments)
        if arguments.command == "kit":
            from switchsolve.cli.kit import run_kit

            return run_kit(arguments)
        if arguments.command == "sheets":
            from switchsolve.cli.sheets import run_sheets

            return run_sheets(arguments)
        if arguments.command == "setups":
            from switchsolve.cli.setups import run_setups

            return run_setups(arguments)
        if arguments.command == "survey":
            from switchsolve.cli.survey import run_survey

            return run_survey(arguments)
        if arguments.command == "why":
            from switchsolve.cli.why import run_why

            return run_why(arguments)
        if arguments.command == "blocking":
            from switchsolve.cli.blocking import run_blocking

            return run_blocking(arguments)
        if arguments.command == "capacity":
            from switchsolve.cli.capacity import run_capacity

            return run_capacity(arguments)
        if arguments.command == "calibrate":
            from switchsolve.cli.calibrate import run_calibrate

            return run_calibrate(arguments)
        from switchsolve.cli.check import run_check

        return run_check(arguments.files, ascii_only=arguments.ascii)
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return BAD_FILE
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return INTERRUPTED
