# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""Longest runs within limits on the moving string, as :mod:`switchsolve.search.limited` makes them.

``limits`` holds the number of kinds of limit, then for each kind: whether it is on what is ahead of the
locomotive only; the most that may be moved over every cell, and over any; then what a vehicle of each token
weighs by it; then the most over each cell.  ``met`` and ``left`` hold shares of the vehicles along the path:
the first and the last cell, the first vehicle and the one behind the last.
"""

from __future__ import annotations

from numba import njit

from switchsolve.kernel.run_kernel.memory import (
    AHEAD,
    AHEAD_COUNT,
    AT,
    BEGIN,
    BLOCK,
    BRANCH,
    CHILD,
    CLEAR,
    FAR,
    LEFT,
    LENGTH,
    LEVEL,
    LIMITS,
    MET,
    MORE,
    MOVING,
    NODE_BRANCHES,
    NODE_CELLS,
    NODE_LEAST,
    NODE_LENGTH,
    NODE_TURNED,
    NODE_WAYS,
    OFFSET,
    PATH,
    REST,
    ROOT,
    SPANS,
    STRING_BEGIN,
    STRING_NODE,
    TOKEN,
    TOKEN_LENGTH,
    UNCOUNTED,
)
from switchsolve.kernel.run_kernel.places import fits_open, limit_of
from switchsolve.kernel.run_kernel.runs import enter, first_frame
from switchsolve.kernel.run_kernel.states import encode, sort_blocks
from switchsolve.kernel.run_kernel.store import offer

__all__ = ["DEFECT", "steps_within"]

DEFECT = -3
"""There is no number for cells that a string came to lie over."""


@njit(**UNCOUNTED)
def _kind(m, n):  # type: ignore[no-untyped-def]
    """Where the numbers of a kind of limit begin."""
    return m[LIMITS] + 1 + n * (3 + m[9] + m[0])


@njit(**UNCOUNTED)
def _weight(m, n, first, end):  # type: ignore[no-untyped-def]
    """What moving vehicles ``first`` up to ``end`` weigh by limits of kind ``n``."""
    weights = _kind(m, n) + 3
    total = 0
    for v in range(first, end):
        total += m[weights + m[m[MOVING] + v]]
    return total


@njit(**UNCOUNTED)
def _most(m, n, k):  # type: ignore[no-untyped-def]
    """The most by limits of kind ``n`` over the path's cell number ``k``."""
    return m[_kind(m, n) + 3 + m[9] + (m[m[PATH] + k] >> 1)]


@njit(**UNCOUNTED)
def _bind_nowhere(m, first, end):  # type: ignore[no-untyped-def]
    """Whether moving vehicles ``first`` up to ``end`` can be moved together all over the district."""
    for n in range(m[m[LIMITS]]):
        if _weight(m, n, first, end) > m[_kind(m, n) + 1]:
            return False
    return True


@njit(**UNCOUNTED)
def _are_too_many(m, cell, last, first, end):  # type: ignore[no-untyped-def]
    """Whether these cannot all have come to be coupled over the path's cells ``cell`` to ``last``."""
    for n in range(m[m[LIMITS]]):
        if not m[_kind(m, n)]:
            weight = _weight(m, n, first, end)
            for k in range(cell, last + 1):
                if weight > _most(m, n, k):
                    return True
    return False


@njit(**UNCOUNTED)
def _cell_at(m, last, along):  # type: ignore[no-untyped-def]
    """The number of the cell, up to the last one, that a place along the path lies in."""
    k = last
    while m[m[BEGIN] + k] > along:
        k -= 1
    return k


@njit(**UNCOUNTED)
def _node_of(m, first, last):  # type: ignore[no-untyped-def]
    """The number of the path's cells ``first`` to ``last`` as a row, or -1."""
    node = m[m[ROOT] + m[m[PATH] + first]]
    for k in range(first + 1, last + 1):
        node = m[m[CHILD] + node * m[6] + m[m[BRANCH] + k]]
        if node < 0:
            return -1
    return node


@njit(**UNCOUNTED)
def _is_over(m, shares, count, edge):  # type: ignore[no-untyped-def]
    """Whether one of the shares lies over the edge behind the path's cell number ``edge``."""
    for i in range(count):
        if m[shares + 4 * i] <= edge < m[shares + 4 * i + 1]:
            return True
    return False


