"""A wish as demands: what must be known of an arrangement so that the wish is fulfilled or not.

A **demand** is a question and the figures that will do.  An **item** is a row of demands that must all be
met; a wish wants so many of its items.  All arrangements with the same picks have the same items in the same
order.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from switchsolve.design import Wish
from switchsolve.designing.questions import (
    CrewQuestion,
    Question,
    SetUpsQuestion,
    SpotQuestion,
    StandardsQuestion,
    WorkQuestion,
)
from switchsolve.facts.probes import Bench, Entry, bench, entries
from switchsolve.facts.shape import tails
from switchsolve.lengths import format_length
from switchsolve.measuring.arrivals import Arrival, Task, places_of
from switchsolve.measuring.pieces import NO_PLAN, clipped, why_not_measured
from switchsolve.puzzle import DrawingHints, Puzzle, Standards
from switchsolve.work import Place

__all__ = [
    "STANDARDS",
    "CannotAsk",
    "Demand",
    "Item",
    "demands_of",
    "is_bounded",
    "is_free",
    "items_wanted",
    "wishes_of",
]

STANDARDS = Wish("the client's standards", "standards")
"""What stands for the client's standards among the wishes."""
_TICKS = 60_000
"""Thousandths of a second in a minute."""


class CannotAsk(ValueError):
    """A wish speaks of what is not there; ``wish`` is its name, ``cure`` what to do."""

    def __init__(
        self, wish: Wish, why: str, cure: str = "add what the wish speaks of, or leave the wish out"
    ) -> None:
        self.wish, self.cure = wish.name, cure
        super().__init__(why)


@dataclass(frozen=True, slots=True)
class Demand:
    """The answer to ``question`` (its trips, if ``of_trips``) is to be ``least`` or more, ``most`` or less.

    ``about``: what it is about, for people.
    """

    question: Question
    about: str
    least: int = 0
    most: int = NO_PLAN - 1
    of_trips: bool = False


Item = tuple[Demand, ...]


def wishes_of(puzzle: Puzzle) -> tuple[Wish, ...]:
    """All wishes of the design of ``puzzle``, those first that are soon decided; the client's standards last,
    if they must be met.  Every wish names its spots: "every spot" is that of the plan as it is drawn.

    Raises :class:`CannotAsk`, and ``ValueError`` without a design.
    """
    design = puzzle.design
    if design is None:
        raise ValueError("this puzzle has no design")
    order = ("spots", "work", "set-ups", "plain crew")
    ranked = sorted(design.wishes, key=lambda wish: (order.index(wish.about), wish.most_trips is not None))
    wishes = [_with_spots(wish, puzzle) if wish.about in ("spots", "set-ups") else wish for wish in ranked]
    return (*wishes, STANDARDS) if design.meets_standards else tuple(wishes)


def _with_spots(wish: Wish, puzzle: Puzzle) -> Wish:
    """The wish with its spots: those named, or all that ``measure`` has but for tails and those set apart."""
    found = bench(puzzle)
    if found is None:
        raise CannotAsk(wish, "there is no car to ask with")
    entry = _entry(wish, entries(puzzle, found.locomotive.name))
    not_meant = {entry.track, *(name for row in tails(puzzle.district) for name in row)}
    places = wish.places or tuple(
        place
        for place in places_of(puzzle)
        if place not in wish.apart and (place.spot or place.track not in not_meant)
    )
    if not places:
        raise CannotAsk(wish, "there is no spot to ask about")
    short = dict.fromkeys(p.track for p in places if _longest(puzzle, p.track) < found.car_length)
    if short:
        car = f"a car ({format_length(found.car_length, puzzle)})"
        cure = "make it longer, or leave it out with except"
        raise CannotAsk(wish, f"{' and '.join(short)}: too short for {car} however it is built", cure)
    return replace(wish, places=places)


def _longest(puzzle: Puzzle, track: str) -> int:
    """The length of a track, in the arrangement in which it is longest."""
    assert puzzle.design is not None
    options = [option for choice in puzzle.design.choices for option in choice.options]
    return max(puzzle.district.track(track).length, *(option.lengths.get(track, 0) for option in options), 0)


