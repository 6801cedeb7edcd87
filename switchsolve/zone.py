"""Sets of real positions, as difference constraints.

A zone is the set of all positions that vehicles may really have in one standing.  With one variable ``x_i``
a string (see :mod:`switchsolve.rules`) it is given by bounds ``pos(u) - pos(v) <= d[u][v]`` between nodes.
Node 0 is the number zero.  In a plain zone node ``1 + i`` is ``x_i``; in a **mirrored** zone ``1 + 2i`` is
``x_i`` and ``2 + 2i`` is ``-x_i``, so that sums can be bounded too (wyes, balloon loops and turntables need
that; elsewhere every constraint is a difference).

The matrix is kept closed (each bound is the tightest that follows from the others), flat, row by row, a
Python list while it is worked on.  The method is the difference-bound matrix of real-time model checking
(D. L. Dill, 1989), from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isqrt

__all__ = ["INFINITE", "Zone", "share_a_position"]

INFINITE = 1 << 60


class Zone:
    """A closed difference-bound matrix under construction; ``mirrored`` says which nodes it has."""

    __slots__ = ("d", "mirrored", "n")

    def __init__(self, d: list[int], n: int, mirrored: bool) -> None:
        self.d = d
        self.n = n
        self.mirrored = mirrored

    @classmethod
    def free(cls, strings: int, mirrored: bool) -> Zone:
        """No constraint at all on ``strings`` variables."""
        n = 1 + strings * (2 if mirrored else 1)
        d = [INFINITE] * (n * n)
        for u in range(n):
            d[u * n + u] = 0
        return cls(d, n, mirrored)

    def copy(self) -> Zone:
        """An independent copy."""
        return Zone(self.d[:], self.n, self.mirrored)

    def node(self, string: int, sign: int) -> int:
        """The node of ``sign * x_string`` (sign -1 in a mirrored zone only)."""
        return 1 + 2 * string + (sign < 0) if self.mirrored else 1 + string

    def _tighten(self, u: int, v: int, bound: int) -> bool:
        d, n = self.d, self.n
        if bound >= d[u * n + v]:
            return True
        if d[v * n + u] + bound < 0:
            return False
        row_v = d[v * n : v * n + n]
        for i in range(0, n * n, n):
            through = d[i + u] + bound
            # where this is no tighter, nothing that follows from it is: the matrix was closed
            if through < d[i + v] and through < INFINITE // 2:
                for at, more in enumerate(row_v, i):
                    if through + more < d[at]:
                        d[at] = through + more
        return True

    def at_least(self, string: int, sign: int, bound: int) -> bool:
        """Demand ``sign * x >= bound``; ``False`` if nothing is left."""
        if self.mirrored:
            node, twin = self.node(string, sign), self.node(string, -sign)
            return self._tighten(0, node, -bound) and self._tighten(twin, 0, -bound)
        if sign > 0:
            return self._tighten(0, 1 + string, -bound)
        return self._tighten(1 + string, 0, -bound)

    def sum_at_least(self, one: int, sign: int, other: int, other_sign: int, bound: int) -> bool:
        """Demand ``sign * x_one + other_sign * x_other >= bound`` (two different strings).

        In a plain zone the two signs must differ.
        """
        if self.mirrored:
            return self._tighten(
                self.node(one, -sign), self.node(other, other_sign), -bound
            ) and self._tighten(self.node(other, -other_sign), self.node(one, sign), -bound)
        if sign == other_sign:
            raise ValueError("a plain zone bounds differences only")
        low, high = (1 + one, 1 + other) if sign < 0 else (1 + other, 1 + one)
        return self._tighten(low, high, -bound)

    def release(self, string: int, sign: int) -> None:
        """Let ``sign * x`` grow without bound (what a run in one direction does)."""
        d, n = self.d, self.n
        grows = self.node(string, sign) if self.mirrored or sign > 0 else None
        shrinks = self.node(string, -sign) if self.mirrored or sign < 0 else None
        if grows is not None:
            for j in range(n):
                if j != grows:
                    d[grows * n + j] = INFINITE
        if shrinks is not None:
            for j in range(n):
                if j != shrinks:
                    d[j * n + shrinks] = INFINITE

    def shift(self, string: int, by: int) -> None:
        """Count ``x_string`` from elsewhere: the new ``x`` is the old plus ``by``."""
        d, n = self.d, self.n
        nodes = ((string, 1, by), (string, -1, -by)) if self.mirrored else ((string, 1, by),)
        for one, sign, more in nodes:
            node = self.node(one, sign)
            for at in range(node * n, node * n + n):
                d[at] += more
            for at in range(node, n * n, n):
                d[at] -= more

    def most(self, string: int, sign: int) -> int:
        """The greatest value of ``sign * x``."""
        if self.mirrored:
            return self.d[self.node(string, sign) * self.n]
        return self.d[(1 + string) * self.n] if sign > 0 else self.d[1 + string]

    def rebuild(self, sources: list[tuple[int, int, int]]) -> Zone:
        """A zone over new variables, each ``sign * x_old + shift`` for its ``(old, sign, shift)``.

        Several may come from one old string; old strings that are not named are forgotten.  Sign -1
        needs a mirrored zone.
        """
        nodes: list[tuple[int, int]] = [(0, 0)]
        for old, sign, shift in sources:
            nodes.append((self.node(old, sign), shift))
            if self.mirrored:
                nodes.append((self.node(old, -sign), -shift))
        d, n = self.d, self.n
        fresh: list[int] = []
        if not any(shift for _, shift in nodes):
            kept = [node for node, _ in nodes]
            for u in kept:
                whole = d[u * n : u * n + n]
                fresh += [whole[v] for v in kept]
            return Zone(fresh, len(nodes), self.mirrored)
        for u, u_shift in nodes:
            row = u * n
            fresh += [d[row + v] + u_shift - v_shift for v, v_shift in nodes]
        return Zone(fresh, len(nodes), self.mirrored)


def share_a_position(one: Sequence[int], other: Sequence[int]) -> bool:
    """Whether two closed matrices over the same nodes have a position in common."""
    n = isqrt(len(one))
    d = list(map(min, one, other))
    for w in range(n):
        row = d[w * n : w * n + n]
        for u in range(n):
            through = d[u * n + w]
            if through < INFINITE // 2:
                for v, more in enumerate(row):
                    if through + more < d[u * n + v]:
                        d[u * n + v] = through + more
    return all(d[u * n + u] >= 0 for u in range(n))
