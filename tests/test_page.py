"""The replay page as text and as data: what it says, that everything in it is escaped, that its film shows
every vehicle where the referee says, and how turnouts are lined.  The page in a browser:
``test_page_browser.py``."""

from __future__ import annotations

import copy
import json
import re
import tomllib
from base64 import b64encode
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser
from itertools import combinations, pairwise
from math import hypot, pi
from pathlib import Path
from typing import Any

import pytest

from switchsolve.drawing import draw, lined_after, placed_at_start, scenes_of
from switchsolve.drawing.schematic import Point, TableDrawing
from switchsolve.drawing.svg import STYLE, standing_svg
from switchsolve.drawing.text import clean
from switchsolve.page import page_html
from switchsolve.page.lining import route_numbers
from switchsolve.page.motion import beats_of
from switchsolve.page.turning import turn_frames
from switchsolve.plan import Solution, Verdict
from switchsolve.words import move_texts
from tests.builders import build, set_up, track
from tests.drawn import DISTRICTS
from tests.pages import Made, ends_of, made

ROOT = Path(__file__).parent.parent
PUZZLES = [
    "cask_lane_facing", "coast_two_engines", "ferry_slip_float", "glasshouse_switchback",
    "marrow_point_front_street", "marrow_point_turntable", "millbrook_wye",
]  # fmt: skip
BY_HAND = ["yard", "hostile", "balloon", "passive"]
NEAR = 0.06
"""Drawing units; the film's numbers have two decimals."""


