"""The replay page in a real browser: Debian's chromium, headless, driven by selenium.

Without chromium these tests are skipped, and say how to get it; where ``CI`` is set they fail instead.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from math import hypot
from pathlib import Path
from typing import Any

import pytest

from switchsolve.drawing import draw, lined_after
from switchsolve.drawing.text import clean
from switchsolve.page import page_html
from switchsolve.plan import Solution, Verdict
from tests.pages import ends_of, made

CURE = "apt-get install chromium chromium-driver (Debian), then run the tests again"
SECONDS = 60.0
"""How long to wait for what must come; machines may be slow."""

Browser = Any
"""A selenium driver."""


def programs() -> tuple[str, str]:
    """Where chromium and its driver are.  Without them the test is skipped, or fails where ``CI`` is set."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if chromium is not None and driver is not None:
        return chromium, driver
    told = f"no chromium or no chromedriver on the path: {CURE}"
    if os.environ.get("CI"):
        pytest.fail(told)
    pytest.skip(told)


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """One browser for all tests of this file."""
    chromium, driver = programs()
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(argument)
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('profile')}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    browser = webdriver.Chrome(options=options, service=Service(driver))
    yield browser
    browser.quit()


@pytest.fixture
def browser(started: Browser) -> Iterator[Browser]:
    """The browser as it is when nobody has asked for anything, with empty logs; afterwards every test asks
    for no errors on the console and no request but for pages of its own."""
    started.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
    started.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    size(started, 1280, 900)
    started.get("about:blank")
    requests(started)
    started.get_log("browser")
    yield started
    assert [entry["message"] for entry in started.get_log("browser")] == []
    assert all(url.startswith(("file:", "data:,")) for url in requests(started))


def size(browser: Browser, width: int, height: int) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500},
    )


def requests(browser: Browser) -> list[str]:
    """The addresses of all that was asked for since the last time."""
    events = (json.loads(entry["message"])["message"] for entry in browser.get_log("performance"))
    sent = (event["params"] for event in events if event["method"] == "Network.requestWillBeSent")
    return [each["request"]["url"] for each in sent if each["request"]["url"] != "about:blank"]


def open_page(browser: Browser, folder: Path, html: str) -> None:
    file = folder / "page.html"
    file.write_text(html, encoding="utf-8")
    browser.get(file.as_uri())


def show(browser: Browser, folder: Path, name: str) -> None:
    open_page(browser, folder, made(name).html)


def ask(browser: Browser, script: str) -> Any:
    return browser.execute_script(f"return {script}")


def by_id(browser: Browser, name: str) -> Any:
    return browser.find_element("id", name)


def place(browser: Browser) -> float:
    """How many moves are done."""
    return float(ask(browser, "document.getElementById('slider').value"))


def wait(asked: Callable[[], bool]) -> None:
    end = time.monotonic() + SECONDS
    while not asked():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.02)


def press(browser: Browser, key: str) -> None:
    from selenium.webdriver import ActionChains

    ActionChains(browser).send_keys(key).perform()


def standing(browser: Browser) -> dict[str, list[tuple[float, float]]]:
    """The two ends of every vehicle, as the page has drawn them."""
    vehicles = "[...document.querySelectorAll('#live .vehicle')]"
    script = f"{vehicles}.map((each) => [each.dataset.name, each.dataset.ends])"
    found = {}
    for name, ends in ask(browser, script):
        x, y, to_x, to_y = map(float, ends.split())
        found[name] = [(x, y), (to_x, to_y)]
    return found


def stands_as_the_referee_says(browser: Browser, name: str, move: int, within: float = 0.15) -> bool:
    """Whether every vehicle is drawn where the referee says after so many moves, ``within`` drawing units."""
    page = made(name)
    assert page.replayed is not None and page.solution.plan is not None
    frames, count = page.replayed.frames, len(page.solution.plan.runs)
    frame = frames[-1] if move == count else frames[move]
    lined = lined_after(page.puzzle, page.solution.plan)[move]
    there = ends_of(page.puzzle, page.ground, frame.standing, lined)
    shown = standing(browser)
    assert set(shown) == {clean(vehicle) for vehicle in there}
    return all(
        min(near(shown[clean(vehicle)], ends), near(shown[clean(vehicle)], ends[::-1])) < within
        for vehicle, ends in there.items()
    )