def items_wanted(wish: Wish, items: tuple[Item, ...]) -> int:
    """How many of the items must be met."""
    return len(items) if wish.how_many is None else wish.how_many


def demands_of(wish: Wish, puzzle: Puzzle, *, whole: bool = False) -> tuple[Item, ...]:
    """The items of ``wish`` for one arrangement.  ``whole``: nothing is cut off that cannot matter."""
    least, most = wish.least or 0, NO_PLAN - 1 if wish.most is None else wish.most
    if wish.about == "standards":
        return ((Demand(StandardsQuestion(puzzle), wish.name, most=0),),)
    if wish.about == "plain crew":
        longest = NO_PLAN - 1 if wish.most is None else _TICKS * wish.most
        return ((Demand(CrewQuestion(_bare(puzzle)), wish.name, _TICKS * least, longest),),)
    if wish.about == "work":
        work = WorkQuestion(_bare(puzzle), True, wish.most_trips)
        short = work if whole else WorkQuestion(clipped(work.puzzle))
        return ((Demand(short, "the work", least, most), *_trips(wish, work, "the work")),)
    found = bench(puzzle)
    assert found is not None
    entry = _entry(wish, entries(puzzle, found.locomotive.name))
    there = {track.name for track in puzzle.district.tracks}
    places = tuple(place for place in wish.places if place.track in there)
    if wish.about == "set-ups":
        question = SetUpsQuestion(found, entry, places, wish.cars)
        return ((Demand(question if whole else question.cut_short(), wish.name, most=0),),)
    return tuple(_spot_item(wish, found, entry, place, whole, (least, most)) for place in places)


def _spot_item(
    wish: Wish, found: Bench, entry: Entry, place: Place, whole: bool, span: tuple[int, int]
) -> Item:
    arrival = Arrival(entry, wish.is_ahead)
    question = SpotQuestion(found, arrival, place, Task(wish.task), True, wish.most_trips)
    short = question if whole else replace(question.cut_short(), with_plan=False, most_trips=None)
    return (Demand(short, str(place), *span), *_trips(wish, question, str(place)))


def _trips(wish: Wish, question: Question, about: str) -> tuple[Demand, ...]:
    """Trips are those of the plan found, for the very rail that is built."""
    if wish.most_trips is None:
        return ()
    return (Demand(question, about, most=wish.most_trips, of_trips=True),)


def _bare(puzzle: Puzzle) -> Puzzle:
    """The set-up without what solving does not need."""
    return replace(puzzle, standards=Standards(), drawing=DrawingHints(), traffic=None)


def _entry(wish: Wish, found: tuple[Entry, ...]) -> Entry:
    """Where the train comes from."""
    chosen = [entry for entry in found if wish.entrance in (None, entry.track)]
    if not chosen:
        raise CannotAsk(wish, f"no train comes from {wish.entrance or 'anywhere'}")
    return chosen[0]


def is_free(demand: Demand, track: str) -> bool:
    """Whether a longer ``track`` can only lower the figure of the demand.

    So for the fewest moves where nothing is closed, and beyond a bumper (see
    :func:`~switchsolve.measuring.pieces.why_not_measured`).  Nothing is known of trips, of a plain crew, of
    the standards, and of cars that bring idlers.
    """
    question = demand.question
    if demand.of_trips:
        return False
    if isinstance(question, WorkQuestion):
        return not why_not_measured(question.puzzle, track)
    if isinstance(question, SpotQuestion | SetUpsQuestion):
        return _is_all_open(question.bench)
    return False


def is_bounded(demand: Demand) -> bool:
    """Whether more ways to run can only lower the figure of the demand: so for the fewest moves, whatever is
    closed.
    """
    is_of_moves = isinstance(demand.question, WorkQuestion | SpotQuestion | SetUpsQuestion)
    return is_of_moves and not demand.of_trips


def _is_all_open(found: Bench) -> bool:
    """Whether nothing is closed to the standard car and locomotive, nor to any other."""
    district = found.district
    marks = [district.cell_marks(cell) for cell in district.cells()]
    return not any(mark.no_locomotives or mark.barred for mark in marks)
