"""Speed of sessions: ``python -m tests.benchmark --session``; for people, not for tests."""

from __future__ import annotations

import time
from pathlib import Path

from switchsolve.layoutfile import load_layout
from switchsolve.operating import operate
from switchsolve.scheduling import Effort, faults, make_schedule
from switchsolve.search.readying import RUNS, make_ready
from switchsolve.study.pools import pool
from switchsolve.timetable import problem_of
from tests.large_layout import large_work

__all__ = ["sessions_table"]

_DEMO = Path(__file__).parent.parent / "puzzles" / "saltmarsh_layout.toml"
_SECONDS, _SEEDS = 120.0, (1, 2, 3, 4, 5)


def sessions_table() -> None:
    """Print how long twenty sessions of the demo take, and the gaps of schedules of a large layout."""
    make_ready(None, RUNS)
    began = time.monotonic()
    with pool(2, RUNS) as executor:
        found = operate(load_layout(_DEMO), 20, 3, executor)
    proved = sum(one.answer.gap == 0 for one in found.sessions)
    crews = len(found.layout.crews)
    print(f"demo, 20 sessions, {crews} crews: {time.monotonic() - began:.0f} s, {proved} schedules proved")
    for seed in _SEEDS:
        _large(seed)


def _large(seed: int) -> None:
    """One schedule of the large layout, in two minutes, on two threads."""
    problem = problem_of(large_work(seed))
    began = time.monotonic()
    answer = make_schedule(problem, Effort(seconds=_SECONDS, workers=2))
    spent = time.monotonic() - began
    assert answer.schedule is not None and not faults(problem, answer.schedule)
    gap = "unknown" if answer.gap is None else f"{100 * answer.gap:.1f} %"
    told = f"{answer.schedule.length} minutes, bound {answer.bound}, gap {gap}, {spent:.0f} s"
    print(f"40 districts, 60 trains, seed {seed}: {told}", flush=True)
