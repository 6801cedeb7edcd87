"""``switchsolve yard`` at the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, BEST_FOUND, GAVE_UP, IMPOSSIBLE, OK, USAGE

PUZZLES = Path(__file__).parent.parent / "puzzles"
CUT = PUZZLES / "marrow_point_cut.toml"


def _flat(text: str) -> str:
    return " ".join(text.split())


def test_a_cut_by_its_blocks(capsys: pytest.CaptureFixture[str]) -> None:
    """The train of 7 cars in print: 4 tracks drawn from (proved); so many passes over two tracks."""
    assert main(["yard", "--cut", "1, 6, 3 5 4 9 2", "--blocks", "1,2,3,4,5,6,9", "--tracks", "2"]) == OK
    out = capsys.readouterr().out
    assert "4 through tracks or 3 stubs at the fewest (proved)" in _flat(out)
    assert "With 2 tracks: 2 passes at the fewest (proved)." in out
    assert "pass 2, pulled 1: 1, 2, 3, 4\n" in out
    assert max(map(len, out.splitlines())) <= 80


def test_one_pass_in_any_order(capsys: pytest.CaptureFixture[str]) -> None:
    """Marshalling in print (value K = 4): so many tracks, and each car is on one of them."""
    assert main(["yard", "--cut", "A D C E B A D C E B A", "--tracks", "4"]) == OK
    out = capsys.readouterr().out
    assert "tracks pulled whole: 4 tracks at the fewest (proved)" in out
    assert "With 4 tracks: in 1 pass (proved)." in out
    on_tracks = [line.split(": ")[1].split(", ") for line in out.splitlines() if line.startswith("  pulled")]
    assert sorted(car for cars in on_tracks for car in cars) == sorted("ADCEBADCEBA")


@pytest.mark.parametrize(
    ("cut", "tracks", "told"),
    [("A B A", "1", "With 1 track: never"), ("A A B", "1", "With 1 track: as it stands (proved)")],
)
def test_one_track(cut: str, tracks: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    """One track changes no order; a cut in blocks needs no pass."""
    assert main(["yard", "--cut", cut, "--tracks", tracks]) == OK
    assert told in capsys.readouterr().out


def test_a_search_not_finished_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """Where the number of stubs is not decided, nothing is called proved of it."""
    cars = " ".join(str(37 * car % 101) for car in range(100))
    order = " ".join(map(str, sorted(37 * car % 101 for car in range(100))))
    assert main(["yard", "--cut", cars, "--blocks", order]) == OK
    out = _flat(capsys.readouterr().out)
    assert "through tracks at the fewest (proved); stubs: not decided after" in out


def test_a_yard_in_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    """The file's tracks by their lengths, then the moves on the lead, proved over all orders."""
    assert main(["yard", str(CUT)]) == OK
    out = capsys.readouterr().out
    flat = _flat(out)
    assert "The cut, from the locomotive: QLV 214, THB 12, QLV 377, OXCC 7, THB 640." in flat
    assert "On track 1 34 in, track 2 26 in, caboose track 14 in: 1 pass (proved)." in flat
    assert "On the lead, blocks in any order: 8 moves at the fewest (proved)." in flat
    assert "  8  S&I 5 forward" in out


def test_no_name_is_folded(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A line ends behind a name, not in it."""
    text = CUT.read_text(encoding="utf-8").replace("QLV 377", "QLV 377 of the cider works")
    file = tmp_path / "long_names.toml"
    file.write_text(text, encoding="utf-8")
    main(["yard", str(file), "--blocks", "THB OXCC QLV", "--limit-seconds", "0.000001"])
    out = capsys.readouterr().out
    assert "QLV 377 of the cider works" in out and max(map(len, out.splitlines())) <= 80


def test_a_proof_that_is_stopped(capsys: pytest.CaptureFixture[str]) -> None:
    """With no time, the answer is a bound, by its exit code too."""
    code = main(["yard", str(CUT), "--blocks", "THB OXCC QLV", "--limit-seconds", "0.000001"])
    assert code in (GAVE_UP, BEST_FOUND)
    assert "not under" in _flat(capsys.readouterr().out)


def test_a_yard_too_short(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With tracks that hold no car there are no passes and no moves, and both are said."""
    text = CUT.read_text(encoding="utf-8")
    for length in ("34 }", "26 }", "14 }"):
        text = text.replace(f"length = {length}", "length = 1 }")
    file = tmp_path / "short.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["yard", str(file), "--blocks", "THB OXCC QLV"]) == IMPOSSIBLE
    flat = _flat(capsys.readouterr().out)
    assert "no way in 4 passes or less (proved)" in flat
    assert "On the lead, blocks in the order given: impossible (proved)." in flat


def test_a_file_that_is_no_yard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Key, value, what and cure are named; so for blocks that are not those of the cut."""
    file = PUZZLES / "marrow_point_make_up.toml"
    assert main(["yard", str(file)]) == BAD_FILE
    told = f"{file}: start.Point lead = S&I 5: no cut stands at the locomotive; put the cars next to it\n"
    assert capsys.readouterr().err == told
    assert main(["yard", str(CUT), "--blocks", "QLV"]) == BAD_FILE
    err = capsys.readouterr().err
    assert "blocks = QLV: the blocks of the cut are QLV, THB, OXCC; name each of them once" in err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "give a FILE whose locomotive stands with a cut, or --cut"),
        ([str(CUT), "--cut", "A B"], "one of them"),
        (["--cut", " "], "name the block of each car"),
        (["--cut", "A B", "--tracks", "0"], "--tracks 0: give one track at least"),
        ([str(CUT), "--tracks", "2"], "--tracks 2: the file says which tracks there are; leave it out"),
        ([str(CUT), "--limit-seconds", "0"], "--limit-seconds 0: give a time above zero"),
        (["--cut", "A B A", "--blocks", "A"], "the blocks of the cut are A, B; name each of them once"),
    ],
)
def test_wrong_arguments(arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each is refused with its cure."""
    assert main(["yard", *arguments]) == USAGE
    assert told in capsys.readouterr().err
