"""The page of a session: what is drawn is read back from its marks and is the timetable again; no two texts
meet; everything is escaped; and it is looked at in a real browser.

Without chromium the tests in a browser are skipped, and say how to get it; where ``CI`` is set they fail.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from html import unescape
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from switchsolve.cli.sessionsheet import sheet_lines
from switchsolve.drawing.text import text_width
from switchsolve.layout import Layout, Link
from switchsolve.layoutfile import load_layout
from switchsolve.operating import Limits, Operation, operate, what_if
from switchsolve.operating.records import Waited
from switchsolve.operating.results import Skip
from switchsolve.operating.telling import entry_text
from switchsolve.sessionpage import session_html
from switchsolve.sessionpage.marks import Box, Label
from switchsolve.sessionpage.panels import panels_of
from switchsolve.sessionpage.placing import raised
from switchsolve.sessionpage.waiting import busy_spans, duties_of, waits_of
from switchsolve.study.pools import Here
from switchsolve.timetable.reading import YARD, Cleared, Entry, Timetable
from tests.session_pages import Chart, charts_of, crowded, texts_of, with_timetable
from tests.test_page_browser import Browser, ask, open_page, requests, size, started
from tests.tiny_layout import LAYOUT, write

__all__ = ["started"]

NEAR = 0.03
"""Minutes; the numbers of the page have one decimal, at four pixels a minute and more."""
EVIL = '<script>alert("&")</script>'


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Operation:
    """Three sessions of a small layout."""
    layout = load_layout(write(tmp_path_factory.mktemp("small")))
    return operate(layout, 3, 4, Here(), limits=Limits(work=None, schedule=None))


@pytest.fixture(scope="module")
def html(found: Operation) -> str:
    changed = operate(
        what_if(found.layout, found.layout.what_if[0]), 3, 4, Here(), limits=Limits(None, None), closely=False
    )
    return session_html(found, {"one crew fewer": changed})


def timetable_of(found: Operation) -> Timetable:
    assert found.looked_at is not None and found.looked_at.timetable is not None
    return found.looked_at.timetable


# -- the train graph, read back


def runs_drawn(chart: Chart, links: dict[frozenset[str], str]) -> Counter[tuple[str, int, int]]:
    """Link, start and end of every sloping line, by the places where it begins and ends."""
    found: Counter[tuple[str, int, int]] = Counter()
    for mark in chart.marks("run"):
        one, other = (chart.name(float(mark.get(key, ""))) for key in ("y1", "y2"))
        times = [chart.minute(float(mark.get(key, ""))) for key in ("x1", "x2")]
        assert all(abs(at - round(at)) < NEAR for at in times)
        if one != other:
            found[links[frozenset((one, other))], round(times[0]), round(times[1])] += 1
    return found


def stays_drawn(chart: Chart, kind: str) -> Counter[tuple[str, int, int]]:
    """Place, start and end of every level line of a kind."""
    found: Counter[tuple[str, int, int]] = Counter()
    for mark in chart.marks(kind):
        start, end = (round(chart.minute(float(mark.get(key, "")))) for key in ("x1", "x2"))
        found[chart.name(float(mark.get("y1", ""))), start, end] += 1
    return found


def check_graph(layout: Layout, timetable: Timetable, chart: Chart) -> None:
    """Every run is a line from one end of its link to the other; every stay, a level line at its place."""
    links = {frozenset(link.ends): link.name for link in layout.links}
    entries = [entry for entry in timetable.entries if entry.kind != YARD]
    runs = Counter((one.where, one.start, one.end) for one in entries if one.kind == "run")
    assert runs_drawn(chart, links) == runs
    for kind in ("work", "stop"):
        own = [one for one in entries if one.kind == kind]
        spans = Counter((one.where, *span) for one in own for span in busy_spans(timetable, one))
        assert stays_drawn(chart, kind) == spans
    waits = Counter((one.where, *span) for one in entries for span in waits_of(timetable, one))
    assert stays_drawn(chart, "wait") == waits


def test_the_train_graph_is_the_timetable(found: Operation, html: str) -> None:
    """Lines, read back by times above and names beside them, are the entries of the timetable."""
    chart = charts_of(html)[0]
    check_graph(found.layout, timetable_of(found), chart)
    names = {entry.train for entry in timetable_of(found).entries if entry.kind != YARD}
    assert names <= {text for text, *_ in texts_of(chart.body)}


@pytest.mark.parametrize("seed", range(12))
def test_crowded_train_graphs(found: Operation, seed: int) -> None:
    """The same for random trains on random branches, up to thirty of them; each train has its name in the
    graph, those with a fixed time a diamond and the time, and no two names meet."""
    layout, timetable = crowded(found.layout, seed, 3 + 2 * seed)
    chart = charts_of(session_html(with_timetable(found, layout, timetable)))[0]
    check_graph(layout, timetable, chart)
    names = {text for text, *_ in texts_of(chart.body)}
    for train in layout.trains:
        fixed = f" (fixed: {layout.fast_time(train.leaves)})" if train.leaves is not None else ""
        assert train.name + fixed in names
    assert len(chart.marks("fixed")) == sum(train.leaves is not None for train in layout.trains)
    assert len(chart.marks("start")) == sum(train.leaves is None for train in layout.trains)
    check_texts(chart)


@pytest.mark.parametrize("seed", range(20))
def test_each_link_is_in_one_chain(found: Operation, seed: int) -> None:
    """Every link that is used is in exactly one chain, and lies between the places beside it there."""
    layout, timetable = crowded(found.layout, seed, 9)
    used = {entry.where for entry in timetable.entries}
    panels = panels_of(layout, used)
    told = Counter(link.name for panel in panels for link in panel.links)
    assert set(told.values()) == {1}
    assert {link.name for link in layout.links} & used <= set(told)
    for panel in panels:
        for row, link in enumerate(panel.links):
            assert set(link.ends) == {panel.places[row], panel.places[row + 1]}


def test_a_loop_closes(found: Operation) -> None:
    """A chain that comes back to where it began has that place at both ends; the way of the through trains
    comes first; the end of a branch that nobody runs over is not drawn."""
    links = (*found.layout.links, Link("slip track", ("Cask Lane", "Slip"), 1, 1))
    links = (*links, Link("slip return", ("Slip", "Marrow Point"), 1, 1))
    layout = replace(found.layout, links=links)
    used = {"Upland main", "Lane track", "slip return"}
    main, loop = panels_of(layout, used)
    assert main.places == ("Upland", "Millbrook", "Marrow Point", "Coast")
    assert loop.places == ("Marrow Point", "Cask Lane", "Slip", "Marrow Point")
    assert panels_of(layout, {"Lane track"})[-1].places == ("Marrow Point", "Cask Lane")


# -- crews and yard, read back


def bars_drawn(chart: Chart) -> Counter[tuple[str, str, int, int]]:
    """Crew, kind, start and end of every box."""
    rows = {
        float(mark.get("y", "")) - 11: mark.text or ""
        for mark in chart.names.iter("text")
        if mark.get("class") == "place"
    }
    found: Counter[tuple[str, str, int, int]] = Counter()
    for mark in chart.marks("bar"):
        crew = rows[min(rows, key=lambda y, mark=mark: abs(y - float(mark.get("y", ""))))]  # type: ignore[misc]
        start = float(mark.get("x", ""))
        ends = (start, start + float(mark.get("width", "")))
        kind = (mark.get("class") or "").split()[1]
        found[crew, kind, *(round(chart.minute(x)) for x in ends)] += 1
    return found


def check_bars(timetable: Timetable, chart: Chart) -> None:
    kinds = {"passing": "run"}
    entries = timetable.entries
    wanted = Counter((one.crew, kinds.get(one.kind, one.kind), one.start, one.end) for one in entries)
    wanted += Counter((one.crew, "wait", *span) for one in entries for span in waits_of(timetable, one))
    assert bars_drawn(chart) == wanted


def test_the_bars_are_the_timetable(found: Operation, html: str) -> None:
    """A box for each entry and each wait, in the row of its crew; each duty has its name, with its number."""
    timetable, chart = timetable_of(found), charts_of(html)[1]
    check_bars(timetable, chart)
    texts = {text for text, *_ in texts_of(chart.body)}
    for crew in ("Ash", "Birch"):
        for number, duty in enumerate(duties_of(timetable, crew), 1):
            assert f"{number} {duty[0].task if duty[0].kind == YARD else duty[0].train}" in texts


@pytest.mark.parametrize("seed", range(6))
def test_crowded_bars(found: Operation, seed: int) -> None:
    """The same for up to ten crews with many duties, and no two texts meet."""
    layout, timetable = crowded(found.layout, seed, 5 + 5 * seed)
    chart = charts_of(session_html(with_timetable(found, layout, timetable)))[1]
    check_bars(timetable, chart)
    check_texts(chart)


def test_free_time_is_drawn(found: Operation, html: str) -> None:
    """Of each crew the lines of free time and the boxes of its entries fill the session."""
    timetable, chart = timetable_of(found), charts_of(html)[1]
    free = sum(
        chart.minute(float(mark.get("x2", ""))) - chart.minute(float(mark.get("x1", "")))
        for mark in chart.marks("free")
    )
    busy = sum(entry.end - entry.start for entry in timetable.entries)
    assert free + busy == pytest.approx(2 * timetable.minutes, abs=0.5)


def test_the_yard_is_drawn_as_it_fills(found: Operation, html: str) -> None:
    """The upper edge of the area, read back: its heights are to each other, and to that of a full yard, as
    the lengths are, and it changes at the minutes at which the fill does."""
    assert found.looked_at is not None
    chart, levels = charts_of(html)[2], found.looked_at.yard_fill
    (area,), (full,) = chart.marks("fill"), chart.marks("full")
    corners = [tuple(map(float, one.split(","))) for one in (area.get("points") or "").split()]
    foot = corners[0][1]
    room = 52 * found.layout.grid  # its tracks are 32 in and 20 in long
    full_height = foot - float(full.get("y1", ""))
    drawn = [(round(chart.minute(x)), (foot - y) / full_height * room) for x, y in corners[1:-1]]
    ends = [*(level.minute for level in levels[1:]), found.looked_at.minutes]
    wanted = []
    for level, end in zip(levels, ends, strict=True):
        if end is not None and end > level.minute:
            wanted += [(level.minute, level.length), (end, level.length)]
    assert [minute for minute, _ in drawn] == [minute for minute, _ in wanted]
    for (_, one), (_, other) in zip(drawn, wanted, strict=True):
        assert one == pytest.approx(other, abs=0.01 * room)
    check_texts(chart)


# -- texts that do not meet


def check_texts(chart: Chart) -> None:
    """No two texts of a picture meet, and none is cut off."""
    for picture in (chart.names, chart.body):
        width, height = (float(picture.get(key, "")) for key in ("width", "height"))
        boxes = []
        for text, x, y, font, anchor in texts_of(picture):
            box = Label(text, x, y, font, anchor).box
            assert box.left >= -0.1 and box.right <= width + 0.1, text
            assert box.top >= 0 and box.bottom <= height + 0.1, text
            boxes.append((box, text))
        for (one, text), (other, near) in combinations(boxes, 2):
            assert not one.meets(other), (text, near)


def test_no_two_texts_meet(html: str) -> None:
    """In all charts of a session that was played."""
    for chart in charts_of(html):
        check_texts(chart)


@given(
    st.lists(st.floats(0, 500), min_size=1, max_size=25),
    st.lists(st.floats(5, 150), min_size=25, max_size=25),
)
def test_names_over_a_line_never_meet(places: list[float], widths: list[float]) -> None:
    """Wherever texts begin and however wide they are: none meets another one, or the upright line that
    another one hangs on; and one that has nothing under it stands lowest."""
    starts = list(zip(sorted(set(places)), widths, strict=False))
    lanes = raised(starts)
    for (number, (begin, width)), (later, (other, _)) in combinations(enumerate(starts), 2):
        under = other <= begin + width
        assert not under or lanes[number] > lanes[later]
    for number, (begin, width) in enumerate(starts):
        alone = all(other > begin + width for other, _ in starts[number + 1 :])
        assert not alone or lanes[number] == 0


def test_boxes_meet() -> None:
    """The measure itself can say both."""
    box = Box(0, 0, 10, 10)
    assert box.meets(Box(9, 9, 20, 20)) and not box.meets(Box(10, 0, 20, 10))
    ends = [Label("Lane job", 100, 50, 10, anchor).box for anchor in ("start", "middle", "end")]
    assert [round(one.left, 3) for one in ends] == [
        round(100 - share * text_width("Lane job", 10), 3) for share in (0, 0.5, 1)
    ]


# -- what a crew's day is made of


def test_waits_are_where_they_are() -> None:
    """By hand: work from 10 to 40 with 12 minutes of waiting, 8 of them clear of the main from 15 to 23 (for
    two trains, counted once): the other four are at its end."""
    entry = Entry("w", "Lane job", "work", "Millbrook", 10, 40, "Ash", 12)
    cleared = tuple(Cleared("Lane job", "Millbrook", passing, 2, 15, 21, 23) for passing in ("A", "B"))
    timetable = Timetable((entry,), cleared)
    assert waits_of(timetable, entry) == [(15, 23), (36, 40)]
    assert busy_spans(timetable, entry) == [(10, 15), (23, 36)]
    other = replace(entry, train="Wharf job", waits=0)
    assert waits_of(timetable, other) == [] and busy_spans(timetable, other) == [(10, 40)]


def test_duties() -> None:
    """Steps of a train are one duty, each task of the yard is one of its own."""
    kinds = ["yard a", "yard b", "Lane job 1", "Lane job 2", "yard c"]
    entries = tuple(
        Entry(name, name[:-2], YARD if name.startswith("yard") else "run", "", at, at + 1, "Ash")
        for at, name in enumerate(kinds)
    )
    timetable = Timetable((*entries, replace(entries[0], crew="Birch")))
    assert [len(duty) for duty in duties_of(timetable, "Ash")] == [1, 1, 2, 1]


# -- tables, sheets and words


class Tables(HTMLParser):
    """The rows of every table by its caption, and all that a person can read."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.shown: list[str] = []
        self._open: list[str] = []
        self._rows: list[list[str]] = []
        self._caption = ""
        self.feed(html)
        assert not self._open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("meta", "link", "br", "line", "rect", "circle", "polygon", "path"):
            return
        self._open.append(tag)
        if tag == "table":
            self._rows, self._caption = [], ""
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("td", "th"):
            self._rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("line", "rect", "circle", "polygon", "path"):
            return
        assert self._open.pop() == tag
        if tag == "table":
            self.tables[self._caption or f"sheet {len(self.tables)}"] = self._rows

    def handle_data(self, data: str) -> None:
        if "style" in self._open:
            return
        self.shown.append(data)
        if "caption" in self._open:
            self._caption += data
        elif {"td", "th"} & set(self._open):
            self._rows[-1][-1] += data


