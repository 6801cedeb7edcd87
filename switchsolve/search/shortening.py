"""A plan made shorter: between two of its standings, some runs apart, there may be a shorter way."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from switchsolve.search.runs import RunState

__all__ = ["Between", "shorten"]

_APART = (4, 6, 8, 10, 12, 14, 16)
"""Runs between the two standings, one after the other."""
_LEAST = 2
"""Fewer runs than this are not looked for."""
Between = Callable[[RunState, RunState | None, int], list[RunState] | None]
"""The standings of a way from one standing to another (``None``: to the end of the work) of at most so many
runs, both included; ``None`` if none was found.
"""


def shorten(chain: list[RunState], between: Between) -> Iterator[list[RunState]]:
    """Ever shorter plans: the standings at the reversals of each, from those of a plan, ``chain``.

    A way between two standings begins and ends with runs of the same directions, so it can be shorter by two
    only; to the end of the work, where any ending will do, by one.
    """
    for apart in _APART:
        at = 0
        while at < len(chain) - 1:
            is_last = at + apart >= len(chain) - 1
            end = None if is_last else chain[at + apart]
            most = len(chain) - 2 - at if is_last else apart - 2
            found = between(chain[at], end, most) if most >= _LEAST else None
            if found is None:
                at += 1
                continue
            chain = [*chain[:at], *found, *([] if is_last else chain[at + apart + 1 :])]
            yield chain
            at = max(0, at - apart + 1)