def near(ends: list[tuple[float, float]], there: list[tuple[float, float]]) -> float:
    return max(hypot(a[0] - b[0], a[1] - b[1]) for a, b in zip(ends, there, strict=True))


def fast(browser: Browser) -> None:
    browser.execute_script("document.getElementById('speed').value = '4'")


def current(browser: Browser) -> list[int]:
    """The numbers of the entries that are marked as current."""
    script = "[...document.querySelectorAll('#moves li')].map((each) => each.getAttribute('aria-current'))"
    return [number for number, mark in enumerate(ask(browser, script)) if mark == "step"]


def test_without_a_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    """These tests never pass unseen: they fail where CI is set, and else are skipped with the cure."""
    monkeypatch.setenv("PATH", "")
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="apt-get install chromium"):
        programs()
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="apt-get install chromium"):
        programs()


# -- playing


@pytest.mark.parametrize("name", ["cask_lane_facing", "marrow_point_turntable", "coast_two_engines"])
def test_play(name: str, browser: Browser, tmp_path: Path) -> None:
    """Play goes from the start to the end by itself, through places between the moves; then every vehicle
    stands where the plan says, and the button says Play again."""
    show(browser, tmp_path, name)
    page = made(name)
    assert page.solution.plan is not None
    count = len(page.solution.plan.runs)
    assert stands_as_the_referee_says(browser, name, 0)
    assert not stands_as_the_referee_says(browser, name, count)
    fast(browser)
    by_id(browser, "play").click()
    assert by_id(browser, "play").text == "Pause"
    seen: set[float] = set()
    wait(lambda: seen.add(place(browser)) or place(browser) == count)
    assert len({value for value in seen if value % 1}) > 3
    wait(lambda: by_id(browser, "play").text == "Play")
    assert stands_as_the_referee_says(browser, name, count)
    assert current(browser) == [count]


def test_vehicles_glide_along_the_rail(browser: Browser, tmp_path: Path) -> None:
    """Wherever in a move the slider is put, the ends of every vehicle lie on drawn rail."""
    name = "millbrook_wye"
    show(browser, tmp_path, name)
    rails = [*made(name).ground.tracks.values(), *made(name).ground.cells.values()]
    lines = [rail.points for rail in rails]
    for value in (0.31, 0.77, 1.5, 2.2, 3.6, 4.45, 6.9):
        put(browser, value)
        for vehicle, ends in standing(browser).items():
            for end in ends:
                assert min(off(end, line) for line in lines) < 0.1, (vehicle, value)


def off(point: tuple[float, float], line: tuple[tuple[float, float], ...]) -> float:
    """How far a point is from a polyline."""
    best = 1e9
    for (ax, ay), (bx, by) in pairwise(line):
        square = (bx - ax) ** 2 + (by - ay) ** 2
        share = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / square if square else 0
        share = min(max(share, 0), 1)
        best = min(best, hypot(point[0] - ax - share * (bx - ax), point[1] - ay - share * (by - ay)))
    return best


def put(browser: Browser, value: float) -> None:
    """Set the slider, as a drag does."""
    script = "const slider = document.getElementById('slider'); slider.value = arguments[0];"
    browser.execute_script(f"{script} slider.dispatchEvent(new Event('input'))", value)


@pytest.mark.parametrize("name", ["marrow_point_front_street", "ferry_slip_float", "yard", "hostile"])
def test_after_every_move_vehicles_stand_where_the_plan_says(
    name: str, browser: Browser, tmp_path: Path
) -> None:
    """Scrubbed to the end of each move, forwards and back, all vehicles are drawn where the referee says."""
    show(browser, tmp_path, name)
    plan = made(name).solution.plan
    assert plan is not None
    for move in (*range(len(plan.runs) + 1), 1, 0):
        put(browser, move)
        assert stands_as_the_referee_says(browser, name, move), move