@njit(**UNCOUNTED)
def _over(m, n, edge, first, gone, left, met, own, mine, loco, knows_ahead, is_undone):  # type: ignore[no-untyped-def]
    """What is surely coupled together as it comes over an edge, by limits of kind ``n``: when the locomotive
    does, or what is farthest ahead of it, or what trails last.
    """
    only_ahead = m[_kind(m, n)]
    is_ahead, trails = edge >= own - 1, edge < first
    met_, left_ = m[MET], m[LEFT]
    ahead, behind = 0, 0
    if is_ahead:
        if not trails and _is_over(m, met_, met, edge):
            return 0
        ahead = _weight(m, n, loco + 1, mine)
        for i in range(met):
            if m[met_ + 4 * i + (0 if trails else 1)] <= edge:
                ahead += _weight(m, n, m[met_ + 4 * i + 2], m[met_ + 4 * i + 3])
        if trails or not (only_ahead and is_undone):
            behind = _weight(m, n, gone, loco)
        if trails:
            for i in range(left):
                if m[left_ + 4 * i + 1] > edge:
                    behind += _weight(m, n, m[left_ + 4 * i + 2], m[left_ + 4 * i + 3])
    elif trails:
        if _is_over(m, left_, left, edge):
            return 0
        if knows_ahead and not only_ahead:
            ahead = _weight(m, n, loco + 1, mine)
        behind = _weight(m, n, gone, loco)
        for i in range(left):
            if m[left_ + 4 * i] > edge:
                behind += _weight(m, n, m[left_ + 4 * i + 2], m[left_ + 4 * i + 3])
    if not only_ahead:
        return ahead + behind
    return behind if is_undone else ahead


@njit(**UNCOUNTED)
def _latest(m, share):  # type: ignore[no-untyped-def]
    """How far along the path the near end of what is met can lie."""
    length = m[m[OFFSET] + m[share + 3]] - m[m[OFFSET] + m[share + 2]]
    return min(m[m[BEGIN] + m[share + 1] + 1] - length, m[m[BEGIN] + m[share] + 1] - 1)


@njit(**UNCOUNTED)
def _leaves_in_time(m, n, left, met, own, mine, last):  # type: ignore[no-untyped-def]
    """Whether what is left can be where it is to be before too much is taken up, or too many are ahead over
    a cell.
    """
    met_, left_, begin_, offset_ = m[MET], m[LEFT], m[BEGIN], m[OFFSET]
    for i in range(left):
        share = left_ + 4 * i
        if not m[share]:
            continue  # it may not have been coupled to at all
        length = m[offset_ + m[share + 3]] - m[offset_ + m[share + 2]]
        tail = max(m[begin_ + m[share]], m[begin_ + m[share + 1]] - length + 1)
        for j in range(met):
            other = met_ + 4 * j
            if m[other + 1] < last:
                near = tail + m[offset_ + m[other + 2]] - m[offset_ + m[share + 2]]
                weight = _weight(m, n, m[share + 2], m[other + 3])
                if near >= _latest(m, other) and weight > m[_kind(m, n) + 2]:
                    return False
        head = tail + m[offset_ + mine] - m[offset_ + m[share + 2]]
        weight = _weight(m, n, m[share + 2], mine)
        for k in range(own, last + 1):
            if m[begin_ + k] >= head:
                break
            ahead = 0
            for j in range(met):
                if m[met_ + 4 * j + 1] < k:
                    ahead += _weight(m, n, m[met_ + 4 * j + 2], m[met_ + 4 * j + 3])
            if weight + ahead > _most(m, n, k):
                return False
    return True


@njit(**UNCOUNTED)
def _meets_in_time(m, n, first, gone, left, met, last):  # type: ignore[no-untyped-def]
    """The same, of the run backwards: whether what is taken up can be where it was after enough was left
    over each cell.
    """
    met_, left_, begin_, offset_ = m[MET], m[LEFT], m[BEGIN], m[OFFSET]
    for j in range(met):
        share = met_ + 4 * j
        if m[share + 1] >= last:
            continue
        tail = _latest(m, share) - (m[offset_ + m[share + 2]] - m[offset_ + gone])
        weight = _weight(m, n, gone, m[share + 3])
        for k in range(min(first, last) - 1, -1, -1):
            if m[begin_ + k + 1] <= tail:
                break
            behind = 0
            for i in range(left):
                if m[left_ + 4 * i] > k:
                    behind += _weight(m, n, m[left_ + 4 * i + 2], m[left_ + 4 * i + 3])
            if weight + behind > _most(m, n, k):
                return False
    return True