def test_each_chart_has_its_table(found: Operation, html: str) -> None:
    """Every entry, every level of the yard, in rows."""
    tables, timetable = Tables(html).tables, timetable_of(found)
    rows = {tuple(row) for row in tables["Trains"][1:]}
    trains = [one for one in timetable.entries if one.kind != YARD]
    assert rows == {
        (one.train, one.where, one.kind, one.crew, str(one.start), str(one.end), str(one.waits))
        for one in trains
    }
    crews = Counter((row[0], row[2], row[3]) for row in tables["Crews"][1:])
    assert crews == Counter((one.crew, str(one.start), str(one.end)) for one in timetable.entries)
    assert found.looked_at is not None
    cars = {row[2] for row in tables["Fill of the yard"][1:]}
    assert cars <= {str(level.cars) for level in found.looked_at.yard_fill} and cars


def test_the_answers_in_tables(found: Operation, html: str) -> None:
    """Crews from one to six, all sessions, the balance by place, kind and load, the change of the file."""
    tables = Tables(html).tables
    heads, row = tables["Its length against the number of crews"]
    assert heads[1:] == [str(number) for number in range(1, 7)]
    assert row[1:] == [str(one.minutes) for one in found.crews]
    assert [row[1] for row in tables["Sessions"][1:]] == [str(one.minutes) for one in found.sessions]
    assert found.balance is not None
    (levels,) = (rows for name, rows in tables.items() if name.startswith("Cars before the first"))
    assert {tuple(row) for row in levels[1:]} == {
        (place, kind, "loaded" if loaded else "empty", *map(str, (row[0], row[-1], min(row))))
        for (place, kind, loaded), row in found.balance.at_start.items()
    }
    assert [row[0] for row in tables["What if"]] == ["what if", "as it is", "one crew fewer"]