@pytest.mark.parametrize("name", ["cask_lane_facing", "glasshouse_switchback", "marrow_point_turntable"])
def test_a_glide_begins_and_ends_where_vehicles_stand(name: str, browser: Browser, tmp_path: Path) -> None:
    """A three-hundredth after the start of a move and before its end everything is within eight drawing units
    (a sixth of a car) of its place at rest: a move may go over a table twice, a long way."""
    show(browser, tmp_path, name)
    plan = made(name).solution.plan
    assert plan is not None
    for move in range(1, len(plan.runs) + 1):
        put(browser, move - 0.997)
        assert stands_as_the_referee_says(browser, name, move - 1, within=8), move
        put(browser, move - 0.003)
        assert stands_as_the_referee_says(browser, name, move, within=8), move
        assert not stands_as_the_referee_says(browser, name, move - 1, within=8), move


def test_what_finds_a_wrong_place_can_find_it(browser: Browser, tmp_path: Path) -> None:
    """In a page whose film is altered a vehicle stands where the plan does not say."""
    html = made("cask_lane_facing").html
    assert html.count('"length":5.6,') == 1
    open_page(browser, tmp_path, html.replace('"length":5.6,', '"length":5.2,'))
    assert not stands_as_the_referee_says(browser, "cask_lane_facing", 0)


# -- controls


def test_buttons(browser: Browser, tmp_path: Path) -> None:
    """Next shows one move and stops, Back takes it back, Last and First go to the ends; the text, the
    number and the current entry follow; at an end the buttons that lead beyond are marked."""
    show(browser, tmp_path, "cask_lane_facing")
    fast(browser)
    assert by_id(browser, "number").text == "Start" and current(browser) == [0]
    assert by_id(browser, "back").get_attribute("aria-disabled") == "true"
    by_id(browser, "forward").click()
    wait(lambda: place(browser) == 1)
    assert by_id(browser, "number").text == "Move 1 of 3" and current(browser) == [1]
    assert by_id(browser, "text").text.startswith("S&I 5 forward from Lane lead: pull THB 12")
    assert stands_as_the_referee_says(browser, "cask_lane_facing", 1)
    time.sleep(0.3)
    assert place(browser) == 1
    by_id(browser, "back").click()
    assert place(browser) == 0 and current(browser) == [0]
    by_id(browser, "last").click()
    assert place(browser) == 3 and by_id(browser, "forward").get_attribute("aria-disabled") == "true"
    by_id(browser, "first").click()
    assert place(browser) == 0


def test_pause(browser: Browser, tmp_path: Path) -> None:
    """A second click on Play holds everything where it is, and a third goes on from there."""
    show(browser, tmp_path, "cask_lane_facing")
    by_id(browser, "play").click()
    wait(lambda: 0 < place(browser) < 1)
    by_id(browser, "play").click()
    held = place(browser)
    time.sleep(0.3)
    assert place(browser) == held and by_id(browser, "play").text == "Play"
    by_id(browser, "play").click()
    wait(lambda: place(browser) > held)


def test_speed(browser: Browser, tmp_path: Path) -> None:
    """The first move takes the seconds that its beats say, divided by the speed (measured in the page's own
    clock, one quarter allowed for the frames)."""
    show(browser, tmp_path, "first_spur")
    script = """
      const done = arguments[0], slider = document.getElementById("slider");
      const film = JSON.parse(document.getElementById("film").textContent);
      const seconds = film.moves[0].beats.reduce((sum, beat) => sum + beat.seconds, 0);
      document.getElementById("speed").value = "2";
      document.getElementById("forward").click();
      let first = 0, frames = 0;
      const look = (time) => {
        first = first || time;
        frames += 1;
        if (Number(slider.value) === 1) done([seconds, (time - first) / 1000, frames]);
        else requestAnimationFrame(look);
      };
      requestAnimationFrame(look);"""
    browser.set_script_timeout(SECONDS)
    wanted, taken, frames = browser.execute_async_script(script)
    assert taken >= 0.75 * wanted / 2
    if frames / taken > 20:  # a frame that comes late is not made up for
        assert taken <= 1.25 * wanted / 2 + 0.2


