"""From a file of good shape to a puzzle: every cross check, all at once."""

from __future__ import annotations

from collections.abc import Mapping

from switchsolve.district import District
from switchsolve.puzzle import Puzzle, Start
from switchsolve.puzzlefile.canonical import canonical
from switchsolve.puzzlefile.designlist import read_design
from switchsolve.puzzlefile.fitting import Fitting
from switchsolve.puzzlefile.links import Linking, check_names, places_of
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.problems import Problems
from switchsolve.puzzlefile.rolling import read_cars, read_heads, read_locomotives, read_under_way
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.standards import check_stated, read_drawing, read_standards, read_times
from switchsolve.puzzlefile.starting import StartReader
from switchsolve.puzzlefile.trackplan import TrackPlan
from switchsolve.puzzlefile.trafficlist import read_traffic
from switchsolve.puzzlefile.worklist import WorkReader
from switchsolve.vehicles import Vehicle

__all__ = ["build"]


def build(file: PuzzleFile, problems: Problems) -> Puzzle:
    """The puzzle that ``file`` describes.  Raises ``FileError`` with all problems."""
    return _Builder(file, problems).build()


class _Builder:
    """Builds one puzzle, room by room; what a room finds wrong is noted, and the next goes on."""

    def __init__(self, file: PuzzleFile, problems: Problems) -> None:
        self._file = file
        self._problems = problems
        self._measures = Measures(file, problems)
        self._cars = {car.name: car for car in read_cars(file, self._measures, problems)}
        self._locomotives = {item.name: item for item in read_locomotives(file, self._measures)}
        self._vehicles: Mapping[str, Vehicle] = {**self._cars, **self._locomotives}
        self._heads = read_heads(file, problems)

    def build(self) -> Puzzle:
        """The puzzle, if there is nothing wrong with it."""
        file, problems, measures = self._file, self._problems, self._measures
        district, start = self._plan_and_start()
        standards = read_standards(file, problems)
        times = read_times(file, measures)
        traffic = read_traffic(file, district, self._locomotives, measures, problems)
        design = read_design(
            file, district, start.strings, self._vehicles, self._places, measures, problems
        )
        drawing = read_drawing(file, problems)
        track_centers = measures.track_centers()
        check_stated(file, problems)
        work = WorkReader(self._cars, self._locomotives, self._places, problems).read(file.work)
        problems.raise_if_any()
        assert district is not None
        puzzle = Puzzle(
            district=district,
            cars=tuple(self._cars.values()),
            locomotives=tuple(self._locomotives.values()),
            start=start,
            work=work,
            title=file.title,
            unit=file.unit,
            grid=measures.grid,
            allowance=measures.allowance,
            standards=standards,
            kinds=measures.kinds,
            stated_minimum=file.stated.moves if file.stated else None,
            stated_verdict=file.stated.verdict if file.stated else None,
            times=times,
            traffic=traffic,
            design=design,
            track_centers=track_centers,
            drawing=drawing,
            notes={**file.notes, **measures.notes},
        )
        return canonical(puzzle)

    def _plan_and_start(self) -> tuple[District | None, Start]:
        """The track plan (``None`` if two places have one name), and who stands on it."""
        file, problems = self._file, self._problems
        kinds = frozenset({vehicle.kind for vehicle in self._vehicles.values()} | set(file.kinds))
        plan = TrackPlan(file, self._measures, problems, kinds)
        tracks = plan.tracks(vehicle.length for vehicle in self._vehicles.values())
        junctions, tables, limits = plan.junctions(), plan.tables(), plan.limits(("limits",), file.limits)
        self._places = places_of(file, tracks, junctions)
        reader = StartReader(file, self._vehicles, self._heads, self._measures, problems)
        strings = reader.read(self._places)
        district = None
        if check_names(file, problems):
            linking = Linking(file, self._places, problems)
            district = linking.district(tracks, junctions, tables, limits)
            if self._measures.sound:
                rigid = frozenset(file.work.do_not_touch)
                fitting = Fitting(
                    self._vehicles, self._heads, rigid, reader.entry_of, self._measures, problems
                )
                fitting.place(strings, district, linking)
        return district, Start(reader.strings(strings), self._heads, read_under_way(file))
