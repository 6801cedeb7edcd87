"""Sessions solved on other machines: the workers of a Dask scheduler, by its own executor.

A worker that is lost costs nothing but time: the scheduler gives what it was at to another one.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.metadata import version
from importlib.util import find_spec
from typing import TYPE_CHECKING

from switchsolve.errors import SwitchsolveError

if TYPE_CHECKING:
    from distributed import Client

__all__ = ["Cluster", "ClusterError", "cluster"]

_WAIT_SECONDS = 5.0
"""For the scheduler to answer."""
_PACKAGE = "switchsolve"


class ClusterError(SwitchsolveError):
    """A scheduler cannot be used; the message names its address and the cure."""


@dataclass(frozen=True, slots=True)
class Cluster:
    """What solves: its executor, and how many questions it is at when all are busy."""

    executor: Executor
    threads: int


def release() -> str:
    """Which release of this package a worker has; asked of each."""
    return version(_PACKAGE)


@contextmanager
def cluster(address: str) -> Iterator[Cluster]:
    """The workers of the scheduler at ``address`` (such as ``tcp://127.0.0.1:8786``); when the block ends,
    what is not done yet is dropped.

    Raises :class:`ClusterError` if Dask is not installed, the scheduler cannot be reached, has no workers, or
    they have not the same release of this package; ``BrokenExecutor`` in the block if all is lost.
    """
    if find_spec("distributed") is None:
        raise ClusterError(f"{address}: this needs another package; pip install 'switchsolve[cluster]'")
    from distributed import KilledWorker

    with _quiet(), _client(address) as client:
        threads = _threads(client, address)
        executor = client.get_executor(pure=False)
        try:
            yield Cluster(executor, threads)
        except (CancelledError, KilledWorker, ModuleNotFoundError) as error:
            raise BrokenExecutor(str(error)) from error
        finally:
            executor.shutdown(wait=False)


@contextmanager
def _quiet() -> Iterator[None]:
    """Dask's log of what it loses and finds again is not for the screen."""
    before = [(handler, handler.level) for handler in logging.getLogger("distributed").handlers]
    for handler, _ in before:
        handler.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for handler, level in before:
            handler.setLevel(level)


@contextmanager
def _client(address: str) -> Iterator[Client]:
    """A connection, closed at the end."""
    from distributed import Client

    if not re.fullmatch(r"(\w+://)?[^\s/]+:\d+/?", address):
        raise ClusterError(f"{address}: this is no address; give one such as tcp://127.0.0.1:8786")
    try:
        client = Client(address, timeout=_WAIT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError, RuntimeError) as error:
        cure = "start it with `dask scheduler`, and give the address that it shows"
        raise ClusterError(f"{address}: no scheduler answers there; {cure}") from error
    try:
        yield client
    finally:
        client.close(timeout=_WAIT_SECONDS)


def _threads(client: Client, address: str) -> int:
    """How many questions its workers are at together, once all of them are known to be of use."""
    threads: int = sum(client.nthreads().values())
    if not threads:
        raise ClusterError(f"{address}: the scheduler has no workers; start one with `dask worker {address}`")
    own = release()
    for worker, found in client.run(release, on_error="return").items():
        if found != own:
            has = f"{_PACKAGE} {found}" if isinstance(found, str) else f"no {_PACKAGE}"
            cure = f"install {_PACKAGE} {own} there, and start it again"
            raise ClusterError(f"{address}: worker {worker} has {has}; {cure}")
    return threads
