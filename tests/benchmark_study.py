"""Speed and memory of a comparison over many sessions: ``python -m tests.benchmark --study``; for people.

Two arrangements of ``puzzles/cask_lane_spur.toml`` (ten tracks, trains of three and as many to be picked up),
each row in a process of its own, warm: everything compiled before.  ``CPU s`` is that of all processes
together, which tells more than the clock where other work shares the cores; ``MiB`` the most that the program
held, and the most that any worker did.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path

from switchsolve.comparing import cases_of, compare
from switchsolve.puzzlefile import load
from switchsolve.search.readying import RUNS, make_ready

__all__ = ["main", "print_table"]

_FILE = Path(__file__).parent.parent / "puzzles" / "cask_lane_spur.toml"
_ROWS = ((100, 1, False), (100, 2, False), (1_000, 2, False), (100, 2, True))
"""Sessions, workers, and whether a plain crew does them as well."""


def _measure(sessions: int, workers: int, with_crew: bool) -> dict[str, float]:
    """One row."""
    cases = cases_of([(_FILE.name, load(_FILE))])[:2]
    make_ready(None, RUNS)
    begin = time.perf_counter()
    found = compare(cases, sessions, 1, workers=workers, with_crew=with_crew)
    spent = time.perf_counter() - begin
    own, others = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return {
        "solved": found.solved,
        "seconds": spent,
        "cpu": own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime,
        "own": own.ru_maxrss / 1024,
        "worker": others.ru_maxrss / 1024 if workers > 1 else 0,
    }


def print_table() -> None:
    """All rows; the last takes some minutes."""
    heads = "| sessions | arrangements | workers | plain crew | solved | s | CPU s | MiB | MiB, worker |"
    print(heads + "\n" + "| --- " * (heads.count("|") - 1) + "|")
    seconds = []
    for sessions, workers, with_crew in _ROWS:
        told = subprocess.run(
            [sys.executable, "-m", "tests.benchmark_study", str(sessions), str(workers), str(int(with_crew))],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        row = json.loads(told.stdout)
        seconds.append(row["seconds"])
        worker = f"{row['worker']:.0f}" if row["worker"] else ""
        crew = "yes" if with_crew else "no"
        print(
            f"| {sessions:,} | 2 | {workers} | {crew} | {row['solved']:,} | {row['seconds']:.1f} "
            f"| {row['cpu']:.1f} | {row['own']:.0f} | {worker} |",
            flush=True,
        )
    print(f"\ntwo workers against one: {seconds[0] / seconds[1]:.2f} times as fast")


def main(sessions: str, workers: str, with_crew: str) -> None:
    """One row as JSON."""
    print(json.dumps(_measure(int(sessions), int(workers), bool(int(with_crew)))))


if __name__ == "__main__":
    main(*sys.argv[1:])
