"""Where what is fixed stands at the start, and whether everything fits."""

from __future__ import annotations

from collections.abc import Mapping

from switchsolve.district import District, End, Marks, Table, Track
from switchsolve.lengths import format_length
from switchsolve.puzzlefile.links import Linking
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.placing import Standing, first_that_does_not_fit
from switchsolve.puzzlefile.problems import Path, Problems
from switchsolve.puzzlefile.starting import Coupled, is_rear_only
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.vehicles import Locomotive, Vehicle

__all__ = ["Fitting"]


class Fitting:
    """Finds exact places and checks the arithmetic of every track.  Needs sound lengths."""

    def __init__(
        self,
        vehicles: Mapping[str, Vehicle],
        heads: Mapping[str, str],
        rigid: frozenset[str],
        entry_of: Mapping[str, Path],
        measures: Measures,
        problems: Problems,
    ) -> None:
        self._vehicles = vehicles
        self._heads = heads
        self._rigid = rigid
        """Cars that are not to be touched."""
        self._entry_of = entry_of
        self._measures = measures
        self._problems = problems

    def place(self, strings: Mapping[str, list[Coupled]], district: District, linking: Linking) -> None:
        """Find the exact place of what is fixed, and check that everything fits.  Needs sound lengths."""
        places: list[Track | Table] = [*district.tracks, *district.tables]
        by_name = {place.name: place for place in places}
        for track, coupled in strings.items():
            here = by_name.get(track)
            if here is not None:
                self._fix(here, coupled, linking)
                self._check_fit(here, coupled)

    def _fix(self, track: Track | Table, coupled: list[Coupled], linking: Linking) -> None:
        """Give every do-not-touch car its place: as told, at its spot, or against a bumper."""
        self._fix_at_spots(track, coupled)
        if isinstance(track, Track):
            if linking.is_bumper(End(track.name, "from")):
                self._fix_from(coupled)
            if linking.is_bumper(End(track.name, "to")):
                self._fix_to(track.length, coupled)
        for string in coupled:
            if string.vehicles[0] in self._rigid and string.fixed_at is None:
                cure = "give its place under [fixed], or put it at a spot"
                self._problems.add(
                    self._entry_of[string.vehicles[0]], "a car not to be touched needs a place", cure
                )

    def _fix_at_spots(self, track: Track | Table, coupled: list[Coupled]) -> None:
        """A do-not-touch car at a spot stands with its middle there, as far as the track allows."""
        for string in coupled:
            name = string.vehicles[0]
            if (
                isinstance(track, Track)
                and name in self._rigid
                and name in string.spots
                and string.fixed_at is None
            ):
                length = self._vehicles[name].length
                middle = track.spot(string.spots[name]).at - length // 2
                string.fixed_at = max(0, min(middle, track.length - length))

    def _fix_from(self, coupled: list[Coupled]) -> None:
        """Do-not-touch cars that follow each other from a bumper at ``from`` stand against it."""
        place = 0
        for string in coupled:
            if string.vehicles[0] not in self._rigid:
                return
            if string.fixed_at is None:
                string.fixed_at = place
            place = string.fixed_at + self._vehicles[string.vehicles[0]].length

    def _fix_to(self, length: int, coupled: list[Coupled]) -> None:
        """The same from a bumper at ``to``."""
        place = length
        for string in reversed(coupled):
            if string.vehicles[0] not in self._rigid:
                return
            if string.fixed_at is None:
                string.fixed_at = place - self._vehicles[string.vehicles[0]].length
            place = string.fixed_at

    def _check_fit(self, track: Track | Table, coupled: list[Coupled]) -> None:
        """Note it if the strings cannot stand on the track as the file says."""
        standings = [self._standing(track, coupled, index) for index in range(len(coupled))]
        if first_that_does_not_fit(standings, track.length) is None:
            return
        free = [Standing(item.lengths, item.gap) for item in standings]
        path: Path = ("start", track.name)
        if first_that_does_not_fit(free, track.length) is not None:
            self._note_too_long(path, track, free)
            return
        plain = [item.without_closed() for item in standings]
        index = first_that_does_not_fit(plain, track.length)
        if index is not None:
            names = value_text(coupled[index].vehicles[0])
            what = f"{names} cannot stand at its place with the others where they are"
            self._problems.add(path, what, "move the spots or fixed places apart, or change the order")
            return
        stuck = first_that_does_not_fit(standings, track.length) or 0
        kept_off = max(index for index in range(stuck + 1) if standings[index].closed)
        name = value_text(coupled[kept_off].vehicles[standings[kept_off].closed[0][0]])
        what = f"{name} has no room off the part that is closed to it"
        self._problems.add(path, what, "start it on another track")

    def _note_too_long(self, path: Path, track: Track | Table, free: list[Standing]) -> None:
        """Note that the vehicles are too long for the track."""
        total = sum(item.length for item in free)
        if total > track.length:
            short = format_length(total - track.length, self._measures)
            what = f"these are {format_length(total, self._measures)} long, {short} more than the track has"
        else:
            track_has = format_length(track.length, self._measures)
            what = f"these fill the {track_has} of the track, with no room for gaps"
        self._problems.add(path, what, "start with fewer cars there, or give the track its true length")

    def _standing(self, track: Track | Table, coupled: list[Coupled], index: int) -> Standing:
        """A string as plain numbers."""
        string = coupled[index]
        lengths = tuple(self._vehicles[name].length for name in string.vehicles)
        gap = 0 if index and self._may_touch(coupled[index - 1], string) else 1
        points = tuple(
            (string.vehicles.index(name), track.spot(spot).at)
            for name, spot in string.spots.items()
            if isinstance(track, Track)
        )
        closed = tuple(
            (place, stretches)
            for place, name in enumerate(string.vehicles)
            if (stretches := _closed_to(track, self._vehicles[name]))
        )
        return Standing(lengths, gap, points, string.fixed_at, closed)

    def _may_touch(self, one: Coupled, other: Coupled) -> bool:
        """Whether two neighbors may stand without a gap: they would not couple."""
        left, right = one.vehicles[-1], other.vehicles[0]
        if left in self._rigid or right in self._rigid:
            return True
        left_front = is_rear_only(self._vehicles[left]) and self._heads[left] == "to"
        return left_front or (is_rear_only(self._vehicles[right]) and self._heads[right] == "from")


def _closed_to(track: Track | Table, vehicle: Vehicle) -> tuple[tuple[int, int], ...]:
    """Stretches of ``track`` that ``vehicle`` may not touch."""
    parts = (
        [(part.length, part.marks) for part in track.parts]
        if isinstance(track, Track)
        else [(track.length, track.marks)]
    )
    stretches = []
    start = 0
    for length, marks in parts:
        if _is_closed(marks, vehicle):
            stretches.append((start, start + length))
        start += length
    return tuple(stretches)


def _is_closed(marks: Marks, vehicle: Vehicle) -> bool:
    """Whether ``vehicle`` may not touch what is so marked."""
    is_locomotive = isinstance(vehicle, Locomotive) or vehicle.is_dead_locomotive
    return vehicle.kind in marks.barred or (marks.no_locomotives and is_locomotive)
