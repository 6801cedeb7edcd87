"""Cars and locomotives."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Car", "Locomotive", "Vehicle"]


@dataclass(frozen=True, slots=True)
class Car:
    """A car.  ``length`` over couplers in grid units, the file's allowance included."""

    name: str
    length: int
    kind: str = "car"
    is_dead_locomotive: bool = False
    """Counts as a car everywhere, but as a locomotive wherever locomotives may not go."""


@dataclass(frozen=True, slots=True)
class Locomotive:
    """A locomotive.  ``length`` over couplers in grid units, the file's allowance included.

    ``rear_only``: its front neither couples nor shoves; a contact there ends the run.
    ``kind`` serves ``barred`` marks only.
    """

    name: str
    length: int
    rear_only: bool = False
    kind: str = "locomotive"


Vehicle = Car | Locomotive
