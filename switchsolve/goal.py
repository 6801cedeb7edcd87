"""When the work is done: the items of a set-up, tested on a standing.

A standing meets the work if there are positions in its zone at which every item is true, after each
locomotive has cut off what does not depart with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from switchsolve.packing import PackedTrain
from switchsolve.rules import Rules, Standing, String
from switchsolve.work import Place
from switchsolve.zone import Zone

__all__ = ["Goal", "Met"]

Bound = tuple[int, int, int]
"""``(slot, sign, bound)``: sign * x_slot >= bound."""


@dataclass(frozen=True, slots=True)
class Met:
    """How a standing meets the work: the zone of positions that do, and the pairs to be uncoupled.

    ``cuts``: (slot, v): string ``slot`` is uncoupled between its vehicles v and v + 1.
    """

    zone: tuple[int, ...]
    cuts: tuple[tuple[int, int], ...]


class Goal:
    """The work of one set-up."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.p = rules.p
        self._wanted: dict[int, frozenset[int]] = {}
        self._kinds: dict[String, tuple[int, bool, bool]] = {}

    def met(self, standing: Standing) -> Met | None:
        """How ``standing`` meets the work, or ``None``."""
        groups = [self._groups(string) for string in standing.strings]
        if not self._trains_stand(standing, groups):
            return None
        rested = self.rules.at_rest(standing)
        if rested is None:
            return None
        found = next(self._zones_met(rested, groups), None)
        if found is None:
            return None
        cuts = tuple(
            (slot, v)
            for slot, names in enumerate(groups)
            if "L" in names or any(name.startswith("T") for name in names)
            for v in range(len(names) - 1)
            if names[v] != names[v + 1]
        )
        return Met(tuple(found.d), cuts)

    def zones_met(self, standing: Standing) -> Iterator[tuple[int, ...]]:
        """Zones that together are all positions of ``standing`` at rest in which the work is done."""
        groups = [self._groups(string) for string in standing.strings]
        rested = self.rules.at_rest(standing) if self._trains_stand(standing, groups) else None
        if rested is not None:
            for zone in self._zones_met(rested, groups):
                yield tuple(zone.d)

    def _zones_met(self, standing: Standing, groups: list[list[str]]) -> Iterator[Zone]:
        demands: list[list[list[Bound]]] = []
        candidates: list[tuple[int, list[list[Bound]], list[list[Bound]]]] = []
        for slot, string in enumerate(standing.strings):
            if not self._demands_of(slot, string, groups[slot], demands, candidates):
                return
        demands.sort(key=len)
        zone = Zone(list(standing.zone), self._nodes(standing), self.rules.mirrored)
        left = [wanted.count for wanted in self.p.any_cars]
        yield from self._satisfy(zone, demands, 0, candidates, 0, left)

    def misplaced(self, standing: Standing) -> int:
        """How many vehicles touch no cell of a place where they are wanted (a guess of the work left)."""
        return sum(
            1
            for string in standing.strings
            for token in string.tokens
            if not any(way >> 1 in self.wanted_cells(token >> 1) for way in string.ways)
        )

    def handling_left(self, standing: Standing) -> int:
        """Couplings and cuts, final ones included, that are needed yet at least.

        A coupling between vehicles that end apart (a train, a locomotive, other cars) must be cut, one by
        one.  A string without a locomotive, in which somebody touches no cell where it is wanted, must be
        coupled to, one by one too; and if nothing else is to be cut, something of it will be.
        """
        pairs, fetched, comes_loose = 0, 0, False
        for string in standing.strings:
            kind = self._kinds.get(string)
            if kind is None:
                kind = self._kinds[string] = self._kind(string)
            pairs += kind[0]
            fetched += kind[1]
            comes_loose = comes_loose or kind[2]
        return pairs + fetched + (not pairs and comes_loose)

    def _kind(self, string: String) -> tuple[int, bool, bool]:
        """Pairs in it that must be cut; whether it must be fetched; whether there is somebody then to be cut
        off again."""
        names = self._groups(string)
        pairs = sum(one != other for one, other in pairwise(names))
        if self.rules.has_loco(string.tokens):
            return pairs, False, False
        away = [
            name
            for name, token in zip(names, string.tokens, strict=True)
            if not any(way >> 1 in self.wanted_cells(token >> 1) for way in string.ways)
        ]
        return pairs, bool(away), "C" in away

    def may_stay(self, string: String, moves: int) -> bool:
        """Whether these vehicles could be left like that for good."""
        return all(
            self.p.classes[token >> 1].train < 0
            and any(way >> 1 in self.wanted_cells(token >> 1) for way in string.ways)
            for token in string.tokens
        )

    def wanted_cells(self, number: int) -> frozenset[int]:
        """The cells of the places where a class of vehicles is wanted (all cells, if anywhere will do)."""
        found = self._wanted.get(number)
        if found is None:
            what = self.p.classes[number]
            tracks = {place.track for place in what.places}
            if what.any_of >= 0:
                tracks.add(self.p.any_cars[what.any_of].place.track)
            if what.train >= 0:
                tracks.add(self.p.trains[what.train].track)
            names = {self.p.loco_names[what.locomotive]} if what.is_locomotive else set()
            tracks |= {one.track for one in self.p.locomotive_ends if one.locomotive in names and one.track}
            cells = {cell for track in tracks for cell in self.p.cells_of_track.get(track, ())}
            found = self._wanted[number] = frozenset(cells or range(len(self.p.cells)))
        return found

    def _nodes(self, standing: Standing) -> int:
        return 1 + len(standing.strings) * (2 if self.rules.mirrored else 1)

    def _groups(self, string: String) -> list[str]:
        """For each vehicle what it ends with: ``T0``.. a train, ``L`` a locomotive on its own, ``C`` other
        cars.
        """
        names = []
        for token in string.tokens:
            what = self.p.classes[token >> 1]
            train = what.train
            if what.is_locomotive:
                train = next(
                    (t for t, one in enumerate(self.p.trains) if one.locomotive == what.locomotive), -1
                )
            names.append(f"T{train}" if train >= 0 else ("L" if what.is_locomotive else "C"))
        return names

    # ---- trains

    def _trains_stand(self, standing: Standing, groups: list[list[str]]) -> bool:
        for t, train in enumerate(self.p.trains):
            name = f"T{t}"
            slots = [slot for slot, names in enumerate(groups) if name in names]
            if len(slots) != 1:
                return False
            names = groups[slots[0]]
            first = names.index(name)
            count = train.cars + 1
            if names[first : first + count] != [name] * count or name in names[first + count :]:
                return False
            string = standing.strings[slots[0]]
            if not self._is_made_up(train, string, first, count):
                return False
        return True

    def _is_made_up(self, train: PackedTrain, string: String, first: int, count: int) -> bool:
        tokens = string.tokens[first : first + count]
        at = next(v for v, token in enumerate(tokens) if self.p.is_loco[token])
        is_first, is_last = at == 0, at == count - 1
        if train.locomotive_at is not None and not self._nearest(train, string, is_first, is_last):
            return False
        outward = []
        if is_first:
            outward.append(tokens[1:])
        if is_last:
            outward.append(tokens[-2::-1] if count > 1 else ())
        if not (train.blocks or train.has_last):
            return True
        return any(self._in_order(train, row) for row in outward)

    def _nearest(self, train: PackedTrain, string: String, is_first: bool, is_last: bool) -> bool:
        cells = self.p.cells_of_track.get(train.track, frozenset())
        way = next((way for way in string.ways if way >> 1 in cells), None)
        if way is None:
            return False
        at_from = is_last if way & 1 else is_first
        at_to = is_first if way & 1 else is_last
        return at_from if train.locomotive_at == "from" else at_to

    def _in_order(self, train: PackedTrain, outward: tuple[int, ...]) -> bool:
        classes = [self.p.classes[token >> 1] for token in outward]
        if train.has_last and not (classes and classes[-1].is_last):
            return False
        blocks = [what.block if what.block >= 0 else len(train.blocks) for what in classes]
        return blocks == sorted(blocks) if train.blocks else True

    # ---- demands on positions

    def _demands_of(
        self,
        slot: int,
        string: String,
        groups: list[str],
        demands: list[list[list[Bound]]],
        candidates: list[tuple[int, list[list[Bound]], list[list[Bound]]]],
    ) -> bool:
        offset = 0
        for token, group in zip(string.tokens, groups, strict=True):
            what = self.p.classes[token >> 1]
            length = what.length
            if group == "C" and not what.exempt:
                self._demand_clear(slot, string, offset, length, demands)
            wanted: list[list[Bound]] | None = None
            if what.any_of >= 0:
                place = self.p.any_cars[what.any_of].place
                chosen = self._at(slot, string, offset, length, place)
                held = [
                    option for home in what.places for option in self._at(slot, string, offset, length, home)
                ]
                if not chosen and not held:
                    return False
                candidates.append((what.any_of, chosen, held))
            elif what.places:
                wanted = [
                    option
                    for place in what.places
                    for option in self._at(slot, string, offset, length, place)
                ]
            elif what.free:
                wanted = self._in_the_clear(slot, string, offset, length)
            elif group.startswith("T"):
                track = self.p.trains[int(group[1:])].track
                wanted = self._at(slot, string, offset, length, Place(track))
            if wanted is not None:
                if not wanted:
                    return False
                demands.append(wanted)
            if what.is_locomotive and not self._demand_locomotive(slot, string, offset, token, demands):
                return False
            offset += length
        return True

    def _demand_locomotive(
        self, slot: int, string: String, offset: int, token: int, demands: list[list[list[Bound]]]
    ) -> bool:
        what = self.p.classes[token >> 1]
        name = self.p.loco_names[what.locomotive]
        for item in self.p.locomotive_ends:
            if item.locomotive != name or item.track is None:
                continue
            options = []
            for begin, end, _, is_reversed in self._stretches(string, item.track):
                points_to = bool(token & 1) == is_reversed  # towards the track's `to` end
                if item.heads is None or points_to == (item.heads == "to"):
                    options.append(_within(slot, offset, what.length, begin, end))
            if not options:
                return False
            demands.append(options)
        return True

    def _stretches(self, string: String, track: str) -> list[tuple[int, int, int, bool]]:
        """Each stretch of a string's path on ``track``: begin, end along the path, track coordinate of its
        ``from``-most point,
        and whether the path runs against the track."""
        cells = self.p.cells_of_track.get(track, frozenset())
        found: list[tuple[int, int, int, bool]] = []
        begin, last = 0, -1
        for k, way in enumerate(string.ways):
            length = self.rules.lengths[way >> 1]
            if way >> 1 in cells:
                low = self.p.track_start[way >> 1]
                if last == k - 1 and found:
                    was = found.pop()
                    found.append((was[0], begin + length, min(was[2], low), was[3]))
                else:
                    found.append((begin, begin + length, low, bool(way & 1)))
                last = k
            begin += length
        return found

    def _at(self, slot: int, string: String, offset: int, length: int, place: Place) -> list[list[Bound]]:
        """The ways in which the vehicle can be at ``place``, each a list of bounds on x."""
        options = []
        for begin, end, low, is_reversed in self._stretches(string, place.track):
            bounds = _within(slot, offset, length, begin, end)
            if place.spot is not None:
                point = self.p.puzzle.district.track(place.track).spot(place.spot).at - low
                if not 0 <= point <= end - begin:
                    continue
                along = end - point if is_reversed else begin + point
                bounds += [(slot, -1, offset - along), (slot, 1, along - offset - length)]
            options.append(bounds)
        return options

    def _in_the_clear(self, slot: int, string: String, offset: int, length: int) -> list[list[Bound]]:
        options = []
        begin, start = 0, -1
        for k in range(len(string.ways) + 1):
            is_rail = k < len(string.ways) and not self.p.cells[string.ways[k] >> 1].is_junction
            if is_rail and start < 0:
                start = begin
            if not is_rail and start >= 0:
                options.append(_within(slot, offset, length, start, begin))
                start = -1
            if k < len(string.ways):
                begin += self.rules.lengths[string.ways[k] >> 1]
        return options

    def _demand_clear(
        self, slot: int, string: String, offset: int, length: int, demands: list[list[list[Bound]]]
    ) -> None:
        """A car that is left stands off every part to be kept clear."""
        begin = 0
        for way in string.ways:
            end = begin + self.rules.lengths[way >> 1]
            if way >> 1 in self.p.keep_clear_at_end:
                demands.append([[(slot, -1, offset + length - begin)], [(slot, 1, end - offset)]])
            begin = end

    def _satisfy(
        self,
        zone: Zone,
        demands: list[list[list[Bound]]],
        at: int,
        candidates: list[tuple[int, list[list[Bound]], list[list[Bound]]]],
        next_candidate: int,
        left: list[int],
    ) -> Iterator[Zone]:
        """Depth first through the options of every demand, then of every candidate; the zones left."""
        if at < len(demands):
            for option in demands[at]:
                narrowed = _narrow(zone, option, copy=len(demands[at]) > 1)
                if narrowed is not None:
                    yield from self._satisfy(narrowed, demands, at + 1, candidates, 0, left)
            return
        if next_candidate == len(candidates):
            if not any(left):
                yield zone
            return
        which, chosen, held = candidates[next_candidate]
        for options, taken in ((chosen, 1), (held, 0)):
            if taken and not left[which]:
                continue
            for option in options:
                narrowed = _narrow(zone, option, copy=True)
                if narrowed is None:
                    continue
                left[which] -= taken
                yield from self._satisfy(narrowed, demands, at, candidates, next_candidate + 1, left)
                left[which] += taken


def _within(slot: int, offset: int, length: int, begin: int, end: int) -> list[Bound]:
    return [(slot, 1, begin - offset), (slot, -1, offset + length - end)]


def _narrow(zone: Zone, bounds: list[Bound], copy: bool) -> Zone | None:
    narrowed = zone.copy() if copy else zone
    for slot, sign, bound in bounds:
        if not narrowed.at_least(slot, sign, bound):
            return None
    return narrowed
