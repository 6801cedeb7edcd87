"""The table kit: true lengths on paper, sheets that cover everything, and print that keeps its size."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from itertools import pairwise
from math import atan, atan2, degrees, dist, pi
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, OK, USAGE
from switchsolve.drawing import Box
from switchsolve.kit import PAPERS, Paper, Sizes, kit_html, why_no_kit
from switchsolve.kit.cutouts import Piece, rows_of, rulers, vehicle_pieces
from switchsolve.kit.ground import ground_of
from switchsolve.kit.paper import OVERLAP, Tile, tiles_of
from switchsolve.kit.turnouts import turnout_pieces
from switchsolve.puzzlefile import dumps, load, loads
from tests.files import puzzle_files
from tests.test_drawing import hostile_puzzle

ROOT = Path(__file__).parent.parent
PUZZLES = puzzle_files()
SPUR = ROOT / "puzzles" / "first_spur.toml"
QUARRY = ROOT / "puzzles" / "quarry_hill_three.toml"
MM = {"in": 25.4, "mm": 1.0, "cm": 10.0, "ft": 304.8}
"""International inch and foot: 25.4 mm and 304.8 mm exactly (ISO 80000-3)."""
POINT = 25.4 / 72
"""A point of a PDF page, in millimeters (ISO 32000-1: 1/72 in)."""


def _wrapped(svg: str) -> ET.Element:
    return ET.fromstring(f"<svg>{svg}</svg>")


def _lines(root: ET.Element, kind: str) -> list[list[tuple[float, float]]]:
    found = []
    for line in root.iter("polyline"):
        if line.get("class") in kind.split():
            pairs = [pair.split(",") for pair in line.get("points", "").split()]
            found.append([(float(x), float(y)) for x, y in pairs])
    return found


# -- sizes -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PUZZLES, ids=lambda path: path.stem)
def test_tracks_have_their_true_length(path: Path) -> None:
    """Track by track, the heavy line is level and as many millimeters long as the file says, to a tenth;
    lanes are whole track centers apart."""
    puzzle = load(path)
    sizes = Sizes.of(puzzle)
    lines = _lines(_wrapped(ground_of(puzzle, sizes).svg), "track closed")
    parts = [part.length for track in puzzle.district.tracks for part in track.parts]
    assert len(lines) == len(parts)
    for line, length in zip(lines, parts, strict=True):
        (ax, ay), (bx, by) = line
        assert abs(ay - by) < 0.01
        assert abs(bx - ax) == pytest.approx(length / puzzle.grid * MM[puzzle.unit], abs=0.11)
    heights = sorted({round(line[0][1], 2) for line in lines})
    for one, other in pairwise(heights):
        lanes = (other - one) / sizes.centers
        assert lanes == pytest.approx(round(lanes), abs=0.02) and round(lanes) >= 1


@pytest.mark.parametrize("path", PUZZLES, ids=lambda path: path.stem)
def test_ways_through_junctions_have_their_true_length(path: Path) -> None:
    """Route by route, the thin line is as many millimeters long, along its slant, as the file says, to half a
    millimeter; ways that begin at the same points begin at one place of the sheet."""
    puzzle = load(path)
    sizes = Sizes.of(puzzle)
    lines = _lines(_wrapped(ground_of(puzzle, sizes).svg), "leg")
    routes = [(junction, route) for junction in puzzle.district.junctions for route in junction.routes]
    starts: dict[tuple[str, str], set[tuple[float, float]]] = {}
    for line, (junction, route) in zip(lines[: len(routes)], routes, strict=True):
        mm = route.length / puzzle.grid * MM[puzzle.unit]
        assert sum(dist(a, b) for a, b in pairwise(line)) == pytest.approx(mm, abs=0.5)
        if junction.kind == "turnout":
            starts.setdefault((junction.name, "points"), set()).add(line[0])
    assert all(len(places) == 1 for places in starts.values())


def test_track_centers_are_those_of_the_file() -> None:
    """They are read, kept when the file is written, and used; without them a stated guess is."""
    puzzle = load(QUARRY)
    assert puzzle.track_centers == 32 * puzzle.grid and loads(dumps(puzzle)) == puzzle
    assert Sizes.of(puzzle).centers == pytest.approx(32) and Sizes.of(puzzle).is_told
    bare = loads(dumps(puzzle).replace("track_centers = 32", ""))
    assert bare.track_centers is None and not Sizes.of(bare).is_told
    assert "gives no track centers" in kit_html(bare, PAPERS["a4"])


@pytest.mark.parametrize("path", PUZZLES, ids=lambda path: path.stem)
def test_turnouts_to_cut_out_have_their_true_length(path: Path) -> None:
    """Every route of every junction is a leg, measured along its line to a tenth of a millimeter; the end of
    a diverging one lies the track centers from the other, or turns away by 30 degrees."""
    puzzle = load(path)
    sizes = Sizes.of(puzzle)
    texts = [piece.svg for piece in turnout_pieces(puzzle, sizes, 10_000)]
    legs = [line for text in texts for line in _lines(_wrapped(text), "track")]
    measured = sorted({round(sum(dist(a, b) for a, b in pairwise(leg)), 1) for leg in legs})
    told = {route.length for junction in puzzle.district.junctions for route in junction.routes}
    mm = sorted(length / puzzle.grid * MM[puzzle.unit] for length in told)
    assert all(any(abs(one - other) < 0.11 for other in measured) for one in mm)
    assert all(any(abs(one - other) < 0.11 for other in mm) for one in measured)
    for leg in legs:
        (x0, y0), (x1, y1) = leg[-2:]
        assert y1 in (0, pytest.approx(sizes.centers, abs=0.01)) or atan2(y1 - y0, x1 - x0) == pytest.approx(
            pi / 6
        )


def test_a_turnout_by_number_comes_out_at_its_frog_angle() -> None:
    """A no. 4 diverges by 2 atan(1/8), 14.25 degrees (as :mod:`switchsolve.scales` has it, from textbooks of
    railroad engineering), and both its legs end at the same height, to a degree and two millimeters."""
    puzzle = load(ROOT / "puzzles" / "design_boat_yard.toml")
    sizes = Sizes.of(puzzle)
    (piece,) = turnout_pieces(puzzle, sizes, 10_000)
    straight, diverging = _lines(_wrapped(piece.svg), "track")
    (x0, y0), (x1, y1) = diverging[-2:]
    assert degrees(atan2(y1 - y0, x1 - x0)) == pytest.approx(degrees(2 * atan(1 / 8)), abs=1)
    assert x1 == pytest.approx(straight[-1][0], abs=2)


def test_vehicles_have_their_true_length() -> None:
    """A 40 ft box car of 44 ft 2 1/2 in is 6.091 in long in HO (304.8/3.5), and 0.1 in of allowance more:
    157.25 mm; a longer one is cut out in parts that come to the same."""
    puzzle = load(SPUR)
    sizes = Sizes.of(puzzle)
    pieces = vehicle_pieces(puzzle, sizes, 250)
    lengths = [float(str(rect.get("width"))) for piece in pieces for rect in _wrapped(piece.svg).iter("rect")]
    assert lengths == [pytest.approx(157.25, abs=0.03), pytest.approx(5.6 * 25.4, abs=0.001)]
    assert [piece.width for piece in pieces] == pytest.approx(lengths, abs=0.001)
    parts = vehicle_pieces(puzzle, sizes, 100)
    assert len(parts) == 4 and sum(piece.width for piece in parts) == pytest.approx(sum(lengths), abs=0.01)
    assert "(1 of 2)" in parts[0].svg and "(2 of 2)" in parts[1].svg


def test_rulers_are_marked_in_cars_and_in_the_unit() -> None:
    """Upper marks every inch, lower ones every car; together as long as the longest track that is no
    entrance."""
    puzzle = load(SPUR)
    strips = rulers(puzzle, Sizes.of(puzzle), 200.0)
    assert sum(strip.width for strip in strips) >= 18 * 25.4
    places: dict[str, list[float]] = {"top": [], "car": []}
    for number, strip in enumerate(strips):
        for x, y in re.findall(r'class="mark" d="M([\d.]+) ([\d.]+)v', strip.svg):
            places["top" if float(y) == 0 else "car"].append(200 * number + float(x))
    assert places["top"] == pytest.approx([25.4 * (n + 1) for n in range(len(places["top"]))], abs=0.01)
    car = puzzle.cars[0].length / puzzle.grid * 25.4
    assert len(places["car"]) == 3
    assert places["car"] == pytest.approx([car * (n + 1) for n in range(3)], abs=0.01)


def test_a_file_in_cars_has_no_size(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing tells how long a car is: refused with file, key, value and cure."""
    text = dumps(load(SPUR)).replace('unit = "in"', 'unit = "car"').replace("allowance = 0.1\n", "")
    file = tmp_path / "cars.toml"
    file.write_text(text, encoding="utf-8")
    assert why_no_kit(load(file)) is not None
    assert main(["kit", str(file), "-o", str(tmp_path / "out.html")]) == BAD_FILE
    told = capsys.readouterr().err
    assert f"{file}: unit = car" in told and "in, mm, cm or ft" in told
    with pytest.raises(ValueError, match="how long a car is"):
        Sizes.of(load(file))


