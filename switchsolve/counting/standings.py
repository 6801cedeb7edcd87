"""Clear standings: who stands in which track, in which order.

A **clear standing** says for every track (and table) which vehicles stand wholly in it, in which order from
its ``from`` to its ``to`` end, and which way each locomotive heads.  It is counted once, however many real
positions it can have, and it counts if it has any: everything fits, and nothing stands where it may not.
Vehicles of one row may be coupled or not; those of different tracks are not coupled to each other.  Tables
are lined as the file lines them.  Do-not-touch cars stand where they are fixed.

Like cars (same length, kind and items, as :mod:`switchsolve.packing` has it) are one sort: which of them
stands where makes no other standing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise, product
from typing import NamedTuple

from switchsolve.counting.refusing import Meter, Refused
from switchsolve.packing import PackedPuzzle
from switchsolve.puzzle import Start, StartString
from switchsolve.rules import Rules, Standing, reverse_string

__all__ = ["ClearStanding", "CoupledRows", "Distances", "Lane", "Standings", "rows_joined"]

ClearStanding = tuple[tuple[int, ...], ...]
"""For each lane its tokens, from ``from`` to ``to``; nose 1 heads to ``from``."""


CoupledRows = tuple[tuple[tuple[int, ...], ...], ...]
"""For each lane its strings, from ``from`` to ``to``, each a row of tokens."""

Distances = dict[ClearStanding, tuple[int, CoupledRows]]
"""The least moves from a clear standing, and a way of coupling it that needs no more; without those from
which the work cannot be done."""


class Lane(NamedTuple):
    """Rail on which vehicles stand in a row: a track or table, or what a do-not-touch car leaves of it."""

    track: str
    cells: tuple[int, ...]
    length: int


def _lanes(p: PackedPuzzle) -> tuple[Lane, ...]:
    lanes: list[Lane] = []
    for cell, packed in enumerate(p.cells):
        if packed.is_junction:
            continue
        track = packed.cell.place
        if lanes and lanes[-1].track == track and not packed.closed_from and _meets(p, cell - 1, cell):
            last = lanes.pop()
            lanes.append(Lane(track, (*last.cells, cell), last.length + packed.length))
        else:
            lanes.append(Lane(track, (cell,), packed.length))
    return tuple(lanes)


def _meets(p: PackedPuzzle, one: int, other: int) -> bool:
    return 2 * other in p.ahead(2 * one, p.start_lined)


class Standings:
    """The clear standings of one set-up, packed to start anywhere."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.p = rules.p
        self.lanes = _lanes(rules.p)
        self.sorts = Counter(self.p.moved[number] for number in self.p.class_of.values())
        """How many vehicles there are of each class."""
        self._lane_of = {cell: at for at, lane in enumerate(self.lanes) for cell in lane.cells}
        self._fits: dict[tuple[int, tuple[int, ...]], bool] = {}

    # ---- all of them

    def all(self, most: int, meter: Meter) -> list[ClearStanding]:
        """Every clear standing.  ``meter`` is told how far it is; nothing here is counted against it.

        Raises :class:`~switchsolve.counting.Refused` if there are more than ``most``, or ``meter`` says so.
        """
        meter.doing = "clear standings"
        found: list[ClearStanding] = []
        for rows in self._shared_out(0, +self.sorts, []):
            if self._lanes_meet and not self._is_loose(rows) and next(self.placed(rows), None) is None:
                continue
            if len(found) == most:
                raise Refused(f"there are more than {most:,} clear standings")
            found.append(rows)
            if not len(found) % 256:
                meter.pause(f"{len(found):,} listed")
        return found

    def _shared_out(
        self, at: int, left: Counter[int], rows: list[tuple[int, ...]]
    ) -> Iterator[ClearStanding]:
        if at == len(self.lanes):
            if not left:
                yield tuple(rows)
            return
        room = sum(lane.length for lane in self.lanes[at:])
        if sum(self.p.classes[number].length * count for number, count in left.items()) > room:
            return
        for row, rest in self._rows(at, left, ()):
            if at + 1 < len(self.lanes) or not rest:
                yield from self._shared_out(at + 1, rest, [*rows, row])

    def _rows(
        self, at: int, left: Counter[int], row: tuple[int, ...]
    ) -> Iterator[tuple[tuple[int, ...], Counter[int]]]:
        if self._row_fits(at, row):
            yield row, left
        for number in sorted(left):
            what = self.p.classes[number]
            for token in (2 * number, 2 * number + 1) if what.is_locomotive else (2 * number,):
                longer = (*row, token)
                if self.rules.length(longer) <= self.lanes[at].length:
                    yield from self._rows(at, left - Counter((number,)), longer)

    def _row_fits(self, at: int, row: tuple[int, ...]) -> bool:
        """Whether the row has a place in its lane, were it alone in the district."""
        found = self._fits.get((at, row))
        if found is None:
            alone = tuple(row if lane == at else () for lane in range(len(self.lanes)))
            found = self._fits[at, row] = not row or next(self.placed(alone), None) is not None
        return found

    @cached_property
    def _lanes_meet(self) -> bool:
        """Whether rail of two lanes meets with no junction between: then rows need a gap between them."""
        return any(
            following >> 1 in self._lane_of and self._lane_of[following >> 1] != self._lane_of[cell]
            for cell in self._lane_of
            for way in (2 * cell, 2 * cell + 1)
            for following in self.p.ahead(way, self.p.start_lined)
        )

    def _is_loose(self, rows: ClearStanding) -> bool:
        """Whether every row can surely keep a gap at both ends, whatever the others do."""
        return all(
            not row
            or (
                self.rules.length(row) + 2 <= lane.length
                and all(self._couple(one, other) for one, other in pairwise(row))
                and all(self.p.all_may_touch[cell] for cell in lane.cells)
            )
            for lane, row in zip(self.lanes, rows, strict=True)
        )

    # ---- to and from standings of the law

    def placed(self, clear: ClearStanding) -> Iterator[Standing]:
        """All standings of the law that ``clear`` can mean: coupled in every way, over every choice of
        cells.
        """
        for rows in self.coupled(clear):
            yield from self.laid(rows)

    def coupled(self, clear: ClearStanding, *, as_one: bool = False) -> Iterator[CoupledRows]:
        """Every way in which the vehicles of the rows can be coupled.

        ``as_one``: where a lane has one cell, only the row all coupled.
        """
        per_lane = [
            list(self._coupled(row, as_one and len(lane.cells) == 1))
            for lane, row in zip(self.lanes, clear, strict=True)
        ]
        return product(*per_lane)

    def laid(self, rows: CoupledRows) -> Iterator[Standing]:
        """All standings of the law with these strings, nothing moved yet."""
        yield from self.rules.laid(
            [
                (lane.cells, [self._unmoved(lane, row) for row in strings])
                for lane, strings in zip(self.lanes, rows, strict=True)
            ]
        )

    def _unmoved(self, lane: Lane, row: tuple[int, ...]) -> tuple[int, ...]:
        """The row as it stands before anything has moved."""
        if not self.p.unmoved:
            return row
        return tuple(
            2 * self.p.unmoved.get((token >> 1, lane.track), token >> 1) + (token & 1) for token in row
        )

    def _coupled(self, row: tuple[int, ...], as_one: bool) -> Iterator[tuple[tuple[int, ...], ...]]:
        """Every way to couple neighbours; a rear-only locomotive's front never is."""
        if not row:
            yield ()
            return
        for size in range(len(row), 0, -1):
            if all(self._couple(row[v], row[v + 1]) for v in range(size - 1)):
                if as_one and size < len(row):
                    return
                for rest in self._coupled(row[size:], as_one):
                    yield (row[:size], *rest)

    def _couple(self, one: int, other: int) -> bool:
        """Whether ``one`` and ``other``, next to it towards ``to``, can be coupled."""
        front, other_front = self.p.classes[one >> 1].rear_only, self.p.classes[other >> 1].rear_only
        return not (front and not one & 1) and not (other_front and other & 1)

    def of(self, standing: Standing) -> CoupledRows | None:
        """The rows of a standing of the law, or ``None``: a string is not within one track, or a table is not
        lined as in the file.
        """
        if standing.lined != self.p.start_lined:
            return None
        rank = {slot: at for _, order in standing.inside for at, slot in enumerate(order)}
        rows: list[list[tuple[tuple[int, int, int], tuple[int, ...]]]] = [[] for _ in self.lanes]
        for slot, string in enumerate(standing.strings):
            on = {self._lane_of.get(way >> 1, -1) for way in string.ways}
            if len(on) > 1 or -1 in on:
                return None
            if string.ways[0] & 1:
                string = reverse_string(string, self.p.is_loco)
            first, last = string.ways[0] >> 1, string.ways[-1] >> 1
            tokens = tuple(2 * self.p.moved[token >> 1] + (token & 1) for token in string.tokens)
            rows[on.pop()].append(((first + last, last, rank.get(slot, 0)), tokens))
        return tuple(tuple(tokens for _, tokens in sorted(row)) for row in rows)

    # ---- by name

    def start(self, rows: CoupledRows) -> Start:
        """The rows as the start of a file; like cars are named in the order of the file."""
        names: dict[int, list[str]] = {}
        for name, number in self.p.class_of.items():
            names.setdefault(self.p.moved[number], []).append(name)
        strings: list[tuple[str, int, StartString]] = []
        heads: dict[str, str] = {}
        for lane, row in zip(self.lanes, rows, strict=True):
            for tokens in row:
                vehicles = tuple(names[token >> 1].pop(0) for token in tokens)
                for name, token in zip(vehicles, tokens, strict=True):
                    if self.p.is_loco[token]:
                        heads[name] = "from" if token & 1 else "to"
                begin = self.p.track_start[lane.cells[0]]
                strings.append((lane.track, begin, StartString(lane.track, vehicles)))
        for string in self.p.puzzle.start.strings:
            if string.vehicles[0] not in self.p.class_of and string.fixed_at is not None:
                strings.append((string.track, string.fixed_at, string))
        strings.sort(key=lambda entry: entry[:2])
        return Start(tuple(string for *_, string in strings), heads)


def rows_joined(rows: CoupledRows) -> ClearStanding:
    """The clear standing of coupled rows."""
    return tuple(tuple(token for tokens in row for token in tokens) for row in rows)
