"""Speed and memory of a comparison over many sessions: ``python -m tests.benchmark --study``; for people.

Two arrangements, ten tracks, trains of up to three and as many to be picked up: of the reference district
(``tests/reference/traffic.toml``), and of ``puzzles/cask_lane_spur.toml``, which is harder, for there cars
are wanted at doors, and some stay where they are in the way.  Each row in a process of its own, warm:
everything compiled before.  ``CPU s`` is that of all processes together, which tells more than the clock
where other work shares the cores; ``MiB`` the most that the program held, and the most that any worker did.
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

_FOLDER = Path(__file__).parent
_FILES = {
    "reference": _FOLDER / "reference" / "traffic.toml",
    "spur": _FOLDER.parent / "puzzles" / "cask_lane_spur.toml",
}
_ROWS = (
    ("reference", 1_000, 1, False),
    ("reference", 1_000, 2, False),
    ("reference", 100, 2, True),
    ("spur", 100, 2, False),
    ("spur", 100, 2, True),
)
"""The district, sessions, workers, and whether a plain crew does them as well."""


def _measure(district: str, sessions: int, workers: int, with_crew: bool) -> dict[str, float]:
    """One row."""
    file = _FILES[district]
    cases = cases_of([(file.name, load(file))])[:2]
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
    """All rows; the first two, of a thousand sessions, take most of the time."""
    heads = "| district | sessions of two | workers | plain crew | solved | s | CPU s | MiB | MiB, worker |"
    print(heads + "\n" + "| --- " * (heads.count("|") - 1) + "|")
    seconds = []
    for district, sessions, workers, with_crew in _ROWS:
        told = subprocess.run(
            [
                sys.executable, "-m", "tests.benchmark_study",
                district, str(sessions), str(workers), str(int(with_crew)),
            ],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        row = json.loads(told.stdout)
        seconds.append(row["seconds"])
        worker = f"{row['worker']:.0f}" if row["worker"] else ""
        crew = "yes" if with_crew else "no"
        print(
            f"| {district} | {sessions:,} | {workers} | {crew} | {row['solved']:,} | {row['seconds']:.1f} "
            f"| {row['cpu']:.1f} | {row['own']:.0f} | {worker} |",
            flush=True,
        )
    print(f"\ntwo workers against one: {seconds[0] / seconds[1]:.2f} times as fast")


def main(district: str, sessions: str, workers: str, with_crew: str) -> None:
    """One row as JSON."""
    print(json.dumps(_measure(district, int(sessions), int(workers), bool(int(with_crew)))))


if __name__ == "__main__":
    main(*sys.argv[1:])
