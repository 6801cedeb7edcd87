"""Walking by hand: the steps that can be chosen, what they count, and the way ahead."""

from __future__ import annotations

from dataclasses import replace
from operator import le
from pathlib import Path
from random import Random

import pytest

from switchsolve.errors import FileError
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.puzzlefile import load, start_text
from switchsolve.referee import replay, replay_so_far
from switchsolve.rules import BegunRules, Standing
from switchsolve.solving import solve
from switchsolve.solving.limit import allowed
from switchsolve.solving.onward import _Case
from switchsolve.walking import Walk, begun_from
from switchsolve.walking.typed import Typed
from switchsolve.work import EndsIn, Place
from tests.brute_force import brute_minimum
from tests.builders import oval_district, run_around_district, set_up, spur_district, track
from tests.files import puzzle_files

ROOT = Path(__file__).parent.parent
PUZZLES = [path.stem for path in puzzle_files()]


def puzzle_of(name: str) -> Puzzle:
    return load(ROOT / "puzzles" / f"{name}.toml")


def random_hand(walk: Walk, random: Random, steps: int) -> None:
    """So many steps, each drawn from all; now and then one is taken back."""
    for _ in range(steps):
        if random.random() < 0.05:
            walk.undo()
        if not walk.choices:
            walk.undo()
        walk.go(random.randrange(len(walk.choices)))


def follows_the_law(walk: Walk) -> bool:
    """Whether each action done is one that the law lists, and leads where the law says, or to a part of it (a
    stop leaves out what is listed but not touched)."""
    walked = walk.walked()
    before: Standing = walked.standings[0]
    for action, after in zip(walked.actions, walked.standings[1:], strict=True):
        (found,) = [one for other, one, _ in walk.rules.actions(before) if other == action]
        if found.strings != after.strings or found.last != after.last or found.inside != after.inside:
            return False
        if not all(map(le, after.zone, found.zone)):
            return False
        before = after
    return True


def check_hand(name: str, steps: int) -> None:
    walk = Walk(puzzle_of(name))
    random_hand(walk, Random(steps), steps)
    read = [(choice.who, choice.leaves, choice.goes) for choice in walk.choices]
    assert len(set(read)) == len(read)
    assert follows_the_law(walk)
    counts = replay_so_far(walk.puzzle, walk.plan()).counts
    here = walk.here
    assert (here.moves, here.couplings, here.cuts) == (counts.moves, counts.couplings, counts.cuts)


@pytest.mark.parametrize("name", PUZZLES)
def test_a_random_hand(name: str) -> None:
    """20 random steps on every puzzle: each is the law's, the plan of all of them passes the referee, and
    moves, couplings and cuts are those that the referee counts.  No two choices read the same."""
    check_hand(name, 20)


@pytest.mark.slow
@pytest.mark.parametrize("name", PUZZLES)
def test_a_long_random_hand(name: str) -> None:
    """The same with 200 steps on each puzzle."""
    check_hand(name, 200)


# -- the way ahead


def follow(walk: Walk, seconds: float = 120.0) -> int | None:
    """Follow the good next steps to the end; gives back the moves promised at first (``None``: impossible, or
    not proved in time). Every run can be undone by a run: so it is impossible only if it was at the start."""
    onward = walk.ahead(seconds=seconds)
    if onward.verdict is Verdict.IMPOSSIBLE:
        assert solve(walk.puzzle, seconds=seconds, tie_standings=0).verdict is Verdict.IMPOSSIBLE
    if onward.verdict is not Verdict.PROVED:
        return None
    assert onward.moves is not None
    begun, promised = walk.here.moves, onward.moves
    while not walk.is_done:
        walk.learn(onward)
        number = walk.good_next(onward)
        assert number is not None
        left = onward.moves - walk.choices[number].moves
        walk.go(number)
        onward = walk.ahead(seconds=seconds)
        assert onward.verdict is Verdict.PROVED and onward.moves == left
    assert walk.here.moves - begun == promised
    counts = replay(walk.puzzle, walk.plan()).counts
    assert counts.moves == walk.here.moves and counts.cuts == walk.here.cuts + len(walk.last_cuts)
    return promised


