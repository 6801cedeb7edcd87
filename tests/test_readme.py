"""README.md and DEVELOPERS.md: what they show is what the program does today, and what they name exists."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from switchsolve.cli import codes, main
from switchsolve.plan import Advance, Verdict
from switchsolve.puzzlefile import json_schema, load, loads
from switchsolve.solving import solve
from tests.design_files import GROUND
from tests.files import puzzle_files

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BOTH = {"README.md": README, "DEVELOPERS.md": DEVELOPERS}
COMMANDS = (
    *("solve", "check", "census", "draw", "replay", "lengths"),
    *("measure", "paper", "study", "compare", "design", "walk", "yard", "session", "calibrate", "schema"),
    *("why", "blocking", "capacity"),
    *("setups", "sheets", "kit", "survey"),
)


def _blocks(text: str, language: str) -> list[str]:
    """The fenced blocks of one language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


def _table(heads: str) -> Iterator[list[str]]:
    """The rows of the table of DEVELOPERS.md whose line of heads is ``heads``, cell by cell."""
    assert DEVELOPERS.count(f"\n{heads}\n") == 1, heads
    for line in DEVELOPERS.split(f"\n{heads}\n")[1].splitlines()[1:]:
        if not line.startswith("|"):
            return
        yield [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]


def _quoted(text: str) -> list[str]:
    """What stands in backquotes."""
    return re.findall(r"`([^`\n]+)`", text)


# -- README ----------------------------------------------------------------------------------------------


def test_there_are_two_commands() -> None:
    """There are exactly two commands to paste, of one line each; the second one is the tests."""
    blocks = _blocks(README, "sh")
    assert len(blocks) == 2 and all(block.count("\n") == 1 for block in blocks)
    assert " solve " in blocks[0] and "pytest" in blocks[1]


def test_ci_calls_the_command_of_the_tests() -> None:
    """Each step of the README's test command is a line of .ci/run, in the same order."""
    steps = _blocks(README, "sh")[1].strip().split(" && ")
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line in steps] == steps


def test_the_first_command_is_that_of_the_example() -> None:
    """What a reader runs first is what the README shows the answer of."""
    command = _blocks(README, "sh")[0].strip().split(" && ")[-1]
    assert _blocks(README, "console")[0].startswith(f"$ {command.removeprefix('.venv/bin/')}\n")


