"""Pictures in a notebook, and the notebook that goes with the project."""

from __future__ import annotations

import os
import sys
import xml.etree.ElementTree as ET
from base64 import b64decode
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import nbformat
import pytest
from IPython.core.interactiveshell import InteractiveShell
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

from switchsolve import notebook
from switchsolve.drawing import placed_at_start, standing_in_words, terminal_picture
from switchsolve.errors import DrawingError
from switchsolve.plan import Solution
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.solving import solve
from tests.test_drawing import hostile_puzzle

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
CLAIMS = {
    "a_tricky_spot_on_purpose": ("teaser == 6", "teaser == 3"),
    "facing_and_trailing": ("cask_lane_trailing", "cask_lane_facing"),
    "how_long_a_session_takes": ("share in (0.5, 0.9)", "share in (0.9, 0.9)"),
    "what_an_inch_buys": ("moves_with(11) == 14", "moves_with(12) == 14"),
}
"""Each notebook that makes a claim, with a change (a text, and what is put in its place) that belies it."""
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def facing() -> tuple[Puzzle, Solution]:
    """A puzzle of three moves, with its solution."""
    puzzle = load(ROOT / "puzzles" / "cask_lane_facing.toml")
    return puzzle, solve(puzzle)


@pytest.fixture
def shell() -> Iterator[Any]:
    """An IPython of our own."""
    yield InteractiveShell.instance()
    InteractiveShell.clear_instance()


def _vehicles(svg: str) -> list[str]:
    return [one.attrib["data-vehicle"] for one in ET.fromstring(svg).iter() if "data-vehicle" in one.attrib]


# -- pictures ----------------------------------------------------------------------------------------------


def test_a_puzzle_is_shown_at_its_start(facing: tuple[Puzzle, Solution]) -> None:
    """Every vehicle once, in letters as on a terminal, and in words as the standing reads."""
    puzzle, _ = facing
    picture = notebook.show(puzzle)
    assert sorted(_vehicles(picture.svg)) == sorted(puzzle.vehicles)
    assert picture.text == str(picture) == terminal_picture(puzzle)
    assert standing_in_words(puzzle, placed_at_start(puzzle)) in picture.words
    assert repr(picture).startswith("<Picture: Cask Lane")


def test_a_plan_is_a_filmstrip(facing: tuple[Puzzle, Solution]) -> None:
    """A solution and its plan are the same film: the start and each move, with its words."""
    puzzle, solution = facing
    assert solution.plan is not None
    film = notebook.show(puzzle, solution)
    assert film == notebook.show(puzzle, solution.plan)
    assert film.svg.count('class="frame"') == len(solution.plan.runs) + 1 == 4
    assert "At the start." in film.text and "3. S&I 5 forward from Lane lead" in film.text
    assert "3. S&I 5 forward from Lane lead" in film.words


def test_one_standing(facing: tuple[Puzzle, Solution]) -> None:
    """After a move it is that of the replay's frame; after none it is the start of the plan."""
    puzzle, solution = facing
    assert solution.plan is not None
    frames = replay(puzzle, solution.plan).frames
    pictures = [notebook.show(puzzle, solution, after=number) for number in range(4)]
    assert pictures[:3] == [notebook.show(puzzle, frame) for frame in frames[:3]]
    assert pictures[3] == notebook.show(puzzle, frames[-1])
    assert len({picture.svg for picture in pictures}) == 4
    assert standing_in_words(puzzle, frames[2].standing) in pictures[2].words


def test_even_tracks(facing: tuple[Puzzle, Solution]) -> None:
    """Tracks all alike make another picture of the same things."""
    puzzle, _ = facing
    even = notebook.show(puzzle, to_scale=False)
    assert even.svg != notebook.show(puzzle).svg
    assert sorted(_vehicles(even.svg)) == sorted(puzzle.vehicles)


def test_a_district_by_itself(facing: tuple[Puzzle, Solution]) -> None:
    """Every track, no vehicle, and no length, for a district does not know what it is measured in."""
    district = facing[0].district
    picture = notebook.show_district(district)
    tracks = [
        one.attrib["data-track"] for one in ET.fromstring(picture.svg).iter() if "data-track" in one.attrib
    ]
    assert sorted(tracks) == sorted(track.name for track in district.tracks)
    assert not _vehicles(picture.svg) and " in<" not in picture.svg
    assert all(track.name in picture.words for track in district.tracks)


def test_what_cannot_be_shown(facing: tuple[Puzzle, Solution]) -> None:
    """Each is refused with its cure: no plan, no such move, tables that may lie anyhow."""
    puzzle, solution = facing
    short = load(ROOT / "puzzles" / "cask_lane_short_tail.toml")
    with pytest.raises(DrawingError, match=r"no plan to show \(impossible\); show\(puzzle\) shows the start"):
        notebook.show(short, solve(short))
    for after in (4, -1):
        with pytest.raises(DrawingError, match=f"after={after}: the plan has 3 runs"):
            notebook.show(puzzle, solution, after=after)
    with pytest.raises(DrawingError, match="after=1: there is no plan to follow"):
        notebook.show(puzzle, after=1)
    assert solution.plan is not None
    with pytest.raises(DrawingError, match="after=1: a frame is one standing already"):
        notebook.show(puzzle, replay(puzzle, solution.plan).frames[1], after=1)
    table = load(ROOT / "puzzles" / "marrow_point_turntable.toml")
    turned = solve(table)
    assert turned.plan is not None
    with pytest.raises(DrawingError, match="a frame does not say how tables lie"):
        notebook.show(table, replay(table, turned.plan).frames[1])


