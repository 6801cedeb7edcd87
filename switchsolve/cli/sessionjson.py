"""Sessions as one JSON object: the documented, stable form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from switchsolve.operating import Operation, SessionResult
from switchsolve.operating.summing import least_cells
from switchsolve.timetable.building import problem_of
from switchsolve.timetable.telling import demand_text

__all__ = ["as_json"]


def as_json(found: Operation, others: Mapping[str, Operation]) -> dict[str, Any]:
    """All of it; ``what_if`` has the sessions of each change."""
    balance = found.balance
    return {
        "title": found.layout.title,
        "seed": found.seed,
        "sessions_asked": found.asked,
        "session_minutes": found.layout.minutes,
        "sessions": [_session(one, found) for one in found.sessions],
        "session_shown": found.shown,
        "crews": [{"crews": row.crews, "minutes": row.minutes, "bound": row.bound} for row in found.crews],
        "binds": [
            {"change": one.change, "minutes": one.minutes, "bound": one.bound} for one in found.bindings
        ],
        "chain": found.chain,
        "plain_crews": found.plain and {"minutes": found.plain.minutes, "bound": found.plain.bound},
        "skip": [
            {
                "train": one.train,
                "place": one.place,
                "car": one.car,
                "moves": one.moves,
                "minutes": one.minutes,
            }
            for one in found.skips
        ],
        "in_balance": balance.is_kept if balance else None,
        "out_of": [
            {
                "place": one.place,
                "kind": one.kind,
                "loaded": one.is_loaded,
                "missing": {str(number): count for number, count in one.missing.items()},
                "since": one.since,
            }
            for one in (balance.out_of if balance else ())
        ],
        "backlogs": list(balance.backlogs) if balance else [],
        "carried": list(balance.carried) if balance else [],
        "leasts": [
            {
                "what": row[0],
                "now": row[1],
                "as_good": row[2],
                "least": row[3],
                "waits_now": one.waits_now,
                "waits": one.waits,
            }
            for one, row in zip(found.leasts, least_cells(found), strict=True)
        ],
        "what_if": {name: [_session(one, other) for one in other.sessions] for name, other in others.items()},
    }


def _session(one: SessionResult, found: Operation) -> dict[str, Any]:
    played = one.played
    clash = one.answer.clash or one.too_long
    limit = found.layout.minutes if one.too_long else None
    return {
        "number": played.number,
        "outcome": str(one.answer.outcome),
        "minutes": one.minutes,
        "bound": one.answer.bound,
        "session_moves": one.moves,
        "by_hand": played.by_hand,
        "sets_by_hand": played.sets_by_hand,
        "waited": [{"car": each.car, "at": each.at, "why": each.why} for each in played.waited],
        "cleared": [
            {
                "train": each.train,
                "place": each.place,
                "passing": each.passing,
                "after": each.after,
                "moves": each.moves,
                "start": each.start,
                "end": each.end,
            }
            for each in (one.timetable.cleared if one.timetable else ())
        ],
        "clash": [demand_text(demand, problem_of(one.work, limit), found.layout) for demand in clash.demands]
        if clash
        else [],
        "entries": [
            {
                "task": entry.task,
                "train": entry.train,
                "kind": entry.kind,
                "where": entry.where,
                "start": entry.start,
                "end": entry.end,
                "crew": entry.crew,
                "waits": entry.waits,
            }
            for entry in (one.timetable.entries if one.timetable else ())
        ],
    }
