"""``switchsolve session``: a whole layout, session after session."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from concurrent.futures import BrokenExecutor, Executor

from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, IMPOSSIBLE, INTERRUPTED, OK, STANDARD_SHORT, USAGE
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.sessionalone import run_alone
from switchsolve.cli.sessionbalance import balance_lines, needs_lines
from switchsolve.cli.sessionjson import as_json
from switchsolve.cli.sessionlist import compare_lines, head_lines, looked_at_lines
from switchsolve.cli.written import html_problems, write_html
from switchsolve.layout import Layout
from switchsolve.layoutfile import load_layout
from switchsolve.operating import Limits, Operation, operate, what_if
from switchsolve.scheduling import Outcome
from switchsolve.search.readying import RUNS, make_ready
from switchsolve.sessionpage import session_html
from switchsolve.study.pools import cores, pool

__all__ = ["run_session"]


def run_session(arguments: Namespace) -> int:
    """Play the sessions, and print what they come to; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    layout = load_layout(arguments.file)
    names = [place.name for place in layout.districts]
    if arguments.only is not None and arguments.only not in names:
        cure = f"there is no such district; name one of: {', '.join(names)}"
        print(f"--only {arguments.only}: {cure}", file=sys.stderr)
        return USAGE
    tell = Progress()
    make_ready(tell, RUNS)
    try:
        with pool(arguments.workers or cores(), RUNS) as executor:
            if arguments.only is not None:
                return run_alone(layout, arguments, executor, tell)
            return _run(layout, arguments, executor, tell)
    except BrokenExecutor:  # killed from outside, or out of memory
        print("a worker was lost; the same command begins again", file=sys.stderr)
        return INTERRUPTED


def _run(layout: Layout, arguments: Namespace, executor: Executor, tell: Progress) -> int:
    limits = Limits(work=arguments.limit_seconds)
    found = operate(
        layout, arguments.sessions, arguments.seed, executor, limits=limits, shown=arguments.show, tell=tell
    )
    if not found.sessions:
        raise KeyboardInterrupt
    others = {}
    if arguments.what_if and found.is_complete:
        for change in layout.what_if:
            tell(f"what if: {change.name}")
            changed = what_if(layout, change)
            others[change.name] = operate(
                changed, arguments.sessions, arguments.seed, executor, limits=limits, closely=False, tell=tell
            )
    if arguments.json:
        print(json.dumps(as_json(found, others), indent=2))
    else:
        _print(found, others)
    # after the answers, which must not be lost with it
    if arguments.output is not None and not write_html(
        "session", arguments.output, session_html(found, others)
    ):
        return USAGE
    return _code(found)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.sessions < 1:
        wrong.append(f"--sessions {arguments.sessions}: give 1 or more")
    if arguments.seed < 0:
        wrong.append(f"--seed {arguments.seed}: give 0 or more")
    if arguments.show is not None and not 1 <= arguments.show <= max(1, arguments.sessions):
        wrong.append(f"--show {arguments.show}: give the number of a session, 1 to {arguments.sessions}")
    if arguments.workers is not None and arguments.workers < 1:
        wrong.append(f"--workers {arguments.workers}: give 1 or more")
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a number above zero")
    if arguments.output is not None:
        wrong += html_problems(arguments.output)
    if arguments.output is not None and arguments.only is not None:
        wrong.append("-o: the page is of the whole layout; leave out --only")
    return wrong


def _print(found: Operation, others: dict[str, Operation]) -> None:
    console = Screen()
    console.print(Text(found.layout.title or "Layout", style="bold"))
    parts = [head_lines(found), looked_at_lines(found), balance_lines(found), needs_lines(found)]
    for lines in (*parts, compare_lines(found, others)):
        for line in lines:
            console.print(Text(line))


def _code(found: Operation) -> int:
    """0: every schedule is proved and all is well; 13: too long, or out of balance; 10: a gap; 11: a session
    that cannot be run; 130 after Ctrl-C."""
    if not found.is_complete:
        return INTERRUPTED
    outcomes = {one.answer.outcome for one in found.sessions}
    if Outcome.IMPOSSIBLE in outcomes:
        return IMPOSSIBLE
    if outcomes - {Outcome.PROVED}:
        return BEST_FOUND
    longest = max(one.minutes or 0 for one in found.sessions)
    is_well = found.balance is not None and found.balance.is_kept and longest <= found.layout.minutes
    return OK if is_well else STANDARD_SHORT
