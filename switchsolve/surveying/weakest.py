"""The weakest points of a district, by a rule that is told on the page.

One of each kind, in this order, and the first three that there are: the standard that is most short; the spot
that takes most moves; the change that would save most moves of the file's own work; the place with the least
rail to spare; the run-around that passes the fewest cars.  Only what is proved counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from switchsolve.measuring.saying import standard_text, tightest_text
from switchsolve.measuring.spots import Row
from switchsolve.surveying.asking import Survey
from switchsolve.words import counted

__all__ = ["MOST_POINTS", "RULE", "Weak", "hardest_spot", "weakest"]

MOST_POINTS = 3
RULE = (
    "One of each kind, the first three that there are: the standard that is most short, the spot that takes "
    "most moves, what costs most moves in the work of the file, the place with the least rail to spare, the "
    "run-around that passes the fewest cars."
)


@dataclass(frozen=True, slots=True)
class Weak:
    """A weak point: its ``name``, and the figure that shows it, which is proved."""

    name: str
    told: str


def weakest(found: Survey) -> tuple[Weak, ...]:
    """Three at the most; fewer if no more were found."""
    return tuple(islice(_points(found), MOST_POINTS))


def _points(found: Survey) -> Iterator[Weak]:
    yield from _standard(found)
    yield from _spot(found)
    yield from _change(found)
    yield from _tightest(found)
    yield from _run_around(found)


def _standard(found: Survey) -> Iterator[Weak]:
    """The standard that lacks most rail; one that no single track cures before all others."""
    short = [result for result in found.facts.standards if result.is_met is False]
    if not short:
        return
    worst = max(short, key=lambda one: (one.cure is None, one.cure.length if one.cure else 0))
    yield Weak(f"A standard is not met: {worst.rule}", standard_text(found.puzzle, worst))


def hardest_spot(found: Survey) -> Row | None:
    """The row with the greatest proved minimum, the first of several."""
    proved = [row for row in found.spots.rows if row.alone.proved is not None]
    return max(proved, key=lambda row: row.alone.proved or 0, default=None)


def _spot(found: Survey) -> Iterator[Weak]:
    row = hardest_spot(found)
    if row is None or row.alone.proved is None:
        return
    same = {one.place for one in found.spots.rows if one.alone.proved == row.alone.proved} - {row.place}
    take = "takes" if len(same) == 1 else "take"
    also = f"; {counted(len(same), 'other spot')} {take} as many" if same else ""
    where = {"behind": "behind", "ahead": "ahead of"}[str(row.arrival.order)]
    doing = f"{row.task} with the cars {where} the locomotive"
    crew = "" if row.alone.crew is None else f", a plain crew {row.alone.crew}"
    is_whole = len(found.spots.rows) == found.spots.wanted and all(
        one.alone.is_settled for one in found.spots.rows
    )
    most = "most moves" if is_whole else "most moves of what was proved in time"
    yield Weak(f"{row.place} takes {most}", f"{doing}: {row.alone.proved} (proved){crew}{also}")


def _change(found: Survey) -> Iterator[Weak]:
    """What costs most moves, or alone makes the work impossible."""
    gain = next(iter(found.changes.savings), None)
    if gain is None or gain.moves is None:
        return
    now = found.changes.now.counts
    if now is None or gain.saved is None:
        told = f"the work is impossible; without it, it takes {counted(gain.moves, 'move')}"
    else:
        told = f"it costs {counted(gain.saved, 'move')} of the {now.moves} of the work in the file (proved)"
    name = str(gain.nuisance)
    yield Weak(f"{name[0].upper()}{name[1:]}", told)


def _tightest(found: Survey) -> Iterator[Weak]:
    if found.facts.tightest is not None:
        told = tightest_text(found.puzzle, found.facts.tightest)
        yield Weak("The least rail to spare", f"{told} (proved)")


def _run_around(found: Survey) -> Iterator[Weak]:
    counts = [
        (fact.passes.number, fact.name)
        for fact in found.facts.loops
        if fact.loop.kind == "run-around" and fact.passes is not None and fact.passes.is_proved
    ]
    if counts:
        number, name = min(counts)
        yield Weak(
            f"The run-around {name}", f"the locomotive passes {counted(number, 'car')} at once (proved)"
        )
