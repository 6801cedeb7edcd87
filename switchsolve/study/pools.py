"""Where sessions are solved: here, or by a process on each core."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from typing import ParamSpec, TypeVar

from switchsolve.search.readying import make_ready

__all__ = ["Here", "cores", "pool"]

_TERMINATED = 128 + signal.SIGTERM
"""The exit code, as shells count."""

P = ParamSpec("P")
T = TypeVar("T")


class Here(Executor):
    """Does what is submitted at once, in the process and thread of its caller."""

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Call ``fn``; an exception comes out here."""
        future: Future[T] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


class _Processes(ProcessPoolExecutor):
    """Its processes begin in ``submit``, with Ctrl-C held back: until ``_begin`` is through they would die of
    it with a traceback each.  What a process is born with it keeps.
    """

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """As of any executor; Ctrl-C comes right after it."""
        if not hasattr(signal, "pthread_sigmask"):
            return super().submit(fn, *args, **kwargs)
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            return super().submit(fn, *args, **kwargs)
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def pool(workers: int, room: str) -> Iterator[Executor]:
    """So many processes that solve, with the compiled search ``room`` ready; with one worker none, but the
    caller itself.  If the block ends by an exception (Ctrl-C, or SIGTERM: ``SystemExit``), what they are at
    is dropped.
    """
    if workers == 1:
        yield Here()
        return
    before = set(multiprocessing.active_children())
    context = multiprocessing.get_context("spawn")
    executor = _Processes(workers, context, _begin, (room,))
    try:
        with _unwound_by_terminate():
            yield executor
    except BaseException:
        executor.shutdown(wait=False, cancel_futures=True)
        for process in set(multiprocessing.active_children()) - before:
            process.terminate()
        raise
    executor.shutdown()


@contextmanager
def _unwound_by_terminate() -> Iterator[None]:
    """SIGTERM inside ends the block as Ctrl-C does: nothing of the system's stays behind, as it would if the
    process just ended.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, _terminated)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _terminated(*_: object) -> None:
    raise SystemExit(_TERMINATED)


def _begin(room: str) -> None:
    """How a worker begins: Ctrl-C is its parent's affair; it ends when its parent does, even if killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    make_ready(None, room)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
