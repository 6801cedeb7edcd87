"""The cross checks of a layout file: names that are known, places that hang together, trains that can run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping

import networkx as nx

from switchsolve.layout import FREIGHT, LOCALS, PASSENGER, SWITCHER
from switchsolve.layoutfile.building import leaves_at
from switchsolve.layoutfile.flows import check_flows
from switchsolve.layoutfile.schema import LayoutFile, RunLine
from switchsolve.layoutfile.sizes import check_sizes
from switchsolve.lengths import Measure
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.tomltext import value_text

__all__ = ["check"]


def check(file: LayoutFile, puzzles: Mapping[str, Puzzle], problems: Problems) -> None:
    """Note all that is wrong between the parts of ``file``; ``puzzles``: those that could be read."""
    checker = _Checker(file, problems)
    checker.lengths()
    checker.places(puzzles)
    checker.joined()
    checker.trains()
    checker.crews()
    checker.what_if()
    check_sizes(file, problems)
    check_flows(file, puzzles, problems, checker.known)


class _Checker:
    def __init__(self, file: LayoutFile, problems: Problems) -> None:
        self._file, self._problems = file, problems
        self._places = [*file.yard, *file.districts, *file.staging]
        (self._yard,) = file.yard

    def known(self, path: Path, name: str, names: Collection[str], what: str) -> bool:
        """Whether ``name`` is one of ``names``; else it is noted that there is no such ``what``."""
        if name in names:
            return True
        cure = suggestion(name, names, f"name one of: {', '.join(names) or 'none there is'}")
        self._problems.add(path, f"there is no such {what}", cure)
        return False

    def lengths(self) -> None:
        """Real lengths only: a car is no unit of a layout."""
        for path, measure in _measures(self._file):
            if "car" in measure.units:
                self._problems.add(path, "a layout has no standard car", "write the length with its unit")

    def places(self, puzzles: Mapping[str, Puzzle]) -> None:
        """Each place has one name; the tracks that are named are there; rule of through staging."""
        for name, times in Counter(self._places).items():
            if times > 1:
                section = "districts" if name in self._file.districts else "staging"
                self._problems.add((section, name), "two places have this name", "rename one of them", "")
        self._yard_tracks(puzzles)
        for name, line in self._file.districts.items():
            for index, track in enumerate(line.main):
                if name in puzzles:
                    tracks = [one.name for one in puzzles[name].district.tracks]
                    self.known(("districts", name, "main", index), track, tracks, "track in its file")
            for kind in line.float:
                self.known(("districts", name, "float", kind), kind, self._file.kinds, "kind of car")
            if line.idler is not None and name in puzzles:
                kinds = puzzles[name].kinds
                self.known(("districts", name, "idler"), line.idler, kinds, "kind of car in its file")
        for name, staging in self._file.staging.items():
            for index, track in enumerate(staging.keep_empty):
                self.known(("staging", name, "keep_empty", index), track, staging.tracks, "track there")
            if staging.through and not staging.keep_empty:
                what = "staging that trains also pass through keeps one track empty"
                self._problems.add(("staging", name), what, "name one under keep_empty", "")
            for kind in staging.cars:
                self.known(("staging", name, "cars", kind), kind, self._file.kinds, "kind of car")

    def _yard_tracks(self, puzzles: Mapping[str, Puzzle]) -> None:
        path: Path = ("yard", self._yard)
        puzzle = puzzles.get(self._yard)
        if puzzle is None:
            return
        line = self._file.yard[self._yard]
        tracks = {track.name: track for track in puzzle.district.tracks}
        is_known = self.known((*path, "lead"), line.lead, tracks, "track in its file")
        if is_known and not tracks[line.lead].entrances:
            what = "nothing comes in on this track"
            self._problems.add((*path, "lead"), what, "name a track with an entrance")
        for index, track in enumerate(line.tracks):
            self.known((*path, "tracks", index), track, tracks, "track in its file")
            if track == line.lead:
                self._problems.add((*path, "tracks", index), "this is the lead", "name another track")
        if len(puzzle.locomotives) != 1:
            self._problems.add((*path, "file"), "the yard is worked by one locomotive", "name one there")
        for kind in self._file.kinds:
            if kind not in puzzle.kinds:
                what = f"its file knows no {value_text(kind)}"
                self._problems.add((*path, "file"), what, "add the kind to it under [kinds]")

    def joined(self) -> None:
        """Links join places that there are, and all of them; aisles name places."""
        graph: nx.Graph[str] = nx.Graph()
        graph.add_nodes_from(self._places)
        for name, line in self._file.links.items():
            for index, end in enumerate(line.between):
                self.known(("links", name, "between", index), end, self._places, "place")
            graph.add_edge(*line.between)
            if line.between[0] == line.between[1]:
                self._problems.add(("links", name, "between"), "it leads nowhere", "name two places")
        reached = nx.node_connected_component(graph, self._yard)
        for place in self._places:
            if place not in reached:
                section = "districts" if place in self._file.districts else "staging"
                self._problems.add((section, place), "no link leads there", "add one under [links]", "")
        for name, aisle in self._file.aisles.items():
            for index, place in enumerate(aisle.places):
                self.known(("aisles", name, "places", index), place, self._places, "place")

    def trains(self) -> None:
        """Each train can run, the yard has one switcher, each district is worked by one train."""
        file = self._file
        for name, line in file.trains.items():
            self._train(("trains", name), line)
        switchers = [name for name, line in file.trains.items() if line.kind == SWITCHER]
        if len(switchers) != 1:
            value = ", ".join(switchers)
            number = "one yard switcher" if switchers else "a yard switcher"
            what = f"the yard is worked by {number}"
            self._problems.add(("trains",), what, f'write one train with kind = "{SWITCHER}"', value)
        worked = Counter(place for line in file.trains.values() for place in line.works)
        for place in file.districts:
            if worked[place] != 1:
                what = "no train works it" if not worked[place] else "more than one train works it"
                self._problems.add(("districts", place), what, "name it in `works` of one train", "")

    def _train(self, path: Path, line: RunLine) -> None:
        ends_in: Collection[str] = list(self._file.staging)
        if line.kind in (*LOCALS, SWITCHER):
            ends_in = [self._yard]
        for key, end in (("from", line.from_), ("to", line.to)):
            if self.known((*path, key), end, self._places, "place") and end not in ends_in:
                cure = f"name {' or '.join(map(value_text, ends_in))}"
                self._problems.add((*path, key), f"a {line.kind} does not begin or end there", cure)
        for index, place in enumerate(line.works):
            self.known((*path, "works", index), place, self._file.districts, "district")
            if line.kind not in LOCALS:
                self._problems.add(
                    (*path, "works", index), f"a {line.kind} works no district", "leave it to a local"
                )
        if line.kind in (*LOCALS, FREIGHT) and not line.most_cars:
            self._problems.add(path, "it has room for no car", "add most_cars", "")
        if line.kind == PASSENGER and line.leaves is None:
            self._problems.add(path, "a passenger train has a fixed time", "add leaves", "")
        minute = leaves_at(self._file, line.leaves)
        if minute is not None and minute >= self._file.session.minutes:
            self._problems.add((*path, "leaves"), "the session is over by then", "write an earlier time")

    def crews(self) -> None:
        """Crews take trains that there are, and each train has one."""
        taken: set[str] = set()
        for name, can in self._file.crews.items():
            for index, train in enumerate(can if can != "all" else ()):
                self.known(("crews", name, index), train, self._file.trains, "train")
            if not can:
                self._problems.add(("crews", name), "it can take no train", 'name one, or write "all"')
            taken |= set(self._file.trains) if can == "all" else set(can)
        for train in self._file.trains:
            if train not in taken:
                self._problems.add(("trains", train), "no crew can take it", "name it under [crews]", "")

    def what_if(self) -> None:
        """Changes change what there is."""
        file = self._file
        for name, line in file.what_if.items():
            path: Path = ("what_if", name)
            for key, names, known, what in (
                ("without_crews", line.without_crews, list(file.crews), "crew"),
                ("without_trains", line.without_trains, list(file.trains), "train"),
                ("most_cars", list(line.most_cars), list(file.trains), "train"),
                ("staging", list(line.staging), list(file.staging), "staging"),
            ):
                for index, one in enumerate(names):
                    place = index if key.startswith("without") else one
                    self.known((*path, key, place), one, known, what)
            for place, tracks in line.staging.items():
                for track in tracks if place in file.staging else ():
                    there = file.staging[place].tracks
                    self.known((*path, "staging", place, track), track, there, "track there")
            if set(line.without_crews) >= set(file.crews):
                self._problems.add((*path, "without_crews"), "no crew is left", "leave one in")
            for index, train in enumerate(line.without_trains):
                if train in file.trains and file.trains[train].kind == SWITCHER:
                    what = "without it the yard is not worked"
                    self._problems.add((*path, "without_trains", index), what, "leave it in")


def _measures(file: LayoutFile) -> Iterator[tuple[Path, Measure]]:
    """Every length of the file."""
    yield from _named("kinds", file.kinds)
    for place, yard in file.yard.items():
        yield ("yard", place, "room"), yard.room
    for place, staging in file.staging.items():
        for track, length in staging.tracks.items():
            yield ("staging", place, "tracks", track), length
    for name, link in file.links.items():
        if link.longest is not None:
            yield ("links", name, "longest"), link.longest
    for name, train in file.trains.items():
        yield ("trains", name, "equipment"), train.equipment
    for name, line in file.what_if.items():
        for place, tracks in line.staging.items():
            for track, length in tracks.items():
                yield ("what_if", name, "staging", place, track), length


def _named(section: str, lines: Mapping[str, Measure]) -> Iterable[tuple[Path, Measure]]:
    return (((section, name), measure) for name, measure in lines.items())
