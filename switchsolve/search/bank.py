"""Tables that many questions of one district share.

What a table of a pattern holds depends on the rail, on the lengths of the kept cars, and on where they are
wanted, and on nothing else of the question.  In a district that is asked about again and again, cars of few
kinds are wanted at few places, so the same patterns come back; here they keep their tables.

A bank changes no answer, and no count of standings expanded: who asks treats a table that is there already
as if it had been made for the question.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from threading import local

from switchsolve.packing import CarClass
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.compilable import rows_of_cells
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.space import Fleet, Space

__all__ = ["MOST_KEPT", "Bank", "bank_for"]

MOST_KEPT = 3
"""Cars that its patterns keep, at most."""
_KINDS = 62
"""Kinds of cars, told apart by length and by where they are wanted, that it has numbers for."""
_ROOM_TO_GROW = 3, 2
"""Rows of cells are numbered for strings longer than those at hand by this: others may be longer."""
_MOST_ROWS = 10_000
_MOST_STATES = 8_000_000
"""A question begins with an empty bank if it holds more."""
_LONG = 1 << 40
"""Grid units; longer than all vehicles of a file."""
_DISTRICTS = 4
"""Banks at a time in one thread: studies compare arrangements, session by session."""


class Bank:
    """The tables of one district: see :func:`bank_for`."""

    def __init__(self, rules: Rules) -> None:
        """``rules``: of the first question, with every part open."""
        self.rules = rules
        self.longest = 1
        self.empty(1)

    def empty(self, longest: int) -> None:
        """Forget all tables, and have rows of cells for strings so long (grid units)."""
        loco = next(what.length for what in self.rules.p.classes if what.is_locomotive)
        self.longest = longest
        fleet = Fleet(loco, (1,) * _KINDS, self.longest)
        self.space = Space(self.rules, 1 + MOST_KEPT, fleet=fleet)
        self.reached = Reached(self.space, Budget(None))
        self.numbers: dict[CarClass, int] = {}
        self.sizes: dict[tuple[int, ...], int | None] = {}
        """By the numbers of the kept cars, in rising order: the states of the table (``None``: there is none,
        for lack of room for one of its endings)."""

    def lend(self, rules: Rules, budget: Budget) -> dict[int, int]:
        """Be ready for a question: by its tokens, their numbers here.

        What the tables take, and will take, is counted in its ``budget``.  Raises
        :class:`~switchsolve.search.reached.NoRoom`.
        """
        p = rules.p
        cars = [what for what in p.classes if not what.is_locomotive]
        longest = sum(p.token_lengths[2 * number] for number in p.class_of.values())
        kinds = self.numbers.keys() | cars
        if longest > self.longest or len(kinds) > _KINDS or self.reached.count > _MOST_STATES:
            self.empty(max(self._with_room(longest), self.longest))
        for what in cars:
            if what not in self.numbers:
                number = 2 + len(self.numbers)
                self.numbers[what] = number
                self.space.set_length(number, what.length)
        self.reached.charge(budget)
        loco = next(number for number, what in enumerate(p.classes) if what.is_locomotive)
        return {2 * loco: 0, 2 * loco + 1: 1} | {
            2 * number: self.numbers[what] for number, what in enumerate(p.classes) if not what.is_locomotive
        }


    def _with_room(self, longest: int) -> int:
        """A longest string with room to grow, if that does not make too many rows of cells."""
        more, of = _ROOM_TO_GROW
        wanted = longest * more // of
        return wanted if len(rows_of_cells(self.rules, _MOST_ROWS, wanted)) <= _MOST_ROWS else longest

    @contextmanager
    def changing(self) -> Iterator[None]:
        """While a table is made: if that comes to no good end, all are forgotten; half a table is none."""
        before = len(self.sizes)
        try:
            yield
        finally:
            if len(self.sizes) == before:
                self.empty(self.longest)


def bank_for(rules: Rules) -> Bank | None:
    """The bank of the district, for questions with the same rail, locomotive, and demands on the train;
    ``None`` where the crew may choose among cars (there it matters which others there are), where runs halt
    (at edges that hang on how long all vehicles are), or there are too many kinds of cars.

    ``rules``: with every part open.  It is kept in this thread, for the districts asked about last.
    """
    if rules.p.any_cars or rules.can_come_back or len(rules.p.classes) > _KINDS:
        return None
    even = _with_long_entrances(rules)
    return _BANKS.get(_context(even), even)


class _Banks(local):
    """The banks of a thread, the one asked for last at the end."""

    def __init__(self) -> None:
        self._by_context: OrderedDict[str, Bank] = OrderedDict()

    def get(self, context: str, rules: Rules) -> Bank:
        if context not in self._by_context:
            self._by_context[context] = Bank(rules)
            if len(self._by_context) > _DISTRICTS:
                self._by_context.popitem(last=False)
        self._by_context.move_to_end(context)
        return self._by_context[context]


_BANKS = _Banks()
"""What has been worked out before, and could be again: it changes no answer."""


def _with_long_entrances(rules: Rules) -> Rules:
    """The same question with one and the same length for each entrance that all vehicles fit into.

    No string of theirs fills it or lies over it and beyond, so its length is of no account; and a session
    has an entrance as long as its vehicles.
    """
    p = rules.p
    longest = sum(p.token_lengths[2 * number] for number in p.class_of.values())
    fixed = {string.track for string in p.puzzle.start.strings if string.fixed_at is not None}
    long = {
        track.name
        for track in p.puzzle.district.tracks
        if track.entrances and len(track.parts) == 1 and not track.spots
        and track.name not in fixed and track.length >= longest
    }  # fmt: skip
    cells = tuple(replace(cell, length=_LONG) if cell.cell.place in long else cell for cell in p.cells)
    return Rules(replace(p, puzzle=_lengthened(p.puzzle, long), cells=cells))


def _lengthened(puzzle: Puzzle, long: set[str]) -> Puzzle:
    """The set-up with these tracks, of one part each, longer."""
    tracks = (
        replace(track, parts=(replace(track.parts[0], length=_LONG),)) if track.name in long else track
        for track in puzzle.district.tracks
    )
    return replace(puzzle, district=replace(puzzle.district, tracks=tuple(tracks)))


def _context(rules: Rules) -> str:
    """All that decides which endings a pattern has, but for the classes of its cars."""
    p = rules.p
    start = next(rules.starts(), None)
    loco = [
        (string.ways[0], token & 1)
        for string in (start.strings if start is not None else ())
        for token in string.tokens
        if rules.is_loco[token]
    ]
    trains = [replace(train, cars=0, blocks=(0,) * len(train.blocks)) for train in p.trains]
    engines = [what for what in p.classes if what.is_locomotive]
    return repr((p.puzzle.district, p.cells, engines, trains, p.locomotive_ends, loco))
