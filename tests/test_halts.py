"""Longest runs that halt on the way, over tables, round ovals and balloon loops: the same minimum as the
law, plain and compiled, and where they are not asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

import numpy as np
import pytest

from switchsolve.district import District, End, KeepClear, Marks, Table
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.rules import CoarseRules, Rules, String
from switchsolve.search import bounded, compiled_runs
from switchsolve.search.compilable import is_packable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.exact import applies, bounds, why_not_coarse
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.runs import LongestRuns
from switchsolve.search.space import Space
from switchsolve.solving import solve
from switchsolve.solving.by_events import EVENT_SEARCHES
from switchsolve.solving.proving import fewest_moves
from switchsolve.work import AnyCars, EndsIn, LocomotiveEnds, Place
from tests.brute_force import brute_minimum
from tests.builders import build, set_up, track, turnout
from tests.random_halts import puzzle_with_oval, puzzle_with_table
from tests.reference_district import with_table

_MOST = 60_000
"""Standings that the law expands in what is compared here."""
_PLAIN = Marks()
_TABLES = (*range(36), 80, 2037)
_OVALS = (*range(24), 54, 60, 65, 67, 69, 74, 85, 92, 156, 215)
"""Random districts; the last ones showed a defect of an earlier version."""


def _turntable(length: int = 5, *, tail: int = 4, marks: Marks = _PLAIN) -> District:
    """A lead, behind its turnout two tracks that end at a table, and a stall behind the table."""
    ends = [End("one", "to"), End("two", "to"), End("stall", "from")]
    meets = [("from", end) for end in ends] + [("to", end) for end in ends]
    return build(
        [track("lead", 8), track("one", tail), track("two", tail), track("stall", 3)],
        [turnout("J", "lead.to", "one.from", "two.from", lengths=(1, 1))],
        tables=[Table("T", "turntable", length, tuple(meets), 0, marks)],
    )


def _moves(puzzle: Puzzle, search: str) -> int | None:
    found = solve(puzzle, search=search, tie_standings=0)
    assert found.verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE)
    assert "longest runs" in str(found.stats["search"]) or found.lower_bound == 1
    return None if found.counts is None else found.counts.moves


@pytest.mark.parametrize("search", ["longest runs", "compiled longest runs"])
def test_a_locomotive_is_turned_in_one_move(search: str) -> None:
    """It runs on to the table, is turned end for end, and leaves it ahead: no reversal, by the definition of
    a move.  The other way round it takes the two tracks for a run-around: 1 move as well.
    """
    for where, heads in (("lead", "from"), ("stall", "to")):
        puzzle = set_up(_turntable(), {"lead": "L"}, LocomotiveEnds("L", where, heads), heads={"L": "to"})
        assert brute_minimum(puzzle) == _moves(puzzle, search) == 1


@pytest.mark.parametrize("search", ["longest runs", "compiled longest runs"])
def test_cars_are_passed_by_a_table(search: str) -> None:
    """The locomotive leaves its car on one track, goes over the table, and comes back by the other: it is
    behind the car then, and shoves it where it was to be shoved.

    By hand: ahead with the car to ``one``, cut, on to the table, lined to ``two`` by its other end, out to
    the lead, all in one move; back up to the car.
    """
    puzzle = set_up(
        _turntable(),
        {"lead": "c L"},
        EndsIn("c", (Place("stall"),)),
        LocomotiveEnds("L", "one"),
        heads={"L": "to"},
    )
    assert applies(Rules(pack(puzzle)), with_halts=True) is None
    assert _moves(puzzle, search) == brute_minimum(puzzle)


def _enough(expanded: int) -> str | None:
    return "enough" if expanded > _MOST else None


def _compare(
    draw: Callable[[int], Puzzle], seeds: Iterable[int], searches: Sequence[str]
) -> Counter[str]:
    """Verdicts of those compared; the law, seen coarsely where it may be, says them with what it expands from
    the start.
    """
    seen: Counter[str] = Counter()
    for seed in seeds:
        puzzle = draw(seed)
        rules = Rules(pack(puzzle))
        if applies(rules, with_halts=True) is not None:
            continue
        assert is_packable(rules)
        seen_as = CoarseRules(rules.p) if why_not_coarse(rules) is None else rules
        law = search_compiled(seen_as, Goal(seen_as), should_stop=_enough)
        if not law.is_exhausted:
            continue
        under_way = len(puzzle.start.under_way)
        least = None if law.node is None else law.node.cost.moves + under_way
        for search in searches:
            found = solve(puzzle, search=search, tie_standings=0)
            moves = None if found.counts is None else found.counts.moves
            assert moves == least, f"seed {seed}, {search}"
        if found.stats["search"] in EVENT_SEARCHES:
            continue
        seen["impossible" if least is None else "six or more" if least >= 6 else "fewer"] += 1
    return seen


_BOTH = ("longest runs", "compiled longest runs")


@pytest.mark.parametrize(
    ("draw", "seeds"), [(puzzle_with_table, _TABLES), (puzzle_with_oval, _OVALS)], ids=["tables", "ovals"]
)
def test_as_many_moves_as_by_the_law(
    draw: Callable[[int], Puzzle], seeds: Sequence[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On random districts: as the law says, which is held to brute force elsewhere (``test_coarse.py``,
    ``test_random_districts.py``).  The compiled search has all its tables of bounds from the start.
    """
    monkeypatch.setattr(compiled_runs, "_PLAIN", 0)
    monkeypatch.setattr(bounded, "_TABLES_PAY", 1e9)
    seen = _compare(draw, seeds, _BOTH)
    assert min(seen[what] for what in ("impossible", "six or more", "fewer")) >= 3, seen