def test_tables_lie_as_the_plan_has_them() -> None:
    """After a move that lined the table its bridge is drawn to another track than at the start."""
    puzzle = load(ROOT / "puzzles" / "marrow_point_turntable.toml")
    solution = solve(puzzle)
    bridges = {
        one.attrib["d"]
        for after in range(4)
        for one in ET.fromstring(notebook.show(puzzle, solution, after=after).svg).iter()
        if "data-bridge" in one.attrib
    }
    assert len(bridges) > 1


# -- in IPython --------------------------------------------------------------------------------------------


class _Images(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[dict[str, str | None]] = []
        self.tags: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.found.append(dict(attrs))


def test_a_picture_shows_itself(shell: Any, facing: tuple[Puzzle, Solution]) -> None:
    """IPython gets an image that holds the SVG and tells it in words, and the picture in letters."""
    picture = notebook.show(*facing)
    shown, _ = shell.display_formatter.format(picture)
    assert set(shown) == {"text/html", "text/plain"}
    assert shown["text/plain"] == picture.text
    images = _Images(shown["text/html"])
    assert images.tags == ["img"]
    assert b64decode((images.found[0]["src"] or "").partition(",")[2]).decode("utf-8") == picture.svg
    assert images.found[0]["alt"] == picture.words


def test_puzzles_and_districts_show_themselves_once_enabled(
    shell: Any, facing: tuple[Puzzle, Solution]
) -> None:
    """Before they have no picture; afterwards they show what ``show`` makes of them."""
    puzzle, _ = facing
    assert "text/html" not in shell.display_formatter.format(puzzle)[0]
    notebook.enable()
    for thing, picture in (
        (puzzle, notebook.show(puzzle)),
        (puzzle.district, notebook.show_district(puzzle.district)),
    ):
        shown, _ = shell.display_formatter.format(thing)
        assert shown == shell.display_formatter.format(picture)[0]


def test_hostile_names_stay_in_the_image(shell: Any) -> None:
    """Whatever names hold, what reaches the notebook is one image with its words."""
    picture = notebook.show(hostile_puzzle())
    images = _Images(shell.display_formatter.format(picture)[0]["text/html"])
    assert images.tags == ["img"] and set(images.found[0]) == {"src", "alt", "style"}
    assert images.found[0]["alt"] == picture.words


def test_enable_needs_a_notebook(monkeypatch: pytest.MonkeyPatch) -> None:
    """Outside IPython, and without it, it says what to do instead."""
    InteractiveShell.clear_instance()
    with pytest.raises(DrawingError, match=r"no notebook, nor IPython; print\(notebook.show\(puzzle\)\)"):
        notebook.enable()
    monkeypatch.setitem(sys.modules, "IPython", None)
    with pytest.raises(DrawingError, match="no notebook"):
        notebook.enable()


# -- the notebooks of the project --------------------------------------------------------------------------


def _run(path: Path, instead: tuple[str, str] = ("", "")) -> Any:
    """The notebook executed by a kernel of its own; ``instead``: a text, and what is put in its place."""
    book = nbformat.read(path, as_version=4)
    for cell in book.cells:
        if cell.cell_type == "code" and instead[0]:
            cell.source = cell.source.replace(*instead)
    client = NotebookClient(book, timeout=300, resources={"metadata": {"path": str(path.parent)}})
    client.execute(env={**os.environ, "PYTHONPATH": str(ROOT)})
    return book


def test_there_are_notebooks() -> None:
    """There is something to execute."""
    assert [path.stem for path in NOTEBOOKS] == sorted([*CLAIMS, "first_look"])


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_outputs_are_stripped(path: Path) -> None:
    """The committed file has no output, no count, and is a valid notebook; its last cell asserts."""
    book = nbformat.read(path, as_version=4)
    nbformat.validate(book)
    code = [cell for cell in book.cells if cell.cell_type == "code"]
    assert code and all(cell.outputs == [] and cell.execution_count is None for cell in code)
    assert book.cells[0].source.startswith("# ")
    assert book.cells[-1].cell_type == "code" and "\nassert " in book.cells[-1].source


def test_the_first_look() -> None:
    """It runs to its end: the puzzle, the plan and one standing are images, and the claim holds."""
    path = ROOT / "notebooks" / "first_look.ipynb"
    code = [cell for cell in _run(path).cells if cell.cell_type == "code"]
    images = [
        output.data["text/html"]
        for cell in code
        for output in cell.outputs
        if "text/html" in output.get("data", {})
    ]
    assert len(images) == 4 and all(
        image.startswith('<img src="data:image/svg+xml;base64,') for image in images
    )
    texts = [output.text for cell in code for output in cell.outputs if output.output_type == "stream"]
    assert texts == ["proved minimum 3\n", "3 moves, and 2 the other way round\n"]


def test_the_claim_of_the_first_look_can_fail() -> None:
    """With the same spur both times the last cell stops it."""
    path = ROOT / "notebooks" / "first_look.ipynb"
    with pytest.raises(CellExecutionError, match="AssertionError"):
        _run(path, instead=("cask_lane_trailing", "cask_lane_facing"))


@pytest.mark.parametrize("name", CLAIMS)
def test_the_claims_hold(name: str) -> None:
    """Each notebook runs to its end, with a picture of a district on the way."""
    outputs = [output for cell in _run(ROOT / "notebooks" / f"{name}.ipynb").cells if cell.cell_type == "code"
               for output in cell.outputs]  # fmt: skip
    assert any("<img" in output.get("data", {}).get("text/html", "") for output in outputs)


@pytest.mark.slow
@pytest.mark.parametrize("name", CLAIMS)
def test_the_claims_can_fail(name: str) -> None:
    """Changed so that the claim is not true, each notebook is stopped by its last cell."""
    with pytest.raises(CellExecutionError, match="AssertionError"):
        _run(ROOT / "notebooks" / f"{name}.ipynb", instead=CLAIMS[name])
