"""The fewest moves by the law itself: plain, compiled, and compiled from both ends, one after the other."""

from __future__ import annotations

from collections.abc import MutableMapping

from switchsolve.goal import Goal
from switchsolve.rules import Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.exact import why_one_way_only
from switchsolve.search.last_standings import last_standings
from switchsolve.search.readying import EVENTS, Readying, make_ready
from switchsolve.solving.limit import Limit

__all__ = ["BOTH_ENDS", "COMPILED", "PLAIN", "EventSearches"]

PLAIN, COMPILED, BOTH_ENDS = "events", "compiled events", "compiled events from both ends"
"""Names of the searches by events."""
_PLAIN = 300
"""Standings that the plain search expands before the compiled one takes over."""
_FROM_THE_START = 20_000
"""Standings that the compiled search expands before it goes back from the ends of the work as well."""
_MOST_ENDS = 4_000
"""Ends of the work from which it goes back."""


class EventSearches:
    """The searches by events for one set-up, under one limit."""

    def __init__(
        self,
        rules: Rules,
        goal: Goal,
        limit: Limit,
        most_bytes: int | None,
        stats: MutableMapping[str, int | float | str],
    ) -> None:
        """``most_bytes``: what the standings kept may take; ``stats`` is told which search it was."""
        self.rules = rules
        self.goal = goal
        self.limit = limit
        self.most_bytes = most_bytes
        self.stats = stats

    def named(self, search: str) -> EventResult:
        """By the search of that name.

        Raises ``ValueError`` if the work has too many ends to go back from.
        """
        if search == PLAIN:
            return self._plain(None)
        make_ready(self.limit.tell)
        if search == COMPILED:
            return self._compiled()
        found = self._from_both_ends()
        if found is None and self.limit.reason is None:
            raise ValueError("the work has too many ends to go back from")
        return found or self._compiled()

    def in_turn(self, at_once: bool) -> EventResult:
        """Plain until that gets long (not if compiled ``at_once``), then compiled from the start until that
        gets long, then from both ends where the law is the same backwards.
        """
        if not at_once:
            readying = Readying(EVENTS) if is_compilable(self.rules) else None
            result = self._plain(readying)
            if result.is_exhausted or self.limit.reason is not None or readying is None:
                return result
        make_ready(self.limit.tell)
        if why_one_way_only(self.rules) is not None:
            return self._compiled()
        result = self._compiled(_FROM_THE_START)
        if result.is_exhausted or self.limit.reason is not None:
            return result
        found = self._from_both_ends()
        if found is not None:
            return found
        return result if self.limit.reason is not None else self._compiled()

    def _plain(self, readying: Readying | None) -> EventResult:
        limit = self.limit.named(PLAIN)

        def stop(expanded: int) -> str | None:
            if readying is not None and expanded > _PLAIN and not expanded % 64 and readying.is_ready():
                return "long"
            return limit(expanded)

        self.stats["search"] = PLAIN
        return search_events(self.rules, self.goal, should_stop=stop)

    def _compiled(self, most_expanded: int | None = None) -> EventResult:
        """From the start (``most_expanded``: over so many standings only)."""
        from switchsolve.search.compiled import search_compiled

        limit = self.limit.named(PLAIN)

        def stop(expanded: int) -> str | None:
            is_long = most_expanded is not None and expanded >= most_expanded
            return "long" if is_long else limit.look(expanded)

        self.stats["search"] = COMPILED
        result = search_compiled(self.rules, self.goal, should_stop=stop, most_bytes=self.most_bytes)
        self.limit.reason = self.limit.reason or result.reason
        return result

    def _from_both_ends(self) -> EventResult | None:
        """``None``: there are too many ends to go back from, the limit came, or no plan goes through the
        places where the two met.
        """
        lasts = last_standings(self.rules, self.goal, _MOST_ENDS, self.limit.named("ends of the work"))
        if lasts is None:
            return None
        from switchsolve.search.compiled_ends import search_compiled_ends

        self.limit.named("events from both ends")
        result = search_compiled_ends(
            self.rules,
            self.goal,
            lasts,
            should_stop=self.limit.look,
            most_bytes=self.most_bytes,
            name=lambda what: self.limit.named(f"events, {what}"),
        )
        self.limit.reason = self.limit.reason or result.reason
        if not result.is_exhausted and self.limit.reason is None:
            return None
        self.stats["search"] = BOTH_ENDS
        return result
