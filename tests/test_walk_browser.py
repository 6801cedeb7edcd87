"""Walking by hand in a real browser: Debian's chromium, headless, driven by selenium.

Without chromium these tests are skipped, and say how to get it; where ``CI`` is set they fail instead.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import Any
from xml.etree import ElementTree

import pytest

from switchsolve.drawing import draw
from switchsolve.drawing.text import clean
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.walking import Walk
from switchsolve.walking.picture import layer
from switchsolve.walking.server import WalkServer
from tests.files import puzzle_files
from tests.test_drawing import hostile_puzzle
from tests.test_page_browser import Browser, ask, by_id, press, requests, size, started, wait

__all__ = ["started"]

ROOT = Path(__file__).parent.parent
PUZZLES = [path.stem for path in puzzle_files()]


@pytest.fixture
def browser(started: Browser) -> Iterator[Browser]:
    """The browser with empty logs, and with nothing moving; afterwards every test asks for no errors on the
    console, and no request but to the own machine."""
    calm(started, True)
    size(started, 1280, 900)
    started.get("about:blank")
    requests(started)
    started.get_log("browser")
    yield started
    started.get("about:blank")
    assert [entry["message"] for entry in started.get_log("browser")] == []
    assert all(url.startswith(("http://127.0.0.1:", "data:,")) for url in requests(started))


def calm(browser: Browser, is_calm: bool) -> None:
    features = [{"name": "prefers-reduced-motion", "value": "reduce" if is_calm else "no-preference"}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": features})


@contextmanager
def served(browser: Browser, puzzle: Puzzle) -> Iterator[WalkServer]:
    """The page of a walk, opened."""
    with WalkServer(puzzle, seconds=60, proof_seconds=60) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        browser.get(server.url)
        wait(lambda: ask(browser, "document.body.dataset.version") is not None)
        yield server
        browser.get("about:blank")
        server.shutdown()


def puzzle_of(name: str) -> Puzzle:
    return load(ROOT / "puzzles" / f"{name}.toml")


STEP = """
const [way, left, stop, back] = arguments, done = arguments[arguments.length - 1];
const before = document.body.dataset.version;
const pick = (within, number) => {
  const all = [...document.querySelectorAll(within + ' button')];
  if (all.length) all[number % all.length].click();
};
const words = (within) => {
  const on = document.querySelector(within + ' button[aria-pressed="true"]');
  return on ? on.dataset.words : '';
};
const seen = () => [...document.querySelectorAll('.stops button')].map((each) =>
  (each.querySelector('.count').nextSibling.textContent).trim());
