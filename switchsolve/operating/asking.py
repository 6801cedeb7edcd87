"""Where work is solved: on an executor, each set-up once (names apart)."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import dataclass, field

from switchsolve.operating.working import Worked, done_on_paper, work_out
from switchsolve.puzzle import Puzzle
from switchsolve.study.likes import key_of, nameless

__all__ = ["Asked", "Asker", "OnPaper", "Solver"]

_KEPT = 20_000
"""Outcomes that are remembered; the one asked for longest ago goes first."""

Asked = Callable[[], Worked]
"""What came out, once it is there."""


@dataclass(slots=True)
class Solver:
    """Asks an executor.  ``seconds``: for one piece of work.  ``solved`` counts what was not known before."""

    executor: Executor
    seconds: float | None = None
    solved: int = 0
    _known: OrderedDict[str, Future[Worked]] = field(default_factory=OrderedDict)

    def ask(self, puzzle: Puzzle, main: tuple[str, ...] = ()) -> Asked:
        """Have ``puzzle`` worked out; the call of what is returned waits for it."""
        plain, names = nameless(puzzle)
        key = f"{key_of(plain)} {main}"
        future = self._known.get(key)
        if future is None:
            self.solved += 1
            future = self._known[key] = self.executor.submit(work_out, plain, self.seconds, main)
            if len(self._known) > _KEPT:
                self._known.popitem(last=False)
        else:
            self._known.move_to_end(key)
        return lambda: future.result().renamed(names)


class OnPaper:
    """Takes all work as done and solves nothing."""

    def ask(self, puzzle: Puzzle, main: tuple[str, ...] = ()) -> Asked:
        """As :meth:`Solver.ask`."""
        return lambda: done_on_paper(puzzle)


Asker = Solver | OnPaper
