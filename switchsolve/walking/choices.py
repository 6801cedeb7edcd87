"""A step that can be chosen, in words: who goes which way, what is left behind, and where it stops."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from switchsolve.district import Junction, Track
from switchsolve.rules import Rules, Standing, String
from switchsolve.walking.stops import Stop

__all__ = ["Choice", "choices_of"]

Names = Sequence[tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Choice:
    """One step, as a person reads it.

    ``who``: the locomotive that leads and its direction, or the table; ``moves``: how many moves it begins.
    ``leaves``: what is cut off first and stays, and where ("" for nothing).  ``goes``: where it stops, or
    what it couples to.  ``kind``: "couple", "clear" (in the clear), "foul" (across a junction) or "line" (a
    table).  ``places``: the tracks, junctions and tables on which the string then stands, the leading end's
    first.
    """

    who: str
    moves: int
    leaves: str
    goes: str
    kind: str
    places: tuple[str, ...]


def choices_of(rules: Rules, standing: Standing, names: Names, stops: Sequence[Stop]) -> list[Choice]:
    """The stops in words, in the same order; no two read the same."""
    teller = _Teller(rules, standing, names)
    choices = [teller.choice(stop) for stop in stops]
    for more in (teller.headed, teller.over):
        same = Counter((one.who, one.leaves, one.goes) for one in choices)
        choices = [
            replace(one, goes=one.goes + more(stop)) if same[one.who, one.leaves, one.goes] > 1 else one
            for one, stop in zip(choices, stops, strict=True)
        ]
    return choices


class _Teller:
    """Tells stops that are made from one standing."""

    def __init__(self, rules: Rules, standing: Standing, names: Names) -> None:
        self._rules, self._standing, self._names = rules, standing, names
        self._district = rules.p.puzzle.district

    def choice(self, stop: Stop) -> Choice:
        """One stop in words."""
        if stop.first.event == "line":
            return self._lining(stop)
        places = self._touched(stop)
        foul = [place for place in places if self._is_junction(place)]
        kind = "couple" if stop.met >= 0 else ("foul" if foul else "clear")
        return Choice(self._who(stop), stop.cost.moves, self._leaves(stop), self._goes(stop), kind, places)

    def headed(self, stop: Stop) -> str:
        """What lies ahead of where it stops."""
        slot, side = stop.mover
        return f", headed {self._toward(stop.end.strings[slot], side)}"

    def over(self, stop: Stop) -> str:
        """Every route that is run over."""
        routes = [self._cell(way >> 1) for way in self._entered(stop)]
        return f", over {_listed(routes)}" if routes else ""

    def _lining(self, stop: Stop) -> Choice:
        table = self._district.tables[stop.first.string]
        side, outside = table.meets[stop.first.way]
        sides = [one for one, other in table.meets if other == outside]
        by = f" by its {side} end" if len(sides) > 1 else ""
        return Choice(f"Line the {table.name}", 0, "", f"to {outside.place}{by}", "line", (outside.place,))

    # ---- who

    def _who(self, stop: Stop) -> str:
        slot, side = stop.first.string, stop.first.side
        string, names = self._standing.strings[slot], self._names[slot]
        row = list(zip(names, string.tokens, strict=True))
        going = row if not stop.first.cut else (row[-stop.first.cut :] if side else row[: stop.first.cut])
        leading = reversed(going) if side else iter(going)
        name, token = next(one for one in leading if self._rules.is_loco[one[1]])
        way = "forward" if bool(side) != bool(token & 1) else "back"
        return f"{name} {way}, {self._toward(string, side)}"

    def _toward(self, string: String, side: int) -> str:
        """What lies ahead of an end: the next place, or the end of the rail."""
        way = string.ways[-1] if side else string.ways[0] ^ 1
        here = self._place(way)
        while True:
            ahead = self._rules.p.ahead(way, self._standing.lined)
            if not ahead:
                return f"toward the end of {self._place(way)}"
            if self._place(ahead[0]) != here:
                return f"toward {self._place(ahead[0])}"
            way = ahead[0]

    # ---- what stays

    def _leaves(self, stop: Stop) -> str:
        if not stop.first.cut:
            return ""
        slot, cut = stop.first.string, stop.first.cut
        string, names = self._standing.strings[slot], self._names[slot]
        left = names[:-cut] if stop.first.side else names[cut:]
        ways = string.ways[: stop.first.joint + 1] if stop.first.side else string.ways[stop.first.joint :]
        return f"leave {_listed(left)} {self._on(ways)}"

    # ---- where to

    def _goes(self, stop: Stop) -> str:
        entered = [self._place(way) for way in self._entered(stop)]
        tracks = [place for place in dict.fromkeys(entered) if not self._is_junction(place)]
        mine = stop.end.strings[stop.mover[0]].ways
        on, here = self._on(mine), {self._place(way) for way in mine}
        by = _by_way([place for place in tracks if place not in here])
        if stop.met >= 0:
            end = f", standing {on}" if on.startswith("across") else ", in the clear"
            return f"couple to {_listed(self._met(stop))} {self._on(self._met_ways(stop))}{by}{end}"
        if not entered:
            return f"a little way {on}" if stop.first.event == "go" else f"stop {on}"
        passed = [place for place in entered if self._is_junction(place)]
        is_clear = bool(passed) and not on.startswith("across")
        return f"stop {on}{by}" + (f", clear of {passed[-1]}" if is_clear else "")

    def _met(self, stop: Stop) -> tuple[str, ...]:
        if stop.met < len(self._names):
            return self._names[stop.met]
        names = self._names[stop.first.string]
        return names[: -stop.first.cut] if stop.first.side else names[stop.first.cut :]

    def _met_ways(self, stop: Stop) -> tuple[int, ...]:
        if stop.met < len(self._names):
            return self._standing.strings[stop.met].ways
        string, joint = self._standing.strings[stop.first.string], stop.first.joint
        return string.ways[: joint + 1] if stop.first.side else string.ways[joint:]

    def _entered(self, stop: Stop) -> Iterator[int]:
        """The ways that the leading end enters (of what it meets, none)."""
        return (action.way for action in stop.actions if action.event == "enter")

    def _touched(self, stop: Stop) -> tuple[str, ...]:
        slot, side = stop.mover
        ways = stop.end.strings[slot].ways
        return tuple(dict.fromkeys(self._place(way) for way in (reversed(ways) if side else ways)))

    # ---- places

    def _place(self, way: int) -> str:
        return self._rules.p.cells[way >> 1].cell.place

    def _is_junction(self, place: str) -> bool:
        return isinstance(self._district.place(place), Junction)

    def _on(self, ways: tuple[int, ...]) -> str:
        """Where a string stands: on tracks, or across junctions."""
        places = list(dict.fromkeys(self._place(way) for way in ways))
        junctions = [place for place in places if self._is_junction(place)]
        tracks = [self._track(place, ways) for place in places if place not in junctions]
        if not junctions:
            return f"on {_listed(tracks)}"
        return f"across {_listed(junctions)}" + (f", on {_listed(tracks)}" if tracks else "")

    def _track(self, place: str, ways: tuple[int, ...]) -> str:
        """A track, with its parts if it has several."""
        track = self._district.place(place)
        if not isinstance(track, Track) or len(track.parts) < 2:
            return place
        cells = sorted({way >> 1 for way in ways if self._place(way) == place})
        indexes = dict.fromkeys(self._rules.p.cells[cell].cell.index for cell in cells)
        return f"{place} ({_listed([self._part(track, index) for index in indexes])})"

    def _part(self, track: Track, index: int) -> str:
        return track.parts[index].name or f"part {index + 1}"

    def _cell(self, cell: int) -> str:
        """A cell, for when places alone do not tell."""
        named = self._rules.p.cells[cell].cell
        place = self._district.place(named.place)
        if isinstance(place, Junction):
            route = place.routes[named.index]
            return f"{place.name} ({route.a} - {route.b})"
        if isinstance(place, Track) and len(place.parts) > 1:
            return f"{place.name} ({self._part(place, named.index)})"
        return place.name


def _by_way(tracks: Sequence[str]) -> str:
    return f" by way of {_listed(tracks)}" if tracks else ""


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1]
