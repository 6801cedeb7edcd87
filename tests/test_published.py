"""The solver against shunting puzzles in print, and against an independent count for a yard in print.

Print counts reversals with every engine under way at the start; moves = reversals + engines.  The sources
stand in :mod:`tests.published` and beside each check.  (Scales and lengths of cars from print are checked in
``test_scales.py``.)
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest

from switchsolve.plan import Plan, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.solving import solve
from tests.builders import advance, couple, cut, place, run
from tests.published import railway_muddle, railway_shunting, wye_exchange, yard
from tests.yard_draws import least_moves


def _solved(puzzle: Puzzle, **options: float) -> Solution:
    """The proved answer, replayed here once more."""
    solution = solve(puzzle, tie_standings=0, **options)  # type: ignore[arg-type]
    assert solution.verdict == Verdict.PROVED
    assert solution.plan is not None
    assert replay(puzzle, solution.plan).counts == solution.counts
    return solution


# -- puzzles in print ------------------------------------------------------------------------------------


def test_wye_in_print() -> None:
    """W. W. Rouse Ball, Mathematical Recreations and Essays (4th ed. 1905), "Shunting problems".

    The printed manoeuvre has 17 runs, 16 reversals; no minimum is claimed there.  That 16 is the minimum for
    these lengths, and 7 if the engine may end anywhere, was proved by brute force (``test_brute_force.py``
    does it again).  The engine is under way, so moves = reversals + 1.
    """
    home, anywhere = _solved(wye_exchange(back=True)), _solved(wye_exchange(back=False))
    assert home.counts is not None and anywhere.counts is not None
    assert (home.counts.moves, home.counts.reversals) == (17, 16)
    assert (anywhere.counts.moves, anywhere.counts.reversals) == (8, 7)


def test_railway_shunting_in_print() -> None:
    """H. E. Dudeney, Modern Puzzles (1926) no. 48: printed minimum 14 reversals, and here 14 are proved.

    Both engines are under way, so 16 moves.  (A slow test of ``test_brute_force.py`` proves it too.)
    """
    found = _solved(railway_shunting())
    assert found.counts is not None
    assert (found.counts.moves, found.counts.reversals) == (16, 14)


def _printed_muddle(puzzle: Puzzle, side: int) -> Plan:
    """The printed manoeuvre of "A Railway Muddle", on real turnouts.

    ``A`` cuts off all wagons but ``side - 1``; ``B`` shoves them back, leaves all but the last in the loop,
    brings the last, shoves the others out on the right, and leaves the last for ``A`` in the loop.
    """
    kept = " ".join(f"a{number}" for number in range(side - 1, 0, -1))
    middle = [f"a{number}" for number in range(side, 2 * side)]
    last = f"a{2 * side}"
    there, back = " ".join(middle), " ".join(reversed(middle))
    by_upper = "east/0 -upper -west/0 -left"
    runs = (
        run("A+", advance(side, "west/0 upper"), cut(f"{there} {last}"), advance(1)),
        run("B+", advance(side + 2, "east/1 -lower -west/1"), couple(f"{there} {last}"), advance(side)),
        run("A+", advance(4 * side + 2, "-east/0 right")),
        run("B-", cut(last), advance(2 * side + 1, "-east/1 right"), cut(there), advance(1)),
        run("B+", advance(3 * side + 2, by_upper), couple(last), advance(1)),
        run(
            "B-",
            advance(1, "west/1"),
            couple(back),
            advance(3 * side + 1, "-east/1 right"),
            cut(last),
            advance(1),
            couple(f"{kept} A"),
        ),
        run("B+", cut(f"{back} {kept} A"), advance(3 * side + 3, by_upper)),
        run("A-", advance(2 * side + 2, "east/1"), couple(last)),
        run("A+", advance(2)),
    )
    return Plan(place(puzzle, 2 * side, 0), runs)


@pytest.mark.parametrize("side", [2, 8])
def test_railway_muddle_in_print(side: int) -> None:
    """H. E. Dudeney, Amusements in Mathematics (1917) no. 223: printed minimum 6 reversals, hand-found, with
    sides of eight and turnouts of no length.

    On turnouts one unit long the printed manoeuvre still takes 6, if the line is long enough: both engines
    are under way, so 8 moves.
    """
    puzzle = railway_muddle(side)
    counts = replay(puzzle, _printed_muddle(puzzle, side)).counts
    assert (counts.reversals, counts.moves) == (6, 8)


# -- a yard in print -------------------------------------------------------------------------------------

Stacks = tuple[str, str, str, str]
"""Cars on the lead, read from the locomotive, and on the long, short, other track, from the points."""

HOLDS: tuple[int, int, int, int] = (3, 5, 3, 3)


def _visits(stacks: Stacks, holds: tuple[int, int, int, int] = HOLDS) -> Iterator[tuple[Stacks, bool]]:
    """What one visit to a track can leave, and whether the locomotive may end in it, with nothing coupled.

    The lead's cars are shoved in, as many as wanted are pulled out: the row of both is parted anew.
    """
    for track in (1, 2, 3):
        row = stacks[0] + stacks[track]
        for kept in range(len(row) + 1):
            if kept <= holds[0] and len(row) - kept <= holds[track]:
                after = list(stacks)
                after[0], after[track] = row[:kept], row[kept:]
                yield (after[0], after[1], after[2], after[3]), kept == 0


def _fewest_moves(
    drawn: str, *, lead_is_empty: bool, holds: tuple[int, int, int, int] = HOLDS
) -> int | None:
    """Least moves by visits to tracks: two moves each, but one for the last if it ends in the track.

    Nothing here is spans, runs or positions: with every turnout to be kept clear, and no car behind the
    locomotive, what stands at the reversals are stacks of cars, and nothing else.
    """
    marked = str.maketrans({name: "-" for name in "12345678" if name not in drawn})
    start: Stacks = ("", "12345".translate(marked), "678".translate(marked), "")
    layer, seen, moves = {start}, {start}, 0
    while layer:
        following = set()
        ends_in_track = False
        for stacks in layer:
            if stacks[1] == drawn and not (lead_is_empty and stacks[0]):
                return moves
            for after, may_end in _visits(stacks, holds):
                ends_in_track |= may_end and after[1] == drawn
                following.add(after)
        if ends_in_track:
            return moves + 1
        layer, moves = following - seen, moves + 2
        seen |= layer
    return None


def _draws(seed: int, count: int) -> list[str]:
    random = Random(seed)
    return ["".join(random.sample("12345678", 5)) for _ in range(count)]


@pytest.mark.parametrize("drawn", _draws(48, 4)[1:])
@pytest.mark.parametrize("lead_is_empty", [False, True])
def test_yard_in_print(drawn: str, lead_is_empty: bool) -> None:
    """S. R. Blackburn, Electronic Journal of Combinatorics 26(2) (2019) P2.8: a yard of 5, 3 and 3.

    That all 6,720 draws can be done is proved; here some are, with both conditions, and the minimum is the
    one found by a search over stacks of cars that knows nothing of rail.
    """
    solution = _solved(yard(tuple(drawn), lead_is_empty=lead_is_empty))
    assert solution.lower_bound == _fewest_moves(drawn, lead_is_empty=lead_is_empty)


def test_yard_without_room_on_the_lead() -> None:
    """The count by visits can say no: with no room on the lead nothing comes out of the long track."""
    assert _fewest_moves("12345", lead_is_empty=True, holds=(0, 5, 3, 3)) == 0
    assert _fewest_moves("21345", lead_is_empty=True, holds=(0, 5, 3, 3)) is None


@pytest.mark.parametrize("lead_is_empty", [False, True])
def test_yard_in_print_every_draw(lead_is_empty: bool) -> None:
    """S. R. Blackburn, as above: all 6,720 draws can be done, as proved in print; and on some of them, drawn
    at random, the least moves are those of the count by visits.
    """
    moves = least_moves(lead_is_empty=lead_is_empty)
    assert len(moves) == 6720 and None not in moves.values()
    for drawn in _draws(7, 8):
        assert moves[drawn] == _fewest_moves(drawn, lead_is_empty=lead_is_empty), drawn


@pytest.mark.slow
def test_yard_in_print_all_draws() -> None:
    """The count by visits, the yardstick here, does all 6,720 draws, as proved in print; lead empty."""
    start: Stacks = ("", "12345", "678", "")
    seen, waiting = {start}, [start]
    while waiting:
        for after, _ in _visits(waiting.pop()):
            if after not in seen:
                seen.add(after)
                waiting.append(after)
    assert len({long for lead, long, _, _ in seen if len(long) == 5 and not lead}) == 6720


@pytest.mark.slow
@pytest.mark.parametrize("drawn", _draws(5331, 60))
def test_yard_in_print_sixty_draws(drawn: str) -> None:
    """As above for sixty draws more, with no car left on the lead."""
    solution = _solved(yard(tuple(drawn), lead_is_empty=True))
    assert solution.lower_bound == _fewest_moves(drawn, lead_is_empty=True)
