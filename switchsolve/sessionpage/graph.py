"""The train graph: places from the top down in the order of the links, time from left to right."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.drawing.text import clean, shortened
from switchsolve.layout import Layout
from switchsolve.operating import SessionResult
from switchsolve.sessionpage.marks import RULER, Axis, Box, Label, chart, line
from switchsolve.sessionpage.panels import panels_of
from switchsolve.sessionpage.placing import Crowd, Segment, best_label
from switchsolve.sessionpage.waiting import busy_spans, waits_of
from switchsolve.timetable.reading import YARD, Entry, Timetable
from switchsolve.words import counted

__all__ = ["graph_lines", "graph_right"]

_TOP, _GAP, _APART = 22.0, 40.0, 5.0
"""Above the first place; between two panels; between two trains that stand at one place."""
_COLORS = 8
_LONGEST = 210.0
"""Widest name of a train."""
_LEAST = 320.0
"""Room to the right that names may always use, however short the session."""


@dataclass(slots=True)
class _Piece:
    """A run from one place of a panel to the next (``rows``), or a stay (both are one)."""

    entry: Entry
    panel: int
    rows: tuple[int, int]
    lane: int = 0


def graph_lines(layout: Layout, result: SessionResult, axis: Axis) -> Iterator[str]:
    """The chart of all trains of a session that has a timetable."""
    yield from _Graph(layout, result, axis).lines()


def graph_right(layout: Layout, result: SessionResult, axis: Axis) -> float:
    """How far the names in that chart go."""
    return _Graph(layout, result, axis).right()


class _Graph:
    def __init__(self, layout: Layout, result: SessionResult, axis: Axis) -> None:
        assert result.timetable is not None
        self._layout, self._number, self._axis = layout, result.played.number, axis
        self._timetable: Timetable = result.timetable
        entries = [entry for entry in self._timetable.entries if entry.kind != YARD]
        self._panels = panels_of(layout, {entry.where for entry in entries})
        self._ys, y = [], RULER + _TOP
        for panel in self._panels:
            self._ys.append([y + height for height in panel.heights()])
            y = self._ys[-1][-1] + _GAP
        self._height = y - _GAP / 2
        self._trains: dict[str, list[_Piece]] = {}
        for name in dict.fromkeys(entry.train for entry in entries):
            self._trains[name] = self._pieces([entry for entry in entries if entry.train == name])
        self._spread()

    # ---- where everything is

    def _pieces(self, entries: list[Entry]) -> list[_Piece]:
        """The way of a train: each run leads from where it is to the other end of its link."""
        plan = next(train for train in self._layout.trains if train.name == entries[0].train)
        here, found = plan.ends(self._number)[0], []
        at: tuple[int, int] | None = None
        waiting: list[Entry] = []
        for entry in entries:
            if entry.kind == "run":
                panel, rows, here = self._run(entry.where, here)
                found += [_Piece(one, panel, (rows[0], rows[0])) for one in waiting]
                found.append(_Piece(entry, panel, rows))
                at, waiting = (panel, rows[1]), []
            elif at is not None:
                found.append(_Piece(entry, at[0], (at[1], at[1])))
            else:
                waiting.append(entry)  # it stands before its first run: in the panel of that run
        return found

    def _run(self, name: str, here: str) -> tuple[int, tuple[int, int], str]:
        """Panel, rows, and where a run over a link from ``here`` leads."""
        for number, panel in enumerate(self._panels):
            for row, link in enumerate(panel.links):
                if link.name == name:
                    down = panel.places[row] == here
                    return number, (row, row + 1) if down else (row + 1, row), panel.places[row + down]
        raise AssertionError(f"no panel has {name}")

    def _spread(self) -> None:
        """Trains that stand at one place at one time are drawn beside each other."""
        stays: dict[tuple[int, int], list[_Piece]] = defaultdict(list)
        for pieces in self._trains.values():
            for piece in pieces:
                if piece.rows[0] == piece.rows[1]:
                    stays[piece.panel, piece.rows[0]].append(piece)
        for there in stays.values():
            for number, piece in enumerate(there):
                over = [one for one in there[:number] if _overlap(one.entry, piece.entry)]
                piece.lane = next(lane for lane in range(len(over) + 1) if lane not in {o.lane for o in over})

    def _y(self, piece: _Piece, end: int) -> float:
        return self._ys[piece.panel][piece.rows[end]]

    def _segments(self, name: str) -> list[tuple[_Piece, Segment]]:
        """The line of a train, piece by piece; runs meet the stays beside them."""
        pieces, found = self._trains[name], []
        for number, piece in enumerate(pieces):
            lanes = [piece.lane, piece.lane]
            for end, other in ((0, number - 1), (1, number + 1)):
                near = pieces[other] if 0 <= other < len(pieces) else piece
                if near.panel == piece.panel and near.rows[1 - end] == piece.rows[end]:
                    lanes[end] = max(piece.lane, near.lane)
            one, other_y = (self._y(piece, end) + _APART * lanes[end] for end in (0, 1))
            start, stop = self._axis.x(piece.entry.start), self._axis.x(piece.entry.end)
            found.append((piece, (start, one, stop, other_y)))
        return found

    # ---- what is drawn

    def lines(self) -> Iterator[str]:
        trains = counted(len(self._trains), "train")
        told = f"{trains} over {self._axis.minutes} minutes; the table below has every time."
        body = [*self._ground(), *self._tracks(), *(label.svg() for label in self._labels())]
        yield from chart("Train graph", told, self._axis, self._height, self.right(), self._names(), body)

    def right(self) -> float:
        return max((label.box.right for label in self._labels()), default=0.0)

    def _names(self) -> Iterator[Label]:
        for panel, ys in zip(self._panels, self._ys, strict=True):
            for place, y in zip(panel.places, ys, strict=True):
                yield Label(place, 0, y + 4, 12, "start", "place")
            for link, above, below in zip(panel.links, ys, ys[1:], strict=False):
                yield Label(link.name, 10, (above + below) / 2 + 3.5, 10, "start", "link")

    def _ground(self) -> Iterator[str]:
        for ys in self._ys:
            yield from (line("row", 0, y, self._axis.end, y) for y in ys)

    def _tracks(self) -> Iterator[str]:
        for number, name in enumerate(self._trains):
            segments = self._segments(name)
            yield f'<g class="train c{number % _COLORS}">'
            for piece, segment in segments:
                yield from self._piece(piece, segment)
            yield self._start(name, segments[0][1])
            yield "</g>"

    def _piece(self, piece: _Piece, segment: Segment) -> Iterator[str]:
        """One line; a stay is broken where the train only waits, and wide where it works."""
        x1, y1, x2, y2 = segment
        if piece.entry.kind in ("run", "passing"):
            yield line("run", x1, y1, x2, y2)
            return
        for start, end in busy_spans(self._timetable, piece.entry):
            yield line(piece.entry.kind, self._axis.x(start), y1, self._axis.x(end), y1)
        for start, end in waits_of(self._timetable, piece.entry):
            yield line("wait", self._axis.x(start), y1, self._axis.x(end), y1)

    def _start(self, name: str, segment: Segment) -> str:
        """Where a train begins: a dot; one with a fixed time: a diamond."""
        x, y = segment[:2]
        if self._leaves(name) is None:
            return f'<circle class="start" cx="{x:.1f}" cy="{y:.1f}" r="3.2"/>'
        corners = f"{x - 6:.1f},{y:.1f} {x:.1f},{y - 6:.1f} {x + 6:.1f},{y:.1f} {x:.1f},{y + 6:.1f}"
        return f'<polygon class="fixed" points="{corners}"/>'

    def _leaves(self, name: str) -> int | None:
        return next(train for train in self._layout.trains if train.name == name).leaves

    def _told(self, name: str) -> str:
        """The name of a train, and its time if that is fixed."""
        leaves = self._leaves(name)
        when = "" if leaves is None else f" (fixed: {self._layout.fast_time(leaves)})"
        return shortened(clean(name), _LONGEST, 11) + when

    def _labels(self) -> Iterator[Label]:
        """Each train named in every panel in which it is."""
        lines = {name: self._segments(name) for name in self._trains}
        crowd = Crowd(segment for pieces in lines.values() for _, segment in pieces)
        taken: list[Box] = []
        for name, pieces in lines.items():
            for panel in dict.fromkeys(piece.panel for piece, _ in pieces):
                own = [segment for piece, segment in pieces if piece.panel == panel]
                above, below = self._ys[panel][0] - _TOP, self._ys[panel][-1] + _GAP / 2
                inside = Box(0, above, max(self._axis.end, _LEAST), below)
                label = best_label(self._told(name), own, taken, crowd, inside, self._ys[panel])
                taken.append(label.box)
                yield label


def _overlap(one: Entry, other: Entry) -> bool:
    return one.start < other.end and other.start < one.end


