"""``switchsolve session``: what it prints, its exit codes, its JSON."""

from __future__ import annotations

import json
import re
from contextlib import redirect_stdout
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest

from switchsolve.cli import codes, main
from switchsolve.cli.sessionbalance import needs_lines
from switchsolve.layout import Layout
from switchsolve.layoutfile import load_layout
from switchsolve.operating import Operation
from switchsolve.operating.alone import EachWay, each_way, per_session, unequal_ways
from switchsolve.operating.balancing import needs_of
from switchsolve.operating.results import Least
from switchsolve.study.pools import Here
from tests.tiny_layout import LAYOUT, write

ROOT = Path(__file__).parent.parent
_FLOAT = ("float 1", "float 2")
_RUN = ["--sessions", "2", "--seed", "4", "--workers", "1"]


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> tuple[int, str]:
    """The exit code and what the screen shows, with the changes compared; the page is written, too."""
    folder = tmp_path_factory.mktemp("small")
    path = write(folder)
    out = StringIO()
    with redirect_stdout(out):
        code = main(["session", str(path), *_RUN, "--what-if", "-o", str(folder / "page.html")])
    page = (folder / "page.html").read_text(encoding="utf-8")
    assert page.count("<svg") >= 3 and "Content-Security-Policy" in page and "one crew fewer" in page
    return code, out.getvalue()


def test_a_page_that_cannot_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A page by another ending, in no folder, or of one district alone, is refused before any work."""
    path = write(tmp_path)
    assert main(["session", str(path), "-o", "page.txt"]) == codes.USAGE
    assert "-o page.txt: name a file that ends in .html or .htm" in capsys.readouterr().err
    assert main(["session", str(path), "-o", "page.html", "--only", "nowhere"]) == codes.USAGE
    assert "-o: the page is of the whole layout; leave out --only" in capsys.readouterr().err
    assert main(["session", str(path), "-o", str(tmp_path / "none" / "page.html")]) == codes.USAGE
    assert "page.html: there is no such folder; make it, or name another" in capsys.readouterr().err


def test_a_page_that_cannot_be_written_costs_no_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder stands where the page is to be: the sessions are shown all the same, with code 2."""
    (tmp_path / "page.html").mkdir()
    code = main(["session", str(write(tmp_path)), *_RUN, "-o", str(tmp_path / "page.html")])
    shown = capsys.readouterr()
    assert code == codes.USAGE and "2 sessions, seed 4, 2 crews" in shown.out
    assert "page.html: it cannot be written (is a directory); name another file" in shown.err


def test_the_screen(printed: tuple[int, str]) -> None:
    """Within 80 columns: the sessions, crews, what binds, the train graph, sheets, the balance, what if."""
    code, text = printed
    assert code in (codes.OK, codes.STANDARD_SHORT)
    assert max(map(len, text.splitlines())) <= 80
    for words in (
        "2 sessions, seed 4, 2 crews: schedules: 2 proved the shortest.",
        "session  minutes  moves  spotted  picked up  waited  short  by hand",
        "crews          1      2      3      4      5      6",
        "What must follow each other takes",
        "By plain crews, one item at a time, it takes",
        "Trains, place by time",
        "Crews (y yard, - waits, . free):",
        "Yard, tenths of its tracks that are taken",
        "minutes of work",
        "By hand before a session:",
        "traffic asks for:",
        "one crew fewer",
    ):
        assert words in text, words


