"""The replay page: one self-contained HTML file that steps and plays a plan on the schematic.

::

    from switchsolve.page import page_html

    html = page_html(puzzle, solution, replayed, draw(puzzle))

Python says where everything is at every step (:mod:`switchsolve.page.film`); the script of the page only goes
from one place to the next.  Nothing is loaded from anywhere: the page's own policy forbids it.
"""

from __future__ import annotations

from switchsolve.page.film import film_of
from switchsolve.page.html import page_html

__all__ = ["film_of", "page_html"]
