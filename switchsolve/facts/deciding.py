"""Can this work be done, and in how few moves: the verdict alone, without a plan.

A fact about a district hangs on many small questions.  Making and replaying a plan for each would take far
longer than the proof, so only the searches are run.  The answers are kept: a question is never proved twice.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache
from importlib import import_module

from switchsolve.goal import Goal
from switchsolve.marking import remarked
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Cost, Rules, Standing
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.compilable import is_compilable, is_packable
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.exact import applies, bounds, why_one_way_only
from switchsolve.search.last_standings import last_standings
from switchsolve.search.one_run import search_one_run
from switchsolve.search.readying import EVENTS, RUNS, Readying, is_on_disk, make_ready
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["Answer", "Hints", "Prober", "decide"]


@dataclass(frozen=True, slots=True)
class Answer:
    """``is_possible``: proved that the work can be done (``False``: that it cannot; ``None``: not proved).

    ``moves``: the fewest moves that do it, where it can be done and they were asked for.
    """

    is_possible: bool | None
    moves: int | None = None


@dataclass(frozen=True, slots=True)
class Hints:
    """What the asker wants to know, and knows already.

    ``most_moves``: plans of more moves do not count.  ``counts_moves``: if not, ``moves`` may be one too many
    where a single move does it (that case is costly to look at).  ``takes_two``: no single move can do it, if
    no run can come back to where it was (so the costly case is left out).  ``only_yes_counts``: where limits
    bind, no more is wanted than a look, for the question is one of several whose yes is the yes wanted.
    """

    most_moves: int | None = None
    counts_moves: bool = True
    takes_two: bool = False
    only_yes_counts: bool = False


_UNKNOWN = Answer(None)
_NO = Answer(False)


_PLAIN_RUNS, _PLAIN_RUNS_AT_FIRST = 2_000, 16_000
"""Standings that the plain search over longest runs expands before the compiled one takes over: more of them
before it is loaded, which takes as long.
"""
_MOST_ENDINGS = 20_000
_MOST_ENDS = 1_000
"""Ends of the work, as the law has them, from which the search by events goes back."""
_SOON = 60
"""Standings expanded in a look for any plan."""
_SOON_RUNS, _SOON_ALONG = 1_000, 3_000
"""The same by longest runs that keep to the limits; and in making the plan that they show."""
_PLAIN, _PLAIN_AT_FIRST = 100, 1_000
"""The same, for the search by events."""


class Prober:
    """Answers questions within a budget of seconds, and remembers the answers."""

    def __init__(
        self,
        *,
        seconds: float = 60.0,
        seconds_each: float = 2.0,
        tell: Callable[[str], None] | None = None,
        stop: Callable[[], str | None] | None = None,
    ) -> None:
        """``seconds`` for all questions together, ``seconds_each`` for one; ``tell`` hears of progress.

        ``stop``, asked before each question, gives a reason to put no more, or ``None``.
        """
        self._end = time.monotonic() + seconds
        self._each = seconds_each
        self._tell = tell
        self._stop = stop
        self._known: dict[tuple[str, Hints | None], Answer] = {}
        self.asked = 0
        """Questions that were not answered from memory."""
        self.unproved = 0
        """Questions given up for want of time."""

    def ask(self, puzzle: Puzzle, hints: Hints | None = None, *, patience: float = 1.0) -> Answer:
        """Whether the work of ``puzzle`` can be done, as :func:`decide` says it.

        ``patience``: how many times the time for one question this one may take.
        """
        key = (repr(puzzle), hints)
        if key not in self._known:
            self._known[key] = self._decide(puzzle, hints, patience)
        return self._known[key]

    def remembers(self, puzzle: Puzzle) -> bool | None:
        """What is known already of whether the work of ``puzzle`` can be done."""
        known = self._known.get((repr(puzzle), None))
        return None if known is None else known.is_possible

    def can(self, puzzle: Puzzle, easier: Iterable[Puzzle], hints: Hints) -> Answer:
        """Whether the work of ``puzzle`` can be done; ``easier`` are looked at first, for their yes is a yes.

        The moves of the answer are not to be relied on.
        """
        if self.looks(easier, hints):
            return Answer(True)
        return self.ask(puzzle, hints)

    def looks(self, easier: Iterable[Puzzle], hints: Hints) -> bool:
        """Whether one of these questions, of which only a yes counts, is a yes."""
        before = self.unproved
        hints = replace(hints, only_yes_counts=True)
        found = any(self.ask(one, hints).is_possible for one in easier)
        self.unproved = before  # the question itself is still to come
        return found

    def is_over(self) -> bool:
        """Whether the budget is spent, or no more is to be asked."""
        return time.monotonic() >= self._end or (self._stop is not None and self._stop() is not None)

    def _decide(self, puzzle: Puzzle, hints: Hints | None, patience: float) -> Answer:
        left = min(self._each * patience, self._end - time.monotonic())
        answer = _UNKNOWN
        if left > 0 and not self.is_over():
            question = _Decision(puzzle, hints or Hints(), left, self._tell)
            answer = question.answer()
            self._end += question.waited
        self.asked += 1
        self.unproved += answer.is_possible is None
        if self._tell is not None:
            self._tell(f"{self.asked} questions put to the rules")
        return answer


def decide(puzzle: Puzzle, hints: Hints | None = None, *, seconds: float | None = None) -> Answer:
    """Whether the work of ``puzzle`` can be done; not proved (``None``) if ``seconds`` run out first."""
    return _Decision(puzzle, hints or Hints(), seconds).answer()


class _Decision:
    """One question."""

    def __init__(
        self,
        puzzle: Puzzle,
        hints: Hints,
        seconds: float | None,
        tell: Callable[[str], None] | None = None,
    ) -> None:
        self._end = None if seconds is None else time.monotonic() + seconds
        self._tell = tell
        self.waited = 0.0
        """Seconds in which a search was loaded, and compiled if need be."""
        self._most = hints.most_moves
        self._puzzle, self._hints = puzzle, hints
        self._rules = Rules(pack(puzzle))
        self._goal = Goal(self._rules)
        self._under_way = len(puzzle.start.under_way)
        self._has_ending = True

    def answer(self) -> Answer:
        """The answer, by the search that is exact here."""
        starts = list(self._rules.starts())
        if not starts:
            return _NO  # the train does not even fit where it starts
        if not self._under_way and any(self._goal.met(standing) is not None for standing in starts):
            return Answer(True, 0)
        try:
            if applies(self._rules) is None:
                return self._by_one_run_or_more()
            if bounds(self._rules) is None:
                if self._rules.p.has_limits and not self._hints.counts_moves:
                    if self._is_seen_within_limits():
                        return Answer(True)
                    if self._hints.only_yes_counts:
                        return _UNKNOWN
                if self._is_refuted():
                    return _NO
        except TooManyEndings:
            pass
        return self._by_events(self._most)

    def _is_seen_within_limits(self) -> bool:
        """Whether longest runs that keep to the limits come upon a plan, made by the law."""
        # few files have limits, and it loads all that solves
        from switchsolve.solving.limited import plan_within_limits

        def at_most(most: int) -> Callable[[int], str | None]:
            return lambda expanded: "enough" if expanded > most else self._should_stop(expanded)

        made = plan_within_limits(
            self._rules,
            self._goal,
            self._under_way,
            at_most(_SOON_RUNS),
            stop_along=at_most(_SOON_ALONG),
            most_runs=self._most,
        )
        return made is not None

    def _is_refuted(self) -> bool:
        """Whether longest runs, which forget some of what is forbidden here, find no plan even so."""
        if self._most is not None and self._most < 2:
            return False
        return self._by_runs().is_possible is False and (
            self._hints.takes_two or self._in_one_run().is_possible is False
        )

    def _is_refuted_with_all_open(self) -> bool:
        """Whether there is no plan even with nothing closed to locomotives, as longest runs soon say."""
        district = self._puzzle.district
        opened = remarked(district, lambda marks: replace(marks, no_locomotives=False))
        if opened == district:
            return False
        left = None if self._end is None else max(0.0, self._end - time.monotonic())
        question = _Decision(replace(self._puzzle, district=opened), self._hints, left)
        return applies(question._rules) is None and question.answer().is_possible is False

    def _by_one_run_or_more(self) -> Answer:
        """Plans of one move are found by events, those of more by longest runs."""
        if self._hints.takes_two:
            return self._by_runs()
        if self._most is not None and self._most < 2:
            return self._in_one_run()
        if self._hints.counts_moves:
            short = self._in_one_run()
            return short if short.is_possible is not False else self._by_runs()
        long = self._by_runs()
        if long.is_possible or not self._has_ending:
            return long
        short = self._in_one_run()
        return short if short.is_possible or long.is_possible is False else long

    def _load(self, room: str) -> None:
        """Load a compiled search; that takes nothing from the question that happens to be the first."""
        if room in sys.modules:
            return
        began = time.monotonic()
        if is_on_disk(room):
            import_module(room)
        else:
            make_ready(self._tell, room)
        waited = time.monotonic() - began
        self.waited += waited
        if self._end is not None:
            self._end += waited

    def _is_over(self) -> bool:
        return self._end is not None and time.monotonic() >= self._end

    def _should_stop(self, expanded: int) -> str | None:
        return "time" if not expanded % 16 and self._is_over() else None

    def _in_one_run(self) -> Answer:
        found = search_one_run(self._rules, self._goal, self._under_way, should_stop=self._should_stop)
        if found.node is not None:
            return self._within(found.node.cost.moves + self._under_way)
        return _NO if found.is_exhausted else _UNKNOWN

    def _by_events(self, most: int | None) -> Answer:
        plain = _PLAIN if EVENTS in sys.modules else _PLAIN_AT_FIRST
        if most is None and not self._hints.counts_moves:
            if self._is_found_soon():
                return Answer(True)
            if self._is_refuted_with_all_open():
                return _NO
            plain -= _SOON  # so that no question takes longer for it
        left = None if most is None else most - self._under_way
        long = False

        def stop(expanded: int) -> str | None:
            nonlocal long
            long = expanded > plain and is_compilable(self._rules)
            return "long" if long else self._should_stop(expanded)

        found = search_events(self._rules, self._goal, most_moves=left, should_stop=stop)
        if long:
            self._load(EVENTS)
            from switchsolve.search.compiled import search_compiled

            found = self._from_both_ends(left) or search_compiled(
                self._rules, self._goal, most=left, should_stop=self._at_any
            )
        if found.node is not None:
            return Answer(True, found.node.cost.moves + self._under_way)
        return _NO if found.is_exhausted else _UNKNOWN

    def _at_any(self, expanded: int) -> str | None:
        return "time" if self._is_over() else None

    def _from_both_ends(self, most: int | None) -> EventResult | None:
        """``None``: it did not come to an end."""
        if why_one_way_only(self._rules) is not None:
            return None

        lasts = last_standings(self._rules, self._goal, _MOST_ENDS, self._should_stop)
        if lasts is None:
            return None
        from switchsolve.search.compiled_ends import search_compiled_ends

        found = search_compiled_ends(self._rules, self._goal, lasts, most=most, should_stop=self._at_any)
        return found if found.is_exhausted else None

    def _is_found_soon(self) -> bool:
        """Whether any plan comes up where cars are taken straight to where they are wanted.

        Where no moves are asked for, any plan is an answer.  What this does not find is left open.
        """
        classes = enumerate(self._rules.p.classes)
        wanted = {
            number: self._goal.wanted_cells(number)
            for number, what in classes
            if not what.is_locomotive and (what.places or what.train >= 0)
        }

        def guide(standing: Standing, cost: Cost) -> int:
            away = 0
            for string in standing.strings:
                cells = {way >> 1 for way in string.ways}
                in_hand = any(self._rules.is_loco[token] for token in string.tokens)
                for token in string.tokens:
                    if token >> 1 in wanted:
                        away += 4 if not cells <= wanted[token >> 1] else 2 * in_hand
            return away + cost.moves

        found = search_events(
            self._rules,
            self._goal,
            guide=guide,
            should_stop=lambda expanded: "enough" if expanded > _SOON else None,
        )
        return found.node is not None

    def _by_runs(self) -> Answer:
        runs = LongestRuns(self._rules)
        first = first_states(self._rules, runs, self._under_way)
        readying, may_compile = Readying(RUNS), cache(lambda: is_packable(self._rules))
        is_loaded = RUNS in sys.modules
        plain = _PLAIN_RUNS if is_loaded else _PLAIN_RUNS_AT_FIRST

        def stop(expanded: int) -> str | None:
            if expanded > plain and not expanded % 64 and may_compile() and readying.is_ready():
                return "long"
            return self._should_stop(expanded)

        found = search_both_ends(runs, first, most_runs=self._most, should_stop=stop)
        self._has_ending = found.stats["endings"] > 0
        if found.chain is not None:
            return self._within(found.runs)
        if found.is_exhausted or (self._most is not None and found.runs > self._most):
            return _NO
        if self._is_over() or not readying.is_ready():
            return _UNKNOWN
        return self._by_compiled_runs(runs, first)

    def _by_compiled_runs(self, runs: LongestRuns, first: list[RunState]) -> Answer:
        self._load(RUNS)
        from switchsolve.search.compiled_runs import search_runs

        found = search_runs(
            runs,
            first,
            endings(self._rules, runs, _MOST_ENDINGS),
            should_stop=lambda expanded: "time" if self._is_over() else None,
        )
        if found.chain is not None and found.is_proved:
            return self._within(found.least)
        return _NO if found.is_proved or (self._most is not None and found.least > self._most) else _UNKNOWN

    def _within(self, moves: int) -> Answer:
        return _NO if self._most is not None and moves > self._most else Answer(True, moves)
