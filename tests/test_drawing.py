"""The schematic: rail that hangs together, junctions that face the right way, names and vehicles in their
places, on all puzzles, on every kind of junction, and on random districts.
"""

from __future__ import annotations

import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from math import atan2, degrees, hypot
from pathlib import Path

import pytest
from ortools.sat.python import cp_model

from switchsolve.district import Cell, District, End, Junction, Route, Table, Way
from switchsolve.drawing import (
    Box,
    Scene,
    Schematic,
    draw,
    facing,
    film_svg,
    lanes,
    make_scene,
    placed_at_start,
    png_bytes,
    scene_svg,
    scenes_of,
    terminal_picture,
)
from switchsolve.drawing.columns import place_columns
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.facing import face
from switchsolve.drawing.greedy import greedy_lanes
from switchsolve.drawing.lanes import choose_lanes
from switchsolve.drawing.lines import lay_out
from switchsolve.drawing.network import FILLER, Network
from switchsolve.drawing.schematic import Label, Point, Rail
from switchsolve.drawing.small_facing import first_turned
from switchsolve.drawing.small_lanes import first_lanes
from switchsolve.drawing.text import clean, shortened, text_width
from switchsolve.errors import DrawingError
from switchsolve.plan import Plan
from switchsolve.puzzle import DrawingHints, Puzzle
from switchsolve.puzzlefile import load, loads
from switchsolve.referee.rail import Ground
from switchsolve.referee.start import check_start
from switchsolve.solving import solve
from tests.builders import build, junction, set_up, track, turnout
from tests.drawn import DISTRICTS, FOLDER, GOLDEN, picture, yard
from tests.files import puzzle_files
from tests.planar import crossings, is_planar, overlaps
from tests.random_plans import random_plan

ROOT = Path(__file__).parent.parent
FILES = sorted([*puzzle_files(), *(ROOT / "tests" / "reference").glob("*.toml")])
NAMED = [path.stem for path in FILES] + list(DISTRICTS)
SEEDS = [*range(30), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(30, 200))]
"""The first are drawn each time, the others when all the time in the world is given."""
SVG = "{http://www.w3.org/2000/svg}"

HOSTILE = (
    "<&>\"'",
    "]]>",
    "</svg><script>alert(1)</script>",
    "&amp;",
    "a\x00b\x1f",
    "\u202eright to left",
    "\ud800",
    "\ufffe",
    "煤 車 4",
    "e\u0301te\u0301",
    "🚂 1",
    "a name that goes on and on and never ends but at the number 1958",
    "{0} %s $x",
    "<!-- --> <?xml ?>",
)


@cache
def puzzle_of(name: str) -> Puzzle:
    """A puzzle file or a district of ``tests.drawn``."""
    if name in DISTRICTS:
        return DISTRICTS[name]()
    return load(next(path for path in FILES if path.stem == name))


@cache
def scene_of(name: str, to_scale: bool = True) -> Scene:
    puzzle = puzzle_of(name)
    return make_scene(draw(puzzle, to_scale=to_scale), puzzle, placed_at_start(puzzle))


@cache
def random_scene(seed: int) -> tuple[Puzzle, Scene]:
    puzzle = random_plan(seed)
    return puzzle, make_scene(draw(puzzle), puzzle, placed_at_start(puzzle))


def labels_of(scene: Scene) -> list[Label]:
    return [*scene.schematic.labels, *scene.numbers]


def misplaced(scene: Scene) -> list[str]:
    """Labels that overlap another, or leave the page."""
    page = Box(0, 0, scene.schematic.width, scene.schematic.height)
    labels = labels_of(scene)
    wrong = [label.text for label in labels if not label.box.within(page)]
    wrong += [f"{one.text} / {two.text}" for one, two in combinations(labels, 2) if one.box.overlaps(two.box)]
    return wrong


def loose_ends(ground: Schematic) -> list[str]:
    """Ways that do not begin where the way before them ends."""
    district = ground.district
    lined = {table.name: table.lined for table in district.tables}
    wrong = []
    for cell in district.cells():
        for way in (Way(cell, 1), Way(cell, -1)):
            end = ground.rail(way, lined).points[-1]
            for following in district.ahead(way, lined):
                start = ground.rail(following, lined).points[0]
                if hypot(start[0] - end[0], start[1] - end[1]) > 0.01:
                    wrong.append(f"{way} {end} - {following} {start}")
    return wrong


# -- rail


