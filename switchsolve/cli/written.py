"""Pages that a command writes."""

from __future__ import annotations

import sys
from pathlib import Path

__all__ = ["html_problems", "write_html"]

_ENDINGS = (".html", ".htm")


def html_problems(output: str) -> list[str]:
    """What is wrong with the name of a page to be written, with its cure: asked before the work for it."""
    if Path(output).suffix.lower() not in _ENDINGS:
        return [f"-o {output}: name a file that ends in {' or '.join(_ENDINGS)}"]
    if not Path(output).parent.is_dir():
        return [f"-o {output}: there is no such folder; make it, or name another"]
    return []


def write_html(command: str, output: str, text: str) -> bool:
    """Write the page; if that is not possible, say why on stderr and return ``False``."""
    try:
        Path(output).write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        print(f"{command}: {output}: it cannot be written ({reason}); name another file", file=sys.stderr)
        return False
    return True
