"""The survey for a district's owner: what it recommends is true, what it calls weak is, and it has two pages.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import STANDARD_SHORT, USAGE
from switchsolve.facts import examine
from switchsolve.measuring.arrivals import Arrival, places_of
from switchsolve.measuring.spots import Minimum, Row, SpotWork
from switchsolve.nuisances import Weighing
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load, loads
from switchsolve.solving import solve
from switchsolve.surveying import Survey, advise, survey, survey_html, weakest
from switchsolve.surveying.asking import TASKS
from tests.test_drawing import hostile_puzzle
from tests.traffic_files import lane

PUZZLES = Path(__file__).parent.parent / "puzzles"
TAIL = 'from = "East turnout points", length = '


@pytest.fixture(scope="module")
def facing() -> Survey:
    return survey(load(PUZZLES / "cask_lane_facing.toml"), workers=1)


@pytest.fixture(scope="module")
def short() -> Survey:
    return survey(load(PUZZLES / "cask_lane_short_tail.toml"), workers=1)


def _made(puzzle: Puzzle) -> Survey:
    """A survey with a figure at every spot and nothing else: for its looks only."""
    facts = examine(puzzle, seconds=0.0)
    rows = tuple(
        Row(place, Arrival(entry, is_ahead), task, 2, Minimum(Verdict.PROVED, 14, 14, crew=22), None)
        for place in places_of(puzzle)
        for entry in facts.entries
        for is_ahead in (False, True)
        for task in TASKS
    )
    spots = SpotWork(facts.bench, facts.entries, places_of(puzzle), rows, len(rows))
    changes = Weighing(Solution(Verdict.GAVE_UP, 3, limit="the limit"), ())
    return Survey(puzzle, facts, spots, None, 0, 1, changes, None, None, "Ctrl-C")


# -- what is recommended -----------------------------------------------------------------------------------


def test_a_spur_is_turned(facing: Survey) -> None:
    """No longer track saves a move, the turned spur does: the minima are those of two files, solved apart."""
    moves = [
        solve(load(PUZZLES / f"cask_lane_{name}.toml"), tie_standings=0).lower_bound
        for name in ("facing", "trailing")
    ]
    told = f"Turn cider works, its points the other way: {moves[0]} moves become {moves[1]}."
    assert advise(facing).told == told and "proved" in advise(facing).proof


def test_a_short_standard_comes_first(short: Survey) -> None:
    """The tail of 5 in lacks 0.6 in for an engine of 5.5 in and 0.1 in of slack; with that the work can be
    done, with less it cannot."""
    assert advise(short).told.startswith("Build Lane tail 0.6 in longer")
    assert weakest(short)[0].name.startswith("A standard is not met")
    text = (PUZZLES / "cask_lane_short_tail.toml").read_text(encoding="utf-8")
    for length, verdict in ((5.6, Verdict.PROVED), (5.599, Verdict.IMPOSSIBLE)):
        changed = loads(text.replace(f"{TAIL}5 }}", f"{TAIL}{length} }}"))
        assert solve(changed, tie_standings=0).verdict is verdict


def test_what_is_not_decided_is_not_recommended(facing: Survey) -> None:
    """Without a change that is proved to help, the page says so, and whether that is proved."""
    idle = tuple(
        replace(one, moves=3, bound=3, saved=0, verdict=Verdict.PROVED) for one in facing.changes.weighed
    )
    changes = replace(facing.changes, weighed=idle)
    assert advise(replace(facing, changes=changes, lengths=None)).told.startswith("Leave the rail as it is")
    for doubtful in (replace(changes, stopped="Ctrl-C"), _undecided(changes)):
        told = advise(replace(facing, changes=doubtful, lengths=None))
        assert told.told.startswith("No change of rail is recommended") and "As far as proved" in told.proof
        assert not re.search(r"\b0 ", told.proof)  # no count of nothing


def _undecided(changes: Weighing) -> Weighing:
    first, *others = changes.weighed
    return replace(changes, weighed=(replace(first, saved=None, verdict=Verdict.GAVE_UP), *others))


# -- the weakest points ------------------------------------------------------------------------------------


def test_the_weakest_points_are_the_extremes(facing: Survey) -> None:
    """The spot is one with the greatest of all proved minima, the place the one that `check` calls
    tightest."""
    spot, change, tightest = weakest(facing)
    most = max(row.alone.proved or 0 for row in facing.spots.rows)
    assert f": {most} (proved)" in spot.told
    assert f"costs {max(one.saved or 0 for one in facing.changes.savings)} moves" in change.told
    assert facing.facts.tightest is not None and facing.facts.tightest.name in tightest.told


def test_points_that_are_not_proved_are_left_out(facing: Survey) -> None:
    """A spot with a gap, a greater number though it be, is none of the weakest points."""
    open_row = replace(facing.spots.rows[0], alone=Minimum(Verdict.BEST_FOUND, 99, 2))
    spots = replace(facing.spots, rows=(open_row, *facing.spots.rows[1:]))
    assert not any("99" in one.told for one in weakest(replace(facing, spots=spots)))
    assert "99? (-)" in survey_html(replace(facing, spots=spots))


def test_the_most_of_a_part_is_not_called_the_most(facing: Survey) -> None:
    """Where a figure is missing or open another spot may take more; a spot is told as crews speak."""
    open_row = replace(facing.spots.rows[0], alone=Minimum(Verdict.BEST_FOUND, 99, 2))
    rows = facing.spots.rows
    for some in (rows[1:], (open_row, *rows[1:])):
        spot = weakest(replace(facing, spots=replace(facing.spots, rows=some)))[0]
        assert spot.name.endswith("takes most moves of what was proved in time")
    assert weakest(facing)[0].name.endswith("takes most moves")
    ahead = tuple(row for row in rows if row.arrival.order == "ahead")
    told = weakest(replace(facing, spots=replace(facing.spots, rows=ahead)))[0].told
    assert "with the cars ahead of the locomotive" in told


# -- the pages ---------------------------------------------------------------------------------------------


def test_all_that_was_asked_is_on_the_pages(short: Survey) -> None:
    """Drawing, holdings, standards, spots, work, weak points, recommendation and cautions; no script."""
    text = survey_html(short)
    for told in ("What it holds", "Your standards", "short by 0.6 in on Lane tail", "Work at each spot",
                 "Impossible", "weakest points", "What we recommend", "For models only", "electrician",
                 "data:image/svg+xml"):  # fmt: skip
        assert told in text, told
    assert "<script" not in text and "switchsolve" not in text


def test_sessions_are_told_with_their_number() -> None:
    """Sessions drawn and the seed are named; those that time did not allow are told as such."""
    found = survey(lane(), sessions=2, seed=3, workers=1, seconds=2)
    text = survey_html(found)
    assert found.sessions is not None and "(seed 3)" in text and "from the traffic in the file" in text
    cut = survey_html(replace(found, asked=50))
    assert f"{found.sessions.sessions} of 50 sessions" in cut and "Time ran out" in cut


def test_a_stopped_survey_keeps_what_it_has() -> None:
    """Stopped at once there are still two pages, which say that they are not whole; nothing is proved."""
    found = survey(load(PUZZLES / "cask_lane.toml"), workers=1, stop=lambda: "Ctrl-C")
    assert found.stopped == "Ctrl-C" and not found.spots.rows
    text = survey_html(found)
    assert "stopped early" in text and "No change of rail is recommended" in text


def test_hostile_names_are_escaped() -> None:
    """Names may hold any text; nothing of them becomes a tag."""
    text = survey_html(_made(hostile_puzzle()))
    assert "<script" not in text and "\x00" not in text and "&lt;" in text


def _on_paper(text: str, size: str) -> str:
    """The page with the size of the paper in its style sheet, and the hash of that in its policy."""
    style = text.partition("<style>")[2].partition("</style>")[0]
    assert "@page {" in style
    sized = style.replace("@page {", f"@page {{ size: {size};")
    hashes = [b64encode(sha256(sheet.encode()).digest()).decode() for sheet in (style, sized)]
    assert hashes[0] in text
    return text.replace(style, sized).replace(*hashes)


@pytest.mark.parametrize("size", ["letter", "A4"])
@pytest.mark.parametrize("name", ["cask_lane", "quarry_hill_branch"])
def test_two_pages(name: str, size: str, tmp_path: Path) -> None:
    """A browser prints two pages on both papers, also of the widest drawing and with a figure everywhere."""
    chromium = shutil.which("chromium")
    if chromium is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no chromium: apt-get install chromium")
    text = survey_html(_made(load(PUZZLES / f"{name}.toml")))
    (tmp_path / "out.html").write_text(_on_paper(text, size), encoding="utf-8")
    command = [
        *(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"),
        f"--user-data-dir={tmp_path / 'profile'}",
        f"--print-to-pdf={tmp_path / 'out.pdf'}",
        str(tmp_path / "out.html"),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    printed = (tmp_path / "out.pdf").read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 2
    box = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", printed)
    assert box is not None
    wide, high = {"letter": (612, 792), "A4": (595, 842)}[size]
    assert abs(float(box[1]) - wide) < 1.5 and abs(float(box[2]) - high) < 1.5


# -- the command -------------------------------------------------------------------------------------------


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It writes the page and tells by its code that a standard is short; wrong arguments come all at once."""
    out = tmp_path / "out.html"
    file = str(PUZZLES / "cask_lane_short_tail.toml")
    assert main(["survey", file, "-o", str(out), "--workers", "1"]) == STANDARD_SHORT
    assert "Survey: Cask Lane" in out.read_text(encoding="utf-8")
    wrong = ["--sessions", "-1", "--seed", "-1", "--workers", "0", "--limit-seconds", "0"]
    assert main(["survey", file, "-o", "out.pdf", *wrong]) == USAGE
    told = capsys.readouterr().err
    for argument in ("-o out.pdf", "--sessions -1", "--seed -1", "--workers 0", "--limit-seconds 0"):
        assert argument in told