def test_each_crew_has_its_sheet(found: Operation) -> None:
    """All that a crew does, in its order, with the one car to skip where it is met; on a page of its own."""
    result, timetable = found.looked_at, timetable_of(found)
    assert result is not None
    work = next(one for one in timetable.entries if one.kind == "work")
    skip = Skip(work.train, work.where, "THB 7", 4, 3)
    html = session_html(replace(found, skips=(skip,)))
    sheets = re.findall(r'<section class="sheet".*?</section>', html, re.DOTALL)
    assert len(sheets) == 2 and sheets[0].count("<h2>Ash</h2>") == 1
    for crew, sheet in zip(("Ash", "Birch"), sheets, strict=True):
        rows = re.findall(r"<tr><td>(.*?)</td><td>(.*?)</td><td>(.*?)</td>", sheet)
        entries = timetable.of_crew(crew)
        assert [one[1] for one in rows] == [f"{one.start}–{one.end}" for one in entries]
        assert [one[0] for one in rows] == [found.layout.fast_time(one.start) for one in entries]
        for (_, _, told), entry in zip(rows, entries, strict=True):
            text = entry_text(result.played, entry).removeprefix("yard: ")
            assert text[1:] in unescape(told)
            assert ("If late, skip THB 7: 4 moves and 3 minutes less" in told) == (entry is work)
        assert "never plan or direct real train movements" in sheet


