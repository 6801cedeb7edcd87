"""The schematic in letters, for a terminal of 80 columns: Unicode lines, or plain ASCII.

The same lanes as on paper, with columns of their own: a track is as long as what stands on it asks for.
Names of vehicles give way to single letters with a legend, and a picture that is still too wide is cut into
panels, one below the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from unicodedata import category, east_asian_width

from switchsolve.district import Cell, Way
from switchsolve.drawing.arrange import Plan, arrange
from switchsolve.drawing.canvas import ASCII, UNICODE, Canvas, Letters, Spot, steps
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.standing import placed_at_start
from switchsolve.drawing.text import clean
from switchsolve.drawing.tracing import Traced, trace
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle

__all__ = ["terminal_picture", "terminal_pictures"]

_PITCH = 2
"""Rows from lane to lane: one for the rail, one for names."""
_LEFT, _TOP = 3, 1
_SHARES = 0.55, 0.3, 0.15
"""Of the room left over: what the longest track may take to show its length; the next if it is too wide."""
_SPARE = 1
"""Rail beside vehicles that can be spared."""


def terminal_picture(puzzle: Puzzle, *, ascii_only: bool = False, columns: int = 80) -> str:
    """The puzzle at its start, in lines of at most so many columns."""
    return terminal_pictures(puzzle, [(placed_at_start(puzzle), {})], ascii_only=ascii_only, columns=columns)[
        0
    ]


def terminal_pictures(
    puzzle: Puzzle,
    frames: Sequence[tuple[Sequence[Placed], Mapping[str, int]]],
    *,
    ascii_only: bool = False,
    columns: int = 80,
) -> list[str]:
    """One picture for each standing (with how its tables lie), all of the same rail."""
    letters = ASCII if ascii_only else UNICODE
    full = {name: _plain(clean(name), ascii_only) for name in puzzle.vehicles}
    short = _short_names(puzzle)
    for names in (full, short):
        drawer = _Drawer(puzzle, names, frames, letters, columns)
        if drawer.width <= columns:
            break
    legend = [] if names is full else _legend(full, short, columns)
    return ["\n".join([*drawer.lines(standing, lined), *legend]) for standing, lined in frames]


def _plain(text: str, ascii_only: bool) -> str:
    """A text that takes one column a letter; what takes more or none becomes a question mark."""

    def is_plain(letter: str) -> bool:
        wide = east_asian_width(letter) in "WF" or category(letter).startswith("M")
        return letter.isascii() or not (ascii_only or wide)

    return "".join(letter if is_plain(letter) else "?" for letter in text)


def _short_names(puzzle: Puzzle) -> dict[str, str]:
    """A letter for each car, small ones first, and a number for each locomotive."""
    alphabet = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
    names = {}
    for index, car in enumerate(puzzle.cars):
        turn, place = divmod(index, len(alphabet))
        names[car.name] = alphabet[place] + (str(turn) if turn else "")
    for index, locomotive in enumerate(puzzle.locomotives, 1):
        names[locomotive.name] = str(index)
    return names


def _legend(full: Mapping[str, str], short: Mapping[str, str], columns: int) -> list[str]:
    lines = [""]
    for name, letter in short.items():
        entry = f"{letter} {full[name]}"[: columns - 1]
        if lines[-1] and len(lines[-1]) + 3 + len(entry) > columns:
            lines.append("")
        lines[-1] += ("   " if lines[-1] else "") + entry
    return ["", *lines]


class _Drawer:
    """Draws the frames of one puzzle with one set of names."""

    def __init__(
        self,
        puzzle: Puzzle,
        names: Mapping[str, str],
        frames: Sequence[tuple[Sequence[Placed], Mapping[str, int]]],
        letters: Letters,
        columns: int,
    ) -> None:
        self._puzzle, self._names, self._letters, self._columns = puzzle, names, letters, columns
        plan = self._plan = self._fitted(self._widths(frames))
        self._traced: Traced = trace(
            plan.layout, plan.metrics, plan.columns, plan.lanes, _PITCH, (_LEFT, _TOP), square=True
        )
        self.width = _right(plan) + 2 * _LEFT

    def _fitted(self, widths: Mapping[str, int]) -> Plan:
        """With long tracks drawn long where there is room, and everything close together where there is none;
        what does not fit even so is drawn at ease, and cut."""
        plan = self._arranged(widths)
        room = self._columns - _right(plan) - 2 * _LEFT
        if room > 0:
            longer = (self._arranged(self._longer(widths, room * share)) for share in _SHARES)
            return next((wide for wide in longer if self._fits(wide)), plan)
        if room < 0:
            tight = self._arranged({name: max(width - _SPARE, 3) for name, width in widths.items()}, leg=2)
            return tight if self._fits(tight) else plan
        return plan

    def _fits(self, plan: Plan) -> bool:
        return _right(plan) + 2 * _LEFT <= self._columns

    def _arranged(self, widths: Mapping[str, int], leg: int = 3) -> Plan:
        """``leg``: room beside points, and between neighbors in a lane."""
        metrics = Metrics(
            _PITCH, stub=1, leg=leg, turn=2, gap=leg, radius=3, fan=4, rows=1, widths=widths, shortest=leg
        )
        return arrange(self._puzzle, metrics)

    def _widths(self, frames: Sequence[tuple[Sequence[Placed], Mapping[str, int]]]) -> dict[str, int]:
        """For each track what stands on it in the fullest frame, with a little rail to be seen."""
        widths = {track.name: 4 for track in self._puzzle.district.tracks}
        for standing, _ in frames:
            taken: dict[str, int] = {}
            for string in standing:
                for place in {way.cell.place for way in string.ways} & set(widths):
                    taken[place] = taken.get(place, 1) + len(self._written(string)) + 1
            for name, width in taken.items():
                widths[name] = max(widths[name], width)
        return widths

    def _longer(self, widths: Mapping[str, int], room: float) -> dict[str, int]:
        """Tracks longer than they need be, where there is room, so that long ones look long."""
        longest = max(track.length for track in self._puzzle.district.tracks)
        return {
            track.name: max(
                widths[track.name],
                min(len(clean(track.name)) + 1, 16),
                round(room * track.length / longest),
            )
            for track in self._puzzle.district.tracks
        }

    # ---- one frame

    def lines(self, standing: Iterable[Placed], lined: Mapping[str, int]) -> list[str]:
        """The rows of one frame, cut into panels if they are too long."""
        height = _PITCH * max(self._plan.lanes.values()) + _TOP + 2
        canvas = Canvas(self.width, height, self._letters)
        self._ground(canvas, lined)
        for string in standing:
            self._vehicles(canvas, string, lined)
        self._track_names(canvas)
        return canvas.rows(self._columns)

    def _ground(self, canvas: Canvas, lined: Mapping[str, int]) -> None:
        traced, district = self._traced, self._puzzle.district
        for table in district.tables:
            drawn = traced.tables[table.name]
            canvas.pit(drawn.box, round_one=drawn.kind == "turntable")
            canvas.rail(steps(drawn.bridges[lined.get(table.name, table.lined)].points), is_track=True)
        for junction in traced.junctions:
            for leg in junction.legs:
                canvas.rail(steps(leg.points), is_track=False)
        for rail in [*traced.plain, *traced.tracks.values()]:
            canvas.rail(steps(rail.points), is_track=True)
        entrances = {(track.name, end) for track in district.tracks for end in track.entrances}
        for end, point, looks in traced.stops:
            canvas.stop(point, looks, is_entrance=(end.place, end.end) in entrances)
        for track in district.tracks:
            for index, part in enumerate(track.parts):
                cells = self._cells_of(Way(Cell(track.name, index), 1), lined)
                canvas.mark(cells, part.marks)
            path = steps(traced.tracks[track.name].points)
            for spot in track.spots:
                canvas.spot(path[min(len(path) - 1, len(path) * spot.at // track.length)])

    def _cells_of(self, way: Way, lined: Mapping[str, int]) -> list[tuple[int, int]]:
        """The letters' places along a way, in its direction."""
        rail = self._traced.cells.get(way.cell)
        if rail is None:
            table = next(table for table in self._puzzle.district.tables if table.name == way.cell.place)
            rail = self._traced.tables[table.name].bridges[lined.get(table.name, table.lined)]
        return steps((rail if way.sign > 0 else rail.reversed()).points)

    def _written(self, string: Placed) -> str:
        """The string as it reads along its ways."""
        words = []
        for name in string.vehicles:
            nose = string.noses.get(name, 0)
            words.append(f"{'<' if nose < 0 else '['}{self._names[name]}{'>' if nose > 0 else ']'}")
        return "".join(words)

    def _vehicles(self, canvas: Canvas, string: Placed, lined: Mapping[str, int]) -> None:
        """Write a string along its rail, from left to right."""
        path: list[tuple[int, int]] = []
        for way in string.ways:
            cells = self._cells_of(way, lined)
            path += cells if not path or path[-1] != cells[0] else cells[1:]
        rail = sum(self._puzzle.district.cell_length(way.cell) for way in string.ways)
        length = sum(self._puzzle.vehicles[name].length for name in string.vehicles)
        size = len(self._written(string))
        wanted = round(max(len(path) - size, 0) * string.offset / max(rail - length, 1))
        start = _level_start(path, size, wanted)
        if start is None:
            self._one_by_one(canvas, string, path)
            return
        here = path[start : start + size]
        if here[0][0] > here[-1][0]:
            string, here = _turned(string), here[::-1]
        canvas.write_level(here[0], self._written(string))

    def _one_by_one(self, canvas: Canvas, string: Placed, path: Sequence[Spot]) -> None:
        """Write vehicles that stand around a bend or up a slant, each level at its middle."""
        rail = sum(self._puzzle.district.cell_length(way.cell) for way in string.ways)
        at = string.offset
        for name in string.vehicles:
            length = self._puzzle.vehicles[name].length
            index = min(len(path) - 1, len(path) * (2 * at + length) // (2 * rail))
            one = Placed(
                (name,), string.ways, 0, {key: nose for key, nose in string.noses.items() if key == name}
            )
            if path[min(index + 1, len(path) - 1)][0] < path[max(index - 1, 0)][0]:
                one = _turned(one)
            text = self._written(one)
            canvas.write_level((path[index][0] - len(text) // 2, path[index][1]), text)
            at += length

    def _track_names(self, canvas: Canvas) -> None:
        ascii_only = self._letters is ASCII
        order = sorted(self._traced.runs.items(), key=lambda item: item[1][1][0] - item[1][0][0])
        for name, (left, right) in order:
            canvas.name(_plain(clean(name), ascii_only), round(left[0]), round(right[0]), round(left[1]))


def _turned(string: Placed) -> Placed:
    """The vehicles in the other order, noses turned with them."""
    noses = {name: -nose for name, nose in string.noses.items()}
    return Placed(string.vehicles[::-1], string.ways, string.offset, noses)


def _level_start(path: Sequence[Spot], size: int, wanted: int) -> int | None:
    """Where on a path to begin a text of a size: as near as can be to where it is wanted, on level rail.

    ``None`` if no level rail is as long.
    """
    starts = sorted(range(len(path) - size + 1), key=lambda start: (abs(start - wanted), start))
    return next((start for start in starts if len({y for _, y in path[start : start + size]}) == 1), None)


def _right(plan: Plan) -> int:
    return max([*plan.columns.port.values(), *plan.columns.bend.values(), *plan.columns.middle.values()])