@pytest.mark.parametrize("name", NAMED)
def test_rail_hangs_together(name: str) -> None:
    """Where a string can go on from one piece of rail to the next, the drawing goes on too."""
    assert not loose_ends(scene_of(name).schematic)


@pytest.mark.parametrize("seed", SEEDS)
def test_random_districts(seed: int) -> None:
    """Rail hangs together, never lies over other rail and says no point twice; no label overlaps another or
    leaves the page; the SVG holds every vehicle and track once, and tells of each vehicle in words; what
    crosses goes across, and the left leg of a three-way lies to the left.  Nothing crosses where the
    district has a drawing on a plane (asked of networkx)."""
    puzzle, scene = random_scene(seed)
    assert not loose_ends(scene.schematic)
    assert not overlaps(scene.schematic)
    assert not spikes(scene.schematic)
    assert not crossings(scene.schematic) or not is_planar(puzzle.district)
    assert not misplaced(scene)
    holds_everything_once(puzzle, scene)
    has_its_forms(scene.schematic)


def spikes(ground: Schematic) -> list[Point]:
    """Points that come twice in a row along a rail."""
    rails = [*ground.tracks.values(), *ground.cells.values(), *ground.plain]
    return [one for rail in rails for one, two in pairwise(rail.points) if one == two]


def holds_everything_once(puzzle: Puzzle, scene: Scene) -> None:
    root = ET.fromstring(scene_svg(scene))
    found = Counter(group.get("data-vehicle") for group in root.iter(f"{SVG}g") if group.get("data-vehicle"))
    assert found == Counter(clean(name) for name in puzzle.vehicles)
    tracks = Counter(path.get("data-track") for path in root.iter(f"{SVG}path") if path.get("data-track"))
    assert tracks == Counter(clean(each.name) for each in puzzle.district.tracks)
    words = root.findtext(f"{SVG}desc") or ""
    assert all(clean(name) in words for name in puzzle.vehicles)
    assert root.findtext(f"{SVG}title")
    assert root.get("role") == "img"


@pytest.mark.parametrize("to_scale", [True, False])
@pytest.mark.parametrize("name", NAMED)
def test_districts(name: str, to_scale: bool) -> None:
    """The same of every puzzle and every kind of junction, to scale or even; all vehicles have a number."""
    puzzle, scene = puzzle_of(name), scene_of(name, to_scale)
    assert not misplaced(scene)
    holds_everything_once(puzzle, scene)
    assert {label.full for label in scene.numbers} == {clean(vehicle) for vehicle in puzzle.vehicles}


def test_what_finds_misplaced_labels_can_find_them() -> None:
    """A label put over another, one beyond the page and a rail moved away are found."""
    scene = scene_of("first_spur")
    ground = scene.schematic
    twice = replace(scene, schematic=replace(ground, labels=(*ground.labels, ground.labels[0])))
    assert misplaced(twice)
    assert misplaced(replace(scene, schematic=replace(ground, width=100.0)))
    name = ground.district.tracks[0].name
    moved = Rail(tuple((x, y + 5) for x, y in ground.cells[Cell(name)].points))
    assert loose_ends(replace(ground, cells={**ground.cells, Cell(name): moved}))


@pytest.mark.parametrize("name", NAMED)
def test_nothing_crosses_that_need_not(name: str) -> None:
    """Every puzzle, and every district of the tests, can be drawn on a plane, and is."""
    assert not crossings(scene_of(name).schematic)


def test_a_drawing_with_a_crossing_is_found() -> None:
    """The check above can fail: two rails laid across each other are found."""
    ground = scene_of("first_spur").schematic
    names = list(ground.tracks)
    across = {names[0]: Rail(((0, 0), (10, 10))), names[1]: Rail(((0, 10), (10, 0)))}
    assert crossings(replace(ground, tracks=across))


def test_planarity_can_say_no() -> None:
    """Three tracks from each of three turntables to three others (Kuratowski's second graph) have no drawing
    on a plane; two to each have one."""
    for count, planar in ((3, False), (2, True)):
        tracks = [track(f"{a} {b}", 3) for a in range(3) for b in range(count)]
        ends = [(End(f"{a} {b}", "from"), f"W{a}") for a in range(3) for b in range(count)]
        ends += [(End(f"{a} {b}", "to"), f"E{b}") for a in range(3) for b in range(count)]
        names = dict.fromkeys(which for _, which in ends)
        tables = tuple(
            Table(name, "turntable", 4, tuple(("from", end) for end, which in ends if which == name))
            for name in names
        )
        assert is_planar(District(tuple(tracks), (), tables, ())) is planar


