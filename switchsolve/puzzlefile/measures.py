"""Lengths of one file, put on its grid: units, scale, the standard car, and what was computed."""

from __future__ import annotations

from fractions import Fraction

from switchsolve.lengths import (
    GRID,
    MM_PER_UNIT,
    BadLength,
    Measure,
    format_length,
    on_grid_down,
    on_grid_up,
)
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.schema import CarLine, KindLine, LocomotiveLine, PuzzleFile, TurnoutLine
from switchsolve.scales import SCALES, Scale, turnout_legs

__all__ = ["MOST_UNITS", "Measures"]

MOST_UNITS = 1_000_000
"""No length may be more than this many units of its file, so that sums stay far inside 64 bits."""

_REAL_UNITS = {"mm", "cm", "m", "in", "ft"}


class Measures:
    """Turns every length of a file into grid units, and notes in ``problems`` what cannot be one.

    What cannot be measured counts as one grid unit, and ``sound`` turns false: then lengths are not to be
    compared.  ``notes`` tells how computed figures were found.
    """

    def __init__(self, file: PuzzleFile, problems: Problems) -> None:
        self.unit: str = file.unit
        self.grid = GRID
        self.notes: dict[str, str] = {}
        self.kinds: dict[str, int] = {}
        self.sound = True
        self._problems = problems
        self._file = file
        self._scale = self._find_scale()
        self._ratio = self._find_ratio()
        self._standard_mm = self._find_standard()
        self._mm_per_unit = self._find_unit()
        self.allowance = self._find_allowance()
        self.kinds = {name: self._kind(name, line) for name, line in file.kinds.items()}

    def track(self, path: Path, measure: Measure) -> int:
        """Length of a piece of track, rounded down.  Above zero."""
        length = self._down(path, measure)
        if length == 0:
            self.refuse(path, "this is shorter than one millionth of a unit", "write a longer length")
        return length or 1

    def place(self, path: Path, measure: Measure) -> int:
        """A place in a track, from its ``from`` end, rounded down.  May be zero."""
        return self._down(path, measure)

    def vehicle(self, path: Path, line: KindLine, name: str) -> int | None:
        """Length of a vehicle or kind, rounded up, allowance included; ``None`` if it gives none."""
        if line.length is not None and line.prototype is not None:
            cure = "keep `length` for the model or `prototype` for the real car"
            self.refuse((*path, "prototype"), "the length is given twice", cure)
        if line.length is not None:
            return self._up((*path, "length"), line.length) + self.allowance
        if line.prototype is not None:
            return self._from_prototype((*path, "prototype"), line.prototype, name) + self.allowance
        return None

    def of_vehicle(self, path: Path, line: CarLine | LocomotiveLine, name: str) -> int:
        """Length of a car or locomotive: its own, else that of its kind."""
        own = self.vehicle(path, line, name)
        if own is not None:
            return own
        if line.kind is None:
            self.refuse(path, "this has no length", "give `length`, `prototype` or a `kind` of [kinds]")
        elif line.kind not in self.kinds:
            cure = suggestion(line.kind, self.kinds, "give its length under [kinds], or here as `length`")
            self.refuse((*path, "kind"), "this kind is not under [kinds]", cure)
        return self.kinds.get(line.kind or "", 1)

    def turnout(self, path: Path, name: str, line: TurnoutLine) -> dict[str, int]:
        """Lengths of the legs of a turnout by number, as far as they can be computed and are asked for."""
        asked = [leg for leg in ("straight", "diverging") if getattr(line, leg) is None]
        if line.number is None or not asked:
            return {}
        gauge, centers = self._gauge(path), self._centers(path, line)
        if gauge is None or centers is None:
            return dict.fromkeys(asked, 1)
        if centers <= gauge or not 1 <= line.number <= 100:
            what = "no turnout has this number at these track centers"
            self.refuse((*path, "number"), what, "write a number from 1 to 100, and centers above the gauge")
            return dict.fromkeys(asked, 1)
        exact = dict(zip(("straight", "diverging"), turnout_legs(line.number, gauge, centers), strict=True))
        legs = {leg: on_grid_down(exact[leg]) for leg in asked}
        apart = format_length(on_grid_down(centers), self).removesuffix("s")
        says = f"no. {_plain(line.number)}, {apart} centers"
        for leg, length in legs.items():
            told = f"{format_length(length, self)} from points to clearance point ({says})"
            self.notes[f"{name}, {leg} leg"] = told
        return legs

    def exact(self, measure: Measure) -> Fraction:
        """A length in units of the file, without rounding.  Raises :class:`BadLength`."""
        return sum((self._term(number, unit) for number, unit in measure.terms), Fraction(0))

    def _term(self, number: Fraction, unit: str) -> Fraction:
        """One number with its unit, in units of the file."""
        if unit in ("", self.unit):
            return number
        if unit == "car":
            return number * self._car()
        if self._mm_per_unit is None:
            cure = "write it in cars, or give `scale` and the standard car a `prototype`"
            raise BadLength("this file measures in cars, and nothing tells how long a car is", cure)
        return number * MM_PER_UNIT[unit] / self._mm_per_unit

    def _car(self) -> Fraction:
        """Length of the standard car, allowance included, in units of the file."""
        length = self.kinds.get(self._file.standards.car or "")
        if length is None:
            cure = "name a kind of [kinds] as `car` under [standards], or write another unit"
            raise BadLength("there is no standard car to measure by", cure)
        return Fraction(length, self.grid)

    def _down(self, path: Path, measure: Measure) -> int:
        """Grid units, rounded down."""
        return on_grid_down(self._checked(path, measure))

    def _up(self, path: Path, measure: Measure) -> int:
        """Grid units, rounded up."""
        return on_grid_up(self._checked(path, measure))

    def _checked(self, path: Path, measure: Measure) -> Fraction:
        """The exact length, or one grid unit with the problem noted."""
        try:
            exact = self.exact(measure)
        except BadLength as bad:
            self.refuse(path, bad.what, bad.cure)
            return Fraction(1, self.grid)
        return self._not_huge(path, exact)

    def _not_huge(self, path: Path, exact: Fraction) -> Fraction:
        """The same length, or one grid unit if it is more than any railroad has."""
        if exact <= MOST_UNITS:
            return exact
        what = f"this is more than {MOST_UNITS:,} {'cars' if self.unit == 'car' else self.unit}"
        self.refuse(path, what, "write a shorter length")
        return Fraction(1, self.grid)

    def _find_scale(self) -> Scale | None:
        """The named scale of the file."""
        name = self._file.scale
        if not isinstance(name, str):
            return None
        if name not in SCALES:
            cure = f"write one of {', '.join(SCALES)}, or a ratio such as 87.1"
            self.refuse(("scale",), "this scale is not known", suggestion(name, SCALES, cure))
        return SCALES.get(name)

    def _find_ratio(self) -> Fraction | None:
        """Real lengths to one of the model, if the file gives a scale that is known."""
        if self._scale is not None:
            return self._scale.ratio
        return self._file.scale if isinstance(self._file.scale, Fraction) else None

    def _find_standard(self) -> Fraction | None:
        """Real length of the standard car in millimeters, if the file gives it."""
        line = self._file.kinds.get(self._file.standards.car or "")
        if line is None or line.prototype is None or not line.prototype.units <= _REAL_UNITS:
            return None
        return sum((number * MM_PER_UNIT[unit] for number, unit in line.prototype.terms), Fraction(0))

    def _find_unit(self) -> Fraction | None:
        """Millimeters in one unit of the file, if known."""
        if self.unit != "car":
            return MM_PER_UNIT[self.unit]
        if self._standard_mm is None or self._ratio is None:
            return None
        return self._standard_mm / self._ratio

    def _find_allowance(self) -> int:
        """The allowance, rounded up."""
        if self.unit == "car" and self._file.allowance.terms:
            cure = "leave `allowance` out, or measure in in, mm, cm or ft"
            self.refuse(("allowance",), "a length in cars has the slack in it already", cure)
        return self._up(("allowance",), self._file.allowance)

    def _kind(self, name: str, line: KindLine) -> int:
        """Length of a kind of car."""
        path: Path = ("kinds", name)
        length = self.vehicle(path, line, name)
        if length is None:
            self.refuse(path, "this kind has no length", "give `length` or `prototype`")
        elif self.unit == "car" and name == self._file.standards.car and length != self.grid:
            self.refuse(
                path, "the standard car is not one car long", "write 1, or choose another standard car"
            )
        return length or 1

    def in_scale(self, path: Path, real: Fraction) -> int:
        """What ``real`` millimeters come to in the model, rounded down to the grid."""
        found = self._by_standard(path, real) if self.unit == "car" else self._by_scale(path, real)
        return 1 if found is None else max(1, on_grid_down(self._not_huge(path, found[0])))

    def _from_prototype(self, path: Path, measure: Measure, name: str) -> int:
        """Length of the model of something real, rounded up; noted."""
        if not measure.units <= _REAL_UNITS:
            self.refuse(path, "a real length needs its unit", 'write it as "44 ft 2 1/2 in" or "13.5 m"')
            return 1
        real = sum((number * MM_PER_UNIT[unit] for number, unit in measure.terms), Fraction(0))
        found = self._by_standard(path, real) if self.unit == "car" else self._by_scale(path, real)
        if found is None:
            return 1
        length = on_grid_up(self._not_huge(path, found[0]))
        self.notes[name] = f"{format_length(length, self)} ({measure.text}, {found[1]})"
        return length

    def _by_standard(self, path: Path, real: Fraction) -> tuple[Fraction, str] | None:
        """Cars that ``real`` millimeters come to, and how that was found."""
        if self._standard_mm is None:
            cure = "name a kind with a `prototype` as `car` under [standards]"
            self.refuse(path, "there is no standard car to compare it with", cure)
            return None
        return real / self._standard_mm, f"compared with the {self._file.standards.car}"

    def _by_scale(self, path: Path, real: Fraction) -> tuple[Fraction, str] | None:
        """Units of the model that ``real`` millimeters come to, and how that was found."""
        ratio, unit = self._ratio, self._mm_per_unit
        if ratio is None or unit is None:
            if self._file.scale is None:
                self.refuse(path, "a real length needs a scale", 'add `scale`, such as scale = "HO"')
            return None
        says = f"{self._scale.name}, {self._scale.says}" if self._scale else f"1:{_plain(ratio)}"
        return real / ratio / unit, says

    def _gauge(self, path: Path) -> Fraction | None:
        """Gauge of the model, in units of the file."""
        if self._file.gauge is not None:
            return self._checked(("gauge",), self._file.gauge)
        if self._scale is None:
            if not isinstance(self._file.scale, str):
                cure = "add `gauge` to the file, or a `scale` by its name"
                self.refuse((*path, "number"), "a turnout by number needs the gauge", cure)
            return None
        return self._checked((*path, "number"), Measure(((self._scale.gauge_mm, "mm"),), "gauge"))

    def _centers(self, path: Path, line: TurnoutLine) -> Fraction | None:
        """Track centers at a turnout, in units of the file."""
        if line.track_centers is not None:
            return self._checked((*path, "track_centers"), line.track_centers)
        if self._file.district.track_centers is not None:
            return self._checked(("district", "track_centers"), self._file.district.track_centers)
        cure = "add `track_centers` here or under [district]"
        self.refuse((*path, "number"), "a turnout by number needs the track centers", cure)
        return None

    def track_centers(self) -> int | None:
        """Track centers of the whole district, rounded down, if the file gives them."""
        measure = self._file.district.track_centers
        return None if measure is None else self._down(("district", "track_centers"), measure)

    def refuse(self, path: Path, what: str, cure: str) -> None:
        """Note a length that is missing or wrong: from now on lengths are not to be compared."""
        self.sound = False
        self._problems.add(path, what, cure)

    def limit(self, path: Path, measure: Measure | None) -> int | None:
        """A greatest length, rounded down; ``None`` if there is none."""
        return None if measure is None else self.track(path, measure)


def _plain(number: Fraction) -> str:
    """An exact number as a short decimal."""
    return f"{float(number):g}"
