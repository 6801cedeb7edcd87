"""The moving picture as plain data (lists, numbers, texts) that the page's script plays.

Positions are distances along *paths*: polylines of points ``[g, x, y]``, where ``g`` is the distance along
the rail in the file's unit and ``x``, ``y`` lie on the drawn rail.  A *string* is ``[path, at, vehicles,
noses]``: its first vehicle begins ``at`` along the path, the others follow, and a nose is +1, -1 or 0 (no
locomotive).  Paths and strings are stored once, and named by their number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import hypot
from typing import Any

from switchsolve.district import Cell, Way
from switchsolve.drawing import Body, Schematic, bodies_of, standing_in_words
from switchsolve.drawing.scene import ways_to_write
from switchsolve.drawing.schematic import Point
from switchsolve.drawing.text import clean, text_width
from switchsolve.drawing.vehicles import spine_of
from switchsolve.page.lining import Lining, Switching, linings_of, route_numbers
from switchsolve.page.motion import Beat, beats_of
from switchsolve.page.turning import turn_frames
from switchsolve.plan import Advance, Couple, Cut, Line, Placed, Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay

__all__ = ["film_of"]

_SPEED = 90.0
"""Drawing units that a moving string goes in a second."""
_LEAST, _MOST = 0.7, 6.0
"""Seconds that an advance takes, at the least and at the most."""
_PAUSE, _TURN = 0.5, 1.8
"""Seconds for a coupling or a cut, and for a table."""
_MIDDLING = 52.0
"""Length of a vehicle where tracks are not to scale."""


def film_of(
    puzzle: Puzzle, plan: Plan, replayed: Replay, ground: Schematic, texts: Sequence[str]
) -> dict[str, Any]:
    """Everything that the script needs; ``texts`` is what is said at the start, then of each run."""
    return _Film(puzzle, ground).data(plan, replayed.frames[0].standing, texts)


class _Film:
    """Collects paths and strings while the data is made."""

    def __init__(self, puzzle: Puzzle, ground: Schematic) -> None:
        self._puzzle, self._ground, self._district = puzzle, ground, puzzle.district
        self._number = {name: index for index, name in enumerate(puzzle.vehicles)}
        self._route = route_numbers(puzzle.district)
        self._paths: dict[tuple[tuple[float, float, float], ...], int] = {}
        self._strings: dict[tuple[int, float, tuple[int, ...], tuple[int, ...]], int] = {}
        self._lies = {table.name: table.lined for table in puzzle.district.tables}

    def data(self, plan: Plan, placed: Sequence[Placed], texts: Sequence[str]) -> dict[str, Any]:
        runs = beats_of(self._puzzle, plan, placed)
        switching = linings_of(self._district, runs)
        start: dict[str, Any] = {
            "strings": self._all(placed, self._lies),
            "lined": self._routes(switching.start),
        }
        start |= {"text": clean(texts[0]), "standing": self._standing(placed)}
        moves = [
            self._move(plan.runs[number].locomotive, beats, switching, number, texts[number + 1])
            for number, beats in enumerate(runs)
        ]
        return {
            "vehicles": [self._vehicle(body) for body in self._bodies(placed)],
            "tables": [
                [_flat(rail.points) for rail in self._ground.tables[name].bridges] for name in self._lies
            ],
            "lies": [table.lined for table in self._district.tables],
            "start": start,
            "moves": moves,
            "strings": [list(string) for string in self._strings],
            "paths": [list(path) for path in self._paths],
        }

    # ---- moves

    def _move(
        self, locomotive: str, beats: list[Beat], switching: Switching, number: int, text: str
    ) -> dict[str, Any]:
        rows = [
            self._beat(beat) | {"lined": self._linings(linings)}
            for beat, linings in zip(beats, switching.beats[number], strict=True)
        ]
        return {
            "text": clean(text),
            "standing": self._standing(beats[-1].after),
            "runs": self._number[locomotive],
            "used": self._routes(switching.used[number]),
            "beats": rows,
        }

    def _linings(self, linings: Iterable[Lining]) -> list[list[Any]]:
        return [[self._far(one.distance), self._routes(one.routes)] for one in linings]

    def _beat(self, beat: Beat) -> dict[str, Any]:
        before, self._lies = self._lies, beat.lined
        row: dict[str, Any] = {"lies": list(beat.lined.values()), "seconds": _PAUSE}
        if isinstance(beat.step, Line):
            return row | self._turn(beat, beat.step, before)
        row["still"] = self._all(beat.still, beat.lined)
        if beat.moving is not None and isinstance(beat.step, Advance):
            path = self._path(beat.moving.ways, beat.lined)
            row["moving"] = self._string(beat.moving, path)
            row["by"] = self._far(beat.distance)
            row["seconds"] = self._seconds(beat, path)
        else:
            row |= self._event(beat)
        row["after"] = self._all(beat.after, beat.lined)
        return row

    def _event(self, beat: Beat) -> dict[str, Any]:
        """A coupling or a cut, and where: the string cut off ends there, the one taken up begins there."""
        assert isinstance(beat.step, Couple | Cut)
        if isinstance(beat.step, Cut):
            string = next(one for one in beat.after if {*one.vehicles} == {*beat.step.vehicles})
            before = len(string.vehicles)
        else:
            string = beat.after[-1]  # the one that moves
            before = len(string.vehicles) - len(beat.step.vehicles)
        spine = spine_of(self._ground, string, string.offset, self._end(string, before), beat.lined)
        return {"does": type(beat.step).__name__.lower(), "at": _flat(spine.points[-1:])[0]}

    def _end(self, string: Placed, count: int) -> int:
        """Where the first vehicles of a string end, grid units along its ways."""
        vehicles = self._puzzle.vehicles
        return string.offset + sum(vehicles[name].length for name in string.vehicles[:count])

    def _turn(self, beat: Beat, step: Line, before: Mapping[str, int]) -> dict[str, Any]:
        """A table turns: its bridge and what stands on it go through frames."""
        table = next(table for table in self._district.tables if table.name == step.table)
        frames = turn_frames(self._ground.tables[table.name], before[table.name], step.index)
        still, riders = [], []
        for string in beat.after:
            if string.ways[0].cell.place != table.name:
                still.append(self._string(string, self._path(string.ways, beat.lined)))
                continue
            ends = [frame if string.ways[0].sign > 0 else frame[::-1] for frame in frames]
            paths = [self._keep([(0.0, *one), (self._far(table.length), *two)]) for one, two in ends]
            riders.append([self._string(string, paths[-1]), paths])
        return {
            "turns": list(self._lies).index(table.name),
            "frames": [_flat(frame) for frame in frames],
            "still": still,
            "riders": riders,
            "after": self._all(beat.after, beat.lined),
            "seconds": _TURN,
        }

    def _seconds(self, beat: Beat, path: int) -> float:
        """By how far the string goes in the drawing, near enough."""
        points = list(self._paths)[path]
        drawn = sum(hypot(b[1] - a[1], b[2] - a[2]) for a, b in pairwise(points))
        share = self._far(beat.distance) / (points[-1][0] or 1.0)
        return round(min(max(drawn * share / _SPEED, _LEAST), _MOST), 2)

    # ---- strings and paths

    def _all(self, standing: Iterable[Placed], lined: Mapping[str, int]) -> list[int]:
        return [self._string(string, self._path(string.ways, lined)) for string in standing]

    def _string(self, string: Placed, path: int) -> int:
        vehicles = tuple(self._number[name] for name in string.vehicles)
        noses = tuple(string.noses.get(name, 0) for name in string.vehicles)
        key = (path, self._far(string.offset), vehicles, noses)
        return self._strings.setdefault(key, len(self._strings))

    def _path(self, ways: Sequence[Way], lined: Mapping[str, int]) -> int:
        points: list[tuple[float, float, float]] = []
        gone = 0
        for way in ways:
            rail, length = self._ground.rail(way, lined), self._district.cell_length(way.cell)
            whole, along = rail.length, 0.0
            for index, (x, y) in enumerate(rail.points):
                if index:
                    last = rail.points[index - 1]
                    along += hypot(x - last[0], y - last[1])
                if index or not points:
                    points.append((self._far(gone + length * along / whole), x, y))
            gone += length
        return self._keep(points)

    def _keep(self, points: Sequence[tuple[float, float, float]]) -> int:
        # a point said twice would have no direction, and a vehicle bent round it no shape
        key = tuple(dict.fromkeys((round(g, 5), round(x, 2), round(y, 2)) for g, x, y in points))
        return self._paths.setdefault(key, len(self._paths))

    def _far(self, distance: float) -> float:
        """Grid units in the file's unit."""
        return round(distance / self._puzzle.grid, 5)

    # ---- what is listed once

    def _bodies(self, placed: Iterable[Placed]) -> list[Body]:
        """One of each vehicle, in the order of the numbers."""
        bodies, _ = bodies_of(self._ground, self._puzzle, placed)
        return sorted(bodies, key=lambda body: self._number[body.name])

    def _vehicle(self, body: Body) -> dict[str, Any]:
        length = self._puzzle.vehicles[body.name].length
        drawn = length * self._ground.scale if self._ground.scale else _MIDDLING
        size, lines = ways_to_write(clean(body.name), drawn - (15 if body.nose else 7))[0]
        return {
            "name": clean(body.name),
            "kind": body.kind,
            "fixed": body.fixed,
            "length": self._far(length),
            "drawn": round(drawn, 1),
            "lines": lines,
            "size": size,
            "width": round(max(text_width(line, size) for line in lines), 1),
        }

    def _routes(self, cells: Iterable[Cell]) -> list[int]:
        return sorted(self._route[cell] for cell in cells)

    def _standing(self, placed: Iterable[Placed]) -> str:
        return clean(standing_in_words(self._puzzle, placed))


def _flat(points: Iterable[Point]) -> list[list[float]]:
    return [[round(x, 2), round(y, 2)] for x, y in points]