def test_cars_that_waited_and_trains_that_cleared(found: Operation) -> None:
    """Who waited where and why, and who cleared the main for whom, are told; cleared once for two trains, its
    moves and minutes count once."""
    result, timetable = found.looked_at, timetable_of(found)
    assert result is not None
    played = replace(result.played, waited=[Waited("THB 9", "Upland", "the freight has no room for more")])
    work = next(one for one in timetable.entries if one.kind == "work")
    at = work.start
    cleared = tuple(
        Cleared(work.train, work.where, name, 2, at, at, at + 1, 3) for name in ("Mail", "Coast")
    )
    other = replace(result, played=played, timetable=replace(timetable, cleared=cleared))
    sessions = [other if one is result else one for one in found.sessions]
    page = Tables(session_html(replace(found, sessions=sessions)))
    assert page.tables["Cars that waited in this session"][1][:2] == ["THB 9", "Upland"]
    shown = " ".join(page.shown)
    whose = f"{work.train} at {work.where}"
    assert f"{whose} clears the main (2 moves and as many back) after move 3 for Mail and Coast" in shown
    assert "After move 3 clear the main for Mail and Coast (2 moves, and as many back)" in shown
    sheet = list(sheet_lines(found.layout, other, ()))
    told = " ".join(" ".join(sheet).split())
    assert "after move 3 clear the main for Mail and Coast (2 moves, and as many back)" in told
    assert max(map(len, sheet)) < 80
    counts = "4 moves to clear the main and come back, 1 minute in all."
    assert f"1 time (session {found.shown}): {counts}" in shown


