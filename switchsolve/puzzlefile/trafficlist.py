"""The traffic of a file: the section ``[traffic]``, checked against the district that has to take it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from switchsolve.district import District, KeepClear, Track
from switchsolve.lengths import format_length
from switchsolve.puzzle import Industry, Traffic
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.placing import least_coupled
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.schema import IndustryLine, PuzzleFile, TrafficLine
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.vehicles import Locomotive

__all__ = ["places_of", "read_traffic"]


def places_of(track: Track, longest: int) -> int:
    """How many cars, none longer than ``longest``, have a place on ``track``: one at each spot; without
    spots as many as it is long enough for.
    """
    return len(track.spots) or track.length // longest


def read_traffic(
    file: PuzzleFile,
    district: District | None,
    locomotives: Mapping[str, Locomotive],
    measures: Measures,
    problems: Problems,
) -> Traffic | None:
    """The section ``[traffic]``, if there is one; ``district`` is ``None`` if it could not be read."""
    if file.traffic is None:
        return None
    return _TrafficReader(file, file.traffic, district, locomotives, measures, problems).read()


class _TrafficReader:
    """Reads one section, and notes whatever no session could be drawn from."""

    def __init__(
        self,
        file: PuzzleFile,
        line: TrafficLine,
        district: District | None,
        locomotives: Mapping[str, Locomotive],
        measures: Measures,
        problems: Problems,
    ) -> None:
        self._file = file
        self._locomotives = locomotives
        self._line = line
        self._measures = measures
        self._problems = problems
        self._tracks = {track.name: track for track in district.tracks} if district else {}

    def read(self) -> Traffic:
        """The traffic, as the file has it."""
        line = self._line
        self._check_train()
        self._check_locomotive()
        self._check_length()
        for track, industry in line.industries.items():
            self._check_industry(("traffic", "industries", track), track, industry)
        for index, car in enumerate(self._file.work.do_not_touch):
            what = f"sessions are drawn for this file, and {value_text(car)} would be in none of them"
            self._problems.add(("work", "do_not_touch", index), what, "make the track shorter instead")
        industries = tuple(
            Industry(track, dict(industry.kinds), industry.stay, industry.full)
            for track, industry in line.industries.items()
        )
        return Traffic(
            line.train,
            line.locomotive_at,
            line.most_cars,
            industries,
            line.blocking,
            line.departs_at,
            tuple(line.roads),
        )

    def _check_track(self, path: Path, name: str) -> bool:
        """Whether there is such a track."""
        if name in self._file.tracks:
            return True
        cure = suggestion(name, self._file.tracks, "name one of [tracks]")
        self._problems.add(path, "there is no such track", cure)
        return False

    def _check_train(self) -> None:
        """The train comes from somewhere."""
        name = self._line.train
        if self._check_track(("traffic", "train"), name):
            track = self._file.tracks[name]
            if "entrance" not in (track.from_, track.to):
                cure = 'name a track with from = "entrance" or to = "entrance"'
                self._problems.add(("traffic", "train"), "no train can come in on this track", cure)

    def _check_locomotive(self) -> None:
        """One locomotive, which stands where the train does and can couple to its cars."""
        file, line = self._file, self._line
        if len(self._locomotives) > 1:
            what = "sessions are drawn for one locomotive, and this file has more"
            self._problems.add(("traffic",), what, "leave one locomotive in the file", "")
            return
        (name,) = self._locomotives
        stands = next((track for track, entries in file.start.items() if name in entries), None)
        if stands not in (None, line.train):
            what = f"{value_text(name)} stands on {value_text(stands)} at the start"
            self._problems.add(("traffic", "train"), what, "put it on this track under [start]")
        locomotive = file.locomotives[name]
        if locomotive.rear_only and (locomotive.heads or "to") != line.locomotive_at:
            what = f"{value_text(name)} is rear only, and its front would face the cars"
            cure = "name the other end, or turn it with `heads`"
            self._problems.add(("traffic", "locomotive_at"), what, cure)

    def _check_length(self) -> None:
        """The longest train fits on its track."""
        line, name = self._line, self._line.train
        track = self._file.tracks.get(name)
        if name not in self._tracks or not self._measures.sound or track is None:
            return
        if track.length is None and track.parts is None:
            return  # as long as need be
        longest = self._longest(kind for industry in line.industries.values() for kind in industry.kinds)
        engine = sum(locomotive.length for locomotive in self._locomotives.values())
        short = line.most_cars * longest + engine - self._tracks[name].length
        if short > 0:
            what = (
                f"the longest train is {format_length(short, self._measures)} longer than {value_text(name)}"
            )
            self._problems.add(("traffic", "most_cars"), what, "write fewer, or give the track more length")

    def _longest(self, kinds: Iterable[str]) -> int:
        """Length of the longest of these kinds, as far as they are known; 0 if none is."""
        return max((self._measures.kinds.get(kind, 0) for kind in kinds), default=0)

    def _check_industry(self, path: Path, name: str, line: IndustryLine) -> None:
        """The track is there, its cars may stand in it, and there is a place for one at least."""
        for kind in line.kinds:
            if kind not in self._file.kinds:
                cure = suggestion(kind, self._file.kinds, "add it under [kinds]")
                self._problems.add((*path, "kinds", kind), "there is no such kind of car", cure)
        if not self._check_track(path, name) or name not in self._tracks:
            return
        if name == self._line.train:
            self._problems.add(path, "this is the track of the train", "let cars come to another one", "")
            return
        self._check_marks(path, name, line)
        if self._measures.sound and all(kind in self._measures.kinds for kind in line.kinds):
            self._check_places(path, self._tracks[name], line)

    def _check_marks(self, path: Path, name: str, line: IndustryLine) -> None:
        """Its cars may stand all over the track."""
        for part in self._tracks[name].parts:
            if part.marks.keep_clear is not KeepClear.NO:
                what, cure = "part of this track is to be kept clear", "let cars come to another track"
                self._problems.add(path, what, cure, "")
                return
            for kind in line.kinds:
                if kind in part.marks.barred:
                    what, cure = "part of this track is barred to the kind", "leave the kind out"
                    self._problems.add((*path, "kinds", kind), what, cure)

    def _check_places(self, path: Path, track: Track, line: IndustryLine) -> None:
        """One place at least, and all of them can be taken at once."""
        longest = self._longest(line.kinds)
        if not places_of(track, longest):
            what = f"the track is shorter than a car of {format_length(longest, self._measures)}"
            self._problems.add((*path, "kinds"), what, "leave the kind out, or give the track more length")
        points = sorted(spot.at for spot in track.spots)
        if least_coupled([longest] * len(points), points, track.length) is None:
            what = f"cars of {format_length(longest, self._measures)} cannot stand at all its spots at once"
            self._problems.add((*path, "kinds"), what, "leave the kind out, or move the spots apart")
