# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""Bounds: the same state with cars left out, looked up in a table of all such states."""

from __future__ import annotations

from numba import njit

from switchsolve.kernel.run_kernel.memory import (
    AHEAD,
    ALL_MAY,
    AT,
    BEGIN,
    BRANCH,
    CHILD,
    KEY,
    MOVING,
    NODE_CELLS,
    NODE_TURNED,
    NODE_WAYS,
    PATH,
    REACHED,
    ROOT,
    STRING_BEGIN,
    STRING_NODE,
    TOKEN,
    TOKEN_LENGTH,
    UNCOUNTED,
)
from switchsolve.kernel.run_kernel.runs import branches_of, enter, first_frame
from switchsolve.kernel.run_kernel.states import encode, wipe
from switchsolve.kernel.run_kernel.store import depth_of, find

__all__ = [
    "UNSURE",
    "bound_of",
    "far_back",
    "is_closed_to_some",
    "leave_out",
    "sort_cars",
    "stop_there",
]

UNSURE = 4
"""Runs for a choice of cars that says nothing, in a sum."""


@njit(**UNCOUNTED)
def is_closed_to_some(m, node):  # type: ignore[no-untyped-def]
    """Whether some vehicle may not touch one of the cells of ``node``."""
    ways = m[NODE_WAYS] + node * m[7]
    for k in range(m[m[NODE_CELLS] + node]):
        if not m[m[ALL_MAY] + (m[ways + k] >> 1)]:
            return True
    return False


@njit(**UNCOUNTED)
def leave_out(m, fewer, kept, strings, token_of, node_of):  # type: ignore[no-untyped-def]
    """Copy the decoded state without the vehicles that are not ``kept``, the locomotive's string turned:
    the number of other strings, or -1 if it is not sure where what is left of one would stand with every part
    open, or there is no number for where it stands.

    ``token_of``, ``node_of``: the numbers that tokens and nodes have in ``fewer`` (a node may have none: -1).
    """
    node_cells_ = m[NODE_CELLS]
    node_turned_ = m[NODE_TURNED]
    node_ways_ = m[NODE_WAYS]
    token_ = m[TOKEN]
    string_node_ = m[STRING_NODE]
    string_begin_ = m[STRING_BEGIN]
    reached_ = m[REACHED]
    node = node_of[m[node_turned_ + m[reached_]]]
    if node < 0:
        return -1
    fewer[fewer[REACHED]] = node
    count = 0
    for v in range(m[string_begin_] - 1, -1, -1):
        if kept[v]:
            token = m[token_ + v]
            fewer[fewer[TOKEN] + count] = token ^ 1 if token < 2 else token_of[token]
            count += 1
    left = 0
    for s in range(strings):
        first, end = m[string_begin_ + s], m[string_begin_ + s + 1]
        stay = 0
        for v in range(first, end):
            stay += kept[v]
        if not stay:
            continue
        node = m[string_node_ + s]
        cells = m[node_cells_ + node]
        if node_of[node] < 0 or (cells > 1 and (stay < end - first or is_closed_to_some(m, node))):
            wipe(fewer, left)
            return -1
        fewer[fewer[STRING_BEGIN] + left] = count
        fewer[fewer[STRING_NODE] + left] = node_of[node]
        left += 1
        for k in range(cells):
            fewer[fewer[AT] + (m[node_ways_ + node * m[7] + k] >> 1)] = left
        for v in range(first, end):
            if kept[v]:
                fewer[fewer[TOKEN] + count] = token_of[m[token_ + v]]
                count += 1
    fewer[fewer[STRING_BEGIN] + left] = count
    return left


@njit(**UNCOUNTED)
def stop_there(m, strings, taken, moving, head):  # type: ignore[no-untyped-def]
    """Write into ``key`` the state after a run up to ``head`` that leaves nothing behind."""
    token_length_ = m[TOKEN_LENGTH]
    root_ = m[ROOT]
    child_ = m[CHILD]
    node_turned_ = m[NODE_TURNED]
    path_ = m[PATH]
    branch_ = m[BRANCH]
    begin_ = m[BEGIN]
    moving_ = m[MOVING]
    begin, path = begin_, path_
    last = 0
    while head > m[begin + last + 1]:
        last += 1
    tail = head
    for v in range(moving):
        tail -= m[token_length_ + m[moving_ + v]]
    first = 0
    while first < last and m[begin + first + 1] <= tail:
        first += 1
    node = m[root_ + m[path + first]]
    for k in range(first + 1, last + 1):
        node = m[child_ + node * m[6] + m[branch_ + k]]
    encode(m, strings, taken, m[node_turned_ + node], 0, moving, 0)


