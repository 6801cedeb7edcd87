"""Who stands where: strings, standings, actions and their costs, and drafts of a standing to be."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from switchsolve.zone import Zone

__all__ = ["ANY", "Action", "Cost", "Draft", "Standing", "String", "Wanted", "reverse_string"]


class String(NamedTuple):
    """Vehicles that stand coupled: ``ways`` is the path of cells touched, ``tokens`` who stands along it."""

    ways: tuple[int, ...]
    tokens: tuple[int, ...]


class Standing(NamedTuple):
    """Everything at rest.

    ``strings`` are in canonical order; ``inside`` gives, for each cell with two or more strings wholly in
    it, those strings from its ``from`` to its ``to`` end; ``last`` the direction of each locomotive's last
    motion (+1 forward, -1 back, 0 none); ``lined`` the lining of each table; ``zone`` the closed matrix of
    :class:`~switchsolve.zone.Zone`; ``moving`` the (string, side) that may touch what it meets in some of
    these positions, because it is still on the move ((-1, -1): none, or there is one locomotive only).
    """

    strings: tuple[String, ...]
    inside: tuple[tuple[int, tuple[int, ...]], ...]
    last: tuple[int, ...]
    lined: tuple[int, ...]
    zone: tuple[int, ...]
    moving: tuple[int, int] = (-1, -1)

    @property
    def place(self) -> tuple[object, ...]:
        """All but the zone, the directions of the last motions, and who is on the move."""
        return self[0], self[1], self[3]

    @property
    def key(self) -> tuple[object, ...]:
        """All but the zone and who is on the move."""
        return self[0], self[1], self[2], self[3]


class Cost(NamedTuple):
    """What actions cost: moves first, then couplings + cuts, then distance (grid units)."""

    moves: int
    handling: int
    distance: int


class Action(NamedTuple):
    """One event, enough to replay it: string ``string`` of the standing before goes towards its ``side`` end.

    ``cut``: vehicles in the part that goes on (0: no cut), the joint lying in the path's cell number
    ``joint``. ``event``: "go", "enter" (``way``), "leave", "couple" (to string ``other``), "line" (table
    ``string``, pair ``way``).  ``at_edge``: the leading end stands at the edge of a cell that it is listed
    with (told by :class:`~switchsolve.rules.MeasuredRules` only).
    """

    event: str
    string: int
    side: int
    cut: int = 0
    joint: int = 0
    way: int = -1
    other: int = -1
    at_edge: bool = False


class Wanted(NamedTuple):
    """Which actions the caller wants; the others are not worked out.

    ``most_moves``: those that cost no more moves.  ``may_leave``: whether a part may be cut off and left like
    that; ``may_enter``: whether a way may be entered; both are told the moves that the action costs.
    """

    most_moves: int | None = None
    may_leave: Callable[[String, int], bool] | None = None
    may_enter: Callable[[int, int], bool] | None = None


ANY = Wanted()
"""All actions."""


def reverse_string(string: String, is_loco: tuple[bool, ...]) -> String:
    """The same string listed from its other end."""
    return String(
        tuple(way ^ 1 for way in reversed(string.ways)),
        tuple(token ^ 1 if is_loco[token] else token for token in reversed(string.tokens)),
    )


class Draft:
    """A standing being changed: strings by slot (``None`` when gone), the order inside cells, and a zone."""

    __slots__ = ("inside", "last", "lined", "moving", "strings", "zone")

    def __init__(
        self,
        strings: list[String | None],
        inside: dict[int, list[int]],
        last: tuple[int, ...],
        lined: tuple[int, ...],
        zone: Zone,
        moving: tuple[int, int] = (-1, -1),
    ) -> None:
        self.strings = strings
        self.inside = inside
        self.last = last
        self.lined = lined
        self.zone = zone
        self.moving = moving

    def copy(self) -> Draft:
        """An independent copy."""
        inside = {cell: order[:] for cell, order in self.inside.items()}
        return Draft(self.strings[:], inside, self.last, self.lined, self.zone.copy())

    def with_zone(self, zone: Zone) -> Draft:
        """The same draft but for its zone; what stands where is shared, and not to be changed."""
        return Draft(self.strings, self.inside, self.last, self.lined, zone)

    def replace(self, slot: int, ways: tuple[int, ...], tokens: tuple[int, ...]) -> None:
        """Put another string into a slot."""
        self.strings[slot] = String(ways, tokens)
