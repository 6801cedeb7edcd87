"""How many moves it takes at the least to pass cars by way of a run-around, told by lengths alone."""

from __future__ import annotations

from collections.abc import Iterator

from switchsolve.facts.probes import Entry
from switchsolve.facts.rail import MOST_PATHS, Rail, is_one_train
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules

__all__ = ["least_around"]

_MOVES = 4


def least_around(entry: Entry, probe: Puzzle) -> int:
    """No plan of ``probe`` has fewer moves, in which the locomotive of a train on the track of ``entry`` gets
    from its inner end to the other end of its cars.  0: that is not known.

    Let there be no table, nothing that turns a string end for end, and no run that comes back to where it
    was; and let the track lead nowhere but inwards.  Call the inner end of the locomotive F, the other, with
    the cars, R.  Then it runs inwards with F ahead, and outwards with R ahead.  In a dead end vehicles keep
    their order: when it comes into the track for good it comes first, with nothing at R, and no car is left
    there; what it has not brought along at F takes two moves more.  And it couples to nothing at F in a move
    in which all cars were at R, or behind, when it began: it would come back to where it was.

    It goes out first in a move f, inwards, and takes all cars out in that move, or goes out once more.

    * If it comes in for good in move f + 1 it has nothing at F, so f + 3 moves make a plan.  That is four.
    * If it comes in for good in move f + 3 that is four too, with all cars at F: those it met in move f + 2.
      So in move f + 1 it had nothing at R, for what is met there cannot be cut off before it goes inwards
      again, and is behind it then.

    Either way it left all cars in its first move, somewhere on its path, came out from behind them in its
    second by other rail, without meeting them, and to their outer end by other rail once more: outwards in
    that move, or inwards in the third.  Where rail parts, the routes exclude each other; so all cars stood
    between two such places, and on nothing that excludes what it came over: if they do not fit there it takes
    five moves.
    """
    if not is_one_train(probe, entry) or probe.district.tables:
        return 0
    p = pack(probe)
    rail = _Around(p, entry)
    if Rules(p).orientation is None or not rail.goes_one_way():
        return 0
    needs = sum(car.length for car in probe.cars)
    for count, path in enumerate(rail.paths()):
        if count > MOST_PATHS or needs <= rail.room(path):
            return _MOVES
    return _MOVES + 1


class _Around(Rail):
    """The rail on which a locomotive gets from behind its cars to their other end."""

    def paths(self) -> Iterator[tuple[int, ...]]:
        """All rows of ways inwards, the last that of the entry track first."""
        waiting: list[tuple[int, ...]] = [(self.inwards,)]
        while waiting:
            path = waiting.pop()
            yield path
            waiting += [(*path, way) for way in self.after(path[-1])]

    def room(self, path: tuple[int, ...]) -> int:
        """The most length of cars left on ``path``, if the locomotive comes out from its last cell by other
        rail, and to their other end.
        """
        conflicts, lengths = self.p.conflicts, self.p.lengths
        most = 0
        for first in self._firsts(path, frozenset()):
            room = 0
            for way in path[first + 1 : -2]:
                cell = way >> 1
                # who stands there keeps the locomotive off what that cell excludes
                if not conflicts[cell] or first in self._firsts(path, frozenset(conflicts[cell])):
                    room += lengths[cell]
            most = max(most, room)
        return most

    def _firsts(self, path: tuple[int, ...], barred: frozenset[int]) -> set[int]:
        """Where on ``path`` the locomotive may first come upon it anew, but not over cells ``barred``: the
        numbers of the cells that part there from its way, on which nobody can stand.
        """
        cells = barred.union(way >> 1 for way in path)
        leaving = {way for way in self.after(path[-1] ^ 1) if way >> 1 not in cells}
        if not leaving:
            return set()
        at = {way: number for number, way in enumerate(path)}
        outwards = self._beside(leaving, cells)
        inwards = self._beside({way ^ 1 for way in outwards}, cells)
        return {at[way ^ 1] + 1 for way in self._following(outwards) if way ^ 1 in at} | {
            at[way] - 1 for way in self._following(inwards) if way in at
        }

    def _following(self, ways: set[int]) -> set[int]:
        return {following for way in ways for following in self.after(way)}

    def _beside(self, ways: set[int], cells: frozenset[int]) -> set[int]:
        """``ways``, and what can be reached from them without coming onto ``cells``."""
        found = set(ways)
        waiting = list(ways)
        while waiting:
            for following in self.after(waiting.pop()):
                if following not in found and following >> 1 not in cells:
                    found.add(following)
                    waiting.append(following)
        return found
