"""Marks and limits: where a vehicle may not go, what must be kept clear, how much may be moved at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from switchsolve.district import Cell, KeepClear, Limits
from switchsolve.plan import Placed
from switchsolve.referee.rail import Ground, has_locomotive, is_live, pieces, say, string_length
from switchsolve.vehicles import Locomotive

__all__ = ["broken_limit", "closed_to", "left_foul"]


def closed_to(ground: Ground, vehicle: str, cell: Cell) -> str | None:
    """Why the vehicle may not touch the cell, or ``None``."""
    marks, found = ground.district.cell_marks(cell), ground.vehicles[vehicle]
    if marks.no_locomotives and (isinstance(found, Locomotive) or found.is_dead_locomotive):
        return "closed to locomotives"
    if found.kind in marks.barred:
        return f"barred to the kind {found.kind!r}"
    return None


def left_foul(
    ground: Ground, strings: Iterable[Placed], moved: Collection[str], forms: Collection[KeepClear]
) -> str | None:
    """The first vehicle left on rail that is to be kept clear (in one of ``forms``) without a live
    locomotive in its string.  Vehicles that have never moved are exempt."""
    for string in strings:
        if has_locomotive(ground, string):
            continue
        for piece in pieces(ground, string):
            is_kept = ground.district.cell_marks(piece.cell).keep_clear in forms
            if is_kept and piece.vehicle in moved:
                place = say(ground.district, piece.cell)
                return f"{piece.vehicle} is left on {place}, which is to be kept clear"
    return None


def broken_limit(ground: Ground, string: Placed, cells: Iterable[Cell]) -> str | None:
    """The limit broken by a moving string (listed in its direction of travel) while it touches ``cells``."""
    wrong = _over(ground, string.vehicles, ground.district.limits)
    if wrong:
        return f"{wrong} (limit of the district)"
    for cell in cells:
        wrong = _over(ground, string.vehicles, ground.district.cell_marks(cell).limits)
        if wrong:
            return f"{wrong} (limit of {say(ground.district, cell)})"
    return None


def _over(ground: Ground, vehicles: Sequence[str], limits: Limits) -> str | None:
    cars = [vehicle for vehicle in vehicles if not is_live(ground, vehicle)]
    if limits.most_cars is not None and len(cars) > limits.most_cars:
        return f"{len(cars)} cars are moved, at most {limits.most_cars} may be"
    length = string_length(ground, cars)
    if limits.longest is not None and length > limits.longest:
        return f"cars of length {length} are moved, at most {limits.longest} may be"
    shoved = _shoved(ground, vehicles)
    if limits.most_shoved is not None and shoved > limits.most_shoved:
        return f"{shoved} cars are shoved ahead, at most {limits.most_shoved} may be"
    return None


def _shoved(ground: Ground, vehicles: Sequence[str]) -> int:
    """Cars ahead of the foremost live locomotive: of several, any may be the one that runs."""
    return next(count for count, vehicle in enumerate(reversed(vehicles)) if is_live(ground, vehicle))