def test_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One object with every session, each entry within the session, and the crews' row."""
    main(["session", str(write(tmp_path)), *_RUN, "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert [one["number"] for one in answer["sessions"]] == [1, 2]
    for one in answer["sessions"]:
        assert one["outcome"] == "proved" and one["minutes"] == one["bound"]
        assert max(entry["end"] for entry in one["entries"]) == one["minutes"]
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = text.split("| key of `session` |")[1].split("\n\n")[0]
    keys = set(re.findall(r"`(?:sessions\[\]\.)?(\w+)`", told))
    assert {*answer, *answer["sessions"][0], *answer["sessions"][0]["entries"][0]} <= keys
    assert [row["crews"] for row in answer["crews"]] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--sessions", "0"], "--sessions 0: give 1 or more"),
        (["--seed", "-1"], "--seed -1: give 0 or more"),
        (["--workers", "0"], "--workers 0: give 1 or more"),
        (["--limit-seconds", "0"], "--limit-seconds 0: give a number above zero"),
        (["--show", "9", "--sessions", "2"], "--show 9: give the number of a session, 1 to 2"),
        (["--only", "Moon"], '--only Moon: there is no such district; name one of: Millbrook, Cask Lane'),
    ],
)
def test_wrong_arguments(
    more: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each is named with its cure; exit code 2."""
    assert main(["session", str(write(tmp_path)), *more]) == codes.USAGE
    assert says in capsys.readouterr().err


def test_a_broken_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 3, with every problem."""
    path = write(tmp_path, LAYOUT.replace("people = 2", "people = 0").replace("pace = 2", "pace = 0"))
    assert main(["session", str(path)]) == codes.BAD_FILE
    assert len(capsys.readouterr().err.splitlines()) == 2


def test_too_short_an_evening_and_nobody(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Longer than it may be: 13, with what clashes.  A train that nobody takes by that name: 3."""
    path = write(tmp_path, LAYOUT.replace("minutes = 90", "minutes = 5"))
    assert main(["session", str(path), *_RUN]) == codes.STANDARD_SHORT
    printed = capsys.readouterr().out
    assert "takes longer than 5 minutes. These clash" in printed
    assert "all is over after 5 minutes" in printed


def test_a_change_with_which_nothing_can_be_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without the one crew that may work the yard there is no session, and no minutes are told of it."""
    text = LAYOUT.replace('Birch = "all"', 'Birch = ["Lane job", "Millbrook turn"]')
    path = write(tmp_path, text.replace('without_crews = ["Birch"]', 'without_crews = ["Ash"]'))
    main(["session", str(path), *_RUN, "--what-if", "-o", str(tmp_path / "page.html")])
    lines = capsys.readouterr().out.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("one crew fewer"))
    assert lines[at].split()[3:5] == ["none", "none"]
    assert lines[at + 1] == "  (2 of 2 sessions cannot be run)"


def test_one_district_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Fed from its entrance: a line for each session with its moves and minutes."""
    code = main(["session", str(write(tmp_path)), *_RUN, "--only", "Cask Lane"])
    printed = capsys.readouterr().out
    assert code == codes.OK
    assert "Cask Lane alone, fed from its entrance" in printed
    assert len([line for line in printed.splitlines() if line[:7].strip().isdigit()]) == 2
    assert "It operates by itself: all work of 2 sessions is done, the longest in" in printed
    assert max(map(len, printed.splitlines())) <= 80


def test_a_district_that_does_not_operate_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In an evening of a minute its work takes too long, though all of it can be done."""
    path = write(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("minutes = 90", "minutes = 1"), encoding="utf-8")
    main(["session", str(path), *_RUN, "--only", "Cask Lane"])
    assert "By itself it takes too long: all work of 2 sessions is done" in capsys.readouterr().out


def test_an_interchange_by_two_crews() -> None:
    """Each float track has room for one car (7 in, cars of 6.2), so that two can be exchanged at the most,
    and without a limit of time they can: two each way, and one brought lets two be taken."""
    layout, here = load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml"), Here()
    place = layout.district("Ferry Slip")
    rail = place.puzzle.district
    room = sum(int(rail.track(name).length // min(place.puzzle.kinds.values())) for name in _FLOAT)
    rows = list(each_way(place, here, 2))
    assert [one.cars for one in rows if not one.worked.left_over] == [1, room] == [1, 2]
    _goes_on_for_a_session(layout, rows)
    unequal = list(unequal_ways(place, here, 2))
    assert [(one.cars, one.taken) for one in unequal] == [(1, 2), (2, 2)]
    assert all(one.worked.is_done and not one.worked.left_over for one in unequal)


def _goes_on_for_a_session(layout: Layout, rows: list[EachWay]) -> None:
    """Two crews by the clock: one at a time comes over the link, takes what the other one left and leaves as
    many, and goes; what either has taken by the end of the session is what is told, the best of the rows."""
    best = 0
    for row in rows:
        assert row.minutes is not None
        clock, crew, taken = 0, 0, [0, 0]
        while clock + 1 + row.minutes + 1 <= layout.minutes:  # the links to the slip last a minute
            taken[crew] += row.cars
            clock, crew = clock + 1 + row.minutes + 1, 1 - crew
        best = max(best, min(taken))
    most = per_session(rows, layout, "Ferry Slip")
    assert most is not None and most.cars == best == most.each * most.visits // 2
    assert per_session(rows, replace(layout, minutes=most.minutes), "Ferry Slip") is None


def test_how_little_would_do_on_the_screen() -> None:
    """A row for each thing, with its unit, within 80 columns; lengths of staging in the unit of the file."""
    layout = load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml")
    found = Operation(layout, 3, 20, needs=needs_of(layout, 3, 1))
    coast = Least("Coast", 230_000_000, 159_800_000, 120_800_000, 5, 17)
    found.leasts = (Least("yard", 3, 2, 1, 5, 9), coast)
    lines = list(needs_lines(found))
    assert max(map(len, lines)) < 80
    assert lines[-2].split() == ["yard", "3", "tracks", "2", "tracks", "1", "track", "9,", "not", "5"]
    assert lines[-1].split() == ["Coast", "230", "in", "159.8", "in", "120.8", "in", "17,", "not", "5"]
