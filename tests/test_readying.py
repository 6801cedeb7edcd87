"""Compiled searches made ready in the background: let run to the end, one at a time, no trace left."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from switchsolve.kernel.keeping import name_on_disk
from switchsolve.search import readying
from switchsolve.search.readying import Readying

ROOT = Path(__file__).parent.parent
KERNELS = ROOT / "switchsolve" / "kernel"
MOST_SECONDS = 60.0

ROOM = """\
import os, time
from pathlib import Path
log = Path(__file__).with_suffix(".log")
def note(what):
    with log.open("a") as file:
        file.write(f"{what} {os.getpid()}\\n")
note("begin")
time.sleep(1.0)
note("end")
"""

CALLER = """\
import sys
sys.path.insert(0, sys.argv[1])
from switchsolve.search import readying
readying.is_on_disk = lambda room: False
assert not readying.Readying("slow_room").is_ready()
"""


def _log(folder: Path) -> list[list[str]]:
    log = folder / "slow_room.log"
    return [line.split() for line in log.read_text().splitlines()] if log.exists() else []


def _wait_for_lines(folder: Path, count: int) -> list[list[str]]:
    end = time.monotonic() + MOST_SECONDS
    while len(_log(folder)) < count and time.monotonic() < end:
        time.sleep(0.05)
    return _log(folder)


def _wait_for(condition: object) -> bool:
    assert callable(condition)
    end = time.monotonic() + MOST_SECONDS
    while time.monotonic() < end:
        if condition():
            return True
        time.sleep(0.05)
    return False


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a room that takes a second to import, and is not on disk."""
    (tmp_path / "slow_room.py").write_text(ROOM)
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(readying, "is_on_disk", lambda room: False)
    return tmp_path


def test_it_goes_on_when_its_caller_has_ended_and_takes_turns(room: Path) -> None:
    """Two callers end at once; both processes still come to their end, one after the other."""
    for _ in range(2):
        subprocess.run([sys.executable, "-c", CALLER, str(room)], cwd=ROOT, check=True)
    lines = _wait_for_lines(room, 4)
    assert [what for what, _ in lines] == ["begin", "end", "begin", "end"]
    assert lines[0][1] == lines[1][1] != lines[2][1] == lines[3][1]


def test_it_is_ready_in_the_end_and_leaves_no_zombie(room: Path) -> None:
    """First it is not ready, then it is, and the process is gone, whether or not anybody asks for it."""
    one = Readying("slow_room")
    assert not one.is_ready()
    process = one._process
    assert process is not None
    assert _wait_for(lambda: not psutil.pid_exists(process.pid))
    assert _wait_for(one.is_ready)  # the thread that has waited for it may be about to note how it ended


def test_it_has_a_session_of_its_own(room: Path) -> None:
    """Ctrl-C goes to all processes of the caller's session in front: that one is not among them."""
    one = Readying("slow_room")
    assert not one.is_ready()
    assert one._process is not None
    assert os.getsid(one._process.pid) != os.getsid(0)
    assert len(_wait_for_lines(room, 2)) == 2


def test_what_cannot_be_compiled_is_never_ready(room: Path) -> None:
    """If the process fails, the plain search is not told to stop."""
    (room / "slow_room.py").write_text("raise RuntimeError")
    one = Readying("slow_room")
    assert not one.is_ready()
    process = one._process
    assert process is not None
    assert _wait_for(lambda: process.poll() is not None)
    assert not one.is_ready()


@pytest.mark.parametrize("room", [readying.EVENTS, readying.RUNS, readying.LIMITED])
def test_it_looks_for_the_function_compiled_last(room: str) -> None:
    """What tells that all is on disk is the last function of the kernel's file that is kept there."""
    file, last = readying._KERNELS[room]
    tree = ast.parse((KERNELS / file).read_text(encoding="utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    kept = [
        function.name
        for function in functions
        if any(re.search(r"cache=True|^kept\(", ast.unparse(one)) for one in function.decorator_list)
    ]
    assert kept[-1] == last


def _laid_out(room: str, folder: Path) -> tuple[Path, Path, str]:
    """A kernel of which nothing but its one file is there; that, its cache, and how an index is called."""
    name, last = readying._KERNELS[room]
    file = folder / name
    file.parent.mkdir(exist_ok=True)
    file.touch()
    cache = file.parent / "__pycache__"
    cache.mkdir()
    last = name_on_disk(last, file.parent)
    return file, cache, f"{file.stem}.{last}-1.py{sys.version_info[0]}{sys.version_info[1]}.nbi"


@pytest.mark.parametrize("room", [readying.EVENTS, readying.RUNS, readying.LIMITED])
def test_code_older_than_its_source_does_not_count(
    room: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing there, another Python's code, old code: not on disk; new code is."""
    monkeypatch.setattr(readying, "_folder", lambda: tmp_path)
    _, cache, name = _laid_out(room, tmp_path)
    assert not readying.is_on_disk(room)
    (cache / re.sub(r"py\d+", "py000", name)).touch()
    assert not readying.is_on_disk(room)
    index = cache / name
    index.touch()
    assert readying.is_on_disk(room)
    os.utime(index, (0, 0))
    assert not readying.is_on_disk(room)
    readying._mark(room)  # as a process does that has loaded it: it is the kernel's after all
    assert readying.is_on_disk(room)


def test_code_of_other_sources_does_not_count(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another file of the kernel comes, or changes: what is on disk is not the code of these files."""
    monkeypatch.setattr(readying, "_folder", lambda: tmp_path)
    file, cache, name = _laid_out(readying.EVENTS, tmp_path)
    other = file.with_name("other.py")
    (cache / name).touch()
    assert readying.is_on_disk()
    for text in ("", "FEW = 2\n", "FEW = 3\n"):
        other.write_text(text)
        assert not readying.is_on_disk()
    other.unlink()
    assert readying.is_on_disk()


def test_what_is_compiled_is_found_on_disk() -> None:
    """Where a fresh process has just had the code, ready made or not, it is said to be on disk."""
    code = f"from switchsolve.search.readying import *; compile_in_turn({readying.EVENTS!r}); "
    code += "print(is_on_disk())"
    environment = {key: value for key, value in os.environ.items() if not key.startswith("NUMBA_")}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert done.stdout == "True\n"
