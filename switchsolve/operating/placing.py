"""The cars of one district: who stands at which industry, who is due, where a car that comes would go."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from switchsolve.layout import DistrictPlace
from switchsolve.operating.working import Worked
from switchsolve.puzzle import Puzzle, Traffic
from switchsolve.puzzlefile.trafficlist import places_of
from switchsolve.study.answering import without
from switchsolve.traffic.cars import Visitor
from switchsolve.traffic.setting import set_up

__all__ = ["DistrictState"]


@dataclass(slots=True)
class DistrictState:
    """Who stands where in a district, in order of arrival."""

    place: DistrictPlace
    standing: list[Visitor] = field(default_factory=list)

    @property
    def traffic(self) -> Traffic:
        """What its file says of industries."""
        assert self.place.puzzle.traffic is not None
        return self.place.puzzle.traffic

    def spots(self, track: str) -> list[str | None]:
        """The places of an industry, each spot by its name."""
        rail = self.place.puzzle.district.track(track)
        kinds = next(one.kinds for one in self.traffic.industries if one.track == track)
        named: list[str | None] = [spot.name for spot in rail.spots]
        longest = max(self.place.puzzle.kinds[kind] for kind in kinds)
        return named or [None] * places_of(rail, longest)

    def due(self, session: int) -> list[Visitor]:
        """Who is to be picked up, the longest due first."""
        ready = [one for one in self.standing if one.due is not None and one.due <= session]
        return sorted(ready, key=lambda one: one.due or 0)

    def placed(self, cars: Iterable[Visitor], leaving: Sequence[Visitor]) -> list[Visitor]:
        """Those of ``cars`` for which there is a place once ``leaving`` are gone, each with its place; on a
        float, where none is asked for, any that takes its kind."""
        free = {one.track: self.spots(one.track) for one in self.traffic.industries}
        for one in self.standing:
            if one not in leaving:
                free[one.track].remove(one.spot)
        found = []
        for one in cars:
            tracks = [one.track] if one.track else self._tracks_for(one.kind)
            track = next((name for name in tracks if free[name]), None)
            if track is not None:
                found.append(replace(one, track=track, spot=free[track].pop(0)))
        return found

    def _tracks_for(self, kind: str) -> list[str]:
        """Tracks to which cars of a kind come."""
        return [one.track for one in self.traffic.industries if kind in one.kinds]

    def set_up(self, title: str, train: Sequence[Visitor], due: Sequence[Visitor]) -> Puzzle:
        """The work of a train that brings ``train`` (from the locomotive outwards) and takes ``due``."""
        if self.place.idler is None:
            return set_up(self.place.puzzle, self.traffic, title, self.standing, train, due)
        idler = Visitor(self.idler, self.place.idler, self.traffic.industries[0].track, 1)
        puzzle = set_up(self.place.puzzle, self.traffic, title, self.standing, [idler, *train], due)
        return without(puzzle, {self.idler})  # it leaves with the train again

    @property
    def idler(self) -> str:
        """The name of the car next to the locomotive, if there is one."""
        return f"idler of {self.place.name}"

    def close(self, session: int, train: Sequence[Visitor], due: Sequence[Visitor], worked: Worked) -> None:
        """Take the outcome: who is spotted stands there from now on, who was taken is gone."""
        left = set(worked.left_over) if worked.is_done else {one.name for one in (*train, *due)}
        gone = {one.name for one in due} - left
        self.standing = [one for one in self.standing if one.name not in gone]
        for one in train:
            if one.name not in left:
                self.standing.append(replace(one, due=session + one.stay))
