"""Comparison: no difference where there is none, the right one where there is, ranges as scipy has them."""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from scipy import stats

from switchsolve.cli import main
from switchsolve.comparing import (
    Case,
    Comparison,
    Differences,
    cases_of,
    compare,
    interval_of,
    pair,
    sentence_of,
)
from switchsolve.errors import FileError
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load, loads
from switchsolve.solving import solve
from switchsolve.study import SEASON, Row, RowsError, answer
from switchsolve.study.likes import nameless
from switchsolve.traffic import sessions
from tests.changes import lengthened, mirrored
from tests.traffic_files import LANE, lane

PUZZLES = Path(__file__).parent.parent / "puzzles"
FACING, TRAILING, SHORT = (
    str(PUZZLES / f"cask_lane_{name}.toml") for name in ("facing", "trailing", "short_tail")
)

ABLE = re.sub(r'"ice house" = \{ kinds.*\n', "", LANE)
"""Nothing comes to the ice house, so all the work can be done."""


def _compared(one: Puzzle, other: Puzzle, count: int = 10) -> Comparison:
    return compare([Case("one", "1.toml", one), Case("other", "2.toml", other)], count, 1, workers=1)


_ROW = Row(1, 1, (), (), (), (), 0, Verdict.PROVED, 0, 0, 0, 0, (), True, None, None, None)


# -- no difference ---------------------------------------------------------------------------------------


def test_a_mirror_image_makes_no_difference() -> None:
    """The same rail told from its other ends: the same work, and as many moves, in every session."""
    puzzle = loads(ABLE)
    assert puzzle.traffic is not None
    other = replace(mirrored(puzzle), traffic=replace(puzzle.traffic, locomotive_at="from"))
    found = _compared(puzzle, other)
    (differences,) = found.differences
    assert set(differences.moves) == {0} and differences.compared == 10
    assert differences.same_work == differences.sessions == 10
    assert (differences.only_first, differences.only_second, found.farthest) == (0, 0, [[]])


def test_renamed_tracks_make_no_difference() -> None:
    """An industry of another name is known by the cars that come to it, and it is told which that is."""
    text = ABLE
    for old, new in (("cider works", "brewery"), ("ice house", "store"), ("lead", "stem"), ("tail", "end")):
        text = text.replace(old, new)
    found = _compared(loads(ABLE), loads(text))
    (differences,) = found.differences
    assert set(differences.moves) == {0} and differences.compared == 10
    assert differences.same_work == differences.sessions == 10
    assert found.pairing.taken_for == (("cider works", "other", "brewery"),)
    assert found.pairing.own_traffic == () and found.pairing.left_out == ()


def test_the_same_twice_costs_once() -> None:
    """Two files that say the same are played once, each different session of theirs too."""
    puzzle = loads(ABLE)
    found = _compared(puzzle, replace(puzzle, title="another title"))
    drawn = {str(nameless(session.puzzle)[0]) for session in sessions(puzzle, 10, 1)}
    assert found.solved == len(drawn)


# -- the same traffic ------------------------------------------------------------------------------------


def test_an_industry_that_one_lacks_is_sent_nothing_in_any() -> None:
    """With the ice house dropped in one, no car is asked for there in the other either, which is told."""
    text = LANE + "\n[[variants]]\nname = 'no ice'\ndrop = ['ice house']\n"
    cases = cases_of([("lane.toml", loads(text))])
    assert [case.name for case in cases] == ["as it is", "no ice"]
    found = compare(cases, 10, 1, workers=1)
    assert found.pairing.left_out == (("ice house", ("no ice",)),)
    (differences,) = found.differences
    assert differences.same_work == 10
    assert found.tallies[0].arrived == found.tallies[1].arrived > 0


def test_the_traffic_is_that_of_the_first_file() -> None:
    """Another file's figures are not used, and that is told; the road letters are those of the first, so that
    the same cars come.
    """
    other = ABLE.replace("most_cars = 2", "most_cars = 1").replace("QLV 1", "XYZ 1")
    found = _compared(loads(ABLE), loads(other))
    assert found.pairing.own_traffic == ("other",)
    assert found.differences[0].same_work == 10 and set(found.differences[0].moves) == {0}


