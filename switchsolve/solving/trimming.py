"""Runs that go no farther than the plan needs.

Longest runs take up all that they meet, and the next run leaves most of it where it stood: the crew would
couple to cars, and cut them off again, for nothing.  Here the standings of a chain are told as they would be
if each run stopped short of such cars.  Whether it can is for the law to say.
"""

from __future__ import annotations

from collections.abc import Sequence

from switchsolve.rules import String
from switchsolve.search.runs import RunState

__all__ = ["trimmed"]


def trimmed(chain: Sequence[RunState]) -> list[RunState]:
    """The standings of a chain at its reversals, without cars in the locomotive's string that the run just
    ended took up last and the next one leaves as they stood.
    """
    found = list(chain)
    for number in range(1, len(chain) - 1):
        before, after = set(found[number - 1][0]), set(chain[number + 1][0])
        others, mine = found[number]
        for string in _at_tail(mine, (before & after).difference(others)):
            others = tuple(sorted((*others, string)))
            mine = _without(mine, string)
        found[number] = others, mine
    return found


def _at_tail(mine: String, strings: set[String]) -> list[String]:
    """Those of the strings that are the last ones of the locomotive's, one after the other."""
    found: list[String] = []
    tokens, left = mine.tokens, set(strings)
    while True:
        at_tail = next(
            (
                one
                for one in sorted(left)
                if tokens[: len(one.tokens)] in (one.tokens, one.tokens[::-1])
                and {way >> 1 for way in one.ways} <= {way >> 1 for way in mine.ways}
            ),
            None,
        )
        if at_tail is None:
            return found
        found.append(at_tail)
        left.remove(at_tail)
        tokens = tokens[len(at_tail.tokens) :]


def _without(mine: String, string: String) -> String:
    """The locomotive's string without one at its tail; over the same cells, but for those that it had for
    that one only.
    """
    gone = {way >> 1 for way in string.ways}
    ways = tuple(way for way in mine.ways if way >> 1 not in gone)
    return String(ways or mine.ways, mine.tokens[len(string.tokens) :])
