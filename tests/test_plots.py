"""Plots: what they show is in the figures, the same figures give the same bytes, and the cure is told."""

from __future__ import annotations

import struct
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from scipy import stats

from switchsolve.cli import main
from switchsolve.cli.plots import comparison_panels, study_panels
from switchsolve.comparing import cases_of, compare
from switchsolve.plotting import Bars, Heights, Panel, Shares, Spans, plot, sheet
from switchsolve.study import Pace, Tally, play
from tests.traffic_files import LANE, lane

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def file(tmp_path: Path) -> str:
    """The small district as a file."""
    path = tmp_path / "lane.toml"
    path.write_text(LANE, encoding="utf-8")
    return str(path)


def _words(path: Path) -> list[str]:
    """Every word that stands in an SVG."""
    return ["".join(one.itertext()).strip() for one in ElementTree.parse(path).iter(f"{SVG}text")]


def test_a_study_is_plotted_with_its_figures(file: str, tmp_path: Path) -> None:
    """The sheet has title, seed, and the three panels; written again by another run it is the same, byte for
    byte, and holds no date."""
    args = ["study", file, "--sessions", "12", "--seed", "3", "--workers", "1", "--plot"]
    first, second = tmp_path / "first.svg", tmp_path / "second.svg"
    assert main([*args, str(first)]) == main([*args, str(second)]) == 0
    assert first.read_bytes() == second.read_bytes()
    text = first.read_text(encoding="utf-8")
    assert "<dc:date>" not in text and "<script" not in text
    words = " ".join(_words(first))
    for said in ("Cask Lane: two spurs", "12 sessions, seed 3", "a plain crew", "minutes", "nine in ten"):
        assert said in words


def test_a_png_has_the_size_of_its_panels(file: str, tmp_path: Path) -> None:
    """PNG by the signature and header of the standard (ISO/IEC 15948): 8 inches wide at 150 dots an inch."""
    path = tmp_path / "plot.png"
    assert main(["study", file, "--sessions", "5", "--workers", "1", "--plot", str(path)]) == 0
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", head[16:24]) == (1200, round((3 * 3.2 + 0.5) * 150))


def test_the_panels_hold_what_the_rows_say() -> None:
    """Bars are the rows counted once more; shares are the seconds; spans by session of the season are what
    scipy says of the same rows."""
    tally = Tally()
    rows = [one.row for one in play(lane(), 30, 3, workers=1)]
    for row in rows:
        tally.add(row)
    moves, minutes, seasons = (panel.shown for panel in study_panels(tally))
    assert isinstance(moves, Bars) and isinstance(minutes, Shares) and isinstance(seasons, Spans)
    assert moves.series[0].counts == Counter(row.moves for row in rows)
    assert minutes.high.counts == Counter(row.most_seconds for row in rows if row.most_seconds is not None)
    assert set(seasons.values) == set(range(1, 11))
    for number, (least, half, nine, most) in seasons.values.items():
        figures = np.array([row.moves for row in rows if row.session == number], float)
        assert (least, most) == (min(figures), max(figures))
        for value, share in ((half, 0.5), (nine, 0.9)):
            assert value == stats.quantile(figures, share, method="inverted_cdf")


def test_a_comparison_is_plotted_by_its_differences(tmp_path: Path) -> None:
    """The bars are the sessions by how many moves more; those that take as many are marked; and the words
    count all three sorts."""
    longer = lane(('"Ice turnout diverging", length = 7', '"Ice turnout diverging", length = 12'))
    shorter = lane(("length = 11 }", "length = 12 }"))
    found = compare(cases_of([("a.toml", lane()), ("b.toml", longer), ("c.toml", shorter)]), 12, 2, workers=1)
    panels = comparison_panels(found)
    assert len(panels) == 2
    for panel, one in zip(panels, found.differences, strict=True):
        assert isinstance(panel.shown, Bars) and panel.shown.marked == {0}
        assert panel.shown.series[0].counts == one.moves
        assert f"as many in {one.moves[0]}" in panel.across
    plot("Two", panels, tmp_path / "two.svg")
    assert any('"b" against "a"' in word for word in _words(tmp_path / "two.svg"))


def test_curves_rise_as_scipy_says(tmp_path: Path) -> None:
    """The steps of the share at or under a figure are those of scipy's empirical distribution."""
    figures = [60, 60, 120, 300, 600]
    across, up = sheet._curve(Heights("low", Counter(figures)), 60)
    found = stats.ecdf(figures).cdf
    assert across[1:] == [quantile / 60 for quantile in found.quantiles]
    assert up[1:] == pytest.approx([100 * share for share in found.probabilities])


def test_names_are_plain_words(tmp_path: Path) -> None:
    """Signs that mean something to the plotting library, or to XML, come out as they went in."""
    name = "Cider $x^2$ & <ice> _{n}"
    path = tmp_path / "plot.svg"
    plot(name, [Panel(name, name, name, Bars((Heights(name, {1: 2}), Heights("b", {2: 1}))))], path)
    assert _words(path).count(name) == 5


def test_nothing_to_plot_is_said(tmp_path: Path) -> None:
    """A study without any plan has one panel, which says so."""
    tally = Tally(sessions=2)
    (panel,) = study_panels(tally)
    assert panel.shown is None and panel.note == "2 sessions, and no plan for any of them."
    plot("Nothing", [panel], tmp_path / "nothing.svg")
    assert panel.note in _words(tmp_path / "nothing.svg")


def test_what_cannot_be_plotted_is_told_before_the_work(
    file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another ending, a folder that is not there, no package: exit code 2 with the cure, and no session."""
    for path, says in (
        ("plot.pdf", "--plot plot.pdf: name a file that ends in .svg or .png\n"),
        ("/nowhere/plot.svg", "--plot /nowhere/plot.svg: there is no folder /nowhere; make it, or name"),
    ):
        assert main(["study", file, "--sessions", "1000000", "--plot", path]) == 2
        assert says in capsys.readouterr().err
    monkeypatch.setattr(sheet, "find_spec", lambda _: None)
    assert main(["study", file, "--sessions", "1000000", "--plot", str(tmp_path / "plot.svg")]) == 2
    assert "plots need another package; pip install 'switchsolve[plots]'" in capsys.readouterr().err


def test_a_plot_that_cannot_be_written_keeps_the_answer(
    file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder in the place of the file: exit code 2, but the figures were printed."""
    place = tmp_path / "plot.svg"
    place.mkdir()
    assert main(["study", file, "--sessions", "3", "--workers", "1", "--plot", str(place)]) == 2
    printed = capsys.readouterr()
    assert "3 sessions, seed 1" in printed.out
    assert f"--plot {place}: it cannot be written (is a directory); name another file" in printed.err


# -- time left -------------------------------------------------------------------------------------------


def test_time_left_is_by_what_had_to_be_solved() -> None:
    """300 sessions known from a file say nothing; then one in two seconds each: 100 left are 200
    seconds, which are 3 minutes; and no span is told finer than it is known."""
    now = [0.0]
    pace = Pace(lambda: now[0])
    now[0] = 2
    assert pace.left(300, 500, 0) == "time left not known yet"
    now[0] = 2 + 100 * 2
    assert pace.left(400, 500, 100) == "about 3 minutes left"
    assert pace.left(499, 500, 199) == "about 1 second left"
    now[0] = 2 + 100 * 600
    assert pace.left(400, 500, 100) == "about 17 hours left"
    assert pace.left(490, 500, 190) == "about 53 minutes left"
