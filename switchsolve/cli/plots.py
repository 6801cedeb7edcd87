"""``--plot``: what a study or a comparison found, as panels on a sheet."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from switchsolve.comparing import Comparison
from switchsolve.errors import DrawingError
from switchsolve.plan import Verdict
from switchsolve.plotting import ENDINGS, Bars, Heights, Panel, Shares, Spans, check_plots, plot
from switchsolve.study import Tally, at_or_under
from switchsolve.words import counted

__all__ = ["comparison_panels", "study_panels", "written_plot", "wrong_plot"]

_HALF, _NINE_IN_TEN = 0.5, 0.9
_SECONDS = 60


def wrong_plot(arguments: Namespace) -> list[str]:
    """What is wrong with ``--plot``, with its cure: told before hours of work, not after."""
    if arguments.plot is None:
        return []
    path = Path(arguments.plot)
    if path.suffix.lower() not in ENDINGS:
        return [f"--plot {path}: name a file that ends in {' or '.join(ENDINGS)}"]
    if not path.parent.is_dir():
        return [f"--plot {path}: there is no folder {path.parent}; make it, or name another file"]
    try:
        check_plots()
    except DrawingError as error:
        return [f"--plot {path}: {error}"]
    return []


def written_plot(title: str, panels: Sequence[Panel], path: str | None) -> bool:
    """Write the sheet, if one is asked for; whether that could be done (if not, it is told)."""
    if path is None:
        return True
    try:
        plot(title, panels, path)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        print(f"--plot {path}: it cannot be written ({why}); name another file", file=sys.stderr)
        return False
    return True


# ---- a study


def study_panels(tally: Tally) -> list[Panel]:
    """Moves, minutes, and how sessions go over a season."""
    if not tally.moves:
        note = f"{counted(tally.sessions, 'session')}, and no plan for any of them."
        return [Panel("Moves of a session", "", "", None, note)]
    return [_moves(tally), _minutes(tally), _seasons(tally)]


def _moves(tally: Tally) -> Panel:
    """How often each number of moves comes, beside the plain crew's."""
    is_proved = not tally.verdicts[Verdict.BEST_FOUND]
    series = [Heights("the proved minimum" if is_proved else "the plan found", tally.moves)]
    if tally.crew_moves:
        series.append(Heights("a plain crew", tally.crew_moves))
    half, most = (at_or_under(tally.moves, share) for share in (_HALF, _NINE_IN_TEN))
    in_half = "" if half == most else f"{half} or fewer in half of them, "
    head = f"Moves of a session: {in_half}{most} or fewer in nine of ten"
    return Panel(head, "moves", "sessions", Bars(tuple(series)))


def _minutes(tally: Tally) -> Panel:
    """Which share of the sessions is done in so many minutes."""
    head = "Minutes of a session, by a real clock"
    if not tally.least_seconds:
        return Panel(head, "", "", None, "No minutes: the plain crew gave up in every session.")
    is_ratio = not tally.crew_moves
    low, high = ("low end", "high end") if is_ratio else ("a plan without a mistake", "a plain crew")
    shares = Shares(
        Heights(low, tally.least_seconds),
        Heights(high, tally.most_seconds),
        {_HALF: "half", _NINE_IN_TEN: "nine in ten"},
        _SECONDS,
    )
    return Panel(head, "minutes", "sessions done, in 100", shares)


def _seasons(tally: Tally) -> Panel:
    """Moves of the first session of a season, of the second, and so on."""
    values = {
        number: (min(moves), at_or_under(moves, _HALF), at_or_under(moves, _NINE_IN_TEN), max(moves))
        for number, moves in tally.by_session.items()
    }
    names = ("fewest to most", "half at or under", "nine in ten at or under")
    head = "Moves over a season: its first session, its second, and so on"
    return Panel(head, "session of the season", "moves", Spans(names, values))


# ---- a comparison


def comparison_panels(found: Comparison) -> list[Panel]:
    """For each but the first: by how many moves its sessions differ from those of the first."""
    first = found.cases[0].name
    across = frozenset(more for one in found.differences for more in one.moves) | {0}
    return [
        _difference(case.name, first, Counter(one.moves), across)
        for case, one in zip(found.cases[1:], found.differences, strict=True)
    ]


def _difference(name: str, first: str, moves: Counter[int], numbers: frozenset[int]) -> Panel:
    head = f'"{name}" against "{first}", the same sessions'
    if not moves:
        return Panel(head, "", "", None, "In no session do both do all the work, proved.")
    fewer = sum(count for more, count in moves.items() if more < 0)
    more = sum(count for more, count in moves.items() if more > 0)
    across = f"moves more (under 0: fewer)   |   fewer in {fewer}, as many in {moves[0]}, more in {more}"
    return Panel(head, across, "sessions", Bars((Heights(name, moves),), frozenset({0}), numbers))
