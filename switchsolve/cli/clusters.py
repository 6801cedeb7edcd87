"""Where the sessions of a command are solved: here, or by a cluster."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

__all__ = ["executor_of", "lost", "wrong_workers"]

_EACH = 4
"""Seasons played together for each thread of the cluster, so that none waits for the next question."""


def wrong_workers(arguments: Namespace) -> list[str]:
    """What is wrong with ``--workers`` and ``--cluster``, each with its cure."""
    if arguments.workers is None:
        return []
    if arguments.cluster is not None:
        cure = "the cluster has workers of its own; leave out one of the two"
        return [f"--workers {arguments.workers} with --cluster {arguments.cluster}: {cure}"]
    return [f"--workers {arguments.workers}: give 1 or more"] if arguments.workers < 1 else []


def lost(arguments: Namespace) -> str:
    """What is gone when the work cannot go on."""
    return "a worker was lost" if arguments.cluster is None else "the cluster was lost"


@contextmanager
def executor_of(arguments: Namespace) -> Iterator[tuple[Executor | None, int | None]]:
    """The executor that was asked for, and how many seasons it takes to keep it busy; none: processes here.

    Raises as :func:`switchsolve.study.cluster`.
    """
    if arguments.cluster is None:
        yield None, None
        return
    from switchsolve.study import cluster

    with cluster(arguments.cluster) as found:
        yield found.executor, _EACH * found.threads
