"""The crew's paper: what the two sheets say, that it is true of the file, and how they print."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from base64 import b64decode, b64encode
from collections import Counter
from hashlib import sha256
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, GAVE_UP, IMPOSSIBLE, OK, USAGE
from switchsolve.drawing import draw, make_scene, placed_at_start
from switchsolve.paper import paper_html
from switchsolve.paper.picture import MOST_WIDE, ground_of, strips_of
from switchsolve.paper.sides import direction_text, end_text, is_from_left, rank_text
from switchsolve.paper.standing_rules import standing_rules
from switchsolve.paper.worklist import Row, Section, Sign, locomotive_rows, sections_of, train_texts
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load, loads
from switchsolve.referee import replay
from switchsolve.solving import solve
from switchsolve.words import move_texts
from tests.drawn import DISTRICTS
from tests.files import puzzle_files

ROOT = Path(__file__).parent.parent
PUZZLES = puzzle_files()
VOID = {"meta", "link", "col", "input", "img"}

WHARF = """
unit = "in"
[tracks]
lead = { from = "entrance", to = "T points", length = 60 }
dock = { from = "T straight", parts = [{ length = 10, name = "apron" }, { length = 20 }], spots = 3 }
pier = { from = "T diverging", length = 40 }
[turnouts]
T = { length = 4 }
[kinds]
box = 5
tank = 6
[cars]
"QLV 1" = "box"
"QLV 2" = "box"
"QLV 3" = "box"
"THB 4" = "tank"
"THB 5" = "tank"
"OXCC 6" = { kind = "tank", dead_locomotive = true }
[locomotives]
"S&I 5" = { length = 5.5, heads = "to", under_way = "from" }
[start]
lead = ["QLV 1", "QLV 2", "S&I 5", "THB 4"]
dock = ["QLV 3", "|", "THB 5 @ 3"]
pier = ["OXCC 6"]
"""
WORK = """
[work]
any = [{ kind = "box", count = 2, to = "pier" }]
do_not_touch = ["THB 5"]
free = ["OXCC 6"]
set_to_any_of = { "THB 4" = ["dock 1", "pier"] }
locomotive = { "S&I 5" = { ends_in = "lead", heads = "from" } }
"""
LIGHT = """
unit = "in"
[tracks]
lead = { from = "bumper", length = 20 }
[locomotives]
"S&I 5" = { length = 5, heads = "to" }
[start]
lead = ["S&I 5"]
"""
"""A light locomotive."""


class _Page(HTMLParser):
    """What a browser would make of a page: elements, their attributes and words; refuses unclosed ones."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        self.close()
        assert not self._open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self._open and data.strip():
            self.words.append(data.strip())

    @property
    def text(self) -> str:
        return " ".join(self.words)


def _section(puzzle: Puzzle, heading: str) -> Section:
    (found,) = (part for part in sections_of(puzzle, ground_of(puzzle)) if part.heading == heading)
    return found


# -- the work --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PUZZLES, ids=lambda path: path.stem)
def test_every_car_once(path: Path) -> None:
    """In every file each car has one row, with its kind and the track that the file has it on."""
    puzzle = load(path)
    rows = [row for part in sections_of(puzzle, ground_of(puzzle)) for row in part.rows]
    assert Counter(row.car for row in rows) == Counter(car.name for car in puzzle.cars)
    on = {car: string.track for string in puzzle.start.strings for car in string.vehicles}
    kinds = {car.name: car.kind for car in puzzle.cars}
    assert all(row.stands.split(", ")[0] == on[row.car] and row.kind == kinds[row.car] for row in rows)


def _on_a_track_drawn_backwards() -> Puzzle:
    """Three cars on a track whose ``from`` end is drawn at the right."""
    text = (ROOT / "puzzles" / "glasshouse_switchback.toml").read_text(encoding="utf-8")
    text = text.replace('["QLV 902", "OXCC 301", "S&I 3"]', '["S&I 3"]')
    puzzle = loads(text.replace('["OXCC 300 @ 1"]', '["OXCC 300 @ 1", "QLV 902", "OXCC 301"]'))
    assert is_from_left(ground_of(puzzle), "glass works") is False
    return puzzle


