"""Questions spread over the cores: the same answers, within the time, and nobody left behind."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future
from contextlib import nullcontext
from pathlib import Path

import psutil
import pytest

from switchsolve import spreading
from switchsolve.cli import main
from switchsolve.cli.codes import INTERRUPTED
from switchsolve.measuring.length_steps import length_steps
from switchsolve.nuisances import Weighing, weigh
from switchsolve.ordering import in_every_order
from switchsolve.puzzlefile import load
from switchsolve.search.readying import RUNS
from switchsolve.solving import Allowance
from switchsolve.spreading import spread
from switchsolve.study import pool
from tests.spread_at_once import at_once

PUZZLES = Path(__file__).parent.parent / "puzzles"
Tell = Callable[[str], None] | None
Stop = Callable[[], str | None] | None


def _square(number: int, seconds: float | None, tell: Tell, stop: Stop) -> tuple[int, int]:
    """The square, and who answered."""
    return number * number, os.getpid()


def _asleep(number: int, seconds: float | None, tell: Tell, stop: Stop) -> int:
    time.sleep(60)
    return number


def _lost(number: int, seconds: float | None, tell: Tell, stop: Stop) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return number


def _nobody_is_left() -> bool:
    end = time.monotonic() + 20
    while multiprocessing.active_children() and time.monotonic() < end:
        time.sleep(0.05)
    return not multiprocessing.active_children()


def test_answers_come_in_order_whoever_gives_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """Here, and by two processes of which neither is this one: the same, in the order of the questions."""
    here = spread(_square, range(7), Allowance(None))
    assert [(one, answer) for one, (answer, _) in here] == [(n, n * n) for n in range(7)]
    assert {who for _, (_, who) in here} == {os.getpid()}
    at_once(monkeypatch)
    there = spread(_square, range(7), Allowance(None), workers=2)
    assert [(one, answer) for one, (answer, _) in there] == [(n, n * n) for n in range(7)]
    assert os.getpid() not in {who for _, (_, who) in there}
    assert _nobody_is_left()


def test_nobody_is_begun_for_what_is_done_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Quick questions stay here, for beginning a process takes two seconds; slow ones do not."""
    monkeypatch.setattr(spreading, "pool", None)  # would be called
    assert len(spread(_square, range(50), Allowance(None), workers=2)) == 50
    now = [0.0]
    monkeypatch.setattr(spreading.time, "monotonic", lambda: now[0])

    def slow(number: int, seconds: float | None, tell: Tell, stop: Stop) -> int:
        now[0] += 1.5
        return number

    assert len(spread(slow, range(4), Allowance(None), workers=2)) == 4  # after two, three seconds are left
    with pytest.raises(TypeError):  # after two there are five seconds more than it is worth
        spread(slow, range(9), Allowance(None), workers=2)


class _Noting(Executor):
    """Answers at once, and remembers the time that each question was given."""

    def __init__(self) -> None:
        self.seconds: list[float] = []

    def submit(self, fn, /, *args, **keys):  # type: ignore[no-untyped-def]
        self.seconds.append(args[1])
        future: Future[object] = Future()
        future.set_result(fn(*args, **keys))
        return future


def test_time_is_shared_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four questions in eight seconds have two each on one core and four each on two; with four more to come
    after them half of that.
    """
    given: list[float | None] = []

    def ask(number: int, seconds: float | None, tell: Tell, stop: Stop) -> int:
        given.append(seconds)
        return number

    spread(ask, range(4), Allowance(8.0))
    assert given == pytest.approx([2.0, 2.67, 4.0, 8.0], abs=0.1)  # nobody used any
    given.clear()
    spread(ask, range(4), Allowance(8.0), kept=4)
    assert given[0] == pytest.approx(1.0, abs=0.1)
    at_once(monkeypatch)
    noting = _Noting()
    monkeypatch.setattr(spreading, "pool", lambda *_: nullcontext(noting))
    spread(ask, range(4), Allowance(8.0), workers=2)
    assert noting.seconds[:2] == pytest.approx([4.0, 4.0], abs=0.1)


def test_once_the_time_is_over_no_more_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was answered is kept, and the reason is told."""
    now = [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])

    def ask(number: int, seconds: float | None, tell: Tell, stop: Stop) -> int:
        now[0] += 3.0
        return number

    allowed = Allowance(5.0, _began=0.0)
    assert spread(ask, range(9), allowed) == [(0, 0), (1, 1)]
    assert allowed.stopped == "the limit of 5 seconds"


