"""Who stands where at the start: the section ``[start]`` of a file, with ``[fixed]``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from switchsolve.puzzle import StartString
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.references import Places
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.vehicles import Locomotive, Vehicle

__all__ = ["Coupled", "StartReader", "is_rear_only"]

GAP = "|"


@dataclass(slots=True)
class Coupled:
    """A string while it is read: its vehicles, the spots at which they stand, and where it is fixed."""

    vehicles: list[str] = field(default_factory=list)
    spots: dict[str, str] = field(default_factory=dict)
    fixed_at: int | None = None


class StartReader:
    """Reads the strings of each track."""

    def __init__(
        self,
        file: PuzzleFile,
        vehicles: Mapping[str, Vehicle],
        heads: Mapping[str, str],
        measures: Measures,
        problems: Problems,
    ) -> None:
        self._file = file
        self._vehicles = vehicles
        self._heads = heads
        self._measures = measures
        self._problems = problems
        self._rigid = frozenset(file.work.do_not_touch)
        self._track_of: dict[str, str] = {}
        self.entry_of: dict[str, Path] = {}
        """Where in the file each vehicle is said to stand."""

    def read(self, places: Places) -> dict[str, list[Coupled]]:
        """The strings of every track, in the order of the file.  Notes names that are wrong."""
        strings = {track: self._on_track(track, places) for track in self._file.start}
        for section in ("cars", "locomotives"):
            for name in getattr(self._file, section):
                if name not in self._track_of and name in self._vehicles:
                    self._problems.add(
                        (section, name), "this stands nowhere", "add it to a track under [start]", ""
                    )
        for name in self._file.fixed:
            if name not in self._track_of:
                cure = suggestion(name, self._track_of, "name a car or locomotive of [start]")
                self._problems.add(("fixed", name), "no such vehicle stands anywhere", cure)
        self._check_couplers(strings)
        return strings

    def strings(self, read: Mapping[str, list[Coupled]]) -> tuple[StartString, ...]:
        """The strings as the puzzle holds them."""
        return tuple(
            StartString(track, tuple(item.vehicles), dict(item.spots), item.fixed_at)
            for track, coupled in read.items()
            for item in coupled
        )

    def _on_track(self, track: str, places: Places) -> list[Coupled]:
        """The strings of one track."""
        if track not in places.spots and track not in places.tables:
            known = [*places.spots, *places.tables]
            cure = suggestion(track, known, "name one of [tracks], [turntables] or [transfer_tables]")
            self._problems.add(("start", track), "there is no such track", cure, "")
        coupled = [Coupled()]
        entries = self._file.start[track]
        for index, entry in enumerate(entries):
            path: Path = ("start", track, index)
            if entry != GAP:
                self._add(path, entry, track, coupled, places)
            elif index in (0, len(entries) - 1) or entries[index - 1] == GAP:
                self._problems.add(path, "this gap has no vehicle at one side", "leave it out")
            else:
                coupled.append(Coupled())
        return [string for string in coupled if string.vehicles]

    def _add(self, path: Path, entry: str, track: str, coupled: list[Coupled], places: Places) -> None:
        """Add one vehicle to the string that is being read."""
        found = self._split(path, entry)
        if found is None:
            return
        name, spot = found
        if name in self._track_of:
            what = f"{value_text(name)} stands on {value_text(self._track_of[name])} already"
            self._problems.add(path, what, "leave one of the two out")
            return
        self._track_of[name] = track
        self.entry_of[name] = path
        if spot is not None and spot not in places.spots.get(track, ()):
            known = ", ".join(value_text(item) for item in places.spots.get(track, ())) or "none"
            self._problems.add(path, "this track has no such spot", f"its spots: {known}")
            spot = None
        if name in self._rigid and coupled[-1].vehicles:
            coupled.append(Coupled())
        coupled[-1].vehicles.append(name)
        if spot is not None:
            coupled[-1].spots[name] = spot
        if name in self._file.fixed:
            self._fix_as_told(name, coupled[-1])
        if name in self._rigid:
            coupled.append(Coupled())

    def _split(self, path: Path, entry: str) -> tuple[str, str | None] | None:
        """Vehicle and spot of an entry such as ``OXCC 7 @ door 1``."""
        if entry in self._vehicles:
            return entry, None
        ats = [place for place, letter in enumerate(entry) if letter == "@"]
        for at in reversed(ats):
            if entry[:at].rstrip() in self._vehicles:
                return entry[:at].rstrip(), entry[at + 1 :].lstrip()
        name = entry.split("@")[0].rstrip()
        cure = suggestion(name, self._vehicles, "add it under [cars] or [locomotives]")
        self._problems.add(path, "there is no such car or locomotive", cure)
        return None

    def _fix_as_told(self, name: str, string: Coupled) -> None:
        """Fix a string by the place of one of its vehicles, the last added."""
        told = self._measures.place(("fixed", name), self._file.fixed[name])
        at = told - sum(self._vehicles[item].length for item in string.vehicles[:-1])
        if string.fixed_at not in (None, at) and self._measures.sound:
            what = "what it is coupled to is fixed at another place"
            self._problems.add(("fixed", name), what, "fix one vehicle of a string only")
        string.fixed_at = at

    def _check_couplers(self, strings: Mapping[str, list[Coupled]]) -> None:
        """Note every rear-only locomotive with something coupled to its front."""
        for coupled in strings.values():
            for string in coupled:
                for index, name in enumerate(string.vehicles):
                    beside = index + (1 if self._heads.get(name) == "to" else -1)
                    if is_rear_only(self._vehicles[name]) and 0 <= beside < len(string.vehicles):
                        other = value_text(string.vehicles[beside])
                        what = f"{other} is coupled to its front, and it is rear only"
                        cure = f'put "{GAP}" between them, or turn the locomotive'
                        self._problems.add(self.entry_of[name], what, cure)


def is_rear_only(vehicle: Vehicle) -> bool:
    """Whether this is a locomotive whose front does not couple."""
    return isinstance(vehicle, Locomotive) and vehicle.rear_only