@pytest.mark.parametrize("path", [*PUZZLES, None], ids=lambda path: path.stem if path else "backwards")
def test_the_place_in_a_row_is_that_of_the_picture(path: Path | None) -> None:
    """Counted from the left, each vehicle is told the place that it has on its track in the picture, and rows
    are listed so."""
    puzzle = load(path) if path else _on_a_track_drawn_backwards()
    ground = ground_of(puzzle)
    at = {
        body.name: body.spine.at(0.5)[0][0]
        for body in make_scene(ground, puzzle, placed_at_start(puzzle)).bodies
    }
    told = {row.car: row.rank for part in sections_of(puzzle, ground) for row in part.rows}
    told |= {row.name: row.rank for row in locomotive_rows(puzzle, ground)}
    for track in {string.track for string in puzzle.start.strings}:
        on_it = [name for one in puzzle.start.strings if one.track == track for name in one.vehicles]
        row = sorted(on_it, key=lambda name: at[name])
        for place, name in enumerate(row, 1):
            assert told[name] == ("alone" if len(row) == 1 else f"{place} of {len(row)}"), name
        for part in sections_of(puzzle, ground):
            listed = [one.car for one in part.rows if one.car in row]
            assert listed == [name for name in row if name in listed]


def test_each_kind_of_item_has_its_section() -> None:
    """Any-car candidates may go back, a choice names each place, a free car and a do-not-touch car say so."""
    puzzle = loads(WHARF + WORK)
    any_box = _section(puzzle, "Any box")
    assert any_box.note == (
        "2 to pier: whichever they are. 1 car of these cannot go: back to where it stands now."
    )
    assert [row.goes for row in any_box.rows] == [
        "pier, or back to lead",
        "pier, or back to lead",
        "pier, or back to dock",
    ]
    assert _section(puzzle, "Set out, the crew chooses").rows[0].goes == "dock, 1 or pier"
    assert _section(puzzle, "Leave anywhere").rows == (
        Row("OXCC 6", "tank, dead locomotive", "pier", "alone", "anywhere in the clear"),
    )
    fixed = _section(puzzle, "Do not touch")
    assert fixed.rows == (Row("THB 5", "tank", "dock, 3", "2 of 2", "stays at dock, 3"),)
    assert fixed.sign is Sign.DO_NOT_TOUCH and not fixed.has_ticks


def test_all_candidates_go() -> None:
    """Where every car of the kind is wanted nothing is said of going back."""
    puzzle = loads(WHARF + WORK.replace("count = 2", "count = 3"))
    any_box = _section(puzzle, "Any box")
    assert any_box.note == "3 to pier: whichever they are."
    assert {row.goes for row in any_box.rows} == {"pier"}


def test_a_car_with_no_item_is_a_hold() -> None:
    """It stands with the cars on hold, and goes back to its spot if it has one."""
    puzzle = loads(WHARF + '[work]\nspot = { "QLV 1" = "dock 2" }\nhold = ["QLV 2"]\n')
    hold = _section(puzzle, "Hold")
    assert [row.car for row in hold.rows] == ["QLV 2", "THB 4", "QLV 3", "THB 5", "OXCC 6"]
    assert hold.rows[3].goes == "back to dock, 3" and hold.rows[0].goes == "back to lead"
    assert hold.sign is Sign.HOLD and hold.has_ticks
    assert _section(puzzle, "Spot").rows[0].goes == "dock, 2"


def test_no_cars() -> None:
    """A light locomotive has a list too."""
    puzzle = loads(LIGHT)
    assert "There are no cars." in paper_html(puzzle)


