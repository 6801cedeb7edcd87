"""The study: each session solved once, the same rows whoever solves them, nothing lost when it is killed."""

from __future__ import annotations

import gc
import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from collections import Counter
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import psutil
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from switchsolve.cli import main
from switchsolve.minutes import under_minutes
from switchsolve.plan import Counts, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, load, loads
from switchsolve.solving import solve
from switchsolve.study import (
    Outcome,
    Played,
    Row,
    RowsError,
    StudyRows,
    Tally,
    answer,
    answering,
    at_or_under,
    play,
    study,
    without,
)
from switchsolve.study.likes import key_of, nameless
from switchsolve.study.pools import Here
from switchsolve.traffic import Season, sessions
from switchsolve.work import EndsIn, Train
from tests.traffic_files import LANE, lane

ROOT = Path(__file__).parent.parent
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def _rows(*args: object, **keys: object) -> list[Row]:
    """The rows of a study, in order."""
    played = list(play(*args, **keys))  # type: ignore[arg-type]
    return sorted((one.row for one in played), key=lambda row: (row.season, row.session))


# -- the same rows ---------------------------------------------------------------------------------------


def test_rows_are_the_same_for_any_number_of_workers_and_any_executor() -> None:
    """Here, by two processes and by an executor of the caller: 25 like rows, the last season incomplete."""
    rows = _rows(lane(), 25, 5, workers=1)
    assert [(row.season, row.session) for row in rows] == [(n // 10 + 1, n % 10 + 1) for n in range(25)]
    assert _rows(lane(), 25, 5, workers=2) == rows
    with ThreadPoolExecutor(3) as executor:
        assert _rows(lane(), 25, 5, executor=executor) == rows
    assert _rows(lane(), 25, 6, workers=1) != rows


def test_more_sessions_go_on_from_fewer() -> None:
    """The rows of a short study are those with which a longer one of the same seed begins."""
    assert _rows(lane(), 14, 5, workers=1) == _rows(lane(), 25, 5, workers=1)[:14]


@pytest.mark.slow
def test_memory_does_not_grow_with_the_number_of_sessions() -> None:
    """From the 600th session to the 3,000th the process takes not one mebibyte more, as the system counts it
    (a row for each would be a few kilobytes: some ten mebibytes).
    """
    process, taken = psutil.Process(), []
    for number, _ in enumerate(play(lane(), 3_000, 5, workers=1, with_crew=False), 1):
        if number % 600 == 0:
            gc.collect()
            taken.append(process.memory_info().rss)
    assert len(taken) == 5 and max(taken) - taken[0] < 2**20


class _Counting(Executor):
    """Does everything at once, and remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    def submit(self, fn, /, *args, **kwargs) -> Future:  # type: ignore[no-untyped-def, type-arg, override]
        self.asked.append(key_of(args[0]))
        return Here().submit(fn, *args, **kwargs)


def test_the_same_set_up_costs_once() -> None:
    """No set-up is solved twice, some come again, and each session has the answer that it has by itself."""
    executor = _Counting()
    played = list(play(lane(), 60, 1, executor=executor))
    assert len(executor.asked) == len(set(executor.asked)) == sum(one.is_new for one in played) < 60
    for one in played:
        fresh = solve(one.puzzle, tie_standings=0)
        assert (fresh.verdict, fresh.lower_bound) == (one.row.verdict, one.row.bound)


def test_names_do_not_make_a_set_up_another_one() -> None:
    """Two sessions that differ by the names of their cars alone are one set-up; a car of another kind, or
    another place for a car, is another."""
    session = next(s for s in sessions(lane(), 40, 1) if len(s.arrived) >= 2 and s.picked_up)
    plain, names = nameless(session.puzzle)
    assert sorted(names.values()) == sorted(car.name for car in session.puzzle.cars)
    text = dumps(session.puzzle)
    for name in names.values():
        text = text.replace(name, f"New {name}")
    assert key_of(nameless(loads(text))[0]) == key_of(plain)
    longer = replace(session.puzzle.cars[0], length=session.puzzle.cars[0].length + 1)
    other = replace(session.puzzle, cars=(longer, *session.puzzle.cars[1:]))
    assert key_of(nameless(other)[0]) != key_of(plain)
    fewer = without(session.puzzle, session.arrived[:1])
    assert key_of(nameless(fewer)[0]) != key_of(plain)


# -- the most that can be done ---------------------------------------------------------------------------


def _items(puzzle: Puzzle) -> list[str]:
    ends = [item.car for item in puzzle.work.items if isinstance(item, EndsIn)]
    return sorted([*ends, *(c for item in puzzle.work.items if isinstance(item, Train) for c in item.cars)])


def test_the_most_that_can_be_done_is_that_of_trying_everything() -> None:
    """For drawn sessions, possible and impossible ones: as many items as in the best of all subsets, with as
    few moves as any subset of that size has."""
    impossible = 0
    for session in sessions(lane(), 30, 3):
        found = answer(session.puzzle)
        items = _items(session.puzzle)
        moves: dict[int, list[int]] = {}
        for size in range(len(items) + 1):
            for left in combinations(items, size):
                solution = solve(without(session.puzzle, left), tie_standings=0)
                if solution.counts is not None:
                    moves.setdefault(size, []).append(solution.counts.moves)
        assert found.verdict is Verdict.PROVED and found.is_most
        assert (len(found.left_over), found.moves) == (min(moves), min(moves[min(moves)]))
        impossible += bool(found.left_over)
    assert 0 < impossible < 30


def test_what_cannot_be_set_out_is_named_and_comes_again() -> None:
    """A car for the facing spur is left over (there is no run-around), goes back with the train, and comes
    again: rolled over in each session that follows."""
    played = list(play(lane(), 10, 3, workers=1))
    left = [name for one in played for name in one.row.left_over]
    assert left
    for one, following in pairwise(played):
        facing = {
            item.car
            for item in one.session.puzzle.work.items
            if isinstance(item, EndsIn) and item.places[0].track == "ice house"
        }
        assert set(one.row.left_over) == facing
        assert facing <= set(following.row.rolled_over)
        assert all(isinstance(i, Train) for i in one.puzzle.work.items if getattr(i, "cars", None))
        train = next(item for item in one.puzzle.work.items if isinstance(item, Train))
        assert facing <= train.cars


def _fake(monkeypatch: pytest.MonkeyPatch, says: dict[frozenset[str], tuple[Verdict, int, int]]) -> None:
    """Let solving say for each set of cars spotted a verdict, bound and moves; all others are impossible."""

    def solved(puzzle: Puzzle, **_: object) -> Solution:
        done = frozenset(item.car for item in puzzle.work.items if isinstance(item, EndsIn))
        verdict, bound, moves = says.get(done, (Verdict.IMPOSSIBLE, 0, 0))
        counts = Counts(moves, moves, 0, 0, 0, 0, 0, 0) if moves else None
        return Solution(verdict, None if verdict is Verdict.IMPOSSIBLE else bound, counts=counts)

    monkeypatch.setattr(answering, "solve", solved)


def _three() -> tuple[Puzzle, str, str, str]:
    """A session that brings three cars and takes none."""
    busy = lane(
        ("box = 0.8, reefer = 0.4", "box = 6, reefer = 6"),
        ("full = 0.75", "full = 0"),
        ("most_cars = 2", "most_cars = 3"),
    )
    firsts = (Season(busy, seed).draw() for seed in range(50))
    session = next(s for s in firsts if len(s.arrived) == 3 and not s.picked_up)
    a, b, c = sorted(session.arrived)
    return session.puzzle, a, b, c


def _without_time(puzzle: Puzzle) -> Outcome:
    """The answer by itself: no plain crew, and no time."""
    return replace(answer(puzzle, with_crew=False), least_seconds=None)


def test_what_is_not_decided_is_never_called_the_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """A set that time did not decide: with one car fewer done it is not proved to be the most; and beside a
    plan for as many cars its bound is the one that holds."""
    puzzle, a, b, c = _three()
    _fake(monkeypatch, {frozenset({a, b}): (Verdict.GAVE_UP, 4, 0), frozenset({c}): (Verdict.PROVED, 6, 6)})
    assert _without_time(puzzle) == Outcome(Verdict.PROVED, 6, 6, 0, 0, (a, b), is_most=False)
    _fake(
        monkeypatch, {frozenset({a, b}): (Verdict.GAVE_UP, 4, 0), frozenset({b, c}): (Verdict.PROVED, 6, 6)}
    )
    assert _without_time(puzzle) == Outcome(Verdict.BEST_FOUND, 6, 4, 0, 0, (a,), is_most=True)
    _fake(monkeypatch, {frozenset({a, b}): (Verdict.PROVED, 8, 8), frozenset({b, c}): (Verdict.PROVED, 6, 6)})
    assert _without_time(puzzle) == Outcome(Verdict.PROVED, 6, 6, 0, 0, (a,), is_most=True)


def test_what_cannot_even_leave_is_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    """If nothing at all can be done, all cars are left over: proved, or not if time was short."""
    puzzle, a, b, c = _three()
    _fake(monkeypatch, {})
    assert answer(puzzle) == Outcome(Verdict.IMPOSSIBLE, None, None, None, None, (a, b, c))
    _fake(monkeypatch, {frozenset({a}): (Verdict.GAVE_UP, 2, 0)})
    assert answer(puzzle) == Outcome(Verdict.GAVE_UP, None, None, None, None, (a, b, c), is_most=False)


def test_once_the_time_is_over_the_rest_is_not_decided(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no time left after the first proof nothing more is tried, and nothing is claimed."""
    puzzle, a, b, c = _three()
    _fake(monkeypatch, {})
    assert answer(puzzle, seconds=1e-9) == Outcome(
        Verdict.GAVE_UP, None, None, None, None, (a, b, c), is_most=False
    )


def test_a_session_without_an_answer_in_time_shows_its_bound_and_counts_as_done() -> None:
    """A thousandth of a second is too short for a session of the whole of Cask Lane: its row has a bound and
    no plan or a worse one, nothing is left over, and the next session follows as if it were done."""
    puzzle = load(ROOT / "puzzles" / "cask_lane.toml")
    rows = _rows(puzzle, 6, 7, workers=1, seconds=0.001)
    short = [row for row in rows if row.verdict in (Verdict.GAVE_UP, Verdict.BEST_FOUND)]
    assert short and all(row.bound is not None and not row.left_over for row in short)
    assert all(row.moves is None or row.moves > (row.bound or 0) for row in short)
    season = Season(puzzle, 7)
    for row in rows:
        session = season.draw()
        assert (session.arrived, session.picked_up) == (row.arrived, row.picked_up)
        season.close()


# -- the figures -----------------------------------------------------------------------------------------


@given(st.lists(st.integers(0, 40), min_size=1, max_size=60), st.sampled_from([0.1, 0.25, 0.5, 0.75, 0.9]))
def test_percentiles_agree_with_scipy(figures: list[int], share: float) -> None:
    """What is at or under is what scipy says of the same figures."""
    assert at_or_under(Counter(figures), share) == stats.quantile(
        np.array(figures, float), share, method="inverted_cdf"
    )


def test_minutes_of_a_study_agree_with_scipy() -> None:
    """Both ends of half the sessions, and of nine in ten, are what scipy says of the same rows; the plain
    crew is never under the minimum, and the high end never under the low one.
    """
    tally = Tally()
    everything = _rows(lane(), 12, 3, workers=1)
    for row in everything:
        tally.add(row)
    rows = [row for row in everything if row.most_seconds is not None]
    assert len(rows) == tally.least_seconds.total() >= 8
    for share in (0.5, 0.9):
        for name in ("least_seconds", "most_seconds"):
            figures = np.array([getattr(row, name) for row in rows], float)
            expected = stats.quantile(figures, share, method="inverted_cdf")
            assert at_or_under(getattr(tally, name), share) == expected
    for row in rows:
        assert row.crew_moves is not None and row.moves is not None and row.crew_moves >= row.moves
        assert row.least_seconds is not None and row.least_seconds <= (row.most_seconds or 0)


def test_percentiles_of_nothing_are_refused() -> None:
    """Without figures there is no percentile."""
    with pytest.raises(ValueError, match="no figures"):
        at_or_under({}, 0.5)


def test_the_tally_is_the_sum_of_the_rows() -> None:
    """Each figure of the tally, counted once more from the rows; half of all moves and more are at the median
    or under, and not so many under it."""
    found = study(lane(), 30, 3, workers=1)
    rows = _rows(lane(), 30, 3, workers=1)
    tally = found.tally
    assert found.is_complete and tally.sessions == 30
    assert tally.moves == Counter(row.moves for row in rows) == tally.bounds
    assert tally.left_over == sum(len(row.left_over) for row in rows) > 0
    assert tally.rolled_over == sum(len(row.rolled_over) for row in rows) > 0
    assert tally.sessions_left_over == sum(bool(row.left_over) for row in rows)
    assert (tally.arrived, tally.picked_up) == (
        sum(len(row.arrived) for row in rows),
        sum(len(row.picked_up) for row in rows),
    )
    moves = sorted(row.moves or 0 for row in rows)
    median = at_or_under(tally.moves, 0.5)
    assert sum(one <= median for one in moves) >= 15 > sum(one < median for one in moves)


def test_the_hardest_solve_again_to_the_same_number(tmp_path: Path) -> None:
    """The three sessions with most moves, the first of equal ones; each file, read again, is solved to the
    number of its row, which it states."""
    path = tmp_path / "lane.toml"
    path.write_text(LANE, encoding="utf-8")
    args = ["--sessions", "30", "--seed", "3", "--workers", "1", "--hardest", str(tmp_path / "hard")]
    assert main(["study", str(path), *args]) == 0
    rows = _rows(lane(), 30, 3, workers=1)
    hardest = sorted(rows, key=lambda row: (-(row.moves or 0), row.season, row.session))[:3]
    files = [f"lane_season_{row.season}_session_{row.session}.toml" for row in hardest]
    assert sorted(os.listdir(tmp_path / "hard")) == sorted(files)
    for row, file in zip(hardest, files, strict=True):
        puzzle = load(tmp_path / "hard" / file)
        solution = solve(puzzle, tie_standings=0)
        assert solution.verdict is Verdict.PROVED
        assert solution.lower_bound == row.moves == puzzle.stated_minimum


# -- the file of rows ------------------------------------------------------------------------------------


def _file(path: Path) -> list[str]:
    """The lines of a file of rows, the first one first, the others in order."""
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    return [head, *sorted(rows, key=lambda row: (json.loads(row)["season"], json.loads(row)["session"]))]


def test_rows_that_are_there_are_not_solved_again(tmp_path: Path) -> None:
    """A study that is asked again, or for more, solves only what is missing; the file ends with the same
    lines as one written in one go."""
    one, other = tmp_path / "one.jsonl", tmp_path / "other.jsonl"
    whole = _rows(lane(), 25, 5, workers=1, rows=one)
    _rows(lane(), 12, 5, workers=1, rows=other)
    executor = _Counting()
    assert _rows(lane(), 12, 5, executor=executor, rows=other) == whole[:12]
    assert executor.asked == []
    assert _rows(lane(), 25, 5, executor=executor, rows=other) == whole
    assert 0 < len(executor.asked) <= 13
    assert _file(one) == _file(other)


@pytest.mark.parametrize("cut", [1, 5, 40])
def test_a_line_cut_off_is_taken_off(tmp_path: Path, cut: int) -> None:
    """A last line of which some bytes are missing is drawn and solved again."""
    path = tmp_path / "rows.jsonl"
    _rows(lane(), 12, 5, workers=1, rows=path)
    whole = _file(path)
    path.write_bytes(path.read_bytes()[:-cut])
    _rows(lane(), 12, 5, workers=1, rows=path)
    assert _file(path) == whole


def test_a_first_line_cut_off_is_written_again(tmp_path: Path) -> None:
    """A file of which only part of the first line was written is begun anew."""
    path = tmp_path / "rows.jsonl"
    _rows(lane(), 3, 5, workers=1, rows=path)
    whole = _file(path)
    path.write_bytes(path.read_bytes()[:20])
    _rows(lane(), 3, 5, workers=1, rows=path)
    assert _file(path) == whole


def test_a_file_of_something_else_is_refused(tmp_path: Path) -> None:
    """Another seed, another puzzle, a file that is none of rows, a line that is no row, sessions that are not
    those drawn, a folder that is not there: refused with the cure, and left as it was."""
    path = tmp_path / "rows.jsonl"
    _rows(lane(), 3, 5, workers=1, rows=path)
    text = path.read_text(encoding="utf-8")
    with pytest.raises(RowsError, match="those of another study; name another file, or ask the same again"):
        _rows(lane(), 3, 6, workers=1, rows=path)
    with pytest.raises(RowsError, match="those of another study"):
        _rows(lane(("most_cars = 2", "most_cars = 1")), 3, 5, workers=1, rows=path)
    assert path.read_text(encoding="utf-8") == text
    changed = tmp_path / "changed.jsonl"
    changed.write_text(text.replace('"arrived": [', '"arrived": ["THB 9", ', 1), encoding="utf-8")
    with pytest.raises(RowsError, match="another session 1 of season 1 than is drawn"):
        _rows(lane(), 3, 5, workers=1, rows=changed)
    for bad in ("notes\n", "no end of line"):
        changed.write_text(bad, encoding="utf-8")
        with pytest.raises(RowsError, match="name another file"):
            _rows(lane(), 3, 5, workers=1, rows=changed)
        assert changed.read_text(encoding="utf-8") == bad
    for bad in ("{}\n", "row\n", '{"season": 1}\n', text.splitlines()[1].replace("proved", "found") + "\n"):
        changed.write_text(text.splitlines()[0] + "\n" + bad, encoding="utf-8")
        with pytest.raises(RowsError, match="line 2 is no row of a study"):
            list(StudyRows(changed, json.loads(text.splitlines()[0])).read())
    with pytest.raises(RowsError, match=r"no such file or directory\); name another file"):
        _rows(lane(), 3, 5, workers=1, rows=tmp_path / "nowhere" / "rows.jsonl")


def _command(path: Path, rows: Path, *more: str) -> list[str]:
    args = ["study", str(path), "--sessions", "40", "--seed", "5", "--rows", str(rows), *more]
    return [sys.executable, "-m", "switchsolve", *args]


@pytest.mark.parametrize(
    ("workers", "kills", "sessions"),
    [(1, 2, 40), (2, 3, 40), pytest.param(2, 10, 200, marks=pytest.mark.slow)],
)
def test_a_killed_study_goes_on_where_it_stopped(
    tmp_path: Path, workers: int, kills: int, sessions: int
) -> None:
    """Killed with SIGKILL at random moments, up to ten times, and then let run: the rows are those of a
    study that never was; no worker outlives a killed study."""
    path, rows = tmp_path / "lane.toml", tmp_path / "rows.jsonl"
    path.write_text(LANE, encoding="utf-8")
    chance = random.Random(workers)
    command = _command(path, rows, "--workers", str(workers), "--sessions", str(sessions))
    sizes = []
    for _ in range(kills):
        process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        before = rows.stat().st_size if rows.exists() else 0
        _wait_for(lambda before=before: rows.exists() and rows.stat().st_size > before, process)  # type: ignore[misc]
        time.sleep(chance.uniform(0, 0.4))
        children = psutil.Process(process.pid).children(recursive=True) if process.poll() is None else []
        process.kill()
        process.wait()
        _gone, alive = psutil.wait_procs(children, timeout=20)
        assert not alive
        sizes.append(len(rows.read_bytes().splitlines()))
    assert sizes == sorted(sizes) and sizes[0] < sessions + 1
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=200)
    whole = tmp_path / "whole.jsonl"
    _rows(lane(), sessions, 5, workers=1, rows=whole, seconds=60)
    assert len(_file(rows)) == sessions + 1
    assert _file(rows)[1:] == _file(whole)[1:]
    assert json.loads(_file(rows)[0]) == json.loads(_file(whole)[0])


def _wait_for(is_true, process: subprocess.Popen[bytes]) -> None:  # type: ignore[no-untyped-def]
    """Wait until something is so, or the process has ended."""
    end = time.monotonic() + 100
    while not is_true() and process.poll() is None:
        assert time.monotonic() < end
        time.sleep(0.02)


# -- the command -----------------------------------------------------------------------------------------


@pytest.fixture
def file(tmp_path: Path) -> str:
    """The small district as a file."""
    path = tmp_path / "lane.toml"
    path.write_text(LANE, encoding="utf-8")
    return str(path)


def test_the_screen_tells_everything_in_80_columns(
    file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Verdicts, the three figures, cars left over with their proof, and the hardest with their files."""
    args = ["--sessions", "30", "--seed", "3", "--workers", "1", "--hardest", str(tmp_path / "h")]
    assert main(["study", file, *args]) == 0
    text = capsys.readouterr().out
    assert all(len(line) <= 80 for line in text.splitlines())
    found = study(lane(), 30, 3, workers=1)
    assert "30 sessions, seed 3: 30 proved." in text
    moves = found.tally.moves
    (line,) = (line.split() for line in text.splitlines() if line.startswith("moves "))
    assert line[1:] == [str(at_or_under(moves, 0.5)), str(at_or_under(moves, 0.9)), str(max(moves))]
    flat = " ".join(text.split())
    assert (
        f"{found.tally.sessions_left_over} sessions with cars left over ({found.tally.left_over} cars): "
        "the most that can be done, proved." in flat
    )
    assert f"{found.tally.rolled_over} of them rolled over" in flat
    hardest = found.hardest[0].row
    assert f"season {hardest.season}, session {hardest.session}: {hardest.moves} moves" in flat
    tally = found.tally
    low, high = (at_or_under(ends, 0.5) for ends in (tally.least_seconds, tally.most_seconds))
    half = under_minutes(low, high)
    assert half[0] < half[1] and f"Half the sessions take under {half[0]} to {half[1]} minutes" in flat
    assert not re.search(r"\d\.\d+ minutes", flat)


def test_json_has_the_keys_that_are_documented(file: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The keys of the JSON answer, and no others, stand in DEVELOPERS.md; its figures are the tally's."""
    assert main(["study", file, "--sessions", "12", "--seed", "3", "--workers", "1", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    table = DEVELOPERS.split("| key of the study | type | meaning |")[1].split("\n\n")[0]
    told = {word.strip("` ") for row in table.splitlines()[2:] for word in row.split("|")[1].split(",")}
    inner = {f"hardest[].{key}" for key in answer["hardest"][0]}
    assert told == set(answer) | inner | {f"study_moves.{key}" for key in answer["study_moves"]}
    tally = study(lane(), 12, 3, workers=1).tally
    assert answer["study_moves"]["histogram"] == {str(k): v for k, v in sorted(tally.moves.items())}
    assert answer["verdicts"]["proved minimum"] == 12 and answer["cars_left_over"] == tally.left_over


def test_a_gap_is_shown_and_is_exit_code_10(capsys: pytest.CaptureFixture[str]) -> None:
    """Sessions that ran into the limit are counted, bounded, and kept out of the figures of plans."""
    path = str(ROOT / "puzzles" / "cask_lane.toml")
    args = ["--sessions", "6", "--seed", "7", "--workers", "1", "--limit-seconds", "0.001"]
    assert main(["study", path, *args]) == 10
    text = capsys.readouterr().out
    assert "moves, no plan under" in text
    assert "without a plan in time" in text or "with a gap" in text


def test_a_file_without_traffic_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """A puzzle without traffic: exit code 3, with the cure."""
    path = str(ROOT / "puzzles" / "first_spur.toml")
    assert main(["study", path]) == 3
    assert f"{path}: traffic: this is missing; add what sessions bring" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["--sessions", "0"], "--sessions 0: give 1 or more"),
        (["--seed", "-1"], "--seed -1: give 0 or more"),
        (["--workers", "0"], "--workers 0: give 1 or more"),
        (["--limit-seconds", "0"], "--limit-seconds 0: give a number above zero"),
        (["--limit-seconds", "nan"], "--limit-seconds nan: give a number above zero"),
        (["--rows", "/nowhere/rows"], "--rows /nowhere/rows: it cannot be read and written"),
        (
            ["--sessions", "1", "--workers", "1", "--hardest", "/dev/null/x"],
            "--hardest /dev/null/x: it cannot",
        ),
    ],
)
def test_wrong_arguments_are_exit_code_2(
    file: str, args: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each wrong argument is named with its cure."""
    assert main(["study", file, *args]) == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    "keys", [{"sessions": 0}, {"seed": -1}, {"workers": 0}, {"workers": 1, "executor": Here()}]
)
def test_nonsense_is_refused(keys: dict[str, object]) -> None:
    """Numbers that are too small, or workers beside an executor, raise ValueError; so does no traffic."""
    with pytest.raises(ValueError):
        list(play(lane(), **{"sessions": 1, "seed": 1, **keys}))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="no traffic"):
        list(play(replace(lane(), traffic=None), 1, 1))


def test_ctrl_c_keeps_what_there_is(file: str, tmp_path: Path) -> None:
    """Stopped by Ctrl-C: exit code 130, the rows so far summed up and in the file, and no worker left."""
    rows = tmp_path / "rows.jsonl"
    command = [*_command(Path(file), rows, "--workers", "2"), "--sessions", "100000"]
    process = subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    _wait_for(lambda: rows.exists() and len(rows.read_bytes().splitlines()) > 5, process)
    children = psutil.Process(process.pid).children(recursive=True)
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130, err.decode()
    assert "Traceback" not in err.decode()
    written = len(rows.read_bytes().splitlines()) - 1
    assert f"{written} sessions of 100000 (stopped by Ctrl-C)" in out.decode()
    assert not psutil.wait_procs(children, timeout=20)[1]


def test_ctrl_c_before_the_first_session_is_interrupted(
    file: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With nothing to sum up: exit code 130, and no figures."""

    def stopped(*_: object, **__: object) -> Solution:
        raise KeyboardInterrupt

    monkeypatch.setattr(answering, "solve", stopped)
    assert main(["study", file, "--sessions", "3", "--workers", "1"]) == 130
    printed = capsys.readouterr()
    assert printed.out == "" and printed.err == "interrupted\n"


def test_a_lost_worker_is_told_with_its_cure(file: str, tmp_path: Path) -> None:
    """A worker that is killed: exit code 130, how to go on, and no other worker left; the same command then
    goes on with the rows that are there."""
    rows = tmp_path / "rows.jsonl"
    command = [*_command(Path(file), rows, "--workers", "2"), "--sessions", "100000"]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    _wait_for(lambda: rows.exists() and len(rows.read_bytes().splitlines()) > 3, process)
    children = psutil.Process(process.pid).children(recursive=True)
    workers = [one for one in children if "spawn_main" in " ".join(one.cmdline())]
    assert len(workers) == 2
    workers[0].kill()
    err = process.communicate(timeout=60)[1].decode()
    assert process.returncode == 130 and "Traceback" not in err
    assert "a worker was lost; with --rows FILE the same command goes on where it stopped" in err
    assert not psutil.wait_procs(children, timeout=20)[1]


def test_played_without_a_plan_states_nothing() -> None:
    """A session for which no plan was found is written without a promise."""
    session = next(sessions(lane(), 1, 1))
    row = Row(
        1, 1, session.arrived, session.picked_up, (), (), 0, Verdict.GAVE_UP, None, 3, None, None, (), True,
        None, None, None,
    )  # fmt: skip
    puzzle = Played(session, row, True).puzzle
    assert (puzzle.stated_verdict, puzzle.stated_minimum) == (None, None)
    tally = Tally()
    tally.add(row)
    assert (tally.moves, tally.bounds) == (Counter(), Counter({3: 1}))