def test_what_stands_against_a_comparison_is_told_all_at_once() -> None:
    """A file without traffic; no industry in common; a kind that another file does not know."""
    plain = loads(LANE[: LANE.index("[traffic]")])
    with pytest.raises(FileError, match=r"2.toml: traffic: this is missing, and another file"):
        _compared(lane(), plain)
    other = loads(ABLE.replace("cider works", "barn").replace("stay = 2.5", "stay = 3"))
    with pytest.raises(FileError, match=r"no industry is in all that are compared"):
        _compared(lane(), other)
    strange = loads(LANE.replace("reefer", "tanker"))
    with pytest.raises(FileError, match=r"2.toml: other: traffic.*reefer.*there is no such kind"):
        _compared(lane(), strange)


# -- the right difference --------------------------------------------------------------------------------


@pytest.mark.parametrize("track", ["tail", "lead"])
def test_longer_is_never_worse_where_nothing_is_closed(track: str) -> None:
    """The sessions of one district, each with a track longer: no more cars left over, and for the same work
    no more moves.
    """
    longer = 0
    for session in sessions(loads(ABLE), 8, 3):
        before = answer(session.puzzle)
        after = answer(lengthened(session.puzzle, track, 6_000_000))
        assert len(after.left_over) <= len(before.left_over)
        if not before.left_over:
            assert before.moves is not None and after.moves is not None
            assert after.moves <= before.moves
            longer += 1
    assert longer > 3


def test_a_district_that_cannot_do_the_work_is_said_to() -> None:
    """With a tail shorter than the locomotive the cider works cannot be reached: no session has its moves
    compared unless nothing is to be done there, and the sentence says in how many it cannot be done.
    """
    change = "drop = ['Ice turnout', 'ice house']\nlengths = { tail = 4 }"
    text = f"{ABLE}\n[[variants]]\nname = 'stub'\n{change}\n"
    found = compare(cases_of([("lane.toml", loads(text))]), 10, 1, workers=1)
    (differences,) = found.differences
    assert differences.only_first > 0 and differences.only_second == 0
    assert sum(found.moves[0].values()) == 10
    assert sum(found.moves[1].values()) == 10 - differences.only_first
    said = sentence_of("as it is", "stub", differences)
    assert f'"stub" cannot do all the work in {differences.only_first} that "as it is" can do' in said


def test_differences_are_counted_as_they_are() -> None:
    """By hand: more, fewer, equal; one that only the first can do, one that neither can, one not proved."""
    found = Differences()
    for number, (first, second) in enumerate([(3, 5), (4, 3), (6, 6), (2, 5)], 1):
        found.add(_of(first, number), _of(second, number))
    found.add(_of(4, 5), replace(_of(2, 5), left_over=("THB 1",)))
    found.add(replace(_of(1, 6), left_over=("THB 1",)), replace(_of(1, 6), left_over=("THB 1",)))
    found.add(replace(_of(4, 7), verdict=Verdict.BEST_FOUND), _of(4, 7))
    assert (found.sessions, found.compared, found.more, found.fewer) == (7, 4, 2, 1)
    assert (found.only_first, found.only_second, found.neither, found.not_decided) == (1, 0, 1, 1)
    assert found.moves == Counter({2: 1, -1: 1, 0: 1, 3: 1})
    assert found.mean_moves().figure == 1.0 and found.median_moves().figure == 1.0
    assert found.with_crew == 4
    assert found.mean_seconds().figure == 10.0 and found.mean_crew_seconds().figure == 90.0
    assert sentence_of("facing", "trailing", found) == (
        'With "trailing" a session takes 1.00 move more than with "facing" (too few sessions for a range), '
        "and up to 2 minutes longer; more in 2 of 4 sessions, fewer in 1. Of all 7 sessions: "
        '"trailing" cannot do all the work in 1 that "facing" can do; neither can in 1; 1 not proved, and '
        "left out."
    )


