"""How wide a text is, and how to make it shorter: measured without any font at hand.

The widths are those of a common wide sans-serif, rounded up, so that a text set in a narrower one fits too.
"""

from __future__ import annotations

from unicodedata import category, east_asian_width

__all__ = ["clean", "shortened", "text_width"]

_WIDTHS = {
    0.33: "'IJijl ",
    0.40: ",./:;\\f|()-[]rt·",
    0.46: "!",
    0.52: '"°`',
    0.58: "*?_sz–",
    0.64: "FLTckvxy",
    0.66: "$0123456789EPSYabdeghnopqu{}",
    0.76: "BCKRVXZANU",
    0.84: "&DGHOQ",
    0.88: "#+<=>^w~M",
    1.02: "%Wm…—",
    1.08: "@",
}
"""Share of the size of the type, by letter."""
_WIDTH_OF = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


def text_width(text: str, size: float) -> float:
    """Width of ``text`` in type of a size; never less than it will be."""
    return size * sum(_letter(letter) for letter in text)


def _letter(letter: str) -> float:
    if letter in _WIDTH_OF:
        return _WIDTH_OF[letter]
    return 1.1 if east_asian_width(letter) in "WFA" or ord(letter) > 0x2FF else 0.85


def clean(text: str) -> str:
    """The text in one line, with nothing in it that XML or a terminal cannot show.

    Control and format letters, which could turn the text round or break a file, become U+FFFD.
    """
    kept = (" " if letter.isspace() else letter for letter in text)
    shown = (
        "\ufffd"
        if category(letter) in ("Cc", "Cf", "Cs", "Cn", "Co") or ord(letter) in (0xFFFE, 0xFFFF)
        else letter
        for letter in kept
    )
    return " ".join("".join(shown).split())


def shortened(text: str, width: float, size: float) -> str:
    """The text with its middle left out, so that it is no wider; at the least an ellipsis.

    The tail is kept longer than the head: numbers stand there.
    """
    if text_width(text, size) <= width:
        return text
    for kept in range(len(text) - 1, 0, -1):
        head = kept // 2
        short = f"{text[:head].rstrip()}…{text[len(text) - (kept - head) :].lstrip()}"
        if text_width(short, size) <= width:
            return short
    return "…"
