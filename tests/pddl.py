"""Small set-ups as planning tasks in PDDL, and a general-purpose planner that solves them; for tests only.

For one locomotive and cars of one unit on rail chopped into units, with one string at most on a track at the
start.  Written from the physical model, without anything of the solver: one action moves a row of vehicles on
by one unit, what stands behind it in the row stays behind; it costs one move if it is the locomotive's first
motion or turns it round.  Vehicles one unit apart touch, so to be coupled is to stand on neighbouring units.

A *way* is a unit with a direction: ``(next w x)``: who runs along ``w`` comes to ``x``.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

from switchsolve.district import Cell, Way
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import EndsIn, Item, LocomotiveEnds

__all__ = ["planner_minimum", "task"]

Unit = tuple[Cell, int]
"""A cell and the distance of the unit from the cell's beginning."""

_HEAD = """\
(:requirements :strips :typing :equality :action-costs)
(:types vehicle unit way direction string)
(:constants {constants})
(:predicates (next ?w ?x - way) (of ?w - way ?u - unit) (reverse ?w ?x - way) (other ?u ?x - unit)
  (open ?u - unit) (differ ?d ?e - direction) (is-car ?v - vehicle) (is-locomotive ?v - vehicle)
  (wanted ?v - vehicle ?u - unit) (good-nose ?w - way)
  (at ?v - vehicle ?u - unit) (empty ?u - unit) (nose ?w - way) (last ?d - direction)
  (waits ?s - string) (placed ?s - string) (working) (finished) (done ?v - vehicle))
(:functions (total-cost) - number)
"""


# -- rail ------------------------------------------------------------------------------------------------


def _ways(puzzle: Puzzle) -> Iterator[tuple[Unit, int]]:
    for cell in puzzle.district.cells():
        for at in range(puzzle.district.cell_length(cell)):
            yield (cell, at), 1
            yield (cell, at), -1


def _following(puzzle: Puzzle, unit: Unit, sign: int) -> list[tuple[Unit, int]]:
    """Units that come next along the rail, with the direction in which each is then run."""
    district = puzzle.district
    cell, at = unit
    if 0 <= at + sign < district.cell_length(cell):
        return [((cell, at + sign), sign)]
    return [
        ((way.cell, 0 if way.sign > 0 else district.cell_length(way.cell) - 1), way.sign)
        for way in district.ahead(Way(cell, sign), {})
    ]


def _shut_by(puzzle: Puzzle, unit: Unit) -> list[Unit]:
    """Units of routes that exclude this one."""
    district = puzzle.district
    return [
        (cell, at)
        for cell in district.cells()
        if district.conflicts(unit[0], cell)
        for at in range(district.cell_length(cell))
    ]


# -- words -----------------------------------------------------------------------------------------------


class _Names:
    """Names of units and ways as PDDL takes them."""

    def __init__(self, puzzle: Puzzle) -> None:
        self.units = {unit: f"u{n}" for n, unit in enumerate(dict.fromkeys(u for u, _ in _ways(puzzle)))}
        self.vehicles = {name: f"v{n}" for n, name in enumerate(puzzle.vehicles)}

    def way(self, unit: Unit, sign: int) -> str:
        return self.units[unit] + ("f" if sign > 0 else "b")


def _advance(ahead: int, behind: int, forward: bool, turns: bool) -> str:
    """A run by one unit: ``ahead`` cars are shoved, ``behind`` are pulled."""
    count = ahead + 1 + behind
    direction = "forward" if forward else "back"
    name = f"{'turn' if turns else 'go'}-{direction}-{ahead}-{behind}"
    numbers = range(1, count + 1)
    parameters = " ".join(f"?v{n} - vehicle" for n in numbers)
    parameters += " " + " ".join(f"?w{n} - way ?u{n} - unit" for n in range(count + 1))
    parameters += " ?o - unit ?n ?m - way ?d - direction"
    mine, new = ahead + 1, ahead
    needs = ["(working)", "(empty ?u0)", "(other ?u0 ?o)", "(empty ?o)", f"(open ?u{new})", "(last ?d)"]
    needs += [f"(of ?w{n} ?u{n})" for n in range(count + 1)]
    needs += [f"(next ?w{n} ?w{n - 1}) (at ?v{n} ?u{n})" for n in numbers]
    needs += [f"({'is-locomotive' if n == mine else 'is-car'} ?v{n})" for n in numbers]
    # the nose looks along the way, or against it
    needs += ["(nose ?n)"]
    needs += (
        [f"(= ?n ?w{mine})", f"(= ?m ?w{new})"]
        if forward
        else [f"(reverse ?n ?w{mine})", f"(reverse ?m ?w{new})"]
    )
    needs += [f"(differ ?d {direction})" if turns else f"(= ?d {direction})"]
    effects = [f"(not (at ?v{n} ?u{n})) (at ?v{n} ?u{n - 1})" for n in numbers]
    effects += [f"(not (empty ?u0)) (empty ?u{count})", "(not (nose ?n)) (nose ?m)"]
    if turns:
        effects += [f"(not (last ?d)) (last {direction})", "(increase (total-cost) 1)"]
    return _action(name, parameters, needs, effects)


