"""The list of all endings: it can be stopped, and looks at nothing that no track has room for."""

from __future__ import annotations

import pytest

from switchsolve.effort import forced_moves
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.runs import LongestRuns
from switchsolve.solving import solve
from switchsolve.solving.proving import fewest_moves
from switchsolve.work import EndsIn, Place
from tests.builders import set_up, spur_district

CARS = ("c1", "c2", "c3", "c4", "c5")


def _five(spur: int, *tracks: str) -> Puzzle:
    """Five cars, 1 to 5 long, behind the locomotive, to any of these tracks."""
    items = [EndsIn(car, tuple(map(Place, tracks))) for car in CARS]
    return set_up(
        spur_district(lead=16, main=4, spur=spur), {"lead": f"{' '.join(CARS)} L"}, *items,
        heads={"L": "to"}, lengths={car: length for length, car in enumerate(CARS, 1)},
    )  # fmt: skip


class _Enough(Exception):
    pass


def test_the_caller_is_asked_and_may_stop_it() -> None:
    """Five different cars stand on the spur in 120 orders; to stop at the hundredth look ends the list."""
    rules = Rules(pack(_five(15, "spur")))
    looks = 0

    def look() -> None:
        nonlocal looks
        looks += 1
        if looks == 100:
            raise _Enough

    with pytest.raises(_Enough):
        endings(rules, LongestRuns(rules), 20_000, look=look)
    with pytest.raises(TooManyEndings):
        endings(rules, LongestRuns(rules), 119)


def test_a_stop_while_endings_are_listed_gives_a_bound() -> None:
    """No run does it alone, for the cars come behind the locomotive: so two at least, and who stopped it."""
    solution = solve(_five(15, "spur"), stop=lambda: "Ctrl-C", tie_standings=0)
    assert solution.verdict is Verdict.GAVE_UP
    assert (solution.lower_bound, solution.limit) == (2, "Ctrl-C")


def test_a_stop_while_endings_are_listed_is_told_by_a_bare_proof_too() -> None:
    """The same of the question that asks for no plan, and of forced moves: an answer, and no traceback."""
    found = fewest_moves(_five(15, "spur"), stop=lambda: "Ctrl-C")
    assert (found.verdict, found.moves, found.bound, found.limit) == (Verdict.GAVE_UP, None, 2, "Ctrl-C")
    assert forced_moves(_five(15, "spur"), stop=lambda: "Ctrl-C").refused == "Ctrl-C"


def test_what_has_no_room_is_not_looked_at() -> None:
    """A spur for ten of fifteen: none of the orders of five cars is looked at."""
    rules = Rules(pack(_five(10, "spur")))
    assert endings(rules, LongestRuns(rules), 20_000, look=lambda: pytest.fail("looked")) == []
    assert solve(_five(10, "spur"), tie_standings=0).verdict is Verdict.IMPOSSIBLE
