"""What ``switchsolve compare`` shows: rows for screen and page, and the JSON answer."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence

from switchsolve.comparing import (
    Compared,
    Comparison,
    Differences,
    Far,
    Interval,
    sentence_of,
    sentence_once,
)
from switchsolve.comparing.sheet import Sheet
from switchsolve.measuring.evenings import study_minutes
from switchsolve.minutes import span_text
from switchsolve.study import SEASON, Tally, at_or_under
from switchsolve.words import counted

__all__ = [
    "farthest_lines",
    "json_of_sessions",
    "json_of_set_ups",
    "sheet_of_sessions",
    "sheet_of_set_ups",
]

_MEDIAN, _NINE_IN_TEN = 0.5, 0.9


# ---- sessions


def sheet_of_sessions(found: Comparison, seed: int) -> Sheet:
    """The answers, and a row for each arrangement."""
    stopped = "" if found.is_complete else f" of {found.asked} (stopped by Ctrl-C)"
    title = _title([case.puzzle.title for case in found.cases])
    first = found.cases[0].name
    answers = [
        sentence_of(first, case.name, differences)
        for case, differences in zip(found.cases[1:], found.differences, strict=True)
    ]
    head = f"{title}: {counted(found.sessions, 'session')}{stopped}, seed {seed}"
    heads: tuple[str, ...]
    heads = ("moves", "half at\nor under", "nine in ten\nat or under", "most", "mean\nmore", "median\nmore",
             "cannot\ndo all", "minutes,\nhalf under")  # fmt: skip
    rows: list[tuple[str, ...]] = []
    for number, (case, tally) in enumerate(zip(found.cases, found.tallies, strict=True)):
        differences = found.differences[number - 1] if number else None
        moves = _percentiles(found.moves[number])
        figures = (*moves, *_of_differences(differences), str(_unable(tally)))
        rows.append((case.name, *figures, _half_under(tally)))
    if not any(row[-1] for row in rows):  # no minutes: no plain crew has done the sessions
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    return Sheet(head, answers, heads, rows, _notes(found))


def _title(titles: Sequence[str]) -> str:
    """The title of the first, or what is compared."""
    return titles[0] or "Comparison"


def _percentiles(moves: Counter[int]) -> tuple[str, ...]:
    """Moves of the plans for all the work."""
    if not moves:
        return ("", "", "")
    shares = (at_or_under(moves, share) for share in (_MEDIAN, _NINE_IN_TEN))
    return (*map(str, shares), str(max(moves)))


def _of_differences(differences: Differences | None) -> tuple[str, str]:
    """Mean and median difference in moves."""
    if differences is None or not differences.compared:
        return ("", "")
    return f"{differences.mean_moves().figure:+.2f}", f"{differences.median_moves().figure:+g}"


def _unable(tally: Tally) -> int:
    """Sessions in which not all the work can be done."""
    return tally.sessions_left_over


def _half_under(tally: Tally) -> str:
    """Minutes under which half of the sessions are done: by the fewest moves, and by a plain crew."""
    minutes = study_minutes(tally)
    return "" if minutes is None else "{} to {}".format(*_pair(minutes["half_under"]))


def _pair(minutes: object) -> tuple[int, int]:
    assert isinstance(minutes, list)
    return minutes[0], minutes[1]


def _crews(differences: Differences) -> str:
    """In how many sessions plain crews can tell the minutes."""
    if differences.with_crew == differences.compared:
        return "all sessions compared"
    return f"{differences.with_crew} of the {differences.compared} sessions compared"


def _notes(found: Comparison) -> list[str]:
    """What the figures mean."""
    notes = [
        f"The same traffic for all; a season has {SEASON} sessions, one after the other. Differences are in "
        f'moves, against "{found.cases[0].name}", of sessions in which both do all the work, each with the '
        "proved minimum. Ranges are by drawing seasons anew (bootstrap).",
    ]
    if any(differences.with_crew for differences in found.differences):
        notes.append(
            "Minutes: from the plans with the fewest moves, without a mistake, to those of a plain crew, by "
            f"the time figures of the file; of {_crews(found.differences[0])}."
        )
    else:
        notes.append("No minutes: no plain crew has done the sessions.")
    for case, differences in zip(found.cases[1:], found.differences, strict=True):
        if differences.same_work < differences.sessions:
            notes.append(
                f'"{case.name}": the same cars to bring and pick up in {differences.same_work} of '
                f"{differences.sessions}; in the others places, or what was left over, made a difference."
            )
    for track, names in found.pairing.left_out:
        lack = " and ".join(f'"{name}"' for name in names)
        notes.append(f"{track}: sent nothing in any of them, for {lack} cannot take its cars.")
    for ours, name, theirs in found.pairing.taken_for:
        notes.append(f'{theirs} of "{name}" is taken for {ours}: the same cars come to both.')
    for name in found.pairing.own_traffic:
        notes.append(f'"{name}": its file has other traffic; that of "{found.cases[0].name}" was used.')
    return notes


def farthest_lines(found: Comparison, files: Sequence[Sequence[tuple[str, str]]]) -> list[str]:
    """The sessions that differ most."""
    lines: list[str] = []
    for number, some in enumerate(found.farthest):
        if some:
            lines += ["", f'"{found.cases[number + 1].name}" differs most:']
        for place, far in enumerate(some):
            where = f": {files[number][place][0]} and {files[number][place][1]}" if files[number] else ""
            lines.append(f"  {_far_text(far)}{where}")
    return lines


def _far_text(far: Far) -> str:
    row = far.first.row
    work = f"{len(row.arrived)} brought, {len(row.picked_up)} to be picked up"
    moves = f"{far.second.row.moves} moves instead of {row.moves}"
    return f"season {row.season}, session {row.session}: {moves}; {work}"


def json_of_sessions(found: Comparison, seed: int, files: Sequence[Sequence[tuple[str, str]]]) -> str:
    """The documented, stable form of the answer."""
    data = {
        "seed": seed,
        "sessions_asked": found.asked,
        "sessions": found.sessions,
        "solved": found.solved,
        "cases": [
            {
                "name": case.name,
                "file": case.file,
                "title": case.puzzle.title,
                "verdicts": {str(verdict): count for verdict, count in tally.verdicts.items()},
                "moves": {str(moves): found.moves[number][moves] for moves in sorted(found.moves[number])},
                "cannot": _unable(tally),
                "cars_left_over": tally.left_over,
                "cars_turned_away": tally.turned_away,
                "minutes": study_minutes(tally),
            }
            for number, (case, tally) in enumerate(zip(found.cases, found.tallies, strict=True))
        ],
        "differences": [
            _json_of(found, number, differences, files[number])
            for number, differences in enumerate(found.differences)
        ],
        "left_out": [{"industry": track, "lacking": list(names)} for track, names in found.pairing.left_out],
        "taken_for": [
            {"industry": ours, "case": name, "track": theirs}
            for ours, name, theirs in found.pairing.taken_for
        ],
        "own_traffic": list(found.pairing.own_traffic),
    }
    return json.dumps(data, indent=2)


def _json_of(
    found: Comparison, number: int, differences: Differences, files: Sequence[tuple[str, str]]
) -> dict[str, object]:
    """One arrangement against the first."""
    has_any = differences.compared > 0
    return {
        "case": found.cases[number + 1].name,
        "against": found.cases[0].name,
        "answer": sentence_of(found.cases[0].name, found.cases[number + 1].name, differences),
        "compared": differences.compared,
        "mean_moves": _interval(differences.mean_moves()) if has_any else None,
        "median_moves": _interval(differences.median_moves()) if has_any else None,
        "mean_seconds": _interval(differences.mean_seconds()) if differences.with_crew else None,
        "mean_crew_seconds": _interval(differences.mean_crew_seconds()) if differences.with_crew else None,
        "with_crew": differences.with_crew,
        "fewer": differences.fewer,
        "more": differences.more,
        "by_moves": {str(moves): differences.moves[moves] for moves in sorted(differences.moves)},
        "same_work": differences.same_work,
        "only_against": differences.only_first,
        "only_case": differences.only_second,
        "neither": differences.neither,
        "not_decided": differences.not_decided,
        "farthest": [
            {
                "season": far.first.row.season,
                "session": far.first.row.session,
                "more": far.more,
                "files": list(files[place]) if files else None,
            }
            for place, far in enumerate(found.farthest[number])
        ],
    }


def _interval(found: Interval) -> dict[str, float | None]:
    return {"figure": found.figure, "low": found.low, "high": found.high}


# ---- one set-up each


def sheet_of_set_ups(found: Sequence[Compared]) -> Sheet:
    """The answers, and a row for each arrangement."""
    heads: tuple[str, ...] = ("", "verdict", "moves", "a plain\ncrew's", "minutes")
    rows: list[tuple[str, ...]] = [
        (
            one.case.name,
            str(one.solution.verdict),
            "" if one.moves is None else str(one.moves),
            "" if one.crew_moves is None else str(one.crew_moves),
            "" if one.span is None else span_text(one.span).removesuffix(" minutes"),
        )
        for one in found
    ]
    answers = [sentence_once(found[0], one) for one in found[1:]]
    note = "No [traffic]: the one set-up of each file."
    if any(one.span is not None for one in found):
        note += (
            " Minutes: from the plan with the fewest moves to that of a plain crew, by the time figures of "
            "the file."
        )
    else:
        heads, rows = heads[:3], [row[:3] for row in rows]
    notes = [note]
    title = _title([one.case.puzzle.title for one in found])
    return Sheet(title, answers, heads, rows, notes)


def json_of_set_ups(found: Sequence[Compared]) -> str:
    """The documented, stable form of the answer."""
    data = {
        "cases": [
            {
                "name": one.case.name,
                "file": one.case.file,
                "title": one.case.puzzle.title,
                "verdict": str(one.solution.verdict),
                "moves": one.moves,
                "lower_bound": one.solution.lower_bound,
                "crew_moves": one.crew_moves,
                "minutes": list(one.span.minutes) if one.span else None,
            }
            for one in found
        ],
        "answers": [sentence_once(found[0], one) for one in found[1:]],
    }
    return json.dumps(data, indent=2)
