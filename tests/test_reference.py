"""The reference district: the minimum of each work, and golden counts of the standings expanded.

The minima were found before this project by independent exhaustive searches: 1+1 by two, 2+2 by three, 3+3,
4+4 and 5+5 by two.  That of 6+6 is this project's own, proved by one search only.  The locomotive is under
way at the start, so moves = reversals + 1.
"""

from __future__ import annotations

import pytest

from switchsolve.plan import Verdict
from switchsolve.puzzlefile import loads
from switchsolve.referee import replay
from switchsolve.solving import solve
from tests.reference_district import FOLDER, reference, reference_text

GOLDEN = {1: 254, 2: 4933, 3: 7337, 4: 40423}
"""Standings expanded, the same on every machine: this project's own figures.

They are the check on speed that no slow machine upsets.  Change them together with the search, and say why.
"""


@pytest.mark.parametrize("count", range(1, 7))
def test_files_are_those_of_the_builder(count: int) -> None:
    """Each file is what its builder writes, and lengths are exact: 40 quarters of a car are 10."""
    text = (FOLDER / f"{count}.toml").read_text(encoding="utf-8")
    assert text == reference_text(count)
    puzzle = loads(text)
    quarters = {track.name: 4 * track.length / puzzle.grid for track in puzzle.district.tracks}
    assert quarters == {
        "west": 40, "w2": 4, "main a": 8, "main b": 12, "side": 26,
        "e2": 2, "tail": 12, "f1": 12, "t1": 8, "f2": 8,
    }  # fmt: skip
    assert {4 * r.length / puzzle.grid for j in puzzle.district.junctions for r in j.routes} == {3}
    assert {4 * car.length / puzzle.grid for car in puzzle.cars} == {4}
    assert [4 * locomotive.length / puzzle.grid for locomotive in puzzle.locomotives] == [5]
    assert len(puzzle.cars) == 2 * count and puzzle.allowance == 0


@pytest.mark.parametrize(
    ("count", "reversals"),
    [
        (1, 6),
        (2, 10),
        (3, 11),
        (4, 12),
        pytest.param(5, 14, marks=pytest.mark.slow),
        pytest.param(6, 15, marks=pytest.mark.slow),
    ],
)
def test_minimum(count: int, reversals: int) -> None:
    """The solver proves the known minimum, its plan replays, and it expands as many standings as before."""
    puzzle = reference(count)
    search = "longest runs" if count == 1 else "compiled longest runs"
    solution = solve(puzzle, search=search, tie_standings=0)
    assert solution.verdict == Verdict.PROVED
    assert solution.plan is not None and solution.counts is not None
    assert (solution.counts.reversals, solution.counts.moves) == (reversals, reversals + 1)
    assert replay(puzzle, solution.plan).counts == solution.counts
    if count in GOLDEN:
        assert solution.stats["expanded"] == GOLDEN[count]