def test_scrubbing_with_the_mouse(browser: Browser, tmp_path: Path) -> None:
    """A click in the middle of the slider goes to the middle of the plan, told in words to a screen
    reader."""
    from selenium.webdriver import ActionChains

    show(browser, tmp_path, "cask_lane_facing")
    ActionChains(browser).move_to_element(by_id(browser, "slider")).click().perform()
    assert place(browser) == pytest.approx(1.5, abs=0.05)
    assert current(browser) == [2] and by_id(browser, "number").text == "Move 2 of 3"
    told = by_id(browser, "slider").get_attribute("aria-valuetext")
    assert told is not None and told.startswith("Move 2 of 3, ") and told.endswith(" percent done")


def test_keys(browser: Browser, tmp_path: Path) -> None:
    """Right, left, end, home and space, with the focus on nothing, on the slider and in the list."""
    from selenium.webdriver import Keys

    show(browser, tmp_path, "cask_lane_facing")
    fast(browser)
    press(browser, Keys.ARROW_RIGHT)
    wait(lambda: place(browser) == 1)
    press(browser, Keys.ARROW_LEFT)
    assert place(browser) == 0
    press(browser, Keys.END)
    assert place(browser) == 3
    press(browser, Keys.HOME)
    assert place(browser) == 0
    press(browser, Keys.SPACE)
    wait(lambda: 0 < place(browser) < 1)
    press(browser, Keys.SPACE)
    held = place(browser)
    time.sleep(0.2)
    assert place(browser) == held
    browser.execute_script("document.getElementById('slider').focus()")
    press(browser, Keys.END)
    press(browser, Keys.ARROW_LEFT)
    assert place(browser) == 2
    press(browser, Keys.ARROW_DOWN)
    assert place(browser) == 1
    browser.execute_script("document.querySelector('#moves li:nth-child(4) button').focus()")
    press(browser, Keys.HOME)
    assert place(browser) == 0
    press(browser, Keys.ENTER)
    wait(lambda: place(browser) == 3)
    browser.execute_script("document.getElementById('speed').focus()")
    press(browser, Keys.HOME)
    assert place(browser) == 3, "in the choice of speed the keys are its own"


def test_impatient_steps(browser: Browser, tmp_path: Path) -> None:
    """Next while a move is shown finishes it at once, so that two presses never lose a move."""
    show(browser, tmp_path, "cask_lane_facing")
    by_id(browser, "forward").click()
    wait(lambda: 0 < place(browser) < 1)
    by_id(browser, "forward").click()
    assert place(browser) == 1
    time.sleep(0.2)
    assert place(browser) == 1


def test_a_click_on_an_entry_shows_its_move(browser: Browser, tmp_path: Path) -> None:
    """From its start to its end, and no farther."""
    show(browser, tmp_path, "cask_lane_facing")
    fast(browser)
    browser.find_elements("css selector", "#moves button")[2].click()
    assert 1 <= place(browser) <= 2 and current(browser) in ([1], [2])
    wait(lambda: place(browser) == 2)
    assert stands_as_the_referee_says(browser, "cask_lane_facing", 2) and current(browser) == [2]


# -- who sees it, and how


