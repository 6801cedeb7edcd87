"""Longest runs, compiled: the steps of :mod:`switchsolve.search.runs`, one layer at a time, on integers.

Its files, from the top down; each knows only those below it:

- ``entries``: what Python calls; ``limited``: the same where limits on the moving string bind, compiled only
  when it is asked for; these are the only functions that are kept on disk;
- ``bounding``: the same state with cars left out, looked up in a table; ``within``: runs within limits;
- ``runs``: a run along every branch as far as it goes, and what it may leave behind;
- ``places``: how far a run may come, and where cars may be left; ``states``: read from their words, and
  written; ``store``: a hash table over those kept;
- ``memory``: what lies where in the one array of the set-up.

Nothing is imported from elsewhere in the package but :mod:`switchsolve.kernel.keeping`, whose digest of all
these files tells whether the code on disk is theirs.  ``lint-imports`` checks that.
"""

from __future__ import annotations

from switchsolve.kernel.run_kernel.entries import (
    DONE,
    FULL,
    MET,
    begin,
    bounds,
    expand,
    keep,
    look_up,
    rehash,
)
from switchsolve.kernel.run_kernel.memory import SCALARS, TABLE_NAMES, UNREACHABLE

__all__ = [
    "DONE",
    "FULL",
    "MET",
    "SCALARS",
    "TABLE_NAMES",
    "UNREACHABLE",
    "begin",
    "bounds",
    "expand",
    "keep",
    "look_up",
    "rehash",
]
