"""In the midst of a plan: what is left of a proved minimum, and the main cleared from every standing."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from switchsolve.district import Junction
from switchsolve.operating.working import work_out
from switchsolve.plan import Plan, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay_so_far
from switchsolve.solving import solve, solve_midway
from tests.random_districts import random_puzzle

ROOT = Path(__file__).parent.parent
_MAIN = ("west main", "main", "main east", "east main")


def _foul(puzzle: Puzzle, plan: Plan) -> bool:
    """Whether a string is foul after the runs of ``plan``."""
    standing = replay_so_far(puzzle, plan).frames[-1].standing
    ways = [way for one in standing for way in one.ways]
    return any(isinstance(puzzle.district.place(way.cell.place), Junction) for way in ways)


def test_the_rest_of_a_minimum_is_what_was_left() -> None:
    """From after any run of a proved minimum the whole takes just as many moves: fewer would beat the proof,
    and the plan itself shows that no more are needed.  On random districts of every kind, foul standings
    among them; the referee has replayed each whole plan."""
    asked = foul = 0
    for seed in range(30):
        puzzle, _ = random_puzzle(seed)
        if len(puzzle.locomotives) > 1:
            continue
        solution = solve(puzzle, seconds=0.5, tie_standings=0)
        if solution.verdict is not Verdict.PROVED or solution.plan is None or solution.counts is None:
            continue
        for number in range(1, len(solution.plan.runs)):
            so_far = replace(solution.plan, runs=solution.plan.runs[:number], final_cuts=())
            midway = solve_midway(puzzle, so_far, seconds=0.5)
            if midway is None or midway.verdict is Verdict.GAVE_UP:
                continue
            assert midway.counts is not None and midway.plan is not None, seed
            assert midway.counts.moves >= solution.counts.moves >= (midway.lower_bound or 0), seed
            if midway.verdict is Verdict.PROVED:
                assert midway.counts.moves == solution.counts.moves, seed
                asked += 1
                foul += _foul(puzzle, so_far)
    assert asked > 30 and foul > 10


def test_the_main_is_cleared_from_every_standing() -> None:
    """All of Millbrook: wherever the crew stands at a reversal of its plan, foul of a turnout or not, the
    main can be cleared, and in no more than two moves more than from the next standing (a run there,
    undone)."""
    puzzle = load(ROOT / "puzzles" / "millbrook_siding.toml")
    worked = work_out(puzzle, None, _MAIN)
    moves = [one.moves for one in worked.clearings if one is not None]
    assert len(moves) == len(worked.clearings) == (worked.moves or 0) - 1
    assert min(moves) >= 1 and all(one is not None and one.seconds > 0 for one in worked.clearings)
    assert all(abs(one - other) <= 2 for one, other in pairwise(moves))
