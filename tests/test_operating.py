"""Sessions of a small layout: every car accounted for, every schedule checked."""

from __future__ import annotations

import time
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from switchsolve.crew import plain_crew
from switchsolve.layout import Layout
from switchsolve.layoutfile import load_layout
from switchsolve.minutes.model import figures_of, seconds_of
from switchsolve.objectives import objective_of
from switchsolve.operating import Limits, Operation, operate, session_faults, what_if
from switchsolve.operating.asking import OnPaper
from switchsolve.operating.balancing import balance_of
from switchsolve.operating.lessening import part_of_it
from switchsolve.operating.plainly import by_plain_crews, plain_seconds
from switchsolve.operating.railroad import begin
from switchsolve.operating.records import Played, Where
from switchsolve.operating.running import play
from switchsolve.operating.timing import minutes_of, session_work
from switchsolve.operating.trimming import leasts_of
from switchsolve.operating.working import work_out
from switchsolve.operating.yarding import YardState
from switchsolve.plan import Verdict
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.scheduling import Effort, Outcome, make_schedule
from switchsolve.search.readying import RUNS
from switchsolve.solving import solve
from switchsolve.study.answering import without
from switchsolve.study.pools import Here, pool
from switchsolve.timetable.building import problem_of
from tests.large_layout import large_work
from tests.tiny_layout import LAYOUT, write

ROOT = Path(__file__).parent.parent
_UNLIMITED = Limits(work=None, schedule=None)


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    return load_layout(write(tmp_path_factory.mktemp("small")))


@pytest.fixture(scope="module")
def operation(layout: Layout) -> Operation:
    return operate(layout, 6, 4, Here(), limits=_UNLIMITED)


def test_every_session_is_proved_and_without_fault(layout: Layout, operation: Operation) -> None:
    """Six sessions: each schedule proved the shortest, and nothing wrong with what moved; among them all that
    a car goes through happens: a freight sets out and picks up, a local spots and picks up, a cut is put
    away."""
    assert operation.is_complete and len(operation.sessions) == 6
    before = None
    tasks = set()
    for one in operation.sessions:
        assert one.answer.outcome is Outcome.PROVED and one.timetable is not None
        assert session_faults(layout, one.played, one.timetable, before) == ()
        tasks |= {moved.task.partition(":")[2] or moved.task.split()[0] for moved in one.played.moved}
        before = _at_the_end(one.played)
    assert {" run 1", " last run", " stop", " works Cask Lane", " works Millbrook", "make", "put"} <= tasks


def _at_the_end(played: Played) -> dict[str, Where]:
    where = dict(played.at_start)
    for moved in played.moved:
        where[moved.car] = moved.target
    return where


def test_no_car_is_lost_or_made(operation: Operation) -> None:
    """The same cars, each in one place, before the first session and after every one."""
    cars = set(operation.sessions[0].played.at_start)
    for one in operation.sessions:
        assert set(one.played.at_start) == set(_at_the_end(one.played)) == cars


def test_the_same_seed_the_same_sessions(layout: Layout, operation: Operation) -> None:
    """Another play with the same seed moves the same cars, and another seed others."""
    again = operate(layout, 3, 4, Here(), limits=_UNLIMITED, closely=False)
    first = [one.played.moved for one in operation.sessions[:3]]
    assert [one.played.moved for one in again.sessions] == first
    other = operate(layout, 3, 5, Here(), limits=_UNLIMITED, closely=False)
    assert [one.played.moved for one in other.sessions] != first


def test_more_crews_are_never_slower(operation: Operation) -> None:
    """Session length against crews falls or stays, and is never under what must follow each other; what
    binds makes it shorter."""
    rows = [row.minutes for row in operation.crews if row.minutes is not None]
    assert rows == sorted(rows, reverse=True) and len(operation.crews) == 6
    assert operation.chain is not None and operation.looked_at is not None
    assert operation.chain <= rows[-1]
    now = operation.looked_at.minutes
    assert now is not None and all(operation.chain <= one.minutes < now for one in operation.bindings)