FOLLOWED = ("first_spur", "cask_lane_facing", "cask_lane_trailing", "ferry_slip_float")


@pytest.mark.parametrize("name", FOLLOWED)
def test_good_next_steps_keep_the_promise(name: str) -> None:
    """From random standings the good next steps lead to the goal in exactly the moves promised, which shrink
    with each move, and the referee passes the whole walk with its end."""
    kept = 0
    for seed in range(2):
        walk = Walk(puzzle_of(name))
        random_hand(walk, Random(seed), 4 + seed * 3)
        kept += follow(walk) is not None
    assert kept


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in PUZZLES if name not in ("cask_lane", *FOLLOWED)])
def test_good_next_steps_keep_the_promise_elsewhere(name: str) -> None:
    """The same on all other puzzles but the largest."""
    for seed in range(4):
        walk = Walk(puzzle_of(name))
        random_hand(walk, Random(seed), seed * 3)
        follow(walk)


@pytest.mark.parametrize("name", ["first_spur", "cask_lane_trailing"])
def test_at_the_start_as_many_as_solved(name: str) -> None:
    """From the start the moves that are needed are the proved minimum, which the file states."""
    puzzle = puzzle_of(name)
    onward = Walk(puzzle).ahead(seconds=120)
    assert (onward.verdict, onward.moves) == (Verdict.PROVED, puzzle.stated_minimum)


def test_impossible_from_the_start() -> None:
    """With a tail too short nothing can be promised."""
    onward = Walk(puzzle_of("cask_lane_short_tail")).ahead(seconds=120)
    assert onward.verdict is Verdict.IMPOSSIBLE and onward.moves is None


def test_the_direction_last_run_counts() -> None:
    """To go on in the direction last run begins no move; to turn does.  After a step forward from the start,
    one move fewer is needed than with a crew that stands there for the first time."""
    walk = Walk(puzzle_of("cask_lane_facing"))
    number = next(i for i, one in enumerate(walk.choices) if one.goes.startswith("stop on west street"))
    walk.go(number)
    costs = {one.who.split(",")[0]: one.moves for one in walk.choices}
    assert costs == {"S&I 5 forward": 0, "S&I 5 back": 1}
    start = '"west street" = ["THB 12", "S&I 5"]\n"cider works" = ["OXCC 7 @ door 1"]\n'
    stands = Walk(begun_from(walk.puzzle, Typed(start))).ahead(seconds=60)
    runs = Walk(begun_from(walk.puzzle, Typed(start, ran={"S&I 5": "forward"}))).ahead(seconds=60)
    onward = walk.ahead(seconds=60)
    assert onward.moves == runs.moves == 2 and stands.moves == 3


CUT_AT_THE_MILL = (
    ("S&I 9 back, toward west main", "", "stop across West turnout, on west main"),
    (
        "S&I 9 forward, toward Factory turnout",
        "",
        "stop across East turnout, on main east and east main by way of main",
    ),
    ("S&I 9 forward, toward the end of east main", "leave THB 80 on main east", "stop on east main"),
    (
        "S&I 9 back, toward East turnout",
        "",
        "couple to QLV 230 on feed mill, standing across Mill turnout and East turnout, on feed mill",
    ),
    ("S&I 9 back, toward the end of feed mill", "", "stop across Mill turnout, on feed mill"),
    (
        "S&I 9 forward, toward East turnout",
        "leave QLV 230 on feed mill",
        "a little way across Mill turnout, on feed mill",
    ),
)


