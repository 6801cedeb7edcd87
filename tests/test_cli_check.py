"""``switchsolve check`` at the command line: what it prints, on 80 columns, and its exit codes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, OK, STANDARD_SHORT

PLAN = """
title = "Cask Lane: a facing spur"
unit = "in"
[tracks]
"Lane lead" = { from = "entrance", to = "Ice house turnout points" }
"Lane tail" = { from = "Ice house turnout straight", length = 18 }
"ice house" = { from = "Ice house turnout diverging", length = 13.25, spots = 2 }
[turnouts]
"Ice house turnout" = { straight = 9, diverging = 9.5 }
[kinds]
"40 ft box" = 6
[locomotives]
"S&I 5" = { length = 5.5, heads = "to" }
[cars]
"QLV 214" = "40 ft box"
[start]
"Lane lead" = ["S&I 5", "QLV 214"]
[work]
spot = { "QLV 214" = "ice house" }
"""

MET = '[standards]\nspur_holds = { "ice house" = 2 }\n'
SHORT = '[standards]\nspur_holds = { "ice house" = 3 }\n'
BAD = PLAN.replace('unit = "in"', 'unit = "furlong"')


def _file(folder: Path, name: str, text: str) -> str:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_the_screen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two cars of 6 in fit a spur of 13.25 in, with 1.25 in to spare; three just fit a track of 18 in."""
    assert main(["check", _file(tmp_path, "plan.toml", PLAN)]) == OK
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert "Measured with S&I 5 (5.5 in) and cars like 40 ft box (6 in), allowance included." in " ".join(
        lines
    )
    assert "spur from Lane lead holds to spare" in lines
    assert "ice house facing 2 cars, ahead only 1.25 in" in lines
    assert "Lane tail facing 3 cars, ahead only 0 in" in lines
    assert "Every spot can be reached (2)." in lines
    assert lines[-1] == "The tightest thing here is Lane tail: 0 in to spare for 3 cars."


def test_no_line_is_longer_than_80_columns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Long names are wrapped, not run over the edge of the screen."""
    text = PLAN.replace("ice house", "the ice house behind the print works in the lane by the cooperage")
    main(["check", _file(tmp_path, "plan.toml", text + SHORT.replace("ice house", "Lane tail"))])
    assert max(len(line) for line in capsys.readouterr().out.splitlines()) <= 80


@pytest.mark.parametrize(
    "standards, code, told",
    [
        (MET, OK, "ice house holds 2 cars: met (it holds 2)"),
        (SHORT, STANDARD_SHORT, "ice house holds 3 cars: short by 4.75 in on ice house (it holds 2)"),
    ],
)
def test_standards(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], standards: str, code: int, told: str
) -> None:
    """A standard is met, or short by so many inches on a named track; the exit code says which."""
    assert main(["check", _file(tmp_path, "plan.toml", PLAN + standards)]) == code
    assert f"  {told}" in capsys.readouterr().out.splitlines()


def test_a_bad_file_is_told_on_stderr(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems go to stderr, nothing to stdout, and the exit code is that of a bad file."""
    assert main(["check", _file(tmp_path, "bad.toml", BAD)]) == BAD_FILE
    out, err = capsys.readouterr()
    assert out == "" and "furlong" in err


@pytest.mark.parametrize(
    "texts, code",
    [
        ((PLAN, PLAN + MET), OK),
        ((PLAN + SHORT, PLAN), STANDARD_SHORT),
        ((BAD, PLAN + SHORT), BAD_FILE),
        ((PLAN + SHORT, BAD), BAD_FILE),
    ],
)
def test_the_worst_file_counts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], texts: tuple[str, ...], code: int
) -> None:
    """A bad file outweighs a standard that is short, whatever their order; every good file is printed."""
    names = [_file(tmp_path, f"{number}.toml", text) for number, text in enumerate(texts)]
    assert main(["check", *names]) == code
    good = sum(text is not BAD for text in texts)
    assert capsys.readouterr().out.count("The tightest thing here is") == good


def test_a_file_without_cars_is_measured_by_its_kinds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No car stands anywhere, but the file names a kind: that is the standard car."""
    text = PLAN.replace('"QLV 214" = "40 ft box"\n', "").replace(', "QLV 214"]', "]")
    text = text.replace('spot = { "QLV 214" = "ice house" }\n', "")
    assert main(["check", _file(tmp_path, "plan.toml", text)]) == OK
    assert "2 cars, ahead only" in capsys.readouterr().out


def test_a_file_with_nothing_to_measure_by_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Neither a car nor a kind of car: there is no number to be had."""
    text = PLAN.replace('"QLV 214" = "40 ft box"\n', "").replace(', "QLV 214"]', "]")
    text = text.replace('spot = { "QLV 214" = "ice house" }\n', "").replace('"40 ft box" = 6\n', "")
    assert main(["check", _file(tmp_path, "plan.toml", text)]) == OK
    assert "no car, or no locomotive" in capsys.readouterr().out


def test_a_broken_file_waits_for_no_picture(tmp_path: Path) -> None:
    """Its problems are told before anything is imported that pictures and proofs want."""
    broken = tmp_path / "broken.toml"
    broken.write_text("[tracks]\n", encoding="utf-8")
    asked = (
        "import sys\n"
        "from switchsolve.cli import main\n"
        f"code = main(['check', {str(broken)!r}, 'none.toml'])\n"
        "heavy = ('numpy', 'numba', 'ortools', 'networkx', 'rich', 'switchsolve.facts')\n"
        "sys.exit(code if not any(name in sys.modules for name in heavy) else 99)\n"
    )
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=False)
    assert told.returncode == BAD_FILE
    assert "broken.toml" in told.stderr and "none.toml" in told.stderr