@njit(**UNCOUNTED)
def _allows(m, first, gone, left, met, own, mine, loco, last, knows_ahead, is_undone):  # type: ignore[no-untyped-def]
    """Whether nothing speaks against the run's end: the locomotive's string over the cells from number
    ``first`` on, without the ``gone`` vehicles at the tail, which are ``left``.
    """
    for n in range(m[m[LIMITS]]):
        for edge in range(last):
            most = min(_most(m, n, edge), _most(m, n, edge + 1))
            if most < FAR and (
                _over(m, n, edge, first, gone, left, met, own, mine, loco, knows_ahead, is_undone) > most
            ):
                return False
        if not m[_kind(m, n)]:
            if not _leaves_in_time(m, n, left, met, own, mine, last):
                return False
            if not _meets_in_time(m, n, first, gone, left, met, last):
                return False
    return True


@njit(**UNCOUNTED)
def _spans(m, away, size, length, room):  # type: ignore[no-untyped-def]
    """As :func:`~switchsolve.kernel.run_kernel.places.spans_of`, but all rows of cells, for to carry cars on
    into fewer may be forbidden; with room for a gap between those that are too many to be coupled.
    """
    path_, branch_, begin = m[PATH], m[BRANCH], m[SPANS]
    key = (away << 32) + size
    at = begin + 2
    for _ in range(m[begin]):
        if m[at] == key:
            return at + 2
        at = m[at + 1]
    m[begin] += 1
    m[at] = key
    out = at + 2
    for i in range(room - 1, -1, -1):
        piece = m[m[ROOT] + m[path_ + i]]
        for j in range(i, room):
            if m[m[CLEAR] + (m[path_ + j] >> 1)]:
                break
            if j > i:
                piece = m[m[CHILD] + piece * m[6] + m[branch_ + j]]
                if piece < 0 or m[m[NODE_LEAST] + piece] > length:
                    break  # longer rows have still more between their ends
            gap = 1 if _are_too_many(m, i, j, away, away + size) else 0
            if m[m[NODE_LENGTH] + piece] >= length + gap and (
                not m[8] or fits_open(m, piece, away, size, length)
            ):
                turned = 0
                number = piece
                if m[m[REST] + piece] < 0:
                    number = m[m[NODE_TURNED] + piece]
                    turned = 1
                m[out] = i
                m[out + 1] = j
                m[out + 2] = m[m[REST] + number]
                m[out + 3] = turned
                out += 4
    m[out] = -1
    m[at + 1] = out + 1
    return at + 2


@njit(**UNCOUNTED)
def _goes_on_with(m, more, gone, moving):  # type: ignore[no-untyped-def]
    """Whether the run goes on, limits or no, with all vehicles from ``gone`` on and what it then takes up."""
    kinds = m[m[LIMITS]]
    for i in range(more):
        binds = False
        for n in range(kinds):
            weight = _weight(m, n, gone, moving) + m[m[MORE] + i * kinds + n]
            if weight > m[_kind(m, n) + 1]:
                binds = True
                break
        if not binds:
            return True
    return False


@njit(**UNCOUNTED)
def _cut_off(m, keys, table, out, parents, info, number, depth, strings, taken, moving, node, first, gone, away_to, room, beside, turned, met, own, mine, loco, last, is_light):  # type: ignore[no-untyped-def]  # noqa: E501
    """Offer every state in which the first ``away_to`` vehicles are left in the first ``room`` cells, and
    what follows them up to ``gone`` (nothing, or a string over row number ``beside``) beside the tail.
    """
    level, spare = m[LEVEL], m[BLOCK] + 4 * (m[1] + 1)
    left_ = m[LEFT]
    knows_ahead, is_undone = depth != -2, depth < 0
    shared = 1 if beside >= 0 else 0
    depth_of = 0
    m[level] = 0
    m[level + 1] = 0
    m[level + 2] = 0
    m[level + 3] = 0
    m[level + 4] = m[SPANS] + 1  # a list that has come to its end
    m[m[SPANS] + 1] = -1
    while depth_of >= 0:
        row = level + 5 * depth_of
        away = m[row]
        if away == away_to:
            blocks = depth_of + shared
            if shared:
                block = spare + 4 * depth_of
                m[block] = beside
                m[block + 1] = away_to
                m[block + 2] = gone
                m[block + 3] = turned
                for i in range(4):  # where it lies was written by who called
                    m[left_ + 4 * depth_of + i] = m[left_ + 4 * (m[1] + 1) + i]
            if is_light or _allows(
                m, first, gone, blocks, met, own, mine, loco, last, knows_ahead, is_undone
            ):
                sort_blocks(m, blocks)
                encode(m, strings, taken, node, gone, moving, blocks)
                found = offer(m, keys, table, out, parents, info, number, depth)
                if found != -1:
                    return found
            depth_of -= 1
            continue
        span = m[row + 4]
        if m[span] < m[row + 1]:  # the next size
            if away + m[row + 2] == away_to:
                depth_of -= 1
                continue
            m[row + 3] += m[m[TOKEN_LENGTH] + m[m[MOVING] + away + m[row + 2]]]
            m[row + 2] += 1
            m[row + 4] = _spans(m, away, m[row + 2], m[row + 3], last)
            continue
        m[row + 4] = span + 4
        if m[span + 1] >= room:
            continue
        block = spare + 4 * depth_of
        m[block] = m[span + 2]
        m[block + 1] = away
        m[block + 2] = away + m[row + 2]
        m[block + 3] = m[span + 3]
        share = left_ + 4 * depth_of
        m[share] = m[span]
        m[share + 1] = m[span + 1]
        m[share + 2] = away
        m[share + 3] = away + m[row + 2]
        depth_of += 1
        row += 5
        m[row] = m[block + 2]
        m[row + 1] = m[span + 1] + 1
        m[row + 2] = 0
        m[row + 3] = 0
        m[row + 4] = m[SPANS] + 1
    return -1