@pytest.mark.slow
@pytest.mark.parametrize("draw", [puzzle_with_table, puzzle_with_oval], ids=["tables", "ovals"])
@pytest.mark.parametrize("first", range(100, 900, 100))
def test_as_many_moves_as_by_the_law_on_many(draw: Callable[[int], Puzzle], first: int) -> None:
    """The same on hundreds more, half a minute each."""
    assert _compare(draw, range(first, first + 100), _BOTH)["six or more"] > 10


def test_cars_coupled_over_the_edge_of_a_table() -> None:
    """The work is done with one car on the table, one on the short track before it, and the locomotive
    coupled to both: it shoved them there in its last move.  The table has room behind the first, so the law
    is asked.

    By hand: it takes a car from either track and shoves both home; the second one is coupled to in passing.
    """
    ends = (End("short", "to"), End("far", "from"))
    district = build(
        [track("lead", 8), track("side", 3), track("short", 2), track("far", 4)],
        [turnout("J", "lead.to", "short.from", "side.from", lengths=(1, 1))],
        tables=[Table("T", "transfer table", 7, (("from", ends[0]), ("to", ends[1])), 0)],
    )
    puzzle = set_up(
        district,
        {"lead": "L", "side": "b", "short": "a"},
        EndsIn("a", (Place("T"),)),
        EndsIn("b", (Place("short"),)),
        heads={"L": "to"},
        lengths={"a": 2, "b": 2, "L": 1},
    )
    assert applies(Rules(pack(puzzle)), with_halts=True) is None
    found = solve(puzzle, search="longest runs", tie_standings=0)
    assert brute_minimum(puzzle) == found.lower_bound == 3
    assert found.stats["search"] in EVENT_SEARCHES


def test_cars_coupled_over_the_edge_between_two_tracks() -> None:
    """The same where two tracks meet end to end: the locomotive pulls a car out of a spur, shoves it against
    another, and both home, over the edge between two tracks: 3 moves, by brute force as well.
    """
    district = build(
        [track("lead", 8), track("spur", 3), track("B", 5), track("A", 1)],
        [turnout("J", "lead.to", "B.from", "spur.from", lengths=(2, 2))],
        links=[("B.to", "A.from")],
    )
    puzzle = set_up(
        district,
        {"lead": "L", "spur": "c2", "B": "c1"},
        EndsIn("c1", (Place("A"),)),
        EndsIn("c2", (Place("B"),)),
        heads={"L": "to"},
    )
    assert brute_minimum(puzzle) == 3
    assert _moves(puzzle, "longest runs") == _moves(puzzle, "compiled longest runs") == 3


