"""Where a run halts that could otherwise come back to where it was.

Longest runs want an end: on an oval, or round a balloon loop, a run has none.  There it halts at the edges of
a long cell, and goes on from them as if it began anew, in the same run: so it is a row of longest runs (as
over a table, see :meth:`~switchsolve.packing.PackedPuzzle.beyond`), none of which comes back to a cell, or to
what it has left.

The cell is at least as long as all vehicles together, and meets no table.  So whoever is left over its edge
could as well be left wholly within it, and nobody stands over an edge at which runs halt; and who halts at
its far edge has left all that lies before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from switchsolve.packing import PackedPuzzle

__all__ = ["can_come_back", "halts_of"]

_MOST_ROWS = 30_000
"""Rows of cells looked through: with more there is no room for them in the compiled search either."""


def can_come_back(p: PackedPuzzle) -> bool:
    """Whether a run can come back to a cell that it was in, or to one that excludes such a cell."""
    return _comes_back(p, frozenset(), 0)


def halts_of(p: PackedPuzzle) -> frozenset[int] | None:
    """The ways at whose end a run halts, where it :func:`can_come_back`; ``None``: there are no such ways
    that keep every run from coming back.
    """
    longest = sum(p.classes[number].length for number in p.class_of.values())
    long = [
        cell
        for cell in range(len(p.cells))
        if p.lengths[cell] >= longest
        and p.all_may_touch[cell]
        and p.table_cells.isdisjoint(way >> 1 for way in (2 * cell, *_beyond_both_ends(p, cell)))
    ]
    long.sort(key=lambda cell: -p.lengths[cell])
    halts: frozenset[int] = frozenset()
    for cell in long:
        if _leads_back(p, halts, cell):
            halts |= _edges(p, cell)
            if not _comes_back(p, halts, longest):
                return halts
    return None


def _beyond_both_ends(p: PackedPuzzle, cell: int) -> tuple[int, ...]:
    """The ways that lead on from both ends of a cell."""
    return p.ways_on[2 * cell] + p.ways_on[2 * cell + 1]


def _edges(p: PackedPuzzle, cell: int) -> set[int]:
    """The ways that come to one of the edges of a cell, from within or from beyond it."""
    return {2 * cell, 2 * cell + 1, *(following ^ 1 for following in _beyond_both_ends(p, cell))}


def _onward(p: PackedPuzzle, halts: frozenset[int], way: int) -> Iterator[int]:
    """The ways that come after ``way`` before a halt, each once."""
    seen: set[int] = set()
    stack = [way]
    is_first = True
    while stack:
        here = stack.pop()
        if here in halts or (here >> 1 in p.table_cells and not is_first):
            continue
        is_first = False
        for following in p.ways_on[here]:
            if following not in seen:
                seen.add(following)
                yield following
                stack.append(following)


def _leads_back(p: PackedPuzzle, halts: frozenset[int], cell: int) -> bool:
    """Whether a run from a cell can come back to it before a halt."""
    return any(following >> 1 == cell for way in (0, 1) for following in _onward(p, halts, 2 * cell + way))


def _comes_back(p: PackedPuzzle, halts: frozenset[int], longest: int) -> bool:
    """Whether a run of a string, of ``longest`` grid units at most, can come to a cell that it was in, or
    to one that excludes such a cell, before it halts (once more, if it sets out from a halt).
    """
    onward = {way: frozenset(one >> 1 for one in _onward(p, halts, way)) for way in range(2 * len(p.cells))}
    near = [frozenset((cell, *p.conflicts[cell])) for cell in range(len(p.cells))]
    if any(near[way >> 1] & cells for way, cells in onward.items()):
        return True
    if not halts:
        return False
    for number, ways in enumerate(_rows(p, longest)):
        before = frozenset().union(*(near[way >> 1] for way in ways[:-1]))
        if number > _MOST_ROWS or ways[-1] >> 1 in before:
            return True
        ahead = onward[ways[-1]]
        if ways[-1] in halts:
            before |= near[ways[-1] >> 1]
            if sum(p.lengths[way >> 1] for way in ways[1:]) < longest:  # who halts there may touch them all
                ahead = _beyond(p, onward, ways[-1])
        if not before.isdisjoint(ahead):
            return True
    return False


def _beyond(p: PackedPuzzle, onward: dict[int, frozenset[int]], way: int) -> frozenset[int]:
    """The cells of a run that sets out from a halt at the end of ``way``."""
    following: Iterable[int] = p.ways_on[way]
    return frozenset().union(*(onward[one] | {one >> 1} for one in following))


def _rows(p: PackedPuzzle, longest: int) -> Iterator[tuple[int, ...]]:
    """Every row of ways over which a string can stand, shorter ones first."""
    rows: list[tuple[tuple[int, ...], int]] = [((way,), 0) for way in range(2 * len(p.cells))]
    while rows:
        longer: list[tuple[tuple[int, ...], int]] = []
        for ways, inner in rows:
            yield ways
            inner += p.lengths[ways[-1] >> 1] if len(ways) > 1 else 0
            if inner + 2 <= longest:
                longer.extend(((*ways, way), inner) for way in p.beyond(ways))
        rows = longer