def test_what_to_skip_saves_moves(operation: Operation) -> None:
    """Each car to skip is in the work of its train, and without it there are fewer moves."""
    assert operation.looked_at is not None
    works = {(one.train, one.place): one for one in operation.looked_at.played.works}
    for skip in operation.skips:
        work = works[skip.train, skip.place]
        assert skip.car in (*work.brought, *work.to_take) and skip.moves > 0


# -- minutes, clearing, the yard -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["first_spur", "cask_lane_facing"])
def test_minutes_of_a_plain_crew(name: str) -> None:
    """The seconds of a plain crew's moves, one by one, are those of its counts (another room's sum) but for
    reading the list, turnouts, and what goes wrong, which the pace of a layout stands for."""
    puzzle = load(ROOT / "puzzles" / f"{name}.toml")
    counts, nothing = plain_crew(puzzle).counts, Fraction(0)
    assert counts is not None
    figures = replace(figures_of(puzzle), reading=nothing, turnout=nothing, failed_share=nothing)
    assert plain_seconds(puzzle) == pytest.approx(float(seconds_of(figures, counts)))


def test_plain_crews_are_never_faster(layout: Layout, operation: Operation) -> None:
    """The session looked at by plain crews: no shorter than its plans let it be.  Whatever its crews are
    asked for, the schedule is one for the longer work."""
    result, plain = operation.looked_at, operation.plain
    assert result is not None and plain is not None and plain.minutes == plain.bound
    assert plain.minutes is not None and result.minutes is not None and plain.minutes >= result.minutes
    assert plain.works == len(result.played.works) + len(result.played.yard_tasks) and plain.beyond == 0
    tired = replace(layout, pace=10 * layout.pace)
    slow = by_plain_crews(tired, result, Here(), None)
    assert slow.minutes is not None and slow.minutes > plain.minutes


def test_the_seconds_of_moves_add_up() -> None:
    """The seconds of the single moves of Cask Lane come to the figure of the objective `minutes` for the plan
    as a whole, which is reckoned from its counts by other code."""
    puzzle = load(ROOT / "puzzles" / "cask_lane_facing.toml")
    worked, solution = work_out(puzzle), solve(puzzle, tie_standings=0)
    assert solution.counts is not None and worked.moves == solution.counts.moves
    objective = objective_of(puzzle, "minutes")
    whole = Fraction(objective.rows[0].of(solution.counts), objective.to_one)
    assert sum(worked.move_seconds) == pytest.approx(float(whole))


def test_less_work_where_time_is_short() -> None:
    """A part of Cask Lane's work: the cars of some industries, all of each; the referee replays its plan, and
    it is never called the most that can be done."""
    puzzle = load(ROOT / "puzzles" / "cask_lane.toml")
    outcome, solution = part_of_it(puzzle, None)
    assert outcome.left_over and not outcome.is_most
    assert solution is not None and solution.plan is not None
    assert replay(without(puzzle, outcome.left_over), solution.plan).counts.moves == outcome.moves
    # the ice house is sent one car and loses another: both are done, or neither is
    assert len({"OXCC 31", "OXCC 40"} & set(outcome.left_over)) in (0, 2)


def test_whole_minutes() -> None:
    """A minute and a second at double pace are three minutes; nothing takes less than one."""
    assert minutes_of([61.0], 2) == 3 and minutes_of([30.0, 30.0], 1) == 1 and minutes_of([], 2) == 1


def test_a_cut_is_put_away_and_made_up_in_order(layout: Layout) -> None:
    """A cut of three shoved onto the longer track stands there with the car that was nearest to the
    locomotive next to the points; the middle one is taken out again, the others stay in their order."""
    yard, kinds = YardState.empty(layout.yard), dict.fromkeys(("a", "b", "c"), "box")
    puzzle, blocks = yard.put_away(("a", "b", "c"), kinds)
    yard.close(work_out(puzzle), blocks)
    assert [row for row in yard.tracks.values() if row] == [["a", "b", "c"]]
    puzzle, blocks = yard.make_up(["b"], kinds)
    worked = work_out(puzzle)
    yard.close(worked, blocks)
    assert worked.verdict is Verdict.PROVED and worked.train == ("b",)
    assert sorted(yard.cars) == ["a", "c"]


