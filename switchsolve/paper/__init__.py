"""Paper to print: a crew's switch list, with the solution on a second sheet; and work sheets.

::

    from switchsolve.paper import paper_html

    html = paper_html(puzzle, solution)

One self-contained HTML text without any script: tables and words from the puzzle, the schematic from
:mod:`switchsolve.drawing`, the plan from :mod:`switchsolve.words`.  Nothing here computes an answer.
"""

from __future__ import annotations

from switchsolve.paper.html import paper_html
from switchsolve.paper.sheets import Sheet, sheets_html
from switchsolve.paper.side_by_side import Column, side_by_side_html

__all__ = ["Column", "Sheet", "paper_html", "sheets_html", "side_by_side_html"]
