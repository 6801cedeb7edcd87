"""Set-ups by difficulty: what is drawn, the figures, the order, the hardest, and the command."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import permutations
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, GAVE_UP, OK, USAGE
from switchsolve.counting import take_census
from switchsolve.errors import FileError
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, load, loads
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.endings import endings
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.setups import Asking, Drawer, Grading, figures_of, grade, hardest, trouble_of, twins
from switchsolve.setups.difficulty import AROUND, FORCED, LUCK, MOVED, TIGHT, WORK, difficulty_of
from switchsolve.setups.figures import must_move
from switchsolve.setups.staying import kept_where_it_is, right_at_start
from switchsolve.setups.turnings import turnings_of
from switchsolve.setups.twins import arrangements
from switchsolve.setups.wandering import TRY
from switchsolve.solving import solve
from switchsolve.study.likes import key_of, nameless
from switchsolve.work import EndsIn, Hold, Place, Train
from tests.brute_counting import brute_census, histogram
from tests.builders import run_around_district, set_up, spur_district, switchback_district
from tests.setup_ranks import correlation, rank_all, ranked
from tests.setup_sets import CHOSEN_ON, SHOWN_ON, district

ROOT = Path(__file__).parent.parent
FACING = str(ROOT / "puzzles" / "cask_lane_facing.toml")
LANE = str(ROOT / "puzzles" / "cask_lane.toml")
SPUR = str(ROOT / "puzzles" / "first_spur.toml")
TWO_ENGINES = str(ROOT / "puzzles" / "coast_two_engines.toml")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
AMOUNTS = ((1, 0), (0, 1), (1, 1), (2, 1))


@cache
def _drawer(name: str = "wharf", spot: int = 2, pick_up: int = 1) -> Drawer:
    return Drawer(district(name), spot=spot, pick_up=pick_up)


@cache
def _grading() -> Grading:
    return grade(_drawer(spot=1, pick_up=1), 3, seed=1, tries=4)


# -- what is drawn -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ("lane", "wharf", "mill", "hill"))
@pytest.mark.parametrize("amount", AMOUNTS)
def test_a_drawn_set_up_is_as_asked(name: str, amount: tuple[int, int]) -> None:
    """So many cars come and go, the rest are held; all cars of the file take part; its file reads back."""
    drawer = Drawer(district(name), spot=amount[0], pick_up=amount[1])
    for number in range(5):
        puzzle = drawer.draw(7, number)
        assert puzzle is not None
        assert {car.name for car in puzzle.cars} == {car.name for car in drawer.puzzle.cars}
        spotted = [item for item in puzzle.work.items if isinstance(item, EndsIn)]
        (train,) = (item for item in puzzle.work.items if isinstance(item, Train))
        assert (len(spotted), len(train.cars)) == amount
        home = next(one for one in puzzle.start.strings if train.locomotive in one.vehicles)
        assert len(home.vehicles) == amount[0] + 1 and home.track == train.track
        assert loads(dumps(puzzle)) == puzzle
        assert drawer.draw(7, number) == puzzle


def test_seeds_and_numbers_differ() -> None:
    """Many numbers of one seed give many set-ups, and another seed others."""
    drawer = _drawer("hill")
    one, other = ([drawer.draw(seed, number) for number in range(12)] for seed in (1, 2))
    drawn = {dumps(puzzle) for puzzle in one if puzzle is not None}
    assert len(drawn) > 4
    assert [each.work for each in one if each] != [each.work for each in other if each]


def test_spots_take_one_car_each() -> None:
    """On a track with spots every car stands at one of its own, and is wanted at one of its own."""
    puzzle = load(ROOT / "puzzles" / "glasshouse_switchback.toml")
    drawer = Drawer(puzzle)
    for number in range(8):
        drawn = drawer.draw(3, number)
        assert drawn is not None
        works = [one for one in drawn.start.strings if one.track == "glass works"]
        spots = [spot for one in works for spot in one.spots.values()]
        assert len(spots) == len(set(spots)) == sum(len(one.vehicles) for one in works)
        wanted = [item.places[0] for item in drawn.work.items if isinstance(item, EndsIn)]
        ends = [place for place in wanted if place.spot is not None]
        assert len(ends) == len(set(ends))


def test_what_cannot_be_drawn_from_is_told_all_at_once() -> None:
    """Two locomotives and too few cars: both are told, each with file, key, value and cure."""
    puzzle = load(TWO_ENGINES)
    with pytest.raises(FileError) as caught:
        Drawer(puzzle, spot=40, pick_up=2, file="two.toml")
    texts = [str(problem) for problem in caught.value.problems]
    assert len(texts) == 2 and all(text.startswith("two.toml: ") for text in texts)
    assert "locomotives" in texts[0] and "40 to spot, 2 to pick up" in texts[1]
    with pytest.raises(FileError, match="nothing to do"):
        Drawer(district("lane"), spot=0, pick_up=0)
    team = '"Team turnout diverging", length = '
    short = CHOSEN_ON["lane"].replace(f"{team}13", f"{team}7")
    with pytest.raises(FileError, match="3 places"):
        Drawer(loads(short), spot=0, pick_up=1)


def test_a_caboose_takes_no_part() -> None:
    """The car that the file has last in its train is none of those drawn."""
    drawer = Drawer(load(ROOT / "puzzles" / "millbrook_turn.toml"))
    assert "S&I 02" not in drawer.cars and len(drawer.cars) == 3


# -- figures -----------------------------------------------------------------------------------------


def _blocked() -> Puzzle:
    """A car on hold nearest to the points of a spur, before the one that is to leave it."""
    items = (Train("A", "lead", frozenset({"d"})), Hold("c"))
    return set_up(spur_district(6, 4, 3), {"lead": "A", "spur": "c d"}, *items, heads={"A": "to"})


def test_a_car_in_the_way_must_leave() -> None:
    """It stands right, and the car behind it cannot be had without moving it; left alone, it need not."""
    puzzle = _blocked()
    moves = solve(puzzle).lower_bound
    assert moves is not None and right_at_start(puzzle) == ["c"]
    assert must_move(puzzle, "c", moves) is True
    row = {"lead": "A", "spur": "d c"}
    turned = set_up(spur_district(6, 4, 3), row, *puzzle.work.items, heads={"A": "to"})
    least = solve(turned).lower_bound
    assert least is not None and least < moves and must_move(turned, "c", least) is False


def test_figures_of_a_plain_pick_up() -> None:
    """The car in the way is in the figures, and no trip around is: the district has no run-around."""
    puzzle = _blocked()
    figures = figures_of(puzzle, solve(puzzle))
    assert (figures.moved, figures.trips, figures.is_sure) == (("c",), 0, True)
    bare = replace(solve(puzzle), verdict=Verdict.BEST_FOUND)
    with pytest.raises(ValueError, match="proved"):
        figures_of(puzzle, bare)


def test_a_trip_around_is_counted() -> None:
    """It pulls the car in, goes around it, and shoves it on: three moves and one trip."""
    puzzle = _around()
    figures = figures_of(puzzle, solve(puzzle))
    assert figures.moves == 3 and figures.trips == 1


def test_where_a_car_is_kept() -> None:
    """In a dead end at the bumper, on a track open at both ends at either end; its neighbors come loose."""
    ends = [one.start.strings for one in kept_where_it_is(_blocked(), "d")]
    (strings,) = ends
    assert [(one.vehicles, one.fixed_at) for one in strings if one.track == "spur"] == [
        (("c",), None),
        (("d",), 2),
    ]
    puzzle = set_up(run_around_district(), {"west": "A", "main": "c"}, Hold("c"), heads={"A": "to"})
    places = [one.fixed_at for kept in kept_where_it_is(puzzle, "c") for one in kept.start.strings]
    assert [at for at in places if at is not None] == [0, 3]


def _around() -> Puzzle:
    """A car wanted on a short tail beyond a run-around, with the locomotive ahead of it."""
    work = EndsIn("c", (Place("east"),))
    return set_up(run_around_district(3, 3, 3, 1), {"west": "c A"}, work, heads={"A": "to"})


def _by_hand(puzzle: Puzzle, moves: int) -> tuple[int, Fraction]:
    """Ways and luck from the start alone: every row of longest runs is followed to its end."""
    rules = Rules(pack(puzzle))
    runs = LongestRuns(rules)
    last = {state for goal in endings(rules, runs, 20_000) for state in runs.steps(goal)}

    @cache
    def follow(state: RunState, left: int) -> tuple[int, Fraction]:
        if not left:
            return int(state in last), Fraction(state in last)
        after = [follow(one, left - 1) for one in set(runs.steps(state))]
        luck = sum((luck for _, luck in after), Fraction(0)) / max(len(after), 1)
        return sum(ways for ways, _ in after), luck

    first = set(first_states(rules, runs, 0))
    found = [follow(state, moves - 1) for state in first]
    return sum(ways for ways, _ in found), len(first) / sum((luck for _, luck in found), Fraction(0))


@pytest.mark.parametrize(
    "puzzle",
    (
        _blocked(),
        _around(),
        set_up(
            switchback_district(6, 3, 4),
            {"lead": "c d A"},
            EndsIn("c", (Place("spur"),)),
            EndsIn("d", (Place("spur"),)),
            heads={"A": "to"},
        ),
    ),
    ids=("in the way", "around", "switchback"),
)
def test_ways_and_luck_are_those_of_all_rows_of_moves(puzzle: Puzzle) -> None:
    """The same from both ends and from the start alone, where all moves of so many runs are followed."""
    moves = solve(puzzle).lower_bound
    assert moves is not None
    found = turnings_of(puzzle, moves)
    assert found is not None and (found.ways, found.luck) == _by_hand(puzzle, moves)
    assert 0 <= found.wrong < 1 and turnings_of(puzzle, moves, most=0) is None


def test_the_difficulty_is_the_sum_it_is_said_to_be() -> None:
    """Each figure has its weight; without all of them the sum stops at what is known for every set-up."""
    puzzle = _blocked()
    figures = figures_of(puzzle, solve(puzzle))
    assert figures.turnings is not None and figures.forced is not None and figures.spare is not None
    plain = figures.moves + WORK * 1 + MOVED * 1 + max(0.0, TIGHT - float(figures.spare))
    assert difficulty_of(figures, whole=False) == pytest.approx(plain)
    turnings = replace(figures.turnings, luck=Fraction(1000))
    whole = difficulty_of(replace(figures, trips=1, turnings=turnings), whole=True)
    assert whole == pytest.approx(plain + AROUND + FORCED * figures.forced + 3 * LUCK)
    with pytest.raises(ValueError, match="not known"):
        difficulty_of(replace(figures, turnings=None), whole=True)


# -- the random solver -------------------------------------------------------------------------------


def _exact_chances(puzzle: Puzzle, most: int) -> list[float]:
    """The chance to be done after so many moves, walk and restarts as they are defined, by counting all."""
    rules = Rules(pack(puzzle))
    runs = LongestRuns(rules)
    last = {state for goal in endings(rules, runs, 20_000) for state in runs.steps(goal)}
    first = list(dict.fromkeys(first_states(rules, runs, 0)))
    start = dict.fromkeys(first, 1 / len(first))
    at, done, chances = start, 0.0, [0.0]
    for made in range(most):
        done += sum(share for state, share in at.items() if state in last)
        chances.append(done)
        rest = {state: share for state, share in at.items() if state not in last}
        after: dict[RunState, float] = {}
        for state, share in rest.items():
            following = list(dict.fromkeys(runs.steps(state)))
            for one in following:
                after[one] = after.get(one, 0.0) + share / len(following)
        at = after
        if (made + 1) % TRY == 0:
            at = {state: share * (1 - done) for state, share in start.items()}
    return chances


def test_the_median_of_the_walks_is_that_of_the_chain() -> None:
    """The median of many walks lies where the exact chances say: between their 40 % and 60 % points.

    (With 401 walks a median outside of these has a chance under one in ten thousand: a binomial tail.)
    """
    puzzle = _around()
    found = trouble_of(puzzle, 5, walks=401)
    chances = _exact_chances(puzzle, 600)
    assert found is not None and chances[-1] > 0.6
    low = next(moves for moves, chance in enumerate(chances) if chance >= 0.4)
    high = next(moves for moves, chance in enumerate(chances) if chance >= 0.6)
    assert low <= found <= high
    assert trouble_of(puzzle, 5, walks=401) == found


def test_walks_end() -> None:
    """One that does not get there counts as the most allowed; what cannot be done has no trouble to tell."""
    puzzle = _around()
    assert trouble_of(puzzle, 1, walks=3, most=1) == 1
    long = set_up(spur_district(6, 4, 1), {"lead": "A c"}, EndsIn("c", (Place("spur"),)), heads={"A": "to"},
                  lengths={"c": 2})  # fmt: skip
    assert solve(long).verdict is Verdict.IMPOSSIBLE and trouble_of(long, 1) is None
    assert trouble_of(puzzle, 1, stop=lambda: "asked") is None


# -- grading -----------------------------------------------------------------------------------------


def test_a_graded_set_is_in_order_and_proved() -> None:
    """From gentle to nasty; each states the minimum that the solver proves for it; no two are alike."""
    grading = _grading()
    difficulties = [one.difficulty for one in grading.chosen]
    assert len(difficulties) == 3 and difficulties == sorted(difficulties)
    every = [one.difficulty for one in grading.every]
    assert (difficulties[0], difficulties[-1]) == (min(every), max(every))
    for one in grading.chosen:
        again = solve(loads(dumps(one.puzzle)), tie_standings=0)
        assert again.verdict is Verdict.PROVED and again.counts is not None
        assert again.counts.moves == one.puzzle.stated_minimum == one.figures.moves
    assert len({key_of(nameless(one.puzzle)[0]) for one in grading.every}) == len(grading.every)


def test_what_is_not_proved_is_left_out() -> None:
    """With no time at all nothing is proved: nothing is shown, and all are counted as unproved."""
    grading = grade(_drawer("hill"), 3, seed=1, tries=2, asking=Asking(seconds=1e-9))
    assert (grading.chosen, grading.looked_at, grading.unproved) == ([], 2, 2)
    stopped = grade(_drawer("hill"), 3, seed=1, tries=2, asking=Asking(stop=lambda: "Ctrl-C"))
    assert (stopped.looked_at, stopped.stopped) == (0, "Ctrl-C")


def test_twins_have_the_same_cars_places_and_work() -> None:
    """Only the order of the train and who stands at which place differ, and so the difficulty."""
    grading = twins(_drawer("wharf", 2, 1), seed=1, tries=4)
    gentle, nasty = grading.chosen
    assert gentle.difficulty < nasty.difficulty

    def told(puzzle: Puzzle) -> tuple[object, ...]:
        train = next(one for one in puzzle.start.strings if "S&I 5" in one.vehicles)
        taken = sorted((one.track, len(one.vehicles)) for one in puzzle.start.strings if one is not train)
        return sorted(train.vehicles), taken, set(puzzle.work.items), sorted(car.name for car in puzzle.cars)

    assert told(gentle.puzzle) == told(nasty.puzzle)
    assert gentle.puzzle.start != nasty.puzzle.start


SMALL = {
    "spur": set_up(
        spur_district(4, 3, 2),
        {"lead": "A c", "spur": "d"},
        EndsIn("c", (Place("spur"),)),
        EndsIn("d", (Place("main"),)),
        heads={"A": "to"},
    ),
    "run-around": _around(),
}


@pytest.mark.parametrize("name", SMALL)
def test_the_hardest_lies_in_the_last_layer(name: str) -> None:
    """Its minimum is the greatest distance of all clear standings, by a brute force that shares no code with
    the census: none is farther.  Its file is solved to the same."""
    puzzle = SMALL[name]
    layers, _ = histogram(brute_census(puzzle))
    grading = hardest(puzzle, lambda: pytest.fail("nothing is to be drawn"), 1, tries=1)
    (found,) = grading.chosen
    assert grading.is_last_layer and found.figures.moves == len(layers) - 1
    assert found.figures.moves > (solve(puzzle).lower_bound or 0)


def test_without_a_census_the_hardest_is_only_found() -> None:
    """With more standings than are counted it is the one with the most moves of those drawn, and says so."""
    drawer = _drawer(spot=1, pick_up=1)
    grading = hardest(drawer.puzzle, lambda: drawer, 1, tries=4, most=3)
    assert not grading.is_last_layer and grading.why_not is not None and "more than 3" in grading.why_not
    (found,) = grading.chosen
    assert found.figures.moves == max(one.figures.moves for one in _grading().every)


# -- ranks -------------------------------------------------------------------------------------------


def test_the_difficulty_ranks_as_the_random_solver_does() -> None:
    """On small set-ups of the district `wharf` a positive rank correlation with the trouble of the random
    solver, by SciPy, that chance would give once in twenty at most.  (The weights were chosen there; the next
    test shows what they are worth elsewhere.)"""
    rows = [row for amount in ((1, 0), (0, 1), (1, 1)) for row in ranked("wharf", amount, 4, walks=5)]
    value, chance = correlation([row.difficulty for row in rows], [row.wandering for row in rows])
    assert len(rows) >= 6 and value > 0 and chance < 0.05, (value, chance)


@pytest.mark.slow
def test_the_difficulty_ranks_as_both_troubles_do() -> None:
    """On the two districts on which no weight was chosen: positive rank correlations with the random solver
    and with all the moves of the plain crew, each by chance once in a hundred at most; and one that is not
    negative with the crew's excess over the minimum.  Takes some minutes."""
    rows = rank_all(list(SHOWN_ON), 4, 2)
    difficulty = [row.difficulty for row in rows]
    for trouble in ([row.wandering for row in rows], [row.crew + row.figures.moves for row in rows]):
        value, chance = correlation(difficulty, trouble)
        assert value > 0 and chance < 0.01, (value, chance)
    assert correlation(difficulty, [row.crew for row in rows])[0] >= 0


