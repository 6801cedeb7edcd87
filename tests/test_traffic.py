"""Traffic: what a file asks for is what is drawn, and sessions follow each other."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from itertools import islice
from math import sqrt

import pytest

from switchsolve.puzzle import BLOCKINGS, Industry, Puzzle, Traffic
from switchsolve.puzzlefile import dumps, loads
from switchsolve.puzzlefile.placing import least_coupled
from switchsolve.referee import replay
from switchsolve.solving import solve
from switchsolve.traffic import Season, Session, sessions
from switchsolve.traffic.draws import asked_for, order_of, standing_at_first
from switchsolve.work import EndsIn, Train
from tests.traffic_files import lane

ROOMY = (
    ('length = 13, spots = { "door 1" = 9, "door 2" = 3 } }', "length = 300 }"),
    ('diverging", length = 7 }', 'diverging", length = 300 }'),
    ("most_cars = 2", "most_cars = 40"),
)
"""Changes after which no place and no train is ever short."""
SIGMAS = 5
"""By chance alone a sum lies farther from its mean less than once in a million trials."""


def _train(session: Session) -> Train:
    (train,) = (item for item in session.puzzle.work.items if isinstance(item, Train))
    return train


def _standing(puzzle: Puzzle) -> dict[str, tuple[str, str | None]]:
    """Track and spot of each car."""
    return {
        name: (string.track, string.spots.get(name))
        for string in puzzle.start.strings
        for name in string.vehicles
    }


def _traffic(puzzle: Puzzle) -> Traffic:
    assert puzzle.traffic is not None
    return puzzle.traffic


# -- the file --------------------------------------------------------------------------------------------


def test_the_section_is_read_and_written() -> None:
    """The traffic of a file is what its text says, and comes back from its own text."""
    puzzle = lane(("most_cars = 2", 'most_cars = 2\ndeparts_at = "from"'))
    assert puzzle.traffic == Traffic(
        "lead",
        "to",
        2,
        (
            Industry("cider works", {"box": 0.8, "reefer": 0.4}, 2.5, 0.75),
            Industry("ice house", {"reefer": 0.5}, 1.25, 0.25),
        ),
        "as drawn",
        "from",
    )
    assert loads(dumps(puzzle)) == puzzle


def test_what_may_be_left_out() -> None:
    """Without `full` nothing stands there at first; without `blocking` it is as drawn; the end at which the
    train leaves may be left open."""
    puzzle = lane((", full = 0.25 }", " }"), ('blocking = "as drawn"\n', ""))
    assert _traffic(puzzle).industries[1].full == 0
    assert (_traffic(puzzle).blocking, _traffic(puzzle).departs_at) == ("as drawn", None)


def test_cars_at_spots_are_coupled_only_where_they_must() -> None:
    """Cars of 6 over points 6 apart: apart if the track has room to spare, coupled if it is just as long."""
    assert least_coupled([6, 6], [3, 9], 13) == [range(0, 1), range(1, 2)]
    assert least_coupled([6, 6], [3, 9], 12) == [range(0, 2)]
    assert least_coupled([6, 6], [3, 9], 11) is None
    assert least_coupled([4, 4, 4], [2, 6, 10], 13) == [range(0, 1), range(1, 3)]
    assert least_coupled([], [], 5) == []


# -- chance ----------------------------------------------------------------------------------------------


def test_cars_asked_for_are_poisson_with_the_means_of_the_file() -> None:
    """Over 4,000 sessions mean and variance of each kind are those of a Poisson distribution."""
    industry, count = Industry("works", {"box": 1.7, "reefer": 0.3}, 2), 4000
    drawn = [Counter(one.kind for one in asked_for(industry, 1, 7, 1, n, 0)) for n in range(count)]
    for kind, mean in industry.kinds.items():
        figures = [here[kind] for here in drawn]
        found = sum(figures) / count
        assert abs(found - mean) < SIGMAS * sqrt(mean / count)
        variance = sum((figure - mean) ** 2 for figure in figures) / count
        # the variance of (x - mean)² of a Poisson distribution is mean + 2 mean²
        assert abs(variance - mean) < SIGMAS * sqrt((mean + 2 * mean**2) / count)


@pytest.mark.parametrize("stay", [1.0, 1.5, 4.0])
def test_stays_are_geometric_with_the_mean_of_the_file(stay: float) -> None:
    """The mean stay is that of the file, none is under one session, and the share of stays of one session is
    one in `stay`."""
    industry = Industry("works", {"box": 2.0}, stay)
    stays = [one.stay for n in range(2500) for one in asked_for(industry, 1, 3, 1, n, 0)]
    assert min(stays) == 1
    spread = sqrt(stay * (stay - 1) / len(stays))
    assert abs(sum(stays) / len(stays) - stay) <= SIGMAS * spread
    share = stays.count(1) / len(stays)
    assert abs(share - 1 / stay) <= SIGMAS * sqrt((1 / stay) * (1 - 1 / stay) / len(stays))


def test_places_are_taken_at_first_as_the_file_says() -> None:
    """The share of places taken is `full`; the kinds stand there in the proportion in which they come."""
    industry = Industry("works", {"box": 3.0, "reefer": 1.0}, 2, 0.3)
    drawn = [one for n in range(2000) for one in standing_at_first(industry, 4, 1, 5, n, 0, 0)]
    taken = [one for one in drawn if one is not None]
    assert abs(len(taken) / len(drawn) - 0.3) < SIGMAS * sqrt(0.3 * 0.7 / len(drawn))
    boxes = sum(one.kind == "box" for one in taken) / len(taken)
    assert abs(boxes - 0.75) < SIGMAS * sqrt(0.75 * 0.25 / len(taken))


def test_all_orders_come_alike() -> None:
    """Each of the six orders of three cars comes one time in six."""
    found = Counter(tuple(order_of(3, 1, 1, n, 0)) for n in range(6000))
    assert len(found) == 6
    assert all(abs(times - 1000) < SIGMAS * sqrt(6000 * 5 / 36) for times in found.values())


def test_what_is_asked_for_depends_on_seed_and_number_alone() -> None:
    """The same seed draws the same sessions; another seed or season others; and a session left undone does
    not change which cars are asked for later."""
    puzzle = lane(*ROOMY)

    def drawn(seed: int, season: int = 1) -> list[Puzzle]:
        return [session.puzzle for session in sessions(puzzle, 8, seed, season)]

    assert drawn(3) == drawn(3)
    assert drawn(3) != drawn(4) and drawn(3)[0].start != drawn(3, 2)[0].start
    undone, done = Season(puzzle, 3), Season(puzzle, 3)
    for _ in range(8):
        one, other = undone.draw(), done.draw()
        new = [name for name in one.arrived if name not in one.rolled_over]
        assert new == list(other.arrived)
        undone.close(one.arrived)
        done.close()


# -- sessions that follow each other ---------------------------------------------------------------------


def test_cars_come_and_stay_as_the_file_asks() -> None:
    """Where neither places nor the train are short: cars a session of each industry, and the sessions from
    arrival to pick-up, have the means of the file."""
    puzzle, count = lane(*ROOMY), 1200
    came: dict[str, int] = {}
    stayed: dict[str, list[int]] = {"cider works": [], "ice house": []}
    arrivals: Counter[str] = Counter()
    for session in sessions(puzzle, count, 11):
        assert not session.waiting and not session.turned_away
        where = {
            item.car: item.places[0].track for item in session.puzzle.work.items if isinstance(item, EndsIn)
        }
        arrivals.update(where.values())
        standing = _standing(session.puzzle)
        for name in session.picked_up:
            if name in came:
                stayed[standing[name][0]].append(session.number - came[name])
        came |= dict.fromkeys(session.arrived, session.number)
    for item in _traffic(puzzle).industries:
        mean = sum(item.kinds.values())
        assert abs(arrivals[item.track] / count - mean) < SIGMAS * sqrt(mean / count)
        stays = stayed[item.track]
        assert abs(sum(stays) / len(stays) - item.stay) < SIGMAS * sqrt(
            item.stay * (item.stay - 1) / len(stays)
        )


def test_what_is_spotted_is_there_next_time_until_it_is_picked_up() -> None:
    """Every car stands where it was spotted until the session that picks it up, and then never comes again;
    nobody else stands anywhere."""
    at: dict[str, tuple[str, str | None]] = {}
    gone: set[str] = set()
    for index, session in enumerate(sessions(lane(), 60, 2)):
        train = {*session.arrived, "S&I 5"}
        standing = {name: where for name, where in _standing(session.puzzle).items() if name not in train}
        if index:
            assert standing == at
        assert not gone & {*standing, *session.arrived}
        places = {i.car: i.places[0] for i in session.puzzle.work.items if isinstance(i, EndsIn)}
        assert set(places) == set(session.arrived)
        at = {name: where for name, where in standing.items() if name not in session.picked_up}
        at |= {name: (place.track, place.spot) for name, place in places.items()}
        gone |= set(session.picked_up)


@pytest.mark.parametrize("blocking", BLOCKINGS)
@pytest.mark.parametrize("end", ["from", "to"])
def test_each_session_is_a_sound_set_up_in_canonical_standing(blocking: str, end: str) -> None:
    """Each session comes back from the text of its file; the train stands alone on its track, locomotive
    first; each other car at a spot of its own, or in a track without spots; all that is due leaves."""
    puzzle = lane(('blocking = "as drawn"', f'blocking = "{blocking}"'), ('at = "to"', f'at = "{end}"'))
    for session in sessions(puzzle, 40, 9):
        assert loads(dumps(session.puzzle)) == session.puzzle
        here = [string for string in session.puzzle.start.strings if string.track == "lead"]
        assert len(here) == 1
        row = here[0].vehicles if end == "from" else here[0].vehicles[::-1]
        assert row == ("S&I 5", *session.arrived)
        standing = {n: w for n, w in _standing(session.puzzle).items() if w[0] != "lead"}
        assert all((spot is None) == (track == "ice house") for track, spot in standing.values())
        taken = [where for where in standing.values() if where[1] is not None]
        assert len(taken) == len(set(taken))
        assert _train(session).cars == set(session.picked_up)
        assert len(session.arrived) <= 2 and len(session.picked_up) <= 2


def test_names_are_lettered_for_the_roads_of_the_file() -> None:
    """Every car is lettered for a road of the file's cars, all of them come, and no name is used twice."""
    seen: dict[str, int] = {}
    for session in sessions(lane(), 60, 4):
        new = [n for n in session.puzzle.vehicles if n not in seen and n != "S&I 5"]
        seen |= dict.fromkeys(new, session.number)
        assert all(re.fullmatch(r"(S&I|QLV|THB|OXCC) \d+", name) for name in new)
    assert {name.rpartition(" ")[0] for name in seen} == {"S&I", "QLV", "THB", "OXCC"}


