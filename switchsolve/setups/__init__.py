"""Set-ups by difficulty: drawn for a district with the cars of its file, solved, and graded.

::

    from switchsolve.setups import Drawer, grade

    graded = grade(Drawer(puzzle), count=6, seed=1)
    for one in graded.chosen:
        print(one.figures.moves, one.difficulty)

Every minimum is proved; a set-up that is not proved in time is left out, and counted.
"""

from __future__ import annotations