def _action(name: str, parameters: str, needs: list[str], effects: list[str]) -> str:
    return (
        f"(:action {name} :parameters ({parameters})\n"
        f"  :precondition (and {' '.join(needs)})\n  :effect (and {' '.join(effects)}))\n"
    )


def _place(puzzle: Puzzle, names: _Names, string: StartString, number: int) -> Iterator[str]:
    """The string takes any place in its track."""
    room = puzzle.district.track(string.track).length - len(string.vehicles)
    rail = [unit for unit in names.units if unit[0].place == string.track]
    for at in range(room + 1):
        effects = [f"(not (waits s{number})) (placed s{number})"]
        for name, unit in zip(string.vehicles, rail[at:], strict=False):
            where = names.units[unit]
            effects.append(f"(at {names.vehicles[name]} {where}) (not (empty {where}))")
            if name in puzzle.start.heads:
                effects.append(f"(nose {names.way(unit, 1 if puzzle.start.heads[name] == 'to' else -1)})")
        yield _action(f"place-{number}-{at}", "", [f"(waits s{number})"], effects)


def _domain(puzzle: Puzzle, names: _Names) -> str:
    cars = len(puzzle.cars)
    actions = [
        _advance(ahead, behind, forward, turns)
        for ahead in range(cars + 1)
        for behind in range(cars + 1 - ahead)
        for forward in (True, False)
        for turns in (True, False)
    ]
    for number, string in enumerate(puzzle.start.strings):
        actions += _place(puzzle, names, string, number)
    placed = [f"(placed s{number})" for number in range(len(puzzle.start.strings))]
    actions.append(_action("begin", "", ["(waits begun)", *placed], ["(not (waits begun)) (working)"]))
    actions.append(_action("finish", "", ["(working)"], ["(not (working)) (finished)"]))
    there = ["(finished)", "(wanted ?v ?u)", "(at ?v ?u)"]
    actions.append(_action("car-is-there", "?v - vehicle ?u - unit", ["(is-car ?v)", *there], ["(done ?v)"]))
    nose = ["(is-locomotive ?v)", "(nose ?w)", "(good-nose ?w)", *there]
    actions.append(_action("it-is-there", "?v - vehicle ?u - unit ?w - way", nose, ["(done ?v)"]))
    head = _HEAD.replace("{constants}", _constants(puzzle, names))
    return f"(define (domain rail)\n{head}{''.join(actions)})\n"


def _constants(puzzle: Puzzle, names: _Names) -> str:
    ways = " ".join(names.way(*way) for way in _ways(puzzle))
    strings = " ".join(f"s{number}" for number in range(len(puzzle.start.strings)))
    vehicles, units = " ".join(names.vehicles.values()), " ".join(names.units.values())
    return (
        f"{vehicles} - vehicle {units} - unit {ways} - way\n"
        f"  none forward back - direction begun {strings} - string"
    )


def _wanted(puzzle: Puzzle, name: str, home: str) -> set[str]:
    """Tracks where a vehicle is wanted at the end."""
    item: Item | None = puzzle.work.of_car(name)
    if isinstance(item, EndsIn) and all(place.spot is None for place in item.places):
        return {place.track for place in item.places}
    if item is None and name not in puzzle.start.heads:
        return {home}
    ends = [i for i in puzzle.work.items if isinstance(i, LocomotiveEnds) and i.locomotive == name]
    if item is None and len(ends) == 1 and ends[0].track is not None:
        return {ends[0].track}
    if item is None and not ends:
        return set()
    raise ValueError(f"this work is not written in PDDL: {puzzle.work}")


