"""What a file leaves open: the choices of the section ``[design]``, checked against its district."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from switchsolve.design import Choice, Design, Option
from switchsolve.district import District, End, Junction
from switchsolve.flipping import flipped_district
from switchsolve.lengths import Measure, format_length
from switchsolve.puzzle import StartString
from switchsolve.puzzlefile.designschema import DesignLine, GridLine, OptionLine
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.needing import needed_tracks
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.references import BadReference, Places
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.puzzlefile.wishlist import read_wishes
from switchsolve.vehicles import Vehicle

__all__ = ["read_design"]

_MOST_LENGTHS = 1000
"""For one track: more are a slip of the pen."""
AS_DRAWN = "as drawn"


def read_design(
    file: PuzzleFile,
    district: District | None,
    strings: tuple[StartString, ...],
    vehicles: Mapping[str, Vehicle],
    places: Places,
    measures: Measures,
    problems: Problems,
) -> Design | None:
    """The section ``[design]``, if there is one; ``district`` is ``None`` if it could not be read."""
    if file.design is None:
        return None
    return _DesignReader(file, file.design, district, strings, vehicles, places, measures, problems).read()


class _DesignReader:
    """Reads one section, and notes whatever no arrangement could be made from."""

    def __init__(
        self,
        file: PuzzleFile,
        line: DesignLine,
        district: District | None,
        strings: tuple[StartString, ...],
        vehicles: Mapping[str, Vehicle],
        places: Places,
        measures: Measures,
        problems: Problems,
    ) -> None:
        self._file = file
        self._line = line
        self._district = district
        self._strings = strings
        self._vehicles = vehicles
        self._places = places
        self._measures = measures
        self._problems = problems
        self._moved = {
            *line.move,
            *(name for one in line.one_of for o in one.options.values() for name in o.move),
        }

    def read(self) -> Design:
        """The design, as the file has it: options by name first, lengths last."""
        line = self._line
        choices = [*self._flips(), *self._drops(), *self._moves(), *self._one_ofs(), *self._grids()]
        if not choices:
            cure = "add `flip`, `leave_out`, `move`, `lengths` or `one_of`"
            self._problems.add(("design",), "nothing is left open here", cure, "")
        standards = self._file.standards
        asked = (standards.run_around_passes, standards.tail_takes)
        if line.standards and asked == (None, None) and not (standards.spur_holds or standards.clear_at_end):
            cure = "add what is asked under [standards], or leave `standards` out"
            self._problems.add(("design", "standards"), "this file asks no standards", cure)
        wishes = read_wishes(self._file, line, self._district, self._places, self._problems)
        self._check_dropped({place.track for wish in wishes for place in wish.places})
        rail = (
            None if line.most_rail is None else self._measures.track(("design", "most_rail"), line.most_rail)
        )
        return Design(
            tuple(choices),
            wishes,
            rail,
            line.most_turnouts,
            line.standards,
            Fraction(line.cost.rail),
            Fraction(line.cost.turnout),
        )

    def _flips(self) -> Iterator[Choice]:
        for index, name in enumerate(self._line.flip):
            self._check_flip(("design", "flip", index), name)
            yield Choice(f"{name} (way round)", (Option(AS_DRAWN), Option("the other way", flip=(name,))))

    def _drops(self) -> Iterator[Choice]:
        for index, name in enumerate(self._line.leave_out):
            self._check_track(("design", "leave_out", index), name)
            yield Choice(name, (Option("built"), Option("left out", leave_out=(name,))))

    def _moves(self) -> Iterator[Choice]:
        for name, targets in self._line.move.items():
            self._check_spur(("design", "move", name), name)
            options = [Option(AS_DRAWN)]
            for index, text in enumerate(targets):
                end = self._end(("design", "move", name, index), text)
                options.append(Option(f"from {text}", move={name: end}))
            yield Choice(f"{name} (place)", tuple(options))

    def _one_ofs(self) -> Iterator[Choice]:
        for index, one in enumerate(self._line.one_of):
            path: Path = ("design", "one_of", index, "options")
            if len(one.options) < 2:
                self._refuse(
                    path, "this is no choice", "write two options at least; an empty one is as drawn"
                )
            options = (self._option((*path, name), name, option) for name, option in one.options.items())
            yield Choice(one.name, tuple(options))

    def _option(self, path: Path, name: str, line: OptionLine) -> Option:
        for index, track in enumerate(line.flip):
            self._check_flip((*path, "flip", index), track)
        for index, track in enumerate(line.leave_out):
            self._check_track((*path, "leave_out", index), track)
        moves = {}
        for track, text in line.move.items():
            self._check_spur((*path, "move", track), track)
            moves[track] = self._end((*path, "move", track), text)
        lengths = {
            track: self._one_length((*path, "lengths", track), track, m) for track, m in line.lengths.items()
        }
        return Option(name, tuple(line.flip), tuple(line.leave_out), moves, lengths)

    def _one_length(self, path: Path, track: str, measure: Measure) -> int:
        length = self._measures.track(path, measure)
        if self._check_one_piece(path, track):
            self._check_holds(path, track, length)
        return length

    # ---- lengths

    def _grids(self) -> Iterator[Choice]:
        for track, line in self._line.lengths.items():
            path: Path = ("design", "lengths", track)
            lengths = self._lengths(path, line)
            if self._check_one_piece(path, track) and lengths:
                self._check_holds(path, track, lengths[0])
            options = (Option(format_length(n, self._measures), lengths={track: n}) for n in lengths)
            yield Choice(f"{track} (length)", tuple(options), track)

    def _lengths(self, path: Path, line: GridLine) -> list[int]:
        """All lengths of one track, the shortest first."""
        in_cars = line.least_cars is not None or line.most_cars is not None
        if in_cars and (line.least, line.most, line.step) != (None, None, None):
            self._refuse(path, "this is told in lengths and in cars", "keep one of the two")
            return []
        if in_cars:
            return self._in_cars(path, line)
        if line.least is None or line.most is None:
            self._refuse(path, "this does not say from which length to which", "add `least` and `most`")
            return []
        if line.engine:
            self._refuse((*path, "engine"), "this goes with cars only", "write `least_cars` and `most_cars`")
        least = self._measures.track((*path, "least"), line.least)
        most = self._measures.track((*path, "most"), line.most)
        step = 0 if line.step is None else self._measures.track((*path, "step"), line.step)
        if not step and least != most:
            self._refuse(path, "this does not say in what steps", "add `step`")
            return []
        return self._row(path, least, most, step)

    def _in_cars(self, path: Path, line: GridLine) -> list[int]:
        standards = self._file.standards
        car = self._measures.kinds.get(standards.car or "")
        if car is None:
            self._refuse(
                path, "there is no standard car to measure by", "name a kind as `car` under [standards]"
            )
            return []
        if line.least_cars is None or line.most_cars is None:
            self._refuse(path, "this does not say how many cars", "add `least_cars` and `most_cars`")
            return []
        engine = standards.locomotive or next(iter(self._file.locomotives))
        more = self._vehicles[engine].length if line.engine and engine in self._vehicles else 0
        if not line.least_cars and not more:
            self._refuse((*path, "least_cars"), "no cars are no track", "write 1 or more, or `engine = true`")
            return []
        return self._row(path, line.least_cars * car + more, line.most_cars * car + more, car)

    def _row(self, path: Path, least: int, most: int, step: int) -> list[int]:
        if most < least:
            self._refuse(path, "the most is less than the least", "exchange the two")
            return []
        lengths = range(least, most + 1, step or 1) if step else range(least, least + 1)
        if len(lengths) > _MOST_LENGTHS:
            self._refuse(path, f"these are {len(lengths):,} lengths", "write a longer `step`")
            return [least]
        return list(lengths)

    # ---- what can be wrong

    def _refuse(self, path: Path, what: str, cure: str) -> None:
        self._problems.add(path, what, cure)

    def _check_track(self, path: Path, name: str) -> bool:
        if name not in self._file.tracks:
            self._refuse(
                path, "there is no such track", suggestion(name, self._file.tracks, "name one of [tracks]")
            )
            return False
        return True

    def _check_flip(self, path: Path, name: str) -> None:
        """The spur can be laid the other way round (one that is moved: where it is laid then)."""
        if self._check_track(path, name) and self._district is not None and name not in self._moved:
            try:
                flipped_district(self._district, name)
            except ValueError as error:
                what, cure = str(error).split("; ", 1)
                self._refuse(path, what, cure)

    def _check_spur(self, path: Path, name: str) -> None:
        """The track can be taken up and laid elsewhere: it meets one junction, and nothing else."""
        if not self._check_track(path, name) or self._district is None:
            return
        mates = [self._district.mate(End(name, end)) for end in ("from", "to")]
        met = [mate for mate in mates if mate is not None]
        is_spur = len(met) == 1 and isinstance(self._district.place(met[0].place), Junction)
        if not is_spur or self._district.track(name).entrances:
            self._refuse(path, "this is no spur of a turnout", "name a track that ends at a bumper")

    def _end(self, path: Path, text: str) -> End:
        """The end of a junction that a spur may leave from."""
        try:
            found = self._places.end(text)
        except BadReference as bad:
            self._refuse(path, bad.what, bad.cure)
            return End(text, "")
        if found.kind != "end" or found.end.place in self._file.tracks:
            self._refuse(path, "this is no end of a junction", "name a leg of a turnout")
        return found.end

    def _check_one_piece(self, path: Path, name: str) -> bool:
        if not self._check_track(path, name):
            return False
        track = self._file.tracks[name]
        if track.parts is not None:
            self._refuse(path, "this track has parts of its own", "give it a `length` instead of `parts`")
        elif track.length is None:
            self._refuse(path, "this entrance is as long as need be", "give it a `length`, or leave this out")
        return track.parts is None and track.length is not None

    def _check_holds(self, path: Path, name: str, length: int) -> None:
        """What has a place on the track, and what stands there at the start, fits the shortest length."""
        if self._district is None or not self._measures.sound:
            return
        here = [string for string in self._strings if string.track == name]
        standing = sum(self._vehicles[v].length for string in here for v in string.vehicles) + max(
            0, len(here) - 1
        )
        ends = [spot.at for spot in self._district.track(name).spots]
        ends += [
            string.fixed_at + sum(self._vehicles[v].length for v in string.vehicles)
            for string in here
            if string.fixed_at is not None
        ]
        need = max([standing, *ends])
        if length < need:
            what = f"what stands and what has a place there needs {format_length(need, self._measures)}"
            self._refuse(path, what, "write no shorter length than that")

    def _check_dropped(self, wished: set[str]) -> None:
        """Nothing is asked of a track that may be left out."""
        needed = needed_tracks(self._file) | dict.fromkeys(wished, "a wish names it")
        for path, name in self._all_dropped():
            if name in needed:
                what = f"{value_text(name)} cannot be left out: {needed[name]}"
                self._refuse(path, what, "name another track")
            elif name in self._file.tracks and "entrance" in (
                self._file.tracks[name].from_,
                self._file.tracks[name].to,
            ):
                self._refuse(path, f"{value_text(name)} is an entrance", "name another track")

    def _all_dropped(self) -> Iterator[tuple[Path, str]]:
        for index, name in enumerate(self._line.leave_out):
            yield ("design", "leave_out", index), name
        for number, one in enumerate(self._line.one_of):
            for option, line in one.options.items():
                for index, name in enumerate(line.leave_out):
                    yield ("design", "one_of", number, "options", option, "leave_out", index), name
