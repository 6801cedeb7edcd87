"""A crew's moves and minutes beside a minimum, in words and as JSON."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.crew import CrewResult
from switchsolve.minutes import SpanOfTime, club_moves, crew_for, figures_of, span_of, span_text, warning_for
from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["Evening", "evening_of"]


@dataclass(frozen=True, slots=True)
class Evening:
    """What a crew makes of work whose best plan counts ``least``.  ``crew``: the plain crew (``None``: the
    file has a ratio of its own, so it was not asked).
    """

    puzzle: Puzzle
    least: Counts
    crew: CrewResult | None

    def span_for(self, least: Counts) -> SpanOfTime:
        """The range of time, from a plan that counts ``least``."""
        return span_of(self.puzzle, least, self.crew.counts if self.crew is not None else None)

    @property
    def moves(self) -> tuple[int, int] | None:
        """The crew's moves, from and to (one figure: a plain crew's); ``None``: it gave up."""
        by_ratio = club_moves(self.puzzle, self.least.moves)
        if by_ratio is not None:
            return by_ratio
        if self.crew is None or self.crew.counts is None:
            return None
        return self.crew.counts.moves, self.crew.counts.moves

    def lines(self) -> list[str]:
        """What there is to say, a paragraph each."""
        span = self.span_for(self.least)
        lines = [f"{self._moves_text()} {self._minutes_text(span)}"]
        borrowed = figures_of(self.puzzle).borrowed
        if borrowed:
            whose = "Time figures" if len(borrowed) > 8 else f"Time figures ({', '.join(borrowed)})"
            cure = "`switchsolve calibrate` finds your own from timed runs"
            lines.append(f"{whose} by common practice, no source: {cure}.")
        warning = warning_for(self.puzzle, span)
        return lines if warning is None else [*lines, warning]

    def _moves_text(self) -> str:
        moves = self.moves
        if moves is None:
            assert self.crew is not None
            if not self.crew.is_decided:
                return "What a plain crew takes was not found in time."
            return f"A plain crew, one item at a time, gives up: {self.crew.told}."
        if self.crew is None:
            return f"By the club's own ratio a crew takes {moves[0]} to {moves[1]} moves."
        return f"A plain crew, one item at a time, takes {counted(moves[0], 'move')}."

    def _minutes_text(self, span: SpanOfTime) -> str:
        text = span_text(span)
        text = text[0].upper() + text[1:]
        if span.by_ratio:
            return f"{text} of real time."
        if span.high is None:
            return f"{text} of real time, for this plan without a mistake."
        return f"{text} of real time, from this plan without a mistake to that crew."

    def as_json(self) -> dict[str, object]:
        """The documented form: whole minutes."""
        low, high = self.span_for(self.least).minutes
        moves = self.moves
        return {
            "moves": None if moves is None else list(moves),
            "minutes": [low, high],
            "by": "plain crew" if self.crew is not None else "crew_ratio",
            "borrowed": list(figures_of(self.puzzle).borrowed),
        }


def evening_of(
    puzzle: Puzzle,
    least: Counts,
    *,
    seconds_each: float = 30.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Evening:
    """The crew beside a plan; the plain crew is asked if the file has no ratio of its own, with
    ``seconds_each`` for each of its questions.
    """
    crew = crew_for(puzzle, seconds_each=seconds_each, tell=tell, stop=stop)
    return Evening(puzzle, least, crew)
