"""Replay pages of puzzles and of plans made by hand, and where their vehicles must stand; for tests only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import hypot
from pathlib import Path

from switchsolve.district import Cell, Way
from switchsolve.drawing import Schematic, draw, placed_at_start
from switchsolve.drawing.schematic import Point
from switchsolve.page import page_html
from switchsolve.plan import Advance, Placed, Plan, Run, Solution, Verdict
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.puzzlefile import load
from switchsolve.referee import Replay, occupied, replay
from switchsolve.solving import solve
from switchsolve.tightest import tightest_place
from switchsolve.vehicles import Car
from tests.builders import advance, balloon_district, place, run, set_up
from tests.drawn import yard
from tests.test_drawing import hostile_puzzle

__all__ = ["Made", "by_hand", "ends_of", "made", "outer_ends"]

ROOT = Path(__file__).parent.parent


@dataclass(frozen=True)
class Made:
    """A page, and all that it was made of."""

    puzzle: Puzzle
    solution: Solution
    replayed: Replay | None
    ground: Schematic
    html: str


@cache
def made(name: str) -> Made:
    """The page of a puzzle file, or of a plan made by hand (:data:`BY_HAND`)."""
    if name in BY_HAND:
        return BY_HAND[name]()
    puzzle = load(ROOT / "puzzles" / f"{name}.toml")
    return page_of(puzzle, solve(puzzle))


def page_of(puzzle: Puzzle, solution: Solution) -> Made:
    replayed = replay(puzzle, solution.plan) if solution.plan is not None else None
    ground = draw(puzzle)
    return Made(puzzle, solution, replayed, ground, page_html(puzzle, solution, replayed, ground))


def by_hand(
    puzzle: Puzzle, start: tuple[Placed, ...], *runs: Run, uncouple: tuple[str, str] | None = None
) -> Made:
    """The page of a plan that the referee allows; whether it is the shortest is not asked."""
    plan = Plan(start, runs, (uncouple,) if uncouple is not None else ())
    replayed = replay(puzzle, plan)
    tightest = tightest_place(puzzle, replayed)
    return page_of(
        puzzle, Solution(Verdict.PROVED, replayed.counts.moves, plan, replayed.counts, tightest=tightest)
    )


# -- by hand


def _yard() -> Made:
    """Thirty tracks, 41 vehicles, 40 moves: the engine takes its car to one track after the other and
    back."""
    plain = yard(30)
    cars = [Car(f"THB {100 + n}", plain.grid) for n in range(39)]
    strings = [
        *(string for string in plain.start.strings if string.track == "lead"),
        *(
            StartString(f"yard {n + 15}", tuple(car.name for car in cars[3 * n : 3 * n + 3]))
            for n in range(13)
        ),
    ]
    kept = tuple(car for car in plain.cars if car.name == "QLV 12")
    start = replace(plain.start, strings=tuple(strings))
    puzzle = replace(plain, cars=(*kept, *cars), start=start, title="A yard of thirty tracks")
    lead = puzzle.district.track("lead").length
    placed = list(placed_at_start(puzzle))
    placed[0] = replace(placed[0], offset=lead - puzzle.vehicles["S&I 5"].length - puzzle.grid)
    runs: list[Run] = []
    for number in range(20):
        last = 1 + number % 14
        into = [Way(Cell(f"W{n}", int(n == last)), 1) for n in range(1, last + 1)]
        into.append(Way(Cell(f"yard {last}"), 1))
        out = [*(way.reverse() for way in into[-2::-1]), Way(Cell("lead"), -1)]
        far = (last + 3) * puzzle.grid
        runs += [
            Run("S&I 5", True, (Advance(far, tuple(into)),)),
            Run("S&I 5", False, (Advance(far, tuple(out)),)),
        ]
    return by_hand(puzzle, tuple(placed), *runs, uncouple=("QLV 12", "S&I 5"))


def _hostile() -> Made:
    """Every name is hostile; the string is shoved out and drawn back."""
    puzzle = hostile_puzzle()
    (string,) = placed_at_start(puzzle)
    locomotive = string.vehicles[0]
    device, main = puzzle.district.junctions[0].name, puzzle.district.tracks[2].name
    enters = (Way(Cell(device, 0), 1), Way(Cell(main), 1))
    start = (replace(string, offset=26),)
    there = Run(locomotive, True, (Advance(3, enters),))
    back = Run(locomotive, False, (Advance(3),))
    return by_hand(puzzle, start, there, back, uncouple=(locomotive, string.vehicles[1]))


def _balloon() -> Made:
    """An engine runs round a balloon loop and comes back through the turnout by its other leg."""
    puzzle = set_up(balloon_district(), {"lead": "L"}, heads={"L": "to"})
    return by_hand(puzzle, place(puzzle, 3), run("L+", advance(15, "T/0 loop -T/1 -lead")))


def _passive() -> Made:
    """One engine hauls another out and shoves it back: two runs, four moves."""
    puzzle = set_up(balloon_district(lead=9), {"lead": "L M"}, heads={"L": "to", "M": "to"})
    return by_hand(puzzle, place(puzzle, 4), run("L+", advance(2)), run("L-", advance(3)))


def _done() -> Made:
    """Nothing is to be done."""
    puzzle = set_up(balloon_district(), {"lead": "L"}, heads={"L": "to"})
    return page_of(puzzle, solve(puzzle))


BY_HAND = {
    "yard": _yard,
    "hostile": _hostile,
    "balloon": _balloon,
    "passive": _passive,
    "done": _done,
}


# -- where vehicles stand


def ends_of(
    puzzle: Puzzle, ground: Schematic, standing: Iterable[Placed], lined: Mapping[str, int]
) -> dict[str, list[Point]]:
    """The two ends of every vehicle in the drawing, from the rail that the referee says is under it."""
    points: dict[str, list[Point]] = {}
    for string in standing:
        for piece in occupied(puzzle, string):
            way = Way(piece.cell, 1)
            points.setdefault(piece.vehicle, []).extend(
                ground.point(way, at, lined)[0] for at in (piece.start, piece.end)
            )
    return {name: outer_ends(found) for name, found in points.items()}


def outer_ends(points: list[Point]) -> list[Point]:
    """Those of the ends of pieces in a row that are not two pieces' (a piece may be too short to be seen)."""
    odd: list[Point] = []
    for point in points:
        near = [one for one in odd if hypot(point[0] - one[0], point[1] - one[1]) < 0.05]
        if near:
            odd.remove(near[0])
        else:
            odd.append(point)
    return odd