def test_without_a_schedule(found: Operation) -> None:
    """With no session that could be run there are no charts and sheets, but all else, and why."""
    sessions = [replace(one, timetable=None, nobody="no crew can take Lane job") for one in found.sessions]
    html = session_html(replace(found, sessions=sessions, shown=None, crews=(), bindings=(), skips=()))
    assert "<svg" not in html and "cannot be run: no crew can take Lane job." in html
    assert "Cars before the first session" in html


def test_stopped_in_the_midst(found: Operation) -> None:
    """After Ctrl-C, with crews and bindings not looked at, nothing is claimed of them."""
    html = session_html(replace(found, crews=(), bindings=(), chain=None, is_complete=False, needs=None))
    assert "binds" not in html and "number of crews" not in html and len(charts_of(html)) == 3


# -- safe and alone


def test_the_policy(html: str) -> None:
    """No script; the one style sheet is the one that the policy names by its hash; nothing is loaded; no mark
    has a style of its own, which the policy would refuse."""
    assert "<script" not in html and " style=" not in html
    (style,) = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    digest = b64encode(sha256(style.encode("utf-8")).digest()).decode()
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', html)
    assert f"default-src 'none'; style-src 'sha256-{digest}'; script-src 'none'" in policy
    assert set(re.findall(r'(?:href|src)="([^"]*)"', html)) == {"data:,"}
    assert set(re.findall(r"url\(([^)]*)\)", html)) <= {"#hatch-run", "#hatch-stop", "#hatch-yard"}
    assert re.findall(r'id="([^"]*)"', html) == ["hatch-run", "hatch-yard", "hatch-stop"]


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page of a layout with names that try to be markup, or to turn the text round."""
    text = LAYOUT
    for name in ("Lane job", "coast main", "Upland freight"):
        text = text.replace(f'"{name}"', f"'{name} {EVIL}\u202e'")
    text = text.replace('Ash = "all"', f"'Ash {EVIL}' = \"all\"").replace("A small evening", EVIL[:8])
    path = write(tmp_path_factory.mktemp("hostile"), text)
    return session_html(operate(load_layout(path), 1, 4, Here()))


def test_hostile_names(hostile: str) -> None:
    """Names are text and nothing else, in charts, tables, sheets and title; no letter turns the text."""
    assert "<script" not in hostile and "\u202e" not in hostile
    page = Tables(hostile)
    assert any(EVIL in text for text in page.shown)
    assert "<title>&lt;script&gt;</title>" in hostile
    for chart in charts_of(hostile):
        check_texts(chart)


# -- in a browser


@pytest.fixture
def browser(started: Browser) -> Iterator[Browser]:
    """The browser with empty logs; afterwards every test asks for no errors on the console (a broken policy
    is one), and no request but for the page."""
    started.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
    started.get("about:blank")
    requests(started)
    started.get_log("browser")
    yield started
    started.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
    assert [entry["message"] for entry in started.get_log("browser")] == []
    assert all(url.startswith(("file:", "data:,")) for url in requests(started))


_MEETING = """(() => { const found = [];
for (const svg of document.querySelectorAll('.chart svg')) {
  const boxes = [...svg.querySelectorAll('text')].map(text => [text.getBBox(), text.textContent]);
  for (let i = 0; i < boxes.length; i++) for (let j = 0; j < i; j++) {
    const [a, one] = boxes[i], [b, other] = boxes[j], slack = 2.5;
    if (a.x < b.x + b.width && b.x < a.x + a.width && a.y + slack < b.y + b.height - slack
        && b.y + slack < a.y + a.height - slack) found.push(one + ' / ' + other);
  } }
return found; })()"""
"""Texts whose boxes meet, by the font that the browser has (its boxes are taller than the letters)."""


def test_on_a_small_screen(browser: Browser, html: str, tmp_path: Path) -> None:
    """At 360 pixels nothing but the charts and tables, each in its frame, is wider than the screen; names
    stay beside a chart that is moved; no two texts meet in the browser's own font."""
    size(browser, 360, 740)
    open_page(browser, tmp_path, html)
    assert ask(browser, "document.documentElement.scrollWidth") <= 360
    assert ask(browser, _MEETING) == []
    assert ask(browser, "document.querySelector('.chart').scrollWidth") > 360
    moved = "(() => { const chart = document.querySelector('.chart'); const names = chart.firstElementChild;"
    moved += " const at = names.getBoundingClientRect().left; chart.scrollLeft = 100;"
    moved += " return [chart.scrollLeft, at, names.getBoundingClientRect().left]; })()"
    by, before, after = ask(browser, moved)
    assert by == 100 and before == pytest.approx(after, abs=1)