# -- trains, locomotives, rules --------------------------------------------------------------------------


def test_the_train_and_the_locomotive() -> None:
    """What the file says of the train is told in sentences; left is where the entrance is drawn."""
    puzzle = load(ROOT / "puzzles" / "marrow_point_front_street.toml")
    ground = ground_of(puzzle)
    assert train_texts(puzzle, ground) == [
        [
            "S&I 5 leaves from Point lead with OXCC 7, QLV 214 and S&I 02, and with nothing else.",
            "The locomotive is at the left end of the train.",
            "Last, at the end away from the locomotive: S&I 02.",
            "All other cars in any order.",
        ]
    ]
    (row,) = locomotive_rows(puzzle, ground)
    assert (row.stands, row.rank, row.heads, row.ends) == (
        "Point lead",
        "alone",
        "left",
        "on Point lead, with its train",
    )


@pytest.mark.parametrize(
    "more, told",
    [
        ('blocks = [["QLV 2"], ["QLV 1", "THB 4"]]', ["Blocks, in order from the locomotive outwards: "]),
        ("", ["In any order."]),
    ],
)
def test_the_order_of_a_train(more: str, told: list[str]) -> None:
    """Blocks are told from the locomotive outwards; without any the order is open."""
    work = f"""
[[work.train]]
departs_on = "lead"
pick_up = ["QLV 1", "QLV 2", "THB 4"]
{more}
"""
    puzzle = loads(WHARF + work)
    (texts,) = train_texts(puzzle, ground_of(puzzle))
    if more:
        told = [told[0] + "QLV 2; then QLV 1 and THB 4."]
    assert texts[1:] == told


def test_where_a_locomotive_heads_and_ends() -> None:
    """Its front, the way it is going, and its end are told by the picture."""
    puzzle = loads(WHARF + WORK)
    (row,) = locomotive_rows(puzzle, ground_of(puzzle))
    assert (row.rank, row.heads, row.ends) == ("3 of 4", "right; under way left", "on lead, heads left")


def test_a_locomotive_may_end_anywhere() -> None:
    """So it is said where the file says nothing."""
    puzzle = loads(WHARF)
    assert [row.ends for row in locomotive_rows(puzzle, ground_of(puzzle))] == ["anywhere"]


RULES = [
    ('dock = { keep_clear = "always", ', ("dock", "Keep clear. Whenever a locomotive changes direction")),
    ('dock = { keep_clear = "at the end", ', ("dock", "Clear at the end: ")),
    ("dock = { no_locomotives = true, ", ("dock", "Closed to locomotives. Cars may be shoved in.")),
    ('dock = { barred = ["box", "tank"], ', ("dock", "Barred to every box and every tank.")),
    ("dock = { limits = { most_cars = 1 }, ", ("dock", "No more than 1 car in the moving string.")),
    ("dock = { limits = { longest = 11 }, ", ("dock", "No more than 11 in of cars, coupled, in the moving")),
    (
        "dock = { limits = { most_shoved = 2 }, ",
        ("dock", "No more than 2 cars shoved ahead of the locomotive"),
    ),
]


@pytest.mark.parametrize("begin, told", RULES, ids=[told[1][:20] for _, told in RULES])
def test_each_mark_is_a_rule(begin: str, told: tuple[str, str]) -> None:
    """Every kind of mark is told with its place; with no mark there is no rule."""
    plain = 'unit = "in"\n[tracks]\nlead = { from = "entrance", to = "dock from", length = 60 }\n'
    cars = (
        '[kinds]\nbox = 5\ntank = 6\n[cars]\n"QLV 1" = "box"\n"THB 4" = "tank"\n[locomotives]\n'
        'L = { length = 5, heads = "to" }\n[start]\nlead = ["QLV 1", "L", "THB 4"]\n'
    )
    bare = loads(plain + 'dock = { from = "lead to", length = 40 }\n' + cars)
    assert standing_rules(bare, draw(bare)) == []
    assert "Standing rules" not in paper_html(bare)
    puzzle = loads(plain + f'{begin}from = "lead to", length = 40 }}\n' + cars)
    ((place, rule),) = standing_rules(puzzle, draw(puzzle))
    assert place == told[0] and rule.startswith(told[1])
    assert "Standing rules" in paper_html(puzzle)


