"""A table kit: the district at the size of the model on sheets to glue together, cars to cut out, and rulers.

::

    from switchsolve.kit import PAPERS, kit_html

    html = kit_html(puzzle, PAPERS["letter"])

One self-contained HTML text without any script, every measure in millimeters; to be printed at 100 %.
"""

from __future__ import annotations

from switchsolve.kit.html import kit_html
from switchsolve.kit.paper import PAPERS, Paper
from switchsolve.kit.sizes import Sizes, why_no_kit

__all__ = ["PAPERS", "Paper", "Sizes", "kit_html", "why_no_kit"]