def test_in_print(browser: Browser, html: str, tmp_path: Path) -> None:
    """Each crew's sheet begins a page; charts are as wide as the paper at the most, with names and times at
    one scale, the same in all; what is folded away on the screen is left out."""
    size(browser, 500, 700)  # narrower than any paper, so that all charts have to shrink
    open_page(browser, tmp_path, html)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    breaks = "[...document.querySelectorAll('.sheet')].map(one => getComputedStyle(one).breakBefore)"
    assert ask(browser, breaks) == ["page", "page"]
    scales = "[...document.querySelectorAll('.chart')].map(one => [...one.querySelectorAll('svg')].map(svg =>"
    scales += " svg.getScreenCTM().a))"
    found = ask(browser, scales)
    for names, body in found:
        assert names == pytest.approx(body, rel=0.02)
        assert body == pytest.approx(found[0][1], rel=0.001)
    wide = "Math.max(...[...document.querySelectorAll('.chart svg')].map("
    wide += "one => one.getBoundingClientRect().right))"
    assert ask(browser, wide) <= 500
    assert ask(browser, "[...document.querySelectorAll('details')].every(one => !one.offsetHeight)")


def test_hatching_reads_without_color(browser: Browser, html: str, tmp_path: Path) -> None:
    """Each kind of box is filled in a way of its own, and those that are hatched have lines or dots in it."""
    open_page(browser, tmp_path, html)
    fills = "[...document.querySelectorAll('.key rect')].map(one => getComputedStyle(one).fill)"
    found = ask(browser, fills)
    assert len(set(found)) == len(found) == 5 and sum("hatch-" in fill for fill in found) == 3


def test_hostile_names_in_a_browser(browser: Browser, hostile: str, tmp_path: Path) -> None:
    """Nothing of them runs or is refused by the policy, and the page is as wide as the screen."""
    size(browser, 360, 740)
    open_page(browser, tmp_path, hostile)
    assert ask(browser, "document.scripts.length") == 0
    assert ask(browser, "document.documentElement.scrollWidth") <= 360
