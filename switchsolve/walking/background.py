"""The proof of the minimum, found while a person walks."""

from __future__ import annotations

from threading import Event, Thread

from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve
from switchsolve.words import counted

__all__ = ["Background"]


class Background:
    """One set-up being solved in a thread of its own, until that is done, ``seconds`` are over, or it is
    stopped.
    """

    def __init__(self, puzzle: Puzzle, seconds: float | None) -> None:
        self._puzzle, self._seconds = puzzle, seconds
        self._is_stopped = Event()
        self._solution: Solution | None = None
        self._thread = Thread(target=self._solve, daemon=True)
        self._thread.start()

    def _solve(self) -> None:
        self._solution = solve(self._puzzle, seconds=self._seconds, tie_standings=0, stop=self._reason)

    def _reason(self) -> str | None:
        return "the end of the walk" if self._is_stopped.is_set() else None

    def stop(self) -> None:
        """Give up what is under way."""
        self._is_stopped.set()

    def wait(self, seconds: float | None = None) -> Solution | None:
        """The solution, once there is one; ``None`` if there is none after so many seconds."""
        self._thread.join(seconds)
        return self._solution

    def text(self) -> str:
        """What can be said of the minimum by now."""
        found = self._solution
        if found is None:
            return "being looked for" if self._thread.is_alive() else "not known"
        if found.verdict is Verdict.IMPOSSIBLE:
            return "impossible (proved)"
        if found.verdict is Verdict.PROVED and found.counts is not None:
            return f"{found.counts.moves} (proved)"
        least = counted(found.lower_bound or 0, "move")
        return f"at least {least}"
