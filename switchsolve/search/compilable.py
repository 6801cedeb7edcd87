"""Whether the compiled search has room for a set-up, and getting it ready; asked without importing it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from switchsolve.rules import Rules

__all__ = [
    "EVENTS",
    "RUNS",
    "Readying",
    "is_compilable",
    "is_packable",
    "make_ready",
    "path_room",
    "rows_of_cells",
]

EVENTS = "switchsolve.search.compiled"
RUNS = "switchsolve.search.compiled_runs"
"""The rooms of the two compiled searches."""
_KERNELS = {EVENTS: ("event_kernel", "run"), RUNS: ("run_kernel", "begin")}
"""The kernel of each, and the function that is compiled last."""

_LONGEST_PATH = 200
_MOST_CARS = 60
_MOST_ROWS = 30_000
_MOST_AT_ONCE = 4096
"""The kernel keeps room for so many standings from one expansion, and does not look again while it lasts."""


def path_room(rules: Rules) -> int:
    """Cells that a string may come to touch, at most: all vehicles in one string, over the shortest cells."""
    vehicles = sum(rules.token_lengths[2 * number] for number in rules.p.class_of.values())
    return 6 + vehicles // min(rules.lengths)


def _most_at_once(rules: Rules) -> int:
    """Standings that one expansion can make, at most: for each string with a locomotive and each side, whole
    or cut at any joint, to go, to leave a cell, to enter the next ones and to meet what stands there.
    """
    ways = range(2 * len(rules.lengths))
    branches = max(len(rules.p.ahead(way, rules.p.start_lined)) for way in ways)
    beginnings = 2 * (1 + (len(rules.p.class_of) - 1) * path_room(rules))
    tables = sum(len(table.meets) for table in rules.p.puzzle.district.tables)
    return len(rules.p.loco_names) * beginnings * (2 + 2 * max(1, branches)) + tables


def is_compilable(rules: Rules) -> bool:
    """Whether the kernel has room: no string can span too many cells, no expansion can make too much."""
    return path_room(rules) <= _LONGEST_PATH and _most_at_once(rules) <= _MOST_AT_ONCE


def rows_of_cells(rules: Rules, most: int | None = None) -> list[tuple[int, ...]]:
    """Every row of ways over which a string can stand, shorter ones first; not many more than ``most``."""
    longest = sum(rules.token_lengths[2 * number] for number in rules.p.class_of.values())
    rows: list[tuple[int, ...]] = [(way,) for way in range(2 * len(rules.lengths))]
    inner = [0] * len(rows)
    at = 0
    while at < len(rows) and (most is None or len(rows) <= most):
        ways = rows[at]
        between = inner[at] + (rules.lengths[ways[-1] >> 1] if len(ways) > 1 else 0)
        if between + 2 <= longest:
            following = rules.p.ahead(ways[-1], rules.p.start_lined)
            rows.extend((*ways, way) for way in following)
            inner.extend(between for _ in following)
        at += 1
    return rows


def is_packable(rules: Rules) -> bool:
    """Whether the compiled search by longest runs has room: few enough cars, and rows of cells."""
    cars = len(rules.p.class_of) - len(rules.p.loco_names)
    return cars <= _MOST_CARS and len(rows_of_cells(rules, _MOST_ROWS)) <= _MOST_ROWS


def make_ready(tell: Callable[[str], None] | None, room: str = EVENTS) -> None:
    """Import a compiled search: a second, but for the first time after an installation."""
    if tell is not None:
        tell("making the compiled search ready (the first time after an installation takes a minute)")
    import_module(room)


class Readying:
    """A compiled search being made ready by a process of its own, while a plain one goes on.

    ``is_ready`` starts it when it is first asked, and says whether it is done.  After an installation that
    takes a quarter of a minute (longest runs) or a minute (events); from then on the code is on disk.
    """

    def __init__(self, room: str) -> None:
        self.room = room
        self._process: subprocess.Popen[bytes] | None = None

    def is_ready(self) -> bool:
        """Whether importing the room would not compile any more."""
        if self.room in sys.modules:
            return True
        if self._process is None:
            if _is_on_disk(self.room):
                return True
            self._process = subprocess.Popen(
                [sys.executable, "-c", f"import {self.room}"],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        return self._process.poll() is not None

    def close(self) -> None:
        """Stop the process if it still runs."""
        if self._process is not None and self._process.poll() is None:
            self._process.terminate()
            self._process.wait()


def _is_on_disk(room: str) -> bool:
    """Whether the kernel's compiled code lies in the folder where it is kept by default, and is no older than
    the kernel.  (Kept elsewhere, it is looked for by the process, at the price of a second.)
    """
    kernel, last = _KERNELS[room]
    spec = find_spec("switchsolve.kernel")
    if spec is None or not spec.submodule_search_locations:
        return False
    folder = Path(spec.submodule_search_locations[0])
    written = (folder / f"{kernel}.py").stat().st_mtime
    return any(
        found.stat().st_mtime >= written for found in (folder / "__pycache__").glob(f"{kernel}.{last}-*.nbi")
    )