@pytest.mark.parametrize("room", [12, 18, 24])
def test_arrival_tracks_that_are_short(room: int, tmp_path: Path) -> None:
    """Room for two cars, three, or four: a cut leaves the arrival track when the yard takes it to its lead,
    and a train may come then.  Each session is scheduled, or proved to be more than the tracks hold; the
    checker, which every schedule goes through, agrees."""
    layout = load_layout(write(tmp_path, LAYOUT.replace("room = 60", f"room = {room}")))
    found = operate(layout, 6, 4, Here(), limits=_UNLIMITED, closely=False)
    outcomes = [one.answer.outcome for one in found.sessions]
    assert set(outcomes) <= {Outcome.PROVED, Outcome.IMPOSSIBLE} and Outcome.PROVED in outcomes
    for one in found.sessions:
        if one.answer.outcome is Outcome.IMPOSSIBLE:
            assert one.answer.clash is not None
            assert "level" in {demand.kind for demand in one.answer.clash.demands}


def test_a_local_comes_home_no_longer_than_its_links_take(tmp_path: Path) -> None:
    """The harbor main takes the turn with one box car (9 + 6 in), though it may have two cars and two are to
    be picked up."""
    line = '"Marrow Point"], minutes = 2'
    text = LAYOUT.replace(line, f"{line}, longest = 15", 1).replace("most_cars = 3", "most_cars = 1")
    text = text.replace("equipment = 9 }", "equipment = 8 }")
    layout = load_layout(write(tmp_path, text))
    most = 0
    for seed in range(1, 4):
        railroad = begin(layout, seed)
        for number in range(1, 7):
            due = railroad.districts["Millbrook"].due(number)
            most = max(most, len(due))
            played = play(railroad, number, OnPaper())
            home = [one for one in played.moved if one.task == "Millbrook turn: last run"]
            assert len(home) <= 1
    assert most == 2


def test_a_car_that_vanishes_between_sessions_is_found(layout: Layout, operation: Operation) -> None:
    """What ended in one place and starts in another was lost, or made."""
    first, second = operation.sessions[:2]
    before = _at_the_end(first.played)
    car = next(iter(before))
    gone = {name: where for name, where in before.items() if name != car}
    assert session_faults(layout, second.played, second.timetable, before) == ()
    assert any(car in fault for fault in session_faults(layout, second.played, second.timetable, gone))


# -- balance, what if, impossible ------------------------------------------------------------------------


def _on_paper(layout: Layout, sessions: int, seed: int) -> list[Played]:
    railroad = begin(layout, seed)
    return [play(railroad, number, OnPaper()) for number in range(1, sessions + 1)]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_railroad_is_in_balance_and_the_other_is_not(seed: int) -> None:
    """Twenty sessions on paper: nothing runs out for good on the one, empty box cars at Upland do on the
    other, which differs only in where they go when loaded."""
    even = load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml")
    uneven = load_layout(ROOT / "puzzles" / "saltmarsh_unbalanced_layout.toml")
    assert balance_of(even, seed, _on_paper(even, 20, seed)).is_kept
    balance = balance_of(uneven, seed, _on_paper(uneven, 20, seed))
    lasting = {(one.place, one.kind, one.is_loaded) for one in balance.out_of if one.since}
    assert not balance.is_kept and ("Upland", "40 ft box", False) in lasting


def test_through_staging_keeps_a_track_empty() -> None:
    """On paper, too, twenty sessions leave the way through Upland free: asked for by the file (common
    practice, no source: staging that trains also pass through keeps one track empty)."""
    layout = load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml")
    for played in _on_paper(layout, 20, 1):
        used = {*played.at_start.values(), *(one.target for one in played.moved)}
        used |= {Where("Upland", track) for pair in played.staging.values() for track in pair}
        assert Where("Upland", "Upland 5") not in used