def test_rules_of_parts_junctions_tables_and_the_whole_district() -> None:
    """A part is told by its name, or counted from the left; a junction with its kind."""
    file = WHARF.replace('name = "apron" }', 'name = "apron", no_locomotives = true }')
    file = file.replace("{ length = 20 }", "{ length = 20, limits = { most_cars = 2 } }")
    file = file.replace("T = { length = 4 }", "T = { length = 4, limits = { most_shoved = 1 } }")
    file = file.replace('under_way = "from"', "rear_only = true").replace(
        '"S&I 5", "THB 4"', '"S&I 5", "|", "THB 4"'
    )
    puzzle = loads(file + "[limits]\nmost_cars = 4\n")
    assert [place for place, _ in standing_rules(puzzle, ground_of(puzzle))] == [
        "Everywhere",
        "dock, apron",
        "dock, part 2 of 2 from the left",
        "T (turnout)",
        "S&I 5",
    ]


def test_where_there_is_no_left() -> None:
    """A track whose ends lie one above the other is told by what they meet."""
    puzzle = DISTRICTS["circle"]()
    ground = draw(puzzle)
    upright = ground.tracks["half"].points
    ground.tracks["half"] = type(ground.tracks["half"])((upright[0], (upright[0][0], upright[0][1] + 50)))
    assert end_text(ground, "half", "from") == "the end at far b"
    assert direction_text(ground, "half", "to") == "to far b"
    assert rank_text(ground, "half", 0, 3) == "1 of 3 from far b"
    ground.tracks["lead"] = ground.tracks["half"]
    assert end_text(ground, "lead", "from") == "the end at the entrance"
    assert end_text(ground, "lead", "to") == "the end at the bumper"


def test_tables_have_a_left_too() -> None:
    """A locomotive that stands on a table heads left or right; a track that meets one says so."""
    puzzle = DISTRICTS["roundhouse"]()
    ground = draw(puzzle)
    table = puzzle.district.tables[0].name
    assert {end_text(ground, table, end) for end in ("from", "to")} == {"the left end", "the right end"}
    stall = next(name for name in ground.tracks if name.startswith("stall"))
    point = ground.tracks[stall].points[0]
    ground.tracks[stall] = type(ground.tracks[stall])((point, (point[0], point[1] + 50)))
    assert end_text(ground, stall, "from") == f"the end at {table}"


# -- the sheets ------------------------------------------------------------------------------------------


def test_the_list_by_itself() -> None:
    """Without a solution there is one sheet, and no word of how the work is done."""
    page = _Page(paper_html(load(ROOT / "puzzles" / "first_spur.toml")))
    assert sum(tag == "section" for tag, _ in page.elements) == 1
    assert "Solution" not in page.text and "minimum" not in page.text and "Notes" not in page.text
    assert "For models only" in page.text


def test_the_solution_is_on_a_second_sheet() -> None:
    """It has the verdict, each move in words and in order, what is uncoupled at the end, and the counts."""
    puzzle = load(ROOT / "puzzles" / "quarry_hill_three.toml")
    solution = solve(puzzle)
    assert solution.plan is not None and solution.plan.final_cuts
    page = _Page(paper_html(puzzle, solution))
    first, second = page.text.split("Solution", 1)
    assert "Proved minimum: 6 moves." in second and "Proved" not in first
    at = [second.index(text) for text in move_texts(puzzle, solution.plan, replay(puzzle, solution.plan))]
    assert at == sorted(at) and len(at) == 7
    assert second.index("3 turnouts thrown") > at[-1]
    assert "Tightest place: tipple tail, after move 1" in second and "Notes" in second
    ticks = [attributes["aria-label"] for tag, attributes in page.elements if tag == "input"]
    assert ticks == [
        *(f"{name}: done" for name in ("S&I 701", "S&I 702", "S&I 703", "S&I 12")),
        *(f"Move {number}: done" for number in range(1, 7)),
    ]


