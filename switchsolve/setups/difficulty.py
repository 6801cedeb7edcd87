"""How hard a set-up is, as one number: a sum of its figures, each with a weight.

A person who works a district is held up by more than the number of moves, so each of these adds to it:

    difficulty = moves
               + WORK * cars of the work
               + AROUND * trips around cars
               + MOVED * cars that stand right and must leave their place
               + FORCED * forced moves
               + TIGHT, less what there is to spare in car lengths (nothing from TIGHT on)
               + LUCK * number of digits of the luck (its logarithm to base 10)

Ways and wrong turns are shown beside it; what they do is in the luck.  The weights are a choice, made on
set-ups of two districts and shown on two others: ``tests/setup_ranks.py`` prints how well it ranks.  Forced
moves and luck are not to be had for every set-up, so a set is graded with them or without, all alike.
"""

from __future__ import annotations

from math import log10

from switchsolve.setups.figures import Figures

__all__ = ["AROUND", "FORCED", "LUCK", "MOVED", "TIGHT", "WORK", "difficulty_of", "is_whole"]

WORK = 4.0
AROUND = 2.0
MOVED = 2.0
FORCED = 0.5
TIGHT = 1.0
LUCK = 2.0


def is_whole(figures: Figures) -> bool:
    """Whether forced moves and luck are known."""
    return figures.forced is not None and figures.turnings is not None


def difficulty_of(figures: Figures, *, whole: bool) -> float:
    """The difficulty; ``whole``: with forced moves and luck.  Raises ``ValueError`` if they are not known."""
    tight = 0.0 if figures.spare is None else max(0.0, TIGHT - float(figures.spare))
    plain = figures.moves + WORK * figures.work + AROUND * figures.trips + MOVED * len(figures.moved) + tight
    if not whole:
        return plain
    if figures.forced is None or figures.turnings is None:
        raise ValueError("forced moves and luck are not known for this set-up")
    luck = figures.turnings.luck
    digits = log10(luck.numerator) - log10(luck.denominator)  # each may be far too much for a float
    return plain + FORCED * figures.forced + LUCK * digits