def test_a_tangled_district_is_untangled() -> None:
    """One that was drawn with a crossing on estimated columns is drawn without, all rail joined, and every
    track level."""
    _, scene = random_scene(26)
    ground = scene.schematic
    assert not crossings(ground) and not loose_ends(ground)
    assert ground.scale is not None
    level = [rail for rail in ground.tracks.values() if len({y for _, y in rail.points}) == 1]
    assert len(level) == len(ground.tracks)


# -- facing


@pytest.mark.parametrize(
    "name, bends",
    [("oval", 2), ("balloon", 1), ("wye", 1), ("circle", 2), ("millbrook_wye", 1), ("yard of 6", 0)],
)
def test_as_few_bends_as_can_be(name: str, bends: int) -> None:
    """An oval turns twice, a wye and a balloon loop once, a yard never."""
    assert len(face(Network.of(puzzle_of(name).district)).bends) == bends


def heading(rail: Rail, share: float) -> float:
    """Degrees of the direction at a place of a rail."""
    _, (x, y) = rail.at(share)
    return degrees(atan2(y, x))


@pytest.mark.parametrize("name", NAMED)
def test_turnouts_read_as_turnouts(name: str) -> None:
    """The straight leg of a turnout goes on level from the points; the other leaves at a clear angle, to the
    same side."""
    ground = scene_of(name).schematic
    for each in ground.district.junctions:
        if each.kind != "turnout":
            continue
        straight, diverging = ground.cells[Cell(each.name, 0)], ground.cells[Cell(each.name, 1)]
        assert len({y for _, y in straight.points[:2]}) == 1
        ahead = heading(straight, 0.01)
        middle = next(item.middle for item in ground.junctions if item.name == each.name)
        at = diverging.points.index(middle)
        after = diverging.points[at + 1]
        angle = degrees(atan2(after[1] - middle[1], after[0] - middle[0]))
        turn = abs((angle - ahead + 180) % 360 - 180)
        assert 25 <= turn <= 50, (each.name, turn)


def test_left_is_left() -> None:
    """Seen from the points of a three-way its left leg lies to the left, whichever way it faces."""
    for case in ("points", "straight"):
        tracks = [track("lead", 6), track("l", 3), track("s", 3), track("r", 3)]
        links = {"points": "lead.to", "left": "l.from", "straight": "s.from", "right": "r.from"}
        routes = [Route("points", end, 1) for end in ("left", "straight", "right")]
        district = build(tracks, [junction("T", links, routes, kind="three-way")])
        if case == "straight":
            turned = replace(district.tracks[0], entrances=frozenset({"from"}))
            district = District((turned, *district.tracks[1:]), district.junctions, (), district.links)
        ground = draw(set_up(district, {"lead": "L"}, heads={"L": "to"}))
        left, right = (ground.cells[Cell("T", index)].points for index in (0, 2))
        ahead = 1 if left[-1][0] > left[0][0] else -1
        assert (left[-1][1] - right[-1][1]) * ahead < 0


@pytest.mark.parametrize("name", ["crossing", "single slip", "double slip"])
def test_tracks_that_cross_are_drawn_across(name: str) -> None:
    """The second track of a crossing or slip changes from one side of the first to the other."""
    ground = scene_of(name).schematic
    level = ground.cells[Cell("X", 0)].points[0][1]
    second = ground.cells[Cell("X", 1)].points
    assert (second[0][1] - level) * (second[-1][1] - level) < 0


def has_its_forms(ground: Schematic) -> None:
    """Asserts that in a random district, too, what crosses goes across, and left is left."""
    for each in ground.district.junctions:
        rails = [ground.cells[Cell(each.name, index)].points for index in range(len(each.routes))]
        middle = next(item.middle for item in ground.junctions if item.name == each.name)
        if each.kind in ("crossing", "slip", "double slip"):
            at = rails[1].index(middle)
            before, after = rails[1][at - 1], rails[1][at + 1]
            assert (before[1] - middle[1]) * (after[1] - middle[1]) < 0, each.name
        if "left" in each.ends and "straight" in each.ends:
            ahead = 1 if rails[1][-1][0] > rails[1][0][0] else -1
            left, right = (rail[rail.index(middle) + 1] for rail in (rails[0], rails[2]))
            assert (left[1] - middle[1]) * ahead < 0 < (right[1] - middle[1]) * ahead, each.name