# -- sheets ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS.values(), ids=lambda paper: paper.name)
def test_tiles_cover_all_rail(paper: Paper) -> None:
    """Each point of each line lies on a sheet; neighbors share the overlap; empty sheets are left out."""
    puzzle = load(ROOT / "puzzles" / "millbrook_turn.toml")
    ground = ground_of(puzzle, Sizes.of(puzzle))
    tiles = tiles_of(ground.width, ground.height, paper, ground.things)
    points = [point for line in _lines(_wrapped(ground.svg), "leg track closed") for point in line]
    for x, y in points:
        assert any(
            tile.box.left <= x <= tile.box.right and tile.box.top <= y <= tile.box.bottom for tile in tiles
        )
        assert 0 <= x <= ground.width and 0 <= y <= ground.height
    for one, other in pairwise(tiles):
        if one.row == other.row and one.column + 1 == other.column:
            assert one.box.right - other.box.left == pytest.approx(OVERLAP)
    far = tiles_of(3000, 100, paper, [Box(0, 0, 1, 1), Box(2900, 0, 2999, 1)])
    assert len(far) < 5 and far[0].name == "A1"


def test_names_of_rows() -> None:
    """A to Z, then AA."""
    box = Box(0, 0, 1, 1)
    assert [Tile(row, 0, box).name for row in (0, 25, 26, 27)] == ["A1", "Z1", "AA1", "AB1"]


