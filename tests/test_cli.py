"""The command line: exit codes, the JSON answer, Ctrl-C, what goes to which stream, and how wide it is."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from switchsolve.cli import codes, main
from switchsolve.cli import solve as solve_screen
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.plan import Verdict

ROOT = Path(__file__).parent.parent
SPUR = str(ROOT / "puzzles" / "first_spur.toml")
SHORT_TAIL = str(ROOT / "puzzles" / "cask_lane_short_tail.toml")
SWITCHBACK = str(ROOT / "puzzles" / "glasshouse_switchback.toml")
TWO_ENGINES = str(ROOT / "puzzles" / "coast_two_engines.toml")
TURNTABLE = str(ROOT / "puzzles" / "marrow_point_turntable.toml")
LARGE = str(ROOT / "tests" / "reference" / "6.toml")
"""Nobody waits for this one."""

BROKEN = """\
unit = "inch"

[tracks]
lead = { from = "entrance", too = "T points", length = 10 }

[locomotives]
L = 2

[start]
lead = ["L"]
"""

COUNT = {"type": ["integer", "null"], "minimum": 0}
NAMES = {"type": "array", "items": {"type": "string", "minLength": 1}}
ROW = {
    "locomotive": {"type": "string"},
    "direction": {"enum": ["forward", "back"]},
    "text": {"type": "string", "minLength": 1},
    "enters": NAMES,
    "couples": {"type": "array", "items": NAMES},
    "cuts": {"type": "array", "items": NAMES},
}
PLACE = {"move": {"type": "integer", "minimum": 1}, "place": {"type": "string"}, "spare": {"type": "number"}}

EFFORT = {
    "trips_around": {"type": "integer", "minimum": 0},
    "repeated_shuttles": {"type": "integer", "minimum": 0},
    "busiest_places": {"type": ["array", "null"], "items": {"type": "string"}},
    "busiest_runs": {"type": ["integer", "null"], "minimum": 1},
    "light_moves": {"type": "integer", "minimum": 0},
    "light_distance": {"type": "number", "minimum": 0},
    "light_share": {"type": "number", "minimum": 0, "maximum": 1},
    "longest_spell": {"type": "integer", "minimum": 0},
    "spell_begins": {"type": ["integer", "null"], "minimum": 1},
}


def _object(properties: dict[str, object], **more: object) -> dict[str, object]:
    return {
        "type": ["object", "null"] if more.pop("may_be_null", False) else "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
        **more,
    }


CREW = {
    "moves": {"type": ["array", "null"], "items": {"type": "integer"}, "minItems": 2, "maxItems": 2},
    "minutes": {"type": "array", "items": COUNT, "minItems": 2, "maxItems": 2},
    "by": {"enum": ["plain crew", "crew_ratio"]},
    "borrowed": {"type": "array", "items": {"type": "string"}},
}
ANSWER = _object(
    {
        "title": {"type": "string"},
        "verdict": {"enum": ["proved minimum", "best found", "impossible", "gave up"]},
        **dict.fromkeys(("moves", "reversals", "couplings", "cuts"), COUNT),
        **dict.fromkeys(("cars_moved", "turnouts_thrown", "tables_turned"), COUNT),
        "distance": {"type": ["number", "null"], "minimum": 0},
        "unit": {"enum": ["in", "mm", "cm", "ft", "car"]},
        "objective": {"enum": ["moves", "couplings and cuts", "minutes"]},
        "value": {"type": ["number", "null"], "minimum": 0},
        "value_bound": {"type": ["number", "null"], "minimum": 0},
        "lower_bound": COUNT,
        "couplings_and_cuts_proved": {"type": "boolean"},
        "distance_proved": {"type": "boolean"},
        "limit": {"type": ["string", "null"]},
        "plan": {"type": ["array", "null"], "items": _object(ROW)},
        "effort": _object(EFFORT, may_be_null=True),
        "tightest": _object(PLACE, may_be_null=True),
        "explanation": {"type": ["string", "null"]},
        "choices": {"type": ["array", "null"]},
        "crew": _object(CREW, may_be_null=True),
        "stats": {"type": "object", "additionalProperties": {"type": ["number", "string"]}},
    }
)
"""The JSON answer as it is documented."""


def _interrupted(monkeypatch: pytest.MonkeyPatch, when: Callable[[int, str], bool], presses: int = 1) -> None:
    """Press Ctrl-C so often at the first line of progress for which ``when(its number, its text)`` holds.

    Progress is told every so many standings, so this is the same point on every machine.
    """

    class Progress:
        def __init__(self) -> None:
            self.told = 0
            self.left = presses

        def __call__(self, text: str) -> None:
            self.told += 1
            if self.left and when(self.told, text):
                for _ in range(presses):
                    self.left -= 1
                    signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(solve_screen, "Progress", Progress)


def _started(*arguments: str) -> subprocess.Popen[str]:
    """The program as a process of its own, unbuffered, so that what it has said can be waited for."""
    return subprocess.Popen(
        [sys.executable, "-u", "-m", "switchsolve", *arguments],
        cwd=ROOT,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


# -- exit codes ------------------------------------------------------------------------------------------


def test_zero_for_a_proved_minimum(capsys: pytest.CaptureFixture[str]) -> None:
    """A proved minimum gives 0 and says so; nothing goes to stderr when the work is short."""
    assert main(["solve", SPUR]) == 0
    out, err = capsys.readouterr()
    assert "Proved minimum: 1 move." in out.splitlines()
    assert err == ""


def test_zero_for_a_sound_file() -> None:
    """A file without a fault or a standard that is short gives 0."""
    assert main(["check", SPUR]) == 0


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["sovle", SPUR],
        ["solve"],
        ["solve", SPUR, SPUR],
        ["solve", SPUR, "--limit-seconds", "soon"],
        ["solve", SPUR, "--limit-seconds", "0"],
        ["solve", SPUR, "--limit-seconds=-1"],
        ["solve", SPUR, "--limit-seconds", "nan"],
        ["solve", SPUR, "--limit-memory", "much"],
        ["solve", SPUR, "--limit-memory", "0"],
        ["solve", SPUR, "--search", "guess"],
        ["solve", TWO_ENGINES, "--search", "longest runs"],
    ],
    ids=" ".join,
)
def test_two_for_wrong_arguments(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong arguments give 2 and a reason on stderr; a search that is not exact for the file is one."""
    try:
        code: object = main(arguments)
    except SystemExit as stopped:
        code = stopped.code
    out, err = capsys.readouterr()
    assert code == 2
    assert out == "" and err.strip()


