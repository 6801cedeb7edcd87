"""TOML as text: keys, values and tables, written plainly and deterministically."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

__all__ = ["Tomlable", "dotted", "key_text", "shortened", "value_text"]

Tomlable = object
"""What :func:`value_text` can write: text, numbers, truth values, lists and tables of these."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r", "\b": "\\b", "\f": "\\f"}


def _quoted(text: str) -> str:
    """``text`` as a basic string; control characters are escaped."""
    return '"' + "".join(_escaped(letter) for letter in text) + '"'


def _escaped(letter: str) -> str:
    """One letter of a basic string."""
    if letter in _ESCAPES:
        return _ESCAPES[letter]
    return f"\\u{ord(letter):04X}" if ord(letter) < 32 or ord(letter) == 127 else letter


def key_text(key: str) -> str:
    """A key, bare where TOML allows it."""
    return key if _BARE.fullmatch(key) else _quoted(key)


def value_text(value: Tomlable) -> str:
    """A value in one line.  What TOML has no word for is written as Python writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, Decimal) and value.is_infinite():
        return "inf" if value > 0 else "-inf"
    if isinstance(value, int | Decimal):
        return str(value).lower()
    if isinstance(value, Mapping):
        lines = ", ".join(f"{key_text(str(key))} = {value_text(item)}" for key, item in value.items())
        return f"{{ {lines} }}" if lines else "{}"
    if isinstance(value, Sequence):
        return f"[{', '.join(value_text(item) for item in value)}]"
    return str(value)


def shortened(text: str, most: int = 60) -> str:
    """``text`` cut to ``most`` letters, for messages."""
    return text if len(text) <= most else text[: most - 3] + "..."


def dotted(path: Sequence[str | int]) -> str:
    """A place in a file: ``tracks."cider works".parts[2].length``; list items are counted from 1."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += ("." if text else "") + key_text(step)
    return text
