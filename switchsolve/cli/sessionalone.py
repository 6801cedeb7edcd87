"""``switchsolve session --only PLACE``: one district by itself."""

from __future__ import annotations

import json
from argparse import Namespace
from concurrent.futures import Executor
from typing import Any

from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, INTERRUPTED, OK
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.layout import Layout
from switchsolve.operating.alone import Alone, EachWay, alone, each_way
from switchsolve.operating.working import Worked
from switchsolve.plan import Verdict

__all__ = ["run_alone"]


def run_alone(layout: Layout, arguments: Namespace, executor: Executor, tell: Progress) -> int:
    """Play its sessions, and print them; returns the exit code."""
    place, limit = layout.district(arguments.only), arguments.limit_seconds
    rows: list[Alone] = []
    exchanged: list[EachWay] = []
    is_complete = False
    try:
        for row in alone(place, arguments.sessions, arguments.seed, executor, layout.pace, limit, tell):
            rows.append(row)
        for exchange in each_way(place, executor, layout.pace, limit):
            exchanged.append(exchange)
        is_complete = True
    except KeyboardInterrupt:
        if not rows:
            raise
    if arguments.json:
        print(json.dumps(_as_json(arguments.only, rows, exchanged), indent=2))
    else:
        _print(arguments.only, rows, exchanged)
    if not is_complete:
        return INTERRUPTED
    return OK if all(_is_proved(row.worked) for row in rows) else BEST_FOUND


def _is_proved(worked: Worked) -> bool:
    return worked.is_done and worked.moves == worked.bound and worked.is_most


def _print(name: str, rows: list[Alone], exchanged: list[EachWay]) -> None:
    console = Screen()
    console.print(Text(f"{name} alone, fed from its entrance", style="bold"))
    console.print(Text("session  brought  to take  left over    moves  minutes"))
    for row in rows:
        session = row.session
        cells = (session.number, len(session.arrived), len(session.picked_up), len(row.worked.left_over))
        text = "".join(f"{cell:>{width}}" for cell, width in zip(cells, (7, 9, 9, 11), strict=True))
        console.print(Text(f"{text}{_moves(row.worked):>9}{_shown(row.minutes):>9}"))
    console.print()
    console.print(Text("As an interchange: so many cars brought, and as many taken away:"))
    for one in exchanged:
        console.print(Text(f"  {one.cars} each way: {_exchange(one)}"))


def _exchange(one: EachWay) -> str:
    """What came out of one exchange."""
    if not one.worked.is_done:
        return "no plan found in time" if one.worked.verdict is Verdict.GAVE_UP else "impossible (proved)"
    can = "not all of it" if one.worked.left_over else "all of it"
    return f"{can}, {_moves(one.worked)} moves, {_shown(one.minutes)} minutes"


def _moves(worked: Worked) -> str:
    if worked.moves is None:
        return "none"
    return str(worked.moves) if worked.moves == worked.bound else f"{worked.bound}-{worked.moves}"


def _shown(minutes: int | None) -> str:
    return "none" if minutes is None else str(minutes)


def _as_json(name: str, rows: list[Alone], exchanged: list[EachWay]) -> dict[str, Any]:
    return {
        "only": name,
        "sessions": [
            {
                "number": row.session.number,
                "cars_arrived": len(row.session.arrived),
                "cars_to_pick_up": len(row.session.picked_up),
                "left_over": list(row.worked.left_over),
                "session_moves": row.worked.moves,
                "bound": row.worked.bound,
                "minutes": row.minutes,
            }
            for row in rows
        ],
        "each_way": [
            {"cars": one.cars, "left_over": len(one.worked.left_over), "minutes": one.minutes}
            for one in exchanged
        ],
    }
