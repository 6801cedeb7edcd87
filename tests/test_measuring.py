"""Work per spot: minima of hand-made districts, facts of the trade, neighbors, turns, and the tables."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from switchsolve import spreading
from switchsolve.cli import main
from switchsolve.cli.measure import work_as_json
from switchsolve.district import District, Marks
from switchsolve.measuring import spot_rows, tables
from switchsolve.measuring.arrivals import Arrival, Task, places_of
from switchsolve.measuring.spots import Minimum, Row, SpotWork, measure_spots
from switchsolve.measuring.tables import COLUMNS, record_of, write_csv, write_parquet
from switchsolve.measuring.turns import TurnSpot, turn_of
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps
from switchsolve.solving import proving, solve
from switchsolve.work import EndsIn, LocomotiveEnds, Place, Train
from tests.builders import build, set_up, track, turnout
from tests.changes import mirrored
from tests.spread_at_once import at_once

ROOT = Path(__file__).parent.parent
FIGURES = ("moves", "bound", "verdict", "added", "way_in", "among_moves", "among_verdict")


def _plan(district: District, standing: dict[str, str] | None = None, **more: dict[str, str]) -> Puzzle:
    """A district to be measured with a locomotive L and cars of one unit each."""
    standing = {"west": "car L", **(standing or {})}
    return set_up(district, standing, heads={"L": "to"}, **more)  # type: ignore[arg-type]


def _measured(puzzle: Puzzle, *tasks: Task) -> dict[tuple[str, str, Task], Row]:
    """By place, order of the cars and task; the district has one entrance."""
    work = measure_spots(puzzle, tasks=tasks or tuple(Task))
    assert len(work.rows) == work.wanted and work.stopped is None
    return {(str(row.place), row.arrival.order, row.task): row for row in work.rows}


def _figure(rows: dict[tuple[str, str, Task], Row], place: str, order: str, task: Task = Task.SPOT) -> int:
    moves = rows[place, order, task].alone.proved
    assert moves is not None
    return moves


# -- facts of the trade (common practice, no source) --------------------------------------------------------


def _both_ways(*, run_around: bool) -> District:
    """West (the entrance), a run-around, a facing spur, a trailing spur, east (linked to nothing)."""
    rail = [track("west", 6, entrance="from"), track("main", 3), track("m1", 3), track("m2", 3)]
    rail += [track("east", 3, entrance="to"), track("facing", 1), track("trailing", 1)]
    spurs = [
        turnout("F", "m1.to", "m2.from", "facing.from"),
        turnout("T", "east.from", "m2.to", "trailing.to"),
    ]
    if not run_around:
        return build(rail, spurs, links=[("west.to", "main.from"), ("main.to", "m1.from")])
    ends = [
        turnout("A", "west.to", "main.from", "side.from"),
        turnout("B", "m1.from", "main.to", "side.to"),
    ]
    return build([*rail, track("side", 3)], [*ends, *spurs])


@pytest.fixture(scope="module")
def both_ways() -> dict[bool, SpotWork]:
    """The district with and without its run-around, measured."""
    return {has: measure_spots(_plan(_both_ways(run_around=has))) for has in (True, False)}


def _from_west(work: SpotWork) -> dict[tuple[str, str, Task], Row]:
    return {
        (str(row.place), row.arrival.order, row.task): row
        for row in work.rows
        if row.arrival.entry.track == "west"
    }


def test_facing_and_trailing(both_ways: dict[bool, SpotWork]) -> None:
    """With its car behind, a locomotive spots a trailing spur directly and needs a run-around for a facing
    one; with its car ahead it is the other way round.  (Common practice, no source.)
    """
    rows, bare = _from_west(both_ways[True]), _from_west(both_ways[False])
    for easy, hard, order in (("trailing", "facing", "behind"), ("facing", "trailing", "ahead")):
        assert _figure(rows, easy, order) < _figure(rows, hard, order)
        assert not rows[easy, order, Task.SPOT].alone.runs_around
        assert rows[hard, order, Task.SPOT].alone.runs_around
        assert _figure(bare, easy, order) == _figure(rows, easy, order)
        assert bare[hard, order, Task.SPOT].alone.verdict is Verdict.IMPOSSIBLE


def test_the_way_in_is_told(both_ways: dict[bool, SpotWork]) -> None:
    """What is facing from the west is trailing from the east."""
    ways = {(str(row.place), row.arrival.entry.track): row.way_in for row in both_ways[True].rows}
    assert ways["facing", "west"] == ways["trailing", "east"] == 1
    assert ways["facing", "east"] == ways["trailing", "west"] == 2


def test_the_crew_is_never_below(both_ways: dict[bool, SpotWork]) -> None:
    """Beside each proved minimum stands the plain crew, with as many moves or more."""
    pairs = [(row.alone.moves, row.alone.crew) for work in both_ways.values() for row in work.rows]
    done = [(moves, crew) for moves, crew in pairs if moves is not None and crew is not None]
    assert len(done) > 10
    assert all(crew >= moves for moves, crew in done)
    assert any(crew > moves for moves, crew in done)


def _far_run_around(*, run_around: bool) -> District:
    """West (entrance), a facing spur (the awkward one), a trailing spur, and a run-around at the far end."""
    rail = [track("west", 4, entrance="from"), track("m1", 2), track("m2", 2), track("main", 3)]
    rail += [track("end", 3), track("awkward", 1), track("mill", 1)]
    spurs = [
        turnout("F", "west.to", "m1.from", "awkward.from"),
        turnout("T", "m2.from", "m1.to", "mill.to"),
    ]
    if not run_around:
        return build(rail, spurs, links=[("m2.to", "main.from"), ("main.to", "end.from")])
    ends = [turnout("A", "m2.to", "main.from", "side.from"), turnout("B", "end.from", "main.to", "side.to")]
    return build([*rail, track("side", 3)], [*spurs, *ends])


def test_a_far_run_around_costs_the_awkward_spur_a_trip() -> None:
    """If the only run-around lies at the far end, a car for the one awkward spur costs a trip there and back;
    the other does not: without the run-around it costs the same.  (Common practice, no source.)
    """
    rows = _measured(_plan(_far_run_around(run_around=True)), Task.SPOT)
    bare = _measured(_plan(_far_run_around(run_around=False)), Task.SPOT)
    assert _figure(rows, "awkward", "behind") > _figure(rows, "mill", "behind")
    assert _figure(bare, "mill", "behind") == _figure(rows, "mill", "behind")
    assert bare["awkward", "behind", Task.SPOT].alone.verdict is Verdict.IMPOSSIBLE


def _switchback(tail: int) -> District:
    """West (entrance); a turnout whose points look into the tail; the spur goes back west from it."""
    rail = [track("west", 4, entrance="from"), track("tail", tail), track("spur", 2)]
    return build(rail, [turnout("S", "tail.from", "west.to", "spur.to")])


def test_a_switchback_costs_moves_and_needs_its_tail() -> None:
    """A spur behind a switchback costs more than one straight ahead; its tail must hold locomotive and car.
    (Common practice, no source.)
    """
    ahead = build(
        [track("west", 4, entrance="from"), track("end", 2), track("spur", 2)],
        [turnout("T", "west.to", "end.from", "spur.from")],
    )
    straight = _measured(_plan(ahead), Task.SPOT)
    back = _measured(_plan(_switchback(2)), Task.SPOT)
    assert _figure(back, "spur", "behind") > _figure(straight, "spur", "ahead")
    assert back["spur", "behind", Task.SPOT].alone.switches_back
    assert not straight["spur", "ahead", Task.SPOT].alone.switches_back
    short = _measured(_plan(_switchback(1)), Task.SPOT)
    assert short["spur", "behind", Task.SPOT].alone.verdict is Verdict.IMPOSSIBLE


# -- the same figures by other ways -------------------------------------------------------------------------


def test_minima_are_those_of_the_set_up_written_by_hand(both_ways: dict[bool, SpotWork]) -> None:
    """Each figure is what `solve` says of the same work written down by hand."""
    district = _both_ways(run_around=True)
    rows = _from_west(both_ways[True])
    for place in ("facing", "trailing"):
        for order, row in (("behind", "a L"), ("ahead", "L a")):
            nearest = "to" if order == "behind" else "from"
            pick_up = (Train("L", "west", frozenset({"b"}), locomotive_at=nearest),)
            exchange = (EndsIn("a", (Place(place),)), Train("L", "west", frozenset({"b"})))
            for task, standing, items in (
                (Task.PICK_UP, {"west": "L", place: "b"}, pick_up),
                (Task.EXCHANGE, {"west": row, place: "b"}, exchange),
            ):
                found = solve(set_up(district, standing, *items, heads={"L": "to"}), tie_standings=0)
                one = rows[place, order, task].alone
                assert (one.verdict, one.bound) == (found.verdict, found.lower_bound), (place, order, task)
            ends = {one.name for one in district.tracks} - {place}
            work = [(EndsIn("a", (Place(place),)), LocomotiveEnds("L", end)) for end in sorted(ends)]
            starts = [set_up(district, {"west": row}, *items, heads={"L": "to"}) for items in work]
            least = [solve(start, tie_standings=0).lower_bound for start in starts]
            assert _figure(rows, place, order) == min(moves for moves in least if moves is not None)


def test_the_mirror_image_has_the_same_figures() -> None:
    """A district and its mirror image (every track read from its other end) have the same figures."""
    puzzle = _plan(_switchback(3), {"spur": "x"})
    one, other = measure_spots(puzzle), measure_spots(mirrored(puzzle))
    assert _figures(one) == _figures(other)


def _figures(work: SpotWork) -> dict[object, list[object]]:
    """The figures of every row; the image lists its tracks in the other order."""
    records = {(row.place, row.arrival.order, row.task): record_of(row) for row in work.rows}
    return {key: [record[name] for name in FIGURES] for key, record in records.items()}


# -- neighbors, spots, closed tracks ------------------------------------------------------------------------


def test_a_neighbor_in_the_way_adds_moves() -> None:
    """A car nearer the points than the spot must be moved first and put back: that adds moves; a car behind
    the spot adds none.
    """
    spur = track("spur", 2, spots={"near": 0, "far": 2})
    district = build(
        [track("west", 5, entrance="from"), track("end", 3), spur],
        [turnout("T", "west.to", "end.from", "spur.from")],
    )
    for stands, asked, adds in (("near", "spur far", True), ("far", "spur near", False)):
        puzzle = _plan(district, {"spur": "x"}, spots={"x": stands})
        row = _measured(puzzle)[asked, "ahead", Task.SPOT]
        assert row.added is not None and (row.added > 0) is adds
    assert _measured(_plan(district))["spur far", "ahead", Task.SPOT].among is None


def test_a_neighbor_at_the_very_spot_makes_room() -> None:
    """The car that stands at the spot is the one exchanged: it adds nothing to that."""
    spur = track("spur", 1, spots={"door": 0})
    district = build(
        [track("west", 5, entrance="from"), track("end", 3), spur],
        [turnout("T", "west.to", "end.from", "spur.from")],
    )
    rows = _measured(_plan(district, {"spur": "x"}, spots={"x": "door"}))
    for task in Task:
        assert rows["spur door", "ahead", task].added == 0


def test_a_full_track_has_no_room() -> None:
    """Where the file's own car fills a track without spots, no other can stand there to be picked up, and
    none can be spotted.
    """
    district = build(
        [track("west", 5, entrance="from"), track("end", 3), track("spur", 1)],
        [turnout("T", "west.to", "end.from", "spur.from")],
    )
    rows = _measured(_plan(district, {"spur": "x"}))
    picked, spotted = (rows["spur", "ahead", task].among for task in (Task.PICK_UP, Task.SPOT))
    assert picked is not None and picked.verdict is None
    assert spotted is not None and spotted.verdict is Verdict.IMPOSSIBLE


def test_idlers_reach_where_the_locomotive_may_not_go() -> None:
    """A pier closed to locomotives is worked with an idler where its innermost end is out of reach."""
    pier = track("pier", 2, spots={"end": 2}, marks=Marks(no_locomotives=True))
    district = build(
        [track("west", 6, entrance="from"), track("end", 3), pier],
        [turnout("T", "west.to", "end.from", "pier.from")],
    )
    one = _measured(_plan(district))["pier end", "ahead", Task.SPOT].alone
    assert one.verdict is Verdict.PROVED and one.idlers == 1


def test_what_is_measured() -> None:
    """Every named spot, and dead-end tracks without any; no entrance and no track open at both ends."""
    spur = track("spur", 2, spots={"a": 0, "b": 2})
    district = build(
        [track("west", 5, entrance="from"), track("end", 3), spur],
        [turnout("T", "west.to", "end.from", "spur.from")],
    )
    assert places_of(_plan(district)) == (Place("end"), Place("spur", "a"), Place("spur", "b"))


# -- turns ---------------------------------------------------------------------------------------------------


def test_the_better_leg(both_ways: dict[bool, SpotWork]) -> None:
    """On a turn between two entrances each spot is worked where it trails, and the better split has fewer
    moves than either leg alone.
    """
    turn = turn_of(both_ways[True], Task.SPOT)
    assert turn is not None and [leg.entry.track for leg in turn.legs] == ["west", "east"]
    better = {str(spot.place): spot.better for spot in turn.spots}
    assert better == {"facing": "homebound", "trailing": "outbound"}
    assert turn.outbound is not None and turn.homebound is not None and turn.split is not None
    assert turn.split < min(turn.outbound, turn.homebound)
    bare = turn_of(both_ways[False], Task.SPOT)
    assert bare is not None and bare.outbound is None and bare.homebound is None
    assert bare.split == turn.split


@pytest.mark.parametrize(
    ("outbound", "homebound", "better", "least"),
    [
        (2, 4, "outbound", 2),
        (4, 2, "homebound", 2),
        (3, 3, "either", 3),
        (None, 2, "homebound", 2),
        (2, None, "outbound", 2),
        (None, None, "neither", None),
    ],
)
def test_which_leg_is_better(outbound: int | None, homebound: int | None, better: str, least: int) -> None:
    """The fewer moves win; what is impossible or unknown never does."""
    spot = TurnSpot(Place("x"), outbound, homebound)
    assert (spot.better, spot.least) == (better, least)


def test_out_and_back_by_one_entrance() -> None:
    """With one entrance the train comes home with its cars ahead of the locomotive."""
    turn = turn_of(measure_spots(_plan(_switchback(2))), Task.SPOT)
    assert turn is not None and [leg.order for leg in turn.legs] == ["behind", "ahead"]


# -- tables, the command -------------------------------------------------------------------------------------


def _as_text(values: Iterable[object]) -> list[str]:
    return ["" if value is None else str(value) for value in values]


def test_json_csv_and_parquet_agree(both_ways: dict[bool, SpotWork], tmp_path: Path) -> None:
    """The three hold the same rows, with the same keys in the same order."""
    from pyarrow.parquet import read_table

    puzzle = _plan(_both_ways(run_around=False))
    answer = json.loads(json.dumps(work_as_json(puzzle, both_ways[False])))
    records = [record_of(row) for row in both_ways[False].rows]
    assert answer["rows"] == records and all(list(record) == list(COLUMNS) for record in records)
    write_csv(tmp_path / "rows.csv", records)
    write_parquet(tmp_path / "rows.parquet", records)
    assert read_table(tmp_path / "rows.parquet").to_pylist() == records
    with (tmp_path / "rows.csv").open(encoding="utf-8", newline="") as file:
        assert list(csv.reader(file)) == [list(COLUMNS), *(_as_text(record.values()) for record in records)]


def _file(tmp_path: Path, puzzle: Puzzle) -> str:
    path = tmp_path / "plan.toml"
    path.write_text(dumps(puzzle), encoding="utf-8")
    return str(path)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All proved is 0; the screen fits into 80 columns and prints no minutes; JSON has the same rows."""
    puzzle = _plan(_switchback(2))
    name = _file(tmp_path, puzzle)
    assert main(["measure", name]) == 0
    screen = capsys.readouterr().out
    assert "minute" not in screen and max(map(len, screen.splitlines())) <= 80
    assert main(["measure", name, "--json", "--csv", str(tmp_path / "a.csv")]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert len(answer["rows"]) == answer["rows_wanted"] == 12 and answer["stopped"] is None
    assert len((tmp_path / "a.csv").read_text(encoding="utf-8").splitlines()) == 13


def test_the_clubs_own_ratio_stands_beside_the_minimum(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With 1.4 to 2.1 in the file: 2 moves are 2 (2.8) to 5 (4.2), 3 are 4 (4.2) to 7 (6.3), 4 are 5 (5.6) to
    9 (8.4), rounded outwards; without a ratio nothing is said.
    """
    puzzle = _plan(_both_ways(run_around=True))
    assert main(["measure", _file(tmp_path, puzzle)]) == 0
    assert "club" not in capsys.readouterr().out
    own = replace(puzzle, times=replace(puzzle.times, crew_ratio=(1400, 2100)))
    assert main(["measure", _file(tmp_path, own)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    least = sorted({row.alone.proved for row in measure_spots(puzzle).rows if row.alone.proved})
    spans = {1: "1 to 3", 2: "2 to 5", 3: "4 to 7", 4: "5 to 9", 5: "7 to 11", 6: "8 to 13"}
    spans |= {7: "9 to 15", 8: "11 to 17", 9: "12 to 19", 10: "14 to 21"}
    spelled = ", ".join(f"{spans[moves]} for {moves}" for moves in least)
    assert f"By the club's own ratio a crew makes {spelled} moves of the minimum." in told


def test_parquet_without_its_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without pyarrow the command says so, with the cure, before it works."""
    monkeypatch.setattr(tables, "find_spec", lambda name: None)
    name = _file(tmp_path, _plan(_switchback(2)))
    assert main(["measure", name, "--parquet", str(tmp_path / "a.parquet")]) == 2
    assert "pip install 'switchsolve[tables]'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--limit-seconds", "0"], "--limit-seconds 0: give a time above zero"),
        (["--csv", "nowhere/a.csv"], "--csv nowhere/a.csv: there is no folder nowhere; make it first"),
        (["--csv", "."], "--csv .: this is a folder; give the name of a file"),
    ],
)
def test_wrong_arguments(
    arguments: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each wrong argument is named with its cure, and the code is 2."""
    assert main(["measure", _file(tmp_path, _plan(_switchback(2))), *arguments]) == 2
    assert capsys.readouterr().err.strip() == told


def test_a_file_without_a_car(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """There is nothing to measure by: code 3, and what to add."""
    path = tmp_path / "bare.toml"
    text = 'unit = "in"\n[tracks]\nlead = { from = "entrance", length = 20 }\n'
    text += '[locomotives]\nL = { length = 5, heads = "to" }\n[start]\nlead = ["L"]\n'
    path.write_text(text, encoding="utf-8")
    assert main(["measure", str(path)]) == 3
    assert "a kind of car under [kinds]" in capsys.readouterr().err


def test_after_a_stop_no_question_is_put(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each would still look for any plan; a spot to be left again is one question for each other track."""
    asked: list[bool] = []

    def prove(puzzle: Puzzle, **settings: Any) -> Any:
        asked.append(True)
        return proving.prove(puzzle, **settings)

    monkeypatch.setattr(spot_rows, "prove", prove)
    work = measure_spots(_plan(_switchback(2)), stop=lambda: "Ctrl-C" if asked else None)
    assert work.stopped == "Ctrl-C" and not work.rows and len(asked) == 1


def test_a_stop_keeps_the_rows_done() -> None:
    """Stopped while it works, the measuring has its first rows and says that they are not all."""
    told: list[str] = []

    def stop() -> str | None:
        return "Ctrl-C" if len(told) > 5 else None  # in the fourth row; each block of three is told as well

    work = measure_spots(_plan(_switchback(2)), tell=told.append, stop=stop)
    assert work.stopped == "Ctrl-C" and len(work.rows) == 3 < work.wanted
    whole = measure_spots(_plan(_switchback(2)))
    assert work.rows == whole.rows[: len(work.rows)]


def test_two_workers_measure_the_same_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """All rows in the same order, whoever asks; and nobody is begun for a few rows."""
    puzzle, tasks = _plan(_switchback(2)), (Task.SPOT, Task.PICK_UP)
    one = measure_spots(puzzle, tasks=tasks)
    assert len(one.places) > 1
    at_once(monkeypatch)
    assert measure_spots(puzzle, tasks=tasks, workers=2) == one
    monkeypatch.undo()
    monkeypatch.setattr(spreading, "pool", None)  # would be called for more than one
    assert measure_spots(puzzle, tasks=tasks, workers=2) == one


def test_what_is_not_proved_is_not_settled() -> None:
    """A best found figure is no minimum, and its row is not settled."""
    arrival = Arrival(measure_spots(_plan(_switchback(1))).entries[0], False)
    open_one = Minimum(Verdict.BEST_FOUND, 5, 3)
    row = Row(Place("spur"), arrival, Task.SPOT, 2, Minimum(Verdict.PROVED, 3, 3), open_one)
    assert open_one.proved is None and row.added is None and not row.is_settled
    assert replace(row, among=None).is_settled
