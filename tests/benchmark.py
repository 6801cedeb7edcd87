"""Speed, as a table: ``python -m tests.benchmark`` (add ``--help``); for people, not for tests.

Each work is done in a process of its own, warm: everything compiled, loaded and run once on the smallest
work.  ``proof`` is the time from the packed set-up to the proved minimum, ``solve`` all of
:func:`switchsolve.solving.solve`: the plan made and replayed as well.  ``floor``: what a bare hash table of
64-bit numbers takes on this machine to keep as many as were stored, and be asked as often as standings were
generated and bounds looked up.  ``MiB`` is the most memory that the process ever held; numba and the rest
take some 170 of it.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
from numba import njit

from switchsolve.designing import design
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import loads
from switchsolve.rules import Rules
from switchsolve.search import bounded, compiled_runs
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.compiled_limited import search_within_limits
from switchsolve.search.compiled_runs import search_runs
from switchsolve.search.endings import endings
from switchsolve.search.exact import why_limits_bind, why_not_coarse
from switchsolve.search.limited import RunsWithinLimits
from switchsolve.search.runs import LongestRuns
from switchsolve.solving import first_states, solve
from switchsolve.solving.by_events import COARSE, COARSE_ENDS, EVENT_SEARCHES
from tests import benchmark_study
from tests.benchmark_session import sessions_table
from tests.design_files import BENCHMARK, HARDER
from tests.pddl import planner_minimum
from tests.published import railway_muddle, railway_shunting, wye_exchange
from tests.reference_district import (
    evening,
    reference,
    with_oval,
    with_table,
    with_two_locomotives,
    within_limits,
)

_FAMILIES: dict[str, Callable[[int], Puzzle]] = {
    "reference": reference,
    "evening": evening,
    "table": with_table,
    "oval": with_oval,
    "two at most": lambda count: within_limits(count, 2),
}
_MOST_OF_ONE = 16 << 30
"""Bytes that the standings of one work may take."""
_MOST_LOOKS = 20_000_000
"""With more the floor is reckoned from so many."""
_CONFIGURATIONS = ("astar(blind())", "astar(lmcut())", "astar(merge_and_shrink())", "astar(ipdb())")


@njit(cache=True)
def _floor(table, keys, looks):  # type: ignore[no-untyped-def]
    """Keep ``keys`` in ``table`` (zeros, a power of two long), then look for ``looks`` numbers, half of them
    there.
    """
    mask = len(table) - 1
    found = 0
    for turn in range(len(keys) + looks):
        key = keys[turn % len(keys)]
        if turn >= len(keys) and turn & 1:
            key += 1
        slot = (key * -7046029254386353131 >> 20) & mask
        while table[slot] != 0 and table[slot] != key:
            slot = (slot + 1) & mask
        if table[slot] == key:
            found += 1
        elif turn < len(keys):
            table[slot] = key
    return found


def _seconds_of_floor(stored: int, looks: int) -> float:
    rng = np.random.default_rng(0)
    keys = rng.integers(1, 1 << 62, max(1, stored)) * 2
    table = np.zeros(1 << (2 * len(keys)).bit_length(), np.int64)
    _floor(np.zeros(4, np.int64), keys[:1], 1)
    fewer = min(looks, _MOST_LOOKS)
    begin = time.perf_counter()
    _floor(table, keys, 0)
    kept = time.perf_counter() - begin
    begin = time.perf_counter()
    _floor(table, keys, fewer)
    return kept + (time.perf_counter() - begin - kept) * looks / max(1, fewer)


def _proof(puzzle: Puzzle, seconds: float) -> tuple[float, Any]:
    rules = Rules(pack(puzzle))
    binds = why_limits_bind(rules) is not None
    runs = RunsWithinLimits(rules) if binds else LongestRuns(rules)
    begin = time.perf_counter()
    first = first_states(rules, runs, len(puzzle.start.under_way))
    goals = endings(rules, runs, 20_000)

    def stop(_: int) -> str | None:
        return "time" if time.perf_counter() - begin > seconds else None

    if isinstance(runs, RunsWithinLimits):
        undone = runs.undone(goals)
        found = search_within_limits(
            runs, undone, first, goals, should_stop=stop, most_bytes=_MOST_OF_ONE
        )
    else:
        found = search_runs(runs, first, goals, should_stop=stop, most_bytes=_MOST_OF_ONE)
    return time.perf_counter() - begin, found


def _one(family: str, count: int, rounds: int, seconds: float) -> dict[str, Any]:
    """Everything about one work, measured in this process."""
    puzzle = _FAMILIES[family](count)
    _proof(reference(1), seconds)
    _proof(within_limits(1, 1), seconds)
    search = "compiled longest runs" if why_limits_bind(Rules(pack(puzzle))) is None else "steady"
    solve(reference(1), search="compiled longest runs", tie_standings=0)
    times, wholes = [], []
    for _ in range(rounds):
        spent, found = _proof(puzzle, seconds)
        times.append(spent)
        if not found.is_proved:
            break
    if found.is_proved:
        for _ in range(rounds):
            begin = time.perf_counter()
            solve(puzzle, search=search, tie_standings=0)
            wholes.append(time.perf_counter() - begin)
    stats = found.stats
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    in_tables = stats.get("tables", 0)
    looks = stats["generated"] + stats.get("looks", 0)
    return {
        "moves": found.least if found.is_proved else f"{found.least} at least",
        "proof": median(times),
        "solve": median(wholes) if wholes else None,
        "expanded": stats["expanded"],
        "generated": stats["generated"],
        "stored": stats["stored"] + in_tables,
        "bytes": stats["bytes"],
        "mebibytes": round(peak),
        "floor": _seconds_of_floor(stats["stored"] + in_tables, looks),
        "looks": looks,
    }


def _in_a_process(family: str, count: int, rounds: int, seconds: float) -> dict[str, Any]:
    told = subprocess.run(
        [
            sys.executable, "-m", "tests.benchmark", "--one", family, str(count), "--rounds", str(rounds),
            "--seconds", str(seconds),
        ],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if told.returncode:
        raise RuntimeError(told.stderr)
    row: dict[str, Any] = json.loads(told.stdout)
    return row


def _figure(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds:.3f}" if seconds < 1 else f"{seconds:.1f}"


def _table(family: str, counts: list[int], rounds: int, seconds: float) -> None:
    heads = ["work", "moves", "proof s", "solve s", "expanded", "generated", "generated and looked up per s"]
    heads += ["stored", "bytes each", "MiB", "floor s"]
    print(f"\n{family}\n\n| " + " | ".join(heads) + " |\n" + "| --- " * len(heads) + "|")
    for count in counts:
        row = _in_a_process(family, count, rounds, seconds)
        print(
            f"| {count}+{count} | {row['moves']} | {_figure(row['proof'])} | {_figure(row['solve'])} "
            f"| {row['expanded']:,} | {row['generated']:,} | {row['looks'] / row['proof'] / 1e6:.1f} M "
            f"| {row['stored']:,} | {row['bytes']} | {row['mebibytes']:,} | {_figure(row['floor'])} |",
            flush=True,
        )


def _plain_against_compiled(rounds: int) -> None:
    """2+2 by the plain search and by the compiled one, in turn, in this process."""
    puzzle = reference(2)
    rules = Rules(pack(puzzle))
    _proof(puzzle, 1e9)
    plain, compiled = [], []
    for _ in range(rounds):
        runs = LongestRuns(rules)
        begin = time.perf_counter()
        search_both_ends(runs, first_states(rules, runs, 1))
        plain.append(time.perf_counter() - begin)
        compiled.append(_proof(puzzle, 1e9)[0])
    print(
        f"\n2+2, plain Python {median(plain):.2f} s, compiled {median(compiled):.3f} s: "
        f"{median(plain) / median(compiled):.0f} times as fast"
    )


_TRIED = {
    "all choices of two cars": ((2, 1_000_000),),
    "all choices of three cars": ((3, 1_000_000),),
    "three cars, and the hardest choice of four": ((3, 1_000_000), (4, 1)),
}


def _tried(counts: list[int]) -> None:
    """Standings expanded with other tables than those that the search chooses, all made at once."""
    chosen = compiled_runs._PLAIN, bounded._BATCHES
    print("\n| tables | work | expanded | stored | in tables | s |\n| --- | --- | --- | --- | --- | --- |")
    for name, batches in {"no bounds": (), **_TRIED, "as the search chooses": chosen[1]}.items():
        compiled_runs._PLAIN = {"no bounds": 1 << 60, "as the search chooses": chosen[0]}.get(name, 0)
        bounded._BATCHES = batches
        for count in counts:
            spent, found = _proof(reference(count), 1e9)
            stats = found.stats
            print(
                f"| {name} | {count}+{count} | {stats['expanded']:,} | {stats['stored']:,} "
                f"| {stats['tables']:,} | {_figure(spent)} |",
                flush=True,
            )
    compiled_runs._PLAIN, bounded._BATCHES = chosen


def _coarse(count: int) -> Puzzle:
    """The reference district with every length rounded to whole cars, one at least: the planning task knows
    vehicles of one unit only.
    """
    puzzle = reference(count)
    tracks, junctions = puzzle.district.tracks, puzzle.district.junctions
    car = puzzle.cars[0].length

    def whole(length: int) -> int:
        return max(1, round(length / car))

    district = replace(
        puzzle.district,
        tracks=tuple(
            replace(track, parts=tuple(replace(part, length=whole(part.length)) for part in track.parts))
            for track in tracks
        ),
        junctions=tuple(
            replace(
                junction,
                routes=tuple(replace(route, length=whole(route.length)) for route in junction.routes),
            )
            for junction in junctions
        ),
    )
    return replace(
        puzzle,
        district=district,
        cars=tuple(replace(one, length=1) for one in puzzle.cars),
        locomotives=tuple(replace(one, length=1) for one in puzzle.locomotives),
        grid=1,
    )


def _planner(seconds: float) -> None:
    """A general-purpose planner on the smallest works, in every configuration tried."""
    print("\n| work | planner | s | compiled s |\n| --- | --- | --- | --- |")
    for count in (1, 2):
        puzzle = _coarse(count)
        _proof(puzzle, 1e9)
        own = _proof(puzzle, 1e9)[0]
        for configuration in _CONFIGURATIONS:
            begin = time.perf_counter()
            with tempfile.TemporaryDirectory() as folder:
                try:
                    said = str(planner_minimum(puzzle, Path(folder), configuration, seconds))
                except (RuntimeError, ValueError) as error:
                    said = str(error).splitlines()[0][:40]
            spent = time.perf_counter() - begin
            print(
                f"| {count}+{count}, {said} | {configuration} | {spent:.1f} | {own:.3f} |",
                flush=True,
            )


_MOST_BYTES = 8 << 30
"""What the standings of one search by events may take."""


def _by_events(seconds: float, only: str) -> None:
    """Puzzles in print; the reference district with two locomotives, with one, and with limits: by the law,
    and seen coarsely or loosely.  ``only``: those whose names hold that.
    """
    puzzles = {
        "wye, engine back": wye_exchange(back=True),
        "two trains, a loop of one": railway_muddle(1),
        "two trains, a spur of one": railway_shunting(),
        "two locomotives, 1+1": with_two_locomotives(1),
        "two locomotives, 2+2": with_two_locomotives(2),
        "one locomotive, 2+2": reference(2),
        "one locomotive, 3+3": reference(3),
        "a table, 1+1": with_table(1),
        "a table, 2+2": with_table(2),
        "an oval, 1+1": with_oval(1),
        "an oval, 2+2": with_oval(2),
        "one car at most, 1+1": within_limits(1, 1),
        "two cars at most, 2+2": within_limits(2, 2),
    }
    print("\n| puzzle | search | moves | expanded | stored | s |\n| --- | --- | --- | --- | --- | --- |")
    for name, puzzle in puzzles.items():
        if only not in name:
            continue
        for search in EVENT_SEARCHES[1:]:
            if search in (COARSE, COARSE_ENDS) and why_not_coarse(Rules(pack(puzzle))) is not None:
                continue
            begin = time.perf_counter()
            try:
                found = solve(
                    puzzle, search=search, seconds=seconds, tie_standings=0, most_bytes=_MOST_BYTES
                )
            except ValueError as error:
                print(f"| {name} | {search} | {error} | | | |", flush=True)
                continue
            spent = time.perf_counter() - begin
            least = found.lower_bound
            said = str(least) if found.verdict is Verdict.PROVED else f"not under {least}"
            counts = " | ".join(f"{found.stats[one]:,}" for one in ("expanded", "stored"))
            print(f"| {name} | {search} | {said} | {counts} | {spent:.1f} |", flush=True)


_WISHES = (8, 7, 6)
"""Most moves that are wished of the work with three cars."""


def _design(seconds: float) -> None:
    """Five thousand arrangements of ten tracks, the five cheapest, by two processes; then from its rows."""
    heads = ["open", "most moves", "arrangements", "ruled out", "shown", "questions"]
    heads += ["s", "processor s", "again s"]
    print("\n| " + " | ".join(heads) + " |\n" + "| --- " * len(heads) + "|")
    spaces = [("lengths", BENCHMARK, most) for most in _WISHES]
    spaces += [("spurs", HARDER, most) for most in _WISHES]
    for what, text, most in spaces:
        puzzle = loads(text.replace("most_moves = 8", f"most_moves = {most}"))
        with tempfile.TemporaryDirectory() as folder:
            rows = Path(folder) / "rows"
            before, begin = _processor(), time.perf_counter()
            found = design(puzzle, most=5, workers=2, rows=rows, seconds=seconds)
            spent, used = time.perf_counter() - begin, _processor() - before
            begin = time.perf_counter()
            again = design(puzzle, most=5, workers=1, rows=rows)
            assert not again.questions or found.stopped
            tally = found.tally
            print(
                f"| {what} | {most} | {tally.all:,} | {tally.ruled_out.total():,} | {tally.found} "
                f"| {found.questions} | {_figure(spent)} | {_figure(used)} "
                f"| {_figure(time.perf_counter() - begin)} |",
                flush=True,
            )


def _processor() -> float:
    """Processor seconds of this process and those that it has waited for."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def main() -> int:
    """Print the tables asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark", description=__doc__)
    parser.add_argument("--one", nargs=2, metavar=("FAMILY", "COUNT"), help="one work, as JSON")
    parser.add_argument("--most", type=int, default=4, help="up to so many cars each way (default 4)")
    parser.add_argument("--rounds", type=int, default=3, help="medians of so many (default 3)")
    parser.add_argument("--seconds", type=float, default=600, help="the most for one proof (default 600)")
    parser.add_argument(
        "--planner", type=float, metavar="SECONDS", help="the planner, so long for each, and no more"
    )
    parser.add_argument("--tried", action="store_true", help="other tables, for 3+3 and 4+4, and no more")
    parser.add_argument(
        "--events", type=float, metavar="SECONDS", help="searches by events, so long for each, and no more"
    )
    parser.add_argument("--only", default="", metavar="TEXT", help="with --events: puzzles of such a name")
    parser.add_argument("--study", action="store_true", help="many sessions of two arrangements, and no more")
    parser.add_argument("--design", action="store_true", help="designing, and no more")
    parser.add_argument("--session", action="store_true", help="sessions of a layout, and no more")
    given = parser.parse_args()
    if given.session:
        sessions_table()
        return 0
    if given.design:
        _design(given.seconds)
        return 0
    if given.study:
        benchmark_study.print_table()
        return 0
    if given.planner:
        _planner(given.planner)
        return 0
    if given.events:
        _by_events(given.events, given.only)
        return 0
    if given.tried:
        _tried([3, 4])
        return 0
    if given.one:
        print(json.dumps(_one(given.one[0], int(given.one[1]), given.rounds, given.seconds)))
        return 0
    _table("reference", list(range(1, given.most + 1)), given.rounds, given.seconds)
    _table("evening", list(range(given.most - 1)), given.rounds, given.seconds)
    for family in ("table", "oval"):
        _table(family, list(range(1, given.most)), given.rounds, given.seconds)
    _table("two at most", list(range(1, given.most)), given.rounds, given.seconds)
    _plain_against_compiled(given.rounds)
    return 0


if __name__ == "__main__":
    sys.exit(main())