def test_reduced_motion(browser: Browser, tmp_path: Path) -> None:
    """Where the system asks for less motion nothing glides: no place between two moves is ever shown, by
    Next or by Play."""
    asked = [{"name": "prefers-reduced-motion", "value": "reduce"}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": asked})
    show(browser, tmp_path, "cask_lane_facing")
    fast(browser)
    by_id(browser, "forward").click()
    assert place(browser) == 1
    by_id(browser, "play").click()
    seen: set[float] = set()
    wait(lambda: seen.add(place(browser)) or place(browser) == 3)
    assert seen <= {1.0, 2.0, 3.0} and 2.0 in seen


def test_a_narrow_screen(browser: Browser, tmp_path: Path) -> None:
    """On 360 pixels the page does not scroll sideways, only the picture does; all controls are in sight and
    large enough for a finger; the running locomotive is kept in sight."""
    size(browser, 360, 740)
    show(browser, tmp_path, "marrow_point_front_street")
    assert ask(browser, "document.documentElement.scrollWidth") <= 360
    assert ask(browser, "document.getElementById('picture').scrollWidth") > 500
    for element in browser.find_elements("css selector", "#controls button, #controls select, #moves button"):
        box = element.rect
        assert box["x"] >= 0 and box["x"] + box["width"] <= 360 and box["height"] >= 40
    plan = made("marrow_point_front_street").solution.plan
    assert plan is not None
    for move in range(1, len(plan.runs) + 1):
        put(browser, move - 0.01)
        assert min(margins(browser)) >= 0, move


def margins(browser: Browser) -> list[float]:
    """How far the running locomotive is from each side of the frame of the picture."""
    return list(
        ask(
            browser,
            "(() => { const box = document.querySelector('#live .running .body').getBoundingClientRect();"
            " const frame = document.getElementById('picture').getBoundingClientRect();"
            " return [box.left - frame.left, frame.right - box.right,"
            " box.top - frame.top, frame.bottom - box.bottom]; })()",
        )
    )


@pytest.mark.parametrize("width, height", [(1280, 800), (360, 740)])
def test_a_large_district(width: int, height: int, browser: Browser, tmp_path: Path) -> None:
    """A picture larger than the screen stays in a frame that leaves room for the controls, scrolls with the
    running locomotive, and can be seen as a whole; a small one has no such choice."""
    size(browser, width, height)
    show(browser, tmp_path, "yard")
    room = "['scrollWidth', 'clientWidth', 'scrollHeight', 'clientHeight'].map((each) => picture[each])"
    ahead, wide, down, high = ask(browser, room)
    assert ahead > wide and down > high and high <= 0.6 * height
    for place_now in (1, 4.5, 21.2, 39):
        put(browser, place_now)
        assert min(margins(browser)) >= 0, place_now
    by_id(browser, "whole").click()
    assert by_id(browser, "whole").get_attribute("aria-pressed") == "true"
    ahead, wide, down, high = ask(browser, room)
    assert ahead <= wide + 1 and down <= high + 1
    by_id(browser, "whole").click()
    assert ask(browser, room)[0] > wide
    if width > 500:
        show(browser, tmp_path, "cask_lane_facing")
        assert not by_id(browser, "whole").is_displayed()


def test_print(browser: Browser, tmp_path: Path) -> None:
    """Wherever the plan stands, paper has the start as a picture, then each move in words and a picture of
    how everything stands after it, as wide as the sheet; no controls. A PDF can be made."""
    show(browser, tmp_path, "marrow_point_front_street")
    put(browser, 2.5)
    assert not shown(browser, "#static") and shown(browser, "#live") and not shown(browser, ".frame")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    assert shown(browser, "#static") and shown(browser, "h1") and shown(browser, ".caution")
    for hidden in ("#live", "#controls", "#now", "details", "#trail"):
        assert not shown(browser, hidden), hidden
    entries = browser.find_elements("css selector", "#moves li")
    assert len(entries) == 15 and all(entry.is_displayed() for entry in entries)
    frames = browser.find_elements("css selector", "#moves .frame")
    assert len(frames) == 14 and all(frame.size["width"] > 500 for frame in frames)
    assert all(frame.size["height"] > 60 for frame in frames)
    assert ask(browser, "(() => { const list = document.getElementById('moves');"
                        " return list.scrollHeight - list.clientHeight; })()") <= 1  # fmt: skip
    pdf = browser.execute_cdp_cmd("Page.printToPDF", {})["data"]
    assert base64.b64decode(pdf).startswith(b"%PDF")


def shown(browser: Browser, selector: str) -> bool:
    """Whether an element takes room."""
    script = f"document.querySelector({json.dumps(selector)}).getClientRects().length"
    return bool(ask(browser, script))


def test_without_script(browser: Browser, tmp_path: Path) -> None:
    """The start and all moves can still be seen and read; controls that would do nothing are not shown."""
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    show(browser, tmp_path, "cask_lane_facing")
    assert by_id(browser, "static").is_displayed() and not by_id(browser, "controls").is_displayed()
    assert all(entry.is_displayed() for entry in browser.find_elements("css selector", "#moves li"))


def test_what_a_screen_reader_is_told(browser: Browser, tmp_path: Path) -> None:
    """The picture has a name and says who stands where, now and not only at the start; the slider and every
    button have a name; the entries are a list; what is said of a move is in a polite live region."""
    show(browser, tmp_path, "cask_lane_facing")
    put(browser, 1)
    nodes = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    told: dict[str, list[dict[str, Any]]] = {}
    for node in nodes:
        if not node.get("ignored"):
            told.setdefault(node["role"]["value"], []).append(node)
    (picture,) = [*told.get("img", []), *told.get("image", [])]
    assert picture["name"]["value"].startswith("Schematic: Cask Lane")
    assert "THB 12 stands on west street." in picture["name"]["value"]
    (slider,) = told["slider"]
    assert slider["name"]["value"] == "Place in the plan"
    names = [button["name"]["value"] for button in told["button"]]
    assert all(names) and any(name.startswith("2 S&I 5 back from Lane tail") for name in names)
    assert len(told["listitem"]) == 4
    (status,) = told["status"]
    assert {"name": "live", "value": {"type": "token", "value": "polite"}} in status["properties"]
    assert "pull THB 12 to west street" in by_id(browser, "now").text


def test_turnouts_show_how_they_are_lined(browser: Browser, tmp_path: Path) -> None:
    """Of each turnout that the plan uses one route is drawn solid and the other leg dashed; those of the move
    that is shown are bolder; the running locomotive has a flag."""
    show(browser, tmp_path, "cask_lane_facing")
    put(browser, 1.5)  # back by way of the run-around: both turnouts at its ends diverge
    classes = ask(browser, "[...document.querySelectorAll('.route')].map((each) => each.className.baseVal)")
    assert classes == ["route", "route lined used", "route lined", "route", "route", "route lined used"]
    widths = ask(
        browser,
        "['.route.used', '.route.lined:not(.used)', '.movable .leg'].map((each) =>"
        " parseFloat(getComputedStyle(document.querySelector(each)).strokeWidth))",
    )
    assert widths == sorted(widths, reverse=True) and len(set(widths)) == 3
    dashes = ask(browser, "getComputedStyle(document.querySelector('.movable .leg')).strokeDasharray")
    assert dashes != "none"
    assert by_id(browser, "live").find_element("css selector", ".flag").is_displayed()
    (running,) = browser.find_elements("css selector", "#live .running")
    assert running.get_attribute("data-name") == "S&I 5"


# -- nothing in, nothing out


def test_hostile_names_do_nothing(browser: Browser, tmp_path: Path) -> None:
    """Names that would be markup or script are shown as they are, and the page works to its end."""
    show(browser, tmp_path, "hostile")
    assert ask(browser, "document.title") == clean(made("hostile").puzzle.title)
    assert ask(browser, "document.scripts.length") == 2
    put(browser, 2)
    told = ask(browser, "document.getElementById('standing').textContent")
    assert "</svg><script>alert(1)</script> 2" in told
    names = [clean(name) for name in made("hostile").puzzle.vehicles]
    assert sorted(standing(browser)) == sorted(names)


def test_a_page_without_a_plan(browser: Browser, tmp_path: Path) -> None:
    """It opens without a script, and without errors."""
    puzzle = made("cask_lane_facing").puzzle
    open_page(browser, tmp_path, page_html(puzzle, Solution(Verdict.IMPOSSIBLE, None), None, draw(puzzle)))
    assert by_id(browser, "static").is_displayed() and "no plan to replay" in by_id_text(browser)


def by_id_text(browser: Browser) -> str:
    return str(ask(browser, "document.body.textContent"))


def test_a_foreign_script_or_picture_is_refused(started: Browser, tmp_path: Path) -> None:
    """The page's policy stops both, which shows on the console; and without the policy the request that the
    other tests look for is seen."""
    html = made("cask_lane_facing").html
    foreign = '<img src="http://127.0.0.1:9/x.png" alt=""><script>document.title = "taken"</script></body>'
    spoiled = html.replace("</body>", foreign)
    open_page(started, tmp_path, spoiled)
    assert started.title != "taken"
    told = [entry["message"] for entry in started.get_log("browser")]
    assert len([text for text in told if "Content Security Policy" in text]) == 2
    started.get("about:blank")
    requests(started)
    open_page(started, tmp_path, spoiled.replace("Content-Security-Policy", "x-none"))
    assert started.title == "taken"
    assert "http://127.0.0.1:9/x.png" in requests(started)
    started.get("about:blank")