@pytest.mark.parametrize(
    ("district", "why"),
    [
        (_turntable(3), "fill to the last"),
        (_turntable(4), "fill to the last"),
        (_turntable(5, marks=Marks(no_locomotives=True)), "closed to some vehicle"),
        (_turntable(5, marks=Marks(keep_clear=KeepClear.ALWAYS)), "to be kept clear"),
    ],
    ids=["filled", "but for one unit", "closed", "kept clear"],
)
def test_where_they_are_not_asked(district: District, why: str) -> None:
    """Where places on the table matter that longest runs do not see: with a car of 2 and a locomotive of 1,
    together 3, a table of 3, or of 4, which leaves no room at both ends.  The law is asked then.
    """
    puzzle = set_up(
        district, {"lead": "c L"}, EndsIn("c", (Place("stall"),)), heads={"L": "to"}, lengths={"c": 2}
    )
    said = bounds(Rules(pack(puzzle)), with_halts=True)
    assert said is not None and why in said
    assert solve(puzzle, tie_standings=0).stats["search"] in EVENT_SEARCHES


def test_nobody_comes_on_to_a_table_that_somebody_lies_over() -> None:
    """A car lies over the edge of the table, so the table is lined to its track: who comes from the stall
    does not meet it, plain or compiled.  Who comes along the car's own track does.
    """
    puzzle = set_up(
        _turntable(7, tail=4),
        {"lead": "c", "stall": "L"},
        EndsIn("c", (Place("stall"),)),
        heads={"L": "to"},
        lengths={"c": 5},
    )
    rules = Rules(pack(puzzle))
    runs = LongestRuns(rules)
    cell = {name: min(cells) for name, cells in rules.p.cells_of_track.items()}
    loco = next(token for token, is_loco in enumerate(rules.is_loco) if is_loco)
    car = next(2 * n for n, what in enumerate(rules.p.classes) if not what.is_locomotive)
    over = String((2 * cell["one"], 2 * cell["T"]), (car,))
    route = next(n for n, one in enumerate(rules.p.cells) if 2 * cell["one"] in rules.p.ways_on[2 * n])
    for way, meets in ((2 * cell["stall"] + 1, False), (2 * route, True)):
        mine = String((way,), (loco,))
        state = (over,), mine
        following = set(runs.steps(state))
        assert any(car in after.tokens for _, after in following) == meets
        space = Space(rules)
        reached = Reached(space, Budget(None))
        reached.begin([state], 1)
        reached.expand(np.arange(1), 2)
        assert {space.decode(row) for row in reached.keys[1 : reached.count]} == following


# ---- what an earlier version had wrong, found by a reviewer


@pytest.mark.parametrize(("under_way", "least"), [({}, 2), ({"L": "to"}, 3)], ids=["standing", "under way"])
def test_a_car_shoved_over_an_edge_is_not_pulled_back(under_way: dict[str, str], least: int) -> None:
    """Two tracks end to end.  Coupled to both cars, one on each track, the locomotive cannot have left the
    nearer one beyond the edge, though there is room; the law is asked, for places matter.
    """
    district = build([track("A", 20), track("B", 30)], links=[("A.to", "B.from")])
    puzzle = set_up(
        district,
        {"B": "L", "A": "c2 c1"},
        EndsIn("c1", (Place("B"),)),
        EndsIn("c2", (Place("A"),)),
        heads={"L": "from"},
        under_way=under_way,
        lengths={"c1": 4, "c2": 4, "L": 6},
    )
    assert brute_minimum(puzzle) == least
    assert fewest_moves(puzzle).moves == least
    found = solve(puzzle, search="longest runs", tie_standings=0)
    assert (found.lower_bound, found.stats["search"] in EVENT_SEARCHES) == (least, True)


