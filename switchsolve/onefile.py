"""One HTML file that stands alone.

The policy in its head names its one style sheet and its one script by their hashes, and allows nothing else:
no request leaves the page, and no text in it can become a script.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from hashlib import sha256

__all__ = ["document"]

_ICON = "data:,"
"""An empty icon, so that no browser asks for one."""


def document(title: str, style: str, body: Sequence[str], script: str = "") -> str:
    """The whole text.  ``title`` and the lines of ``body`` are HTML, escaped by the caller."""
    scripts = f"'{_hash(script)}'" if script else "'none'"
    policy = (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src {scripts}; img-src data:;"
        " base-uri 'none'; form-action 'none'"
    )
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en" dir="ltr">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}</title>",
        f'<link rel="icon" href="{_ICON}">',
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        *body,
        *([f"<script>{script}</script>"] if script else []),
        "</body>",
        "</html>",
    ]
    return "\n".join(lines) + "\n"


def _hash(text: str) -> str:
    return "sha256-" + b64encode(sha256(text.encode("utf-8")).digest()).decode()
