"""Walk a district by hand: a person chooses every step, the law says which there are.

::

    from switchsolve.walking import Walk

    walk = Walk(puzzle)
    for number, choice in enumerate(walk.choices):
        print(number, choice.who, choice.leaves, choice.goes)
    walk.go(0)
    print(walk.here.moves, walk.is_done)

:class:`Walk` knows no page; :mod:`switchsolve.walking.server` serves it to a browser on the own machine.
"""

from __future__ import annotations

from switchsolve.walking.choices import Choice
from switchsolve.walking.session import Here, Step, Walk
from switchsolve.walking.typed import begun_from

__all__ = ["Choice", "Here", "Step", "Walk", "begun_from"]
