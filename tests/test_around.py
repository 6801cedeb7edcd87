"""No plan passes cars by way of a run-around in fewer moves than lengths say."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from switchsolve.district import District, End, Part, Track
from switchsolve.facts import examine, measuring
from switchsolve.facts.around import least_around
from switchsolve.facts.deciding import Hints, decide
from switchsolve.facts.probes import Bench, Entry, bench, pass_probe
from switchsolve.puzzlefile import load
from tests.builders import build, run_around_district, set_up, table_district, track, turnout, wye_district
from tests.random_rail import Draft, draw_base, grow

PUZZLES = Path(__file__).parent.parent / "puzzles"
_BASES = ["run-around"] * 5 + ["chain", "fan", "crossing", "three-way", "double crossover"]


def _drawn(seed: int) -> tuple[Bench, Entry]:
    """A district with nothing that turns anybody, turnouts in the middle of its tracks, and a lead."""
    draft = Draft(Random(f"around {seed}"))
    random = draft.random
    draw_base(draft, random.choice(_BASES))
    for name in [name for name in draft.tracks if random.random() < 0.4]:
        _with_turnout(draft, name)
    grow(draft)
    linked = {end for link in draft.links for end in link}
    ends = {
        name: [end for end in (End(name, "from"), End(name, "to")) if end in linked] for name in draft.tracks
    }
    lead = random.choice([name for name, both in ends.items() if len(both) == 1])
    inward = ends[lead][0].end
    for name, one in draft.tracks.items():
        parts = tuple(Part(part.length * random.choice((1, 1, 2, 3))) for part in one.parts)
        draft.tracks[name] = replace(one, parts=parts)
    own = (Part(random.choice((4, 6, 8))),) if random.random() < 0.7 else (Part(4), Part(4))
    outer = "to" if inward == "from" else "from"
    draft.tracks[lead] = Track(lead, own, (), frozenset({outer}))
    lengths = {"L": random.choice((1, 2)), "a": random.choice((1, 2))}
    found = bench(set_up(draft.district(), {lead: "a L"}, heads={"L": "to"}, lengths=lengths))
    assert found is not None
    return found, Entry(lead, inward)


def _with_turnout(draft: Draft, name: str) -> None:
    """A turnout between the track ``name``, at one end, and what it led to there."""
    link = next((link for link in draft.links if End(name, "to") in link), None)
    if link is None:
        return
    draft.links.remove(link)
    far = next(end for end in link if end != End(name, "to"))
    device = draft.turnout()
    legs = ["points", draft.random.choice(("straight", "diverging"))]
    draft.random.shuffle(legs)
    draft.link(End(name, "to"), End(device, legs[0]))
    draft.track(draft.random.randint(1, 3), End(device, legs[1]), far)


def _said_and_true(found: Bench, entry: Entry, cars: int) -> tuple[int, int | None]:
    """What lengths say of so many cars, and in how few moves up to five longest runs do it."""
    probe = pass_probe(found, entry, cars)
    least = least_around(entry, probe)
    moves = decide(probe, Hints(5)).moves if least else None
    assert moves is None or moves >= least
    return least, moves


def _counted(seeds: range) -> Counter[tuple[int, int | None]]:
    return Counter(_said_and_true(*_drawn(seed), cars) for seed in seeds for cars in (1, 2, 3, 4))


def test_no_passing_takes_fewer_moves() -> None:
    """In random districts; and not every one of them is said to take four moves, nor five."""
    counted = _counted(range(300))
    assert counted[4, 4] > 100
    assert counted[5, None] > 100


@pytest.mark.slow
def test_no_passing_takes_fewer_moves_in_many_districts() -> None:
    """The same, thirty times as many."""
    assert _counted(range(300, 9300))[4, 4] > 3_000


@pytest.mark.parametrize(("cars", "least"), [(2, 4), (5, 4), (6, 5)])
def test_cars_stand_on_a_turnout_of_the_side_that_nobody_needs(cars: int, least: int) -> None:
    """Between the turnouts of the run-around lie tracks of four and five, and a turnout of one."""
    found, entry = _with_spur()
    assert _said_and_true(found, entry, cars) == (least, 4 if least == 4 else None)


def test_cars_do_not_stand_on_a_turnout_that_the_locomotive_needs() -> None:
    """It may get to their outer end by the spur before the run-around, but by the run-around's turnout."""
    found, entry = _with_spur(two=4, spur_before=True)
    assert _said_and_true(found, entry, 4) == (4, 4)
    assert _said_and_true(found, entry, 5) == (5, None)  # though the first turnout is a unit long too


def _with_spur(*, two: int = 5, spur_before: bool = False) -> tuple[Bench, Entry]:
    device, links = turnout("W", "lead.to", "one.from", "other.from")
    tracks = [track("lead", 14, entrance="from"), track("one", 4), track("two", two), track("other", 3)]
    tracks += [track("spur", 2), track("tail", 12)]
    devices = [
        turnout("M", "one.to", "two.from", "spur.from"),
        turnout("E", "tail.from", "two.to", "other.to"),
    ]
    if spur_before:  # points to points
        devices += [(device, links[1:]), turnout("B", "W.points", "lead.to", "before.to")]
        tracks.append(track("before", 4))
    else:
        devices.append((device, links))
    found = bench(
        set_up(build(tracks, devices), {"lead": "a L"}, heads={"L": "to"}, lengths={"L": 2, "a": 2})
    )
    assert found is not None
    return found, Entry("lead", "to")


@pytest.mark.parametrize(
    "district", [wye_district(), table_district(), run_around_district()], ids=["wye", "table", "under way"]
)
def test_where_that_is_no_proof_nothing_is_said(district: District) -> None:
    """Where something turns a locomotive, and where it does not begin with a train at rest."""
    first = district.tracks[0]
    found = bench(set_up(district, {first.name: "a L"}, heads={"L": "to"}))
    assert found is not None
    entry = Entry(first.name, "to")
    probe = pass_probe(found, entry, 1)
    under_way = replace(probe, start=replace(probe.start, under_way={"L": "to"}))
    assert least_around(entry, under_way) == 0
    if district != run_around_district():
        assert least_around(entry, probe) == 0


def test_facts_are_the_same_by_lengths_and_by_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """All that is said of a puzzle with a run-around."""
    puzzle = load(PUZZLES / "cask_lane_spur.toml")
    facts = examine(puzzle, seconds=300, seconds_each=60)
    monkeypatch.setattr(measuring, "least_around", lambda entry, probe: 0)
    assert examine(puzzle, seconds=300, seconds_each=60) == facts
