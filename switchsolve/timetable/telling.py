"""What clashes, in a crew's words."""

from __future__ import annotations

from switchsolve.lengths import Measured, format_length_down
from switchsolve.scheduling import Demand, Problem
from switchsolve.timetable.building import LEAD, MAIN

__all__ = ["demand_text"]


def demand_text(demand: Demand, problem: Problem, layout: Measured) -> str:
    """One demand of the problem of a session in a sentence without a stop."""
    if demand.kind == "after":
        return _after(demand, problem)
    if demand.kind == "start":
        minute = next(task.starts_at for task in problem.tasks if task.name == demand.name)
        return f"{_train(demand.name)} leaves at its fixed time, minute {minute}"
    if demand.kind == "resource":
        return _resource(demand.name, problem.resources[demand.name])
    if demand.kind == "crew":
        return f"{demand.name} does one thing at a time"
    if demand.kind == "duty":
        crews = next(duty.crews for duty in problem.duties if duty.name == demand.name)
        return f"only {' or '.join(crews)} can take {demand.name}"
    if demand.kind == "level":
        room = next(one.capacity for one in problem.reservoirs if one.name == demand.name)
        return f"{demand.name}: no more than {format_length_down(room, layout)}"
    if demand.kind == "stock":
        return f"{demand.name}: what leaves has come there before"
    if demand.kind == "length":
        return f"all is over after {problem.length} minutes"
    return demand.text


def _train(task: str) -> str:
    return task.partition(":")[0]


def _after(demand: Demand, problem: Problem) -> str:
    after = problem.after[demand.index]
    if after.most == 0:
        return f"{after.later} follows at once on {after.sooner}"
    if after.gap:
        return f"{after.later} comes {after.gap} minutes or more after {after.sooner}"
    return f"{after.later} waits for {after.sooner}"


def _resource(name: str, room: int) -> str:
    if name.endswith(f" {LEAD}"):
        return f"{name} takes one cut at a time"
    if name.endswith(f" {MAIN}"):
        return f"{name} takes one train at a time"
    return f"{name} has room for {room} at a time"
