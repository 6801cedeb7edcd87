"""``switchsolve lengths`` at the command line: what it prints on 80 columns, as JSON and CSV; its codes."""

from __future__ import annotations

import csv
import json
import re
from argparse import Namespace
from pathlib import Path

import jsonschema
import pytest

from switchsolve.cli import lengths as screen
from switchsolve.cli import main
from switchsolve.measuring.length_steps import NO_PLAN, LengthSteps, Minimum, PieceSteps, Step
from switchsolve.puzzlefile import load

ROOT = Path(__file__).parent.parent
CROSSING = str(ROOT / "puzzles" / "cask_lane_crossing.toml")
SHORT_TAIL = str(ROOT / "puzzles" / "cask_lane_short_tail.toml")
SWITCHBACK = str(ROOT / "puzzles" / "glasshouse_switchback.toml")
LARGE = str(ROOT / "tests" / "reference" / "6.toml")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

COUNT = {"type": ["integer", "null"], "minimum": 0}
LENGTH = {"type": "number", "minimum": 0}
MINIMUM = {"least": COUNT, "most": COUNT, "is_proved": {"type": "boolean"}}
PART = {"type": ["integer", "null"], "minimum": 1}
TEXT_OR_NULL = {"type": ["string", "null"], "minLength": 1}


def _object(properties: dict[str, object]) -> dict[str, object]:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


TRACK = {
    "track": {"type": "string"},
    "part": PART,
    "length": LENGTH,
    "steps": {"type": "array", "items": _object({"at_least": LENGTH, **MINIMUM})},
    "kept_by": TEXT_OR_NULL,
    "shorter_by": LENGTH,
    "longest_tried": {"type": ["number", "null"]},
    "nothing_beyond": {"type": "boolean"},
    "not_measured": TEXT_OR_NULL,
}
GAIN = {
    "track": {"type": "string"},
    "part": PART,
    "longer_by": LENGTH,
    "moves": {"type": "integer"},
    "saved": COUNT,
}
ANSWER = {
    "title": {"type": "string"},
    "unit": {"enum": ["in", "mm", "cm", "ft", "car"]},
    "now": _object(MINIMUM),
    "limit": TEXT_OR_NULL,
    "tracks": {"type": "array", "items": _object(TRACK)},
    "gains": {"type": "array", "items": _object(GAIN)},
}


# -- the screen ------------------------------------------------------------------------------------------


def test_the_table_of_what_more_rail_buys(capsys: pytest.CaptureFixture[str]) -> None:
    """The street needs two cars of 6.1917 in at one side of the crossing: 12.384 in, rounded up, which is
    6.384 in more than there is at one side and 7.384 in at the other.  The shorter addition comes first.
    """
    assert main(["lengths", CROSSING, "--track", "west street", "--track", "Lane tail"]) == 0
    text = capsys.readouterr().out
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert lines[0] == "Cask Lane: two cars for the cider works, Front Street kept clear"
    assert lines[1] == "As it is: 5 moves."
    assert "any length for 5 moves, build at least 12.384 in for 3; nothing more to gain." in " ".join(lines)
    assert "Lane tail (15 in): build at least 5.6 in for 5 moves; nothing more to gain." in " ".join(lines)
    assert "It could be shorter by 9.4 in at no cost in moves." in " ".join(lines)
    assert lines[-3:] == [
        "the next inch that buys something longer by moves saved",
        "west street, part 3 of 3 6.384 in 3 2",
        "west street, part 1 of 3 7.384 in 3 2",
    ]
    assert all(len(line) <= 80 for line in text.splitlines())


def test_impossible_work(capsys: pytest.CaptureFixture[str]) -> None:
    """A tail 0.6 in short: the table says that so much makes the work possible; other tracks never do."""
    assert main(["lengths", SHORT_TAIL, "--track", "Lane tail", "--track", "east street"]) == 0
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert "As it is: impossible." in lines
    assert "east street (15 in): no length makes the work possible." in lines
    assert "Lane tail (5 in): build at least 5.6 in for 3 moves; nothing more to gain." in lines
    assert lines[-1] == "Lane tail 0.6 in 3 possible"


