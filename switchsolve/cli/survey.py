"""``switchsolve survey``: a district on two printed pages, for its owner."""

from __future__ import annotations

import sys
from argparse import Namespace

from switchsolve.cli.codes import BEST_FOUND, OK, STANDARD_SHORT, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.stopping import Stop
from switchsolve.cli.written import html_problems, write_html
from switchsolve.errors import DrawingError
from switchsolve.plan import Verdict
from switchsolve.surveying import Survey, survey, survey_html

__all__ = ["run_survey"]


def run_survey(arguments: Namespace) -> int:
    """Ask everything, and write the pages; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    try:
        with Stop() as stop:
            found = survey(
                puzzle,
                sessions=arguments.sessions,
                seed=arguments.seed,
                workers=arguments.workers,
                seconds=arguments.limit_seconds,
                tell=Progress(),
                stop=stop,
            )
        html = survey_html(found)
    except DrawingError as error:
        print(f"survey: {error}", file=sys.stderr)
        return USAGE
    if not write_html("survey", arguments.output, html):
        return USAGE
    if found.stopped is not None:
        print(f"stopped: {arguments.output} has what was found till then", file=sys.stderr)
    return _code(found)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = html_problems(arguments.output)
    if arguments.sessions < 0:
        wrong.append(f"--sessions {arguments.sessions}: give 1 or more, or 0 for none")
    if arguments.seed < 0:
        wrong.append(f"--seed {arguments.seed}: give 0 or more")
    if arguments.workers is not None and arguments.workers < 1:
        wrong.append(f"--workers {arguments.workers}: give 1 or more")
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    return wrong


def _code(found: Survey) -> int:
    """13 if a standard is short, else 0 if all is proved, else 10."""
    if not found.facts.meets_standards:
        return STANDARD_SHORT
    return OK if _is_proved(found) else BEST_FOUND


def _is_proved(found: Survey) -> bool:
    """Whether no figure of the pages is open."""
    sessions = found.sessions
    decided = sum(sessions.verdicts[one] for one in (Verdict.PROVED, Verdict.IMPOSSIBLE)) if sessions else 0
    return (
        found.stopped is None
        and not found.facts.unproved
        and len(found.spots.rows) == found.spots.wanted
        and all(row.is_settled for row in found.spots.rows)
        and found.changes.is_proved
        and (found.lengths is None or found.lengths.limit is None)
        and decided == found.asked
    )
