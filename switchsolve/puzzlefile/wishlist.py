"""The wishes of the section ``[design]``, each checked for saying something that can be looked at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from switchsolve.design import Wish
from switchsolve.district import District
from switchsolve.puzzlefile.designschema import DesignLine, WishLine
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.references import BadReference, Places
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.work import Place

__all__ = ["read_wishes"]

_KEYS = {
    "spots": (
        "spots",
        "except",
        "task",
        "cars",
        "from",
        "least_moves",
        "most_moves",
        "most_trips",
        "how_many",
    ),
    "work": ("least_moves", "most_moves", "most_trips"),
    "plain crew": ("least_minutes", "most_minutes"),
    "set-ups": ("of_cars", "except", "from"),
}
"""What may be said besides ``about`` and ``name``."""
_DEMANDS = ("least_moves", "most_moves", "most_trips", "least_minutes", "most_minutes", "of_cars")


def read_wishes(
    file: PuzzleFile, line: DesignLine, district: District | None, places: Places, problems: Problems
) -> tuple[Wish, ...]:
    """Every wish, in the order of the file."""
    reader = _WishReader(file, district, places, problems)
    wishes = tuple(reader.read(("design", "wishes", index), one) for index, one in enumerate(line.wishes))
    for index, wish in enumerate(wishes):
        if any(other.name == wish.name for other in wishes[:index]):
            what = f'another wish is called "{wish.name}" too'
            problems.add(("design", "wishes", index), what, "give one of them another `name`", "")
    return wishes


class _WishReader:
    """Reads one wish after the other."""

    def __init__(
        self, file: PuzzleFile, district: District | None, places: Places, problems: Problems
    ) -> None:
        self._file = file
        self._district = district
        self._places = places
        self._problems = problems

    def read(self, path: Path, line: WishLine) -> Wish:
        """One wish."""
        self._check_keys(path, line)
        if line.spots is not None and line.except_:
            self._problems.add(
                (*path, "except"), "this says both which spots and which not", "keep one of the two"
            )
        spots = self._spots((*path, "spots"), line.spots or ())
        apart = self._spots((*path, "except"), line.except_)
        if line.how_many is not None and spots and line.how_many > len(spots):
            self._problems.add(
                (*path, "how_many"),
                f"this is more than the spots named, which are {len(spots)}",
                "write no more than that",
            )
        is_crew = line.about == "plain crew"
        least, most = (
            (line.least_minutes, line.most_minutes) if is_crew else (line.least_moves, line.most_moves)
        )
        if least is not None and most is not None and least > most:
            self._problems.add(path, "the least is more than the most", "exchange the two", "")
        self._check_entrance(path, line)
        wish = Wish(
            "", line.about, spots, apart, line.task, line.cars == "ahead", line.from_, least, most,
            line.most_trips, line.how_many, line.of_cars or 0,
        )  # fmt: skip
        return replace(wish, name=line.name or _told(wish))

    def _check_keys(self, path: Path, line: WishLine) -> None:
        """Nothing is said that does not go with what the wish is about; and something is."""
        known = _KEYS[line.about]
        given = {(WishLine.model_fields[field].alias or field) for field in line.model_fields_set} - {
            "about",
            "name",
        }
        for key in sorted(given - set(known)):
            cure = f"for {line.about} say: {', '.join(known)}"
            self._problems.add((*path, key), f"this does not go with a wish about {line.about}", cure)
        if not given & set(_DEMANDS) & set(known):
            wanted = [f"`{key}`" for key in known if key in _DEMANDS]
            self._problems.add(path, "this wish asks nothing", f"add {' or '.join(wanted)}", "")

    def _spots(self, path: Path, names: Iterable[str]) -> tuple[Place, ...]:
        found = []
        for index, text in enumerate(names):
            try:
                place = self._places.place(text)
            except BadReference as bad:
                self._problems.add((*path, index), bad.what, bad.cure)
                continue
            spots = self._places.spots.get(place.track, ())
            if place.spot is None and spots:
                found += [Place(place.track, spot) for spot in spots]
            else:
                found.append(place)
        return tuple(dict.fromkeys(found))

    def _check_entrance(self, path: Path, line: WishLine) -> None:
        """The train comes from a track that is an entrance, or from where the locomotive starts."""
        if line.from_ is None:
            return
        entrances = [name for name, one in self._file.tracks.items() if "entrance" in (one.from_, one.to)]
        if line.from_ not in entrances:
            cure = suggestion(line.from_, entrances, "name a track that is an entrance, or leave this out")
            self._problems.add((*path, "from"), "no train comes from there", cure)


def _told(wish: Wish) -> str:
    """What a wish without a name is called."""
    if wish.about == "set-ups":
        return f"every set-up of up to {wish.cars} {'car' if wish.cars == 1 else 'cars'}"
    unit = "minutes" if wish.about == "plain crew" else "moves"
    parts = [] if (wish.least, wish.most) == (None, None) else [_range(wish.least, wish.most, unit)]
    if wish.most_trips is not None:
        parts.append(
            f"at most {wish.most_trips} {'trip' if wish.most_trips == 1 else 'trips'} to the run-around"
        )
    demand = ", ".join(parts)
    if wish.about == "plain crew":
        return f"the work takes a plain crew {demand}"
    if wish.about == "work":
        return f"the work takes {demand}"
    return f"{_who(wish)}: {demand}"


def _who(wish: Wish) -> str:
    named = ", ".join(map(str, wish.places))
    spots = f"each of {named}" if len(wish.places) > 1 else named or "every spot"
    if wish.how_many is not None:
        spots = f"{wish.how_many} or more of {named}" if named else f"{wish.how_many} or more spots"
    if wish.apart:
        spots += f" but {', '.join(map(str, wish.apart))}"
    task = {"spot": "spotting a car at", "pick up": "picking a car up at", "exchange": "exchanging a car at"}
    where = f", from {wish.entrance}" if wish.entrance else ""
    return f"{task[wish.task]} {spots}{where}{', cars ahead' if wish.is_ahead else ''}"


def _range(least: int | None, most: int | None, unit: str) -> str:
    if least == most:
        return f"{most} {unit}"
    if least is None:
        return f"at most {most} {unit}"
    return f"{least} {unit} or more" if most is None else f"{least} to {most} {unit}"
