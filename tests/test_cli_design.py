"""``switchsolve design`` at the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, BEST_FOUND, IMPOSSIBLE, INTERRUPTED, OK, USAGE
from switchsolve.designing import asking, questions
from switchsolve.designing.questions import Answer, Question
from switchsolve.puzzlefile import load
from tests.design_files import GROUND

FOUR = (
    GROUND
    + '[design]\nleave_out = ["run-around"]\n'
    + '[design.lengths]\n"Lane tail" = { least = 1, most = 3, step = 2 }\n'
)
WISH = '[[design.wishes]]\nname = "short work"\nabout = "work"\nmost_moves = {}\n'


def _file(folder: Path, text: str) -> str:
    path = folder / "design.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_the_answer_on_the_screen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The cheapest arrangements with cost, choices and wishes, and a count of all; 80 columns at most."""
    folder = tmp_path / "out"
    file = _file(tmp_path, FOUR + WISH.format(8))
    assert main(["design", file, "--workers", "1", "--most", "1", "-o", str(folder)]) == OK
    out = capsys.readouterr().out
    assert "The cheapest arrangement that fulfills every wish (proved)." in out
    assert "\n1  Cost " in out and "run-around: left out" in out and "- short work: " in out
    assert "\n4 arrangements: " in out and "none of them cheaper" in " ".join(out.split())
    assert max(map(len, out.splitlines())) <= 80
    assert load(folder / "arrangement_1.toml").design is None
    sheet = (folder / "side_by_side.html").read_text(encoding="utf-8")
    assert sheet.count("<article") == 1 and "short work" in sheet


def test_names_do_nothing_on_the_page(tmp_path: Path) -> None:
    """Whatever a file calls things is shown on the page, and is never markup or script."""
    text = FOUR.replace("Cask Lane, not yet built", "<script>alert(1)</script>") + WISH.format(8)
    file = _file(tmp_path, text.replace("short work", "<b>short</b>"))
    assert main(["design", file, "--workers", "1", "--most", "1", "-o", str(tmp_path)]) == OK
    sheet = (tmp_path / "side_by_side.html").read_text(encoding="utf-8")
    assert "<script" not in sheet and "<b>short" not in sheet
    assert "&lt;script&gt;alert(1)" in sheet and "&lt;b&gt;short&lt;/b&gt;" in sheet


def test_ctrl_c_says_what_there_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C in the middle: what was found till then is told, and called proved by nobody: code 130."""
    asked = 0

    def ask(question: Question, end: float | None) -> Answer:
        nonlocal asked
        asked += 1
        if asked == 3:
            raise KeyboardInterrupt
        return questions.ask(question, end)

    monkeypatch.setattr(asking, "ask", ask)
    file = _file(tmp_path, FOUR + WISH.format(8))
    assert main(["design", file, "--workers", "1"]) == INTERRUPTED
    out = " ".join(capsys.readouterr().out.split())
    assert "(proved)" not in out and "stopped by Ctrl-C" in out


def test_none_exists(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """If there is none that is proved, and what to leave out is named: code 11, and no file is written."""
    file = _file(tmp_path, FOUR + WISH.format(1))
    assert main(["design", file, "--workers", "1", "-o", str(tmp_path / "out")]) == IMPOSSIBLE
    out = capsys.readouterr().out
    assert "No arrangement fulfills every wish (proved)." in out
    assert 'Without "short work" there is one: cost ' in out
    assert not (tmp_path / "out").exists()


def test_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """JSON has the counts, and each arrangement whole, as the text of a puzzle file; they add up."""
    assert main(["design", _file(tmp_path, FOUR + WISH.format(8)), "--workers", "1", "--json"]) == OK
    told = json.loads(capsys.readouterr().out)
    count = len(told["arrangements"]) + told["not_looked_at"] + told["undecided"]
    assert told["all"] == 4 == count + sum(told["ruled_out"].values())
    assert told["is_exhaustive"] and told["stopped"] is None and told["leave_out"] == []
    assert [one["wishes"][0]["name"] for one in told["arrangements"]] == ["short work"] * 3
    assert "[tracks]" in told["arrangements"][0]["puzzle"]


def test_no_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Stopped by the limit of seconds nothing is proved: code 10, and the screen says so."""
    file = _file(tmp_path, FOUR + WISH.format(8))
    assert main(["design", file, "--workers", "1", "--limit-seconds", "1e-6"]) == BEST_FOUND
    out = " ".join(capsys.readouterr().out.split())
    assert "No arrangement found, nothing proved: stopped by the limit of seconds." in out


def test_wrong_arguments_are_all_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every wrong argument at once, each with its cure; no file of rows; a file with no design."""
    file = _file(tmp_path, FOUR)
    assert main(["design", file, "--most", "0", "--workers", "0", "--limit-seconds", "0"]) == USAGE
    assert capsys.readouterr().err.splitlines() == [
        "--most 0: give 1 or more",
        "--workers 0: give 1 or more",
        "--limit-seconds 0: give a time above zero",
    ]
    assert main(["design", file, "--workers", "1", "--rows", str(tmp_path)]) == USAGE
    assert "it cannot be read and written (is a directory); name another file" in capsys.readouterr().err
    assert main(["design", _file(tmp_path, GROUND)]) == BAD_FILE
    assert "design: this is missing; add what may vary and what is wanted" in capsys.readouterr().err
    wish = '[[design.wishes]]\nabout = "spots"\nexcept = ["ice house", "cider works"]\nmost_moves = 3\n'
    assert main(["design", _file(tmp_path, FOUR + wish), "--workers", "1"]) == BAD_FILE
    assert "there is no spot to ask about; add what the wish speaks of" in capsys.readouterr().err
