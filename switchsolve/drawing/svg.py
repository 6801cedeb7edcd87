"""A scene, or a film of scenes, as the text of an SVG file.

Everything that comes from a puzzle file is escaped.  How things look is said once, in the style sheet:
light and dark tell cars from locomotives, dashes what is closed, so that nothing hangs on color alone.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import hypot
from xml.sax.saxutils import escape, quoteattr

from switchsolve.drawing.labels import make_label
from switchsolve.drawing.scene import Scene
from switchsolve.drawing.schematic import (
    Box,
    JunctionDrawing,
    Label,
    Mark,
    Point,
    Rail,
    Schematic,
    TableDrawing,
)
from switchsolve.drawing.text import clean, text_width
from switchsolve.drawing.vehicles import Body

__all__ = [
    "STYLE",
    "bridges_svg",
    "data_url",
    "film_svg",
    "path_data",
    "plan_svg",
    "scene_svg",
    "standing_svg",
]

STYLE = """\
text { font-family: "Helvetica Neue", Helvetica, Arial, "Liberation Sans", "DejaVu Sans", sans-serif;
  fill: #2b3640; text-anchor: middle; paint-order: stroke; stroke: #fdfcf9; stroke-width: 2.4px;
  stroke-linejoin: round; }
.paper { fill: #fdfcf9; }
.title, .caption { text-anchor: start; }
.title { font-weight: 600; }
.caption { fill: #2b3640; }
.junction-name, .note, .spot { fill: #5a6672; }
.junction-name, .note { font-style: italic; }
.table-name { font-weight: 600; }
.rail { fill: none; stroke-linejoin: round; }
.track { stroke: #2b3640; stroke-width: 3.4; }
.leg { stroke: #75828f; stroke-width: 2.6; }
.bridge { stroke: #2b3640; stroke-width: 4.4; }
.pit { fill: #eceae3; stroke: #75828f; stroke-width: 1.4; }
.points { fill: #75828f; stroke: #75828f; stroke-width: 1; stroke-linejoin: round; }
.bumper { stroke: #2b3640; stroke-width: 3.4; }
.entrance { fill: none; stroke: #2b3640; stroke-width: 1.8; }
.closed { fill: none; stroke: #fdfcf9; stroke-width: 1.6; stroke-dasharray: 5 5; }
.closed-edge { fill: none; stroke: #2b3640; stroke-width: 1; stroke-dasharray: 2 3; }
.crossing { fill: none; stroke: #d5d0c4; stroke-width: 22; }
.clear { fill: none; stroke: #ece8dd; stroke-width: 13; }
.crossing-edge, .spot-tick, .seam { stroke: #75828f; stroke-width: 1.2; }
.limit { fill: none; stroke: #75828f; stroke-width: 1; stroke-dasharray: 1 3; }
.coupling { stroke: #2b3640; stroke-width: 3; }
.body { stroke: #2b3640; stroke-width: 1.3; stroke-linejoin: round; fill: #f6dfa6; }
.locomotive .body { fill: #1f4e66; }
.vehicle text { stroke: none; }
.locomotive text { fill: #ffffff; }
.dead .body { fill: #b9c4cc; stroke-dasharray: 4 2; }
.fixed .body { stroke-width: 2.6; }
.frame-line { stroke: #d5d0c4; stroke-width: 1; }
"""
"""How everything looks; classes only."""

_NS = 'xmlns="http://www.w3.org/2000/svg"'


def scene_svg(scene: Scene, part: Box | None = None) -> str:
    """One picture as a whole SVG file; or only a part of it, for a sheet that says the title itself."""
    ground = scene.schematic
    title = clean(scene.title) or "A switching district"
    return _file(
        part or Box(0, 0, ground.width, ground.height),
        title,
        clean(scene.words),
        [*plan_svg(ground, with_title=part is None), *bridges_svg(scene), *standing_svg(scene)],
    )


def data_url(svg: str) -> str:
    """The SVG as the address of an image: on a page its style and ids then stay its own."""
    return f"data:image/svg+xml;base64,{b64encode(svg.encode('utf-8')).decode('ascii')}"


def film_svg(scenes: Sequence[Scene], captions: Sequence[str]) -> str:
    """A filmstrip: one frame below the other, each with its caption above it."""
    ground = scenes[0].schematic
    top = min((label.box.top for label in ground.labels if label.kind != "title"), default=40.0)
    cut = min(top, 44.0)
    title = clean(scenes[0].title) or "A switching district"
    body = ['<defs><g id="ground">', *plan_svg(ground, with_title=False), "</g></defs>"]
    body += [_text(label) for label in ground.labels if label.kind == "title"]
    y = 40.0
    words = []
    for number, (scene, caption) in enumerate(zip(scenes, captions, strict=True)):
        lines = _folded(clean(caption), ground.width - 68, 12.0)
        body.append(f'<g class="frame" data-frame="{number}"><desc>{escape(clean(scene.words))}</desc>')
        body.append(f'<path class="frame-line" d="M0 {_n(y)}H{_n(ground.width)}"/>')
        for line in lines:
            y += 17
            body.append(_text(make_label("caption", line, line, (34.0, y), 12.0, starts=True)))
        body.append(f'<g transform="translate(0 {_n(y + 8 - cut)})"><use href="#ground"/>')
        body += [*bridges_svg(scene), *standing_svg(scene, prefix=f"f{number}-"), "</g></g>"]
        y += 8 + ground.height - cut
        words.append(clean(caption))
    return _file(Box(0, 0, ground.width, y), title, " ".join(words), body)


def _file(shown: Box, title: str, words: str, body: Iterable[str]) -> str:
    left, top = _n(shown.left), _n(shown.top)
    width, height = _n(shown.right - shown.left), _n(shown.bottom - shown.top)
    extent = f'width="{width}" height="{height}"'
    corner = f'x="{left}" y="{top}" ' if (left, top) != ("0", "0") else ""
    size = f'viewBox="{left} {top} {width} {height}" {extent}'
    lines = [
        f'<svg {_NS} {size} role="img" aria-labelledby="picture-title picture-words">',
        f'<title id="picture-title">{escape(title)}</title>',
        f'<desc id="picture-words">{escape(words)}</desc>',
        f"<style>\n{STYLE}</style>",
        f'<rect class="paper" {corner}{extent}/>',
        *body,
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


# ---- what does not move


def plan_svg(ground: Schematic, *, with_title: bool = True) -> list[str]:
    """The elements of the schematic itself."""
    lines = [_table(table) for table in ground.tables.values()]
    lines += [line for mark in ground.marks if mark.kind in _FIELDS for line in _field(mark)]
    for junction in ground.junctions:
        lines += _junction(junction)
    lines += [f'<path class="rail track" d="{path_data(rail.points)}"/>' for rail in ground.plain]
    lines += [_track(ground, name, rail) for name, rail in ground.tracks.items()]
    lines += [line for mark in ground.marks if mark.kind not in _FIELDS for line in _mark(mark)]
    lines += [_text(label) for label in ground.labels if with_title or label.kind != "title"]
    return lines


def _track(ground: Schematic, name: str, rail: Rail) -> str:
    return (
        f'<path class="rail track" data-track={quoteattr(clean(name))} d="{path_data(rail.points)}">'
        f"<title>{escape(f'{clean(name)}, {ground.lengths[name]}')}</title></path>"
    )


def _junction(junction: JunctionDrawing) -> Iterator[str]:
    name = clean(junction.name)
    yield f"<g data-junction={quoteattr(name)}><title>{escape(f'{name} ({clean(junction.kind)})')}</title>"
    for leg in junction.legs:
        yield f'<path class="rail leg" d="{path_data(leg.points)}"/>'
    for wedge in junction.wedges:
        yield f'<path class="points" d="{path_data(wedge)}Z"/>'
    yield "</g>"


def _table(table: TableDrawing) -> str:
    box, name = table.box, clean(table.name)
    title = f"<title>{escape(f'{name} ({table.kind})')}</title>"
    x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    if table.kind == "turntable":
        shape = f'<circle class="pit" cx="{_n(x)}" cy="{_n(y)}" r="{_n(box.right - x)}"/>'
    else:
        size = f'width="{_n(box.right - box.left)}" height="{_n(box.bottom - box.top)}"'
        shape = f'<rect class="pit" x="{_n(box.left)}" y="{_n(box.top)}" {size}/>'
    return f"<g data-table={quoteattr(name)}>{title}{shape}</g>"


_FIELDS = {"crossing", "clear"}


def _field(mark: Mark) -> Iterator[str]:
    """What is to be kept clear, a road perhaps: a gray field under the rail, with edges if always."""
    yield f'<path class="{mark.kind}" d="{path_data(mark.points)}"/>'
    if mark.kind == "clear":
        return
    for point, away in (mark.points[:2], mark.points[-2:][::-1]):
        yield f'<path class="crossing-edge" d="{path_data(_bar(point, away, 11))}"/>'


def _mark(mark: Mark) -> Iterator[str]:
    (x, y), looks = mark.points[0], mark.looks
    if mark.kind == "bumper":
        yield f'<path class="bumper" d="M{_n(x)} {_n(y - 7)}V{_n(y + 7)}"/>'
    elif mark.kind == "entrance":
        for step in (6, 12, 18):
            tip, back = x + looks * step, x + looks * (step - 4)
            yield f'<path class="entrance" d="{path_data([(back, y - 5), (tip, y), (back, y + 5)])}"/>'
    elif mark.kind == "closed":
        yield f'<path class="closed" d="{path_data(mark.points)}"/>'
        for side in (-6, 6):
            yield f'<path class="closed-edge" d="{path_data([(px, py + side) for px, py in mark.points])}"/>'
    elif mark.kind == "closed leg":
        yield f'<path class="closed" d="{path_data(mark.points)}"/>'
    elif mark.kind == "limit":
        yield f'<path class="limit" d="{path_data([(px, py + 6) for px, py in mark.points])}"/>'
    elif mark.kind == "spot":
        yield f'<path class="spot-tick" d="{path_data(mark.points)}"/>'
    else:
        yield f'<path class="seam" d="{path_data(_bar(mark.points[0], mark.points[-1], 5))}"/>'


def _bar(point: Point, away: Point, half: float) -> tuple[Point, Point]:
    """A short line across the rail at ``point``, which leads to ``away``."""
    far = hypot(away[0] - point[0], away[1] - point[1])
    across = (0.0, 1.0) if far < 1e-9 else (-(away[1] - point[1]) / far, (away[0] - point[0]) / far)
    return (
        (point[0] - across[0] * half, point[1] - across[1] * half),
        (point[0] + across[0] * half, point[1] + across[1] * half),
    )


# ---- what moves


def standing_svg(scene: Scene, prefix: str = "") -> list[str]:
    """The elements of the vehicles; ``prefix`` keeps ids apart in a film."""
    lines = [f'<path class="rail coupling" d="{path_data(item.rail.points)}"/>' for item in scene.couplings]
    numbers: dict[str, list[Label]] = {}
    for label in scene.numbers:
        numbers.setdefault(label.full, []).append(label)
    for index, body in enumerate(scene.bodies):
        lines.append(_body(body, f"{prefix}v{index}", numbers.get(clean(body.name), [])))
    return lines


def bridges_svg(scene: Scene) -> Iterator[str]:
    """The elements of the bridges of tables, as they lie."""
    for name, table in scene.schematic.tables.items():
        rail = table.bridges[scene.lined[name]]
        yield f'<path class="rail bridge" data-bridge={quoteattr(clean(name))} d="{path_data(rail.points)}"/>'


def _body(body: Body, ident: str, labels: Sequence[Label]) -> str:
    name = clean(body.name)
    kinds = f"vehicle {body.kind}{' fixed' if body.fixed else ''}"
    texts = "".join(_text(label, with_title=False) for label in labels)
    return (
        f'<g id="{ident}" class="{kinds}" data-vehicle={quoteattr(name)}><title>{escape(name)}</title>'
        f'<path class="body" d="{path_data(body.outline)}Z"/>{texts}</g>'
    )


# ---- small things


_CLASSES = {"track": "track-name", "junction": "junction-name", "table": "table-name"}


def _text(label: Label, *, with_title: bool = True) -> str:
    title = f"<title>{escape(label.full)}</title>" if with_title and label.full != label.text else ""
    name = _CLASSES.get(label.kind, label.kind)
    at = f'x="{_n(label.at[0])}" y="{_n(label.at[1])}" font-size="{_n(label.size)}"'
    return f'<text class="{name}" {at}>{title}{escape(label.text)}</text>'


def _folded(text: str, width: float, size: float) -> list[str]:
    """The text in lines that are no wider, broken between words."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def path_data(points: Iterable[Point]) -> str:
    """Path data of a polyline, level steps written short."""
    points = list(points)
    parts = [f"M{_n(points[0][0])} {_n(points[0][1])}"]
    for one, other in pairwise(points):
        if _n(one[1]) == _n(other[1]):
            if _n(one[0]) != _n(other[0]):
                parts.append(f"H{_n(other[0])}")
        else:
            parts.append(f"L{_n(other[0])} {_n(other[1])}")
    return "".join(parts)


def _n(value: float) -> str:
    """A number with one decimal at the most."""
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
