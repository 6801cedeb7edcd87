"""Arrangements to a wish: the search against building and solving every arrangement, and what it promises."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from switchsolve.crew import plain_crew
from switchsolve.design import Option
from switchsolve.designing import RAIL, TURNOUTS, CannotAsk, Found, design
from switchsolve.designing.fewest_trips import Trips, fewest_trips
from switchsolve.designing.laying import lay
from switchsolve.designing.loosening import ways_of
from switchsolve.effort import trips_around
from switchsolve.facts import examine
from switchsolve.flipping import both_ways, flippable, flipped
from switchsolve.lengthening import lengthened
from switchsolve.measuring.pieces import clipped
from switchsolve.minutes import figures_of, seconds_of
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load, loads
from switchsolve.referee import replay
from switchsolve.rowsfile import RowsError
from switchsolve.solving import solve
from tests.brute_force import brute_minimum
from tests.design_files import GROUND, drawn_design, drawn_spurs, enumerated
from tests.random_districts import random_puzzle
from tests.tiny_districts import tiny_puzzle

ROOT = Path(__file__).parent.parent
SOME = (2, 5, 9, 13, 15, 36)
"""Seeds of small spaces; with two of them no arrangement fulfills everything."""
FOUR = """[design]
leave_out = ["run-around"]
[design.lengths]
"Lane tail" = { least = 1, most = 3, step = 2 }
"""


def _all(puzzle: Puzzle) -> Found:
    return design(puzzle, most=10_000, workers=1)


def _rows(found: Found) -> list[tuple[float, int, tuple[tuple[str, str], ...]]]:
    return sorted((float(one.cost), one.turnouts, one.chosen) for one in found.arrangements)


def _compare(seed: int) -> int:
    puzzle = loads(drawn_design(seed))
    wanted, found = enumerated(puzzle), _all(puzzle)
    assert _rows(found) == wanted, f"seed {seed}"
    assert found.is_exhaustive and found.tally.undecided == found.tally.left == 0
    costs = [one.cost for one in found.arrangements]
    assert costs == sorted(costs)
    assert found.tally.ruled_out.total() + len(wanted) == found.tally.all
    return len(wanted)


def test_the_search_is_enumeration() -> None:
    """On small spaces the search finds just what solving every arrangement finds, the cheapest first."""
    counts = [_compare(seed) for seed in SOME]
    assert 0 in counts and any(counts)


@pytest.mark.slow
def test_the_search_is_enumeration_on_more() -> None:
    """The same on 45 spaces: none differs, and a fifth of them and more have no arrangement."""
    counts = [_compare(seed) for seed in range(45)]
    assert counts.count(0) >= 9


@pytest.mark.parametrize("seed", [13, 23, 24])
def test_spurs_both_ways_round(seed: int) -> None:
    """Where several spurs may be flipped a question is put for many ways at once; it is enumeration."""
    assert _compare_spurs(seed)


@pytest.mark.slow
def test_spurs_both_ways_round_on_more() -> None:
    """The same on 30 spaces, of which a third and more have no arrangement."""
    counts = [_compare_spurs(seed) for seed in range(30)]
    assert counts.count(0) >= 10 and any(counts)


def _compare_spurs(seed: int) -> int:
    puzzle = loads(drawn_spurs(seed))
    wanted, found = enumerated(puzzle), _all(puzzle)
    assert _rows(found) == wanted, f"seed {seed}"
    assert found.is_exhaustive and found.tally.undecided == found.tally.left == 0
    return len(wanted)


def test_fifteen_spurs_to_flip() -> None:
    """Of 32,768 arrangements of a lane with fifteen spurs, of which only one is asked about, a few questions
    decide all: whether there is one, and that there is none.
    """
    met, none = (design(loads(_lane(15, most)), workers=1, most=1) for most in (2, 1))
    assert met.is_exhaustive and len(met.arrangements) == 1 and met.questions < 60
    assert none.is_exhaustive and not none.arrangements and none.tally.ruled_out.total() == 1 << 15


def _lane(spurs: int, most: int) -> str:
    """A lane with so many spurs, drawn facing, and a wish about the first of them."""
    names = [f"spur {n}" for n in range(1, spurs + 1)]
    before = ["Lane lead to", *(f"turnout {n} straight" for n in range(1, spurs))]
    lines = ['title = "A lane"', 'unit = "cm"', "[tracks]", '"Lane lead" = { from = "entrance", length = 6 }']
    lines += [
        f'"{name}" = {{ from = "turnout {n} diverging", length = 1 }}' for n, name in enumerate(names, 1)
    ]
    lines += [f'"Lane tail" = {{ from = "turnout {spurs} straight", length = 2 }}', "[turnouts]"]
    lines += [
        f'"turnout {n}" = {{ length = 1, meets = {{ points = "{end}" }} }}' for n, end in enumerate(before, 1)
    ]
    lines += ["[kinds]", "box = 1", "[standards]", 'car = "box"', "[locomotives]"]
    lines += ['"S&I 5" = { length = 1, heads = "to" }', "[cars]", '"THB 12" = "box"', "[start]"]
    lines += ['"Lane lead" = ["THB 12", "S&I 5"]', "[work]", 'spot = { "THB 12" = "spur 1" }', "[design]"]
    lines += [f"flip = {json.dumps(names)}", "[[design.wishes]]", 'about = "work"', f"most_moves = {most}"]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("seed", [15])
def test_what_to_leave_out_is_what_enumeration_says(seed: int) -> None:
    """If there is none, leaving out what is named helps, and leaving out any other single thing does not."""
    puzzle = loads(drawn_design(seed))
    asked = puzzle.design
    found = _all(puzzle)
    assert asked is not None and not enumerated(puzzle) and found.ways_exhaustive
    named = {way.left_out for way in found.ways}
    assert {len(names) for names in named} == {1}
    eased = {wish.name: _without(puzzle, wish.name) for wish in asked.wishes}
    if asked.most_rail is not None:
        eased[RAIL] = replace(puzzle, design=replace(asked, most_rail=None))
    if asked.most_turnouts is not None:
        eased[TURNOUTS] = replace(puzzle, design=replace(asked, most_turnouts=None))
    for name, easier in eased.items():
        rows = enumerated(easier)
        assert bool(rows) == ((name,) in named)
        if rows:
            (best,) = [way.arrangement for way in found.ways if way.left_out == (name,)]
            assert float(best.cost) == rows[0][0]


def _without(puzzle: Puzzle, name: str) -> Puzzle:
    asked = puzzle.design
    assert asked is not None
    return replace(
        puzzle, design=replace(asked, wishes=tuple(wish for wish in asked.wishes if wish.name != name))
    )


def test_the_first_few_are_the_cheapest() -> None:
    """Asked for two, the search stops at the two cheapest of all, and says that the others are no cheaper."""
    puzzle = loads(drawn_design(13))
    every, few = _rows(_all(puzzle)), design(puzzle, most=2, workers=1)
    assert [float(one.cost) for one in few.arrangements] == [row[0] for row in every[:2]]
    assert few.is_exhaustive and few.tally.left > 0


def test_every_file_does_what_was_asked() -> None:
    """What is written reads back, leaves nothing open, and its work takes no more moves than was wished."""
    wish = '[[design.wishes]]\nabout = "work"\nmost_moves = 8\n'
    found = _all(loads(GROUND + FOUR + wish))
    assert found.arrangements
    for one in found.arrangements:
        again = loads(one.text)
        assert again == one.puzzle and again.design is None
        solution = solve(again, tie_standings=0)
        assert solution.counts is not None and solution.counts.moves <= 8
        assert one.fulfilled[0].answer.figure.most == solution.counts.moves


def test_some_of_the_spots() -> None:
    """A wish for one spot with so many moves, such as a teaser, is met by one such spot, whichever it is."""
    flip = '[design]\nflip = ["cider works"]\n'
    wish = '[[design.wishes]]\nabout = "spots"\nleast_moves = 3\nmost_moves = 3\n{}'
    some, all_of_them = (loads(GROUND + flip + wish.format(more)) for more in ("how_many = 1\n", ""))
    assert _rows(_all(some)) == enumerated(some)
    assert _rows(_all(all_of_them)) == enumerated(all_of_them)
    assert enumerated(some) and not enumerated(all_of_them)


# ---- wishes of which nothing is known but by asking


def test_a_plain_crew_is_asked() -> None:
    """Minutes of a plain crew are those of its own plan, for every arrangement."""
    puzzle = loads(GROUND + FOUR)
    wish = '[[design.wishes]]\nabout = "plain crew"\nleast_minutes = 0\nmost_minutes = {}\n'
    taken = [_crew_seconds(one.puzzle) for one in _all(puzzle).arrangements]
    assert None not in taken
    minutes = sorted(float(seconds) / 60 for seconds in taken if seconds is not None)
    most = int(minutes[0]) + 1
    found = _all(loads(GROUND + FOUR + wish.format(most)))
    assert len(found.arrangements) == sum(one <= most for one in minutes)
    for one in found.arrangements:
        answer = one.fulfilled[0].answer
        assert answer.at_best is not None and answer.at_best <= answer.figure.most


def _crew_seconds(puzzle: Puzzle) -> float | None:
    counts = plain_crew(puzzle).counts
    return None if counts is None else float(seconds_of(figures_of(puzzle), counts))


def test_the_standards_are_asked() -> None:
    """With `standards` only arrangements remain that `check` says meet them."""
    text = GROUND.replace('car = "box"\n', 'car = "box"\nspur_holds = { "ice house" = 3 }\n')
    lengths = (
        '[design]\nstandards = true\n[design.lengths]\n"ice house" = { least = 2, most = 3, step = 1 }\n'
    )
    found = _all(loads(text + lengths))
    assert [one.chosen for one in found.arrangements] == [(("ice house (length)", "3 cm"),)]
    assert found.tally.ruled_out == {"the client's standards": 1}
    assert examine(found.arrangements[0].puzzle).meets_standards


def test_every_set_up_of_two_cars() -> None:
    """Set-ups of two cars: with a tail of the locomotive alone one of them is impossible; a car more does."""
    text = GROUND.replace('leave_out = ["run-around"]', "")
    lengths = '[design]\n[design.lengths]\n"Lane lead" = { least = 3, most = 6, step = 1 }\n'
    wish = '[[design.wishes]]\nabout = "set-ups"\nof_cars = 2\n'
    found = _all(loads(text + lengths + wish))
    for one in found.arrangements:
        assert one.fulfilled[0].answer.figure.most == 0
    assert found.is_exhaustive and found.arrangements


def test_trips_are_decided() -> None:
    """A wish for no trip rules out every arrangement of which each plan with the fewest moves has one, and
    says which wish to leave out; with one trip they are found.
    """
    wish = '[[design.wishes]]\nabout = "spots"\nspots = ["cider works"]\nmost_moves = 9\nmost_trips = {}\n'
    found = _all(loads(GROUND + FOUR + wish.format(0)))
    assert found.tally.undecided == 0 and found.tally.ruled_out.total() == 4
    assert not found.arrangements and found.is_exhaustive and len(found.ways) == 1
    found = _all(loads(GROUND + FOUR + wish.format(1)))
    assert [one.fulfilled[0].answer.trips for one in found.arrangements] == [1, 1] and found.is_exhaustive


@pytest.mark.parametrize(
    ("name", "loop"), [("quarry_hill_run_around", "run-around"), ("cask_lane_facing", "run-around")]
)
def test_the_fewest_trips_of_all_plans(name: str, loop: str) -> None:
    """Where the work cannot be done without the run-around every plan has a trip, and it is said so; one with
    one trip is found.
    """
    puzzle = load(ROOT / "puzzles" / f"{name}.toml")
    moves = puzzle.stated_minimum
    assert moves is not None
    without = solve(lay(puzzle, [Option("left out", leave_out=(loop,))]), tie_standings=0)
    assert without.verdict is Verdict.IMPOSSIBLE
    assert fewest_trips(puzzle, moves, 0) == Trips(1, None)
    assert fewest_trips(puzzle, moves, 1) == Trips(0, 1)


@pytest.mark.slow
def test_fewer_trips_than_the_plan_of_the_solver() -> None:
    """The plan of the solver for a random set-up has three trips; another of as few moves has one."""
    puzzle = random_puzzle(56)[0]
    solution = solve(puzzle, tie_standings=0)
    assert solution.plan is not None and solution.counts is not None
    assert trips_around(puzzle, replay(puzzle, solution.plan)) == 3
    assert fewest_trips(puzzle, solution.counts.moves, 0) == Trips(1, None)
    assert fewest_trips(puzzle, solution.counts.moves, 2) == Trips(0, 1)


@pytest.mark.slow
def test_the_example_of_the_readme() -> None:
    """What README says of the boat yard: three of 120, the cheapest with a tail for two cars."""
    puzzle = load(ROOT / "puzzles" / "design_boat_yard.toml")
    found = design(puzzle)
    assert found.tally.all == 120 and found.tally.left == 0 and found.is_exhaustive
    assert len(found.arrangements) == 3
    chosen = dict(found.arrangements[0].chosen)
    assert chosen["boat yard (place)"] == "as drawn" and chosen["boat yard (way round)"] == "the other way"
    assert chosen["run-around"] == "built"
    assert puzzle.design is not None
    (tail,) = [choice for choice in puzzle.design.choices if choice.length_of == "switchback tail"]
    assert [option.name for option in tail.options].index(chosen["switchback tail (length)"]) == 1


# ---- rail that cannot matter


def test_rail_that_cannot_matter() -> None:
    """A random set-up with one track far longer than can matter has the same minimum without that rail."""
    verdicts = []
    for seed in range(40):
        puzzle = random_puzzle(seed)[0]
        name = puzzle.district.tracks[seed % len(puzzle.district.tracks)].name
        long = lengthened(puzzle, name, 5 * sum(one.length + 1 for one in puzzle.vehicles.values()))
        short = clipped(long)
        if short == long:
            continue
        before, after = (solve(one, seconds=0.5, tie_standings=0) for one in (long, short))
        verdicts += [before.verdict] if before.lower_bound is not None else []
        if {before.verdict, after.verdict} <= {Verdict.PROVED, Verdict.IMPOSSIBLE}:
            assert before.lower_bound == after.lower_bound, seed
        if verdicts.count(Verdict.PROVED) == 4:
            break
    assert verdicts.count(Verdict.PROVED) >= 3


# ---- rows, workers, limits


def _some_rows(path: Path, workers: int = 1) -> Found:
    return design(loads(drawn_design(13)), most=2, workers=workers, rows=path)


def test_a_cut_file_of_rows_goes_on(tmp_path: Path) -> None:
    """With a file that ends in the middle of a line the search goes on, and comes to the same file."""
    path = tmp_path / "rows"
    first = _some_rows(path)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    second = _some_rows(path)
    assert path.read_bytes() == whole
    assert second.from_file and second.questions < first.questions
    assert _rows(second) == _rows(first)
    third = _some_rows(path)
    assert third.questions == 0 and path.read_bytes() == whole


def test_other_wishes_go_on_from_the_same_rows(tmp_path: Path) -> None:
    """Answers go by what was asked: the same design with another wish takes over what it can use."""
    path = tmp_path / "rows"
    wish = '[[design.wishes]]\nabout = "work"\nmost_moves = {}\n'
    design(loads(GROUND + FOUR + wish.format(8)), workers=1, rows=path)
    again = design(loads(GROUND + FOUR + wish.format(7)), workers=1, rows=path)
    alone = design(loads(GROUND + FOUR + wish.format(7)), workers=1)
    assert again.questions < alone.questions and _rows(again) == _rows(alone)


def test_a_killed_search_goes_on(tmp_path: Path) -> None:
    """Killed with no warning after a few rows, the same command comes to the same rows and answer."""
    whole, path = tmp_path / "whole", tmp_path / "rows"
    file = tmp_path / "design.toml"
    file.write_text(drawn_design(13), encoding="utf-8")
    _some_rows(whole)
    command = [sys.executable, "-m", "switchsolve", "design", str(file), "--workers", "1", "--most", "2"]
    killed = subprocess.Popen(
        [*command, "--rows", str(path)], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    until = time.monotonic() + 60
    while time.monotonic() < until and not (path.exists() and path.read_bytes().count(b"\n") >= 3):
        time.sleep(0.01)
    os.kill(killed.pid, signal.SIGKILL)
    killed.wait()
    assert path.read_bytes().count(b"\n") >= 3
    _some_rows(path)
    assert path.read_bytes() == whole.read_bytes()


def test_two_workers_write_the_same_rows(tmp_path: Path) -> None:
    """Answers, their order and the result do not depend on how many processes answer."""
    one, two = _some_rows(tmp_path / "one"), _some_rows(tmp_path / "two", 2)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()
    assert _rows(one) == _rows(two) and one.tally == two.tally


def test_a_file_that_holds_no_answers(tmp_path: Path) -> None:
    """A file of other rows is refused, and so is a line that is no answer; nothing is written to it."""
    path = tmp_path / "rows"
    path.write_text('{"study": "x"}\n', encoding="utf-8")
    with pytest.raises(RowsError, match="its rows are those of another design; name another file"):
        _some_rows(path)
    path.unlink()
    _some_rows(path)
    head = path.read_text(encoding="utf-8").splitlines()[0]
    path.write_text(f"{head}\n{json.dumps({'key': 3})}\n", encoding="utf-8")
    with pytest.raises(RowsError, match="line 2 is no row of a design; name another file"):
        _some_rows(path)


def test_no_time_proves_nothing() -> None:
    """Where time runs out nothing is called proved, neither the best nor that there is none."""
    found = design(loads(drawn_design(13)), workers=1, seconds=1e-9)
    assert found.stopped == "the limit of seconds"
    assert not found.is_exhaustive and not found.arrangements and not found.ways


def test_nonsense_is_refused() -> None:
    """Numbers that are too small, a puzzle with no design, and a wish with nothing to ask it with."""
    with pytest.raises(ValueError, match="one arrangement and one worker at least"):
        design(loads(GROUND + FOUR), most=0)
    with pytest.raises(ValueError, match="no design"):
        design(loads(GROUND), workers=1)
    wish = '[[design.wishes]]\nabout = "spots"\nexcept = ["ice house", "cider works"]\nmost_moves = 3\n'
    with pytest.raises(CannotAsk, match="there is no spot to ask about"):
        design(loads(GROUND + FOUR + wish), workers=1)


@pytest.mark.parametrize(("longest", "is_asked"), [(0.5, False), (1.0, True)])
def test_a_spot_too_short_for_a_car_is_told(longest: float, is_asked: bool) -> None:
    """A track that never holds one car makes "every spot" a wish that no arrangement fulfills: it is named.
    Where it holds one at its longest, the wish is asked."""
    ground = GROUND.replace('diverging", length = 2 }', 'diverging", length = 0.5 }')
    lengths = f'[design.lengths]\n"cider works" = {{ least = 0.5, most = {longest}, step = 0.5 }}\n'
    wish = '[[design.wishes]]\nabout = "set-ups"\nof_cars = 1\n'
    puzzle = loads(f"{ground}[design]\n{lengths}{wish}")
    if is_asked:
        assert [one.chosen for one in design(puzzle, workers=1).arrangements]
        return
    with pytest.raises(CannotAsk, match=r"cider works: too short for a car \(1 cm\) however") as found:
        design(puzzle, workers=1)
    assert found.value.cure == "make it longer, or leave it out with except"


# ---- spurs both ways at once


def test_both_ways_are_never_harder_than_one() -> None:
    """On tiny districts the fewest moves with a spur both ways at once are a lower bound for each way; where
    the plan uses the spur one way only they are those of that way, as brute force counts them
    (:mod:`tests.brute_force`, which shares no code with the project).  Both kinds of plan come up.
    """
    kinds = set()
    for seed in range(45):
        puzzle = tiny_puzzle(seed)
        for spur in flippable(puzzle.district)[:1]:
            kinds |= set(_compare_ways(puzzle, spur))
    assert kinds >= {"drawn only", "turned only"}


def _compare_ways(puzzle: Puzzle, spur: str) -> Iterator[str]:
    loose = both_ways(puzzle, spur)
    least = solve(loose, tie_standings=0)
    minima = [brute_minimum(one) for one in (puzzle, flipped(puzzle, spur))]
    if least.plan is None:
        assert least.verdict is Verdict.IMPOSSIBLE and minima == [None, None]
        return
    assert least.verdict is Verdict.PROVED and least.lower_bound is not None
    assert all(one is None or least.lower_bound <= one for one in minima)
    ways = ways_of(loose.district, least.plan)
    if not ways.turned:
        assert minima[0] == least.lower_bound
        yield "drawn only"
    if not ways.drawn:
        assert minima[1] == least.lower_bound
        yield "turned only"
