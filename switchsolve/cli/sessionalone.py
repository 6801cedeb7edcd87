"""``switchsolve session --only PLACE``: one district by itself."""

from __future__ import annotations

import json
from argparse import Namespace
from concurrent.futures import Executor
from dataclasses import asdict, dataclass
from typing import Any

from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, INTERRUPTED, OK
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.sessionlist import wrapped
from switchsolve.layout import Layout
from switchsolve.operating.alone import Alone, EachWay, PerSession, alone, each_way, per_session, unequal_ways
from switchsolve.operating.working import Worked
from switchsolve.plan import Verdict
from switchsolve.words import counted

__all__ = ["run_alone"]


def run_alone(layout: Layout, arguments: Namespace, executor: Executor, tell: Progress) -> int:
    """Play its sessions, and print them; returns the exit code."""
    place, limit = layout.district(arguments.only), arguments.limit_seconds
    rows: list[Alone] = []
    exchanged: list[EachWay] = []
    unequal: list[EachWay] = []
    is_complete = False
    try:
        for row in alone(place, arguments.sessions, arguments.seed, executor, layout.pace, limit, tell):
            rows.append(row)
        for exchange in each_way(place, executor, layout.pace, limit):
            exchanged.append(exchange)
        for exchange in unequal_ways(place, executor, layout.pace, limit):
            unequal.append(exchange)
        is_complete = True
    except KeyboardInterrupt:
        if not rows:
            raise
    most = per_session(exchanged, layout, arguments.only)
    if arguments.json:
        print(json.dumps(_as_json(arguments.only, rows, exchanged, unequal, most), indent=2))
    else:
        _print(layout, rows, _Exchange(arguments.only, exchanged, unequal, most))
    if not is_complete:
        return INTERRUPTED
    return OK if all(_is_proved(row.worked) for row in rows) else BEST_FOUND


def _is_proved(worked: Worked) -> bool:
    return worked.is_done and worked.moves == worked.bound and worked.is_most


@dataclass(frozen=True, slots=True)
class _Exchange:
    """What was found of a place as an interchange."""

    place: str
    exchanged: list[EachWay]
    unequal: list[EachWay]
    most: PerSession | None


def _print(layout: Layout, rows: list[Alone], found: _Exchange) -> None:
    console = Screen()
    console.print(Text(f"{found.place} alone, fed from its entrance", style="bold"))
    console.print(Text("session  brought  to take  left over    moves  minutes"))
    for row in rows:
        session = row.session
        cells = (session.number, len(session.arrived), len(session.picked_up), len(row.worked.left_over))
        text = "".join(f"{cell:>{width}}" for cell, width in zip(cells, (7, 9, 9, 11), strict=True))
        console.print(Text(f"{text}{_moves(row.worked):>9}{_shown(row.minutes):>9}"))
    for line in wrapped(_by_itself(rows, layout.minutes)):
        console.print(Text(line, style="bold"))
    console.print()
    console.print(Text("As an interchange: so many cars brought, and as many taken away:"))
    for one in found.exchanged:
        console.print(Text(f"  {one.cars} each way: {_exchange(one)}"))
    for line in _supported(found, layout.minutes):
        console.print(Text(line))
    if found.unequal:
        console.print(Text("The most found to be taken away for so many brought:"))
    for one in found.unequal:
        console.print(Text(f"  {one.cars} brought, {one.taken} taken: {_exchange(one)}"))


def _by_itself(rows: list[Alone], minutes: int) -> str:
    """Whether the place operates by itself."""
    sessions, longest = counted(len(rows), "session"), max((row.minutes or 0 for row in rows), default=0)
    undone = [row for row in rows if not row.worked.is_done or row.worked.left_over]
    if undone:
        return f"In {len(undone)} of {sessions} not all of the work is done."
    told = f"all work of {sessions} is done, the longest in {longest} minutes"
    if longest > minutes:
        return f"By itself it takes too long: {told}, and there are {minutes}."
    return f"It operates by itself: {told} of {minutes}."


def _supported(found: _Exchange, minutes: int) -> list[str]:
    """How many cars each way two crews can exchange: with a visit of each, and in a session."""
    good = [one for one in found.exchanged if one.worked.is_done and not one.worked.left_over]
    if not good:
        return []
    last, cars = found.exchanged[-1].worked, counted(good[-1].cars, "car")
    lines = [f"Two crews, a visit each: {cars} each way, {good[-1].minutes} minutes a visit."]
    lines += wrapped(_per_session(found.most, minutes))
    # the row that ends it may only have been stopped
    is_open = last.verdict is Verdict.GAVE_UP or not last.is_most
    return [*lines, "More was not found in time; --limit-seconds gives more."] if is_open else lines


def _per_session(most: PerSession | None, minutes: int) -> str:
    if most is None:
        return f"A session of {minutes} minutes has no time for a visit of each crew."
    each = f"{most.visits} visits of {most.minutes} minutes with coming and going"
    cars = f"{counted(most.cars, 'car')} each way"
    return f"In a session of {minutes} minutes, in turn: {cars}, by {each}, {most.each} each way at a time."


def _exchange(one: EachWay) -> str:
    """What came out of one exchange."""
    if not one.worked.is_done:
        return "no plan found in time" if one.worked.verdict is Verdict.GAVE_UP else "impossible (proved)"
    can = "not all of it" if one.worked.left_over else "all of it"
    if one.worked.left_over and not one.worked.is_most:
        can = "not all of it in the time allowed"
    return f"{can}, {_moves(one.worked)} moves, {_shown(one.minutes)} minutes"


def _moves(worked: Worked) -> str:
    if worked.moves is None:
        return "none"
    return str(worked.moves) if worked.moves == worked.bound else f"{worked.bound}-{worked.moves}"


def _shown(minutes: int | None) -> str:
    return "none" if minutes is None else str(minutes)


def _as_json(
    name: str,
    rows: list[Alone],
    exchanged: list[EachWay],
    unequal: list[EachWay],
    most: PerSession | None,
) -> dict[str, Any]:
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
        "per_session": most and asdict(most),
        "unequal": [{"brought": one.cars, "taken": one.taken, "minutes": one.minutes} for one in unequal],
    }
