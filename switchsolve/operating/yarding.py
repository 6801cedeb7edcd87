"""The cars of the yard, and its two kinds of work: a cut made up for a train, a cut put away.

The switcher stands at the road end of the lead with the cut between it and the tracks.  Cars that stand next
to each other and are not to be parted are handled as one long car, which keeps the work small; its moves are
the fewest for cars so kept together.  Cars that are not in hand are on hold: they end on the track where they
stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from switchsolve.district import End
from switchsolve.layout import YardPlace
from switchsolve.operating.working import Worked
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.puzzlefile.canonical import canonical
from switchsolve.vehicles import Car
from switchsolve.work import EndsIn, Item, Place, Train, Work

__all__ = ["Blocks", "YardState"]

Blocks = Mapping[str, tuple[str, ...]]
"""The cars of each long car, the one nearest to the points (or the locomotive) first; it has its name."""


@dataclass(slots=True)
class YardState:
    """Who stands where: on each track from the points inwards, and on the arrival tracks."""

    place: YardPlace
    tracks: dict[str, list[str]]
    arrivals: list[str] = field(default_factory=list)

    @classmethod
    def empty(cls, place: YardPlace) -> YardState:
        """A yard with no car."""
        return cls(place, {track: [] for track in place.tracks})

    @property
    def cars(self) -> list[str]:
        """Every car on its tracks."""
        return [car for row in self.tracks.values() for car in row]

    def track_of(self, car: str) -> str:
        """Where a car stands.  Raises ``StopIteration`` if it is not there."""
        return next(track for track, row in self.tracks.items() if car in row)

    def that_fit(self, cars: Sequence[str], kinds: Mapping[str, str]) -> list[str]:
        """The first of ``cars`` for which its tracks have room."""
        for number in range(len(cars), 0, -1):
            if self._shared_out(cars[:number], kinds) is not None:
                return list(cars[:number])
        return []

    def make_up(self, cars: Sequence[str], kinds: Mapping[str, str]) -> tuple[Puzzle, Blocks]:
        """The work of bringing ``cars`` to the lead."""
        (locomotive,) = (one.name for one in self.place.puzzle.locomotives)
        rows = {
            track: [tuple(block) for _, block in groupby(row, key=lambda car: car in cars)]
            for track, row in self.tracks.items()
        }
        blocks = {block[0]: block for row in rows.values() for block in row}
        wanted = frozenset(name for name, block in blocks.items() if name in cars)
        return self._puzzle((), rows, (Train(locomotive, self.place.lead, wanted),), kinds), blocks

    def put_away(self, cars: Sequence[str], kinds: Mapping[str, str]) -> tuple[Puzzle, Blocks]:
        """The work of putting ``cars`` (from the locomotive outwards), which stand on the lead, on tracks
        with room: all on one if that can be, else those farthest from the locomotive first.

        Raises ``ValueError`` if there is no room for them.
        """
        (locomotive,) = (one.name for one in self.place.puzzle.locomotives)
        shared = self._shared_out(cars, kinds)
        if shared is None:
            raise ValueError(f"the yard has no room for {', '.join(cars)}")
        items: list[Item] = [EndsIn(cut[0], (Place(track),)) for track, cut in shared]
        items.append(Train(locomotive, self.place.lead))
        rows = {track: [tuple(row)] for track, row in self.tracks.items() if row}
        blocks = {row[0][0]: row[0] for row in rows.values()} | {cut[0]: cut for _, cut in shared}
        # the cut nearest to the locomotive was shared out last
        lead = tuple(cut for _, cut in reversed(shared))
        return self._puzzle(lead, rows, tuple(items), kinds), blocks

    def _shared_out(
        self, cars: Sequence[str], kinds: Mapping[str, str]
    ) -> list[tuple[str, tuple[str, ...]]] | None:
        """Tracks with the cuts that go there, that farthest from the locomotive first; ``None``: no room."""
        rail, lengths = self.place.puzzle.district, self.place.puzzle.kinds
        room = {track: rail.track(track).length for track in self.tracks}
        for track, row in self.tracks.items():
            room[track] -= self._length(row, kinds)
        whole = self._length(cars, kinds)
        fit = [track for track, left in room.items() if left >= whole]
        if fit:
            return [(min(fit, key=lambda track: room[track]), tuple(cars))]
        found, left = [], list(cars)
        for track in sorted(room, key=lambda track: -room[track]):
            cut: list[str] = []
            while left and self._length(cut, kinds) + lengths[kinds[left[-1]]] <= room[track]:
                cut.insert(0, left.pop())
            if cut:
                found.append((track, tuple(cut)))
        return None if left else found

    def _length(self, cars: Iterable[str], kinds: Mapping[str, str]) -> int:
        return sum(self.place.puzzle.kinds[kinds[car]] for car in cars)

    def _puzzle(
        self,
        lead: tuple[tuple[str, ...], ...],
        rows: Mapping[str, Sequence[tuple[str, ...]]],
        items: tuple[Item, ...],
        kinds: Mapping[str, str],
    ) -> Puzzle:
        puzzle, place = self.place.puzzle, self.place
        (locomotive,) = (one.name for one in puzzle.locomotives)
        at_road = (locomotive, *(block[0] for block in lead))
        is_from = "from" in puzzle.district.track(place.lead).entrances
        strings = [StartString(place.lead, at_road if is_from else at_road[::-1])]
        for track, row in rows.items():
            if row:
                strings.append(StartString(track, self._turned(track, [block[0] for block in row])))
        blocks = [*lead, *(block for row in rows.values() for block in row)]
        cars = tuple(Car(block[0], self._length(block, kinds), kinds[block[0]]) for block in blocks)
        return canonical(
            replace(
                puzzle,
                cars=cars,
                start=replace(puzzle.start, strings=tuple(strings), under_way={}),
                work=Work(items),
                title=place.name,
                stated_minimum=None,
                stated_verdict=None,
                traffic=None,
            )
        )

    def _turned(self, track: str, row: Sequence[str]) -> tuple[str, ...]:
        """A row from the points inwards as one from ``from`` to ``to``, or the other way about."""
        points_at_from = self.place.puzzle.district.mate(End(track, "from")) is not None
        return tuple(row) if points_at_from else tuple(row)[::-1]

    def close(self, worked: Worked, blocks: Blocks) -> None:
        """Take the standing that a plan leaves."""
        if worked.is_done:
            for track in self.place.tracks:
                row = self._turned(track, worked.standing.get(track, ()))
                self.tracks[track] = [car for name in row for car in blocks[name]]