def _of(moves: int, session: int) -> Row:
    """The row of a session that is proved: ten seconds a move, and ninety for a plain crew."""
    seconds = {"least_seconds": 10 * moves, "most_seconds": 90 * moves}
    return replace(_ROW, session=session, moves=moves, bound=moves, **seconds)


# -- how sure it is --------------------------------------------------------------------------------------


def _differences(seasons: int) -> tuple[Differences, np.ndarray]:
    """Random differences, and the same as a table; some sessions with nothing to compare."""
    draw = np.random.default_rng(5)
    table = draw.integers(-2, 5, (seasons, SEASON)).astype(float)
    table[draw.random(table.shape) < 0.2] = np.nan
    found = Differences()
    for (season, session), more in np.ndenumerate(table):
        row = replace(_of(10, session + 1), season=season + 1)
        other = replace(_of(10 if np.isnan(more) else 10 + int(more), session + 1), season=season + 1)
        found.add(row, replace(other, left_over=("THB 1",)) if np.isnan(more) else other)
    return found, table


def test_intervals_are_those_of_scipy() -> None:
    """The mean's interval by scipy from the sums and numbers of the seasons, which are drawn together; the
    median's from lists of the seasons, joined one by one.  Neither shares any code with ours.
    """
    found, table = _differences(30)
    sums, numbers = np.nansum(table, axis=1), (~np.isnan(table)).sum(axis=1)
    wanted = stats.bootstrap(
        (sums, numbers),
        lambda s, n, axis: s.sum(axis=axis) / n.sum(axis=axis),
        paired=True, vectorized=True, n_resamples=9999, method="percentile",
        rng=np.random.default_rng(1),
    ).confidence_interval  # fmt: skip
    ours = found.mean_moves()
    assert ours.figure == pytest.approx(sums.sum() / numbers.sum())
    assert (ours.low, ours.high) == (pytest.approx(wanted.low), pytest.approx(wanted.high))
    lists = [row[~np.isnan(row)].tolist() for row in table]
    by_hand = stats.bootstrap(
        (np.arange(30),), lambda chosen: np.median([one for season in chosen for one in lists[int(season)]]),
        vectorized=False, n_resamples=9999, method="percentile", rng=np.random.default_rng(1),
    ).confidence_interval  # fmt: skip
    median = found.median_moves()
    assert (median.low, median.high) == (by_hand.low, by_hand.high)
    seconds = found.mean_seconds()
    assert seconds.low == pytest.approx(10 * wanted.low) and seconds.high == pytest.approx(10 * wanted.high)
    crew = found.mean_crew_seconds()
    assert crew.low == pytest.approx(90 * wanted.low) and crew.high == pytest.approx(90 * wanted.high)


def test_no_range_from_a_few_seasons_and_none_that_is_false() -> None:
    """Four seasons are too few to be drawn anew; differences that are all the same have no width."""
    few, _ = _differences(4)
    assert few.mean_moves().low is None and few.mean_moves().high is None
    same = interval_of(np.full((6, SEASON), 2.0), "mean")
    assert (same.figure, same.low, same.high) == (2.0, 2.0, 2.0)
    with pytest.raises(ValueError, match="no session"):
        interval_of(np.full((6, SEASON), np.nan), "mean")


def test_sentences() -> None:
    """As many moves everywhere; a difference that may be chance; one that is none."""
    same, random = Differences(), Differences()
    for season in range(1, 8):
        for session in range(1, SEASON + 1):
            row = replace(_of(4, session), season=season)
            same.add(row, row)
            random.add(row, replace(_of(5 if (season * session) % 2 else 3, session), season=season))
    assert sentence_of("a", "b", same) == '"b" takes as many moves as "a" in each of 70 sessions.'
    assert sentence_of("a", "b", Differences()) == 'There is no session in which "a" and "b" can be compared.'
    said = sentence_of("a", "b", random)
    assert said.startswith('With "b" a session takes 0.43 moves fewer than with "a" (95 in 100: ')


