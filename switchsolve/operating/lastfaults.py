"""Does a timetable leave time for what is done?  Asked of the seconds of the plans, without the code that
makes one.

Minutes are whole, so that a part of some work may be a minute off; all of it together may not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from switchsolve.layout import FREIGHT, Layout
from switchsolve.operating.records import Played
from switchsolve.operating.working import Worked
from switchsolve.timetable.reading import Cleared, Entry, Timetable

__all__ = ["last_faults"]


def last_faults(layout: Layout, played: Played, timetable: Timetable) -> Iterator[str]:
    """Everything that lasts too short a time; and trains let by in the midst of work where no way is known to
    clear the main, or by other moves."""
    for entry in timetable.entries:
        lasts, least = entry.end - entry.start, _least(layout, entry)
        if lasts < least:
            yield f"{entry.task} lasts {lasts} minutes, and not {least}"
    for cut in played.yard_tasks:
        for entry in timetable.entries:
            lasts = entry.end - entry.start
            if entry.task == cut.name and _too_short(lasts, cut.worked.move_seconds, layout):
                yield f"{entry.task} lasts {lasts} minutes, too few for its moves"
    for work in played.works:
        for entry in timetable.entries:
            if (entry.kind, entry.train, entry.where) == ("work", work.train, work.place):
                here = (work.train, work.place)
                cleared = [one for one in timetable.cleared if (one.train, one.place) == here]
                yield from _work(entry, work.worked, cleared, timetable.entries, layout)


def _least(layout: Layout, entry: Entry) -> int:
    """Minutes of a run by its link, and of a through freight's stop by the yard."""
    if entry.kind == "run":
        return next(link.minutes for link in layout.links if link.name == entry.where)
    freights = {train.name for train in layout.trains if train.kind == FREIGHT}
    return layout.yard.stop if entry.kind == "stop" and entry.train in freights else 1


def _too_short(minutes: int, seconds: Sequence[float], layout: Layout, spare: int = 0) -> bool:
    return 60 * (minutes + spare) < sum(seconds) * layout.pace - 1e-6


def _work(
    entry: Entry, worked: Worked, cleared: Sequence[Cleared], entries: Sequence[Entry], layout: Layout
) -> Iterator[str]:
    """The moves of the plan outside the times in which the main is cleared, and those to clear it within."""
    spans = sorted({(one.start, one.end) for one in cleared})
    if _too_short(entry.end - entry.start - _together(spans), worked.move_seconds, layout):
        yield f"{entry.task} lasts {entry.end - entry.start} minutes, too few for its moves"
    for one in cleared:
        told = f"{entry.task} is cleared for {one.passing}"
        way = worked.clearings[one.after - 1] if 0 < one.after <= len(worked.clearings) else None
        if way is None:
            yield f"{told} after move {one.after}, where no way to clear it is known"
            continue
        if one.moves != way.moves:
            yield f"{told} by {one.moves} moves, and not {way.moves}"
        passing = next(row for row in entries if (row.train, row.where) == (one.passing, one.place))
        for minutes, to_do in ((passing.start - one.start, "clear it"), (one.end - passing.end, "come back")):
            if _too_short(minutes, (way.seconds / 2,), layout):
                yield f"{told}, and has too few minutes to {to_do}"
        before = one.start - entry.start - _together([span for span in spans if span < (one.start, one.end)])
        if _too_short(before, worked.move_seconds[: one.after], layout, spare=1):
            yield f"{told} after move {one.after}, which is not over by minute {one.start}"


def _together(spans: Sequence[tuple[int, int]]) -> int:
    return sum(end - start for start, end in spans)
