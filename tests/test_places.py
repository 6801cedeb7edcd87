"""Where in its track a vehicle stands, where that matters: longest runs say that they do not know it."""

from __future__ import annotations

from pathlib import Path

import pytest

from switchsolve.facts.deciding import decide
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import loads
from switchsolve.solving import solve

FILE = """
unit = "in"
[tracks]
lead = {{ from = "entrance", to = "T points", length = 40 }}
main = {{ from = "T straight", length = 20 }}
spur = {{ from = "T diverging", length = 20, no_locomotives = {closed}, spots = {{ near = 3, far = 19 }} }}
[turnouts]
T = {{ length = 2 }}
[cars]
x = 6
[locomotives]
L = {{ length = 6, heads = "to" }}
[start]
lead = [{lead}]
{spur}
[fixed]
{fixed}
[work]
spot = {{ x = "spur {spot}" }}
[work.locomotive]
L = {{ ends_in = "lead" }}
"""


def _puzzle(lead: str, spur: str, spot: str, closed: str = "false", fixed: str = "") -> Puzzle:
    return loads(FILE.format(lead=lead, spur=spur, spot=spot, closed=closed, fixed=fixed))


CASES = {
    "from one spot to another of the same track": (_puzzle('"L"', 'spur = ["x @ near"]', "far"), 2),
    "from an exact place off the spot": (_puzzle('"L"', 'spur = ["x"]', "far", fixed="x = 5"), 2),
    "to a spot out of reach": (_puzzle('"L", "x"', "", "far", "true"), None),
    "from a spot out of reach": (_puzzle('"L"', 'spur = ["x @ far"]', "near", "true"), None),
}
"""Each with its fewest moves, counted by hand: there and back; a locomotive that may not enter the spur, 20
long, reaches 6 in with a car of 6, and cannot leave it at 19 nor fetch it from there.
"""


@pytest.mark.parametrize("name", CASES)
def test_places_that_matter(name: str) -> None:
    """The answer is right by every search that is exact here, and ``check`` puts the same question right."""
    puzzle, moves = CASES[name]
    for search in ("auto", "events", "compiled events"):
        solution = solve(puzzle, search=search, tie_standings=0)
        assert (solution.verdict is Verdict.IMPOSSIBLE) is (moves is None), search
        assert solution.lower_bound == moves, search
    for search in ("longest runs", "compiled longest runs"):
        with pytest.raises(ValueError, match="longest runs are not exact here"):
            solve(puzzle, search=search)
    assert decide(puzzle).moves == moves


def test_a_car_that_stays_at_its_spot_changes_nothing() -> None:
    """A car said to be at the spot that it is wanted at, or at an exact place over it, leaves them exact."""
    at_spot = _puzzle('"L"', 'spur = ["x @ far"]', "far")
    at_place = _puzzle('"L"', 'spur = ["x"]', "far", fixed="x = 13.5")
    for puzzle in (at_spot, at_place):
        assert solve(puzzle, search="longest runs", tie_standings=0).lower_bound == 0


def test_a_spot_behind_a_gap() -> None:
    """A car for spot 3 with another standing at spot 1: longest runs find standings with too few moves and no
    plan along them; the law finds what there is.
    """
    file = Path(__file__).parent.parent / "puzzles" / "glasshouse_switchback.toml"
    start, _ = file.read_text(encoding="utf-8").split("[start]")
    set_up = """[start]
"Wharf lead" = ["OXCC 301", "S&I 3"]
"glass works" = ["OXCC 300 @ 1"]
pier = ["QLV 900", "QLV 902"]

[work.spot]
"OXCC 301" = "glass works 3"
"""
    puzzle = loads(start + set_up)
    both = [solve(puzzle, search=search, tie_standings=0) for search in ("auto", "events")]
    assert {one.verdict for one in both} == {Verdict.PROVED}
    assert len({one.lower_bound for one in both}) == 1
