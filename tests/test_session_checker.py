"""The checker of sessions says no: every kind of damage to movements and timetables is found."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from switchsolve.layout import Layout
from switchsolve.layoutfile import load_layout
from switchsolve.operating import Limits, Operation, operate, session_faults
from switchsolve.operating.clearing import Clearing
from switchsolve.operating.lastfaults import last_faults
from switchsolve.operating.records import Moved, Played, Where, WorkDone
from switchsolve.operating.working import Worked
from switchsolve.plan import Verdict
from switchsolve.puzzlefile import load
from switchsolve.study.pools import Here
from switchsolve.timetable.reading import Cleared, Entry, Timetable
from tests.tiny_layout import write

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    return load_layout(write(tmp_path_factory.mktemp("small")))


@pytest.fixture(scope="module")
def operation(layout: Layout) -> Operation:
    return operate(layout, 6, 4, Here(), limits=Limits(work=None, schedule=None), closely=False)


Damage = Callable[[Layout, Played, Timetable], tuple[Played, Timetable]]


def _moved(change: Callable[[list[Moved]], list[Moved]]) -> Damage:
    return lambda _, played, timetable: (replace(played, moved=change(list(played.moved))), timetable)


def _twice(moved: list[Moved]) -> list[Moved]:
    return [*moved, moved[0]]


def _elsewhere(moved: list[Moved]) -> list[Moved]:
    return [replace(moved[0], target=Where("Coast", "Coast 1")), *moved[1:]]


def _in_no_task(moved: list[Moved]) -> list[Moved]:
    return [replace(moved[0], task="a walk"), *moved[1:]]


def _entries(what: str, minutes: int) -> Damage:
    """Every entry of such a task, earlier or later."""

    def damage(_: Layout, played: Played, timetable: Timetable) -> tuple[Played, Timetable]:
        entries = tuple(
            replace(one, start=one.start + minutes, end=one.end + minutes) if what in one.task else one
            for one in timetable.entries
        )
        assert entries != timetable.entries
        return played, replace(timetable, entries=entries)

    return damage


def _by(crew: str, what: str) -> Damage:
    """All done by one crew."""

    def damage(_: Layout, played: Played, timetable: Timetable) -> tuple[Played, Timetable]:
        entries = tuple(replace(one, crew=crew) if what in one.task else one for one in timetable.entries)
        return played, replace(timetable, entries=entries)

    return damage


def _full_upland(layout: Layout, played: Played, timetable: Timetable) -> tuple[Played, Timetable]:
    sets = {**played.sets_at_start, Where("Upland", "Upland 1"): 10**9}
    return replace(played, sets_at_start=sets), timetable


def _in_the_empty_track(_: Layout, played: Played, timetable: Timetable) -> tuple[Played, Timetable]:
    car = next(car for car, where in played.at_start.items() if where.place == "Upland")
    return replace(played, at_start={**played.at_start, car: Where("Upland", "Upland 3")}), timetable


def _full_yard(layout: Layout, played: Played, timetable: Timetable) -> tuple[Played, Timetable]:
    cars = {car: Where("Marrow Point", "track 2") for car in played.at_start}
    return replace(played, at_start=cars), timetable


def _too_long(layout: Layout, played: Played, timetable: Timetable) -> tuple[Played, Timetable]:
    train = next(name for name, cars in played.consists.items() if cars)
    return replace(played, consists={**played.consists, train: played.consists[train] * 4}), timetable


DAMAGE: dict[str, tuple[Damage, str]] = {
    "a car moves twice": (_moved(_twice), "is not at"),
    "a car goes elsewhere": (_moved(_elsewhere), "is not at"),
    "a car moves in no task": (_moved(_in_no_task), "which is not in the timetable"),
    "put away before it has come": (_entries("put away", -60), "is not at|is at"),
    "run before it is made up": (_entries("Lane job: ", -60), "is not at"),
    "all by one crew": (_by("Ash", ""), "Ash does .* at once"),
    "by somebody unknown": (_by("Elm", "Coast freight"), "Elm may not do"),
    "a train stands nowhere": (_entries("Upland freight: stop", 30), "is nowhere between"),
    "overfull staging": (_full_upland, "Upland: Upland 1 is overfull"),
    "the track to be kept empty": (_in_the_empty_track, "is to be kept empty"),
    "an overfull yard": (_full_yard, "Marrow Point: track 2 is overfull"),
    "too many cars": (_too_long, "cars, and may have|times in"),
}


@pytest.mark.parametrize("name", DAMAGE)
def test_the_checker_says_no(layout: Layout, operation: Operation, name: str) -> None:
    """Each kind of damage is found, in some session."""
    damage, says = DAMAGE[name]
    for one in operation.sessions:
        assert one.timetable is not None
        try:
            played, timetable = damage(layout, one.played, one.timetable)
        except (AssertionError, StopIteration):
            continue
        found = session_faults(layout, played, timetable)
        if any(re.search(says, fault) for fault in found):
            return
    pytest.fail("it is found in no session")


def _cleared_in_between() -> tuple[Played, Timetable]:
    """Two moves of a minute each at Millbrook, at half the pace; a clearing of a minute each way between."""
    worked = Worked(Verdict.PROVED, 2, 2, (), True, (60.0, 60.0), clearings=(Clearing(1, 120.0),))
    puzzle = load(ROOT / "puzzles" / "first_spur.toml")
    played = Played(1, works=[WorkDone("Millbrook turn", "Millbrook", puzzle, (), (), worked)])
    entries = (
        Entry("Millbrook turn: works Millbrook", "Millbrook turn", "work", "Millbrook", 0, 9, "Ash", 5),
        Entry("Upland freight: run 1", "Upland freight", "run", "Upland main", 2, 4, "Birch"),
        Entry("Upland freight: passes", "Upland freight", "passing", "Millbrook", 4, 5, "Birch"),
        Entry("Upland freight: stop", "Upland freight", "stop", "Marrow Point", 5, 8, "Birch"),
    )
    cleared = Cleared("Millbrook turn", "Millbrook", "Upland freight", 1, start=2, until=5, end=7, after=1)
    return played, Timetable(entries, (cleared,))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"start": 3}, "cleared for Upland freight, and has too few minutes to clear it"),
        ({"end": 6}, "cleared for Upland freight, and has too few minutes to come back"),
        ({"moves": 2}, "cleared for Upland freight by 2 moves, and not 1"),
        ({"after": 2}, "after move 2, where no way to clear it is known"),
        ({"start": 0}, "after move 1, which is not over by minute 0"),
    ],
)
def test_a_main_that_cannot_have_been_cleared_so_is_found(
    layout: Layout, change: dict[str, int], says: str
) -> None:
    """The minutes to clear and to come back, the moves, and after which move; as it is nothing is found."""
    played, timetable = _cleared_in_between()
    assert list(last_faults(layout, played, timetable)) == []
    (one,) = timetable.cleared
    found = last_faults(layout, played, replace(timetable, cleared=(replace(one, **change),)))
    assert any(says in fault for fault in found)


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (0, "Millbrook turn: works Millbrook lasts 8 minutes, too few for its moves"),
        (1, "Upland freight: run 1 lasts 1 minutes, and not 2"),
        (3, "Upland freight: stop lasts 2 minutes, and not 3"),
    ],
)
def test_what_lasts_too_short_a_time_is_found(layout: Layout, number: int, says: str) -> None:
    """Work by the seconds of its plan (four minutes, and five cleared), a run by its link, a stop by the
    yard: each a minute shorter than it must be."""
    played, timetable = _cleared_in_between()
    entries = list(timetable.entries)
    entries[number] = replace(entries[number], end=entries[number].end - 1)
    assert says in list(last_faults(layout, played, replace(timetable, entries=tuple(entries))))


def test_yard_work_that_lasts_too_short_a_time_is_found(layout: Layout, operation: Operation) -> None:
    """A cut put away in no time."""
    for one in operation.sessions:
        assert one.timetable is not None
        entries = tuple(
            replace(entry, end=entry.start) if entry.kind == "yard" else entry
            for entry in one.timetable.entries
        )
        if entries != one.timetable.entries:
            found = session_faults(layout, one.played, replace(one.timetable, entries=entries))
            assert any("lasts 0 minutes, too few for its moves" in fault for fault in found)
            return
    pytest.fail("the yard never works")


def test_two_trains_on_a_single_track_are_found(layout: Layout, operation: Operation) -> None:
    """A run put upon another one over the same link."""
    for one in operation.sessions:
        assert one.timetable is not None
        runs = [entry for entry in one.timetable.entries if entry.where == "coast main"]
        if len(runs) > 1:
            moved = replace(runs[1], start=runs[0].start, end=runs[0].end)
            entries = tuple(moved if entry is runs[1] else entry for entry in one.timetable.entries)
            found = session_faults(layout, one.played, replace(one.timetable, entries=entries))
            assert any("coast main has room for 1" in fault for fault in found), found
            return
    pytest.fail("no session has two runs on the coast main")


def test_no_room_where_there_was_some(layout: Layout, operation: Operation) -> None:
    """The same sessions with arrival tracks for one car, with a link that takes half the train, and with
    trains of one car: said of each."""
    links = tuple(replace(link, longest=layout.kinds["box"]) for link in layout.links)
    trains = tuple(replace(train, most_cars=min(1, train.most_cars)) for train in layout.trains)
    yard = replace(layout.yard, room=layout.kinds["box"])
    for changed, says in (
        (replace(layout, yard=yard), "Marrow Point: arrival and departure is overfull"),
        (replace(layout, links=links), "Lane job is too long for Lane track"),
        (replace(layout, trains=trains), "cars, and may have 1"),
    ):
        faults = (session_faults(changed, one.played, one.timetable) for one in operation.sessions)
        assert any(says in fault for found in faults for fault in found), says


def test_passing_a_crew_on_the_main_is_found(layout: Layout, operation: Operation) -> None:
    """A freight that passes Millbrook while the turn works there and has not cleared."""
    for one in operation.sessions:
        assert one.timetable is not None
        works = [entry for entry in one.timetable.entries if entry.task == "Millbrook turn: works Millbrook"]
        passes = [entry for entry in one.timetable.entries if entry.kind == "passing"]
        if works and passes:
            moved = replace(passes[0], start=works[0].start, end=works[0].start + 1)
            entries = tuple(moved if entry is passes[0] else entry for entry in one.timetable.entries)
            timetable = Timetable(entries)
            assert any(
                "is not clear of the main" in fault for fault in session_faults(layout, one.played, timetable)
            )
            return
    pytest.fail("no train passes Millbrook at work")