@pytest.mark.parametrize("search", ["longest runs", "compiled longest runs"])
def test_a_cut_left_in_the_track_that_the_string_still_stands_in(search: str) -> None:
    """Strings that share a track are taken in their order there, also where one lies over a turnout as well.
    Every run can be undone by a run, so what can be done at the start can still be done; and a way of ten
    moves of which three are made, with none shorter, leaves seven."""
    walk = Walk(puzzle_of("millbrook_siding"))
    random_hand(walk, Random(2), 6)
    before = walk.here.moves
    for step in CUT_AT_THE_MILL:
        walk.go([(each.who, each.leaves, each.goes) for each in walk.choices].index(step))
    assert walk.here.moves == before + 3
    walked = walk.walked()
    rules = BegunRules(walk.rules.p, walk.here.standing)
    solution = _Case(walk.puzzle, rules, walked, allowed(60, None, None), None).solve(search, False)
    assert solution.verdict is Verdict.PROVED and solution.counts is not None
    assert solution.counts.moves - walked.moves == 7


def test_a_limit_is_honest() -> None:
    """A look ahead that is stopped at once proves nothing and says so, with a bound."""
    onward = Walk(puzzle_of("marrow_point_front_street")).ahead(stop=lambda: "a test")
    assert onward.verdict in (Verdict.GAVE_UP, Verdict.BEST_FOUND)
    assert onward.limit == "a test" and onward.least <= 14


# -- against brute force

WORK = {
    name: EndsIn(name[0], (Place(name[2:]),)) for name in ("A spur", "A south", "A side", "B main", "B west")
}
TINY = {
    "spur": set_up(
        spur_district(), {"lead": "A L", "spur": "B"}, WORK["A spur"], WORK["B main"], heads={"L": "to"}
    ),
    "oval": set_up(oval_district(), {"north": "L A"}, WORK["A south"], heads={"L": "to"}),
    "run-around": set_up(
        run_around_district(),
        {"west": "L A", "main": "B"},
        WORK["A side"],
        WORK["B west"],
        heads={"L": "from"},
    ),
}


@pytest.mark.parametrize("name", TINY)
def test_from_random_standings_as_brute_force(name: str) -> None:
    """Where a random walk on a tiny district comes to rest in the clear, the moves still needed are at least
    those that brute force over whole-number positions finds for the same tracks and directions
    (:mod:`tests.brute_force`, which shares no code with the project), and as many if the crew may choose
    where in its track each string stands, as brute force lets it."""
    puzzle = TINY[name]
    compared = 0
    for seed in range(8):
        walk = Walk(puzzle)
        random_hand(walk, Random(seed), seed % 7)
        start = start_of(walk)
        if start is None:
            continue
        begun = replace(puzzle, start=start)
        least = brute_minimum(begun, plain=True)
        under_way = len(start.under_way)
        assert Walk(begun).ahead(seconds=60).moves == (None if least is None else least - under_way)
        mine = walk.ahead(seconds=60).moves
        assert mine is None or (least is not None and mine >= least - under_way)
        compared += 1
    assert compared > 1


def start_of(walk: Walk) -> Start | None:
    """The standing of a walk as the start of a puzzle; ``None`` if a string is not wholly in one track."""
    tracks = {track.name for track in walk.puzzle.district.tracks}
    found: list[tuple[str, int, StartString]] = []
    heads, under_way = {}, {}
    last = dict(zip(walk.rules.p.loco_names, walk.here.standing.last, strict=True))
    for string in walk.here.placed:
        sign, (name, *others) = string.ways[0].sign, {way.cell.place for way in string.ways}
        if others or name not in tracks:
            return None
        vehicles = string.vehicles if sign > 0 else string.vehicles[::-1]
        length = sum(walk.puzzle.vehicles[each].length for each in vehicles)
        at = string.offset if sign > 0 else walk.puzzle.district.track(name).length - string.offset - length
        found.append((name, at, StartString(name, vehicles)))
        for engine, nose in string.noses.items():
            heads[engine] = "to" if nose * sign > 0 else "from"
            if last[engine]:
                under_way[engine] = "to" if nose * sign * last[engine] > 0 else "from"
    return Start(tuple(string for _, _, string in sorted(found, key=lambda one: one[:2])), heads, under_way)


