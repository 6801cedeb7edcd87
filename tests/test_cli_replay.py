"""``switchsolve replay`` at the command line: files, exit codes, and what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, GAVE_UP, IMPOSSIBLE, OK, USAGE
from switchsolve.plan import Solution, Verdict

ROOT = Path(__file__).parent.parent
SPUR = str(ROOT / "puzzles" / "first_spur.toml")
SHORT_TAIL = str(ROOT / "puzzles" / "cask_lane_short_tail.toml")


def test_a_page_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """-o names it; nothing is printed; the same file gives the same page; one that is there is replaced."""
    file = tmp_path / "out.HTML"
    file.write_text("old", encoding="utf-8")
    assert main(["replay", SPUR, "-o", str(file)]) == OK
    assert capsys.readouterr().out == ""
    first = file.read_bytes()
    assert first.startswith(b"<!DOCTYPE html>") and b"\r" not in first and b"Proved minimum: 1 move." in first
    assert main(["replay", SPUR, "-o", str(file)]) == OK
    assert file.read_bytes() == first


def test_impossible_work_has_a_page_that_says_why(tmp_path: Path) -> None:
    """The exit code is that of solve; the explanation stands in the page, unless it is not wanted."""
    file = tmp_path / "out.html"
    assert main(["replay", SHORT_TAIL, "-o", str(file)]) == IMPOSSIBLE
    text = file.read_text(encoding="utf-8")
    assert "Impossible: no plan exists (proved)." in text and "Lane tail is 0.6 in short" in text
    assert main(["replay", SHORT_TAIL, "-o", str(file), "--no-explanation"]) == IMPOSSIBLE
    assert "0.6 in short" not in file.read_text(encoding="utf-8")


def test_giving_up_has_a_page_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the exit code of solve, and the limit that was reached; it is the one that was asked for."""
    from switchsolve.cli import replay as module

    asked: list[object] = []

    def give_up(puzzle: object, *, seconds: float | None, tell: object) -> Solution:
        asked.append(seconds)
        return Solution(Verdict.GAVE_UP, 5, limit="the limit of time")

    monkeypatch.setattr(module, "solve", give_up)
    file = tmp_path / "out.html"
    assert main(["replay", SPUR, "-o", str(file), "--limit-seconds", "3"]) == GAVE_UP
    assert asked == [3.0] and "it cannot be under 5 moves." in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "arguments, told",
    [
        (["-o", "out.pdf"], "-o out.pdf: name a file that ends in .html or .htm"),
        (["-o", "no such folder/out.html"], "out.html: there is no such folder; make it"),
        (["-o", "out.html", "--limit-seconds", "0"], "--limit-seconds 0: give a time above zero"),
    ],
)
def test_wrong_arguments(
    arguments: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Each is refused in words, with exit code 2, and no file is left."""
    monkeypatch.chdir(tmp_path)
    assert main(["replay", SPUR, *arguments]) == USAGE
    assert told in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_the_page_must_be_named() -> None:
    """Without -o there is nowhere to write."""
    with pytest.raises(SystemExit) as stopped:
        main(["replay", SPUR])
    assert stopped.value.code == USAGE


def test_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems go to stderr."""
    file = tmp_path / "bad.toml"
    file.write_text('unit = "furlong"\n', encoding="utf-8")
    assert main(["replay", str(file), "-o", str(tmp_path / "out.html")]) == BAD_FILE
    assert "furlong" in capsys.readouterr().err