def test_a_ladder_is_a_ladder() -> None:
    """All legs of a short ladder lean to one side, one lane farther each."""
    ground = draw(yard(6))
    level = ground.cells[Cell("W1", 0)].points[0][1]
    climbs = [ground.cells[Cell(f"W{n}", 1)].points[-1][1] - level for n in (1, 2, 3)]
    assert len({climb > 0 for climb in climbs}) == 1
    assert [abs(climb) for climb in climbs] == sorted({abs(climb) for climb in climbs}, reverse=True)


def test_an_end_that_meets_the_other_end_of_its_track() -> None:
    """A plain circle without any junction is drawn, as a track that comes back to itself."""
    district = build([track("circle", 9), track("lead", 5)], links=[("circle.to", "circle.from")])
    puzzle = set_up(district, {"circle": "L a"}, heads={"L": "to"})
    ground = draw(puzzle)
    assert len(ground.plain) == 1
    assert Network.of(district).fillers == (f"{FILLER}0",)
    scene = make_scene(ground, puzzle, placed_at_start(puzzle))
    holds_everything_once(puzzle, scene)


def test_a_junction_whose_routes_close_a_triangle() -> None:
    """Three ends each joined to both others cannot have two sides; it is drawn all the same."""
    routes = [Route("a", "b", 1), Route("b", "c", 1), Route("c", "a", 1)]
    links = {"a": "one.to", "b": "two.from", "c": "three.from"}
    district = build([track("one", 4), track("two", 3), track("three", 3)], [junction("D", links, routes)])
    puzzle = set_up(district, {"one": "L"}, heads={"L": "to"})
    ground = draw(puzzle)
    assert not loose_ends(ground)


def test_junctions_end_to_end_and_open_ends() -> None:
    """Legs that meet legs, and ends that meet nothing, have rail too."""
    tracks = [track("a", 4), track("b", 4), track("c", 4)]
    one = turnout("A", "a.to", "b.from", "B.diverging")
    routes = [Route("points", "straight", 1), Route("points", "diverging", 1)]
    two = junction("B", {"points": "c.from"}, routes)
    made = replace(two[0], ends=("points", "straight", "diverging"), kind="turnout")
    district = build(tracks, [one, (made, two[1])])
    ground = draw(set_up(district, {"a": "L"}, heads={"L": "to"}))
    assert not loose_ends(ground)
    assert "B" in {mark.place for mark in ground.marks if mark.kind == "bumper"}


# -- scale, hints, sameness


def test_spurs_are_to_scale() -> None:
    """Two spurs of different length, neither very short, are drawn in the proportion of their lengths."""
    ground = scene_of("marrow_point_make_up").schematic
    assert ground.scale is not None
    for name, rail in ground.tracks.items():
        assert rail.length == pytest.approx(ground.scale * ground.district.track(name).length, abs=1), name
    even = scene_of("marrow_point_make_up", False).schematic
    assert len({round(rail.length) for rail in even.tracks.values()}) == 1


def test_hints_of_the_file_are_followed() -> None:
    """A lane and a side that the file asks for are those of the drawing."""
    puzzle = puzzle_of("cask_lane_facing")

    def height(hints: DrawingHints, name: str) -> float:
        runs = draw(replace(puzzle, drawing=hints)).tracks
        return runs[name].points[0][1] - runs["Lane lead"].points[0][1]

    for side, sign in (("up", -1), ("down", 1)):
        assert height(DrawingHints(sides={"cider works": side}), "cider works") * sign > 0
        assert height(DrawingHints(sides={"run-around": side}), "run-around") * sign > 0
    for lane in (-3, -1, 2):
        assert height(DrawingHints(lanes={"run-around": lane}), "run-around") == lane * 54


@pytest.mark.parametrize("name", GOLDEN)
def test_golden_pictures(name: str) -> None:
    """The picture is, text for text, the one that was looked at and kept (``python -m tests.drawn``)."""
    kept = (FOLDER / f"{name.replace(' ', '_')}.svg").read_text(encoding="utf-8")
    assert picture(GOLDEN[name]()) == kept


def _only_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    """No choice is made without it, however small."""
    monkeypatch.setattr(facing, "first_turned", lambda *_: None)
    monkeypatch.setattr(lanes, "first_lanes", lambda *_: None)


