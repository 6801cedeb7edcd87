"""Designing: from what is left open and what is wished to the arrangements of track that fulfill it.

::

    from switchsolve import load
    from switchsolve.designing import design

    found = design(load("puzzles/design_boat_yard.toml"))
    for arrangement in found.arrangements:
        print(arrangement.cost, arrangement.chosen)
"""

from __future__ import annotations

from switchsolve.designing.demands import CannotAsk
from switchsolve.designing.finding import RAIL, TURNOUTS, Arrangement, Found, Fulfilled, Way, design
from switchsolve.designing.searching import Tally

__all__ = ["RAIL", "TURNOUTS", "Arrangement", "CannotAsk", "Found", "Fulfilled", "Tally", "Way", "design"]