# -- the command -------------------------------------------------------------------------------------


def test_the_table_and_the_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """80 columns at most; each file states the minimum that its row shows."""
    folder = tmp_path / "new" / "folder"
    assert main(["setups", FACING, "--count", "2", "--tries", "4", "-o", str(folder)]) == OK
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    rows = [line.split() for line in lines if re.match(r"\d +\d", line)]
    files = sorted(folder.glob("*.toml"))
    assert len(rows) == len(files) == 2
    for row, file in zip(rows, files, strict=True):
        puzzle = load(file)
        assert puzzle.stated_minimum == int(row[1]) == solve(puzzle, tie_standings=0).lower_bound


def test_every_key_of_the_answer_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The table in DEVELOPERS.md has exactly the keys that are printed, those of a set-up included."""
    heads = "| key of `setups` | type | meaning |"
    rows = DEVELOPERS.split(f"\n{heads}\n")[1].split("\n\n")[0].splitlines()[1:]
    told = {key for row in rows for key in re.findall(r"`([^`]+)`", row.split("|")[1])}
    assert main(["setups", FACING, "--count", "1", "--tries", "1", "--json"]) == OK
    answer = json.loads(capsys.readouterr().out)
    assert told == set(answer) | {f"setups[].{key}" for key in answer["setups"][0]}


def test_twins_that_are_alike_are_not_called_twins(capsys: pytest.CaptureFixture[str]) -> None:
    """Where every arrangement is as difficult as every other it is said so."""
    file = str(ROOT / "puzzles" / "design_boat_yard.toml")
    assert main(["setups", file, "--twins", "--tries", "4"]) == OK
    shown = capsys.readouterr().out
    pair = re.findall(r"^(?:gentle|nasty) .* ([\d.]+)$", shown, re.MULTILINE)
    assert len(pair) == 2 and pair[0] == pair[1]
    assert "No twins" in shown


def test_the_hardest_at_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    """It says that it is proved the hardest, with the farthest distance of the census."""
    assert main(["setups", SPUR, "--hardest"]) == OK
    shown = capsys.readouterr().out
    farthest = take_census(load(SPUR)).farthest
    assert "proved: no clear standing" in shown
    assert re.search(rf"^hardest +{farthest} ", shown, re.MULTILINE)


def test_wrong_arguments_are_told_all_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each with its value and its cure."""
    file = tmp_path / "a file"
    file.touch()
    arguments = ["--count", "0", "--seed", "-1", "--tries", "0", "--spot", "-2", "--limit-seconds", "0"]
    assert main(["setups", FACING, *arguments, "-o", str(file)]) == USAGE
    told = capsys.readouterr().err
    for word in ("--count 0", "--seed -1", "--tries 0", "--spot -2", "--limit-seconds 0", "name a folder"):
        assert word in told
    assert main(["setups", TWO_ENGINES]) == BAD_FILE
    assert f"{TWO_ENGINES}: locomotives" in capsys.readouterr().err


def test_nothing_in_time_is_no_answer(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing proved in the time allowed: no set-up is shown, and the code is that of having given up."""
    assert main(["setups", LANE, "--tries", "1", "--limit-seconds", "1e-9"]) == GAVE_UP
    assert "No set-up to show" in capsys.readouterr().out


def test_arrangements_are_all_there() -> None:
    """Two arriving cars and two that stand, in places of their own: each fitting order once."""
    drawer = _drawer("wharf", 2, 1)
    found = arrangements(drawer, 1, 1, 100)
    trains = {
        tuple(name for name in one.vehicles if name != "S&I 5")
        for puzzle in found
        for one in puzzle.start.strings
        if "S&I 5" in one.vehicles
    }
    assert len({dumps(replace(puzzle, title="")) for puzzle in found}) == len(found)
    first = next(iter(trains))
    assert trains == set(permutations(first))