@njit(**UNCOUNTED)
def far_back(m, strings, keys, table, unknown, most, enough):  # type: ignore[no-untyped-def]
    """The most runs that the table gives for any farthest standing to which the locomotive, that has just
    been turned, could have gone: from none of them is less work left.  ``most``, if it is no less.
    """
    ahead_ = m[AHEAD]
    string_begin_ = m[STRING_BEGIN]
    path_ = m[PATH]
    begin_ = m[BEGIN]
    base = first_frame(m, m[string_begin_])
    frame = base
    while frame >= base:
        cells, moving = m[frame], m[frame + 1]
        way = m[path_ + cells - 1]
        branch = m[frame + 3]
        if branch < branches_of(m, way, cells, 0):
            m[frame + 3] = branch + 1
            if enter(m, m[ahead_ + way * m[6] + branch], branch, cells, moving, frame):
                m[frame + 6] = 1
                frame += 7
            continue
        if not m[frame + 6]:
            stop_there(m, strings, m[frame + 2], moving, min(m[begin_ + cells], m[frame + 4]))
            entry = find(m, m[KEY], m[5], keys, table, most + 1)
            most = max(most, unknown if entry < 0 else abs(depth_of(entry)) - 1)
            if most >= enough:
                break
        frame -= 7
    return most


@njit(**UNCOUNTED)
def sort_cars(m, work, begins, cars):  # type: ignore[no-untyped-def]
    """Into ``work``: where each token's cars begin (from ``begins``), and the cars' numbers by token (from
    ``cars``).
    """
    token_ = m[TOKEN]
    tokens = m[9]
    for token in range(tokens + 1):
        work[begins + token] = 0
    for v in range(m[1]):
        work[begins + m[token_ + v] + 1] += 1
    for token in range(tokens):
        work[begins + token + 1] += work[begins + token]
    for v in range(m[1]):
        token = m[token_ + v]
        work[cars + work[begins + token]] = v
        work[begins + token] += 1
    for token in range(tokens, 0, -1):
        work[begins + token] = work[begins + token - 1]
    work[begins] = 0


@njit(**UNCOUNTED)
def bound_of(m, strings, fewer, token_of, node_of, keys, table, enough, patterns, work, adds):  # type: ignore[no-untyped-def]
    """No plan from the decoded state has fewer runs: the most that any choice of cars to keep gives.  If it
    ``adds``, the sum of what all choices give (one that is not sure gives :data:`UNSURE`), which is no bound.

    A row of ``patterns``: how many cars to keep, runs for what is not in the table, then (modified in place)
    how often it was tried and was enough, and the looks that took; then the tokens to keep, in rising order.
    Stops at ``enough``.  Of like cars that stand side by side the first are kept: any other choice of as many
    of them leaves the same standing.  ``work``: scratch, and at its end the row that was enough the last
    time, which is tried first: states that follow each other are much alike.
    """
    token_ = m[TOKEN]
    vehicles, widest = m[1], patterns.shape[1]
    kept, choice, begins = 0, vehicles, vehicles + widest
    cars = begins + m[9] + 1
    beside = cars + vehicles
    sort_cars(m, work, begins, cars)
    work[beside] = 0
    for v in range(1, vehicles):
        work[beside + v] = m[token_ + v] == m[token_ + v - 1]
    for s in range(strings):
        work[beside + m[m[STRING_BEGIN] + s]] = 0
    for v in range(vehicles):
        work[v] = m[token_ + v] < 2
    most = 0
    lately = len(work) - 1
    for turn in range(len(patterns)):
        p = turn if turn else work[lately]
        if turn and turn <= work[lately]:
            p = turn - 1
        keep, unknown = patterns[p, 0], patterns[p, 1]
        fewer[1] = keep + 1
        slot = 0
        work[choice] = work[begins + patterns[p, 5]]
        patterns[p, 2] += 1
        while slot >= 0:
            token = patterns[p, 5 + slot]
            if work[choice + slot] >= work[begins + token + 1]:
                slot -= 1
                if slot >= 0:
                    work[kept + work[cars + work[choice + slot]]] = 0
                    work[choice + slot] += 1
                continue
            car = work[cars + work[choice + slot]]
            if work[beside + car] and not work[kept + car - 1]:
                work[choice + slot] += 1
                continue
            work[kept + car] = 1
            if slot < keep - 1:
                slot += 1
                following = patterns[p, 5 + slot]
                work[choice + slot] = work[begins + following]
                if following == token:
                    work[choice + slot] = work[choice + slot - 1] + 1
                continue
            patterns[p, 4] += 1
            left = leave_out(m, fewer, work, strings, token_of, node_of)
            if left >= 0:
                found = far_back(fewer, left, keys, table, unknown, 0 if adds else most, enough)
                most = most + found if adds else found
                wipe(fewer, left)
            elif adds:
                most += UNSURE
            work[kept + work[cars + work[choice + slot]]] = 0
            work[choice + slot] += 1
            if most >= enough:
                patterns[p, 3] += 1
                work[lately] = p
                return most
    return most