def test_no_car_takes_the_name_of_the_locomotive() -> None:
    """A locomotive called like the cars of a season keeps its name to itself."""
    puzzle = lane(*ROOMY, ('"S&I 5" = {', '"S&I 103" = {'), ('["THB 12", "S&I 5"]', '["THB 12", "S&I 103"]'))
    puzzle = replace(puzzle, cars=tuple(car for car in puzzle.cars if car.name.startswith("S&I")))
    names = [name for session in sessions(puzzle, 6, 1) for name in session.puzzle.vehicles]
    assert "S&I 103A" in names and names.count("S&I 103") == 6


def test_each_car_asked_for_comes_waits_or_is_turned_away() -> None:
    """Over a busy season: cars asked for = cars that came + those still waiting + those turned away;
    nowhere do more stand than there are places, nor are more in line; no train is longer than the file says,
    arriving or leaving, and some car waits to be picked up for that reason."""
    puzzle = lane(("box = 0.8, reefer = 0.4", "box = 1.8, reefer = 0.4"), ("most_cars = 2", "most_cars = 1"))
    came: set[str] = set()
    turned, waiting, late = 0, [], 0
    for session in sessions(puzzle, 50, 6):
        came |= set(session.arrived)
        turned += session.turned_away
        standing = set(_standing(session.puzzle))
        waiting = [name for name in session.waiting if name not in standing]
        late += len(session.waiting) - len(waiting)
        assert len(session.arrived) <= 1 and len(session.picked_up) <= 1
        staying = len(standing) - len(session.arrived) - len(session.picked_up) - 1
        assert staying + len(session.arrived) + len(waiting) <= 3
        tracks = Counter(track for track, _ in _standing(session.puzzle).values())
        assert tracks["cider works"] <= 2 and tracks["ice house"] <= 1
    asked = sum(
        len(asked_for(item, 4, 6, 1, number, index))
        for number in range(1, 51)
        for index, item in enumerate(_traffic(puzzle).industries)
    )
    assert turned and late and asked == len(came) + len(waiting) + turned