def test_signs_are_words_and_shapes() -> None:
    """A car on hold and one not to be touched have their word and a shape of their own; others have none."""
    text = paper_html(loads(WHARF + WORK + 'hold = ["QLV 3"]\n'))
    rows = {
        name: next(line for line in text.splitlines() if re.search(rf'scope="row".*{name} ?<', line))
        for name in ("QLV 3", "THB 5", "QLV 1")
    }
    shapes = {name: re.findall(r"<svg.*?</svg>", row) for name, row in rows.items()}
    assert ">hold<" in rows["QLV 3"] and ">do not touch<" in rows["THB 5"]
    assert len(shapes["QLV 3"]) == len(shapes["THB 5"]) == 1 and shapes["QLV 3"] != shapes["THB 5"]
    assert not shapes["QLV 1"] and 'class="word"' not in rows["QLV 1"]
    assert "<input" in rows["QLV 3"] and "<input" not in rows["THB 5"]


HOSTILE = (
    "</style><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "\"'&amp;&",
    "🚃 emoji",
    "\u202eright to left",
    "a" * 300,
)


def test_hostile_names() -> None:
    """Names that look like markup stay words: no element and no attribute comes from them."""
    file = WHARF + WORK
    plain = loads(file)
    texts = ["lead", "dock", "pier", "QLV 1", "THB 4", "box"]
    for text, name in zip(texts, HOSTILE, strict=True):
        quoted = '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
        file = re.sub(rf'"{text}"|(?m:^{text}(?= =))', lambda _, quoted=quoted: quoted, file)
        file = re.sub(rf'"{text} (?=\S+")', lambda _, quoted=quoted: quoted[:-1] + " ", file)
    puzzle = loads(f'title = "<b>bold</b> & co"\n{file}')
    hostile, harmless = _Page(paper_html(puzzle)), _Page(paper_html(plain))
    assert [tag for tag, _ in hostile.elements] == [tag for tag, _ in harmless.elements]
    assert [list(attributes) for _, attributes in hostile.elements] == [
        list(attributes) for _, attributes in harmless.elements
    ]
    for name in HOSTILE:
        assert name.replace("\u202e", "\ufffd") in hostile.text
    assert "<b>bold</b> & co" in hostile.text


def test_nothing_is_run_or_loaded() -> None:
    """No script, one style sheet, no address but of data in the page; its policy forbids the rest."""
    text = paper_html(load(ROOT / "puzzles" / "millbrook_turn.toml"))
    page = _Page(text)
    assert {tag for tag, _ in page.elements}.isdisjoint({"script", "iframe", "object", "a", "form"})
    assert [attributes["href"] for tag, attributes in page.elements if tag == "link"] == ["data:,"]
    assert "url(" not in text and "@import" not in text and "http:" not in text and "https:" not in text
    policy = next(
        attributes["content"]
        for tag, attributes in page.elements
        if tag == "meta" and "http-equiv" in attributes
    )
    style = text.partition("<style>")[2].partition("</style>")[0]
    digest = b64encode(sha256(style.encode()).digest()).decode()
    for rule in ("default-src 'none'", f"style-src 'sha256-{digest}'", "script-src 'none'", "img-src data:"):
        assert rule in (policy or "").split("; ")
    assert not [attributes for _, attributes in page.elements if "style" in attributes]
    sources = [attributes["src"] or "" for _, attributes in page.elements if "src" in attributes]
    assert sources and all(source.startswith("data:image/svg+xml;base64,") for source in sources)
    assert not [name for _, attributes in page.elements for name in attributes if name.startswith("on")]


