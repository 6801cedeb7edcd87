"""Set-ups by difficulty: drawn for a district with the cars of its file, solved, and graded.

::

    from switchsolve.setups import Drawer, grade

    for one in grade(Drawer(puzzle), 6, seed=1, tries=24).chosen:
        print(one.figures.moves, one.difficulty)

Every minimum is proved; a set-up that is not proved in time is left out, and counted.
"""

from __future__ import annotations

from switchsolve.setups.difficulty import difficulty_of
from switchsolve.setups.drawer import Drawer
from switchsolve.setups.figures import Figures, figures_of
from switchsolve.setups.grading import Asking, Graded, Grading, grade, hardest, twins
from switchsolve.setups.wandering import trouble_of

__all__ = [
    "Asking",
    "Drawer",
    "Figures",
    "Graded",
    "Grading",
    "difficulty_of",
    "figures_of",
    "grade",
    "hardest",
    "trouble_of",
    "twins",
]
