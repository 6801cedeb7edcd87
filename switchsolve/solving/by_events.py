"""The fewest moves by the law itself: plain, compiled, and compiled from both ends, one after the other; and
by the law seen coarsely or loosely, for no plan has fewer moves than that finds.
"""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from dataclasses import replace

from switchsolve.goal import Goal
from switchsolve.rules import CoarseRules, LooseRules, Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.exact import why_not_coarse, why_one_way_only
from switchsolve.search.firm import firm_plan
from switchsolve.search.last_standings import last_standings
from switchsolve.search.readying import EVENTS, Readying, make_ready
from switchsolve.solving.limit import Limit

__all__ = [
    "COARSE",
    "COARSE_ENDS",
    "EVENT_SEARCHES",
    "FROM_BOTH_ENDS",
    "PLAIN",
    "SEEN",
    "EventSearches",
]

PLAIN, COMPILED, BOTH_ENDS = "events", "compiled events", "compiled events from both ends"
COARSE, COARSE_ENDS = "coarse events", "coarse events from both ends"
LOOSE, LOOSE_ENDS = "loose events", "loose events from both ends"
EVENT_SEARCHES = (PLAIN, COMPILED, BOTH_ENDS, COARSE, COARSE_ENDS, LOOSE, LOOSE_ENDS)
"""Names of the searches by events."""
FROM_BOTH_ENDS = (BOTH_ENDS, COARSE_ENDS, LOOSE_ENDS)
SEEN: dict[str, type[LooseRules]] = {
    COARSE: CoarseRules,
    COARSE_ENDS: CoarseRules,
    LOOSE: LooseRules,
    LOOSE_ENDS: LooseRules,
}
"""How the law is seen, by search."""
_FROM_START: dict[type[Rules], str] = {CoarseRules: COARSE, LooseRules: LOOSE}
_FROM_ENDS: dict[type[Rules], str] = {CoarseRules: COARSE_ENDS, LooseRules: LOOSE_ENDS}
_PLAIN = 300
"""Standings that the plain search expands before the compiled one takes over."""
_FROM_THE_START = 20_000
"""Standings that a compiled search expands before it goes back from the ends of the work as well."""
_MOST_ENDS = 4_000
"""Ends of the work from which it goes back;"""
_MOST_COARSE_ENDS = 20_000
"""seen coarsely, where much less follows from each."""
_FIRM = 20_000
"""Standings that are looked at for a plan along a coarse row; two or three thousand mostly do."""