@pytest.mark.parametrize("name", GOLDEN)
def test_golden_pictures_do_not_hang_on_the_solver(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that searches otherwise (another seed, no presolve, more linear programming, as another
    version of OR-Tools might) comes to the same text: all choices are proved optima, the first of several."""
    search = cp_model.CpSolver.solve

    def otherwise(solver: cp_model.CpSolver, *model: object) -> object:
        solver.parameters.random_seed = 12345
        solver.parameters.cp_model_presolve = False
        solver.parameters.linearization_level = 2
        solver.parameters.randomize_search = True
        return search(solver, *model)

    monkeypatch.setattr(cp_model.CpSolver, "solve", otherwise)
    _only_the_solver(monkeypatch)
    kept = (FOLDER / f"{name.replace(' ', '_')}.svg").read_text(encoding="utf-8")
    assert picture(GOLDEN[name]()) == kept


_SVG = Metrics(slant=54, stub=12, leg=54, turn=27, gap=26, radius=30, fan=40, rows=1, shortest=90)
_MANY_LOOPS = 32
"""Seed of a random plan with 51 pieces that bends at four links."""
_LETTERS = Metrics(slant=2, stub=1, leg=3, turn=2, gap=3, radius=3, fan=4, rows=1, shortest=8)


@pytest.mark.parametrize("seed", range(44))
def test_small_choices_are_those_of_the_solver(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Plain searches and CP-SAT choose the same facing and the same lanes, of several best ones the same."""
    metrics = (_SVG, _LETTERS)[seed % 2]
    network = Network.of(random_plan(seed, most=9).district)
    layout = lay_out(network, face(network))
    columns = place_columns(layout, metrics)
    soon = choose_lanes(layout, columns, metrics)
    _only_the_solver(monkeypatch)
    assert layout.facing == face(network)
    assert soon == choose_lanes(layout, columns, metrics)


@pytest.mark.parametrize("name", [path.stem for path in FILES if path.parent.name == "puzzles"])
def test_the_files_are_drawn_without_the_solver(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Loading CP-SAT takes longer than all else that ``check`` does; every file is small enough."""
    monkeypatch.setattr(cp_model, "CpModel", None)
    assert terminal_picture(puzzle_of(name))


def test_a_large_plan_is_left_to_the_solver() -> None:
    """Fifteen tracks between two ladders are too many for the plain search of lanes, and a transfer table is
    none of its business; thirty tracks with loops in loops may bend in too many places."""
    for puzzle in (yard(18), DISTRICTS["transfer table"]()):
        network = Network.of(puzzle.district)
        layout = lay_out(network, face(network))
        columns = place_columns(layout, _LETTERS)
        start = greedy_lanes(layout, columns, _LETTERS)
        assert first_lanes(layout, columns, _LETTERS, start, 20) is None
        assert choose_lanes(layout, columns, _LETTERS)
    network = Network.of(random_plan(_MANY_LOOPS).district)
    bends, turns = dict.fromkeys(network.links, 1000), [(0, 2)] * len(network.groups)
    assert first_turned(network, bends, turns) is None and face(network).bends


def test_the_same_file_gives_the_same_picture() -> None:
    """Also in another process, in which sets come in another order."""
    code = "from tests.random_plans import random_plan\nfrom tests.drawn import picture\n"
    code += "print(picture(random_plan(5)))"
    texts = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(texts) == 1


def test_sixty_tracks() -> None:
    """A yard of sixty tracks is drawn without a crossing, every name in its place."""
    puzzle = yard(60)
    scene = make_scene(draw(puzzle), puzzle, placed_at_start(puzzle))
    assert len(puzzle.district.tracks) == 60
    assert not misplaced(scene)
    assert not crossings(scene.schematic)
    assert {each.name for each in puzzle.district.tracks} <= {label.text for label in scene.schematic.labels}


# -- vehicles


@pytest.mark.parametrize("name", NAMED)
def test_the_start_is_one_that_the_referee_allows(name: str) -> None:
    """Where vehicles are drawn, within what spots and fixed places leave open, they may stand."""
    puzzle = puzzle_of(name)
    check_start(Ground.of(puzzle), puzzle, placed_at_start(puzzle))


@pytest.mark.parametrize("name", NAMED)
def test_vehicles_stand_on_their_rail_in_order(name: str) -> None:
    """Each body's middle line lies on the rail of its track, and couplings join neighbors of a string."""
    puzzle, scene = puzzle_of(name), scene_of(name)
    spines = {body.name: body.spine for body in scene.bodies}
    for string in puzzle.start.strings:
        for one, two in pairwise(string.vehicles):
            end, start = spines[one].points[-1], spines[two].points[0]
            assert hypot(end[0] - start[0], end[1] - start[1]) < 0.01
        if string.track in scene.schematic.tracks:
            rail = scene.schematic.tracks[string.track]
            where = [share_on(rail, spines[vehicle].at(0.5)[0]) for vehicle in string.vehicles]
            assert where == sorted(where)
    coupled = [(item.one, item.other) for item in scene.couplings]
    assert coupled == [pair for string in puzzle.start.strings for pair in pairwise(string.vehicles)]


def share_on(rail: Rail, point: Point) -> float:
    """How far along a rail the point is that lies nearest to another, which must be on it."""
    steps = [step / 2000 for step in range(2001)]
    best = min(steps, key=lambda step: hypot(*(a - b for a, b in zip(rail.at(step)[0], point, strict=True))))
    near = rail.at(best)[0]
    assert hypot(near[0] - point[0], near[1] - point[1]) < 1
    return best


def test_noses_point_where_locomotives_head() -> None:
    """A locomotive that heads for the ``to`` end has its tip there; one that heads for ``from``, at the other
    end."""
    for heads, sign in (("to", 1), ("from", -1)):
        puzzle = set_up(build([track("lead", 9)]), {"lead": "L"}, heads={"L": heads})
        (body,) = make_scene(draw(puzzle), puzzle, placed_at_start(puzzle)).bodies
        (start, level), (end, _) = body.spine.points[0], body.spine.points[-1]
        assert body.nose == sign
        on_the_rail = [x for x, y in body.outline if y == level]
        assert len(on_the_rail) == 1
        assert abs(on_the_rail[0] - (end if sign > 0 else start)) < 2


def test_a_point_along_a_way() -> None:
    """Half way along a straight spur is the middle of its rail; the other way round the direction turns."""
    ground = scene_of("first_spur").schematic
    way = Way(Cell("ice house"), 1)
    length = ground.district.track("ice house").length
    (x, y), (along, across) = ground.point(way, length // 2)
    (first, _), (last, _) = ground.rail(way).points[0], ground.rail(way).points[-1]
    assert x == pytest.approx((first + last) / 2, abs=0.1)
    assert (along, across) == (1, 0)
    assert ground.point(way.reverse(), length)[0] == (first, y)
    assert ground.point(way.reverse(), 0)[1] == (-1, 0)


# -- films and files


@cache
def film_of(name: str) -> tuple[Puzzle, Plan]:
    puzzle = puzzle_of(name)
    plan = solve(puzzle).plan
    assert plan is not None
    return puzzle, plan


@pytest.mark.parametrize("name", ["cask_lane_facing", "marrow_point_turntable", "millbrook_wye"])
def test_a_film_has_a_frame_for_each_move(name: str) -> None:
    """One at the start and one after each run; each holds every vehicle once; no two ids are the same."""
    puzzle, plan = film_of(name)
    scenes = scenes_of(draw(puzzle), puzzle, plan)
    assert len(scenes) == len(plan.runs) + 1
    assert not any(misplaced(scene) for scene in scenes)
    root = ET.fromstring(film_svg(scenes, [f"caption {n} <&>" for n in range(len(scenes))]))
    frames = [group for group in root.iter(f"{SVG}g") if group.get("data-frame")]
    assert len(frames) == len(scenes)
    for number, frame in enumerate(frames):
        held = [group.get("data-vehicle") for group in frame.iter(f"{SVG}g") if group.get("data-vehicle")]
        assert sorted(filter(None, held)) == sorted(map(clean, puzzle.vehicles))
        assert f"caption {number} <&>" in "".join(text.text or "" for text in frame.iter(f"{SVG}text"))
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))


def test_the_last_frame_is_after_the_final_cuts() -> None:
    """The locomotive that has done its work is not coupled to the car any more."""
    puzzle, plan = film_of("cask_lane_facing")
    assert plan.final_cuts
    last = scenes_of(draw(puzzle), puzzle, plan)[-1]
    assert not {(item.one, item.other) for item in last.couplings} & {*plan.final_cuts}


def test_a_table_is_drawn_as_it_lies() -> None:
    """In the course of the film the bridge turns to other tracks, with its ends at the ends of their rail."""
    puzzle, plan = film_of("marrow_point_turntable")
    scenes = scenes_of(draw(puzzle), puzzle, plan)
    assert len({scene.lined["Table"] for scene in scenes}) > 1
    table = puzzle.district.tables[0]
    for index, (side, outside) in enumerate(table.meets):
        rail = scenes[0].schematic.tracks[outside.place]
        end = rail.points[0 if outside.end == "from" else -1]
        bridge = scenes[0].schematic.tables["Table"].bridges[index]
        here = bridge.points[0 if side == "from" else -1]
        assert hypot(here[0] - end[0], here[1] - end[1]) < 0.01


def hostile_puzzle() -> Puzzle:
    """A district whose every name is hostile."""
    names = [f"{text} {number}" for number, text in enumerate(HOSTILE)]
    lead, spur, main = names[:3]
    tracks = [track(lead, 40), track(spur, 5), track(main, 6, spots={names[3]: 2, names[4]: 4})]
    routes = [Route("points", "straight", 1), Route("points", "diverging", 1)]
    device = Junction(names[5], "turnout <&>", ("points", "straight", "diverging"), tuple(routes))
    links = (
        (End(names[5], "points"), End(lead, "to")),
        (End(names[5], "straight"), End(main, "from")),
        (End(names[5], "diverging"), End(spur, "from")),
    )
    district = District(tuple(tracks), (device,), (), links)
    plain = [f"v{n}" for n in range(len(names))]
    base = set_up(build([track("t", 99)]), {"t": " ".join(plain)}, heads={"v0": "to"})
    renamed = dict(zip(plain, names, strict=True))
    return replace(
        base,
        district=district,
        cars=tuple(replace(car, name=renamed[car.name]) for car in base.cars),
        locomotives=tuple(replace(item, name=renamed[item.name]) for item in base.locomotives),
        start=replace(
            base.start,
            strings=tuple(
                replace(string, track=lead, vehicles=tuple(names)) for string in base.start.strings
            ),
            heads={names[0]: "to"},
        ),
        title=" ".join(HOSTILE),
    )


def test_hostile_names() -> None:
    """Whatever letters names hold, the SVG is well-formed, holds nothing but pictures, and every vehicle; no
    label overlaps."""
    puzzle = hostile_puzzle()
    scene = make_scene(draw(puzzle), puzzle, placed_at_start(puzzle))
    assert not misplaced(scene)
    holds_everything_once(puzzle, scene)
    text = scene_svg(scene)
    kinds = {element.tag.removeprefix(SVG) for element in ET.fromstring(text).iter()}
    assert kinds <= {"svg", "title", "desc", "style", "rect", "path", "g", "text", "circle"}
    assert "\u202e" not in text and "\x00" not in text
    text.encode("utf-8")


# -- text


def test_text_is_never_wider_than_measured() -> None:
    """Each printable letter of ASCII, drawn with whatever sans-serif font there is, is no wider than it is
    said to be; without a font there is nothing to measure."""
    widths = drawn_widths([chr(code) for code in range(33, 127)])
    if not any(widths.values()):
        pytest.skip("no font is installed")
    too_wide = {letter: width for letter, width in widths.items() if width > text_width(letter, 1)}
    assert not too_wide


def drawn_widths(letters: list[str]) -> dict[str, float]:
    """How far each letter moves the next one on, as a share of the size of the type: measured in pixels, as
    how much farther twenty-one of them reach than one."""
    found = {}
    for letter in letters:
        escaped = {"<": "&lt;", "&": "&amp;", '"': "&quot;"}.get(letter, letter)
        font = 'font-size="20" font-family="Helvetica, Arial, DejaVu Sans"'
        text = f'<text x="5" y="30" {font}>{escaped * 21}</text>'
        svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="520" height="40">{text}</svg>'
        inked = inked_columns(svg)
        single = inked_columns(svg.replace(escaped * 21, escaped))
        found[letter] = ((max(inked) - max(single)) / 20 / 20) if inked and single else 0.0
    return found


def inked_columns(svg: str) -> list[int]:
    """The columns of pixels in which anything is drawn."""
    import struct
    import zlib

    import numpy as np
    import resvg_py

    data = bytes(resvg_py.svg_to_bytes(svg_string=svg))
    width, height = struct.unpack(">II", data[16:24])
    chunks, at = b"", 8
    while at < len(data):
        size = int.from_bytes(data[at : at + 4], "big")
        if data[at + 4 : at + 8] == b"IDAT":
            chunks += data[at + 8 : at + 8 + size]
        at += 12 + size
    rows = unfiltered(zlib.decompress(chunks), width * 4, height)
    alpha = np.array(rows, dtype=np.uint8).reshape(height, width, 4)[:, :, 3]
    return [int(column) for column in np.nonzero(alpha.max(axis=0))[0]]


def unfiltered(raw: bytes, stride: int, height: int) -> list[list[int]]:
    """The rows of a PNG of four bytes a pixel, by the five filters of its standard."""
    rows: list[list[int]] = []
    before = [0] * stride
    for number in range(height):
        start = number * (stride + 1)
        kind, line = raw[start], list(raw[start + 1 : start + 1 + stride])
        for index in range(stride):
            left = line[index - 4] if index >= 4 else 0
            up, corner = before[index], before[index - 4] if index >= 4 else 0
            line[index] = (line[index] + predicted(kind, left, up, corner)) & 255
        rows.append(line)
        before = line
    return rows


def predicted(kind: int, left: int, up: int, corner: int) -> int:
    if kind < 4:
        return (0, left, up, (left + up) // 2)[kind]
    guess = left + up - corner
    return min((left, up, corner), key=lambda value: abs(guess - value))


def test_shortened_texts_keep_their_tail() -> None:
    """A text too wide loses its middle, never its number, and fits."""
    text = "a very long name of a car 1958"
    for width in (20, 40, 60, 90):
        short = shortened(text, width, 10)
        assert text_width(short, 10) <= width and "…" in short
        assert short == "…" or short[-1] == "8"
    assert shortened(text, 1000, 10) == text


def test_png(tmp_path: Path) -> None:
    """A PNG begins as PNG files do, and is twice as wide as the drawing."""
    scene = scene_of("first_spur")
    data = png_bytes(scene_svg(scene))
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert int.from_bytes(data[16:20], "big") == 2 * scene.schematic.width


def test_png_without_its_package(monkeypatch: pytest.MonkeyPatch) -> None:
    """The message names the cure."""
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(DrawingError, match=r"pip install 'switchsolve\[png\]'"):
        png_bytes("<svg/>")


def test_marks_are_drawn() -> None:
    """What is closed, to be kept clear, limited or a spot is marked, and said in words."""
    names = ("glasshouse_switchback", "cask_lane_crossing", "quarry_hill_run_around", "millbrook_turn")
    said = {name: {label.text for label in scene_of(name).schematic.labels} for name in names}
    assert "no locomotives" in said["glasshouse_switchback"]
    assert "Front Street crossing, keep clear" in said["cask_lane_crossing"]
    assert "6 cars at most" in said["quarry_hill_run_around"]
    kinds = {name: {mark.kind for mark in scene_of(name).schematic.marks} for name in names}
    assert {"closed", "spot", "bumper", "entrance"} <= kinds["glasshouse_switchback"]
    assert {"crossing", "seam"} <= kinds["cask_lane_crossing"]
    assert "limit" in kinds["quarry_hill_run_around"]
    assert "clear" in kinds["millbrook_turn"]


def test_tracks_tell_their_length() -> None:
    """The title of a track's path, shown where the pointer rests, has its name and its usable length."""
    root = ET.fromstring(scene_svg(scene_of("first_spur")))
    titles = {path.findtext(f"{SVG}title") for path in root.iter(f"{SVG}path")} - {None}
    assert {"ice house, 9 in", "Lane tail, 18 in"} <= titles


def test_loads_reads_the_hints() -> None:
    """The section [drawing] of a file comes to the drawing."""
    text = (ROOT / "puzzles" / "first_spur.toml").read_text(encoding="utf-8")
    for side, sign in (("up", -1), ("down", 1)):
        puzzle = loads(text + f'\n[drawing]\nsides = {{ "ice house" = "{side}" }}\n')
        tracks = draw(puzzle).tracks
        climb = tracks["ice house"].points[-1][1] - tracks["Lane lead"].points[0][1]
        assert climb * sign > 0


def test_every_track_has_its_name() -> None:
    """In the puzzles each track's whole name is there to read."""
    for path in puzzle_files():
        scene = scene_of(path.stem)
        names = {label.text for label in scene.schematic.labels if label.kind == "track"}
        assert names == {each.name for each in puzzle_of(path.stem).district.tracks}, path.stem
