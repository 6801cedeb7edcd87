"""Tracks that are pulled whole, one after the other: the fewest for one pass, the fewest passes.

**A pass.**  The locomotive stands at one end of the cut, on the lead.  It shoves the cut car by car onto
the tracks, the farthest car first, each car onto one track; then it pulls the tracks together, whole and
one after the other, in an order of its choice.  Read from the locomotive, the cars of one track then stand
as they stood before (those pushed in last are nearest the points), and the tracks follow as pulled.

**One pass.**  Number the cars from the locomotive, 0 to n - 1.  The cars of the outgoing train are then
found by going over the numbers again and again, one lap for each track: the train marshalling problem (E.
Dahlhaus, P. Horak, M. Miller, J. Ryan, The train marshalling problem).  With the order of the blocks given
the laps are counted off.  With any order, the earliest end for each set of blocks is found from those of
the sets with one block less: an earlier end is never worse, so that is exact.

**More passes.**  Write down, for each car, the places in the order of pulling of the tracks on which it
stood, those of the last pass first: a number of p digits to the base m, for p passes over m tracks.  The
train stands in the order of these numbers, cars with the same number as they stood at first.  So it is m to
the power of p laps at the most; and laps numbered that way can all be had.  A train that takes K laps can
therefore be had in p passes if and only if K is at most m to the power of p.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["MOST_BLOCKS", "Laps", "Pass", "fewest_laps", "fewest_passes", "passes_of"]

MOST_BLOCKS = 16
"""With more blocks than this in any order nothing is said: the sets of blocks get too many."""


@dataclass(frozen=True, slots=True)
class Laps:
    """The fewest tracks for one pass.  Cars are numbered by their place in the cut, from 0.

    ``blocks``: the order in which they then stand, read from the locomotive; ``lap``: for each car of the cut
    the track on which it is set, counted from 0 in the order in which the tracks are pulled.
    """

    blocks: tuple[str, ...]
    lap: tuple[int, ...]

    @property
    def tracks(self) -> int:
        """How many tracks there are: no fewer will do."""
        return max(self.lap, default=-1) + 1


@dataclass(frozen=True, slots=True)
class Pass:
    """For each track, in the order in which they are pulled, its cars, read from the locomotive."""

    tracks: tuple[tuple[int, ...], ...]

    @property
    def train(self) -> tuple[int, ...]:
        """The cut as it stands after the pass, read from the locomotive."""
        return tuple(car for track in self.tracks for car in track)


def fewest_laps(cut: Sequence[str], blocks: Sequence[str] | None = None) -> Laps:
    """The fewest tracks on which ``cut`` is put into blocks in one pass, each track pulled whole.

    ``cut[i]`` is the block of the ``i``-th car from the locomotive.  ``blocks`` is the order wanted, read
    from the locomotive; left out: any order, the best of them.  Raises ``ValueError`` if ``blocks`` does not
    name each block of the cut once, or if there are more than :data:`MOST_BLOCKS` in any order.
    """
    places: dict[str, list[int]] = {}
    for place, block in enumerate(cut):
        places.setdefault(block, []).append(place)
    if blocks is None:
        blocks = _best_order(places, len(cut))
    elif sorted(blocks) != sorted(places):
        raise ValueError(f"the blocks of the cut are {', '.join(places)}; name each of them once")
    laps, at = [0] * len(cut), -1
    for block in blocks:
        lap, last = divmod(at, len(cut))
        for place in places[block]:
            laps[place] = lap if place > last else lap + 1
        at = _end(at, places[block], len(cut))
    return Laps(tuple(blocks), tuple(laps))


def _end(at: int, places: Sequence[int], cars: int) -> int:
    """Where the block at ``places`` ends, at the earliest, behind ``at`` (laps times cars, and a place)."""
    lap, last = divmod(at, cars)
    missed = [place for place in places if place <= last]
    return (lap + 1) * cars + max(missed) if missed else lap * cars + max(places)


def _best_order(places: dict[str, list[int]], cars: int) -> tuple[str, ...]:
    """The order of blocks that ends first: for each set of blocks the earliest end, set by set."""
    names = list(places)
    if len(names) > MOST_BLOCKS:
        raise ValueError(f"{len(names)} blocks in any order, and {MOST_BLOCKS} are the most: give the order")
    earliest: list[tuple[int, int]] = [(-1, -1)]  # the end, and the block that comes last
    for chosen in range(1, 1 << len(names)):
        earliest.append(
            min(
                (_end(earliest[chosen ^ 1 << last][0], places[names[last]], cars), last)
                for last in range(len(names))
                if chosen >> last & 1
            )
        )
    order, chosen = [], (1 << len(names)) - 1
    while chosen:
        last = earliest[chosen][1]
        order.append(names[last])
        chosen ^= 1 << last
    return tuple(reversed(order))


def fewest_passes(laps: int, tracks: int) -> int | None:
    """The fewest passes over ``tracks`` tracks for a train that one pass would make on ``laps`` tracks.

    0: it is in order as it stands.  ``None``: one track, which changes nothing.  Raises ``ValueError`` for
    less than one track.
    """
    if tracks < 1:
        raise ValueError(f"{tracks} tracks: there must be one at least")
    passes, reach = 0, 1
    while reach < laps:
        if tracks == 1:
            return None
        passes, reach = passes + 1, reach * tracks
    return passes


def passes_of(numbers: Sequence[int], tracks: int, passes: int) -> tuple[Pass, ...]:
    """The passes that put cars in order of ``numbers``, each of ``passes`` digits to the base ``tracks``."""
    train: tuple[int, ...] = tuple(range(len(numbers)))
    found = []
    for power in range(passes):
        digit = [number // tracks**power % tracks for number in numbers]
        made = Pass(tuple(tuple(car for car in train if digit[car] == one) for one in range(tracks)))
        found.append(made)
        train = made.train
    return tuple(found)
