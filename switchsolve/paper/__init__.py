"""A crew's paper: a switch list to print, and the solution on a second sheet.

::

    from switchsolve.paper import paper_html

    html = paper_html(puzzle, solution)

One self-contained HTML text without any script: tables and words from the puzzle, the schematic from
:mod:`switchsolve.drawing`, the plan from :mod:`switchsolve.words`.  Nothing here computes an answer.
"""

from __future__ import annotations

from switchsolve.paper.html import paper_html
from switchsolve.paper.side_by_side import Column, side_by_side_html

__all__ = ["Column", "paper_html", "side_by_side_html"]
