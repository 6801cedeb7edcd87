"""Length steps added up over drawn sessions: against a sweep, by hand, on the screen and in files."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.measuring import session_steps as room
from switchsolve.measuring.length_steps import NO_PLAN, LengthSteps, Minimum, PieceSteps, Step
from switchsolve.measuring.pieces import resized
from switchsolve.measuring.session_steps import (
    SessionGain,
    SessionLengths,
    SessionPiece,
    SessionStep,
    added_up,
    session_lengths,
)
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve
from switchsolve.traffic import sessions
from tests.traffic_files import LANE, lane

ROOT = Path(__file__).parent.parent
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
INCH = 1_000_000


def _piece(*steps: tuple[int, int], length: int = 10, longest: int = 30) -> PieceSteps:
    told = tuple(Step(at, Minimum(moves, moves)) for at, moves in steps)
    return PieceSteps("tail", None, "tail", length, told, "", longest, True)


# -- the sum ---------------------------------------------------------------------------------------------


def _swept(puzzle: Puzzle, piece: SessionPiece, count: int, length: int) -> tuple[int, int]:
    """Sessions that cannot do their work with the piece so long, and the moves of the others: each of them
    solved by itself, by the search for a single question."""
    cannot = moves = 0
    for session in sessions(puzzle, count, 3):
        found = solve(resized(session.puzzle, piece.piece, length), tie_standings=0)
        if found.verdict is Verdict.IMPOSSIBLE:
            cannot += 1
        else:
            assert found.verdict is Verdict.PROVED and found.lower_bound is not None
            moves += found.lower_bound
    return cannot, moves


def test_the_sum_is_that_of_a_sweep() -> None:
    """At every fourth whole inch, at each step and one grid unit below it, the sums are those of all sessions
    solved one by one; some sessions are impossible, some lengths help."""
    puzzle, count = lane(), 4
    found = session_lengths(puzzle, count, 3, ["tail", "ice house"], workers=1)
    assert (found.sessions, found.asked) == (count, count) and found.is_proved
    seen = set()
    for piece in found.pieces:
        first = piece.steps[0].at_least
        lengths = {inch * INCH for inch in range(2, 20, 4)} | {one.at_least for one in piece.steps}
        lengths |= {one.at_least - 1 for one in piece.steps}
        for length in sorted(length for length in lengths if first <= length <= piece.longest):
            step = next(one for one in reversed(piece.steps) if one.at_least <= length)
            assert (step.cannot, step.moves) == _swept(puzzle, piece, count, length), (
                piece.piece.name,
                length,
            )
            seen.add(step)
    assert len(seen) > 2 and any(0 < step.cannot < count for step in seen)


def test_two_workers_come_to_the_same_as_one() -> None:
    """Who measures a session makes no difference."""
    one, two = (session_lengths(lane(), 3, 3, ["tail"], workers=workers) for workers in (1, 2))
    assert one == two


def test_a_sum_by_hand() -> None:
    """Two sessions: possible from 4 and from 12, in 7 moves falling to 5 at 12, and in 9; now the track is 10
    long.  Lengths under 3, on which one cannot stand, are not told."""
    pieces = [_piece((1, NO_PLAN), (4, 7), (12, 5)), _piece((3, NO_PLAN), (12, 9))]
    found = added_up([replace(pieces[0], kept_by="a"), replace(pieces[1], kept_by="b")])
    assert found.steps == (SessionStep(3, 2, 0), SessionStep(4, 1, 7), SessionStep(12, 0, 14))
    assert found.gains == (SessionGain(2, 1, 2),)
    assert (found.spare, found.kept_by, found.counted, found.open) == (6, "b", 2, 0)
    assert found.now == SessionStep(4, 1, 7)


def test_what_is_not_proved_is_left_out_and_counted() -> None:
    """A session with an open step is in no sum; with none left there is nothing to tell."""
    opened = replace(_piece((1, 3)), steps=(Step(1, Minimum(2, 5)),))
    found = added_up([_piece((1, 3)), opened])
    assert (found.counted, found.open, found.steps) == (1, 1, (SessionStep(1, 0, 3),))
    none = added_up([opened])
    assert (none.counted, none.open, none.steps, none.now) == (0, 1, (), None)
    assert not SessionLengths(2, 2, 2, (found,)).is_proved


def test_the_same_set_up_is_measured_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sessions that differ by names alone cost one measuring."""
    asked = []

    def measured(puzzle: Puzzle, *_: object, **_keys: object) -> LengthSteps:
        asked.append(puzzle)
        return LengthSteps(Minimum(1, 1), (_piece((1, 1)),))

    monkeypatch.setattr(room, "length_steps", measured)
    found = session_lengths(lane(), 60, 3, ["tail"], workers=1)
    assert len(asked) == found.solved < found.sessions == 60