class Page(HTMLParser):
    """What is in a page: tags with their attributes, and the text of each element that matters."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self._open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "link", "input"):
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append((self._open[-1] if self._open else "", data))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]

    def text(self) -> str:
        """Everything that a person can read, in one line."""
        shown = (text for tag, text in self.texts if tag not in ("style", "script"))
        return " ".join(" ".join(shown).split())

    def of(self, tag: str) -> list[str]:
        return [text for name, text in self.texts if name == tag]


def film_in(html: str) -> dict[str, Any]:
    """The data of a page."""
    (text,) = re.findall(r'<script type="application/json" id="film">(.*?)</script>', html, re.DOTALL)
    film = json.loads(text)
    assert isinstance(film, dict)
    return film


# -- what the page says


@pytest.mark.parametrize("name", ["cask_lane_facing", "marrow_point_turntable", "hostile"])
def test_what_a_page_says(name: str) -> None:
    """First the caution; then title, verdict, counts and what a move is; each run in the words of
    ``solve``, the last cuts with the last; the start is the current entry."""
    page = made(name)
    parsed = Page(page.html)
    text = parsed.text()
    assert page.solution.plan is not None and page.solution.counts is not None and page.replayed is not None
    order = [
        "For models only",
        clean(page.puzzle.title),
        "Proved minimum",
        "between two reversals",
        "The plan",
    ]
    places = [text.index(words, text.index("For models only")) for words in order]
    assert places == sorted(places)
    counts = page.solution.counts
    for what, value in (("moves", counts.moves), ("couplings", counts.couplings), ("cuts", counts.cuts)):
        assert f"<dt>{what}</dt><dd>{value}</dd>" in page.html
    told = move_texts(page.puzzle, page.solution.plan, page.replayed)
    count = len(page.solution.plan.runs)
    entries = [clean(one) for one in told[:count]]
    entries[-1] = clean(" ".join(told[count - 1 :]))
    film = film_in(page.html)
    assert [move["text"] for move in film["moves"]] == entries
    assert parsed.of("button")[-count - 1 :] == ["At the start.", *(f" {entry}" for entry in entries)]
    (current,) = [item for item in parsed.all("li") if "aria-current" in item]
    assert current == parsed.all("li")[0] and len(parsed.all("li")) == count + 1


def test_the_tightest_place_is_marked_and_named() -> None:
    """In words, and by two brackets with a label in the picture, which names the track if it must stand far
    off; a plan without one has neither."""
    parsed = Page(made("cask_lane_facing").html)
    assert "Tightest place: west street, after move 1: 8.808 in to spare." in parsed.text()
    assert sum(path.get("class") == "tight" for path in parsed.all("path")) == 2
    assert "tightest: 8.808 in to spare, move 1" in parsed.of("text")
    crowded = Page(made("ferry_slip_float").html)
    assert "tightest: float 2, 0.808 in to spare, move 6" in crowded.of("text")
    solution = replace(made("cask_lane_facing").solution, tightest=None)
    page = made("cask_lane_facing")
    bare = page_html(page.puzzle, solution, page.replayed, page.ground)
    assert "ightest" not in Page(bare).text() and 'class="tight"' not in bare


def test_runs_are_called_runs_where_they_are_not_as_many_as_moves() -> None:
    """Two engines in one string, hauled out and back, make two runs and four moves; both are told apart."""
    page = made("passive")
    assert page.solution.counts is not None and page.solution.counts.moves == 4
    assert 'data-noun="Run"' in page.html
    assert "The plan has 2 runs" in Page(page.html).text()
    assert 'data-noun="Move"' in made("cask_lane_facing").html


@pytest.mark.parametrize(
    "solution, words",
    [
        (Solution(Verdict.IMPOSSIBLE, None), "Impossible: no plan exists (proved)."),
        (
            Solution(Verdict.GAVE_UP, 4, limit="the limit of 1 second"),
            "Gave up: stopped by the limit of 1 second",
        ),
    ],
)
def test_no_plan(solution: Solution, words: str) -> None:
    """The page says so and why, shows who stands where at the start, and has nothing to play, and no
    script."""
    puzzle = made("cask_lane_facing").puzzle
    html = page_html(puzzle, solution, None, draw(puzzle), ["Because <b>."])
    parsed = Page(html)
    assert words in parsed.text() and "Because <b>." in parsed.text()
    assert "There is no plan to replay." in parsed.text() and "OXCC 7 stands on cider works." in parsed.text()
    assert {group.get("data-vehicle") for group in parsed.all("g")} >= {"OXCC 7", "S&I 5", "THB 12"}
    assert not parsed.all("script") and not parsed.all("button") and "script-src 'none'" in html


def test_a_plan_needs_its_replay() -> None:
    """No page is made of a plan that the referee has not replayed."""
    page = made("cask_lane_facing")
    with pytest.raises(ValueError, match="come together"):
        page_html(page.puzzle, page.solution, None, page.ground)


def test_nothing_to_be_done() -> None:
    """A plan without a run has a page with one entry, which says that nothing has to be moved."""
    page = made("done")
    assert page.solution.plan is not None and not page.solution.plan.runs
    assert film_in(page.html)["start"]["text"] == "At the start. Nothing has to be moved."
    assert len(Page(page.html).all("li")) == 1


# -- nothing from outside, everything escaped


@pytest.mark.parametrize("name", ["cask_lane_facing", "hostile"])
def test_the_policy_names_what_is_there_and_allows_nothing_else(name: str) -> None:
    """Its hashes are those of the one script and the one style sheet; the only addresses in the page are an
    empty icon and names inside of it."""
    html = made(name).html
    (policy,) = (tag["content"] or "" for tag in Page(html).all("meta") if tag.get("http-equiv") is not None)
    rules = dict(rule.split(maxsplit=1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    (style,) = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    for kind, text in (("script-src", script), ("style-src", style)):
        digest = b64encode(sha256(text.encode("utf-8")).digest()).decode()
        assert rules[kind] == f"'sha256-{digest}'"
    for _, attributes in Page(html).tags:
        assert not {"style", "onclick", "onload"} & set(attributes)
        addresses = {attributes[key] for key in ("src", "href", "action", "xlink:href") if key in attributes}
        assert addresses <= {"data:,", "#ground", "#tightest"}
    assert "@import" not in style and "url(" not in style
    assert re.findall(r"https?://[^\"\s]*", html.replace("http://www.w3.org/2000/svg", "")) == []


def test_hostile_names() -> None:
    """Whatever names and title hold: the markup is what it is for tame names, the data says every name as
    it is shown, and no control letter is left."""
    html = made("hostile").html
    parsed = Page(html)
    tame = Page(made("cask_lane_facing").html)
    assert {tag for tag, _ in parsed.tags} <= {tag for tag, _ in tame.tags} | {"circle"}
    assert len(parsed.all("script")) == 2 and html.count("</script>") == 2
    page = made("hostile")
    names = {clean(name) for name in page.puzzle.vehicles}
    assert {vehicle["name"] for vehicle in film_in(html)["vehicles"]} == names
    assert any("</svg><script>" in name for name in names) and any("🚂" in name for name in names)
    assert {group["data-vehicle"] for group in parsed.all("g") if "data-vehicle" in group} == names
    assert parsed.of("h1") == [clean(page.puzzle.title)]
    assert not re.search(r"[\x00-\x08\x0b-\x1f\u202a-\u202e\u2066-\u2069]", html)
    html.encode("utf-8")


def test_right_to_left_names_are_kept() -> None:
    """Letters that run from right to left are text like any other."""
    puzzle = set_up(build([track("אבג", 9)]), {"אבג": "شحن"}, heads={"شحن": "to"})
    html = page_html(puzzle, Solution(Verdict.GAVE_UP, 0, limit="time"), None, draw(puzzle))
    assert "شحن" in html and "אבג" in html and 'dir="ltr"' in html


def test_the_size_of_a_large_page() -> None:
    """Thirty tracks, 41 vehicles and 40 moves make less than one megabyte."""
    page = made("yard")
    assert len(page.puzzle.district.tracks) == 30
    assert page.solution.plan is not None and len(page.solution.plan.runs) == 40
    assert len(page.html.encode("utf-8")) < 1_000_000


def test_what_the_page_is_made_of_is_installed() -> None:
    """Every file of the package that is no Python is named as package data."""
    tool = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
    named = tool["setuptools"]["package-data"]["switchsolve.page"]
    folder = ROOT / "switchsolve" / "page"
    there = [path.name for path in folder.iterdir() if path.is_file() and path.suffix != ".py"]
    assert there and sorted(there) == sorted(named)


def test_kinds_of_vehicles_differ_in_lightness() -> None:
    """Cars, dead locomotives and locomotives are told apart by light and dark: the contrast of any two is
    1.3 or more; and writing on each has 4.5 or more."""
    fills = {
        kind: re.search(rf"{re.escape(rule)}[^}}]*fill: (#\w+)", STYLE)
        for kind, rule in (
            ("car", "\n.body {"),
            ("dead", ".dead .body {"),
            ("locomotive", ".locomotive .body {"),
        )
    }
    light = {kind: lightness(found[1]) for kind, found in fills.items() if found}
    assert len(light) == 3
    for one, other in combinations(light.values(), 2):
        assert contrast(one, other) > 1.3
    ink = lightness("#2b3640")
    assert contrast(light["car"], ink) > 4.5 and contrast(light["dead"], ink) > 4.5
    assert contrast(light["locomotive"], 1.0) > 4.5


def lightness(color: str) -> float:
    """Relative luminance, as the Web Content Accessibility Guidelines define it."""
    shares = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: float, other: float) -> float:
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


# -- the film


def at_path(path: list[list[float]], far: float) -> Point:
    """The point so far along a path."""
    index = min(max(bisect_left([g for g, _, _ in path], far), 1), len(path) - 1)
    (g, x, y), (to_g, to_x, to_y) = path[index - 1], path[index]
    share = (far - g) / (to_g - g)
    assert -0.01 < share < 1.01, "the path is too short"
    return x + (to_x - x) * share, y + (to_y - y) * share


def ends_in(film: dict[str, Any], strings: list[int], by: float = 0.0) -> dict[str, list[Point]]:
    """The two ends of every vehicle of these strings, ``by`` farther along than they are listed."""
    found = {}
    for number in strings:
        path, start, vehicles, _ = film["strings"][number]
        for index in vehicles:
            vehicle = film["vehicles"][index]
            ends = (start + by, start + by + vehicle["length"])
            found[vehicle["name"]] = [at_path(film["paths"][path], far) for far in ends]
            start += vehicle["length"]
    return found


def moved_apart(one: dict[str, list[Point]], other: dict[str, list[Point]]) -> list[str]:
    """Vehicles that do not stand alike in both."""
    assert set(one) == set(other)
    wrong = []
    for name, ends in one.items():
        (a, b), there = ends, other[name]
        assert len(there) == 2, name
        ways = (
            hypot(a[0] - c[0], a[1] - c[1]) + hypot(b[0] - d[0], b[1] - d[1]) for c, d in (there, there[::-1])
        )
        if min(ways) > 2 * NEAR:
            wrong.append(name)
    return wrong


def after_each_move(
    page: Made, film: dict[str, Any]
) -> Iterator[tuple[dict[str, list[Point]], dict[str, list[Point]]]]:
    """At the start and after each run: where vehicles stand in the film, and where the referee says."""
    plan, replayed = page.solution.plan, page.replayed
    assert plan is not None and replayed is not None
    shown = [film["start"]["strings"], *(move["beats"][-1]["after"] for move in film["moves"])]
    frames = [*replayed.frames[: len(plan.runs)], replayed.frames[-1]]
    for strings, frame, lined in zip(shown, frames, lined_after(page.puzzle, plan), strict=False):
        there = ends_of(page.puzzle, page.ground, frame.standing, lined)
        yield ends_in(film, strings), {clean(name): ends for name, ends in there.items()}


@pytest.mark.parametrize("name", [*PUZZLES, *BY_HAND])
def test_after_each_move_vehicles_stand_where_the_referee_says(name: str) -> None:
    """Both ends of every vehicle lie where the rail under it begins and ends in the drawing."""
    page = made(name)
    film = film_in(page.html)
    pairs = list(after_each_move(page, film))
    assert len(pairs) == len(film["moves"]) + 1
    for shown, there in pairs:
        assert not moved_apart(shown, there)


def test_a_film_that_is_wrong_is_found() -> None:
    """A string of the film that is moved a little stands where the referee does not say."""
    page = made("cask_lane_facing")
    film = copy.deepcopy(film_in(page.html))
    film["strings"][film["moves"][1]["beats"][-1]["after"][-1]][1] += 0.3
    assert any(moved_apart(shown, there) for shown, there in after_each_move(page, film))


@pytest.mark.parametrize("name", [*PUZZLES, *BY_HAND])
def test_nothing_jumps(name: str) -> None:
    """Every beat begins where the one before it ended, for each vehicle; so do the frames of a table."""
    film = film_in(made(name).html)
    last = ends_in(film, film["start"]["strings"])
    for beat in (beat for move in film["moves"] for beat in move["beats"]):
        begins = ends_in(film, beat["still"])
        if "moving" in beat:
            begins |= ends_in(film, [beat["moving"]])
            ends = ends_in(film, beat["still"]) | ends_in(film, [beat["moving"]], beat["by"])
            assert not moved_apart(ends, ends_in(film, beat["after"]))
        for string, paths in beat.get("riders", ()):
            begins |= ends_in(with_path(film, string, paths[0]), [string])
        assert not moved_apart(begins, last)
        assert beat["seconds"] > 0
        last = ends_in(film, beat["after"])


def with_path(film: dict[str, Any], string: int, path: int) -> dict[str, Any]:
    strings = list(film["strings"])
    strings[string] = [path, *strings[string][1:]]
    return film | {"strings": strings}


def test_noses_point_as_the_referee_says() -> None:
    """In every string of the film a locomotive's nose is that of the frame, told along the string's path."""
    page = made("millbrook_wye")
    film = film_in(page.html)
    assert page.replayed is not None and page.solution.plan is not None
    for move, frame in zip(film["moves"], page.replayed.frames[1:], strict=False):
        noses = [noses for number in move["beats"][-1]["after"] for noses in film["strings"][number][3]]
        there = {nose for string in frame.standing for nose in string.noses.values()}
        assert sorted(filter(None, noses)) == sorted(there)


@pytest.mark.parametrize("name", [*PUZZLES, *BY_HAND])
def test_beats_are_the_steps_of_the_plan(name: str) -> None:
    """One for each step and last cut, and after each run the standing is the referee's frame, to the grid
    unit."""
    page = made(name)
    plan, replayed = page.solution.plan, page.replayed
    assert plan is not None and replayed is not None
    runs = beats_of(page.puzzle, plan, replayed.frames[0].standing)
    for number, (run, beats) in enumerate(zip(plan.runs, runs, strict=True)):
        extra = len(plan.final_cuts) if number == len(plan.runs) - 1 else 0
        assert len(beats) == len(run.steps) + extra
        assert beats[len(run.steps) - 1].after == replayed.frames[number + 1].standing
    assert runs[-1][-1].after == replayed.frames[-1].standing


# -- turnouts and tables


@pytest.mark.parametrize("name", [*PUZZLES, *BY_HAND])
def test_turnouts_are_lined_for_what_runs_over_them(name: str) -> None:
    """No two lined routes exclude each other; what moves runs on lined routes; and as many turnouts are
    thrown in the film as the referee counts."""
    page = made(name)
    plan, replayed = page.solution.plan, page.replayed
    assert plan is not None and replayed is not None
    film = film_in(page.html)
    district = page.puzzle.district
    number_of = route_numbers(district)
    route_of = {number: cell for cell, number in number_of.items()}
    runs = beats_of(page.puzzle, plan, replayed.frames[0].standing)
    beats = [beat for run in runs for beat in run]
    shown = [beat for move in film["moves"] for beat in move["beats"]]
    linings = [film["start"]["lined"]]
    for beat, row in zip(beats, shown, strict=True):
        linings += [lined for _, lined in row["lined"]]
        enough = {number for _, lined in row["lined"] for number in lined}
        if beat.moving is not None:
            assert {number_of[way.cell] for way in beat.moving.ways if way.cell in number_of} <= enough
    for lined in linings:
        for one, other in combinations(lined, 2):
            assert not district.conflicts(route_of[one], route_of[other])
    thrown = sum(len(set(after) - set(before)) for before, after in pairwise(linings))
    first = {route_of[number].place for number in film["start"]["lined"]}
    assert len(first) == len(film["start"]["lined"])
    assert thrown == replayed.counts.turnouts_thrown


def test_a_turnout_is_thrown_while_a_train_goes_round_a_loop() -> None:
    """It lies straight until the leading end comes back to it, after the unit left on the
    lead, 1 on the turnout and 8 on the loop, and then diverging."""
    (move,) = film_in(made("balloon").html)["moves"]
    (beat,) = move["beats"]
    assert beat["lined"] == [[0, [0]], [10, [1]]]


def test_a_table_turns_the_shorter_way_round_its_middle() -> None:
    """Its bridge keeps its length and its middle, turns ten degrees a frame at the most, no more than half
    round in all, and begins and ends as it is drawn at rest."""
    table = made("marrow_point_turntable").ground.tables["Table"]
    middle = ((table.box.left + table.box.right) / 2, (table.box.top + table.box.bottom) / 2)
    for before, after in combinations(range(len(table.bridges)), 2):
        frames = turn_frames(table, before, after)
        assert frames[0] == table.bridges[before].points and frames[-1] == table.bridges[after].points
        whole = length(frames[0])
        for one, other in frames:
            assert length((one, other)) == pytest.approx(whole, abs=0.01)
            assert ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2) == pytest.approx(middle, abs=0.01)
        steps = [hypot(b[0][0] - a[0][0], b[0][1] - a[0][1]) for a, b in pairwise(frames)]
        assert max(steps) <= whole / 2 * pi / 18 + 0.01 and sum(steps) <= whole / 2 * pi + 0.01


def test_a_transfer_table_goes_straight() -> None:
    """It has two frames: where it was and where it comes to."""
    table: TableDrawing = draw(DISTRICTS["transfer table"]()).tables["Pit"]
    frames = turn_frames(table, 0, 1)
    assert frames == [table.bridges[0].points, table.bridges[1].points]


def length(ends: tuple[Point, Point]) -> float:
    return hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1])


@pytest.mark.parametrize("name", ["cask_lane_facing", "marrow_point_turntable"])
def test_print_has_a_picture_for_each_move(name: str) -> None:
    """Each entry but the start holds a picture with every vehicle once, drawn as a film draws it; what does
    not move is said once for all of them."""
    page = made(name)
    assert page.solution.plan is not None
    parts = page.html.split('<svg class="frame"')[1:]
    scenes = scenes_of(page.ground, page.puzzle, page.solution.plan)
    assert len(parts) == len(page.solution.plan.runs)
    for number, (part, scene) in enumerate(zip(parts, scenes[1:], strict=True), 1):
        frame = part.split("</svg>")[0]
        for body in scene.bodies:
            assert frame.count(f'data-vehicle="{body.name}"'.replace("&", "&amp;")) == 1
        for line in standing_svg(scene, prefix=f"after-{number}-"):
            assert line in frame
        assert frame.count('<use href="#ground"/>') == 1
    assert page.html.count('id="ground"') == 1


def test_pictures_of_all_districts() -> None:
    """A page without a plan can be made of every kind of junction and table."""
    for name, district in DISTRICTS.items():
        puzzle = district()
        html = page_html(puzzle, Solution(Verdict.IMPOSSIBLE, None), None, draw(puzzle))
        held = {group["data-vehicle"] for group in Page(html).all("g") if "data-vehicle" in group}
        assert held == {name for string in placed_at_start(puzzle) for name in string.vehicles}, name
