"""Track plans of the random small districts: a base with open ends, more turnouts, short tracks; for
tests only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from switchsolve.district import District, End, Junction, Limits, Part, Route, Table, Track

__all__ = ["Draft", "draw_base", "grow"]


@dataclass
class Draft:
    """A district that is being drawn."""

    random: Random
    tracks: dict[str, Track] = field(default_factory=dict)
    junctions: dict[str, Junction] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    links: list[tuple[End, End]] = field(default_factory=list)
    open: list[End] = field(default_factory=list)
    features: set[str] = field(default_factory=set)
    limits: Limits = field(default_factory=Limits)

    def district(self) -> District:
        """The district as drawn so far."""
        parts = (self.tracks, self.junctions, self.tables)
        tracks, junctions, tables = (tuple(part.values()) for part in parts)
        return District(tracks, junctions, tables, tuple(self.links), self.limits)  # type: ignore[arg-type]

    def units(self) -> int:
        """Units of rail."""
        routes = sum(route.length for junction in self.junctions.values() for route in junction.routes)
        tables = sum(table.length for table in self.tables.values())
        return routes + tables + sum(track.length for track in self.tracks.values())

    def junction(
        self, kind: str, pairs: Sequence[tuple[str, str]], compatible: Sequence[Sequence[int]] = ()
    ) -> str:
        """A new junction, all its ends open; its name."""
        name = f"J{len(self.junctions) + 1}"
        common = self.random.choice((1, 1, 1, 2))
        routes = tuple(Route(a, b, self._route_length(common)) for a, b in pairs)
        ends = tuple(dict.fromkeys(end for pair in pairs for end in pair))
        sets = frozenset(frozenset(pair) for pair in compatible)
        self.junctions[name] = Junction(name, kind, ends, routes, sets)
        self.open += [End(name, end) for end in ends]
        return name

    def _route_length(self, common: int) -> int:
        return self.random.randint(1, 3) if self.random.random() < 0.15 else common

    def turnout(self) -> str:
        """A new turnout."""
        return self.junction("turnout", (("points", "straight"), ("points", "diverging")))

    def track(self, length: int, *ends: End) -> str:
        """A new track between the one or two ``ends``."""
        name = f"T{len(self.tracks) + 1}"
        self.tracks[name] = Track(name, (Part(length),))
        own = [End(name, "from"), End(name, "to")]
        self.random.shuffle(own)
        for end in ends:
            self.link(end, own.pop())
        return name

    def link(self, one: End, other: End) -> None:
        """The two ends meet."""
        self.links.append((one, other))
        self.open = [end for end in self.open if end not in (one, other)]

    def join(self, one: str, other: str, direct: float = 0.25) -> None:
        """Joins two ends (``"J1.points"``) through a track, or now and then directly."""
        ends = [End(*text.split(".")) for text in (one, other)]
        if ends[0].place != ends[1].place and self.random.random() < direct:
            self.link(*ends)
            self.features.add("crossing or back-to-back")
        else:
            self.track(self.random.randint(1, 3), *ends)

    def attach(self, name: str, end: str) -> None:
        """Puts the junction just made, by its ``end``, to an end that was open before."""
        free = [other for other in self.open if other.place != name]
        other = self.random.choice(free)
        self.join(f"{other.place}.{other.end}", f"{name}.{end}", direct=0.15)


def draw_base(draft: Draft, base: str) -> None:
    """Draws the base, with open ends."""
    {
        "oval": _oval,
        "wye": _wye,
        "balloon": _balloon,
        "crossing": _crossing,
        "slip": _crossing,
        "double crossover": _crossing,
        "run-around": _run_around,
        "chain": _chain,
        "fan": _fan,
        "three-way": _three_way,
        "table": _table,
    }[base](draft, base)


def _oval(draft: Draft, base: str) -> None:
    draft.features.add("oval")
    one = draft.turnout()
    if draft.random.random() < 0.5:
        draft.track(draft.random.randint(3, 7), End(one, "points"), End(one, "straight"))
        return
    other = draft.turnout()
    draft.track(draft.random.randint(2, 4), End(one, "points"), End(other, "points"))
    draft.track(draft.random.randint(1, 4), End(one, "straight"), End(other, "straight"))


def _wye(draft: Draft, base: str) -> None:
    draft.features.add("wye or balloon")
    one, other, third = draft.turnout(), draft.turnout(), draft.turnout()
    draft.join(f"{one}.straight", f"{other}.straight", 0.5)
    draft.join(f"{one}.diverging", f"{third}.diverging", 0.5)
    draft.join(f"{other}.diverging", f"{third}.straight", 0.5)


def _balloon(draft: Draft, base: str) -> None:
    draft.features.add("wye or balloon")
    one = draft.turnout()
    draft.track(draft.random.randint(2, 6), End(one, "straight"), End(one, "diverging"))


def _crossing(draft: Draft, base: str) -> None:
    draft.features.add("crossing or back-to-back")
    pairs = [("a", "b"), ("c", "d")]
    compatible: list[tuple[int, int]] = []
    if base == "slip":
        pairs += [("a", "d"), ("c", "b")][: draft.random.choice((1, 1, 2))]
    if base == "double crossover":
        pairs += [("a", "d"), ("c", "b")]
        compatible = [(0, 1)]
    name = draft.junction(base, pairs, compatible)
    throat = draft.turnout()
    draft.join(f"{throat}.straight", f"{name}.a", 0.5)
    draft.join(f"{throat}.diverging", f"{name}.c", 0.5)


def _run_around(draft: Draft, base: str) -> None:
    draft.features.add("run-around")
    one, other = draft.turnout(), draft.turnout()
    draft.track(draft.random.randint(1, 4), End(one, "straight"), End(other, "straight"))
    draft.join(f"{one}.diverging", f"{other}.diverging", 0.15)


def _chain(draft: Draft, base: str) -> None:
    draft.features.add("chain")
    draft.turnout()
    for _ in range(draft.random.choice((1, 1, 2))):
        draft.attach(draft.turnout(), draft.random.choice(("points", "straight", "straight")))


def _fan(draft: Draft, base: str) -> None:
    draft.features.add("fan")
    draft.turnout()
    for _ in range(draft.random.choice((1, 2))):
        draft.attach(draft.turnout(), "points")


def _three_way(draft: Draft, base: str) -> None:
    draft.features.add("three-way")
    draft.junction("three-way", [("points", leg) for leg in ("left", "middle", "right")])


def _table(draft: Draft, base: str) -> None:
    """A transfer table or a turntable that joins two or three tracks, one of them with a turnout behind
    it.
    """
    draft.features.add("table")
    draft.turnout()
    names = [draft.track(draft.random.randint(1, 3), draft.open[0])]
    names += [draft.track(draft.random.randint(1, 3)) for _ in range(draft.random.choice((1, 2)))]
    used = {end for link in draft.links for end in link}
    ends = [next(end for end in (End(n, "from"), End(n, "to")) if end not in used) for n in names]
    turns = draft.random.random() < 0.6
    first = [("from", end) for end in ends]
    meets = (
        first + [("to", end) for end in ends]
        if turns
        else [("from", ends[0]), *(("to", e) for e in ends[1:])]
    )
    kind = "turntable" if turns else "transfer table"
    draft.tables["table"] = Table("table", kind, draft.random.randint(2, 3), tuple(meets))


def grow(draft: Draft) -> None:
    """A turnout more, where there is rail to spare, and a track at every end that is open."""
    if draft.random.random() < 0.35 and len(draft.junctions) < 3 and draft.open:
        draft.attach(draft.turnout(), draft.random.choice(("points", "straight", "diverging")))
    ends = list(draft.open)
    draft.random.shuffle(ends)
    ends.sort(key=lambda end: end.end != "points")
    for number, end in enumerate(ends):
        lead = number == 0 or end.end == "points"
        draft.track(draft.random.choice((2, 3, 4, 4, 5) if lead else (1, 1, 2, 2, 2, 3)), end)