# -- the command -----------------------------------------------------------------------------------------


def test_facing_or_trailing_in_one_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Without traffic the one set-up: 3 moves facing, 2 trailing (the minima that the files state), none with
    a short tail; the picture is sound XML.
    """
    out = tmp_path / "plans.svg"
    assert main(["compare", FACING, TRAILING, SHORT, "-o", str(out)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert 'With "cask_lane_trailing" the work takes 2 moves' in said
    assert 'with "cask_lane_facing" it takes 3 moves' in said and "1 fewer, proved." in said
    assert 'With "cask_lane_short_tail" the work cannot be done' in said
    root = ElementTree.fromstring(out.read_text(encoding="utf-8"))
    assert len(root.findall(".//{http://www.w3.org/2000/svg}image")) == 3


def test_without_a_crew_there_are_no_minutes(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """``--no-crew``: moves only, of one set-up each and of sessions, and no column for what is not there."""
    for name in ("one", "other"):
        (tmp_path / f"{name}.toml").write_text(ABLE)
    sessions_of = [str(tmp_path / "one.toml"), str(tmp_path / "other.toml"), "--sessions", "2"]
    for given, column in (([FACING, TRAILING], "crew's"), ([*sessions_of, "--workers", "1"], "half under")):
        assert main(["compare", *given, "--no-crew"]) == 0
        said = capsys.readouterr().out.replace("No minutes: no plain crew has done the sessions.", "")
        assert "moves" in said and "minutes" not in said.lower() and column not in said
        assert main(["compare", *given]) == 0
        said = capsys.readouterr().out
        assert "minutes" in said.lower() and column in said


def test_sessions_as_json_and_as_a_page(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The keys that are promised; files of the sessions that differ most state their minima, which are found
    again; the page holds every answer.
    """
    file = tmp_path / "lane <1>.toml"
    file.write_text(LANE + "\n[[variants]]\nname = 'short & low'\nlengths = { tail = 5 }\n", encoding="utf-8")
    page = tmp_path / "page.html"
    hard = tmp_path / "hard"
    command = ["compare", str(file), "--sessions", "10", "--workers", "1", "--json", "-o", str(page)]
    assert main([*command, "--hardest", str(hard)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["sessions"], [case["name"] for case in told["cases"]]) == (10, ["as it is", "short & low"])
    (differences,) = told["differences"]
    assert differences["compared"] + differences["only_against"] + differences["only_case"] + differences[
        "neither"
    ] + differences["not_decided"] == 10
    for far in differences["farthest"]:
        stated = [load(name).stated_minimum for name in far["files"]]
        assert [solve(load(name), tie_standings=0).lower_bound for name in far["files"]] == stated
        assert None not in stated and far["more"] == stated[1] - stated[0]  # type: ignore[operator]
    text = page.read_text(encoding="utf-8")
    assert "short &amp; low" in text and "short & low" not in text


def test_wrong_arguments_and_files(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """All of them at once, each with its cure."""
    assert main(["compare", FACING, "--sessions", "0", "--seed", "-1", "-o", "x.pdf"]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "--sessions 0: give 1 or more",
        "--seed -1: give 0 or more",
        "-o x.pdf: name a file that ends in .html or .svg",
    ]
    assert main(["compare", FACING]) == 3
    assert "there is nothing to compare it with" in capsys.readouterr().err
    assert main(["compare", FACING, TRAILING, "--seed", "3"]) == 2
    assert capsys.readouterr().err == "--seed: these files have no [traffic]; leave it out\n"
    assert main(["compare", "a.toml", "b.toml"]) == 3
    assert capsys.readouterr().err.count("there is no such file") == 2


def test_one_of_many_questions_has_the_same_answer() -> None:
    """The search that studies take at once proves the same minimum as the one for a single question."""
    for name in ("cask_lane", "cask_lane_spur", "glasshouse_switchback", "coast_two_engines"):
        puzzle = load(PUZZLES / f"{name}.toml")
        found = solve(puzzle, many=True, tie_standings=0)
        assert (str(found.verdict), found.lower_bound) == (puzzle.stated_verdict, puzzle.stated_minimum)


@pytest.mark.slow
def test_two_workers_come_to_the_same_as_one() -> None:
    """Rows do not depend on who solves them, so neither do the differences."""
    cases = cases_of([("spur.toml", load(PUZZLES / "cask_lane_spur.toml"))])[:2]
    one, two = (compare(cases, 30, 4, workers=workers) for workers in (1, 2))
    assert one.differences[0].moves == two.differences[0].moves
    assert [tally.moves for tally in one.tallies] == [tally.moves for tally in two.tallies]


def test_a_comparison_that_was_stopped_goes_on_where_its_rows_end(tmp_path: Path) -> None:
    """Each arrangement keeps its own file of rows: what is cut off is solved again, nothing else is, and the
    differences are those of a comparison that never was stopped."""
    longer = lengthened(loads(ABLE), "tail", 9)
    cases = [Case("as it is", "1.toml", loads(ABLE)), Case("tail/long", "1.toml", longer)]
    whole = compare(cases, 20, 1, workers=1)
    compare(cases, 20, 1, workers=1, rows=tmp_path)
    files = sorted(tmp_path.iterdir())
    assert [file.name for file in files] == ["as it is.jsonl", "tail%2Flong.jsonl"]
    assert [len(file.read_bytes().splitlines()) for file in files] == [21, 21]
    assert compare(cases, 20, 1, workers=1, rows=tmp_path).solved == 0
    lines = files[1].read_bytes().splitlines(keepends=True)
    files[1].write_bytes(b"".join(lines[:12]) + lines[12][:30])
    again = compare(cases, 20, 1, workers=1, rows=tmp_path)
    assert 0 < again.solved <= 10
    assert again.differences[0].moves == whole.differences[0].moves and again.moves == whole.moves
    assert again.differences[0].mean_moves() == whole.differences[0].mean_moves()
    assert [one.most_seconds for one in again.tallies] == [one.most_seconds for one in whole.tallies]
    with pytest.raises(RowsError, match="those of another study"):
        compare(cases, 20, 2, workers=1, rows=tmp_path)


def test_the_folder_of_rows_of_a_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``--rows DIR`` makes the folder; asked again nothing is solved; without traffic, or where no folder can
    be, it is refused with the cure."""
    file, folder = tmp_path / "lane.toml", tmp_path / "rows"
    file.write_text(ABLE + '[[variants]]\nname = "turned"\nflip = ["ice house"]\n', encoding="utf-8")
    command = ["compare", "--json", "--sessions", "4", "--workers", "1", str(file), "--rows"]
    assert main([*command, str(folder)]) == 0
    first = json.loads(capsys.readouterr().out)
    assert main([*command, str(folder)]) == 0
    again = json.loads(capsys.readouterr().out)
    assert first["solved"] > 0 and again.pop("solved") == 0 and first.pop("solved")
    assert first == again
    assert main([*command, str(file)]) == 2
    assert capsys.readouterr().err == f"--rows {file}: this is a file; name a folder\n"
    assert main([*command, str(folder), "--seed", "7"]) == 2
    assert "those of another study; name another folder, or ask the same again" in capsys.readouterr().err
    assert main(["compare", FACING, TRAILING, "--rows", str(folder)]) == 2
    assert capsys.readouterr().err == "--rows: these files have no [traffic]; leave it out\n"


def test_pairing_needs_no_more_than_it_says() -> None:
    """A pairing of a file with itself leaves nothing out and takes nothing for another."""
    found = pair([Case("a", "a.toml", lane()), Case("b", "b.toml", lane())])
    assert (found.left_out, found.taken_for, found.own_traffic) == ((), (), ())
    assert found.puzzles[0] == found.puzzles[1]