# -- the picture -----------------------------------------------------------------------------------------


def _svg(source: str) -> ET.Element:
    return ET.fromstring(b64decode(source.partition(",")[2]))


@pytest.mark.parametrize("path", PUZZLES, ids=lambda path: path.stem)
def test_strips_hold_the_whole_picture(path: Path) -> None:
    """Strips are no wider than can be read, share an edge, and together have every vehicle and track name."""
    puzzle = load(path)
    strips = strips_of(puzzle, ground_of(puzzle))
    boxes = [[float(value) for value in _svg(strip.source).attrib["viewBox"].split()] for strip in strips]
    assert all(box[2] <= MOST_WIDE + 0.1 for box in boxes)
    ground = ground_of(puzzle)
    assert boxes[0][0] == 0 and boxes[-1][0] + boxes[-1][2] == pytest.approx(ground.width, abs=0.2)
    assert all(left[0] + left[2] > right[0] + 60 for left, right in pairwise(boxes))
    texts = [{text for one in _svg(strip.source).iter() for text in (one.text or "",)} for strip in strips]
    names = {label.text for label in ground.labels if label.kind != "title"}
    assert names <= set().union(*texts)
    scene = make_scene(ground, puzzle, placed_at_start(puzzle))
    assert {label.text for label in scene.numbers} <= set().union(*texts)
    tops = [label.box.top for label in ground.labels if label.kind != "title"]
    assert all(box[1] <= min(tops) and box[1] + box[3] <= ground.height for box in boxes)


def test_a_wide_district_is_cut() -> None:
    """The staging yard is drawn in two strips, told apart in words; a small one in one, with no such word."""
    wide = load(ROOT / "puzzles" / "upland_freight.toml")
    assert draw(wide).width > 1.5 * MOST_WIDE
    assert [strip.name for strip in strips_of(wide, ground_of(wide))] == ["Left part", "Right part"]
    small = load(ROOT / "puzzles" / "first_spur.toml")
    assert [strip.name for strip in strips_of(small, ground_of(small))] == [""]
    assert ground_of(small).scale is not None


def test_no_text_is_cut_in_two() -> None:
    """A name or number that the edge of a strip would cut is left to the neighbor, which has it whole."""
    puzzle = load(ROOT / "puzzles" / "quarry_hill_three.toml")
    ground = ground_of(puzzle)
    scene = make_scene(ground, puzzle, placed_at_start(puzzle))
    cut = 0
    for strip in strips_of(puzzle, ground):
        picture = _svg(strip.source)
        left, _, width, _ = (float(value) for value in picture.attrib["viewBox"].split())
        shown = {one.text for one in picture.iter() if one.tag.endswith("text")}
        for label in (*ground.labels, *scene.numbers):
            if label.box.left < left < label.box.right or label.box.left < left + width < label.box.right:
                cut += 1
                assert label.text not in shown
    assert cut


def test_the_picture_is_on_white() -> None:
    """The tint of the screen is not printed; the rest of the style stays."""
    text = b64decode(
        strips_of(*((puzzle := load(PUZZLES[0])), ground_of(puzzle)))[0].source.partition(",")[2]
    ).decode("utf-8")
    assert ".paper { fill: #ffffff; }" in text and "#fdfcf9" not in text and "#f6dfa6" in text