@pytest.mark.parametrize("block", _blocks(README, "console"))
def test_the_output_is_what_the_program_prints(
    block: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each answer is printed again, to the letter (but for blanks at the ends of lines)."""
    command, _, shown = block.partition("\n")
    monkeypatch.chdir(ROOT)
    assert command.startswith("$ switchsolve ")
    main(shlex.split(command)[2:])
    printed = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert printed == shown.splitlines()


def test_every_toml_shown_is_in_a_puzzle_file() -> None:
    """The lines of each TOML block stand in one file of puzzles/, under the headings they have there."""
    files = [
        path.read_text(encoding="utf-8").splitlines() for path in sorted((ROOT / "puzzles").glob("*.toml"))
    ]
    blocks = _blocks(README, "toml")
    assert blocks
    for block in blocks:
        lines = [line for line in block.splitlines() if line and not line.startswith("[")]
        assert lines and any(set(lines) <= set(file) for file in files), block
        assert tomllib.loads(block)


def test_the_python_shown_prints_what_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    """The lines of Python, five of them, run as they stand and print what stands below them."""
    (code,) = _blocks(README, "python")
    (shown,) = _blocks(README, "text")
    assert sum(bool(line.strip()) for line in code.splitlines()) == 5
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True, timeout=120
    )
    assert done.stdout == shown


def test_the_claims_beside_the_example() -> None:
    """Points the other way: 2 moves, no run-around.  The tail needs 5.6 in: with 5.599 it is impossible."""
    trailing = solve(load(ROOT / "puzzles" / "cask_lane_trailing.toml"))
    assert trailing.lower_bound == 2 and trailing.plan is not None
    steps = [step for run in trailing.plan.runs for step in run.steps if isinstance(step, Advance)]
    assert "run-around" not in {way.cell.place for step in steps for way in step.enters}
    text = (ROOT / "puzzles" / "cask_lane_short_tail.toml").read_text(encoding="utf-8")
    tail = 'from = "East turnout points", length = '
    assert f"{tail}5 }}" in text
    for length, verdict in ((5.6, Verdict.PROVED), (5.599, Verdict.IMPOSSIBLE)):
        puzzle = loads(text.replace(f"{tail}5 }}", f"{tail}{length} }}"))
        assert solve(puzzle, tie_standings=0).verdict is verdict


def test_how_many_files_there_are() -> None:
    """The number of worked files is told right."""
    words = {19: "Nineteen", 20: "Twenty", 21: "Twenty-one", 22: "Twenty-two", 23: "Twenty-three"}
    words |= {24: "Twenty-four", 25: "Twenty-five", 26: "Twenty-six", 27: "Twenty-seven"}
    number = len(puzzle_files())
    assert f"{words[number]} worked files" in README


# -- both ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BOTH)
def test_every_file_named_exists(name: str) -> None:
    """Every path that the text names is there."""
    paths = re.findall(
        r"(?:puzzles|tests|switchsolve|\.ci)/[\w./]*|\b[A-Z]+\.md\b|pyproject\.toml", BOTH[name]
    )
    assert paths
    for path in paths:
        assert (ROOT / path.rstrip(".")).exists(), path


@pytest.mark.parametrize("name", BOTH)
def test_every_link_leads_somewhere(name: str) -> None:
    """Every link goes to a file that is there, and to a heading that it has."""
    links = re.findall(r"\]\(([^)]+)\)", BOTH[name])
    assert links
    for link in links:
        file, _, anchor = link.partition("#")
        heads = re.findall(r"^#+ (.*)$", BOTH[file or name], re.MULTILINE)
        slugs = [re.sub(r"[^\w -]", "", head).lower().replace(" ", "-") for head in heads]
        assert not anchor or anchor in slugs, link


@pytest.mark.parametrize("name", BOTH)
def test_every_command_named_is_known(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every command of switchsolve that the text names, and every option of it, is one."""
    known = set()
    for command in COMMANDS:
        with pytest.raises(SystemExit):
            main([command, "--help"])
        known |= {command, *re.findall(r"--[\w-]+", capsys.readouterr().out)}
    lines = re.findall(rf"(?<!include = \[\")switchsolve ((?:{'|'.join(COMMANDS)}|--)[^`\n]*)", BOTH[name])
    assert lines
    for line in lines:
        words = shlex.split(line)
        assert words[0] in known and {word for word in words if word.startswith("--")} <= known, line
    unknown = re.findall(rf"`switchsolve (?!{'|'.join(COMMANDS)})[^`]*`", BOTH[name])
    assert not unknown


# -- DEVELOPERS ------------------------------------------------------------------------------------------


def test_every_room_is_in_the_house_plan() -> None:
    """The table of rooms names every module and package of the top floor, and no other."""
    rooms = {word for row in _table("| floor | room | what it does |") for word in _quoted(row[1])}
    there = {path.stem for path in (ROOT / "switchsolve").glob("*.py")} - {"__init__", "__main__"}
    there |= {path.parent.name for path in (ROOT / "switchsolve").glob("*/__init__.py")}
    assert rooms == there


def test_the_floors_are_those_that_are_checked() -> None:
    """Floor by floor, the table has the rooms of the contract in pyproject.toml."""
    tool = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
    (contract,) = [
        one for one in tool["importlinter"]["contracts"] if one["containers"] == ["switchsolve"]
    ]
    floors = [set(layer.split(" | ")) for layer in contract["layers"] if layer != "__main__"]
    told: list[set[str]] = []
    for number, room, _ in _table("| floor | room | what it does |"):
        if number:
            told.append(set())
        told[-1] |= set(_quoted(room))
    assert told == floors


def test_every_exit_code_is_told() -> None:
    """The table of exit codes has those of the program, which its help tells too, and no other."""
    told = {int(row[0]) for row in _table("| code | `solve` | `check` | `census` | `draw` |")}
    there = {value for value in vars(codes).values() if isinstance(value, int)}
    assert told == there


def test_every_key_of_the_answer_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The table of the JSON answer has exactly the keys that are printed, those of a run included."""
    told = {key for row in _table("| key | type | meaning |") for key in _quoted(row[0])}
    main(["solve", "--json", str(ROOT / "puzzles" / "cask_lane_trailing.toml")])
    answer = json.loads(capsys.readouterr().out)
    assert told == set(answer) | {f"plan[].{key}" for key in answer["plan"][0]}
    (tightest,) = (row[2] for row in _table("| key | type | meaning |") if row[0] == "`tightest`")
    assert set(answer["tightest"]) <= set(_quoted(tightest))


def test_every_key_of_a_measuring_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The table of the answer of `measure` has exactly the keys that are printed, those of a row included."""
    told = {key for row in _table("| key of `measure` | type | meaning |") for key in _quoted(row[0])}
    main(["measure", "--json", str(ROOT / "puzzles" / "first_spur.toml")])
    answer = json.loads(capsys.readouterr().out)
    assert told == set(answer) | {f"rows[].{key}" for key in answer["rows"][0]}
    (turns,) = (row[2] for row in _table("| key of `measure` | type | meaning |") if row[0] == "`turns`")
    turn = answer["turns"][0]
    assert set(turn) | set(turn["spots"][0]) | set(turn["outbound_from"]) <= set(_quoted(turns))


def test_every_key_of_a_comparison_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The tables of the answers of `compare` have exactly the keys printed, with traffic and without."""
    files = [str(ROOT / "puzzles" / f"cask_lane_{name}.toml") for name in ("facing", "trailing")]
    main(["compare", "--json", *files])
    answer = json.loads(capsys.readouterr().out)
    heads = "| key of `compare`, no traffic | type | meaning |"
    told = {key for row in _table(heads) for key in _quoted(row[0])}
    assert told == set(answer) | {f"cases[].{key}" for key in answer["cases"][0]}
    file = str(ROOT / "puzzles" / "cask_lane_spur.toml")
    main(["compare", "--json", "--sessions", "1", "--workers", "1", file])
    answer = json.loads(capsys.readouterr().out)
    told = {key for row in _table("| key of `compare` | type | meaning |") for key in _quoted(row[0])}
    inner = {f"{name}[].{key}" for name in ("cases", "differences") for key in answer[name][0]}
    assert told == set(answer) | inner


def test_every_key_of_a_design_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The table of the answer of `design` has exactly the keys printed, with arrangements and without."""
    told = {key for row in _table("| key of `design` | type | meaning |") for key in _quoted(row[0])}
    wish = '[[design.wishes]]\nabout = "work"\nmost_moves = {}\n'
    choice = '[design.lengths]\n"Lane tail" = {{ least = 1, most = 3, step = 2 }}\n'
    for most in (8, 1):
        file = tmp_path / "design.toml"
        file.write_text(GROUND + (choice + wish).format(most), encoding="utf-8")
        main(["design", "--json", "--workers", "1", str(file)])
        answer = json.loads(capsys.readouterr().out)
        assert {key for key in told if "." not in key} == set(answer)
        shown = answer["arrangements"] or [row["arrangement"] for row in answer["leave_out"]]
        assert {f"arrangements[].{key}" for key in shown[0]} == {key for key in told if "[]." in key}


def test_every_key_of_a_file_is_told() -> None:
    """Every key of the schema of puzzle files stands in its reference, in backquotes."""
    schema = json_schema()
    models = [schema, *schema["$defs"].values()]
    keys = {key for model in models for key in model.get("properties", {})}
    text = DEVELOPERS.split("\n## The puzzle file\n")[1].split("\n## ")[0]
    told = {word for quoted in _quoted(text) for word in re.findall(r"\w+", quoted)}
    assert len(keys) > 40
    assert keys <= told, sorted(keys - told)


def test_dependencies_are_told_with_their_reason() -> None:
    """The tables of packages name those of pyproject.toml."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["dev"]]
    text = DEVELOPERS.split("\n## Dependencies\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| ([a-z][^|]*) \| ", text, re.MULTILINE)
    told = {name for row in rows for name in row.split(", ") if name != "package"}
    assert told == {re.split(r"[<>=\[]", package)[0] for package in wanted}


def _measured() -> list[list[str]]:
    return list(_table("| command | search | moves | expanded | generated |"))


@pytest.mark.parametrize("row", _measured(), ids=lambda row: row[0].split("/")[-1].rstrip("`"))
def test_measured_figures_are_those_of_today(row: list[str]) -> None:
    """Each row of measured figures is found again, by the search that it names."""
    command = _quoted(row[0])[0]
    assert f'--search "{row[1]}"' in command
    solution = solve(load(ROOT / command.split()[-1]), search=row[1], tie_standings=0)
    stats = solution.stats
    assert [solution.lower_bound, stats["expanded"], stats["generated"]] == [
        int(cell.replace(",", "")) for cell in row[2:]
    ]
