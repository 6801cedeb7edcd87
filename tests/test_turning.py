"""What lengths say of passing cars by a turntable is what the law says."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from switchsolve.district import End, Limits, Marks, Table
from switchsolve.facts import deciding, examine, measuring
from switchsolve.facts.deciding import Hints, decide
from switchsolve.facts.probes import Bench, Entry, bench, pass_probe
from switchsolve.facts.turning import Passing, passing_by_table
from switchsolve.marking import remarked
from switchsolve.puzzlefile import load
from switchsolve.search.events import EventResult, search_events
from tests.builders import build, set_up, track, turnout
from tests.random_rail import Draft, grow

PUZZLES = Path(__file__).parent.parent / "puzzles"


def _drawn(seed: int) -> Bench:
    """A lead, and behind a turnout two ways to a turntable, with a turnout more here and there."""
    draft = Draft(Random(f"turning {seed}"))
    random = draft.random
    lead = draft.track(random.choice((3, 4, 5, 6, 8)))
    here = End(lead, "to")
    draft.tracks[lead] = replace(draft.tracks[lead], entrances=frozenset({"from"}))
    if random.random() < 0.3:
        here = _through(draft, here)
    first = draft.turnout()
    draft.link(here, End(first, "points"))
    legs = [End(first, "straight"), End(first, "diverging")]
    ways = [_through(draft, leg) if random.random() < 0.3 else leg for leg in legs]
    stalls = [draft.track(random.choice((1, 1, 2, 3, 4)), way) for way in ways]
    used = {end for link in draft.links for end in link}
    ends = [next(end for end in (End(n, "from"), End(n, "to")) if end not in used) for n in stalls]
    if random.random() < 0.4:
        ends.append(End(draft.track(random.randint(1, 3)), "from"))
    turns = random.random() < 0.8
    meets = [("from", end) for end in ends] + [("to", end) for end in ends if turns]
    kind = "turntable" if turns else "transfer table"
    lined = random.randrange(len(meets))
    draft.tables["table"] = Table("table", kind, random.choice((1, 2, 2, 2, 3, 3, 4)), tuple(meets), lined)
    grow(draft)
    lengths = {"L": 2, "a": random.choice((1, 2, 2))}
    found = bench(set_up(draft.district(), {lead: "a L"}, heads={"L": "to"}, lengths=lengths))
    assert found is not None
    return found


def _through(draft: Draft, here: End) -> End:
    """A turnout, put to ``here`` by any of its ends; another of its ends."""
    names = ["points", "straight", "diverging"]
    draft.random.shuffle(names)
    name = draft.turnout()
    draft.link(here, End(name, names[0]))
    draft.open.remove(End(name, names[1]))
    return End(name, names[1])


def _said_and_true(found: Bench, cars: int) -> Passing:
    """What lengths say of so many cars, held to the law."""
    probe = pass_probe(found, Entry("T1", "to"), cars)
    said = passing_by_table(Entry("T1", "to"), probe)
    if said.least:
        assert decide(probe, Hints(said.least - 1)).is_possible is False
    if said.most is not None:
        assert decide(probe, Hints(said.most)).moves == said.most
    return said


def _marked(found: Bench, seed: int) -> Bench:
    """Now and then with rail closed to somebody, or a limit."""
    random = Random(f"marks {seed}")
    closed = Marks(no_locomotives=True), Marks(barred=frozenset({found.kind})), Marks(limits=Limits(1))
    return found.on(
        remarked(found.district, lambda marks: random.choice(closed) if random.random() < 0.04 else marks)
    )


def _counted(seeds: range) -> Counter[Passing]:
    return Counter(_said_and_true(_marked(_drawn(seed), seed), cars) for seed in seeds for cars in (1, 2, 3))


_SAID = {Passing(), Passing(3), Passing(3, 3), Passing(4)}


def test_what_lengths_say_is_so() -> None:
    """In random districts with a table, and each answer is given several times."""
    counted = _counted(range(50))
    assert set(counted) == _SAID
    assert min(counted.values()) >= 5


@pytest.mark.slow
def test_what_lengths_say_is_so_in_many_districts() -> None:
    """The same, twenty times as many."""
    assert set(_counted(range(50, 1050))) == _SAID


@pytest.mark.parametrize(
    ("length", "table", "cars", "passing"),
    [
        (4, 3, 2, Passing(3, 3)),
        (4, 2, 2, Passing(4)),  # no gap between the locomotive on the table and its cars
        (5, 2, 2, Passing(3, 3)),
        (5, 3, 3, Passing(4)),
        (6, 1, 2, Passing(4)),  # the locomotive is longer than the table
        (6, 4, 2, Passing()),  # a car comes along
    ],
)
def test_cars_stand_between_the_turnout_and_the_table(
    length: int, table: int, cars: int, passing: Passing
) -> None:
    """A unit more of either, or a car fewer, decides."""
    assert _said_and_true(_turning(length, table), cars) == passing


def test_a_transfer_table_turns_nobody() -> None:
    """Off it the locomotive goes the other way, which is a move more."""
    found = _turning(6, 3)
    table = found.district.tables[0]
    table = replace(table, kind="transfer table", meets=table.meets[:2])
    assert _said_and_true(found.on(replace(found.district, tables=(table,))), 1) == Passing(3)


def _turning(length: int, table: int) -> Bench:
    """A turnout, two tracks of that ``length``, and a turntable beyond both."""
    device, ends = turnout("T", "T1.to", "one.from", "two.from")
    tracks = [track("T1", 9, entrance="from"), track("one", length), track("two", length)]
    meets = tuple((side, End(name, "to")) for side in ("from", "to") for name in ("one", "two"))
    district = replace(build(tracks, [(device, ends)]), tables=(Table("W", "turntable", table, meets),))
    found = bench(set_up(district, {"T1": "a L"}, heads={"L": "to"}, lengths={"L": 2, "a": 2}))
    assert found is not None
    return found


def test_facts_are_the_same_by_lengths_and_by_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """All that is said of the puzzle with a turntable; by lengths hardly anything is searched for."""
    puzzle = load(PUZZLES / "marrow_point_turntable.toml")
    expanded = []

    def counted(*arguments: Any, **options: Any) -> EventResult:
        found = search_events(*arguments, **options)
        expanded.append(found.stats["expanded"])
        return found

    monkeypatch.setattr(deciding, "search_events", counted)
    facts = examine(puzzle, seconds=300, seconds_each=60)
    assert sum(expanded) < 200
    monkeypatch.setattr(measuring, "passing_by_table", lambda entry, probe: Passing())
    assert examine(puzzle, seconds=300, seconds_each=60) == facts
    assert sum(expanded) > 2_000
