"""The facts of a district: what each spur holds, what each run-around passes, what each tail takes.

Each number is the answer of the rules to a row of questions (:mod:`switchsolve.facts.probes`), for the
standard car and locomotive: so many can be done, one more cannot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from switchsolve.district import Track
from switchsolve.facts.around import least_around
from switchsolve.facts.blocks import as_one, easier, has_limits
from switchsolve.facts.counts import Count, LoopFact, SpotFact, SpurFact, TailFact, from_guess, most_of
from switchsolve.facts.deciding import Answer, Hints, Prober
from switchsolve.facts.probes import (
    Bench,
    Entry,
    is_shut_out,
    opened,
    pass_probe,
    reach_probe,
    spot_probe,
    tail_probe,
)
from switchsolve.facts.shape import Loop, isolated, joined
from switchsolve.facts.sparing import Change, shortage, spare
from switchsolve.facts.tables import shuts_cars_off
from switchsolve.facts.trips import least_moves
from switchsolve.facts.turning import passing_by_table
from switchsolve.puzzle import Puzzle
from switchsolve.work import Place

__all__ = ["Measuring", "fewest"]

_MOST_IDLERS = 2


def fewest(answers: Iterable[Answer]) -> Answer:
    """What several ways to do one thing come to: the fewest moves, or no way, or not proved."""
    known = list(answers)
    moves = [answer.moves for answer in known if answer.is_possible and answer.moves is not None]
    if moves:
        return Answer(True, min(moves))
    return Answer(None if any(answer.is_possible is None for answer in known) else False)


class Measuring:
    """Puts the questions for one district."""

    def __init__(
        self, bench: Bench, entries: tuple[Entry, ...], prober: Prober, *, looks_for_cures: bool = True
    ) -> None:
        """``looks_for_cures``: what is short is asked how much longer would do."""
        self.looks_for_cures = looks_for_cures
        self.bench = bench
        self.entries = entries
        self.prober = prober
        self._closed = _has_closed(bench)
        self._idlers = range(_MOST_IDLERS + 1 if self._closed else 1)

    # ---- spurs and spots

    def spur(self, track: Track, *, with_spare: bool = True) -> SpurFact:
        """How the spur is reached from each entry, and what it holds."""
        reached = tuple((entry, self.reached(entry, track)) for entry in self.entries)
        return SpurFact(track.name, reached, self.holds(track.name, with_spare=with_spare))

    def reached(self, entry: Entry, track: Track) -> Answer:
        """The fewest moves for the locomotive wholly into the track, or else for one car spotted there.

        Where that takes idlers, they are drawn out again, which is a move more: there the spur is judged as
        if it were open to the locomotive.
        """
        ways = [Answer(False)]
        place = Place(track.name)
        if not is_shut_out(self.bench, track.name):
            ways.append(self.prober.ask(reach_probe(self.bench, entry, track.name)))
        if not ways[-1].is_possible:
            probes = self._spotting(self.bench, entry, place, 1, idlers=[0], comes_back=False)
            ways += map(self.prober.ask, probes)
        if self._closed and not any(way.is_possible for way in ways):
            # any way with idlers will do, so none is looked for after the first
            probes = self._spotting(self.bench, entry, place, 1, idlers=self._idlers[1:], comes_back=False)
            any_moves = Hints(counts_moves=False)
            can = self._any(self.prober.ask(probe, any_moves) for probe in probes)
            if can:
                return self.prober.ask(reach_probe(opened(self.bench), entry, track.name))
            ways.append(Answer(can))
        return fewest(ways)

    def holds(self, track: str, *, with_spare: bool = True) -> Count | None:
        """The most standard cars that can be spotted in ``track``."""
        most = self.bench.district.track(track).length // self.bench.car_length
        place = Place(track)
        number, is_proved = self._most(
            lambda cars, looks: self.can_spot(self.bench, place, cars, looks=looks), most, 0, self._closed
        )
        if number == 0:
            return Count(0, True) if is_proved else None
        change = None
        if with_spare and is_proved:
            change = self._spare(
                self.bench,
                [track],
                number,
                lambda bench, looks: self.can_spot(bench, place, number, looks=looks),
                number * self.bench.car_length,
            )
        idlers, side = self._how(place, number) if with_spare else (0, "")
        return Count(number, is_proved, change, idlers, side)

    def can_spot(self, bench: Bench, place: Place, cars: int, *, looks: bool = False) -> bool | None:
        """Whether ``cars`` standard cars can be spotted there from some entry (``looks``: seen at once)."""
        if cars * bench.car_length > bench.district.track(place.track).length:
            return False
        probes = [
            probe
            for entry in self.entries
            if not shuts_cars_off(bench, entry, place.track)
            for probe in self._spotting(bench, entry, place, cars, idlers=self._idlers)
        ]
        return self._any_of(probes, looks=looks)

    def spot(self, place: Place) -> SpotFact:
        """Whether any work can reach the spot, and if not, which track made longer would let it."""
        answer = self.can_spot(self.bench, place, 1)
        if answer is not False:
            return SpotFact(place, answer)
        names = [track.name for track in self.bench.district.tracks]
        cure = shortage(self.bench, names, 1, lambda bench: self.can_spot(bench, place, 1))
        return SpotFact(place, False, cure)

    def _spotting(
        self,
        bench: Bench,
        entry: Entry,
        place: Place,
        cars: int,
        *,
        idlers: Iterable[int],
        sides: tuple[bool, ...] = (True, False),
        comes_back: bool = True,
    ) -> Iterator[Puzzle]:
        """Every way to spot them: with so many idlers, the cars ahead of the locomotive (a side of ``True``)
        or behind it.  Who is known not to get there, by rail that is closed, is not asked to come back.
        """
        for number in idlers:
            for is_ahead in sides:
                there = spot_probe(
                    bench, entry, place, cars, is_ahead=is_ahead, idlers=number, comes_back=False
                )
                if not comes_back:
                    yield there
                elif not self._closed or self.prober.remembers(there) is not False:
                    yield spot_probe(bench, entry, place, cars, is_ahead=is_ahead, idlers=number)

    def _how(self, place: Place, cars: int) -> tuple[int, str]:
        """The fewest idlers with which so many cars can be spotted, and where the cars must then be."""
        for idlers in self._idlers:
            ahead, behind = (self._one_way(place, cars, idlers, is_ahead) for is_ahead in (True, False))
            if ahead and behind is False:
                return idlers, "ahead"
            if behind and ahead is False:
                return idlers, "behind"
            if ahead or behind:
                return idlers, ""
        return 0, ""

    def _one_way(self, place: Place, cars: int, idlers: int, is_ahead: bool) -> bool | None:
        return self._any_of(
            [
                probe
                for entry in self.entries
                for probe in self._spotting(
                    self.bench, entry, place, cars, idlers=[idlers], sides=(is_ahead,)
                )
            ]
        )

    # ---- tails

    def tail(self, row: tuple[str, ...], *, with_spare: bool = True) -> TailFact:
        """What stands wholly in the tail (the tracks of ``row``) beside the locomotive."""
        measuring, name = self.for_tail(row)
        return measuring.tail_track(name, with_spare=with_spare)

    def for_tail(self, row: tuple[str, ...]) -> tuple[Measuring, str]:
        """How to measure a tail of several tracks: as one track, which is named."""
        fixed = any(string.track in row for string in self.bench.puzzle.start.strings)
        if len(row) == 1 or fixed:
            return self, row[0]
        district, name = joined(self.bench.district, row)
        ways = tuple(Entry(name, "to", way.is_entrance) if way.track in row else way for way in self.entries)
        return Measuring(self.bench.on(district), ways, self.prober), name

    def tail_track(self, name: str, *, with_spare: bool = True) -> TailFact:
        """What stands wholly in one track beside the locomotive."""
        room = self.bench.district.track(name).length - self.bench.locomotive.length
        if room < 0:
            return TailFact(name, Count(-1, True))
        most = room // self.bench.car_length
        number, is_proved = self._most(
            lambda cars, looks: self.can_take(self.bench, name, cars, looks=looks), most, -1
        )
        if number == -1:
            return TailFact(name, Count(-1, True) if is_proved else None)
        change = None
        if with_spare and is_proved:
            change = self._spare(
                self.bench,
                [name],
                number,
                lambda bench, looks: self.can_take(bench, name, number, looks=looks),
                self.bench.locomotive.length + number * self.bench.car_length,
            )
        return TailFact(name, Count(number, is_proved, change))

    def can_take(self, bench: Bench, track: str, cars: int, *, looks: bool = False) -> bool | None:
        """Whether the locomotive and ``cars`` standard cars can stand wholly in the track (``looks``: seen at
        once)."""
        if cars < 0:
            return True
        length = bench.locomotive.length + cars * bench.car_length
        if length > bench.district.track(track).length or is_shut_out(bench, track):
            return False
        probes = [
            tail_probe(bench, entry, track, cars, is_ahead=is_ahead)
            for entry in self.entries
            if not (cars and shuts_cars_off(bench, entry, track))
            for is_ahead in ((True, False) if cars else (False,))
        ]
        return self._any_of(probes, looks=looks)

    # ---- run-arounds

    def loop(self, loop: Loop, *, with_spare: bool = True) -> LoopFact:
        """How many cars the locomotive gets past by way of ``loop``, all at once."""
        alone = self.alone(loop)
        name = self.name_of(loop)
        first = self._passing(alone, 1)
        if not first.is_possible or first.moves is None:
            return LoopFact(loop, name, None, Count(0, True) if first.is_possible is False else None)
        moves = first.moves
        number, is_proved = from_guess(lambda cars: self.can_pass(alone, cars, moves), self._guess(loop))
        change = None
        if with_spare and is_proved:
            change = self._spare(
                alone,
                self.deciding(loop),
                number,
                lambda bench, looks: self.can_pass(bench, number, moves, looks=looks),
            )
        return LoopFact(loop, name, moves, Count(number, is_proved, change))

    def alone(self, loop: Loop) -> Bench:
        """The district with no other loop to go around in."""
        return self.bench.on(isolated(self.bench.district, loop))

    def can_pass(
        self, bench: Bench, cars: int, most_moves: int | None, *, looks: bool = False
    ) -> bool | None:
        """Whether the locomotive gets from one end of so many cars to the other within ``most_moves``
        (``looks``: seen at once)."""
        hints = Hints(most_moves, takes_two=True)
        probes = []
        for entry in self.entries:
            probe = pass_probe(bench, entry, cars)
            passing = passing_by_table(entry, probe)
            if passing.most is not None and (most_moves is None or passing.most <= most_moves):
                return True
            if most_moves is None or max(passing.least, least_moves(bench, entry, probe)) <= most_moves:
                probes.append((entry, probe))
        # in so few moves a train is hardly taken in parts
        if self.prober.looks(filter(None, (as_one(probe) for _, probe in probes)), hints):
            return True
        if looks:
            return None
        return self._any(
            self.prober.ask(probe, hints)
            for entry, probe in probes
            if most_moves is None or least_around(entry, probe) <= most_moves
        )

    def deciding(self, loop: Loop) -> list[str]:
        """The tracks on which passing may hang: those of the loop, those that lead to it, the tails."""
        names = list(loop.tracks())
        return names + [track.name for track in self.bench.district.tracks if track.name not in names]

    def name_of(self, loop: Loop) -> str:
        """The loop by the longest track of each side."""
        district = self.bench.district
        names = [max(side, key=lambda name: district.track(name).length) for side in loop.sides if side]
        return " / ".join(names)

    def _passing(self, bench: Bench, cars: int) -> Answer:
        return fewest(self._passing_from(entry, pass_probe(bench, entry, cars)) for entry in self.entries)

    def _passing_from(self, entry: Entry, probe: Puzzle) -> Answer:
        passing = passing_by_table(entry, probe)
        if passing.least == passing.most:
            return Answer(True, passing.most)
        return self.prober.ask(probe, Hints(takes_two=True))

    def _guess(self, loop: Loop) -> int:
        district = self.bench.district
        room = max(sum(district.track(name).length for name in side) for side in loop.sides)
        return max(1, room // self.bench.car_length)

    @staticmethod
    def _spare(
        bench: Bench,
        tracks: list[str],
        cars: int,
        can: Callable[[Bench, bool], bool | None],
        needs: int = 0,
    ) -> Change | None:
        """What can be spared of the tracks; ``can`` is asked of a bench, and whether a look is enough."""

        def look(changed: Bench) -> bool | None:
            return can(changed, True)

        # with a table trains are asked about by events, and nothing is seen at once
        seen = None if bench.district.tables else look
        return spare(bench, tracks, cars, lambda changed: can(changed, False), seen, needs=needs)

    def _any_of(self, probes: list[Puzzle], *, looks: bool = False) -> bool | None:
        """Whether the work of one of the probes can be done: seen of its cars in blocks, before any is asked
        for good (``looks``: only so).
        """
        hints = Hints(counts_moves=False)
        if any(self.prober.looks(easier(probe), hints) for probe in probes):
            return True
        return None if looks else self._any(self.prober.ask(probe, hints) for probe in probes)

    def _most(
        self, can: Callable[[int, bool], bool | None], most: int, least: int, one_by_one: bool = False
    ) -> tuple[int, bool]:
        """The greatest number up to ``most`` that can be done, and whether it is proved that one more cannot.

        ``can`` is asked with a number, and whether a look is enough.  With limits a no is the dearer the more
        cars there are, so what is not seen at once is asked from few cars on.
        """
        if one_by_one or not has_limits(self.bench.district):
            return most_of(lambda cars: can(cars, False), most, least, one_by_one)
        seen, _ = most_of(lambda cars: can(cars, True), most, least)
        while seen < most:
            answer = can(seen + 1, False)
            if not answer:
                return seen, answer is False
            seen += 1
        return max(most, least), True

    @staticmethod
    def _any(answers: Iterable[Answer]) -> bool | None:
        """Whether one of the answers is yes; asks no further then."""
        result: bool | None = False
        for answer in answers:
            if answer.is_possible:
                return True
            if answer.is_possible is None:
                result = None
        return result


def _has_closed(bench: Bench) -> bool:
    district = bench.district
    return any(district.cell_marks(cell).no_locomotives for cell in district.cells())
