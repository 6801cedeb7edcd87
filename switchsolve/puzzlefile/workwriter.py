"""The work of a puzzle as sections of a file."""

from __future__ import annotations

from typing import Any

from switchsolve.puzzle import Puzzle
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, LocomotiveEnds, Train

__all__ = ["work_sections"]

Lines = dict[str, Any]


def work_sections(puzzle: Puzzle) -> tuple[list[tuple[str, Lines]], list[Lines]]:
    """The sections under ``[work]``, and the trains."""
    items = puzzle.work.items
    plain: Lines = {
        "do_not_touch": [item.car for item in items if isinstance(item, DoNotTouch)],
        "hold": [item.car for item in items if isinstance(item, Hold)],
        "free": [item.car for item in items if isinstance(item, Free)],
        "any": [_any(item) for item in items if isinstance(item, AnyCars)],
    }
    ends = [item for item in items if isinstance(item, EndsIn)]
    sections = [
        ("work", {key: value for key, value in plain.items() if value}),
        ("work.spot", {item.car: str(item.places[0]) for item in ends if len(item.places) == 1}),
        (
            "work.set_to_any_of",
            {item.car: [str(place) for place in item.places] for item in ends if len(item.places) > 1},
        ),
        (
            "work.locomotive",
            {item.locomotive: _ending(item) for item in items if isinstance(item, LocomotiveEnds)},
        ),
    ]
    return sections, [_train(item) for item in items if isinstance(item, Train)]


def _any(item: AnyCars) -> Lines:
    """So many cars of a kind."""
    return {"kind": item.kind, "count": item.count, "to": str(item.place)}


def _ending(item: LocomotiveEnds) -> Lines:
    """How a locomotive ends."""
    line = {"ends_in": item.track, "heads": item.heads}
    return {key: value for key, value in line.items() if value is not None}


def _train(item: Train) -> Lines:
    """A train that departs."""
    line: Lines = {
        "departs_on": item.track,
        "locomotive": item.locomotive,
        "pick_up": sorted(item.cars) or None,
        "locomotive_at": item.locomotive_at,
        "blocks": [sorted(block) for block in item.blocks] or None,
        "last": item.last,
    }
    return {key: value for key, value in line.items() if value is not None}
