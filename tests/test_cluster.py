"""Studies on a Dask cluster on loopback: the same rows, also when a worker is killed; and clear words where
there is none."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from distributed import Client, LocalCluster

from switchsolve.cli import main
from switchsolve.comparing import cases_of, compare
from switchsolve.study import Row, cluster, clusters, play
from tests.traffic_files import LANE, lane

ROOT = Path(__file__).parent.parent


def _sorted(rows: Iterator[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: (row.season, row.session))


def _here(sessions: int) -> list[Row]:
    return _sorted(one.row for one in play(lane(), sessions, 5, workers=1))


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A scheduler in this process, and two workers, each a process that is begun anew when it is killed."""
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
    ) as local:
        local.wait_for_workers(2)
        yield local.scheduler_address


@pytest.fixture
def file(tmp_path: Path) -> str:
    """The small district as a file."""
    path = tmp_path / "lane.toml"
    path.write_text(LANE, encoding="utf-8")
    return str(path)


def test_a_cluster_gives_the_rows_of_one_worker(address: str) -> None:
    """25 sessions on two workers: the rows are those of one process here."""
    with cluster(address) as found:
        assert found.threads == 2
        rows = _sorted(
            one.row for one in play(lane(), 25, 5, executor=found.executor, at_once=4 * found.threads)
        )
    assert rows == _here(25)


def test_a_lost_worker_costs_no_row(address: str) -> None:
    """A worker killed with SIGKILL after six sessions of 25: the rows are those of a study that lost none."""
    rows: list[Row] = []
    with cluster(address) as found, Client(address, set_as_default=False) as client:
        before = set(client.run(os.getpid).values())
        for one in play(lane(), 25, 5, executor=found.executor, at_once=8):
            rows.append(one.row)
            if len(rows) == 6:
                os.kill(min(before), signal.SIGKILL)
        client.wait_for_workers(2)
        assert min(before) not in client.run(os.getpid).values()
    assert _sorted(iter(rows)) == _here(25)


def test_the_command_writes_the_rows_of_one_worker(
    address: str, file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`study --cluster ADDRESS`: the same lines in the file of rows as with one worker, the same answer."""
    said, lines = [], []
    for name, where in (("one", ["--workers", "1"]), ("two", ["--cluster", address])):
        rows = tmp_path / f"{name}.jsonl"
        assert main(["study", file, "--sessions", "15", "--seed", "3", "--rows", str(rows), *where]) == 0
        said.append(capsys.readouterr().out)
        lines.append(sorted(rows.read_text(encoding="utf-8").splitlines()))
    assert lines[0] == lines[1] and len(lines[0]) == 16
    assert said[0] == said[1]


def test_a_comparison_by_a_cluster_is_that_of_one_worker(address: str) -> None:
    """The same differences, session by session, of two arrangements."""
    longer = lane(('"Ice turnout diverging", length = 7', '"Ice turnout diverging", length = 12'))
    cases = cases_of([("as_it_is.toml", lane()), ("longer.toml", longer)])
    with cluster(address) as found:
        there = compare(cases, 12, 2, executor=found.executor, at_once=8)
    here = compare(cases, 12, 2, workers=1)
    assert there.is_complete and there.sessions == 12
    assert [one.moves for one in there.differences] == [one.moves for one in here.differences]
    assert there.moves == here.moves


# -- none, or one that is of no use ----------------------------------------------------------------------


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def test_what_cannot_be_used_is_told_with_its_cure(
    file: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """No address, nobody there, no package: exit code 2, for `study` and for `compare`."""
    monkeypatch.setattr(clusters, "_WAIT_SECONDS", 1.0)
    nobody = f"tcp://127.0.0.1:{_free_port()}"
    for given, says in (
        ("nonsense", "--cluster nonsense: this is no address; give one such as tcp://127.0.0.1:8786\n"),
        (nobody, f"--cluster {nobody}: no scheduler answers there; start it with `dask scheduler`"),
    ):
        assert main(["study", file, "--cluster", given]) == 2
        assert says in capsys.readouterr().err
    spur = str(ROOT / "puzzles" / "cask_lane_spur.toml")
    assert main(["compare", spur, "--cluster", "nonsense"]) == 2
    assert "--cluster nonsense: this is no address" in capsys.readouterr().err
    assert main(["study", file, "--workers", "2", "--cluster", nobody]) == 2
    assert "leave out one of the two" in capsys.readouterr().err
    monkeypatch.setattr(clusters, "find_spec", lambda _: None)
    assert main(["study", file, "--cluster", nobody]) == 2
    assert "this needs another package; pip install 'switchsolve[cluster]'" in capsys.readouterr().err


def test_a_scheduler_without_workers_is_told(file: str, capsys: pytest.CaptureFixture[str]) -> None:
    """No workers: exit code 2 at once, with the command that starts one; nobody waits for ever."""
    with LocalCluster(n_workers=0, host="127.0.0.1", dashboard_address=None, processes=True) as local:
        address = local.scheduler_address
        assert main(["study", file, "--cluster", address]) == 2
    assert f"the scheduler has no workers; start one with `dask worker {address}`" in capsys.readouterr().err


def test_workers_of_another_release_are_refused(
    address: str, file: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Workers with another release than the one here: exit code 2, both named."""
    own = clusters.version("switchsolve")
    real = clusters.version
    monkeypatch.setattr(clusters, "version", lambda name: "99" if name == "switchsolve" else real(name))
    assert main(["study", file, "--cluster", address]) == 2
    err = capsys.readouterr().err
    assert f"has switchsolve {own}; install switchsolve 99 there, and start it again" in err


@pytest.mark.slow
def test_a_lost_scheduler_is_told_and_the_study_goes_on(file: str, tmp_path: Path) -> None:
    """A scheduler killed in the middle: exit code 130, one line with the cure; the same command with workers
    here goes on, and the rows are those of one that was never stopped."""
    port, rows = _free_port(), tmp_path / "rows.jsonl"
    address = f"tcp://127.0.0.1:{port}"
    dask = [sys.executable, "-m", "dask"]
    quiet = {"cwd": ROOT, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    scheduler = subprocess.Popen(
        [*dask, "scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"], **quiet
    )
    worker = subprocess.Popen([*dask, "worker", address, "--nthreads", "1", "--no-dashboard"], **quiet)
    try:
        with Client(address, timeout=30, set_as_default=False) as client:
            client.wait_for_workers(1, timeout=60)
        command = [sys.executable, "-m", "switchsolve", "study", file, "--seed", "5", "--rows", str(rows)]
        long = [*command, "--sessions", "100000", "--cluster", address]
        process = subprocess.Popen(long, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        end = time.monotonic() + 100
        while time.monotonic() < end and not (rows.exists() and rows.read_bytes().count(b"\n") > 5):
            time.sleep(0.05)
        scheduler.kill()
        err = process.communicate(timeout=120)[1].decode()
    finally:
        for one in (scheduler, worker):
            one.kill()
            one.wait()
    assert process.returncode == 130 and "Traceback" not in err
    assert "the cluster was lost; with --rows FILE the same command goes on where it stopped" in err
    number = rows.read_bytes().count(b"\n") + 20
    subprocess.run(
        [*command, "--sessions", str(number)], cwd=ROOT, check=True, capture_output=True, timeout=300
    )
    kept = [json.loads(line) for line in rows.read_text(encoding="utf-8").splitlines()[1:]]
    found = {(row["season"], row["session"]): row["moves"] for row in kept}
    wanted = {(row.season, row.session): row.moves for row in _here(number)}
    assert wanted.items() <= found.items() and len(found) == len(kept)
