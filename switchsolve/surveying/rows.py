"""The rows and lines of the pages, in words."""

from __future__ import annotations

from switchsolve.lengths import format_length
from switchsolve.measuring.evenings import evening_lines
from switchsolve.measuring.saying import faces_text, holds_text, spare_text, standard_text, takes_text
from switchsolve.measuring.spots import Minimum, Row
from switchsolve.minutes import figures_of, span_text
from switchsolve.plan import Verdict
from switchsolve.study import Tally, at_or_under
from switchsolve.surveying.asking import Survey
from switchsolve.words import counted, verdict_text

__all__ = ["holding_rows", "measured_by", "session_lines", "spot_rows", "standard_rows"]

_BORROWED = "Time figures by common practice, no source: time your own crew to know yours."
_HALF, _NINE_IN_TEN = 0.5, 0.9


# ---- what it holds


def measured_by(found: Survey) -> str:
    """The car and the locomotive by which all is measured."""
    bench = found.facts.bench
    if bench is None:
        return "There is no car, or no locomotive, to measure the district by."
    puzzle = found.puzzle
    engine = f"{bench.locomotive.name} ({format_length(bench.locomotive.length, puzzle)})"
    car = f"{bench.kind} ({format_length(bench.car_length, puzzle)})"
    return f"Measured with {engine} and cars like {car}, slack included."


def holding_rows(found: Survey) -> list[tuple[str, str, str, str]]:
    """Spurs, run-arounds and tails: name, how reached, what it holds, rail to spare."""
    facts, puzzle = found.facts, found.puzzle
    rows = []
    for spur in facts.spurs:
        reached = ", ".join(_reached(entry.track, faces_text(answer), len(spur.reached) > 1)
                            for entry, answer in spur.reached)  # fmt: skip
        rows.append((spur.track, reached, holds_text(spur.holds), spare_text(puzzle, spur.holds, spur.track)))
    for loop in facts.loops:
        how = f" in {counted(loop.moves, 'move')}" if loop.moves else ""
        passes = f"passes {holds_text(loop.passes, how)}"
        rows.append((f"{loop.name} ({loop.loop.kind})", "", passes, spare_text(puzzle, loop.passes, "")))
    for tail in facts.tails:
        spare = spare_text(puzzle, tail.takes, tail.track)
        rows.append((f"{tail.track} (tail)", "", takes_text(tail.takes), spare))
    return rows


def _reached(track: str, how: str, is_named: bool) -> str:
    return f"{how} from {track}" if is_named else how


def standard_rows(found: Survey) -> list[tuple[str, str]]:
    """Each standard, and whether it is met."""
    return [(one.rule, standard_text(found.puzzle, one)) for one in found.facts.standards]


# ---- the work of each spot


def spot_rows(found: Survey) -> list[tuple[str, ...]]:
    """Each spot with its figures, in the order of the columns; blank if it was not come to."""
    columns = dict.fromkeys((row.arrival, row.task) for row in found.spots.rows)
    rows = {(row.place, row.arrival, row.task): row for row in found.spots.rows}
    places = dict.fromkeys(row.place for row in found.spots.rows)
    return [
        (str(place), *(_cell(rows.get((place, *column))) for column in columns)) for place in places
    ]


def _cell(row: Row | None) -> str:
    return "" if row is None else _figure(row.alone)


def _figure(one: Minimum) -> str:
    """``4 (6)``; a question mark if it is not proved."""
    if one.verdict is None:
        return "no room"
    if one.verdict is Verdict.IMPOSSIBLE:
        return "impossible"
    if one.moves is None:
        return "?"
    mark = "" if one.verdict is Verdict.PROVED else "?"
    return f"{one.moves}{mark} ({'-' if one.crew is None else one.crew})"


# ---- a session


def session_lines(found: Survey) -> list[str]:
    """What a session comes to; and the work of the file by itself."""
    own = f"The work in the file, by itself: {verdict_text(found.changes.now)}"
    if found.sessions is not None:
        return [*_drawn(found, found.sessions), own]
    if found.span is not None:
        own += f" {span_text(found.span)[0].upper()}{span_text(found.span)[1:]} by a real clock, "
        own += "from the plan without a mistake to a plain crew."
    why = "no sessions were asked for" if found.puzzle.traffic is not None else "the file has no traffic"
    lines = [own, f"No sessions were drawn: {why}."]
    if found.span is not None and figures_of(found.puzzle).borrowed:
        lines.append(_BORROWED)
    return lines


def _drawn(found: Survey, tally: Tally) -> list[str]:
    if not tally.sessions:
        return [f"Of {counted(found.asked, 'session')} asked for none was done in the time there was."]
    drawn = f"drawn from the traffic in the file (seed {found.seed}); {_proved(tally)}"
    lines = [f"{counted(tally.sessions, 'session')} {drawn}."]
    if tally.sessions < found.asked:
        lines = [
            f"{tally.sessions} of {counted(found.asked, 'session')} {drawn}. Time ran out: these were done "
            "first, and may be the easier ones."
        ]
    if tally.moves:
        half, nine = (at_or_under(tally.moves, share) for share in (_HALF, _NINE_IN_TEN))
        lines.append(
            f"From {min(tally.moves)} to {counted(max(tally.moves), 'move')}: half the sessions take {half} "
            f"or fewer, nine in ten {nine} or fewer."
        )
        lines += evening_lines(tally)
    if tally.least_seconds and figures_of(found.puzzle).borrowed:
        lines.append(_BORROWED)
    if tally.sessions_left_over:
        some, cars = counted(tally.sessions_left_over, "session"), counted(tally.left_over, "car")
        lines.append(f"{some} with cars that could not be worked ({cars} left over).")
    return lines


def _proved(tally: Tally) -> str:
    """How sure the moves are, and the gap if there is one."""
    proved = tally.verdicts[Verdict.PROVED] + tally.verdicts[Verdict.IMPOSSIBLE]
    if proved == tally.sessions:
        return "every one is proved"
    gaps = tally.sessions - proved
    are, have = "is" if proved == 1 else "are", "has" if gaps == 1 else "have"
    told = f"{proved} {are} proved, {gaps} {have} a gap or no plan in time"
    if not tally.bounds:
        return told
    half, nine = (at_or_under(tally.bounds, share) for share in (_HALF, _NINE_IN_TEN))
    return f"{told} (proved so far: half need {half} moves or more, one in ten {nine} or more)"