let chosen = null;
if (back) document.getElementById('undo').click();
else {
  pick('#who', way);
  pick('#leaves', left);
  const all = document.querySelectorAll('.stops button'), at = stop % all.length;
  chosen = [words('#who'), words('#leaves'), seen()[at]];
  all[at].click();
}
const look = () => {
  if (document.body.dataset.version === before) { setTimeout(look, 5); return; }
  const text = (id) => document.getElementById(id).textContent;
  done({
    chosen,
    counts: ['moves', 'couplings', 'cuts'].map((id) => Number(text(id))),
    vehicles: [...document.querySelectorAll('#live g.vehicle')].map((each) =>
      [each.dataset.vehicle, each.querySelector('.body').getAttribute('d')]),
    standing: text('standing'),
    steps: document.querySelectorAll('#steps li').length,
    ways: [...document.querySelectorAll('#who button')].map((each) => each.dataset.words),
    stops: seen(),
    who: words('#who'),
    isDone: document.getElementById('now').classList.contains('done'),
  });
};
look();
"""


class Hand:
    """A random hand at the page, and beside it a walk of its own that is told the words that were clicked."""

    def __init__(self, browser: Browser, puzzle: Puzzle, seed: int) -> None:
        self.browser, self.puzzle, self.random = browser, puzzle, Random(seed)
        self.walk, self.ground = Walk(puzzle), draw(puzzle)

    def step(self) -> None:
        """One step, or one back; then page and Python must agree."""
        back = bool(self.walk.steps) and (self.random.random() < 0.05 or not self.walk.choices)
        drawn = [self.random.randrange(1000) for _ in range(3)]
        shown = self.browser.execute_async_script(STEP, *drawn, back)
        if back:
            self.walk.undo()
        else:
            self.walk.go(self.number_of(*shown["chosen"]))
        self.compare(shown)

    def number_of(self, who: str, leaves: str, goes: str) -> int:
        who = who.removesuffix(" (goes on, no new move)")
        leaves = "" if leaves == "nothing, all stay coupled" else leaves
        (number,) = [
            number
            for number, choice in enumerate(self.walk.choices)
            if (clean(choice.who), clean(choice.leaves), clean(choice.goes)) == (who, leaves, goes)
        ]
        return number

    def compare(self, shown: dict[str, Any]) -> None:
        walk, here = self.walk, self.walk.here
        picture, words = layer(self.puzzle, self.ground, here.placed, here.standing.lined)
        root = ElementTree.fromstring(f"<svg>{picture}</svg>")
        vehicles = [
            [each.get("data-vehicle"), body.get("d")]
            for each in root.iter("g")
            if each.get("data-vehicle") is not None
            for body in each.iter("path")
        ]
        assert shown["vehicles"] == vehicles and shown["standing"] == words
        assert shown["counts"] == [here.moves, here.couplings, here.cuts + len(walk.last_cuts)]
        assert (shown["steps"], shown["isDone"]) == (len(walk.steps), walk.is_done)
        ways = list(dict.fromkeys(clean(choice.who) for choice in walk.choices))
        assert [way.removesuffix(" (goes on, no new move)") for way in shown["ways"]] == ways
        mine = [one for one in walk.choices if clean(one.who) == shown["who"].split(" (goes")[0]]
        least = "" if any(not one.leaves for one in mine) else mine[0].leaves if mine else ""
        left = [one for one in mine if one.leaves == least]
        assert sorted(shown["stops"]) == sorted(clean(one.goes) for one in left)


def hand(browser: Browser, name: str, steps: int) -> None:
    puzzle = puzzle_of(name)
    with served(browser, puzzle):
        browser.set_script_timeout(15)
        random_hand = Hand(browser, puzzle, seed=steps)
        for _ in range(steps):
            random_hand.step()


@pytest.mark.parametrize("name, steps", [("first_spur", 200), ("marrow_point_turntable", 60)])
def test_a_random_hand_in_the_browser(name: str, steps: int, browser: Browser) -> None:
    """A random hand clicks so many steps; after each of them counts, who stands where (drawn and in words),
    the list of what is done and what can be chosen next are those of a walk in Python that is told the words
    clicked."""
    hand(browser, name, steps)


@pytest.mark.slow
@pytest.mark.parametrize("name", PUZZLES)
def test_a_random_hand_on_every_puzzle(name: str, browser: Browser) -> None:
    """The same with 201 steps on each puzzle."""
    hand(browser, name, 201)


# -- what a person does


def stops(browser: Browser) -> list[str]:
    return [each.text for each in browser.find_elements("css selector", "#goes button")]


def version(browser: Browser) -> int:
    return int(ask(browser, "document.body.dataset.version"))


def goes_on(browser: Browser, before: int) -> None:
    wait(lambda: version(browser) > before)


def test_by_keys_alone(browser: Browser) -> None:
    """Without a pointer: another way by the arrows, a stop by its number or by arrow and Enter, more or less
    left behind by L, undo, redo; keys typed in the form are letters."""
    from selenium.webdriver.common.keys import Keys

    with served(browser, puzzle_of("cask_lane_facing")):
        pressed = "document.querySelector('#who button[aria-pressed=\"true\"]').dataset.words"
        first = ask(browser, pressed)
        press(browser, Keys.ARROW_RIGHT)
        assert ask(browser, pressed) != first
        press(browser, Keys.ARROW_LEFT)
        assert ask(browser, pressed) == first
        left = "document.querySelector('#leaves button[aria-pressed=\"true\"]').dataset.words"
        press(browser, "l")
        assert ask(browser, left) == "leave THB 12 on Lane lead"
        press(browser, "l")
        wanted = stops(browser)[2].split("\n")[-1]
        press(browser, "3")
        goes_on(browser, 0)
        assert "west street" in wanted and "west street" in by_id(browser, "now").text
        press(browser, "u")
        goes_on(browser, 1)
        assert by_id(browser, "now").text == "At the start."
        press(browser, "r")
        goes_on(browser, 2)
        press(browser, Keys.ARROW_DOWN)
        assert ask(browser, "document.activeElement.closest('.stops') !== null")
        press(browser, Keys.ENTER)
        goes_on(browser, 3)
        ask(browser, "document.getElementById('typed').open = true")
        by_id(browser, "lines").send_keys("u1")
        assert version(browser) == 4


def test_by_pointing_at_the_rail(browser: Browser) -> None:
    """A click on a track with one stop goes there; one on a track with several shows these only."""
    from selenium.webdriver import ActionChains

    with served(browser, puzzle_of("cask_lane_facing")):
        lit = "[...document.querySelectorAll('.lit.on')].map((each) => each.dataset.lit)"
        assert {"Lane tail", "run-around"} <= set(ask(browser, lit))
        track = browser.find_element("css selector", '.place[data-place="cider works"]')
        ActionChains(browser).move_to_element_with_offset(track, -40, 0).click().perform()
        wait(lambda: version(browser) == 1 or by_id(browser, "all").is_displayed())
        if version(browser) == 0:
            assert all("cider works" in stop for stop in stops(browser))
            assert "Stops at cider works" in by_id(browser, "goes-name").text
            by_id(browser, "all").click()
            assert any("Lane tail" in stop for stop in stops(browser))


def test_hints_lead_to_the_end(browser: Browser) -> None:
    """Asked how many moves there are, the page says so; H tells a good next step and makes it; at the end it
    says that the work is done, in as many moves as are proved."""
    with served(browser, puzzle_of("cask_lane_trailing")):
        wait(lambda: by_id(browser, "minimum").text == "2 (proved)")
        by_id(browser, "ahead").click()
        wait(lambda: "2 more moves from here at best (proved)." in by_id(browser, "told").text)
        for _ in range(20):
            if "done" in by_id(browser, "now").get_attribute("class"):
                break
            before = version(browser)
            press(browser, "h")
            wait(lambda: by_id(browser, "do").is_displayed())
            press(browser, "h")
            goes_on(browser, before)
        assert "The work is done in 2 moves." in by_id(browser, "now").text
        assert by_id(browser, "moves").text == "2"


def test_typing_where_cars_stand(browser: Browser) -> None:
    """What is wrong is told in full, in a place that is read aloud; what is right begins from there, and the
    minimum is proved anew."""
    with served(browser, puzzle_of("first_spur")):
        by_id(browser, "typed").find_element("css selector", "summary").click()
        lines = by_id(browser, "lines")
        right = lines.get_attribute("value")
        assert right.strip()
        lines.clear()
        lines.send_keys('nowhere = ["S&I 5"]')
        by_id(browser, "stand").click()
        wait(lambda: "there is no such track" in by_id(browser, "problems").text)
        assert by_id(browser, "problems").get_attribute("role") == "alert" and version(browser) == 0
        lines.clear()
        lines.send_keys(right)
        by_id(browser, "stand").click()
        goes_on(browser, 0)
        wait(lambda: by_id(browser, "minimum").text == "1 (proved)")
        assert not by_id(browser, "lines").is_displayed()


def test_it_glides_where_motion_is_wanted(browser: Browser) -> None:
    """The locomotive is seen at places between the stops, and stands in the end where it stands at once for
    whoever wants no motion."""
    body = "(document.querySelector('#live .locomotive .body') || {getAttribute: () => ''}).getAttribute('d')"
    seen: dict[bool, list[str]] = {}
    for is_calm in (True, False):
        calm(browser, is_calm)
        with served(browser, puzzle_of("cask_lane_facing")):
            seen[is_calm] = [ask(browser, body)]
            press(browser, "4")
            goes_on(browser, 0)
            while ask(browser, "document.body.dataset.playing"):
                seen[is_calm].append(ask(browser, body))
            seen[is_calm].append(ask(browser, body))
    assert len({*seen[True]}) == 2 and len({*seen[False]}) > 3
    assert seen[True][-1] == seen[False][-1]


@pytest.mark.parametrize("width", [1280, 360])
def test_nothing_is_wider_than_the_screen(width: int, browser: Browser) -> None:
    """On a wide and on a narrow screen the page does not scroll sideways; buttons are large enough for a
    finger (44 pixels with their border and gap, common practice)."""
    size(browser, width, 800)
    with served(browser, puzzle_of("cask_lane")):
        assert ask(browser, "document.documentElement.scrollWidth") <= width
        heights = "[...document.querySelectorAll('button')].filter((each) => each.offsetHeight)"
        assert ask(browser, f"Math.min(...{heights}.map((each) => each.offsetHeight))") >= 40


def test_what_a_screen_reader_is_told(browser: Browser) -> None:
    """The picture has a name and says who stands where; every button and field has a name; what was done is
    in a polite live region; what is chosen is told as pressed."""
    with served(browser, puzzle_of("cask_lane_facing")):
        ask(browser, "document.getElementById('typed').open = true")
        nodes = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
        told: dict[str, list[dict[str, Any]]] = {}
        for node in nodes:
            if not node.get("ignored"):
                told.setdefault(node["role"]["value"], []).append(node)
        (picture,) = [*told.get("img", []), *told.get("image", [])]
        assert "S&I 5" in picture["description"]["value"] or "S&I 5" in picture["name"]["value"]
        for role in ("button", "textbox", "combobox"):
            assert told[role] and all(node["name"]["value"].strip() for node in told[role])
        live = [
            node for node in told["status"] for each in node["properties"] if each["name"] == "live"
        ]
        assert live
        pressed = [
            node["name"]["value"]
            for node in told["button"]
            for each in node["properties"]
            if each["name"] == "pressed" and each["value"]["value"] == "true"
        ]
        assert any(re.search("S&I 5 forward", name) for name in pressed)


def test_in_print(browser: Browser) -> None:
    """On paper there are the picture, the counts and what was done, and nothing to press."""
    with served(browser, puzzle_of("cask_lane_facing")):
        press(browser, "3")
        goes_on(browser, 0)
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print", "features": []})
        assert by_id(browser, "steps").is_displayed() and by_id(browser, "picture").is_displayed()
        assert not any(each.is_displayed() for each in browser.find_elements("css selector", "button, form"))
        calm(browser, True)


def test_hostile_names_do_nothing(browser: Browser) -> None:
    """Names that would be markup or script are shown as they are, and steps can be made."""
    with served(browser, hostile_puzzle()):
        assert ask(browser, "document.scripts.length") == 1
        assert clean(hostile_puzzle().title) in ask(browser, "document.title")
        press(browser, "1")
        goes_on(browser, 0)
        assert ask(browser, "document.querySelectorAll('#live script, #steps script').length") == 0


def test_when_the_program_has_ended(browser: Browser) -> None:
    """A page whose program has ended says so, and what to do."""
    with WalkServer(puzzle_of("first_spur")) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        browser.get(server.url)
        wait(lambda: ask(browser, "document.body.dataset.version") is not None)
        wait(lambda: "proved" in by_id(browser, "minimum").text)
        server.shutdown()
        thread.join()
    browser.execute_script("window.stop()")
    press(browser, "1")
    wait(lambda: "Start it again" in by_id(browser, "told").text)
    browser.get_log("browser")  # it says itself that nobody answers