def test_a_like_car_loose_behind() -> None:
    """A car stands loose behind the locomotive and its car, which are alike: what goes on over the table is
    the coupled one, what stays the loose one.  2 moves, by the law as well.
    """
    ends = (("from", End("A", "to")), ("to", End("B", "from")))
    district = build(
        [track("A", 12), track("B", 12), track("S", 18), track("U", 12)],
        [turnout("J", "S.to", "B.to", "U.from", lengths=(2, 2))],
        tables=[Table("T", "transfer table", 9, ends, 0)],
    )
    puzzle = set_up(
        district,
        {"A": "c1 | c2 L"},
        AnyCars("car", 1, Place("U")),
        heads={"L": "to"},
        lengths={"c1": 2, "c2": 2, "L": 2},
    )
    assert solve(puzzle, search="compiled events", tie_standings=0).lower_bound == 2
    assert _moves(puzzle, "longest runs") == _moves(puzzle, "compiled longest runs") == 2


def test_cars_loose_behind_over_one_part_or_two() -> None:
    """What stands loose behind the locomotive may lie over one part of its track or two: over two it would be
    in the way of who comes round again.
    """
    district = build(
        [
            *(track(name, length) for name, length in (("T0", 43), ("T1", 6), ("T2", 42), ("T3", 18))),
            track("T4", 48, 6),
            *(track(name, length) for name, length in (("T5", 18), ("T6", 12), ("T7", 12))),
        ],
        [
            turnout("J0", "T0.from", "T2.to", "T6.from", lengths=(6, 18)),
            turnout("J1", "T1.to", "T2.from", "T5.to", lengths=(6, 6)),
            turnout("J2", "T3.from", "T4.to", "T7.from", lengths=(6, 6)),
            turnout("J3", "T4.from", "T3.to", "T5.from", lengths=(12, 12)),
        ],
        links=[("T0.to", "T1.from")],
    )
    puzzle = set_up(
        district,
        {"T4": "L | c0 | c2"},
        EndsIn("c0", (Place("T2"),)),
        EndsIn("c2", (Place("T0"),)),
        heads={"L": "to"},
        under_way={"L": "from"},
        lengths={"c0": 12, "c2": 12, "L": 6},
    )
    law = solve(puzzle, search="compiled events", tie_standings=0)
    assert law.lower_bound == 2
    assert _moves(puzzle, "longest runs") == _moves(puzzle, "compiled longest runs") == 2


def test_a_string_longer_than_the_table_does_not_pass_it() -> None:
    """A long track meets the table, and leads back round an oval: a string over the edge of the table still
    cannot go out at its other end.  Locomotive and car are 8 long, the table 6, so the car never passes it.
    """
    meets = (("from", End("A", "to")), ("from", End("D", "to")), ("to", End("C", "from")))
    lengths = {"A": 20, "D": 20, "C": 40, "P": 20, "Q": 20, "X": 20, "Y": 20}
    district = build(
        [track(name, length) for name, length in lengths.items()],
        [
            turnout("J", "C.to", "X.from", "Y.to", lengths=(2, 2)),
            turnout("K1", "P.from", "X.to", "Q.to", lengths=(2, 2)),
            turnout("K2", "P.to", "Y.from", "Q.from", lengths=(2, 2)),
        ],
        tables=[Table("T", "transfer table", 6, meets, 0)],
    )
    puzzle = set_up(
        district,
        {"A": "L c1"},
        EndsIn("c1", (Place("P"),)),
        LocomotiveEnds("L", "C"),
        heads={"L": "to"},
        lengths={"c1": 4, "L": 4},
    )
    assert fewest_moves(puzzle).verdict is Verdict.IMPOSSIBLE
    for search in ("longest runs", "compiled longest runs", "compiled events"):
        assert solve(puzzle, search=search, tie_standings=0).verdict is Verdict.IMPOSSIBLE


@pytest.mark.parametrize(("count", "least"), [(1, 7), (2, 12)])
def test_the_reference_district_with_a_table(count: int, least: int) -> None:
    """As many moves as by coarse events from both ends, another search; 2+2 by events takes ten seconds."""
    assert _moves(with_table(count), "compiled longest runs") == least
    if count == 1:
        by_events = solve(with_table(count), search="coarse events from both ends", tie_standings=0)
        assert by_events.counts is not None and by_events.counts.moves == least
