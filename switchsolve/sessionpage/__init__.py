"""The page of a session: one HTML file with the train graph, the crews and their sheets, and the balance.

::

    Path("evening.html").write_text(session_html(operation), encoding="utf-8")

It draws the :class:`~switchsolve.operating.Operation` that it is given, and computes no answer of its own.
There is no script, and nothing is loaded from anywhere: the page's own policy forbids it.
"""

from __future__ import annotations

from switchsolve.sessionpage.html import session_html

__all__ = ["session_html"]
