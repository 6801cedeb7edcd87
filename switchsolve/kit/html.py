"""The kit as one HTML text: how it goes together, the tiles, the cut-outs and the rulers, a page each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from importlib.resources import files

from switchsolve.drawing.text import clean, shortened
from switchsolve.kit.cutouts import Piece, rows_of, rulers, vehicle_pieces
from switchsolve.kit.ground import Ground, ground_of
from switchsolve.kit.paper import OVERLAP, Paper, Tile, tiles_of
from switchsolve.kit.sizes import Sizes
from switchsolve.kit.turnouts import turnout_pieces
from switchsolve.onefile import document
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["kit_html"]

_CAUTION = "For models only: never plan or direct real train movements with this kit."
_BAR = 100.0


def kit_html(puzzle: Puzzle, paper: Paper) -> str:
    """The whole kit for one kind of paper.

    Raises ``ValueError`` where :func:`~switchsolve.kit.sizes.why_no_kit` gives a reason.
    """
    sizes = Sizes.of(puzzle)
    return _Kit(puzzle, paper, sizes, ground_of(puzzle, sizes)).text()


class _Kit:
    """Writes one kit."""

    def __init__(self, puzzle: Puzzle, paper: Paper, sizes: Sizes, ground: Ground) -> None:
        self._puzzle, self._paper, self._sizes, self._ground = puzzle, paper, sizes, ground
        self._tiles = tiles_of(ground.width, ground.height, paper, ground.things)
        self._title = clean(puzzle.title) or "A switching district"

    def text(self) -> str:
        """The page."""
        window = self._paper.window
        wide, high = window.right - window.left, window.bottom - window.top
        pages = [self._index(), *map(self._tile, self._tiles)]
        for what, pieces in (
            ("Turnouts to cut out", turnout_pieces(self._puzzle, self._sizes, wide)),
            ("Cars and locomotives to cut out", vehicle_pieces(self._puzzle, self._sizes, wide)),
            ("Rulers in the cars of this fleet", rulers(self._puzzle, self._sizes, wide)),
        ):
            sheets = rows_of(pieces, wide, high)
            for number, sheet in enumerate(sheets, 1):
                count = f", {number} of {len(sheets)}" if len(sheets) > 1 else ""
                pages.append(self._cutouts(f"{what}{count}", sheet))
        size = f"@page {{ size: {self._paper.width}mm {self._paper.height}mm; margin: 0; }}"
        style = files("switchsolve.kit").joinpath("kit.css").read_text(encoding="utf-8")
        return document(f"Table kit: {escape(self._title)}", f"\n{size}\n{style}", pages)

    def _page(self, name: str, inside: Sequence[str]) -> str:
        """A sheet of paper with its name, the bar to check by, and what it shows."""
        paper, window = self._paper, self._paper.window
        told = shortened(f"{self._title}: {name}", window.right - window.left, 3.6)
        foot = window.bottom + 9
        size = f'width="{paper.width}mm" height="{paper.height}mm" viewBox="0 0 {paper.width} {paper.height}"'
        return "\n".join(
            [
                f'<svg class="page" {size} role="img" aria-label="{escape(name)}">',
                *inside,
                f'<text class="head" x="{window.left}" y="9">{escape(told)}</text>',
                f'<path class="bar" d="M{window.left} {foot}h{_BAR:g}"/>',
                *(
                    f'<path class="mark" d="M{window.left + at} {foot - 2}v4"/>'
                    for at in (0.0, _BAR / 2, _BAR)
                ),
                f'<text class="foot" x="{window.left + _BAR + 4}" y="{foot + 1}">'
                f"This bar is {_BAR:g} mm long: print at 100 % (not &#8220;fit to page&#8221;), on "
                f"{paper.name} paper.</text>",
                f'<text class="foot" x="{window.left}" y="{foot + 6}">{_CAUTION}</text>',
                "</svg>",
            ]
        )

    # ---- the district

    def _index(self) -> str:
        """How the sheets go together; it holds the drawing that all the others show a part of."""
        window = self._paper.window
        wide = max(self._ground.width, max(tile.box.right for tile in self._tiles))
        high = max(self._ground.height, max(tile.box.bottom for tile in self._tiles))
        scale = min((window.right - window.left) / wide, 0.5 * (window.bottom - window.top) / high)
        inside = [f'<defs><g id="ground">\n{self._ground.svg}\n</g></defs>']
        inside.append(f'<g transform="translate({window.left} {window.top}) scale({scale:.5f})">')
        inside.append('<use href="#ground"/>')
        for tile in self._tiles:
            box = tile.box
            size = f'width="{box.right - box.left:.2f}" height="{box.bottom - box.top:.2f}"'
            inside.append(f'<rect class="sheet" x="{box.left:.2f}" y="{box.top:.2f}" {size}/>')
            inside.append(
                f'<text class="sheet-name" x="{(box.left + box.right) / 2:.2f}" y="{box.bottom - 15:.2f}">'
                f"{tile.name}</text>"
            )
        inside.append("</g>")
        top = window.top + scale * high + 8
        for number, line in enumerate(self._instructions()):
            text = escape(line)
            inside.append(f'<text class="line" x="{window.left}" y="{top + 5 * number:.2f}">{text}</text>')
        return self._page("how the sheets go together", inside)

    def _instructions(self) -> Iterator[str]:
        count = len(self._tiles)
        yield f"{counted(count, 'sheet')} of track at the size of the model. Cut each sheet along its corner"
        yield f"marks on the left and above, and glue it over the {OVERLAP:g} mm strip of its neighbor."
        yield "Each track has its true usable length, from tick to tick, and so has each leg of a turnout,"
        yield "from the points to its clearance point, drawn with corners for curves. Dotted rail only joins,"
        yield "and is not there on the table: where two ways around are not equally long, the rail must bend."
        yield "The turnouts to cut out are curved as they lie, all to one hand. Print such a sheet once for"
        yield "each name on it, and lay them between tracks that are cut out, too, where every inch counts."
        if self._sizes.is_told:
            yield f"Lanes are {self._sizes.centers:.1f} mm apart, the track centers of the file."
        else:
            yield f"The file gives no track centers: lanes are drawn {self._sizes.centers:.1f} mm apart."
        yield "Cars and locomotives are as long as the file has them over couplers, its allowance included;"
        yield "their width is not to scale. A locomotive's arrow is its front."

    def _tile(self, tile: Tile) -> str:
        window, box = self._paper.window, tile.box
        wide, high = window.right - window.left, window.bottom - window.top
        view = f'viewBox="{box.left:.3f} {box.top:.3f} {wide:.3f} {high:.3f}"'
        place = f'x="{window.left}" y="{window.top}" width="{wide:.3f}" height="{high:.3f}"'
        inside = [f'<svg {place} {view}><use href="#ground"/></svg>', *self._crop_marks()]
        names = {(other.row, other.column): other.name for other in self._tiles}
        beside = names.get((tile.row, tile.column + 1))
        if beside is not None:
            x = window.right - OVERLAP
            inside.append(f'<path class="glue" d="M{x:.2f} {window.top}V{window.bottom}"/>')
        below = names.get((tile.row + 1, tile.column))
        if below is not None:
            y = window.bottom - OVERLAP
            inside.append(f'<path class="glue" d="M{window.left} {y:.2f}H{window.right}"/>')
        told = [f"right of it {beside}" if beside else "", f"below it {below}" if below else ""]
        more = "".join(f"; {one}" for one in told if one)
        return self._page(f"sheet {tile.name}{more}", inside)

    def _crop_marks(self) -> Iterator[str]:
        """At each corner of what is to be cut out, outside of it."""
        window = self._paper.window
        for x, out in ((window.left, -1), (window.right, 1)):
            for y, off in ((window.top, -1), (window.bottom, 1)):
                yield f'<path class="crop" d="M{x} {y + off}v{3 * off}M{x + out} {y}h{3 * out}"/>'

    # ---- what is cut out

    def _cutouts(self, name: str, pieces: Sequence[tuple[float, float, Piece]]) -> str:
        window = self._paper.window
        return self._page(
            name,
            [
                f'<g transform="translate({window.left + x:.3f} {window.top + y:.3f})">{piece.svg}</g>'
                for x, y, piece in pieces
            ],
        )
