"""The scheduling core: published optima, brute force, clashes, and a checker that can say no."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from switchsolve.scheduling import (
    After,
    Change,
    Choice,
    Demand,
    Duty,
    Effort,
    Outcome,
    Problem,
    Reservoir,
    Schedule,
    Task,
    Use,
    clash_of,
    demands_of,
    faults,
    make_schedule,
    solving,
)
from switchsolve.scheduling.greedy import greedy_schedule
from switchsolve.scheduling.needless import needless_waits
from tests import brute_schedules

SHOPS = json.loads((Path(__file__).parent / "job_shops.json").read_text(encoding="utf-8"))


def _shop(name: str) -> Problem:
    """A job shop: the operations of a job in a row, one at a time on each machine."""
    tasks, after = [], []
    shop = SHOPS[name]
    for job, (machines, durations) in enumerate(zip(shop["machines"], shop["durations"], strict=True)):
        for place, (machine, duration) in enumerate(zip(machines, durations, strict=True)):
            tasks.append(Task(f"{job} {place}", duration, uses=(Use(f"machine {machine}"),)))
            if place:
                after.append(After(f"{job} {place - 1}", f"{job} {place}"))
    resources = {f"machine {machine}": 1 for machine in range(len(shop["machines"][0]))}
    return Problem(tuple(tasks), tuple(after), resources)


@pytest.mark.parametrize("name", [name for name in SHOPS if name != "source"])
def test_job_shops_in_print(name: str) -> None:
    """Instances with published optima come out exact; source: the file tests/job_shops.json names it."""
    problem = _shop(name)
    answer = make_schedule(problem)
    assert answer.outcome is Outcome.PROVED and answer.schedule is not None
    assert answer.schedule.length == answer.bound == SHOPS[name]["optimum"]
    assert answer.gap == 0
    assert not faults(problem, answer.schedule)


# -- brute force -----------------------------------------------------------------------------------------

_MOST = 8


def _random(seed: int) -> Problem:
    """Up to four tasks with a few of each kind of demand."""
    chance = random.Random(seed)
    names = "abcd"[: chance.randrange(2, 5)]
    tasks = []
    for name in names:
        uses = [Use(resource, chance.randrange(1, 3)) for resource in "RS" if chance.random() < 0.5]
        changes = [Change("T", chance.choice([-2, -1, 1, 2]), chance.random() < 0.5)]
        tasks.append(
            Task(
                name,
                chance.randrange(1, 3),
                wait=chance.choice([0, 0, 0, 1]),
                earliest=chance.choice([0, 0, 1]),
                starts_at=chance.choice([None] * 6 + [2]),
                latest=chance.choice([None, None, None, None, 5]),
                uses=tuple(uses),
                changes=tuple(changes) if chance.random() < 0.6 else (),
            )
        )
    after = [
        After(sooner, later, chance.choice([0, 0, 1]), chance.choice([None, 1]))
        for sooner in names
        for later in names
        if sooner < later and chance.random() < 0.25
    ]
    duties = [Duty("first", tuple(names[:2]) if chance.random() < 0.5 else (names[0],), ("X", "Y"))]
    if len(names) > 2:
        duties.append(Duty("second", (names[2],), chance.choice([("X",), ("X", "Y"), ("Y", "Z")])))
    if len(names) > 3:
        duties.append(Duty("third", (names[3],), chance.choice([("Y",), ("X", "Y")])))
    return Problem(
        tuple(tasks),
        tuple(after),
        {"R": chance.randrange(1, 3), "S": 2},
        ("X", "Y", "Z"),
        tuple(duties),
        (Reservoir("T", chance.randrange(1, 4), chance.randrange(2)),),
        length=_MOST,
    )


def test_the_optimum_is_that_of_brute_force() -> None:
    """Length and evenness on 200 random problems; both verdicts occur often, each schedule is checked."""
    said = {True: 0, False: 0}
    for seed in range(200):
        problem = _random(seed)
        answer, brute = make_schedule(problem), brute_schedules.best(problem, _MOST)
        said[brute is not None] += 1
        if brute is None:
            assert answer.outcome is Outcome.IMPOSSIBLE, seed
            continue
        assert answer.outcome is Outcome.PROVED and answer.schedule is not None, seed
        assert (answer.schedule.length, answer.unevenness) == brute, seed
        assert answer.is_evenness_proved
        assert not faults(problem, answer.schedule)
    assert min(said.values()) >= 50


def test_what_is_cut_off_by_the_latest_time() -> None:
    """Without a length asked for, no optimum is lost: it is that of brute force, which has time to spare."""
    compared = 0
    for seed in range(300, 350):
        problem = replace(_random(seed), length=None)
        answer, brute = make_schedule(problem), brute_schedules.best(problem, 11)
        if brute is None:
            assert answer.schedule is None or answer.schedule.length > 11, seed
        else:
            compared += 1
            assert answer.schedule is not None, seed
            assert (answer.schedule.length, answer.unevenness) == brute, seed
    assert compared >= 12


def _in_a_row(seed: int) -> Problem:
    """A random problem whose first duty has two tasks, one just after the other, the first of which can wait;
    the second mostly uses nothing that others use."""
    problem, chance = _random(seed), random.Random(seed)
    first, second, *others = problem.tasks
    first = replace(first, wait=chance.choice([1, 2, None]))
    if chance.random() < 0.8:
        second = replace(second, wait=chance.choice([0, 1]), earliest=0, starts_at=None, uses=(), changes=())
    gap = chance.randrange(2)
    kept = [after for after in problem.after if after.later != second.name]
    duties = (Duty("first", (first.name, second.name), ("X", "Y")), *problem.duties[1:])
    after = (After(first.name, second.name, gap, gap), *kept)
    return replace(problem, tasks=(first, second, *others), after=after, duties=duties)


def test_waits_that_no_schedule_needs_against_brute_force() -> None:
    """Where waits are left out the optimum is that of brute force, which has them all; it happens often."""
    found = compared = 0
    for seed in range(150):
        problem = _in_a_row(seed)
        answer, brute = make_schedule(problem), brute_schedules.best(problem, _MOST)
        found += bool(needless_waits(problem))
        if brute is None:
            assert answer.outcome is Outcome.IMPOSSIBLE, seed
            continue
        compared += bool(needless_waits(problem))
        assert answer.schedule is not None, seed
        assert (answer.schedule.length, answer.unevenness) == brute, seed
        assert not faults(problem, answer.schedule)
    assert found >= 50 and compared >= 25


def _with_choices(seed: int) -> Problem:
    """A random problem in which some tasks come before, after or between others."""
    problem, chance = _random(seed), random.Random(seed)
    names = [task.name for task in problem.tasks]
    choices = []
    for number in range(chance.randrange(1, 3)):
        one, other = chance.sample(names, 2)
        first, second = After(one, other, chance.randrange(2)), After(other, one, 0, chance.choice([None, 1]))
        options: list[tuple[After, ...]] = [(first,), (second,)]
        if len(names) > 2:
            third = chance.choice([name for name in names if name not in (one, other)])
            options.append((After(one, third, 1), After(third, other, chance.randrange(2))))
        choices.append(Choice(f"way {number}", tuple(chance.sample(options, len(options)))))
    return replace(problem, choices=tuple(choices))


def test_choices_against_brute_force() -> None:
    """With ways to choose from the optimum is that of brute force, too, and both verdicts occur."""
    said = {True: 0, False: 0}
    for seed in range(600, 680):
        problem = _with_choices(seed)
        answer, brute = make_schedule(problem), brute_schedules.best(problem, _MOST)
        said[brute is not None] += 1
        if brute is None:
            assert answer.outcome is Outcome.IMPOSSIBLE, seed
            continue
        assert answer.outcome is Outcome.PROVED and answer.schedule is not None, seed
        assert (answer.schedule.length, answer.unevenness) == brute, seed
        assert not faults(problem, answer.schedule)
    assert min(said.values()) >= 15


def test_a_choice_that_does_not_hold_is_a_fault_and_can_clash() -> None:
    """The checker names a choice of which no way holds; one that cannot hold is among what clashes."""
    ways = Choice("b before a, or long after", ((After("b", "a"),), (After("a", "b", 5),)))
    problem = Problem((Task("a", 2), Task("b", 2)), choices=(ways,), length=6)
    schedule = Schedule({"a": 0, "b": 3}, {"a": 2, "b": 5}, {})
    assert [fault.kind for fault in faults(problem, schedule)] == ["choice"]
    tight = replace(problem, tasks=(Task("a", 2, starts_at=0), Task("b", 2)))
    clash = make_schedule(tight).clash
    assert clash is not None and clash.is_minimal
    assert sorted(demand.kind for demand in clash.demands) == ["choice", "length", "start"]


def test_even_loads() -> None:
    """Four duties of 2 for two crews: two each, and not longer for it; the square sum says so."""
    tasks = tuple(Task(name, 2) for name in "abcd")
    duties = tuple(Duty(name, (name,), ("X", "Y")) for name in "abcd")
    after = (After("a", "b"), After("b", "c"), After("c", "d"))
    problem = Problem(tasks, after, crews=("X", "Y"), duties=duties)
    answer = make_schedule(problem)
    assert answer.schedule is not None and answer.schedule.length == 8
    assert answer.schedule.loads(problem) == {"X": 4, "Y": 4}
    assert answer.unevenness == 32


def test_the_same_answer_every_time() -> None:
    """One worker and one seed: the same schedule again."""
    problem = _shop("ft06")
    first, second = (make_schedule(problem, Effort(seed=7)) for _ in range(2))
    assert first.schedule == second.schedule and first.schedule is not None


def test_a_proof_that_is_stopped() -> None:
    """With no time there is no schedule that is called proved, and the bound is under the optimum."""
    answer = make_schedule(_shop("la01"), Effort(seconds=1e-4))
    assert answer.outcome in (Outcome.GAVE_UP, Outcome.BEST_FOUND)
    assert answer.bound is not None and answer.bound <= SHOPS["la01"]["optimum"]


def test_a_first_schedule_by_the_greedy_way() -> None:
    """Of random problems with no times to have ended by it mostly makes a schedule; none is shorter than
    the shortest."""
    possible = sound = 0
    for seed in range(400, 560):
        problem = _random(seed)
        tasks = tuple(replace(task, latest=None) for task in problem.tasks)
        problem = replace(problem, length=None, tasks=tasks)
        answer, made = make_schedule(problem), greedy_schedule(problem, 30)
        possible += answer.schedule is not None
        if made is not None and not faults(problem, made):
            sound += 1
            assert answer.bound is not None and made.length >= answer.bound
    assert possible >= 30 and sound >= 0.7 * possible


def test_a_stopped_search_falls_back_on_the_greedy_way() -> None:
    """With next to no time there is a schedule all the same, and a bound."""
    problem = _shop("la01")
    answer = make_schedule(problem, Effort(seconds=1e-3))
    assert answer.outcome is Outcome.BEST_FOUND and answer.schedule is not None
    assert answer.bound is not None and answer.bound <= 666 <= answer.schedule.length


def test_progress_is_told() -> None:
    """Each better schedule is told, with its bound."""
    lines: list[str] = []
    make_schedule(_shop("ft06"), Effort(tell=lines.append))
    assert lines and all("found, not under" in line for line in lines)
    assert lines[-1].startswith("length: 55 found")


def test_an_empty_problem() -> None:
    """Nothing to do takes no time."""
    answer = make_schedule(Problem(()))
    assert answer.outcome is Outcome.PROVED and answer.schedule == Schedule({}, {}, {})


# -- clashes ---------------------------------------------------------------------------------------------


def _without(problem: Problem, demand: Demand) -> Problem:
    """The problem without one demand, by changing its data."""

    def each(kind: str, change: Callable[[Task], Task]) -> Problem:
        tasks = [
            change(task) if (kind, task.name) == (demand.kind, demand.name) else task
            for task in problem.tasks
        ]
        return replace(problem, tasks=tuple(tasks))

    much = 10**6
    if demand.kind == "earliest":
        return each("earliest", lambda task: replace(task, earliest=0))
    if demand.kind == "start":
        return each("start", lambda task: replace(task, starts_at=None))
    if demand.kind == "latest":
        return each("latest", lambda task: replace(task, latest=None))
    if demand.kind == "after":
        after = [one for place, one in enumerate(problem.after) if place != demand.index]
        return replace(problem, after=tuple(after))
    if demand.kind == "resource":
        return replace(problem, resources={**problem.resources, demand.name: much})
    if demand.kind == "level":
        levels = [
            replace(one, capacity=one.capacity + much) if one.name == demand.name else one
            for one in problem.reservoirs
        ]
        return replace(problem, reservoirs=tuple(levels))
    if demand.kind == "stock":
        levels = [
            replace(one, level=one.level + much, capacity=one.capacity + much)
            if one.name == demand.name
            else one
            for one in problem.reservoirs
        ]
        return replace(problem, reservoirs=tuple(levels))
    if demand.kind == "length":
        return replace(problem, length=None)
    # a crew for each duty stands for a crew that need not take one at a time, or for nobody asked for
    duties = []
    for duty in problem.duties:
        crews = tuple(dict.fromkeys((*duty.crews, f"anybody for {duty.name}")))
        is_free = demand.name in duty.crews if demand.kind == "crew" else demand.name == duty.name
        duties.append(replace(duty, crews=crews) if is_free else duty)
    extra = {crew for duty in duties for crew in duty.crews} - set(problem.crews)
    return replace(problem, duties=tuple(duties), crews=(*problem.crews, *sorted(extra)))


def _kept(problem: Problem, demands: set[Demand]) -> Problem:
    """The problem with these demands only."""
    others = set(demands_of(problem)) - demands
    for demand in sorted(others, key=lambda one: (one.kind, -one.index, one.name)):
        problem = _without(problem, demand)
    return problem


def test_clashes_are_minimal() -> None:
    """Of random problems that are impossible: the demands named clash by themselves, and no longer if any
    one of them is left out of the data."""
    seen: set[str] = set()
    for seed in range(120):
        problem = _random(seed)
        if seed % 2:  # crews and time are short, and nothing else
            duties = tuple(replace(duty, crews=duty.crews[:1]) for duty in problem.duties)
            tasks = tuple(replace(task, changes=()) for task in problem.tasks)
            problem = replace(problem, tasks=tasks, duties=duties, length=4, reservoirs=())
        answer = make_schedule(problem)
        if answer.clash is None:
            continue
        assert answer.clash.is_minimal and answer.clash.demands
        seen |= {demand.kind for demand in answer.clash.demands}
        named = set(answer.clash.demands)
        assert make_schedule(_kept(problem, named)).outcome is Outcome.IMPOSSIBLE, seed
        for one in named:
            assert make_schedule(_kept(problem, named - {one})).outcome is Outcome.PROVED, (seed, one)
    assert seen >= {"latest", "level", "stock", "resource", "start", "after", "crew", "duty"}


def test_a_clash_in_words() -> None:
    """A night train at a fixed time and a local on one link, the local home early: just these are named."""
    problem = Problem(
        tasks=(
            Task("night train", 30, starts_at=20, uses=(Use("link"),)),
            Task("local", 40, latest=60, uses=(Use("link"),)),
            Task("switcher", 25, latest=90),
        ),
        resources={"link": 1, "yard": 2},
        crews=("one", "two"),
        duties=(Duty("the local", ("local",), ("one", "two")),),
        length=120,
    )
    answer = make_schedule(problem)
    assert answer.outcome is Outcome.IMPOSSIBLE and answer.clash is not None
    assert [str(demand) for demand in answer.clash.demands] == [
        "night train starts at 20",
        "local has ended by 60",
        "link has room for 1 at once",
    ]


@pytest.mark.parametrize(
    ("problem", "texts"),
    [
        (
            Problem((Task("a", 5), Task("b", 5)), (After("a", "b", 2),), length=11),
            ["b starts 2 or more after a has ended", "all has ended by 11"],
        ),
        (
            Problem((Task("a", 5, earliest=4),), length=8),
            ["a starts at 4 or later", "all has ended by 8"],
        ),
        (
            Problem((Task("a", 5), Task("b", 5)), (After("a", "b"), After("b", "a", 1, 3))),
            [
                "b starts after a has ended",
                "a starts 1 or more and 3 or less after b has ended",
            ],
        ),
        (
            Problem(
                (Task("a", 5), Task("b", 5)),
                crews=("X",),
                duties=(Duty("A", ("a",), ("X",)), Duty("B", ("b",), ("X",))),
                length=9,
            ),
            ["X takes one duty at a time", "A is taken by X", "B is taken by X", "all has ended by 9"],
        ),
        (
            Problem((Task("a", 1, changes=(Change("T", 3),)),), reservoirs=(Reservoir("T", 2),)),
            ["T holds 2 at the most"],
        ),
        (
            Problem(
                (
                    Task("a", 3, changes=(Change("T", 1, at_start=False),)),
                    Task("b", 2, changes=(Change("T", -1),)),
                ),
                reservoirs=(Reservoir("T", 2),),
                length=4,
            ),
            ["T holds no less than nothing", "all has ended by 4"],
        ),
    ],
)
def test_every_kind_of_demand_is_named(problem: Problem, texts: list[str]) -> None:
    """Precedence, windows, crews, reservoirs and the length, in words."""
    clash = clash_of(problem)
    assert clash.is_minimal
    assert [str(demand) for demand in clash.demands] == texts


def test_a_clash_not_decided_is_not_called_minimal(monkeypatch: pytest.MonkeyPatch) -> None:
    """When time ends once the clash is known, all demands stay, and the set is not called minimal."""
    problem = Problem((Task("a", 5, earliest=4), Task("b", 1, latest=9)), length=8)
    answers = iter([False])
    monkeypatch.setattr(solving, "_can_be", lambda *_: next(answers, None))
    clash = clash_of(problem)
    assert not clash.is_minimal and clash.demands == demands_of(problem)


def test_what_is_not_known_to_be_impossible_has_no_clash() -> None:
    """With no time to see that it is impossible, or where it is not, nothing is said to clash."""
    problem = Problem((Task("a", 5, earliest=4),), length=8)
    with pytest.raises(ValueError, match="not known to be impossible"):
        clash_of(problem, Effort(seconds=0))
    with pytest.raises(ValueError, match="nothing clashes"):
        clash_of(Problem((Task("a", 5),)))


# -- the checker says no ---------------------------------------------------------------------------------

_PROBLEM = Problem(
    tasks=(
        Task("out", 10, wait=5, uses=(Use("link"),), changes=(Change("track", -6),)),
        Task("work", 20, uses=(Use("place", 2),)),
        Task("home", 10, uses=(Use("link"),), changes=(Change("track", 6, at_start=False),)),
        Task("mail", 10, starts_at=12, uses=(Use("link"),)),
        Task("yard", 15, earliest=5, latest=60, uses=(Use("place"),), changes=(Change("track", 4),)),
    ),
    after=(After("out", "work", gap=2, most=30), After("mail", "yard")),
    resources={"link": 1, "place": 2},
    crews=("X", "Y"),
    duties=(Duty("local", ("out", "work", "home"), ("X",)), Duty("switcher", ("yard",), ("X", "Y"))),
    reservoirs=(Reservoir("track", 10, 6),),
    length=80,
)
_GOOD = Schedule(
    {"out": 0, "work": 13, "home": 33, "mail": 12, "yard": 40},
    {"out": 10, "work": 33, "home": 43, "mail": 22, "yard": 55},
    {"local": "X", "switcher": "Y"},
)


def test_the_good_schedule_is_accepted() -> None:
    """What the next test spoils is one; and the solver finds one for the same problem."""
    assert not faults(_PROBLEM, _GOOD)
    assert make_schedule(_PROBLEM).outcome is Outcome.PROVED


@pytest.mark.parametrize(
    ("times", "crews", "kind", "what"),
    [
        ({"home": (50, 59)}, {}, "duration", "home, from 50 to 59, lasts less than 10"),
        ({"out": (-6, 10)}, {}, "duration", "lasts more than 15"),
        ({"out": (-1, 10)}, {}, "time", "starts before the beginning"),
        ({"mail": (13, 23)}, {}, "window", "does not start at 12"),
        ({"yard": (4, 19)}, {}, "window", "starts before 5"),
        ({"yard": (50, 65)}, {}, "window", "has not ended by 60"),
        ({"home": (75, 85)}, {}, "length", "ends after 80"),
        ({"out": (0, 12)}, {}, "after", "work starts 1 after the end of out"),
        ({"work": (41, 61), "home": (61, 71)}, {}, "after", "work starts 31 after the end of out"),
        ({"home": (20, 30)}, {}, "resource", "link has room for 1; at 20 home, mail use 2"),
        ({"yard": (23, 38)}, {}, "resource", "place has room for 2; at 23 work, yard use 3"),
        ({"out": (1, 11), "yard": (0, 15)}, {}, "reservoir", "track holds 10 at 0"),
        ({"home": (33, 43)}, {"switcher": "X"}, "crew", "X takes local and switcher at once"),
        ({}, {"local": "Y"}, "crew", "local may not be taken by Y"),
        ({"home": (32, 42)}, {}, "order", "local: home starts before work has ended"),
    ],
)
def test_the_checker_says_no(
    times: dict[str, tuple[int, int]], crews: dict[str, str], kind: str, what: str
) -> None:
    """Each kind of fault is found and named."""
    problem = _PROBLEM
    if kind == "reservoir":
        problem = replace(problem, reservoirs=(Reservoir("track", 9, 6),))
    spoiled = Schedule(
        {**_GOOD.starts, **{task: start for task, (start, _) in times.items()}},
        {**_GOOD.ends, **{task: end for task, (_, end) in times.items()}},
        {**_GOOD.crews, **crews},
    )
    assert any(fault.kind == kind and what in fault.what for fault in faults(problem, spoiled))


def test_the_checker_looks_at_empty_and_full_tracks() -> None:
    """A reservoir below nothing, and one that is too full at the beginning."""
    empty = replace(_PROBLEM, reservoirs=(Reservoir("track", 10, 5),))
    assert [fault.what for fault in faults(empty, _GOOD)] == ["track holds -1 at 0"]
    full = replace(_PROBLEM, reservoirs=(Reservoir("track", 10, 11),))
    assert "track holds 11 at the beginning" in [fault.what for fault in faults(full, _GOOD)]


@pytest.mark.parametrize(
    ("schedule", "kind"),
    [
        (Schedule({}, _GOOD.ends, _GOOD.crews), "missing"),
        (Schedule(_GOOD.starts, {}, _GOOD.crews), "missing"),
        (Schedule(_GOOD.starts, _GOOD.ends, {}), "missing"),
        (Schedule({**_GOOD.starts, "ghost": 0}, _GOOD.ends, _GOOD.crews), "unknown"),
        (Schedule(_GOOD.starts, _GOOD.ends, {**_GOOD.crews, "ghost": "X"}), "unknown"),
    ],
)
def test_the_checker_wants_all_and_no_more(schedule: Schedule, kind: str) -> None:
    """A task or duty left out, or one too many, is named."""
    assert {fault.kind for fault in faults(_PROBLEM, schedule)} == {kind}


# -- nonsense --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"tasks": (Task("a", 1), Task("a", 1))}, "a: each task must be named once"),
        ({"tasks": (Task("a", 0),)}, "task a: duration is 0; it must be 1 at least"),
        ({"tasks": (Task("a", 1, wait=-1),)}, "task a: wait is -1"),
        ({"tasks": (Task("a", 1, starts_at=-1),)}, "task a: starts_at is -1"),
        ({"tasks": (Task("a", 1, uses=(Use("R"),)),)}, "task a: there is no R"),
        ({"tasks": (Task("a", 1, uses=(Use("R", 0),)),), "resources": {"R": 1}}, "amount of R is 0"),
        ({"tasks": (Task("a", 1, changes=(Change("T", 1),)),)}, "task a: there is no T"),
        ({"after": (After("a", "b"),)}, "after a: there is no b"),
        ({"after": (After("a", "a", gap=-1),)}, "gap is -1"),
        ({"resources": {"R": -1}}, "resource R: room is -1"),
        ({"crews": ("X", "X")}, "X: each crew must be named once"),
        ({"duties": (Duty("D", ("a",), ("X",)),)}, "duty D: there is no X"),
        ({"duties": (Duty("D", (), ("X",)),), "crews": ("X",)}, "a task and a crew at least"),
        (
            {"duties": (Duty("D", ("a",), ("X", "X")),), "crews": ("X",)},
            "X: each crew of duty D must be named once",
        ),
        (
            {"duties": (Duty("D", ("a",), ("X",)), Duty("E", ("a",), ("X",))), "crews": ("X",)},
            "a: each task in all duties together must be named once",
        ),
        ({"reservoirs": (Reservoir("T", -1),)}, "reservoir T: capacity is -1"),
        ({"length": -1}, "length is -1"),
    ],
)
def test_nonsense_is_refused(changes: dict[str, Any], what: str) -> None:
    """Each with what is wrong."""
    with pytest.raises(ValueError, match=what):
        Problem(**{"tasks": (Task("a", 1),), **changes})
