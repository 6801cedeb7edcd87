"""The work: a list of items that must all be true at the end, at rest.

"At the end" is after each locomotive has cut off what does not depart with it (see :class:`Train`).
A car with no item of its own, and not taken by an :class:`AnyCars`, is a hold.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "AnyCars",
    "DoNotTouch",
    "EndsIn",
    "Free",
    "Hold",
    "Item",
    "LocomotiveEnds",
    "Place",
    "Train",
    "Work",
]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a car is wanted: wholly on ``track``, or at the spot ``spot`` of it."""

    track: str
    spot: str | None = None

    def __str__(self) -> str:
        return self.track if self.spot is None else f"{self.track} {self.spot}"


@dataclass(frozen=True, slots=True)
class EndsIn:
    """The car ends in (at) one of ``places``: *spot* has one, *set to any of* several."""

    car: str
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class AnyCars:
    """``count`` cars of ``kind`` end at ``place``, whichever they are.

    The candidates are the cars of that kind with no item of their own; those not chosen are holds.
    ``place.spot`` may be given for ``count`` 1 only.
    """

    kind: str
    count: int
    place: Place


@dataclass(frozen=True, slots=True)
class Hold:
    """The car is back in its starting track (at its starting spot, if it had one) at the end."""

    car: str


@dataclass(frozen=True, slots=True)
class DoNotTouch:
    """The car may not be moved at all, nor coupled to; it stands fixed (``StartString.fixed_at``).

    A string may come up to it; the run ends there."""

    car: str


@dataclass(frozen=True, slots=True)
class Free:
    """The car may end anywhere, in the clear (touching no junction; a table is not a junction)."""

    car: str


@dataclass(frozen=True, slots=True)
class Train:
    """A train that leaves: one string, wholly on ``track`` at the end, holding ``locomotive``, exactly the
    cars
    ``cars`` and nothing else.

    ``locomotive_at``: the locomotive is the vehicle nearest to that end (``from``, ``to``) of the track.
    ``blocks``: read from the locomotive outwards, all cars of the first block, then all of the second, ...;
    the locomotive must then be at one end of the string.  ``last``: this car is at the end of the string
    away from the locomotive, which must then be at the other end.
    """

    locomotive: str
    track: str
    cars: frozenset[str] = frozenset()
    locomotive_at: str | None = None
    blocks: tuple[frozenset[str], ...] = ()
    last: str | None = None


@dataclass(frozen=True, slots=True)
class LocomotiveEnds:
    """Where the locomotive is at the end: wholly on ``track`` (``None``: anywhere, foul or not), its front
    pointing to the end ``heads`` of the track (``None``: either way)."""

    locomotive: str
    track: str | None = None
    heads: str | None = None


Item = EndsIn | AnyCars | Hold | DoNotTouch | Free | Train | LocomotiveEnds


@dataclass(frozen=True, slots=True)
class Work:
    """All items of a set-up.  Each car is named by at most one of EndsIn, Hold, DoNotTouch, Free, Train."""

    items: tuple[Item, ...] = ()

    def of_car(self, car: str) -> Item | None:
        """The item that names ``car``, or ``None`` (then it is a hold or a candidate of AnyCars)."""
        for item in self.items:
            if isinstance(item, EndsIn | Hold | DoNotTouch | Free) and item.car == car:
                return item
            if isinstance(item, Train) and car in item.cars:
                return item
        return None