def test_what_is_left_undone_rolls_over() -> None:
    """A car brought and left over comes again first in line; one to be picked up and left over is there and
    due again; both are counted as rolled over."""
    season = Season(lane(("most_cars = 2", "most_cars = 1")), 8)
    for _ in range(20):
        session = season.draw()
        left = [*session.arrived[:1], *session.picked_up[:1]]
        season.close(left)
        following = season.draw()
        assert set(left) <= set(following.rolled_over) | set(following.waiting)
        assert following.arrived[: len(session.arrived[:1])] == session.arrived[:1] or (
            session.arrived[0] in following.waiting
        )
        assert set(session.picked_up[:1]) <= set(following.picked_up)
        assert set(following.rolled_over) == set(left) - set(following.waiting)
        season.close()


def test_how_trains_are_blocked() -> None:
    """By industry: all cars of the first industry next to the locomotive.  As drawn: one for each in turn.
    At random: both orders come."""
    busy = (*ROOMY, ("box = 0.8, reefer = 0.4", "box = 2, reefer = 1"), ("reefer = 0.5 }", "reefer = 2 }"))

    def rows(blocking: str) -> list[list[str]]:
        puzzle = lane(*busy, ('blocking = "as drawn"', f'blocking = "{blocking}"'))
        return [
            [
                {i.car: i for i in s.puzzle.work.items if isinstance(i, EndsIn)}[n].places[0].track
                for n in s.arrived
            ]
            for s in sessions(puzzle, 30, 1)
        ]

    assert all(row == sorted(row) for row in rows("by industry"))
    for row in rows("as drawn"):
        in_turn = 2 * min(row.count("cider works"), row.count("ice house"))
        assert row[:in_turn] == ["cider works", "ice house"] * (in_turn // 2)
        assert len(set(row[in_turn:])) <= 1
    firsts = {row[0] for row in rows("random") if len(set(row)) == 2}
    assert firsts == {"cider works", "ice house"}
    assert [sorted(row) for row in rows("random")] == [sorted(row) for row in rows("as drawn")]


def test_how_the_train_is_to_leave() -> None:
    """The locomotive is to be at the end of the departing train that the file names, or at either."""
    for change, end in (("", None), ('\ndeparts_at = "from"', "from"), ('\ndeparts_at = "to"', "to")):
        puzzle = lane(("most_cars = 2", f"most_cars = 2{change}"))
        assert {_train(session).locomotive_at for session in sessions(puzzle, 5, 1)} == {end}


def test_the_entrance_is_long_enough_for_every_session() -> None:
    """A track of the train without a length is as long as the session's vehicles, one with a length stays."""
    for session in islice(sessions(lane(*ROOMY), 20, 1), 20):
        lengths = sum(vehicle.length for vehicle in session.puzzle.vehicles.values())
        assert session.puzzle.district.track("lead").length >= lengths
    fixed = lane(('to = "Cider turnout straight" }', 'to = "Cider turnout straight", length = 60 }'))
    for session in sessions(fixed, 5, 1):
        assert session.puzzle.district == fixed.district


def test_the_last_to_come_stands_nearest_to_the_way_in() -> None:
    """At an industry without spots the car that came last is the first that a train meets; if the track is
    written the other way round, the row is too."""
    there = lane(*ROOMY)
    back = lane(
        *ROOMY[:1],
        ROOMY[2],
        ('"ice house" = { from = "Ice turnout diverging", length = 7 }',
         '"ice house" = { from = "bumper", to = "Ice turnout diverging", length = 300 }'),
    )  # fmt: skip
    came: list[str] = []
    for one, other in zip(sessions(there, 15, 5), sessions(back, 15, 5), strict=True):
        rows = [
            next((s.vehicles for s in session.puzzle.start.strings if s.track == "ice house"), ())
            for session in (one, other)
        ]
        assert rows[0] == rows[1][::-1]
        known = [name for name in rows[0] if name in came]
        assert known == sorted(known, key=came.index, reverse=True)
        came += one.arrived


def test_a_drawn_session_can_be_solved_and_replayed() -> None:
    """A session of one car to the trailing spur: the referee agrees that its work is done in so few moves."""
    session = next(
        s for s in sessions(lane(), 40, 3)
        if len(s.arrived) == 1 and not s.picked_up
        and next(i for i in s.puzzle.work.items if isinstance(i, EndsIn)).places[0].track == "cider works"
    )  # fmt: skip
    solution = solve(session.puzzle, tie_standings=0)
    assert solution.plan is not None
    assert replay(session.puzzle, solution.plan).counts.moves == solution.lower_bound


def test_nonsense_is_refused() -> None:
    """No traffic, a negative seed, a session drawn twice or closed twice, a car that is not in the work."""
    with pytest.raises(ValueError, match="no traffic"):
        Season(replace(lane(), traffic=None), 1)
    with pytest.raises(ValueError):
        Season(lane(), -1)
    season = Season(lane(), 1)
    with pytest.raises(ValueError, match="no session to close"):
        season.close()
    season.draw()
    with pytest.raises(ValueError, match="not closed"):
        season.draw()
    with pytest.raises(ValueError, match="not in the work of this session: XYZ 1"):
        season.close(["XYZ 1"])