@pytest.mark.parametrize("command", ["solve", "check"])
def test_three_for_a_file_that_cannot_be_read(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No such file, or one that is no TOML or badly written, gives 3 and says which on stderr."""
    (tmp_path / "no.toml").write_text("this is no TOML", encoding="utf-8")
    (tmp_path / "broken.toml").write_text(BROKEN, encoding="utf-8")
    for name in ("nowhere.toml", "no.toml", "broken.toml"):
        assert main([command, str(tmp_path / name)]) == 3
        out, err = capsys.readouterr()
        assert out == ""
        assert err and all(line.startswith(str(tmp_path / name)) for line in err.splitlines())


def test_check_tells_all_problems_of_all_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of several files at once every problem of each is told, the sound ones are examined, and 3 is given."""
    names = [str(tmp_path / name) for name in ("one.toml", "two.toml")]
    for name in names:
        Path(name).write_text(BROKEN, encoding="utf-8")
    assert main(["check", names[0], SPUR, names[1]]) == 3
    out, err = capsys.readouterr()
    keys = ("unit", "tracks.lead.too")
    assert [line.split(": ")[:2] for line in err.splitlines() if "questions put" not in line] == [
        [name, f'{key} = "{value}"']
        for name in names
        for key, value in zip(keys, ("inch", "T points"), strict=True)
    ]
    assert "First spur" in out


def test_ten_for_best_found(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Stopped by Ctrl-C with a plan at hand: 10, with the bound below the moves, and what stopped it."""
    _interrupted(monkeypatch, lambda told, text: told == 5)
    assert main(["solve", "--json", SWITCHBACK]) == 10
    out, err = capsys.readouterr()
    answer = json.loads(out)
    jsonschema.validate(answer, ANSWER)
    assert answer["verdict"] == "best found" and answer["limit"] == "Ctrl-C"
    assert 0 < answer["lower_bound"] < answer["moves"]
    assert len(answer["plan"]) == answer["moves"]
    assert "stopping" in err


def test_eleven_for_impossible(capsys: pytest.CaptureFixture[str]) -> None:
    """What cannot be done gives 11, and what is short is told unless one asks for no explanation."""
    assert main(["solve", SHORT_TAIL]) == 11
    assert "Lane tail is 0.6 in short" in capsys.readouterr().out
    assert main(["solve", SHORT_TAIL, "--no-explanation"]) == 11
    assert "short:" not in capsys.readouterr().out


def test_twelve_for_gave_up(capsys: pytest.CaptureFixture[str]) -> None:
    """A limit reached before any plan gives 12, the bound reached so far, and the limit by name."""
    assert main(["solve", LARGE, "--limit-seconds", "0.01"]) == 12
    text = " ".join(capsys.readouterr().out.split())
    assert "Gave up: stopped by the limit of 0.01 seconds before a plan was found; it cannot be under" in text


def test_a_limit_of_memory_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    """With a few MiB the search stops by itself, says that memory was the limit, and gives its bound."""
    arguments = ["solve", LARGE, "--limit-memory", "3", "--limit-seconds", "120"]
    assert main([*arguments, "--search", "compiled longest runs"]) in (10, 12)
    text = " ".join(capsys.readouterr().out.split())
    assert "the limit of memory" in text and "cannot be under" in text


def test_thirteen_for_a_standard_that_is_short(capsys: pytest.CaptureFixture[str]) -> None:
    """A sound file with a standard that is not met gives 13, and tells by how much."""
    assert main(["check", SHORT_TAIL]) == 13
    assert "0.6 in" in capsys.readouterr().out


def test_a_bad_file_outweighs_a_short_standard(tmp_path: Path) -> None:
    """Of several files the worst one decides: badly written comes before a standard that is short."""
    broken = tmp_path / "broken.toml"
    broken.write_text(BROKEN, encoding="utf-8")
    assert main(["check", SHORT_TAIL, str(broken)]) == 3


def test_a_second_ctrl_c_ends_at_once(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two of them before anything can be said: 130, and no answer."""
    _interrupted(monkeypatch, lambda told, text: told == 3, presses=2)
    assert main(["solve", SWITCHBACK]) == 130
    out, err = capsys.readouterr()
    assert out == "" and err.endswith("interrupted\n")


def test_ctrl_c_while_explaining(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """What is proved stays proved: the verdict is told, and 11 given, without an explanation."""
    _interrupted(monkeypatch, lambda told, text: text.startswith("explaining"))
    assert main(["solve", "--json", SHORT_TAIL]) == 11
    answer = json.loads(capsys.readouterr().out)
    assert answer["verdict"] == "impossible" and answer["explanation"] is None


def test_no_verdict_has_a_code_of_the_shell() -> None:
    """Every verdict has a code of its own, and none is 1 (a crash) or 2 (wrong arguments)."""
    of_verdict = CODE_OF_VERDICT
    assert set(of_verdict) == set(Verdict)
    given = [*of_verdict.values(), codes.STANDARD_SHORT, codes.BAD_FILE, codes.INTERRUPTED]
    assert len(set(given)) == len(given)
    assert not {1, 2} & set(given)


# -- the JSON answer -------------------------------------------------------------------------------------


def test_json_of_a_proved_minimum(capsys: pytest.CaptureFixture[str]) -> None:
    """The answer has exactly the documented keys and types, and its figures by hand: shove in, uncouple."""
    assert main(["solve", "--json", SPUR]) == 0
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, ANSWER)
    assert (answer["moves"], answer["reversals"], answer["lower_bound"]) == (1, 0, 1)
    assert (answer["couplings"], answer["cuts"], answer["cars_moved"]) == (0, 1, 1)
    assert (answer["unit"], answer["limit"], answer["explanation"]) == ("in", None, None)
    (row,) = answer["plan"]
    assert (row["locomotive"], row["direction"]) == ("S&I 5", "forward")
    assert row["enters"] == ["Ice house turnout", "ice house"]


def test_json_of_the_impossible(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a plan its figures are null, and the explanation is the one on screen."""
    assert main(["solve", "--json", SHORT_TAIL]) == 11
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, ANSWER)
    nothing = ("moves", "reversals", "couplings", "cuts", "distance", "plan", "tightest", "lower_bound")
    assert [answer[key] for key in nothing] == [None] * len(nothing)
    assert answer["explanation"].startswith("Lane tail is 0.6 in short")


def test_json_of_gave_up(capsys: pytest.CaptureFixture[str]) -> None:
    """There is a bound and no plan, and the limit is named."""
    assert main(["solve", "--json", "--limit-seconds", "0.01", LARGE]) == 12
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, ANSWER)
    assert answer["plan"] is None and answer["lower_bound"] >= 1
    assert answer["limit"] == "the limit of 0.01 seconds"


def test_the_written_schema_can_say_no() -> None:
    """The schema of these tests refuses an answer with a key too few, and one with a wrong type."""
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"title": "x"}, ANSWER)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"move": "1", "place": "x", "spare": 1}, _object(PLACE))


def test_schema_command_prints_the_schema_of_files(capsys: pytest.CaptureFixture[str]) -> None:
    """``schema`` prints a JSON Schema that refuses a file without tracks."""
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    errors = list(jsonschema.Draft202012Validator(schema).iter_errors({"unit": "in"}))
    assert any("tracks" in error.message for error in errors)


# -- a process of its own --------------------------------------------------------------------------------


def test_ctrl_c_in_a_running_process() -> None:
    """A real SIGINT on large work: a verdict with a bound, code 10 or 12; progress is on stderr alone."""
    process = _started("solve", LARGE)
    assert process.stderr is not None
    first = process.stderr.readline()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=240)
    assert "standings" in first
    assert process.returncode in (codes.BEST_FOUND, codes.GAVE_UP)
    text = " ".join(out.split())
    assert "Ctrl-C" in text and "cannot be under" in text
    assert "stopping" in err and "standings" not in out


def test_ctrl_c_in_a_running_check() -> None:
    """A real SIGINT while a district is examined gives 130 within seconds."""
    process = _started("check", *[TURNTABLE] * 20)
    assert process.stdout is not None
    first = process.stdout.readline()
    process.send_signal(signal.SIGINT)
    sent = time.monotonic()
    _, err = process.communicate(timeout=60)
    assert TURNTABLE in first
    assert process.returncode == codes.INTERRUPTED and err.endswith("interrupted\n")
    assert time.monotonic() - sent < 30


@pytest.mark.parametrize("command", [["schema"], ["check", TURNTABLE], ["solve", "--json", TURNTABLE]])
def test_the_reader_goes_away(command: list[str]) -> None:
    """Piped into a program that has ended, a command ends too: the code for it, and no traceback."""
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "w") as nobody:
        done = subprocess.run(
            [sys.executable, "-m", "switchsolve", *command],
            cwd=ROOT, stdout=nobody, stderr=subprocess.PIPE, text=True, timeout=240, check=False,
        )  # fmt: skip
    assert done.returncode == codes.READER_GONE
    assert "Traceback" not in done.stderr and "Broken" not in done.stderr


# -- the screen ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["solve", "check"])
@pytest.mark.parametrize("name", ["cask_lane_facing", "cask_lane_short_tail"])
def test_no_line_is_wider_than_eighty(
    command: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No line of an answer is wider than 80 columns, not even with long names and a long title."""
    text = (ROOT / "puzzles" / f"{name}.toml").read_text(encoding="utf-8")
    long = text.replace("cider works", "cider works of the widow and her four daughters")
    long = long.replace('title = "', 'title = "A very long title indeed, longer than a terminal is wide: ')
    (tmp_path / "long.toml").write_text(long, encoding="utf-8")
    for file in (ROOT / "puzzles" / f"{name}.toml", tmp_path / "long.toml"):
        assert main([command, str(file)]) != codes.BAD_FILE
        out = capsys.readouterr().out
        assert out and max(map(len, out.splitlines())) <= 80


def test_another_objective(capsys: pytest.CaptureFixture[str]) -> None:
    """The verdict speaks of what was asked for; minutes are a range, from the plan to a plain crew."""
    assert main(["solve", "puzzles/quarry_hill_three.toml", "--objective", "minutes"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Proved minimum: no plan takes less time by the file's figures." in out
    assert "A plain crew, one item at a time, takes 10 moves." in out
    low, high = re.findall(r"(\d+) to (\d+) minutes of real time", out)[0]
    assert int(low) < int(high) and out.count(" minutes") == 1
    assert main(["solve", "puzzles/quarry_hill_three.toml", "--objective", "couplings and cuts"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Proved minimum: 4 couplings and cuts." in out and "6 moves (proved least for that figure)" in out


def test_an_objective_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    """``value`` is a count or seconds, ``value_bound`` what cannot be beaten; by moves both are moves."""
    command = ["solve", "--json", "puzzles/quarry_hill_three.toml", "--objective", "couplings and cuts"]
    assert main(command) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["objective"], answer["value"], answer["value_bound"]) == ("couplings and cuts", 4, 4)
    assert answer["lower_bound"] is None
    assert main(["solve", "--json", "puzzles/first_spur.toml"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["objective"], answer["value"], answer["value_bound"]) == ("moves", 1, 1)


def test_choices(capsys: pytest.CaptureFixture[str]) -> None:
    """A row for each plan, in words for people and as JSON; proved by counts, no clock near."""
    assert main(["solve", "puzzles/quarry_hill_three.toml", "--choices", "--limit-seconds", "3600"]) == 0
    out = capsys.readouterr().out
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "Other plans for the same work" in out and "moves*" in out and "1 + 3" in out and "3 + 4" in out
    command = ["solve", "--json", "puzzles/quarry_hill_three.toml", "--choices", "--limit-seconds", "3600"]
    assert main(command) == 0
    rows = json.loads(capsys.readouterr().out)["choices"]
    assert [(row["moves"], row["couplings"], row["cuts"]) for row in rows] == [(6, 1, 3), (6, 3, 4)]
    assert set(rows[0]) == {
        "moves", "couplings", "cuts", "seconds", "cars_in_hand", "distance", "best_in", "proved",
    }  # fmt: skip


@pytest.mark.parametrize(
    "arguments, told",
    [
        (["--objective", "speed"], "--objective speed: it is one of moves, couplings and cuts, minutes"),
        (
            ["--objective", "minutes", "--search", "events"],
            "--search events: a search is named for moves only; leave --objective minutes out",
        ),
        (
            ["--choices", "--objective", "minutes"],
            "--objective minutes: --choices asks for every objective; leave one out",
        ),
    ],
)
def test_objectives_that_do_not_go(
    capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    """Wrong arguments: said with the cure, code 2."""
    assert main(["solve", "puzzles/first_spur.toml", *arguments]) == 2
    assert told in capsys.readouterr().err
