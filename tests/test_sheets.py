"""Work sheets: what is on them, in which order, and what they call a minimum."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, BEST_FOUND, OK, USAGE
from switchsolve.paper import Sheet, sheets_html
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.solving import solve
from switchsolve.words import move_texts
from tests.pages import made

ROOT = Path(__file__).parent.parent
SPUR = ROOT / "puzzles" / "first_spur.toml"
FACING = ROOT / "puzzles" / "cask_lane_facing.toml"
LANE = ROOT / "puzzles" / "cask_lane.toml"
SHORT = ROOT / "puzzles" / "cask_lane_short_tail.toml"
PARTS = re.compile(r'<section class="sheet ([\w-]+)" aria-label="([^"]+)">(.*?)</section>', re.DOTALL)


def _sheets(*paths: Path) -> list[tuple[str, str, str]]:
    """Kind, name and text of each sheet."""
    puzzles = [load(path) for path in paths]
    return PARTS.findall(sheets_html([Sheet(puzzle, solve(puzzle)) for puzzle in puzzles]))


def test_all_work_comes_before_any_solution() -> None:
    """A sheet for each set-up, then a solution for each, numbered alike."""
    names = [name for _, name, _ in _sheets(SPUR, FACING)]
    assert names == ["Work sheet 1 of 2", "Work sheet 2 of 2", "Solution 1 of 2", "Solution 2 of 2"]


def test_a_work_sheet_tells_the_minimum_and_not_the_plan() -> None:
    """Schematic, cars, work and the proved minimum are there; no move of the solution is."""
    puzzle = load(FACING)
    (_, _, work), (_, _, solved) = _sheets(FACING)
    solution = solve(puzzle)
    assert solution.plan is not None
    texts = move_texts(puzzle, solution.plan, replay(puzzle, solution.plan))
    assert f"Fewest moves: {puzzle.stated_minimum} (proved)." in work
    assert "data:image/svg+xml" in work and "THB 12" in work and "cider works, door 2" in work
    for text in texts:
        told = text.replace("&", "&amp;")
        assert told in solved and told not in work


def test_only_what_is_proved_is_called_fewest() -> None:
    """A plan with a bound below it, no plan in time, and impossible work each say what they are."""
    puzzle = load(FACING)
    proved = solve(puzzle)
    for solution, told in (
        (replace(proved, verdict=Verdict.BEST_FOUND, lower_bound=2, limit="the limit"), "not under 2 moves"),
        (Solution(Verdict.GAVE_UP, 2, limit="the limit"), "cannot be done in under 2 moves"),
        (Solution(Verdict.IMPOSSIBLE, None), "cannot be done (proved)"),
    ):
        work = PARTS.findall(sheets_html([Sheet(puzzle, solution)]))[0][2]
        assert told in work and "Fewest moves:" not in work


def test_hostile_names_are_escaped() -> None:
    """Names may hold any text; there is no script, and nothing of a name becomes a tag."""
    one = made("hostile")
    text = sheets_html([Sheet(one.puzzle, one.solution)])
    assert "<script" not in text and "\x00" not in text and "&lt;" in text
    assert len(PARTS.findall(text)) == 2


def test_each_sheet_is_a_page(tmp_path: Path) -> None:
    """Two short set-ups make four pages in a browser; without the breaks they would make fewer."""
    chromium = shutil.which("chromium")
    if chromium is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no chromium: apt-get install chromium")
    puzzle = load(SPUR)
    text = sheets_html([Sheet(puzzle, solve(puzzle))] * 2)
    pages = []
    for html in (text, text.replace("break-before: page", "")):
        (tmp_path / "out.html").write_text(html, encoding="utf-8")
        command = [
            *(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"),
            f"--user-data-dir={tmp_path / 'profile'}",
            f"--print-to-pdf={tmp_path / 'out.pdf'}",
            str(tmp_path / "out.html"),
        ]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
        pages.append(len(re.findall(rb"/Type\s*/Page\b", (tmp_path / "out.pdf").read_bytes())))
    assert pages[0] == 4 > pages[1]


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Several files make one page; what is wrong with any file is told for all; codes as documented."""
    out = tmp_path / "sheets.html"
    assert main(["sheets", str(SPUR), str(SHORT), "-o", str(out)]) == OK
    assert "Work sheet 2 of 2" in out.read_text(encoding="utf-8")
    assert main(["sheets", str(LANE), "-o", str(out), "--limit-seconds", "1e-9"]) == BEST_FOUND
    bad = []
    for name in ("one", "two"):
        bad.append(str(tmp_path / f"{name}.toml"))
        Path(bad[-1]).write_text('unit = "inch"\n', encoding="utf-8")
    assert main(["sheets", *bad, "-o", str(out)]) == BAD_FILE
    assert all(file in capsys.readouterr().err for file in bad[:1])
    assert main(["sheets", str(SPUR), "-o", str(tmp_path / "x.txt"), "--limit-seconds", "0"]) == USAGE
    told = capsys.readouterr().err
    assert ".html" in told and "--limit-seconds 0" in told
