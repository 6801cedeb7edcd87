"""``switchsolve draw``, ``check`` and ``solve --show`` at the command line."""

from __future__ import annotations

import io
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, IMPOSSIBLE, OK, USAGE

ROOT = Path(__file__).parent.parent
SPUR = str(ROOT / "puzzles" / "first_spur.toml")
FACING = str(ROOT / "puzzles" / "cask_lane_facing.toml")
SHORT_TAIL = str(ROOT / "puzzles" / "cask_lane_short_tail.toml")
RAIL = "\u2501\u2501"


def test_on_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """Without -o the picture is printed, with plain letters if asked for."""
    assert main(["draw", SPUR]) == OK
    assert RAIL in capsys.readouterr().out
    assert main(["draw", SPUR, "--ascii"]) == OK
    out = capsys.readouterr().out
    assert out.isascii() and "ice house" in out


def test_a_screen_without_lines_gets_plain_letters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the encoding has no such letters, ASCII is printed unasked."""
    screen = io.TextIOWrapper(io.BytesIO(), encoding="latin-1")
    monkeypatch.setattr(sys, "stdout", screen)
    assert main(["draw", SPUR]) == OK
    screen.flush()
    assert b"==" in screen.buffer.getvalue()  # type: ignore[attr-defined]


def test_an_svg_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """-o writes the file and prints nothing, but the picture too with --terminal; --even makes another."""
    file = tmp_path / "out.svg"
    assert main(["draw", SPUR, "-o", str(file)]) == OK
    assert capsys.readouterr().out == ""
    text = file.read_text(encoding="utf-8")
    assert ET.fromstring(text).tag.endswith("svg")
    assert main(["draw", SPUR, "-o", str(file), "--even", "--terminal"]) == OK
    assert RAIL in capsys.readouterr().out
    assert file.read_text(encoding="utf-8") != text
    assert main(["draw", SPUR, "-o", str(file), "--to-scale"]) == OK
    assert file.read_text(encoding="utf-8") == text


def test_a_png_file(tmp_path: Path) -> None:
    """A name that ends in .png, in whatever case, gets a PNG."""
    file = tmp_path / "out.PNG"
    assert main(["draw", SPUR, "-o", str(file)]) == OK
    assert file.read_bytes().startswith(b"\x89PNG")


def test_png_without_its_package(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message names the cure, and no file is left."""
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    file = tmp_path / "out.png"
    assert main(["draw", SPUR, "-o", str(file)]) == USAGE
    assert "pip install 'switchsolve[png]'" in capsys.readouterr().err
    assert not file.exists()


def test_a_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--plan draws the start and each move, with its words, in a file and on the screen."""
    file = tmp_path / "film.svg"
    assert main(["draw", FACING, "--plan", "-o", str(file), "--ascii"]) == OK
    out = capsys.readouterr().out
    assert out.isascii()
    assert out.count("run-around   ") == 4 and "At the start." in out and "3. S&I 5 forward" in out
    assert max(map(len, out.splitlines())) <= 80
    assert file.read_text(encoding="utf-8").count('class="frame"') == 4


def test_no_plan_to_draw(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Impossible work has no plan: nothing is written, and the exit code is that of the verdict."""
    file = tmp_path / "film.svg"
    assert main(["draw", SHORT_TAIL, "--plan", "-o", str(file)]) == IMPOSSIBLE
    assert "no plan to draw (impossible)" in capsys.readouterr().err
    assert not file.exists()


@pytest.mark.parametrize(
    "arguments, told",
    [
        (["-o", "out.pdf"], "-o out.pdf: name a file that ends in .svg or .png"),
        (["-o", "no such folder/out.svg"], "no such folder/out.svg: it cannot be written"),
        (["--plan", "--limit-seconds", "0"], "--limit-seconds 0: give a time above zero"),
    ],
)
def test_wrong_arguments(arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each is refused in words, with exit code 2."""
    assert main(["draw", SPUR, *arguments]) == USAGE
    assert told in capsys.readouterr().err


def test_to_scale_and_even_exclude_each_other() -> None:
    """One cannot ask for both."""
    with pytest.raises(SystemExit) as stopped:
        main(["draw", SPUR, "--to-scale", "--even"])
    assert stopped.value.code == USAGE


def test_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems go to stderr."""
    file = tmp_path / "bad.toml"
    file.write_text('unit = "furlong"\n', encoding="utf-8")
    assert main(["draw", str(file)]) == BAD_FILE
    assert "furlong" in capsys.readouterr().err


def test_check_shows_the_district(capsys: pytest.CaptureFixture[str]) -> None:
    """Below the name of the file, before what the district can do; with plain letters if asked for."""
    main(["check", SPUR])
    lines = capsys.readouterr().out.splitlines()
    rail = next(number for number, line in enumerate(lines) if RAIL in line)
    assert 0 < rail < next(number for number, line in enumerate(lines) if line.startswith("Measured with"))
    main(["check", SPUR, "--ascii"])
    assert RAIL not in capsys.readouterr().out


def test_solve_shows_the_plan_if_asked(capsys: pytest.CaptureFixture[str]) -> None:
    """After the answer comes the start and each move; without --show there is no picture."""
    main(["solve", SPUR])
    plain = capsys.readouterr().out
    assert RAIL not in plain
    main(["solve", SPUR, "--show"])
    shown = capsys.readouterr().out
    assert shown.startswith(plain)
    assert "At the start." in shown and RAIL in shown


def test_solve_shows_impossible_work_at_its_start(capsys: pytest.CaptureFixture[str]) -> None:
    """With no plan there is still the district to look at."""
    assert main(["solve", SHORT_TAIL, "--show", "--no-explanation", "--ascii"]) == IMPOSSIBLE
    assert "Lane tail" in capsys.readouterr().out