def test_how_little_would_do_is_played_and_one_less_too() -> None:
    """The cars of the Coast freight that keep the balance of twenty sessions, and those with which no more
    cars wait: the file with so many and with one less, put through the balance of the sessions themselves.
    Out of balance as it is, or with too few sessions, nothing is said."""
    layout = load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml")

    def with_cars(most: int) -> tuple[bool, int]:
        trains = tuple(
            replace(one, most_cars=most) if one.name == "Coast freight" else one for one in layout.trains
        )
        changed = replace(layout, trains=trains)
        balance = balance_of(changed, 3, _on_paper(changed, 20, 3))
        return balance.is_kept, sum(balance.waited.values())

    (found,) = (one for one in leasts_of(layout, 3, 20) if one.name == "Coast freight")
    assert with_cars(found.now) == (True, found.waits_now) and found.now == 8
    assert with_cars(found.least) == (True, found.waits) and not with_cars(found.least - 1)[0]
    assert with_cars(found.as_good)[1] <= found.waits_now < with_cars(found.as_good - 1)[1]
    assert not leasts_of(layout, 3, 3)
    assert not leasts_of(load_layout(ROOT / "puzzles" / "saltmarsh_unbalanced_layout.toml"), 3, 20)


def test_what_if_keeps_the_traffic(layout: Layout) -> None:
    """With one crew fewer the same cars move; with a train cut from the plan its cars wait."""
    (change,) = layout.what_if
    changed = what_if(layout, change)
    assert [crew.name for crew in changed.crews] == ["Ash"]
    assert [one.moved for one in _on_paper(changed, 3, 4)] == [one.moved for one in _on_paper(layout, 3, 4)]
    cut = what_if(layout, replace(change, without_crews=(), without_trains=("Coast freight",)))
    assert any("no freight leaves there" in one.why for p in _on_paper(cut, 6, 4) for one in p.waited)


def test_an_evening_that_is_too_short_is_explained(tmp_path: Path) -> None:
    """Five minutes are not enough, proved, and a smallest set of demands says why."""
    layout = load_layout(write(tmp_path, LAYOUT.replace("minutes = 90", "minutes = 5")))
    found = operate(layout, 2, 4, Here(), limits=_UNLIMITED, closely=False)
    long = [one for one in found.sessions if one.too_long is not None]
    assert long
    for one in long:
        assert one.too_long is not None and one.too_long.is_minimal
        assert "length" in {demand.kind for demand in one.too_long.demands}


def test_nobody_for_a_train(layout: Layout) -> None:
    """A train that nobody present can take makes the session impossible, and is named."""
    can = ("Point switcher", "Lane job", "Millbrook turn")
    crews = tuple(replace(crew, can=can) for crew in layout.crews)
    found = operate(replace(layout, crews=crews), 1, 4, Here(), limits=_UNLIMITED, closely=False)
    assert found.sessions[0].answer.outcome is Outcome.IMPOSSIBLE
    assert found.sessions[0].nobody == "no crew can take Upland freight"


@pytest.mark.slow
def test_twenty_sessions_of_the_railroad_and_a_large_layout() -> None:
    """The demo, twenty sessions with three crews, takes under three minutes on two cores, every schedule
    proved; on each of five large layouts (forty districts, sixty trains, crews that are always short) two
    minutes bring the schedule to within five percent of its bound."""
    began = time.monotonic()
    with pool(2, RUNS) as executor:
        found = operate(load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml"), 20, 3, executor)
    assert time.monotonic() - began < 180
    assert len(found.layout.crews) == 3 and all(one.answer.gap == 0 for one in found.sessions)
    for seed in range(1, 6):
        answer = make_schedule(problem_of(large_work(seed)), Effort(seconds=120, workers=2))
        assert answer.gap is not None and answer.gap <= 0.05, seed


def test_lengths_of_tracks_in_the_timetable(layout: Layout) -> None:
    """Staging tracks come to the timetable with what stands on them, exact: no more than they are long."""
    railroad = begin(layout, 4)
    for number in range(1, 4):
        played = play(railroad, number, OnPaper())
        work = session_work(layout, played)
        for length, level in work.tracks.values():
            assert 0 <= level <= length
