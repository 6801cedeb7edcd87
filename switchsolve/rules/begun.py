"""The law where the work has begun: one standing to start from, with the directions of the last motions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from switchsolve.packing import PackedPuzzle
from switchsolve.rules.actions import Rules
from switchsolve.rules.standing import Standing

__all__ = ["BegunRules"]


class BegunRules(Rules):
    """The same law over the same set-up, but its one start is ``standing``.

    A locomotive that has moved there counts as under way in the direction of its last motion.
    """

    def __init__(self, packed: PackedPuzzle, standing: Standing) -> None:
        super().__init__(replace(packed, start_last=standing.last, start_lined=standing.lined))
        self._standing = standing

    def starts(self) -> Iterator[Standing]:
        """The one standing."""
        yield self._standing