def test_pieces_do_not_overlap() -> None:
    """In rows within the sheet, and on another sheet when one is full."""
    pieces = [Piece("", 40, 10) for _ in range(30)]
    sheets = rows_of(pieces, 100, 60)
    assert sum(map(len, sheets)) == 30 and len(sheets) == 4
    for sheet in sheets:
        boxes = [Box(x, y, x + piece.width, y + piece.height) for x, y, piece in sheet]
        assert all(box.within(Box(0, 0, 100, 60)) for box in boxes)
        assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_hostile_names_are_escaped() -> None:
    """Names may hold any text: the page is well formed, and holds no script."""
    text = kit_html(hostile_puzzle(), PAPERS["letter"])
    assert "<script" not in text and "\x00" not in text
    assert "&lt;" in text
    for svg in re.findall(r"<svg class=\"page\".*?\n</svg>", text, re.DOTALL):
        ET.fromstring(svg)


# -- in a browser ------------------------------------------------------------------------------------


def _printed(html: str, folder: Path) -> Path:
    """The PDF that a browser prints."""
    for tool, package in (("chromium", "chromium"), ("pdftoppm", "poppler-utils")):
        if shutil.which(tool) is None:
            (pytest.fail if os.environ.get("CI") else pytest.skip)(f"no {tool}: apt-get install {package}")
    (folder / "kit.html").write_text(html, encoding="utf-8")
    command = [
        *("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"),
        f"--user-data-dir={folder / 'profile'}",
        f"--print-to-pdf={folder / 'kit.pdf'}",
        str(folder / "kit.html"),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return folder / "kit.pdf"


def _longest_dark_run(pdf: Path, page: int, top: float, bottom: float) -> float:
    """The longest dark line across one page, millimeters, between two heights, drawn at 10 dots to one."""
    command = ["pdftoppm", "-gray", "-r", "254", "-f", str(page), "-l", str(page), str(pdf)]
    data = subprocess.run(command, check=True, capture_output=True, timeout=120).stdout
    found = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    assert found is not None
    width, pixels = int(found[1]), data[found.end() :]
    rows = (pixels[row * width : (row + 1) * width] for row in range(int(top * 10), int(bottom * 10)))
    return max(len(run) for row in rows for run in re.findall(rb"[\x00-\x80]+", row) or [b""]) / 10


@pytest.mark.parametrize("name", PAPERS)
def test_print_keeps_the_size(name: str, tmp_path: Path) -> None:
    """Printed by a browser each sheet is one page of the paper, the bar is 100 mm long, and the first car as
    long as its model: measured on the page, drawn at ten dots to a millimeter."""
    html = kit_html(load(SPUR), PAPERS[name])
    pdf = _printed(html, tmp_path)
    data = pdf.read_bytes()
    sizes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", data)
    paper = PAPERS[name]
    for wide, high in sizes:
        assert float(wide) * POINT == pytest.approx(paper.width, abs=0.4)
        assert float(high) * POINT == pytest.approx(paper.height, abs=0.4)
    assert len(re.findall(rb"/Type\s*/Page\b", data)) == html.count('<svg class="page"')
    bar = paper.window.bottom + 9
    assert _longest_dark_run(pdf, 1, bar - 0.3, bar + 0.3) == pytest.approx(100, abs=0.25)
    names = re.findall(r'<svg class="page"[^>]*aria-label="([^"]*)"', html)
    page, top = names.index("Cars and locomotives to cut out") + 1, paper.window.top
    car = load(SPUR).cars[0].length / 1_000_000 * 25.4
    line = 0.25  # half of it lies outside of the car at either end
    measured = _longest_dark_run(pdf, page, top - 0.3, top + 0.3)
    assert measured == pytest.approx(car + line, abs=0.25)


def test_the_command_writes_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Letter unless A4 is asked for; a name that is no page is refused, as is a place that cannot be had."""
    out = tmp_path / "kit.html"
    assert main(["kit", str(SPUR), "-o", str(out)]) == OK and "279.4mm" in out.read_text(encoding="utf-8")
    assert main(["kit", str(SPUR), "-o", str(out), "--paper", "a4"]) == OK
    assert "297.0mm" in out.read_text(encoding="utf-8")
    assert main(["kit", str(SPUR), "-o", str(tmp_path / "kit.pdf")]) == USAGE
    assert main(["kit", str(SPUR), "-o", str(tmp_path / "none" / "kit.html")]) == USAGE
    told = capsys.readouterr()
    assert not told.out and ".html" in told.err and "there is no such folder; make it" in told.err
