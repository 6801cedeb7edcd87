"""Arguments of the commands that ask one question of one file: solve it, draw it, print it, measure it."""

from __future__ import annotations

import argparse

__all__ = ["add_paper_commands", "add_solving_commands", "add_yard_and_walk"]

Commands = argparse._SubParsersAction  # argparse has no public name for it


def add_solving_commands(commands: Commands[argparse.ArgumentParser]) -> list[argparse.ArgumentParser]:
    """Add ``check``, ``solve``, ``census`` and ``draw``; returns those that take one file."""
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
    census.add_argument(
        "--limit-seconds", type=float, metavar="N", help="refuse what takes more than N seconds"
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
    return [solve, census, draw]


def add_paper_commands(commands: Commands[argparse.ArgumentParser]) -> list[argparse.ArgumentParser]:
    """Add ``paper``, ``lengths``, ``replay`` and ``measure``, which take one file; returns them."""
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
        "--limit-seconds",
        type=float,
        metavar="N",
        help="stop after N seconds, shared out among the tracks (with --sessions: for each of them)",
    )
    buys.add_argument("--sessions", type=int, metavar="N", help="added up over N sessions of [traffic]")
    buys.add_argument("--seed", type=int, metavar="S", help="of the sessions drawn (default 1)")
    buys.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
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
    return [paper, buys, page, measure]


def add_yard_and_walk(commands: Commands[argparse.ArgumentParser]) -> list[argparse.ArgumentParser]:
    """Add ``yard`` and ``walk``, which take one file; returns them."""
    yard = commands.add_parser("yard", help="an arriving cut into blocks: tracks, passes, moves on the lead")
    yard.add_argument("file", nargs="?", metavar="FILE", help="a yard whose locomotive stands with the cut")
    what = 'instead: the block of each car, from the locomotive, as "QLV THB QLV"'
    yard.add_argument("--cut", metavar="BLOCKS", help=what)
    yard.add_argument("--blocks", metavar="BLOCKS", help="the order wanted (default: any)")
    yard.add_argument("--tracks", type=int, metavar="N", help="with --cut: how many tracks there are")
    yard.add_argument("--limit-seconds", type=float, metavar="N", help="stop the search for moves after N")
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
    return [yard, walk]


def _add_measure(measure: argparse.ArgumentParser) -> None:
    measure.add_argument("file", metavar="FILE")
    measure.add_argument("--json", action="store_true", help="print everything as JSON (see DEVELOPERS.md)")
    measure.add_argument("--csv", metavar="FILE", help="write the rows to FILE, too")
    measure.add_argument("--parquet", metavar="FILE", help="the same as Parquet (needs switchsolve[tables])")
    measure.add_argument(
        "--limit-seconds", type=float, default=20.0, metavar="N", help="for one question (default: 20)"
    )
    measure.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