# -- back and forth


def test_undo_and_redo() -> None:
    """Undo takes back the last step, redo makes it again; a new step ends what can be made again."""
    walk = Walk(puzzle_of("cask_lane_facing"))
    assert not walk.undo() and not walk.redo()
    seen = [walk.here]
    for number in (0, 1, 2):
        walk.go(number)
        seen.append(walk.here)
    assert walk.undo() and walk.undo() and walk.here is seen[1]
    assert walk.redo() and walk.here is seen[2]
    assert walk.undo() and walk.can_redo
    walk.go(0)
    assert not walk.can_redo and not walk.redo()
    with pytest.raises(ValueError, match="there is no choice 999"):
        walk.go(999)


def test_the_work_done_by_hand() -> None:
    """The plan of the README, made by words: three moves, and the last cut is counted with the end."""
    walk = Walk(puzzle_of("cask_lane_facing"))
    for leaves, goes in (
        ("", "stop on west street, clear of West turnout"),
        ("leave THB 12 on west street", "stop on Lane tail by way of east street, clear of East turnout"),
        ("", "stop on Lane lead by way of run-around, clear of West turnout"),
        ("", "couple to THB 12 on west street, standing across West turnout, on west street"),
        ("", "stop across Cider turnout, on cider works"),
    ):
        (number, *_) = [
            number
            for number, choice in enumerate(walk.choices)
            if (choice.leaves, choice.goes) == (leaves, goes)
        ] or [-1]
        assert number >= 0, (goes, walk.choices)
        walk.go(number)
    assert walk.is_done and walk.here.moves == 3
    assert (walk.here.couplings, walk.here.cuts, len(walk.last_cuts)) == (1, 1, 1)
    assert replay(walk.puzzle, walk.plan()).counts.moves == 3


def test_a_table_is_a_choice() -> None:
    """A turntable can be lined when what is on it is wholly on it, which begins no move."""
    walk = Walk(puzzle_of("marrow_point_turntable"))
    linings = [choice for choice in walk.choices if choice.kind == "line"]
    assert linings and all(choice.moves == 0 and choice.who.startswith("Line the ") for choice in linings)
    step = walk.go(walk.choices.index(linings[0]))
    assert step.run is None and step.text.startswith("Line the ")


def test_where_in_its_track_a_string_starts() -> None:
    """On a track of two parts the file allows several starts; each can be walked, and there is no other."""
    district = spur_district(lead=track("lead", 4, 4))
    puzzle = set_up(district, {"lead": "A L"}, WORK["A spur"], heads={"L": "to"})
    walk = Walk(puzzle)
    assert walk.starts > 1
    shown = {Walk(puzzle, number).here.standing.strings for number in range(walk.starts)}
    assert len(shown) == walk.starts
    with pytest.raises(ValueError, match="there is no start"):
        Walk(puzzle, walk.starts)


# -- typed in


@pytest.mark.parametrize("name", PUZZLES)
def test_the_start_of_the_file_typed_in(name: str) -> None:
    """The lines of [start] of every puzzle, typed as they are, begin the same standing."""
    puzzle = puzzle_of(name)
    begun = begun_from(puzzle, Typed(start_text(puzzle)))
    assert begun.start.strings == puzzle.start.strings
    assert Walk(begun).here.standing.strings == Walk(puzzle).here.standing.strings


def test_the_work_stays_that_of_the_file() -> None:
    """A car without an item belongs where the file has it, wherever it stands now: with the two cars of the
    spur exchanged for the other's place, both have to be moved."""
    puzzle = puzzle_of("cask_lane_facing")
    text = '"Lane lead" = ["OXCC 7", "S&I 5"]\n"cider works" = ["THB 12 @ door 2"]'
    begun = begun_from(puzzle, Typed(text))
    assert begun.work.of_car("OXCC 7") == EndsIn("OXCC 7", (Place("cider works", "door 1"),))
    solution = solve(begun)
    assert solution.verdict is Verdict.PROVED and solution.counts is not None
    assert solution.counts.moves == Walk(begun).ahead(seconds=60).moves
    assert solution.counts.cars_moved == 2


