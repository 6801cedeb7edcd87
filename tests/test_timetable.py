"""From a session's work to a timetable: the optimum of brute force, and clearing the main."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from switchsolve.scheduling import Effort, Outcome, clash_of, make_schedule
from switchsolve.timetable.building import NobodyCan, problem_of
from switchsolve.timetable.reading import read
from switchsolve.timetable.sessionwork import Piece, SessionWork, Step, StepKind, TrainRun, YardStep
from switchsolve.timetable.telling import demand_text
from tests.brute_timetables import shortest

RUN, WORK, PASSING, STOP = StepKind.RUN, StepKind.WORK, StepKind.PASSING, StepKind.STOP


def _local(name: str, place: str, minutes: int, crews: tuple[str, ...], *pieces: Piece) -> TrainRun:
    """Out over the link, work, and home."""
    steps = (
        Step(f"{name}: run 1", RUN, "link", 1),
        Step(f"{name}: works {place}", WORK, place, minutes, pieces),
        Step(f"{name}: last run", RUN, "link", 1),
    )
    return TrainRun(name, crews, steps)


def _through(name: str, crews: tuple[str, ...], leaves: int | None) -> TrainRun:
    """Over another link, past Mill, and on."""
    steps = (
        Step(f"{name}: run 1", RUN, "main line", 1),
        Step(f"{name}: passes Mill", PASSING, "Mill", 1),
        Step(f"{name}: last run", RUN, "main line", 1),
    )
    return TrainRun(name, crews, steps, leaves)


def _random(seed: int) -> SessionWork:
    """A local with parts to its work, a train that passes it, sometimes a task of the yard."""
    chance = random.Random(seed)
    crews = ("X", "Y")[: chance.randrange(1, 3)]
    parts = [Piece(1, chance.randrange(2)) for _ in range(chance.randrange(2, 4))]
    local = _local("job", "Mill", len(parts), crews, *parts)
    leaves = chance.choice([None, 1, 2, 3])
    trains = [local, _through("mail", (chance.choice(crews),), leaves)]
    yard = []
    if chance.random() < 0.7:
        is_make_up = chance.random() < 0.5
        name = "make up job" if is_make_up else "put away job"
        yard.append(YardStep(name, "job", chance.randrange(1, 3), is_make_up, 0))
    aisle = chance.random() < 0.5
    return SessionWork(
        crews,
        "Yard",
        (chance.choice(crews),),
        tuple(trains),
        tuple(yard),
        {"link": 1, "main line": 1},
        {"aisle": 1},
        {"Mill": "aisle", "Yard": "aisle"} if aisle else {},
    )


def test_the_optimum_is_that_of_brute_force() -> None:
    """On 40 random small layouts the proved length is the shortest of all timetables, tried one by one; what
    is called impossible has none.  In some the local clears the main in the midst of its work."""
    most, cleared, none = 12, 0, 0
    for seed in range(40):
        work = _random(seed)
        answer, brute = make_schedule(problem_of(work, most)), shortest(work, most)
        if brute is None:
            none += 1
            assert answer.outcome is Outcome.IMPOSSIBLE, seed
            continue
        assert answer.outcome is Outcome.PROVED and answer.schedule is not None, seed
        assert answer.schedule.length == brute, seed
        cleared += bool(read(work, answer.schedule).cleared)
    assert cleared >= 3 and none <= 20


def test_clearing_takes_its_minutes() -> None:
    """Work of two and two minutes, cleared in between in one minute each way for a train that passes in one:
    seven minutes on the spot instead of four, and the moves are told."""
    local = _local("job", "Mill", 4, ("X",), Piece(2, 1, 3), Piece(2))
    mail = _through("mail", ("Y",), 3)
    work = SessionWork(("X", "Y"), "Yard", ("X",), (local, mail), (), {"link": 1, "main line": 1}, {}, {})
    answer = make_schedule(problem_of(work))
    assert answer.schedule is not None
    timetable = read(work, answer.schedule)
    assert answer.schedule.length == answer.bound == 9
    (cleared,) = timetable.cleared
    assert (cleared.passing, cleared.moves) == ("mail", 3)
    assert (cleared.start, cleared.until, cleared.end) == (3, 5, 6)


def test_nobody_can() -> None:
    """A train without a crew is named."""
    local = _local("job", "Mill", 4, ())
    work = SessionWork(("X",), "Yard", ("X",), (local,), (), {"link": 1}, {}, {})
    with pytest.raises(NobodyCan, match="no crew can take job"):
        problem_of(work)


def test_what_clashes_is_told_in_words() -> None:
    """One crew, a fixed train in the middle of the work it also has to do, and too short an evening."""
    local = _local("job", "Mill", 4, ("X",))
    mail = _through("mail", ("X",), 3)
    work = SessionWork(("X",), "Yard", ("X",), (local, mail), (), {"link": 1, "main line": 1}, {}, {})
    problem = problem_of(work, 9)
    clash = clash_of(problem, Effort(seconds=10))
    assert clash.is_minimal

    class Inches:
        unit, grid = "in", 1

    told = {demand_text(demand, problem, Inches()) for demand in clash.demands}
    assert {"mail leaves at its fixed time, minute 3", "X does one thing at a time"} <= told
    assert make_schedule(problem_of(replace(work, trains=(local,)), 9)).outcome is Outcome.PROVED