def test_a_stop_ends_the_workers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped while others are at work: at once, with the reason, and none of them is left."""
    at_once(monkeypatch)
    asked = iter([None] * 6)
    allowed = Allowance(None, stop=lambda: next(asked, "Ctrl-C"))
    began = time.monotonic()
    assert spread(_asleep, range(4), allowed, workers=2) == []
    assert allowed.stopped == "Ctrl-C" and time.monotonic() - began < 30
    assert _nobody_is_left()


def test_progress_tells_how_far_it_is() -> None:
    """How many are done, how long the rest may take, and what is asked now."""
    told: list[str] = []
    spread(_square, range(3), Allowance(None, told.append), told="number {}".format)
    assert told[0] == "0 of 3, time left not known yet: number 0"
    assert told[2].startswith("2 of 3, about ") and told[2].endswith(" left: number 2")


def test_a_lost_worker_is_told_with_its_cure(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Code 130, and what to do."""
    at_once(monkeypatch)
    monkeypatch.setattr("switchsolve.nuisances.weighing._without", _lost)
    assert main(["why", str(PUZZLES / "cask_lane_facing.toml"), "--workers", "2"]) == INTERRUPTED
    assert "a worker was lost; ask again, with fewer --workers" in capsys.readouterr().err


_AT_WORK = """
import time
from switchsolve.search.readying import RUNS
from switchsolve.study import pool
if __name__ == "__main__":
    with pool(2, RUNS) as executor:
        executor.submit(print, "at work", flush=True).result()
        time.sleep(60)
"""


def test_terminated_everything_is_tidy(tmp_path: Path) -> None:
    """SIGTERM while processes are at work: exit code 143 (128 + 15, as shells count), no worker left, and no
    warning of Python's about what stayed behind.
    """
    script = tmp_path / "at_work.py"
    script.write_text(_AT_WORK, encoding="utf-8")
    command = [sys.executable, str(script)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None and process.stderr is not None
        assert process.stdout.readline() == "at work\n"
        workers = psutil.Process(process.pid).children(recursive=True)
        process.terminate()
        assert process.stderr.read() == ""
    assert process.returncode == 143
    _, alive = psutil.wait_procs(workers, timeout=20)
    assert len(workers) >= 2 and not alive


@pytest.mark.parametrize("command", ["why", "blocking", "lengths", "measure", "survey"])
def test_no_workers_are_refused(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the cure, and code 2."""
    more = ["-o", str(tmp_path / "out.html")] if command == "survey" else []
    assert main([command, str(PUZZLES / "first_spur.toml"), "--workers", "0", *more]) == 2
    assert "--workers 0: give 1 or more" in capsys.readouterr().err


# -- the same for any number of workers ------------------------------------------------------------------


def _found(weighing: Weighing) -> object:
    """All that was found but the plan of the work as it is, which is one of several."""
    return weighing.now.verdict, weighing.now.lower_bound, weighing.weighed, weighing.ordering


def test_two_workers_find_the_same_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nuisances, orders of the train, and steps of lengths (closed rail, a switchback, a train of two)."""
    puzzle = load(PUZZLES / "glasshouse_switchback.toml")
    tracks = ["switchback tail", "glass works", "wharf track"]
    why, steps = weigh(puzzle), length_steps(puzzle, tracks)
    assert why.ordering == in_every_order(puzzle)
    at_once(monkeypatch)
    assert _found(weigh(puzzle, workers=2)) == _found(why)
    assert length_steps(puzzle, tracks, workers=2) == steps
    assert any(piece.unmeasured for piece in steps.pieces)


def test_workers_are_born_with_ctrl_c_held_back() -> None:
    """While they begin nobody would take it but Python, with a traceback each; the caller takes it."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    with pool(2, RUNS) as executor:
        held = executor.submit(signal.pthread_sigmask, signal.SIG_BLOCK, ()).result()
        assert signal.SIGINT in held
        assert signal.pthread_sigmask(signal.SIG_BLOCK, ()) == before and signal.SIGINT not in before