def _facts(puzzle: Puzzle, names: _Names) -> Iterator[str]:
    for unit, sign in _ways(puzzle):
        way = names.way(unit, sign)
        yield f"(of {way} {names.units[unit]}) (reverse {way} {names.way(unit, -sign)})"
        for following in _following(puzzle, unit, sign):
            yield f"(next {way} {names.way(*following)})"
    for unit, name in names.units.items():
        shut = _shut_by(puzzle, unit) or [unit]
        if len(shut) > 1:
            raise ValueError("a junction with two routes of one unit is all that is written in PDDL")
        yield f"(empty {name}) (other {name} {names.units[shut[0]]})"
        if not puzzle.district.cell_marks(unit[0]).no_locomotives:
            yield f"(open {name})"
    for one in ("none", "forward", "back"):
        yield from (f"(differ {one} {two})" for two in ("none", "forward", "back") if one != two)
    ends = [item for item in puzzle.work.items if isinstance(item, LocomotiveEnds)]
    for unit, sign in _ways(puzzle):
        heads = ends[0].heads if ends else None
        if heads is None or (sign > 0) == (heads == "to"):
            yield f"(good-nose {names.way(unit, sign)})"


def _vehicles(puzzle: Puzzle, names: _Names) -> Iterator[str]:
    for string in puzzle.start.strings:
        for name in string.vehicles:
            kind = "is-locomotive" if name in puzzle.start.heads else "is-car"
            yield f"({kind} {names.vehicles[name]})"
            tracks = _wanted(puzzle, name, string.track)
            for (cell, _), unit in names.units.items():
                if cell.place in tracks:
                    yield f"(wanted {names.vehicles[name]} {unit})"


def task(puzzle: Puzzle) -> tuple[str, str]:
    """Domain and problem.  Raises ``ValueError`` for what this writer does not know."""
    names, strings = _Names(puzzle), puzzle.start.strings
    known = len(puzzle.locomotives) == 1 and {v.length for v in puzzle.vehicles.values()} == {1}
    plain = not puzzle.district.limits and not puzzle.district.tables
    if not (known and plain and len({string.track for string in strings}) == len(strings)):
        raise ValueError("one locomotive, units, one string on a track, no limits, no tables")
    (heads,), under_way = puzzle.start.heads.values(), list(puzzle.start.under_way.values())
    last = "none" if not under_way else "forward" if under_way == [heads] else "back"
    waits = [f"(waits s{number})" for number in range(len(strings))]
    facts = [*waits, "(waits begun)", f"(last {last})", *_facts(puzzle, names), *_vehicles(puzzle, names)]
    wanted = [name for s in strings for name in s.vehicles if _wanted(puzzle, name, s.track)]
    goals = " ".join(["(finished)", *(f"(done {names.vehicles[name]})" for name in wanted)])
    problem = (
        "(define (problem set-up) (:domain rail)\n(:init (= (total-cost) 0)\n" + "\n".join(facts) + ")\n"
        f"(:goal (and {goals}))\n(:metric minimize (total-cost)))\n"
    )
    return _domain(puzzle, names), problem


_PROVED_UNSOLVABLE = (10, 11)
"""Exit codes of the planner, by its documentation: proved by its translator, by its search."""


# -- the planner -----------------------------------------------------------------------------------------


def _driver() -> Path:
    """Raises ``ModuleNotFoundError`` if the planner is not installed: the tests must then fail."""
    spec = find_spec("up_fast_downward")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("the planner is missing: pip install -e '.[dev]'")
    return Path(spec.submodule_search_locations[0]) / "downward" / "fast-downward.py"


def planner_minimum(
    puzzle: Puzzle, folder: Path, configuration: str = "astar(blind())", seconds: float | None = None
) -> int | None:
    """The least moves by optimal planning (by default A* without any estimate); ``None``: proved that there
    is no plan.

    ``folder`` takes the files.  Raises ``RuntimeError`` if the planner says anything else, or takes longer
    than ``seconds``.
    """
    for name, text in zip(("domain.pddl", "problem.pddl"), task(puzzle), strict=True):
        (folder / name).write_text(text, encoding="utf-8")
    try:
        told = subprocess.run(
            [sys.executable, _driver(), "domain.pddl", "problem.pddl", "--search", configuration],
            cwd=folder, capture_output=True, text=True, check=False, timeout=seconds,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        raise RuntimeError(f"no answer within {seconds:g} s") from None
    found = re.search(r"^Plan cost: (\d+)$|^\[.*\] Plan cost: (\d+)$", told.stdout, re.MULTILINE)
    if told.returncode == 0 and found is not None:
        return int(found[1] or found[2]) + len(puzzle.start.under_way)
    if told.returncode in _PROVED_UNSOLVABLE:
        return None
    raise RuntimeError(f"the planner ended with {told.returncode}:\n{(told.stdout + told.stderr)[-3000:]}")