HERE = "where cars stand now"
BAD = {
    "": [
        f'{HERE}: locomotives."S&I 5": this stands nowhere; add it to a track under [start]',
        f'{HERE}: cars."THB 12": this stands nowhere; add it to a track under [start]',
        f'{HERE}: cars."OXCC 7": this stands nowhere; add it to a track under [start]',
    ],
    '"Lane lead" = ["THB 12", "S&I 5"]\n"cider work" = ["OXCC 7"]': [
        f'{HERE}: start."cider work": there is no such track; did you mean "cider works"?',
    ],
    '[work]\nhold = ["OXCC 7"]': [
        f'{HERE}: work = {{ hold = ["OXCC 7"] }}: only the lines of [start] may stand here; take it out',
    ],
    '"Lane lead" = [': [
        f"{HERE}: end of the file: this is not TOML (invalid value); mend or finish the last line",
    ],
}


@pytest.mark.parametrize("text", BAD)
def test_what_is_wrong_with_it_is_told_in_full(text: str) -> None:
    """Every problem at once, with its place, its value and a cure."""
    with pytest.raises(FileError) as error:
        begun_from(puzzle_of("cask_lane_facing"), Typed(text))
    assert [str(problem) for problem in error.value.problems] == BAD[text]


def test_strange_locomotives_and_tables() -> None:
    """Names that there are not and words that cannot be are told, all at once."""
    puzzle = puzzle_of("marrow_point_turntable")
    typed = Typed(start_text(puzzle), {"S&I 99": "to"}, {puzzle.locomotives[0].name: "up"}, {"no table": 1})
    with pytest.raises(FileError) as error:
        begun_from(puzzle, typed)
    assert [problem.value for problem in error.value.problems] == ["S&I 99", "up", "1"]


def test_a_car_of_which_any_will_do() -> None:
    """Where any car of a kind will do, the others belong where the file has them, which can only be said with
    them there: elsewhere they are refused, with the place."""
    puzzle = puzzle_of("quarry_hill_three")
    text = 'foot = ["S&I 702", "S&I 703", "S&I 12"]\n"stone tipple" = ["S&I 701"]'
    with pytest.raises(FileError) as error:
        begun_from(puzzle, Typed(text))
    (problem,) = error.value.problems
    assert problem.value == '"S&I 701"' and problem.what.endswith("where the file has them: foot")


def test_a_car_beside_one_that_is_not_to_be_touched() -> None:
    """Both at exact places, with no room between them or behind: the walk begins with them just there."""
    puzzle = set_up(
        spur_district(4, track("main", 4), 2),
        {"lead": "A", "main": "y | x"},
        heads={"A": "to"},
        fixed={"y": 2},
    )
    strings = [replace(one, fixed_at=3) if "x" in one.vehicles else one for one in puzzle.start.strings]
    walk = Walk(replace(puzzle, start=replace(puzzle.start, strings=tuple(strings))))
    assert {one.vehicles: one.offset for one in walk.here.placed if "A" not in one.vehicles} == {
        ("y",): 2,
        ("x",): 3,
    }


def test_a_string_may_start_against_a_car_that_is_not_to_be_touched() -> None:
    """The spur is just as long as the two: it is shown beside that car, on its track."""
    item = EndsIn("c", (Place("main"),))
    puzzle = set_up(
        spur_district(spur=2), {"lead": "L", "spur": "d|c"}, item, heads={"L": "to"}, fixed={"d": 0}
    )
    walk = Walk(puzzle)
    assert {one.vehicles: one.offset for one in walk.here.placed if "L" not in one.vehicles} == {
        ("d",): 0, ("c",): 1,
    }  # fmt: skip