def test_a_track_that_is_not_measured(capsys: pytest.CaptureFixture[str]) -> None:
    """The wharf track, beyond which the pier is closed to locomotives, says why it is not measured."""
    assert main(["lengths", SWITCHBACK, "--track", "wharf track"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "wharf track (13 in): not measured: some rail is closed to locomotives" in text
    assert "None of the tracks measured saves a move if it alone is longer." in text


def _shown(*steps: Step, **more: object) -> str:
    """The line of a track of 10 in, measured up to 30, with these steps."""
    options: dict[str, object] = {"longest": 30_000_000, "is_final": True, **more}
    piece = PieceSteps("tail", None, "tail", 10_000_000, steps, **options)  # type: ignore[arg-type]
    return screen._piece_text(load(SHORT_TAIL), piece)


def _step(length: float, least: int, most: int | None = None) -> Step:
    return Step(round(length * 1_000_000), Minimum(least, least if most is None else most))


def test_how_steps_are_read() -> None:
    """From impossible upwards, as "build at least"; what is not proved is told with both ends."""
    impossible = _step(0.000001, NO_PLAN)
    assert _shown(impossible, _step(11.2, 9), _step(13.6, 7), _step(17.1, 5)) == (
        "build at least 11.2 in for 9 moves, 13.6 in for 7, 17.1 in for 5; nothing more to gain."
    )
    assert _shown(impossible, _step(8, 7, 9), _step(12, 5)) == (
        "from 8 in between 7 and 9 moves (not proved), build at least 12 in for 5; nothing more to gain."
    )
    assert _shown(_step(2, 3), kept_by="spot 1 is there", is_final=False) == (
        "any length for 3 moves (it cannot be under 2 in: spot 1 is there); nothing to gain up to 30 in."
        " It could be shorter by 8 in at no cost in moves."
    )
    assert _shown(_step(0.000001, 4, NO_PLAN), is_final=False) == (
        "any length for 4 moves or more, or impossible (not proved); more may be gained."
    )
    assert _shown(impossible, _step(11, 9), _step(11.000001, 7, 9), _step(11.000002, 6), _step(13, 4, 6)) == (
        "build at least 11 in for 9 moves, 11.001 in for 6, from 13 in between 4 and 6 moves (not proved);"
        " more may be gained."
    )
    assert _shown(_step(0.000001, 3), _step(10.000001, 0, 3)) == (
        "any length for 3 moves, from 10.001 in 3 moves or fewer (not proved); more may be gained."
    )
    assert _shown(impossible, is_final=False) == "no length up to 30 in makes the work possible."


def test_lengths_are_rounded_so_that_they_hold() -> None:
    """What must be built is rounded up, what may be cut off is rounded down."""
    told = _shown(_step(0.000001, NO_PLAN), _step(5.600001, 1))
    assert told.startswith("build at least 5.601 in for 1 move;")
    assert "shorter by 4.399 in" in told


# -- for programs ----------------------------------------------------------------------------------------


def test_the_json_answer(capsys: pytest.CaptureFixture[str]) -> None:
    """It is as documented, key by key, and its lengths are exact."""
    assert main(["lengths", "--json", CROSSING]) == 0
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, _object(ANSWER))
    puzzle = load(CROSSING)
    two = (puzzle.vehicles["THB 12"].length + puzzle.vehicles["QLV 214"].length) / puzzle.grid
    first = answer["tracks"][0]
    assert (first["track"], first["part"], first["length"]) == ("west street", 1, 5)
    assert first["steps"][1] == {"at_least": two, "least": 3, "most": 3, "is_proved": True}
    assert answer["gains"][0]["longer_by"] == pytest.approx(two - 6, abs=1e-9)
    assert answer["now"] == {"least": 5, "most": 5, "is_proved": True} and answer["limit"] is None


def test_every_key_of_the_answer_is_told() -> None:
    """The table in DEVELOPERS.md has the keys of the answer and of its tracks, and no other."""
    table = DEVELOPERS.split("\n| key of `lengths` | type | meaning |\n")[1].split("\n\n")[0]
    told = {key for row in table.splitlines() for key in re.findall(r"`([^`]+)`", row.split("|")[1])}
    assert told == set(ANSWER) | {f"tracks[].{key}" for key in TRACK}
    (row,) = (line for line in table.splitlines() if line.startswith("| `gains`"))
    assert set(GAIN) <= set(re.findall(r"`([^`]+)`", row))


def test_the_csv_says_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One row for each step of the JSON answer, with the same figures; the screen is printed as well."""
    path = tmp_path / "steps.csv"
    assert main(["lengths", "--json", CROSSING, "--csv", str(path)]) == 0
    answer = json.loads(capsys.readouterr().out)
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    told = DEVELOPERS.split("with the heads ")[1].split(".\n")[0]
    assert list(rows[0]) == re.findall(r"`([^`]+)`", told)
    wanted = [(track, step) for track in answer["tracks"] for step in track["steps"]]
    assert len(rows) == len(wanted)
    for row, (track, step) in zip(rows, wanted, strict=True):
        assert (row["track"], row["part"]) == (track["track"], str(track["part"] or ""))
        assert float(row["length_now"]) == track["length"] and float(row["at_least"]) == step["at_least"]
        assert (row["least_moves"], row["is_proved"]) == (str(step["least"] or ""), "true")


def test_the_csv_of_what_is_not_measured(tmp_path: Path) -> None:
    """A track that is not measured has a row with the reason, and no figures."""
    path = tmp_path / "steps.csv"
    piece = PieceSteps("pier", None, "pier", 3, unmeasured="closed")
    screen._write_csv(str(path), load(CROSSING), LengthSteps(Minimum(1, 1), (piece,)))
    assert path.read_text(encoding="utf-8").splitlines()[1] == "pier,,0.000003,,,,,closed"


# -- codes -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--track", "Lane tale"], 'did you mean "Lane tail"?'),
        (["--track", "West turnout"], "name one of: Lane lead, west street"),
        (["--track", "Lane lead"], "--track Lane lead: this entrance has no length of its own"),
        (["--limit-seconds", "0"], "--limit-seconds 0: give a time above zero"),
        (["--limit-seconds", "nan"], "--limit-seconds nan: give a time above zero"),
        (["--csv", "nowhere/steps.csv"], "--csv nowhere/steps.csv: no such file or directory; name a file"),
    ],
    ids=str,
)
def test_two_for_wrong_arguments(
    arguments: list[str], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Wrong arguments give 2, before any work, and say the cure."""
    monkeypatch.chdir(tmp_path)
    assert main(["lengths", CROSSING, *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == "" and told in err and len(err.splitlines()) == 1


def test_three_for_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that cannot be read gives 3, and is named."""
    assert main(["lengths", str(tmp_path / "no.toml")]) == 3
    out, err = capsys.readouterr()
    assert out == "" and "no.toml" in err


def test_ten_for_what_was_stopped(capsys: pytest.CaptureFixture[str]) -> None:
    """Work that nobody proves in a second: 10, what stopped it, and no number that is not proved."""
    assert main(["lengths", LARGE, "--limit-seconds", "1"]) == 10
    text = " ".join(capsys.readouterr().out.split())
    assert "Stopped by the limit of 1 seconds: not everything is proved." in text
    assert "as far as was proved." in text and "(not proved)" in text
    assert not re.search(r"for \d+ moves?[,;]", text)


def test_ctrl_c_shows_what_there_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Stopped by Ctrl-C before the first length, every track is still named, and the code is 10."""
    monkeypatch.setattr(screen.Stop, "__call__", lambda self: "Ctrl-C")
    arguments = Namespace(
        file=CROSSING, track=None, limit_seconds=None, csv=None, json=False,
        sessions=None, seed=None, workers=None,
    )  # fmt: skip
    assert screen.run_lengths(arguments) == 10
    text = capsys.readouterr().out
    assert "Lane tail" in text and "Stopped by Ctrl-C" in text
    assert "an unknown number of moves" in text
