"""Standings and the actions between them, for the brute force; for tests only.

A **string** is its vehicles in order and the units of rail that it stands on; strings are numbered as
they come up. A **standing** is a tuple: number of the lining of the tables, then the numbers of its
strings, rising.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise, product

from switchsolve.district import Cell, District, Junction, KeepClear, Limits
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import Place
from tests.brute_strings import BACK, FORWARD, Rail, SortedWork, code_of

__all__ = ["Graph", "Step", "String"]


@dataclass(slots=True)
class String:
    """A string, as it stands; ``path`` are its directed units, ``vehicles`` their codes in the same order."""

    vehicles: tuple[int, ...]
    path: tuple[int, ...]
    mask: int
    live: bool
    """Holds a live locomotive."""
    clear: bool
    """Fit for a reversal, as for rail that is always to be kept clear."""
    done: bool
    """All its work is done, but for AnyCars."""
    candidates: tuple[tuple[int, bool], ...]
    """For each candidate of AnyCars: mask of the items at whose place it is, and whether it is back home."""
    final_cuts: int


Step = tuple[int, int, int, int, bool, int, int]
"""String left standing (-1: none), the moving one after it (2 * number + 1 if it leads with its first
vehicle), mask of the units that must be empty, mask of those that it then touches, a reversal, moves,
cuts."""


class Graph:
    """Standings and the actions between them, made as they are asked for."""

    def __init__(self, puzzle: Puzzle) -> None:
        self.puzzle = puzzle
        self.rail = Rail(puzzle.district)
        self.work = SortedWork(puzzle)
        self.sorts = self.work.sorts
        self.strings: list[String] = []
        self.number: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {}
        self._steps: dict[tuple[int, int], tuple[Step, ...]] = {}
        self._couples: dict[tuple[int, int, int], int] = {}
        self.relinings = [
            tuple(
                n
                for n, m in enumerate(self.rail.linings)
                if sum(a != b for a, b in zip(m, at, strict=True)) == 1
            )
            for at in self.rail.linings
        ]
        self.pieces = self._limited_pieces(puzzle.district)
        self.exempt = {name for name, string in self.work.start.items() if self._has_keep_clear(string.track)}

    def _has_keep_clear(self, place: str) -> bool:
        return any(
            m.keep_clear != KeepClear.NO
            for p, m in zip(self.rail.place, self.rail.marks, strict=True)
            if p == place
        )

    def _limited_pieces(self, district: District) -> list[tuple[int, Limits]]:
        """Each set of limits with the mask of the units that it is about."""
        everywhere = (1 << len(self.rail.cell)) - 1
        pieces = [(everywhere, district.limits)]
        for cell in district.cells():
            units = sum(1 << unit for unit, other in enumerate(self.rail.cell) if other == cell)
            pieces.append((units, district.cell_marks(cell).limits))
        return [(units, limits) for units, limits in pieces if limits]

    # ---- strings -------------------------------------------------------------------------------------------

    def flip(
        self, vehicles: tuple[int, ...], path: tuple[int, ...]
    ) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """The same string read from its other end."""
        turned = tuple(code ^ 1 if self.sorts[code >> 4].live else code for code in reversed(vehicles))
        return turned, tuple(unit ^ 1 for unit in reversed(path))

    def string(self, vehicles: tuple[int, ...], path: tuple[int, ...]) -> int:
        """Number of a string, times two, plus one if it is kept the other way round."""
        found = self.number.get((vehicles, path))
        if found is None:
            other = self.flip(vehicles, path)
            found = 2 * len(self.strings)
            self.strings.append(self._describe(vehicles, path))
            self.number[vehicles, path] = found
            self.number[other] = found + 1
        return found

    def read(self, oriented: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Vehicles and units of what :meth:`string` returned."""
        string = self.strings[oriented >> 1]
        return self.flip(string.vehicles, string.path) if oriented & 1 else (string.vehicles, string.path)

    def parts(self, vehicles: tuple[int, ...], path: tuple[int, ...]) -> list[tuple[int, ...]]:
        """The directed units under each vehicle."""
        parts, at = [], 0
        for code in vehicles:
            parts.append(path[at : at + self.sorts[code >> 4].length])
            at += len(parts[-1])
        return parts

    def allowed(self, vehicles: tuple[int, ...], path: tuple[int, ...]) -> bool:
        """No vehicle touches a piece of rail that is closed or barred to it."""
        for code, under in zip(vehicles, self.parts(vehicles, path), strict=True):
            sort = self.sorts[code >> 4]
            for unit in under:
                marks = self.rail.marks[unit >> 1]
                if sort.kind in marks.barred or (marks.no_locomotives and (sort.live or sort.dead)):
                    return False
        return True

    def within_limits(self, vehicles: tuple[int, ...], path: tuple[int, ...]) -> bool:
        """A string that runs along ``path`` may hold so much, in front of its leading locomotive too."""
        cars = [self.sorts[code >> 4] for code in vehicles if not self.sorts[code >> 4].live]
        shoved = 0
        while not self.sorts[vehicles[-1 - shoved] >> 4].live:
            shoved += 1
        length = sum(sort.length for sort in cars)
        for units, limits in self.pieces:
            if any(units >> (unit >> 1) & 1 for unit in path) and (
                (limits.most_cars is not None and len(cars) > limits.most_cars)
                or (limits.longest is not None and length > limits.longest)
                or (limits.most_shoved is not None and shoved > limits.most_shoved)
            ):
                return False
        return True

    # ---- what a string at rest is worth ------------------------------------------------------------

    def _describe(self, vehicles: tuple[int, ...], path: tuple[int, ...]) -> String:
        live = any(self.sorts[code >> 4].live for code in vehicles)
        parts = self.parts(vehicles, path)
        cars = [(c, p) for c, p in zip(vehicles, parts, strict=True) if self.sorts[c >> 4].candidate]
        candidates = tuple((self._taken_by(code, under), self._placed(code, under)) for code, under in cars)
        groups = [self._group(code) for code in vehicles]
        return String(
            vehicles,
            path,
            sum(1 << (unit >> 1) for unit in path),
            live,
            live
            or not any(self._fouls(c, p, (KeepClear.ALWAYS,)) for c, p in zip(vehicles, parts, strict=True)),
            self._done(vehicles, parts),
            candidates,
            sum(one != other for one, other in pairwise(groups)),
        )

    def _group(self, code: int) -> tuple[int, bool]:
        """Neighbours of different groups are uncoupled at the end."""
        sort = self.sorts[code >> 4]
        return (sort.train, True) if sort.train >= 0 else (-1, bool(sort.live))

    def _fouls(self, code: int, under: tuple[int, ...], when: tuple[KeepClear, ...]) -> bool:
        """The vehicle, coupled to no locomotive, touches what is to be kept clear and is not exempt."""
        if code & 8 or self.sorts[code >> 4].fixed:
            return False
        return any(self.rail.marks[unit >> 1].keep_clear in when for unit in under)

    def whole(self, under: tuple[int, ...]) -> str | None:
        """The track or table that holds all of these units."""
        places = {self.rail.place[unit >> 1] for unit in under}
        return places.pop() if len(places) == 1 and not self.rail.on_junction[under[0] >> 1] else None

    def _at(self, under: tuple[int, ...], place: Place) -> bool:
        """The vehicle stands wholly in the track and, if asked, over the spot."""
        if self.whole(under) != place.track:
            return False
        if place.spot is None:
            return True
        at = self.puzzle.district.track(place.track).spot(place.spot).at
        return any(at - 1 <= self.rail.offset[unit >> 1] <= at for unit in under)

    def _placed(self, code: int, under: tuple[int, ...]) -> bool:
        places = self.sorts[code >> 4].places
        if not places:
            return not any(self.rail.on_junction[unit >> 1] for unit in under)
        return any(self._at(under, place) for place in places)

    def _taken_by(self, code: int, under: tuple[int, ...]) -> int:
        kind = self.sorts[code >> 4].kind
        return sum(
            1 << index
            for index, item in enumerate(self.work.any_cars)
            if item.kind == kind and self._at(under, item.place)
        )

    def _done(self, vehicles: tuple[int, ...], parts: list[tuple[int, ...]]) -> bool:
        for index, (code, under) in enumerate(zip(vehicles, parts, strict=True)):
            sort = self.sorts[code >> 4]
            if sort.live and not self._locomotive_done(code, under):
                return False
            if sort.train >= 0:
                if not self._in_train(vehicles, parts, index):
                    return False
            elif not sort.live and (
                self._fouls(code, under, (KeepClear.ALWAYS, KeepClear.AT_END))
                or not (sort.candidate or sort.fixed or self._placed(code, under))
            ):
                return False
        return True

    def _locomotive_done(self, code: int, under: tuple[int, ...]) -> bool:
        item = self.work.ends.get(self.sorts[code >> 4].live)
        if item is None or item.track is None:
            return True
        heads = "to" if (under[0] ^ code) & 1 == 0 else "from"
        return self.whole(under) == item.track and item.heads in (None, heads)

    def _in_train(self, vehicles: tuple[int, ...], parts: list[tuple[int, ...]], index: int) -> bool:
        """The vehicle ``index`` of the string stands in its train, and the train is whole and as ordered."""
        number = self.sorts[vehicles[index] >> 4].train
        train = self.work.trains[number]
        members = [i for i, code in enumerate(vehicles) if self.sorts[code >> 4].train == number]
        whole = len(members) == len(train.cars) + 1 and members[-1] - members[0] == len(train.cars)
        if not whole or any(self.whole(parts[i]) != train.track for i in members):
            return False
        if parts[members[0]][0] & 1:
            members.reverse()  # now they stand from the track's from end to its to end
        sorts = [self.sorts[vehicles[i] >> 4] for i in members]
        if train.locomotive_at and not sorts[0 if train.locomotive_at == "from" else -1].live:
            return False
        if train.blocks or train.last:
            if not sorts[0].live:
                sorts.reverse()
            blocks = [sort.block for sort in sorts[1:]]
            return bool(sorts[0].live) and blocks == sorted(blocks) and (not train.last or sorts[-1].last)
        return True

    # ---- actions -----------------------------------------------------------------------------------

    def steps(self, number: int, lining: int) -> tuple[Step, ...]:
        """All that string ``number`` could do by itself: each end, each cut, each way on."""
        found = self._steps.get((number, lining))
        if found is None:
            found = tuple(step for end in (0, 1) for step in self._ahead(2 * number + end, lining))
            self._steps[number, lining] = found
        return found

    def _ahead(self, oriented: int, lining: int) -> Iterator[Step]:
        whole, path = self.read(oriented)
        own = self.strings[oriented >> 1].mask
        for following in self.rail.following[lining][path[-1]]:
            entering = self.rail.entering[following >> 1]
            if own & entering:
                continue
            cut = 0
            for left in range(len(whole)):
                step = self._advance(whole[:left], whole[left:], path[:cut], path[cut:], following, lining)
                if step is not None:
                    yield step
                cut += self.sorts[whole[left] >> 4].length

    def _advance(
        self,
        left: tuple[int, ...],
        vehicles: tuple[int, ...],
        left_path: tuple[int, ...],
        path: tuple[int, ...],
        following: int,
        lining: int,
    ) -> Step | None:
        """``vehicles`` go on by one unit and leave ``left``, or ``None`` where the model forbids it."""
        if not any(self.sorts[code >> 4].live for code in vehicles):
            return None
        after = (*path[1:], following)
        if not self.within_limits(vehicles, (*path, following)):
            return None
        moved, reversals, firsts = self._set_off(vehicles)
        if not self.allowed(moved, after):
            return None
        touching = sum(1 << (unit >> 1) for unit in self.rail.following[lining][following])
        oriented = self.string(moved, after)
        if touching & self.strings[oriented >> 1].mask:
            return None  # its head would touch its own tail
        standing = self.string(left, left_path) >> 1 if left else -1
        entering = self.rail.entering[following >> 1]
        return standing, oriented, entering, touching, reversals > 0, reversals + firsts, len(left) > 0

    def _set_off(self, vehicles: tuple[int, ...]) -> tuple[tuple[int, ...], int, int]:
        """The vehicles once they have moved along their string; reversals; first moves."""
        moved, reversals, firsts = [], 0, 0
        for code in vehicles:
            code &= ~8
            if self.sorts[code >> 4].live:
                direction = BACK if code & 1 else FORWARD
                last = code >> 1 & 3
                firsts += last == 0
                reversals += last not in (0, direction)
                code = code_of(code >> 4, code & 1, direction, False)
            moved.append(code)
        return tuple(moved), reversals, firsts

    def couple(self, oriented: int, other: int, lining: int) -> int:
        """The string that comes of a contact ahead; -1 they only touch; -2 the contact is refused."""
        key = (oriented, other, lining)
        found = self._couples.get(key)
        if found is None:
            found = self._couples[key] = self._couple(oriented, other, lining)
        return found

    def _couple(self, oriented: int, other: int, lining: int) -> int:
        vehicles, path = self.read(oriented)
        theirs, their_path = self._facing(other, self.rail.following[lining][path[-1]])
        if self._never_couple(vehicles[-1], theirs[0]):
            return -1
        if not self.within_limits(vehicles + theirs, path + their_path):
            return -2
        return self.string(vehicles + theirs, path + their_path) >> 1

    def _facing(self, other: int, units: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """String ``other`` read from the end that stands on one of ``units``."""
        for end in (0, 1):
            vehicles, path = self.read(2 * other + end)
            if path[0] in units:
                return vehicles, path
        raise AssertionError("a string is met in its middle")

    def _never_couple(self, mine: int, theirs: int) -> bool:
        """Codes of the two that meet, ``mine`` looking towards ``theirs`` along the units."""
        one, other = self.sorts[mine >> 4], self.sorts[theirs >> 4]
        fronts = (one.rear_only and not mine & 1) or (other.rear_only and bool(theirs & 1))
        return bool(one.fixed or other.fixed) or fronts

    def _fixed_apart(self, mine: int, other: int, units: tuple[int, ...]) -> bool:
        """A string that looks at ``other`` past its vehicle ``mine`` touches it, but they never couple."""
        return self._never_couple(mine, self._facing(other, units)[0][0])

    def lines(self, state: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        """Standings with one table lined to another end."""
        for lining in self.relinings[state[0]]:
            turned = [
                i for i, n in enumerate(self.rail.linings[lining]) if n != self.rail.linings[state[0]][i]
            ]
            name = self.rail.tables[turned[0]]
            places = [
                {self.rail.place[unit >> 1] for unit in self.strings[number].path} for number in state[1:]
            ]
            if not any(name in place and len(place) > 1 for place in places) and self.apart(
                state[1:], lining
            ):
                yield (lining, *state[1:])

    def apart(self, numbers: tuple[int, ...], lining: int) -> bool:
        """No two of the strings touch (but for those that never couple), and none touches itself."""
        for number in numbers:
            for oriented in (2 * number, 2 * number + 1):
                vehicles, path = self.read(oriented)
                units = self.rail.following[lining][path[-1]]
                touching = sum(1 << (unit >> 1) for unit in units)
                for other in numbers:
                    touches = touching & self.strings[other].mask != 0
                    if touches and not (other != number and self._fixed_apart(vehicles[-1], other, units)):
                        return False
        return True

    # ---- start and end -----------------------------------------------------------------------------

    def starts(self) -> Iterator[tuple[int, ...]]:
        """Every standing that the start allows."""
        lining = self.rail.linings.index(tuple(table.lined for table in self.puzzle.district.tables))
        by_track: dict[str, list[StartString]] = defaultdict(list)
        for string in self.puzzle.start.strings:
            by_track[string.track].append(string)
        for rows in product(*(list(self._rows(track, strings, 0)) for track, strings in by_track.items())):
            numbers = tuple(sorted(number for row in rows for number in row))
            if self.apart(numbers, lining):
                yield (lining, *numbers)

    def _rows(self, track: str, strings: list[StartString], free: int) -> Iterator[tuple[int, ...]]:
        """The strings of one track, in order, wherever they may stand from the offset ``free`` on."""
        if not strings:
            yield ()
            return
        string = strings[0]
        length = sum(self.puzzle.vehicles[name].length for name in string.vehicles)
        place = self.puzzle.district.place(track)
        assert not isinstance(place, Junction)
        for at in range(free, place.length - length + 1):
            number = self._start_string(string, at, length)
            if number is not None:
                yield from ((number, *rest) for rest in self._rows(track, strings[1:], at + length))

    def _start_string(self, string: StartString, at: int, length: int) -> int | None:
        if string.fixed_at not in (None, at):
            return None
        first = self.rail.first[Cell(string.track, 0)] + at
        path = tuple(2 * unit for unit in range(first, first + length))
        vehicles = tuple(self._start_code(name, string.track) for name in string.vehicles)
        under = dict(zip(string.vehicles, self.parts(vehicles, path), strict=True))
        spots = all(self._at(under[name], Place(string.track, spot)) for name, spot in string.spots.items())
        return self.string(vehicles, path) >> 1 if spots and self.allowed(vehicles, path) else None

    def _start_code(self, name: str, track: str) -> int:
        sort, start = self.work.sort_of[name], self.puzzle.start
        unmoved = name in self.exempt
        if not self.sorts[sort].live:
            return code_of(sort, 0, 0, unmoved)
        heads, under_way = start.heads[name], start.under_way.get(name)
        direction = 0 if under_way is None else FORWARD if under_way == heads else BACK
        return code_of(sort, heads != "to", direction, unmoved)

    def any_cars_done(self, numbers: tuple[int, ...]) -> bool:
        """Each AnyCars has its cars, and the candidates that are left over are back home."""
        cars = [car for number in numbers for car in self.strings[number].candidates]
        return self._deal(cars, list(range(len(self.work.any_cars))))

    def _deal(self, cars: list[tuple[int, bool]], items: list[int]) -> bool:
        if not items:
            return all(home for _, home in cars)
        able = [i for i, (taken_by, _) in enumerate(cars) if taken_by >> items[0] & 1]
        return any(
            self._deal([car for i, car in enumerate(cars) if i not in chosen], items[1:])
            for chosen in combinations(able, self.work.any_cars[items[0]].count)
        )

    def finish(self, numbers: tuple[int, ...]) -> int | None:
        """Cuts that are left to make, if with them the work is done."""
        if not all(self.strings[number].done for number in numbers):
            return None
        if self.work.any_cars and not self.any_cars_done(numbers):
            return None
        return sum(self.strings[number].final_cuts for number in numbers)

    def touches(self, number: int, lining: int) -> int:
        """Mask of the units that the string's ends touch."""
        ends = (self.strings[number].path[-1], self.strings[number].path[0] ^ 1)
        units = {unit >> 1 for end in ends for unit in self.rail.following[lining][end]}
        return sum(1 << unit for unit in units)

    def partly_on(self, number: int) -> int:
        """Mask of the tables that the string stands on, but not wholly."""
        places = {self.rail.place[unit >> 1] for unit in self.strings[number].path}
        return sum(1 << i for i, name in enumerate(self.rail.tables) if name in places and len(places) > 1)

    def successors(self, state: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], int, int]]:
        """Each standing one action away, with moves, and with couplings + cuts."""
        strings, lining, numbers = self.strings, state[0], state[1:]
        everything = sum([strings[number].mask for number in numbers])
        for number in numbers:
            if not strings[number].live:
                continue
            others = everything ^ strings[number].mask
            for left, oriented, entering, touching, reverses, moves, handlings in self.steps(number, lining):
                if others & entering:
                    continue
                if reverses and not all(strings[n].clear for n in numbers):
                    continue
                after = [n for n in numbers if n != number]
                if left >= 0:
                    after.append(left)
                moving = oriented >> 1
                met = [n for n in after if strings[n].mask & touching]
                if met:
                    coupled = self.couple(oriented, met[0], lining)
                    if coupled == -2:
                        continue
                    if coupled >= 0:
                        after.remove(met[0])
                        moving = coupled
                        handlings += 1
                after.append(moving)
                after.sort()
                yield (lining, *after), moves, handlings
        if len(self.relinings) > 1:
            yield from ((after, 0, 0) for after in self.lines(state))