@njit(**UNCOUNTED)
def _end_within(m, keys, table, out, parents, info, number, depth, strings, frame, loco, mine, more):  # type: ignore[no-untyped-def]
    """Every state after a run over the whole path of ``frame``."""
    begin_, offset_, left_ = m[BEGIN], m[OFFSET], m[LEFT]
    cells, moving, taken, own, met = m[frame], m[frame + 1], m[frame + 2], m[frame + 5], m[frame + 6]
    head = min(m[begin_ + cells], m[frame + 4])
    last = 0
    while head > m[begin_ + last + 1]:
        last += 1
    m[offset_] = 0
    for v in range(moving):
        m[offset_ + v + 1] = m[offset_ + v] + m[m[TOKEN_LENGTH] + m[m[MOVING] + v]]
    m[m[SPANS]] = 0
    is_light = _bind_nowhere(m, 0, moving)
    for gone in range(loco + 1):
        if _goes_on_with(m, more, gone, moving):
            continue
        tail = head - (m[offset_ + moving] - m[offset_ + gone])
        first = _cell_at(m, last, tail)
        if tail and _are_too_many(m, first, last, gone, moving):
            # they are not all coupled, and keep a gap: in rail closed to the head it may lie ahead of it
            tail = min(head, m[begin_ + cells] - 1) - (m[offset_ + moving] - m[offset_ + gone])
            first = _cell_at(m, last, tail)
        node = _node_of(m, first, last)
        if node < 0:
            return DEFECT
        node = m[m[NODE_TURNED] + node]
        found = _cut_off(
            m, keys, table, out, parents, info, number, depth, strings, taken, moving, node,
            first, gone, gone, first, -1, 0, met, own, mine, loco, last, is_light,
        )  # fmt: skip
        if found != -1:
            return found
        if tail <= m[begin_ + first]:
            continue
        for away in range(gone):
            room = tail - (m[offset_ + gone] - m[offset_ + away]) - 1
            if room < 0 or _bind_nowhere(m, away, moving):
                continue  # with no limits that bind it can as well come along
            length = m[offset_ + gone] - m[offset_ + away]
            share = left_ + 4 * (m[1] + 1)
            nearest = _cell_at(m, last, room)
            for cell in range(first, -1, -1):
                beside = _node_of(m, cell, first)
                if beside < 0 or m[m[NODE_LEAST] + beside] > length or m[m[CLEAR] + (m[m[PATH] + cell] >> 1)]:
                    break
                if cell > nearest:
                    continue
                gap = 1 if _are_too_many(m, cell, first, away, gone) else 0
                if m[m[NODE_LENGTH] + beside] < length + gap or (
                    m[8] and not fits_open(m, beside, away, gone - away, length)
                ):
                    continue
                turned = 0
                if m[m[REST] + beside] < 0:
                    beside = m[m[NODE_TURNED] + beside]
                    turned = 1
                if m[m[REST] + beside] < 0:
                    return DEFECT
                m[share] = cell
                m[share + 1] = first
                m[share + 2] = away
                m[share + 3] = gone
                found = _cut_off(
                    m, keys, table, out, parents, info, number, depth, strings, taken, moving, node,
                    first, gone, away, cell, m[m[REST] + beside], turned, met, own, mine, loco, last, False,
                )  # fmt: skip
                if found != -1:
                    return found
    return -1


