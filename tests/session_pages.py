"""Pages of sessions, and what is drawn on them read back from the marks alone; for tests only.

A chart is two pictures: one with names, one with times.  Minutes are read off the figures above the chart,
places off the names beside it; nothing of the room that draws is used.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass, replace
from xml.etree import ElementTree

from switchsolve.layout import CrewPlan, Layout, Link, TrainPlan
from switchsolve.operating import Operation, SessionResult
from switchsolve.timetable.reading import Entry, Timetable

__all__ = ["Chart", "charts_of", "crowded", "texts_of", "with_timetable"]

Element = ElementTree.Element


@dataclass(frozen=True, slots=True)
class Chart:
    """The two pictures of a chart."""

    names: Element
    body: Element

    def minute(self, x: float) -> float:
        """The time at ``x``, by the times that stand above (the first of them is set aside: it begins at the
        edge)."""
        ticks = [mark for mark in self.body.iter("line") if mark.get("class") == "grid"]
        times = [int(mark.text or "") for mark in self.body.iter("text") if mark.get("class") == "time"]
        one, other = (float(ticks[at].get("x1", "")) for at in (0, -1))
        assert len(ticks) == len(times)
        return (x - one) / (other - one) * (times[-1] - times[0])

    def name(self, y: float) -> str:
        """The place whose line is nearest above or at ``y``; its name stands four pixels below its line."""
        rows = [mark for mark in self.names.iter("text") if mark.get("class") == "place"]
        near = min(rows, key=lambda mark: abs(y - float(mark.get("y", "")) + 4))
        return near.text or ""

    def marks(self, kind: str) -> list[Element]:
        """All elements of a class."""
        return [mark for mark in self.body.iter() if kind in (mark.get("class") or "").split()]


def charts_of(html: str) -> list[Chart]:
    """The charts of a page, each picture read as XML."""
    pictures = [ElementTree.fromstring(text) for text in re.findall(r"<svg.*?</svg>", html, re.DOTALL)]
    names = [one for one in pictures if one.get("class") == "names"]
    bodies = [one for one in pictures if one.get("class") == "body"]
    return [Chart(*pair) for pair in zip(names, bodies, strict=True)]


def texts_of(picture: Element) -> list[tuple[str, float, float, float, str]]:
    """Text, x, y, size and anchor of each text of a picture."""
    return [
        (
            mark.text or "",
            *(float(mark.get(key, "")) for key in ("x", "y", "font-size")),  # type: ignore[misc]
            mark.get("text-anchor", "start"),
        )
        for mark in picture.iter("text")
    ]


def with_timetable(found: Operation, layout: Layout, timetable: Timetable) -> Operation:
    """The same with another layout and timetable of the session that is looked at; nothing is played."""
    result = found.looked_at
    assert result is not None
    crews = tuple(crew.name for crew in layout.crews)
    work = replace(result.work, crews=crews)
    played = replace(result.played, works=[], moved=[])
    other = SessionResult(played, work, result.answer, timetable, result.yard_fill)
    return Operation(layout, 1, 1, [replace(other, played=replace(played, number=1))], 1)


def crowded(layout: Layout, seed: int, trains: int) -> tuple[Layout, Timetable]:
    """A railroad of five stations with branches at each, and trains that go about on it at random, one crew
    for each three; times clash as they may (a page draws what it is given)."""
    chance = random.Random(seed)
    stations = [f"Station {number}" for number in range(5)]
    links = [Link(f"main {n}", (stations[n], stations[n + 1]), 3, 2) for n in range(4)]
    for number in range(8):
        near = chance.choice([*stations, *(link.ends[1] for link in links)])
        links.append(Link(f"branch {number}", (near, f"End {number}"), chance.randrange(1, 9), 1))
    plans, entries = [], []
    crews = [f"Crew {number}" for number in range(-(-trains // 3))]
    free = dict.fromkeys(crews, 0)
    for number in range(trains):
        crew, name = crews[number % len(crews)], f"Train {number}"
        start = free[crew] + chance.randrange(10)
        here = origin = chance.choice(stations)
        for step in range(chance.randrange(2, 7)):
            link = chance.choice([one for one in links if here in one.ends])
            end = start + link.minutes
            entries.append(Entry(f"{name}: run {step}", name, "run", link.name, start, end, crew))
            start = end
            here = next(end for end in link.ends if end != here)
            stays, waits = chance.randrange(1, 20), chance.choice([0, 0, 4])
            kind = chance.choice(["work", "stop", "passing"])
            if kind == "passing":
                stays, waits = 1, 0
            end = start + stays + waits
            entries.append(Entry(f"{name}: {step}", name, kind, here, start, end, crew, waits))
            start = end
        free[crew] = start
        leaves = None if number % 4 else entries[-1].start
        plans.append(TrainPlan(name, "local", origin, here, (), 4, 0, leaves))
    entries.sort(key=lambda entry: (entry.start, entry.end, entry.task))
    railroad = replace(
        layout,
        links=tuple(links),
        trains=tuple(plans),
        staging=(),
        crews=tuple(CrewPlan(crew, ()) for crew in crews),
    )
    return railroad, Timetable(tuple(entries))
