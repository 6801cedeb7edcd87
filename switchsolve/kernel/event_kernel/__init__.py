"""The event search of :mod:`switchsolve.search.events`, compiled.

The rules are those of :mod:`switchsolve.rules`, function by function, on integers; the same standings come
out in the same order, which a test holds it to.  Integers are signed 64-bit.

Its files, from the top down; each knows only those below it:

- ``entries``: what Python calls, and the only functions that are kept on disk;
- ``search``: a standing expanded, and what comes of it handed to the store;
- ``form``: the one agreed form of a standing; ``coarsely``: the law seen loosely and coarsely;
- ``events``: how a run begins, and what a string then comes to;
- ``demands``: what a standing demands of positions, marks and limits;
- ``drafts``: strings, who stands next to whom, and copies of it all;
- ``zones``: sets of real positions; ``store``: everything reached;
- ``memory``: what lies where in the one array of the set-up.

Nothing is imported from elsewhere in the package but :mod:`switchsolve.kernel.keeping`, whose digest of all
these files tells whether the code on disk is theirs: a function or a constant from another place would be
compiled in without noticing that it has changed there.  ``lint-imports`` checks that.
"""

from __future__ import annotations

from switchsolve.kernel.event_kernel.entries import (
    CANDIDATE,
    EXHAUSTED,
    FULL,
    LIMIT,
    begin,
    meet,
    nearest,
    rehash,
    run,
)
from switchsolve.kernel.event_kernel.memory import ANY_WAY, COARSELY, LOOSELY, SCALARS, TABLE_NAMES
from switchsolve.kernel.event_kernel.store import (
    ACTION,
    COLUMNS,
    COST,
    MOVER,
    OF_PLACE,
    PARENT,
    ZONE_AT,
    Store,
)

__all__ = [
    "ACTION",
    "ANY_WAY",
    "CANDIDATE",
    "COARSELY",
    "COLUMNS",
    "COST",
    "EXHAUSTED",
    "FULL",
    "LIMIT",
    "LOOSELY",
    "MOVER",
    "OF_PLACE",
    "PARENT",
    "SCALARS",
    "TABLE_NAMES",
    "ZONE_AT",
    "Store",
    "begin",
    "meet",
    "nearest",
    "rehash",
    "run",
]