@njit(**UNCOUNTED)
def _meet_beside(m, frame):  # type: ignore[no-untyped-def]
    """Take up what stands ahead in the last cell of the string that sets out."""
    path_, begin_ = m[PATH], m[BEGIN]
    cells, mine = m[frame], m[frame + 1]
    m[frame + 6] = 0
    there = m[m[AT] + (m[path_ + cells - 1] >> 1)]
    if not there:
        return
    s = there - 1
    node = m[m[STRING_NODE] + s]
    turned = 0
    if m[m[NODE_WAYS] + node * m[7]] != m[path_ + cells - 1]:
        node = m[m[NODE_TURNED] + node]
        turned = 1
    count = m[m[NODE_CELLS] + node]
    for k in range(1, count):
        way = m[m[NODE_WAYS] + node * m[7] + k]
        m[path_ + cells - 1 + k] = way
        m[m[BRANCH] + cells - 1 + k] = m[m[NODE_BRANCHES] + node * m[7] + k]
        m[begin_ + cells + k] = m[begin_ + cells - 1 + k] + m[m[LENGTH] + (way >> 1)]
    first, end = m[m[STRING_BEGIN] + s], m[m[STRING_BEGIN] + s + 1]
    for v in range(end - first):
        m[m[MOVING] + mine + v] = m[m[TOKEN] + (end - 1 - v if turned else first + v)]
    m[m[MET]] = cells - 1
    m[m[MET] + 1] = cells + count - 2
    m[m[MET] + 2] = mine
    m[m[MET] + 3] = mine + end - first
    m[frame] = cells - 1 + count
    m[frame + 1] = mine + end - first
    m[frame + 2] = 1 << s
    m[frame + 4] = limit_of(m, m[frame], m[frame + 5], m[frame + 1])
    m[frame + 6] = 1


@njit(**UNCOUNTED)
def _go_on(m, frame, branch, loco, is_undone):  # type: ignore[no-untyped-def]
    """Carry the run on into a branch, as far as limits on what is ahead allow: writes the next frame, 1 if it
    can.
    """
    cells, moving = m[frame], m[frame + 1]
    way = m[m[AHEAD] + m[m[PATH] + cells - 1] * m[6] + branch]
    m[m[PATH] + cells] = way
    for n in range(m[m[LIMITS]]):
        if m[_kind(m, n)] and is_undone:
            continue
        most = min(_most(m, n, cells - 1), _most(m, n, cells))
        if _weight(m, n, loco + 1, moving) > most:
            return 0
    if not enter(m, way, branch, cells, moving, frame):
        return 0
    following = frame + 7
    met = m[frame + 6]
    if m[following + 1] > moving:
        share = m[MET] + 4 * met
        m[share] = cells
        m[share + 1] = m[following] - 1
        m[share + 2] = moving
        m[share + 3] = m[following + 1]
        met += 1
    m[following + 6] = met
    return 1


@njit(**UNCOUNTED)
def steps_within(m, keys, table, out, parents, info, number, depth, strings):  # type: ignore[no-untyped-def]
    """Offer all states after one more run from the decoded state ``number``: -1, or what :func:`offer` said;
    or :data:`DEFECT`.  A ``depth`` below zero: runs undone; -2: from where the work is done.
    """
    mine = m[m[STRING_BEGIN]]
    base = first_frame(m, mine)
    loco = 0
    while m[m[MOVING] + loco] >= 2:
        loco += 1
    _meet_beside(m, base)
    is_undone = depth < 0
    kinds = m[m[LIMITS]]
    frame = base
    while frame >= base:
        branches = m[m[AHEAD_COUNT] + m[m[PATH] + m[frame] - 1]]
        branch = m[frame + 3]
        if branch == 0:
            more, goes_on = 0, False
            for b in range(branches):
                if _go_on(m, frame, b, loco, is_undone):
                    if _bind_nowhere(m, 0, m[frame + 8]):
                        goes_on = True
                        break
                    for n in range(kinds):
                        m[m[MORE] + more * kinds + n] = _weight(m, n, m[frame + 1], m[frame + 8])
                    more += 1
            if not goes_on:
                found = _end_within(
                    m, keys, table, out, parents, info, number, depth, strings, frame, loco, mine, more
                )
                if found != -1:
                    return found
        if branch < branches:
            m[frame + 3] = branch + 1
            if _go_on(m, frame, branch, loco, is_undone):
                frame += 7
            continue
        frame -= 7
    return -1
