"""All standings in which the work is done, as the law has them: for a search by events that goes backwards.

Each says what :mod:`switchsolve.search.endings` leaves open: which vehicles are coupled, and where in its
cells each string may be.  First come units that do not come apart here (a car, a locomotive, a train), laid
on tracks in every order; a locomotive that may end anywhere is laid over every row of cells as well.  Then
every choice of couplings between units that face each other.  Then the law gives the positions, and the work
those in which it is done.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count, pairwise, product

from switchsolve.goal import Goal
from switchsolve.rules import Rules, Standing, String
from switchsolve.rules.standing import Draft
from switchsolve.search.arranging import car_counts, orders, shares
from switchsolve.zone import Zone

__all__ = ["last_standings"]

Tokens = tuple[int, ...]
Row = tuple[Tokens, ...]
"""The units on one track, from its ``from`` to its ``to`` end."""
Lining = tuple[int, ...]


def last_standings(
    rules: Rules,
    goal: Goal,
    most: int,
    should_stop: Callable[[int], str | None] = lambda looked: None,
    *,
    from_anywhere: bool = False,
) -> list[Standing] | None:
    """Every standing at rest in which the work is done, with the positions in which it is.

    ``from_anywhere``: those as well in which a locomotive heads as it could not from the start of the file.

    ``None``: there are more than ``most``, or more than four times as many would have to be looked at, or it
    was stopped (``should_stop`` is told how often it has been asked).
    """
    headings = None if from_anywhere else _headings(rules)
    try:
        return _listed(rules, goal, most, should_stop, headings)
    except _Enough:
        return None


class _Enough(Exception):
    """Too many, or stopped."""


def _listed(
    rules: Rules,
    goal: Goal,
    most: int,
    should_stop: Callable[[int], str | None],
    headings: list[int] | None,
) -> list[Standing]:
    found: dict[Standing, None] = {}
    looks = count(1)

    def look() -> None:
        if should_stop(next(looks)) is not None:
            raise _Enough

    seen = 0
    for lined in product(*(range(len(table.meets)) for table in rules.p.puzzle.district.tables)):
        for draft in _Laying(rules, lined, headings).drafts(look):
            seen += 1
            look()
            moved = (one for one in draft.strings if one is not None and rules.has_loco(one.tokens))
            if not all(map(rules.keeps_limits, moved)):
                continue  # no run ends so
            for standing in rules.standings_of(draft.strings, draft.inside, lined):
                for zone in goal.zones_met(standing):
                    found[standing._replace(zone=zone)] = None
            if len(found) > most or seen > 4 * most:
                raise _Enough
    return list(found)


@dataclass(frozen=True, slots=True)
class _Engine:
    """A locomotive, with its train if it has one.

    ``units``: in every order and with its nose either way; ``tracks``: where it may end (empty: anywhere).
    """

    units: tuple[Tokens, ...]
    tracks: tuple[str, ...]


class _Laying:
    """Units laid on the rails of one set-up, its tables lined in one way.

    ``headings``: which way each locomotive heads along the orientation of the rails (``None``: either way).
    """

    def __init__(self, rules: Rules, lined: Lining, headings: list[int] | None) -> None:
        self.rules = rules
        self.p = rules.p
        self.lined = lined
        district = self.p.puzzle.district
        tracks = [track.name for track in district.tracks]
        self.rails = sorted([*tracks, *(table.name for table in district.tables)])
        self.heading = headings
        self.rows_of_cells: dict[int, list[tuple[int, ...]]] = {}

    def drafts(self, look: Callable[[], None]) -> Iterator[Draft]:
        """Every row of strings in which the work may be done, without positions; some of them twice."""
        counts = car_counts(self.p)
        engines = list(self._engines(counts))
        places = [[*(one.tracks or self.rails), *(() if one.tracks else ("",))] for one in engines]
        for cars in shares(self.rules, counts):
            for chosen in product(*places):
                for units in product(*(one.units for one in engines)):
                    look()
                    yield from self._laid(cars, list(zip(chosen, units, strict=True)))

    def _engines(self, counts: Counter[int]) -> Iterator[_Engine]:
        for number, name in enumerate(self.p.loco_names):
            token = 2 * self.p.class_of[name]
            tracks = tuple(
                item.track for item in self.p.locomotive_ends if item.locomotive == name and item.track
            )
            leaving: Counter[tuple[int, str | None]] = Counter()
            for index, train in enumerate(self.p.trains):
                if train.locomotive == number:
                    tracks = (train.track,)
                    for kind, number_of in counts.items():
                        if self.p.classes[kind].train == index:
                            leaving[2 * kind, None] += number_of
            units = []
            for order in orders(leaving):
                row = tuple(one for one, _ in order)
                rows = [
                    (*row[:at], nose, *row[at:]) for at in range(len(row) + 1) for nose in (token, token ^ 1)
                ]
                units += [one for one in rows if self._are_coupled(one)]
            yield _Engine(tuple(units), tracks)

    def _are_coupled(self, row: Tokens) -> bool:
        """Whether all in a row can be coupled: the front of a rear-only locomotive never is."""
        is_rear_only = [self.p.classes[token >> 1].rear_only for token in row]
        return not any(
            (is_rear_only[at] and not row[at] & 1) or (is_rear_only[at + 1] and row[at + 1] & 1)
            for at in range(len(row) - 1)
        )

    # ---- units on tracks

    def _laid(
        self, cars: dict[str, Counter[tuple[int, str | None]]], engines: list[tuple[str, Tokens]]
    ) -> Iterator[Draft]:
        loose = [unit for track, unit in engines if not track]
        by_track: dict[str, Counter[Tokens]] = {}
        for track, wanted in cars.items():
            for (token, _), number_of in wanted.items():
                by_track.setdefault(track, Counter())[(token,)] += number_of
        for track, unit in engines:
            if track:
                by_track.setdefault(track, Counter())[unit] += 1
        tracks = sorted(by_track)
        options = []
        for track in tracks:
            cells = sorted(self.p.cells_of_track[track]) if track in self.p.cells_of_track else []
            if sum(self.rules.length(unit) * n for unit, n in by_track[track].items()) > sum(
                self.rules.lengths[cell] for cell in cells
            ):
                return
            options.append([laid for row in _rows(by_track[track]) for laid in self._over(cells, row, 0)])
        for chosen in product(*options):
            strings = [string for laid in chosen for string in laid]
            if all(self._heads_rightly(string) for string in strings):
                for rows in product(*(self._anywhere(unit) for unit in loose)):
                    yield from self._coupled(strings + list(rows))

    def _over(self, cells: list[int], row: Row, first: int) -> Iterator[tuple[String, ...]]:
        """The units of a row, each over some of the cells of its track."""
        if not row:
            yield ()
            return
        for i in range(first, len(cells)):
            for j in range(i, len(cells)):
                ways = tuple(2 * cell for cell in cells[i : j + 1])
                if any(after not in self.p.ahead(way, self.lined) for way, after in pairwise(ways)):
                    break
                if self.rules.path_length(ways) >= self.rules.length(row[0]):
                    for rest in self._over(cells, row[1:], j):
                        yield (String(ways, row[0]), *rest)

    def _anywhere(self, unit: Tokens) -> list[String]:
        """A locomotive that may end anywhere, where it does not stand on one track alone."""
        length = self.rules.length(unit)
        if length not in self.rows_of_cells:
            self.rows_of_cells[length] = list(self._rows_over_junctions(length))
        found = [String(ways, unit) for ways in self.rows_of_cells[length]]
        return [string for string in found if self._heads_rightly(string)]

    def _rows_over_junctions(self, length: int) -> Iterator[tuple[int, ...]]:
        lengths = self.rules.lengths
        stack: list[tuple[tuple[int, ...], int]] = [((way,), 0) for way in range(2 * len(lengths))]
        while stack:
            ways, between = stack.pop()
            places = {self.p.cells[way >> 1].cell.place for way in ways}
            is_whole = length <= self.rules.path_length(ways) and (len(ways) == 1 or between + 2 <= length)
            on_one_rail = len(places) == 1 and not self.p.cells[ways[0] >> 1].is_junction
            if is_whole and not on_one_rail and ways <= tuple(way ^ 1 for way in reversed(ways)):
                yield ways
            inner = between + (lengths[ways[-1] >> 1] if len(ways) > 1 else 0)
            if inner + 2 <= length:
                stack.extend(((*ways, way), inner) for way in self.p.ahead(ways[-1], self.lined))

    def _heads_rightly(self, string: String) -> bool:
        """Whether each locomotive heads as at the start, where nothing can turn it."""
        if self.heading is None or self.rules.orientation is None:
            return True
        along = (string.ways[0] & 1) ^ self.rules.orientation[string.ways[0] >> 1]
        return all(
            (token & 1) ^ along == self.heading[self.p.loco_index[token]]
            for token in string.tokens
            if self.rules.is_loco[token]
        )

    # ---- coupled to each other, or not

    def _coupled(self, strings: list[String]) -> Iterator[Draft]:
        if not self._have_room(strings):
            return
        inside: dict[int, list[int]] = {}
        for slot, string in enumerate(strings):
            if len(string.ways) == 1 and not self.p.cells[string.ways[0] >> 1].is_junction:
                inside.setdefault(string.ways[0] >> 1, []).append(slot)
        for slot, string in enumerate(strings):
            if len(string.ways) == 1 and self.p.cells[string.ways[0] >> 1].is_junction:
                inside.setdefault(string.ways[0] >> 1, []).append(slot)
        slots: list[String | None] = list(strings)
        none = Zone.free(0, False)
        draft = Draft(slots, inside, (0,) * len(self.p.loco_names), self.lined, none)
        yield from self._joined(draft, 0, 1)

    def _joined(self, draft: Draft, slot: int, side: int) -> Iterator[Draft]:
        """Every choice of couplings at the ends from ``side`` of ``slot`` on; each pair is asked twice, and
        found apart or gone the second time.
        """
        if slot == len(draft.strings):
            yield draft
            return
        following = (slot, 0) if side else (slot + 1, 1)
        yield from self._joined(draft, *following)
        for other, other_side, way in self._faced(draft, slot, side):
            if other > slot:
                together = draft.copy()
                self.rules.put_together(together, slot, side, other, other_side, way)
                yield from self._joined(together, slot, side)

    def _faced(self, draft: Draft, slot: int, side: int) -> Iterator[tuple[int, int, int]]:
        """The ends (string, side, way entered or -1) that this end of a string may be coupled to."""
        string = draft.strings[slot]
        if string is None:
            return
        occupied = self.rules._occupied(draft)
        met = self.rules._neighbour(draft, occupied, slot, side)
        if met is not None:
            faced = [(*met, -1)]
        else:
            facing = string.ways[-1] if side else string.ways[0] ^ 1
            ahead = self.p.ahead(facing, self.lined)
            ends = [(self.rules._first_on(draft, occupied, way), way) for way in ahead]
            faced = [(*end, way) for end, way in ends if end is not None]
        for other, other_side, way in faced:
            its = draft.strings[other]
            assert its is not None
            if other != slot and self.rules._couples(string, side) and self.rules._couples(its, other_side):
                yield other, other_side, way

    def _have_room(self, strings: list[String]) -> bool:
        """Whether no two strings claim the same junction, or the same end of a cell."""
        through: set[int] = set()
        ends: set[tuple[int, int]] = set()
        for string in strings:
            if len(string.ways) == 1:
                continue
            through.update(way >> 1 for way in string.ways[1:-1])
            tail, head = string.ways[0], string.ways[-1]
            for end in ((tail >> 1, ~tail & 1), (head >> 1, head & 1)):
                if end in ends:
                    return False
                ends.add(end)
        used = [{way >> 1 for way in string.ways} for string in strings]
        for at, cells in enumerate(used):
            for other in used[at + 1 :]:
                if cells & other & through or any(
                    conflict in other for cell in cells for conflict in self.p.conflicts[cell]
                ):
                    return False
        return True


def _rows(units: Counter[Tokens]) -> Iterator[Row]:
    """Every order of these units, like ones alike."""
    if not units:
        yield ()
        return
    for unit in sorted(units):
        rest = units.copy()
        rest[unit] -= 1
        rest += Counter()
        for more in _rows(rest):
            yield (unit, *more)


def _headings(rules: Rules) -> list[int] | None:
    """By locomotive, which way it heads at the start along the orientation of the rails, if they have one."""
    start = next(rules.starts(), None)
    if rules.orientation is None or start is None:
        return None
    found = [0] * len(rules.p.loco_names)
    for string in start.strings:
        along = (string.ways[0] & 1) ^ rules.orientation[string.ways[0] >> 1]
        for token in string.tokens:
            if rules.is_loco[token]:
                found[rules.p.loco_index[token]] = (token & 1) ^ along
    return found
