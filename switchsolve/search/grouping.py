"""Strings that share cells where a search begins, in order."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from switchsolve.rules import Standing, String, reverse_string

__all__ = ["groups_of", "joined"]


def groups_of(standing: Standing, is_loco: tuple[bool, ...]) -> list[list[String]]:
    """The strings of a start, those that share cells in one group, in order and listed one way.

    Where work has begun a string may lie over cells that are listed this way and that.
    """
    beside: dict[int, dict[int, int]] = {slot: {} for slot in range(len(standing.strings))}
    """Of each string those next to it, and the way through the shared cell that leads to each."""
    for way, row in _shared(standing, is_loco):
        for one, other in pairwise(row):
            beside[one][other], beside[other][one] = way, way ^ 1
    groups, seen = [], set[int]()
    ends = [slot for slot, others in beside.items() if len(others) < 2]
    for first in sorted(ends, key=lambda slot: [way & 1 for way in beside[slot].values()]):
        if first not in seen:
            row = _chain(beside, first)
            seen.update(row)
            groups.append(_listed_on(standing, is_loco, row, beside))
    return groups


def _shared(standing: Standing, is_loco: tuple[bool, ...]) -> Iterator[tuple[int, list[int]]]:
    """Each cell with two strings or more: its way from end to end, and the strings along it."""
    rank = {slot: at for _, order in standing.inside for at, slot in enumerate(order)}
    rows: dict[int, list[tuple[int, int, int]]] = {}
    for slot, string in enumerate(standing.strings):
        for way in string.ways:
            listed = string if not way & 1 else reverse_string(string, is_loco)
            at = listed.ways.index(way & ~1)
            comes, goes = at > 0, at + 1 < len(listed.ways)
            rows.setdefault(way >> 1, []).append((goes - comes, rank.get(slot, 0), slot))
    for cell, row in rows.items():
        if len(row) > 1:
            yield cell << 1, [slot for *_, slot in sorted(row)]


def _chain(beside: dict[int, dict[int, int]], first: int) -> list[int]:
    """The strings that follow each other, from one at an end."""
    row = [first]
    while more := [slot for slot in beside[row[-1]] if slot not in row]:
        row.append(more[0])
    return row


def _listed_on(
    standing: Standing, is_loco: tuple[bool, ...], row: list[int], beside: dict[int, dict[int, int]]
) -> list[String]:
    """The strings, each listed so that it begins in the cell in which the one before ends."""
    strings = [standing.strings[slot] for slot in row]
    if len(row) == 1:
        return [strings[0] if not strings[0].ways[0] & 1 else reverse_string(strings[0], is_loco)]
    listed = []
    for at, string in enumerate(strings):
        last = at + 1 == len(row)
        way = beside[row[at]][row[at - 1]] ^ 1 if last else beside[row[at]][row[at + 1]]
        is_so = string.ways[0 if last else -1] == way
        listed.append(string if is_so else reverse_string(string, is_loco))
    return listed


def joined(group: list[String]) -> String:
    """Strings that follow each other, each beginning in the cell where the one before ends, as one."""
    whole = group[0]
    for string in group[1:]:
        whole = String(whole.ways + string.ways[1:], whole.tokens + string.tokens)
    return whole
