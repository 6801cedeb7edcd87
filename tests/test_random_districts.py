"""The solver against brute force on random small districts.

``python -m tests.random_districts --compare --count 2000`` does the same for more of them.
"""

from __future__ import annotations

import pytest

from tests.random_districts import compare, draw, draw_table, missing_shares

_BLOCK = 10


_DEAR = {20, 70, *range(100, 200, _BLOCK)}
"""Blocks that take long, or are more than a run by default needs."""


@pytest.mark.parametrize(
    "first",
    [
        pytest.param(first, marks=pytest.mark.slow if first in _DEAR else ())
        for first in range(0, 200, _BLOCK)
    ],
)
def test_the_solver_agrees_with_brute_force(first: int) -> None:
    """On every one of 200 districts the verdict and the minimum are the true ones; none is given up."""
    for seed in range(first, first + _BLOCK):
        word = compare(seed, draw(seed).moves)
        assert word == "agrees", f"seed {seed}: {word}"


@pytest.mark.slow
def test_the_districts_are_a_fair_draw() -> None:
    """The 200 districts hold every feature often enough, and enough that is impossible or hard."""
    rows = [draw(seed) for seed in range(200)]
    assert missing_shares(rows) == [], draw_table(rows)


_ONCE_WRONG = {
    16: "a run ended at a contact and did not couple",
    85: "a locomotive turned without moving, and so dodged a part to be kept clear",
    101: "what stands on a part to be kept clear at the end is exempt until it moves",
    103: "two cuts side by side in full cells",
    270: "a standing locomotive kept its gap to a head just coming up to it",
    625: "a head already in a barred track went on until a barred car behind was in it too: a crash",
    1036: "a car loose behind the locomotive at the start was taken for coupled: no plan",
    1042: "the same: a move too few",
    1051: "what was cut off from edge to edge could not go on into the next cell: no plan",
    1489: "beside a part to be kept clear, coupled to one that stood on it, it was in the way: 2 too many",
}


@pytest.mark.parametrize("seed", _ONCE_WRONG, ids=str)
def test_what_was_once_wrong_is_right(seed: int) -> None:
    """Districts that once showed a defect."""
    assert compare(seed, draw(seed).moves) == "agrees", _ONCE_WRONG[seed]
