"""Many questions of one command, spread over the cores.

The first ones are asked here, one after the other.  Once their pace shows that the rest would take longer
than it takes to begin other processes, the rest goes to one process for each core.  What is answered does not
depend on where, unless a question runs out of its time.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from typing import Generic, Protocol, TypeVar

from switchsolve.search.readying import RUNS
from switchsolve.solving import Allowance
from switchsolve.study import Pace, pool

__all__ = ["Ask", "Spread", "spread"]

_PATIENCE = 2.0
"""Seconds before the pace is believed."""
_WORTH = 6.0
"""Seconds that the rest must take at that pace: each process takes two to begin."""
_TICK = 0.2
"""Seconds between two looks whether to stop."""

Q = TypeVar("Q")
A = TypeVar("A")
Q_contra = TypeVar("Q_contra", contravariant=True)
A_co = TypeVar("A_co", covariant=True)


class Ask(Protocol[Q_contra, A_co]):
    """What answers one question within ``seconds``; a function that another process can import."""

    def __call__(
        self,
        question: Q_contra,
        seconds: float | None,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
        /,
    ) -> A_co:
        """The answer."""


def spread(
    ask: Ask[Q, A],
    questions: Sequence[Q],
    allowed: Allowance,
    *,
    workers: int = 1,
    kept: int = 0,
    told: Callable[[Q], str] = str,
) -> list[tuple[Q, A]]:
    """The questions that were answered, in their order: all of them, unless ``allowed`` is over before.

    Each has an equal share of the time that is left when its turn comes, as if ``kept`` questions more were
    to come after them.  ``workers``: processes at most.  ``told``: what is said of a question.  Raises
    ``BrokenExecutor`` if a process is lost.
    """
    return Spread(ask, questions, allowed, workers, kept, told).answers()


class _Stopped(Exception):
    """Out of a block in which processes are at work."""


class Spread(Generic[Q, A]):
    """The questions that are left, those that are being asked, and the answers; see :func:`spread`."""

    def __init__(
        self,
        ask: Ask[Q, A],
        questions: Sequence[Q],
        allowed: Allowance,
        workers: int,
        kept: int,
        told: Callable[[Q], str],
    ) -> None:
        self._ask = ask
        self._questions = questions
        self._allowed = allowed
        self._workers = workers
        self._kept = kept
        self._told = told
        self._left = deque(range(len(questions)))
        self._asked: dict[Future[A], int] = {}
        self._found: dict[int, A] = {}
        self._began = time.monotonic()
        self._pace = Pace()

    def answers(self) -> list[tuple[Q, A]]:
        """Ask here, as long as it is not worth while to have others ask."""
        while self._left and not self._allowed.is_over():
            if self._is_worth_while():
                self._elsewhere(min(self._workers, len(self._left)))
            else:
                self._here()
        return [(self._questions[number], self._found[number]) for number in sorted(self._found)]

    def _is_worth_while(self) -> bool:
        if min(self._workers, len(self._left)) < 2:
            return False
        spent = time.monotonic() - self._began
        return spent >= _PATIENCE and spent * len(self._left) >= _WORTH * len(self._found)

    def _here(self) -> None:
        """The next one."""
        number = self._left.popleft()
        self._say(number)
        tell = None if self._allowed.tell is None else lambda text: self._tell(text)
        share = self._allowed.share(1 + len(self._left) + self._kept)
        self._found[number] = self._ask(self._questions[number], share, tell, self._allowed.stop)

    def _elsewhere(self, workers: int) -> None:
        """All that are left, so many at a time."""
        try:
            with pool(workers, RUNS) as executor:
                while self._asked or (self._left and not self._allowed.is_over()):
                    if self._left and len(self._asked) < workers and not self._allowed.is_over():
                        self._submit(executor, workers)
                    else:
                        self._collect()
        except _Stopped:  # the allowance says why
            self._asked.clear()

    def _submit(self, executor: Executor, workers: int) -> None:
        """Have the next one asked; so many share the time."""
        to_come = len(self._left) + len(self._asked) + self._kept
        share = self._allowed.share(max(1, -(-to_come // workers)))
        number = self._left.popleft()
        self._say(number)
        self._asked[executor.submit(self._ask, self._questions[number], share, None, None)] = number

    def _collect(self) -> None:
        """Wait for answers, a moment at most."""
        for future in wait(self._asked, timeout=_TICK, return_when=FIRST_COMPLETED).done:
            self._found[self._asked.pop(future)] = future.result()
        if self._allowed.stop is not None and self._allowed.stop() is not None:
            self._allowed.is_over()
            raise _Stopped

    def _say(self, number: int) -> None:
        self._tell(self._told(self._questions[number]))

    def _tell(self, text: str) -> None:
        """Progress: how far it is, and how long it may take."""
        done, asked = len(self._found), len(self._questions)
        self._allowed.say(f"{done} of {asked}, {self._pace.left(done, asked, done)}: {text}")