# -- the command -----------------------------------------------------------------------------------------


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It writes both sheets, or with --no-solution the first one, and prints nothing."""
    file, spur = tmp_path / "out.html", str(ROOT / "puzzles" / "first_spur.toml")
    assert main(["paper", spur, "-o", str(file)]) == OK
    both = file.read_text(encoding="utf-8")
    assert 'class="sheet solution"' in both
    assert main(["paper", spur, "-o", str(file), "--no-solution"]) == OK
    first = file.read_text(encoding="utf-8")
    assert 'class="sheet solution"' not in first
    assert both.startswith(first.removesuffix("</body>\n</html>\n"))
    assert capsys.readouterr().out == ""


def test_no_plan(tmp_path: Path) -> None:
    """Impossible work, and a proof that was stopped, have a second sheet that says so; of impossible work it
    says which track is short, and by how much, unless that is not asked for."""
    file = tmp_path / "out.html"
    assert main(["paper", str(ROOT / "puzzles" / "cask_lane_short_tail.toml"), "-o", str(file)]) == IMPOSSIBLE
    text = file.read_text(encoding="utf-8")
    assert "Impossible: no plan exists (proved)." in text
    assert "Lane tail is 0.6 in short" in text.split('class="sheet solution"')[1]
    plain = ["--no-explanation", "-o", str(file)]
    assert main(["paper", str(ROOT / "puzzles" / "cask_lane_short_tail.toml"), *plain]) == IMPOSSIBLE
    assert "in short" not in file.read_text(encoding="utf-8")
    yard = str(ROOT / "puzzles" / "marrow_point_front_street.toml")
    assert main(["paper", yard, "-o", str(file), "--limit-seconds", "0.001"]) == GAVE_UP
    text = file.read_text(encoding="utf-8")
    assert "Gave up: stopped by" in text and "There is no plan to show." in text


@pytest.mark.parametrize(
    "arguments, told",
    [
        (["-o", "out.pdf"], "-o out.pdf: name a file that ends in .html or .htm"),
        (["-o", "no such folder/out.html", "--no-solution"], "out.html: there is no such folder; make it"),
        (["-o", "out.html", "--limit-seconds", "0"], "--limit-seconds 0: give a time above zero"),
        (["-o", "out.html", "--limit-seconds", "5", "--no-solution"], "leave --limit-seconds out"),
        (["-o", "out.html", "--no-explanation", "--no-solution"], "leave --no-explanation out"),
    ],
)
def test_wrong_arguments(
    arguments: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Each is refused in words, with exit code 2, and nothing is written."""
    monkeypatch.chdir(tmp_path)
    assert main(["paper", str(ROOT / "puzzles" / "first_spur.toml"), *arguments]) == USAGE
    assert told in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems go to stderr."""
    file = tmp_path / "bad.toml"
    file.write_text('unit = "furlong"\n', encoding="utf-8")
    assert main(["paper", str(file), "-o", str(tmp_path / "out.html")]) == BAD_FILE
    assert "furlong" in capsys.readouterr().err


# -- in print --------------------------------------------------------------------------------------------


def _pages(html: str, folder: Path) -> int:
    """How many pages a browser prints."""
    chromium = shutil.which("chromium")
    if chromium is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no chromium: apt-get install chromium")
    (folder / "out.html").write_text(html, encoding="utf-8")
    command = [
        chromium,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        f"--user-data-dir={folder / 'profile'}",
        "--no-pdf-header-footer",
        f"--print-to-pdf={folder / 'out.pdf'}",
        str(folder / "out.html"),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return len(re.findall(rb"/Type\s*/Page\b", (folder / "out.pdf").read_bytes()))


def test_printing_is_never_passed_over_unseen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a browser the test below is skipped, with the cure; where CI is set it fails."""
    monkeypatch.setenv("PATH", "")
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="apt-get install chromium"):
        _pages("", tmp_path)
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="apt-get install chromium"):
        _pages("", tmp_path)


def test_two_sheets_are_printed_as_two(tmp_path: Path) -> None:
    """A browser prints a short list on one page, and its solution on a page of its own: both would fit on one
    if the style did not break it there."""
    puzzle = loads(LIGHT)
    both = paper_html(puzzle, solve(puzzle))
    assert _pages(paper_html(puzzle), tmp_path) == 1
    assert _pages(both, tmp_path) == 2
    assert _pages(both.replace("break-before: page", ""), tmp_path) == 1