def test_ctrl_c_keeps_what_there_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sessions measured till then are added up, and it is said that not all are."""
    whole = room.length_steps
    asked = []

    def stopped(puzzle: Puzzle, *rest: object, **keys: object) -> LengthSteps:
        asked.append(puzzle)
        if len(asked) > 2:
            raise KeyboardInterrupt
        return whole(puzzle, *rest, **keys)  # type: ignore[arg-type]

    monkeypatch.setattr(room, "length_steps", stopped)
    found = session_lengths(lane(), 6, 3, ["tail"], workers=1)
    assert 2 <= found.sessions < 6 and found.asked == 6 and not found.is_proved


@pytest.mark.parametrize("keys", [{"count": 0}, {"seed": -1}, {"workers": 0}])
def test_nonsense_is_refused(keys: dict[str, int]) -> None:
    """Numbers that are too small."""
    with pytest.raises(ValueError, match="one session and one worker at least"):
        session_lengths(lane(), keys.get("count", 1), keys.get("seed", 1), workers=keys.get("workers", 1))


# -- the command -----------------------------------------------------------------------------------------


@pytest.fixture
def file(tmp_path: Path) -> str:
    """The small district as a file."""
    path = tmp_path / "lane.toml"
    path.write_text(LANE, encoding="utf-8")
    return str(path)


def test_the_screen(file: str, capsys: pytest.CaptureFixture[str]) -> None:
    """On 80 columns, with the means of the sums, and what the next inch buys."""
    command = ["lengths", file, "--sessions", "6", "--seed", "3", "--workers", "1", "--track"]
    assert main([*command, "tail", "--track", "ice house"]) == 0
    out = capsys.readouterr().out
    assert all(len(line) <= 80 for line in out.splitlines())
    found = session_lengths(lane(), 6, 3, ["tail"], workers=1).pieces[0]
    assert found.now is not None
    assert f"{found.now.moves / (found.counted - found.now.cannot):.2f}" in out
    assert "6 sessions drawn with seed 3" in out and "tail (11 in)" in out and "ice house (7 in)" in out


def test_json_and_csv_say_the_same(file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All steps are in both; every key is in the table of DEVELOPERS.md, and no other is."""
    path = tmp_path / "steps.csv"
    command = ["lengths", file, "--sessions", "4", "--workers", "1", "--json", "--csv", str(path)]
    assert main([*command, "--track", "tail"]) == 0
    answer = json.loads(capsys.readouterr().out)
    (track,) = answer["tracks"]
    with path.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    assert [(float(row["at_least"]), int(row["cannot"]), int(row["moves"])) for row in rows] == [
        (step["at_least"], step["cannot"], step["moves"]) for step in track["steps"]
    ]
    table = DEVELOPERS.split("| key of `lengths --sessions` | type | meaning |\n")[1].split("\n\n")[0]
    keys = [*answer, *(f"tracks[].{key}" for key in track)]
    told = {key for line in table.splitlines()[1:] for key in re.findall(r"`([^`]+)`", line.split("|")[1])}
    assert told == set(keys)


def test_wrong_arguments(file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All at once, each with its cure."""
    spur = str(ROOT / "puzzles" / "first_spur.toml")
    assert main(["lengths", spur, "--sessions", "0", "--seed", "-1", "--track", "lead"]) == 2
    assert [line.split(": ")[0] for line in capsys.readouterr().err.splitlines()] == [
        "--sessions 0", "--sessions 0", "--seed -1", "--track lead",
    ]  # fmt: skip
    assert main(["lengths", file, "--seed", "2"]) == 2
    assert capsys.readouterr().err == "--seed: this goes with --sessions N; leave it out, or add that\n"