class EventSearches:
    """The searches by events for one set-up, under one limit."""

    def __init__(
        self,
        rules: Rules,
        goal: Goal,
        limit: Limit,
        most_bytes: int | None,
        stats: MutableMapping[str, int | float | str],
        most_to_be_better: Callable[[], int | None] = lambda: None,
    ) -> None:
        """``most_bytes``: what the standings kept may take; ``stats`` is told which search it was.

        ``most_to_be_better``: asked before a search from both ends, which then looks for plans of so many
        moves only, locomotives under way at the start not counted, if a number is given: without a plan
        "exhausted" speaks of those only.
        """
        self.rules = rules
        self.goal = goal
        self.limit = limit
        self.most_bytes = most_bytes
        self.stats = stats
        self.most_to_be_better = most_to_be_better
        self._begun = sum(1 for last in rules.p.start_last if last)
        """Moves that go on from before the start."""
        self._has_too_many_ends = False
        self.floor = 0
        """No plan has fewer moves (locomotives under way not counted), by the law not seen exactly."""

    def named(self, search: str) -> EventResult:
        """By the search of that name.

        Raises ``ValueError`` if the work has too many ends to go back from.
        """
        if search == PLAIN:
            return self._plain(None)
        make_ready(self.limit.tell)
        if search in SEEN:
            from_the_start = None if search in (COARSE, LOOSE) else 0
            return self._seen(SEEN[search], from_the_start) or self._exactly(None)
        if search == COMPILED:
            return self._exactly(None)
        found = self._from_both_ends(self.rules, self.goal)
        if self._has_too_many_ends and self.limit.reason is None:
            raise ValueError("the work has too many ends to go back from")
        return found or self._exactly(None)

    def in_turn(self, at_once: bool) -> EventResult:
        """Plain until that gets long (not if compiled ``at_once``); then coarsely if the law can be seen so,
        else compiled until that gets long as well, and then loosely; and if the law has no plan of so few
        moves, by the law.
        """
        if not at_once:
            readying = Readying(EVENTS) if is_compilable(self.rules) else None
            result = self._plain(readying)
            if result.is_exhausted or self.limit.reason is not None or readying is None:
                return result
        make_ready(self.limit.tell)
        if type(self.rules) is not Rules:
            return self._exactly(_FROM_THE_START)
        if why_not_coarse(self.rules) is None:
            return self._seen(CoarseRules, _FROM_THE_START) or self._exactly(_FROM_THE_START)
        found = self._compiled(self.rules, self.goal, _FROM_THE_START)
        if found.is_exhausted or self.limit.reason is not None:
            return found
        return self._seen(LooseRules, _FROM_THE_START) or self._exactly(0)

    def _exactly(self, from_the_start: int | None) -> EventResult:
        """By the law, from both ends only where it is the same backwards."""
        most = None if why_one_way_only(self.rules) is not None else from_the_start
        result = self._one_after_the_other(self.rules, self.goal, most)
        if result.is_exhausted:
            return result
        return replace(result, lower_bound=max(result.lower_bound, self.floor))

    def _seen(self, kind: type[LooseRules], from_the_start: int | None) -> EventResult | None:
        """By the law seen coarsely or loosely, and the plan by the law itself.  ``None``: that has none with
        so few moves.
        """
        rules = kind(self.rules.p)
        goal = Goal(rules)
        result = self._one_after_the_other(rules, goal, from_the_start)
        self.floor = result.lower_bound
        if result.node is None:
            return result
        found = firm_plan(
            self.rules, self.goal, rules, result.node, lambda expanded: "enough" if expanded > _FIRM else None
        )
        if found is not None:
            return replace(result, node=found.node, met=found.met)
        if self.limit.reason is not None:
            return replace(result, node=None, met=None, is_exhausted=False)
        return None

    def _one_after_the_other(self, rules: Rules, goal: Goal, from_the_start: int | None) -> EventResult:
        """Compiled from the start over so many standings (0: none, ``None``: to the end), then from both
        ends.
        """
        result = EventResult(None, None, 0, False)
        if from_the_start != 0:
            result = self._compiled(rules, goal, from_the_start)
            if result.is_exhausted or self.limit.reason is not None:
                return result
        both = None if why_one_way_only(rules) is not None else self._from_both_ends(rules, goal)
        if both is not None:
            return both
        return result if self.limit.reason is not None else self._compiled(rules, goal)

    def _plain(self, readying: Readying | None) -> EventResult:
        limit = self.limit.named(PLAIN)

        def stop(expanded: int) -> str | None:
            if readying is not None and expanded > _PLAIN and not expanded % 64 and readying.is_ready():
                return "long"
            return limit(expanded)

        self.stats["search"] = PLAIN
        return search_events(self.rules, self.goal, should_stop=stop)

    def _compiled(self, rules: Rules, goal: Goal, most_expanded: int | None = None) -> EventResult:
        """From the start (``most_expanded``: over so many standings only)."""
        from switchsolve.search.compiled import search_compiled

        self.stats["search"] = COMPILED if rules is self.rules else _FROM_START[type(rules)]
        limit = self.limit.named(PLAIN)

        def stop(expanded: int) -> str | None:
            is_long = most_expanded is not None and expanded >= most_expanded
            return "long" if is_long else limit.look(expanded)

        result = search_compiled(rules, goal, should_stop=stop, most_bytes=self.most_bytes)
        self.limit.reason = self.limit.reason or result.reason
        return result

    def _from_both_ends(self, rules: Rules, goal: Goal) -> EventResult | None:
        """``None``: there are too many ends to go back from, the limit came, or no plan goes through the
        places where the two met.
        """
        is_coarse = rules is not self.rules
        most = _MOST_COARSE_ENDS if is_coarse else _MOST_ENDS
        most_moves = self.most_to_be_better()
        lasts = last_standings(rules, goal, most, self.limit.named("ends of the work"))
        if lasts is None:
            self._has_too_many_ends = True
            return None
        from switchsolve.search.compiled_ends import search_compiled_ends

        self.limit.named("events from both ends")
        known = "" if most_moves is None else f", a plan of {most_moves + 1 + self._begun} known"

        def name(what: str) -> None:
            self.limit.named(f"events, {what}{'' if 'a plan of' in what else known}")

        result = search_compiled_ends(
            rules,
            goal,
            lasts,
            should_stop=self.limit.look,
            most=most_moves,
            most_bytes=self.most_bytes,
            name=name,
        )
        self.limit.reason = self.limit.reason or result.reason
        if not result.is_exhausted and self.limit.reason is None:
            return None
        self.stats["search"] = BOTH_ENDS if rules is self.rules else _FROM_ENDS[type(rules)]
        return result
