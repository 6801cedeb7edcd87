"""Getting a compiled search ready: by a process of its own, while a plain search goes on.

After an installation the kernels must be compiled once, which takes a quarter of a minute (longest runs, and
once more for those within limits) or half a minute (events); from then on the code is on disk.  The process
that does it is let run to its end, also when its caller has ended long before, so that the next caller finds
the code there: what is stopped half-way begins anew.  It runs at low priority, and such processes take
turns: together they take one core.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext, suppress
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from threading import Thread

from switchsolve.kernel.keeping import name_on_disk

try:
    import fcntl
except ImportError:  # not a Unix system: processes there do not take turns
    fcntl = None  # type: ignore[assignment]

__all__ = ["EVENTS", "LIMITED", "RUNS", "Readying", "compile_in_turn", "is_on_disk", "make_ready"]

EVENTS = "switchsolve.search.compiled"
RUNS = "switchsolve.search.compiled_runs"
LIMITED = "switchsolve.search.compiled_limited"
"""The rooms of the compiled searches."""
_KERNELS = {
    EVENTS: ("event_kernel/entries.py", "meet"),
    RUNS: ("run_kernel/entries.py", "begin"),
    LIMITED: ("run_kernel/limited.py", "expand_within"),
}
"""The file of each from which functions are kept on disk, and the one of them that is compiled last."""
_NICE = 10
"""How much the process that compiles gives way to others."""
_LOCK = "compiling.lock"


def make_ready(tell: Callable[[str], None] | None, room: str = EVENTS) -> None:
    """Import a compiled search: half a second, but for the first time after an installation."""
    if tell is not None:
        tell("making the compiled search ready (the first time after an installation takes half a minute)")
    import_module(room)


class Readying:
    """A compiled search being made ready; ``is_ready`` starts that when it is first asked."""

    def __init__(self, room: str) -> None:
        self.room = room
        self._process: subprocess.Popen[bytes] | None = None

    def is_ready(self) -> bool:
        """Whether importing the room would not compile any more (never, if it cannot be compiled)."""
        if self.room in sys.modules:
            return True
        if self._process is None:
            if is_on_disk(self.room):
                return True
            self._process = _process_for(self.room)
        return self._process.poll() == 0


def _process_for(room: str) -> subprocess.Popen[bytes]:
    """A process that compiles ``room``.

    In a session of its own, so that neither Ctrl-C nor a closed terminal ends it; and waited for by a thread,
    so that it leaves no zombie however long its caller lives.
    """
    script = f"import sys; sys.path[:] = {sys.path!r}; from {__name__} import *; compile_in_turn({room!r})"
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    Thread(target=process.wait, daemon=True).start()
    return process


def compile_in_turn(room: str) -> None:
    """Import ``room`` once no other process compiles one; for a process that does nothing else."""
    if hasattr(os, "nice"):
        os.nice(_NICE)
    with _turn():
        import_module(room)
        _mark(room)


def _mark(room: str) -> None:
    """Note on disk that the code there is that of the file as it is: one that was written anew with the same
    contents looks newer than its code, which need not be compiled again.
    """
    indexes = _indexes(room) if room in _KERNELS else []
    if indexes and not is_on_disk(room):
        with suppress(OSError):
            os.utime(max(indexes, key=lambda index: index.stat().st_mtime))


def _turn() -> AbstractContextManager[object]:
    """Once no other process compiles: a lock to be held meanwhile.  (Where none can be had: no wait.)

    The lock is the system's, on a file beside the compiled code: it is gone with the process that holds it.
    """
    folder = _folder() / "__pycache__"
    try:
        folder.mkdir(exist_ok=True)
        file = (folder / _LOCK).open("w")
    except OSError:
        return nullcontext()
    if fcntl is not None:
        fcntl.flock(file, fcntl.LOCK_EX)
    return file


def _folder() -> Path:
    """Where the kernels lie."""
    spec = find_spec("switchsolve.kernel")
    assert spec is not None and spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0])


def is_on_disk(room: str = EVENTS) -> bool:
    """Whether the code of a compiled search lies in the folder where it is kept by default: no older than the
    file that it is kept for, by a name that tells all files of the kernel as they are.  (Kept
    elsewhere, it is looked for by the process, at the price of a second.)
    """
    written = _file(room).stat().st_mtime
    return any(index.stat().st_mtime >= written for index in _indexes(room))


def _file(room: str) -> Path:
    """From which functions are kept."""
    return _folder() / _KERNELS[room][0]


def _indexes(room: str) -> list[Path]:
    """The files that say which code of the function compiled last is on disk."""
    file = _file(room)
    name = name_on_disk(_KERNELS[room][1], file.parent)
    python = f"py{sys.version_info[0]}{sys.version_info[1]}"
    return list((file.parent / "__pycache__").glob(f"{file.stem}.{name}-*.{python}*.nbi"))
