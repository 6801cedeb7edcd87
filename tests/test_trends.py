"""What lasts and what grows: the two stated rules, over every row of sessions there can be, and on the
railroad."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from switchsolve.layoutfile import load_layout
from switchsolve.operating.asking import OnPaper
from switchsolve.operating.balancing import balance_of
from switchsolve.operating.railroad import begin
from switchsolve.operating.running import play
from switchsolve.operating.trends import grows, out_since

ROOT = Path(__file__).parent.parent
_ROWS = list(product((False, True), repeat=11))


def _since(row: tuple[bool, ...]) -> int | None:
    return out_since([number for number, short in enumerate(row, 1) if short], len(row))


def test_no_session_by_itself_changes_what_is_said() -> None:
    """All rows of eleven sessions: between two changes of what is said lie three sessions or more; whoever
    is out was short in three sessions since then at least, in the first of them, and in more than not."""
    for row in _ROWS:
        said = [_since(row[:number]) for number in range(len(row) + 1)]
        changes = [at for at in range(1, len(said)) if (said[at] is None) != (said[at - 1] is None)]
        assert all(later - earlier >= 3 for earlier, later in zip([0, *changes], changes, strict=False)), row
        if said[-1] is not None:
            since = row[said[-1] - 1 :]
            assert since[0] and sum(since) >= 3, row


def test_out_from_some_session_on() -> None:
    """Short in every session from one on, whatever was before: out of cars since that one, or since an
    earlier one; in balance for five sessions at the end: not out."""
    for row in _ROWS:
        since = _since((*row, True, True, True))
        assert since is not None and since <= len(row) + 1
        assert _since((*row, False, False, False, False, False)) is None
    assert _since((False,) * 3 + (True,) * 8) == 4
    assert _since((False,) * 3 + (True,) * 5 + (False,) + (True,) * 3) == 4


@pytest.mark.parametrize(
    ("waiting", "does_grow"),
    [
        (range(12), True),
        ([0, 2, 4, 6, 8, 8, 8, 8, 8, 8], True),  # until there is no more room
        ([0, 1, 0, 2, 1, 3, 2, 4, 3, 5], True),
        ([5] * 12, False),
        ([0, 3, 0, 4, 0, 3, 0, 5], False),
        ([0, 0, 0, 0, 0, 0, 9, 0, 0, 9], False),
        ([9, 7, 5, 3, 1, 0], False),
        ([0, 2, 4], False),  # too few to say
        ([], False),
    ],
)
def test_a_backlog(waiting: list[int], does_grow: bool) -> None:
    """Rows that grow, and rows that come and go, are high throughout, or are cleared."""
    assert grows(tuple(waiting)) == does_grow


def test_a_freight_too_short_is_no_balance() -> None:
    """With three cars on the Upland freight nothing runs out, but ever more cars wait at Upland."""
    layout = load_layout(ROOT / "puzzles" / "saltmarsh_layout.toml")
    short = tuple(
        replace(train, most_cars=3) if train.name == "Upland freight" else train for train in layout.trains
    )
    changed = replace(layout, trains=short)
    railroad = begin(changed, 3)
    balance = balance_of(changed, 3, [play(railroad, number, OnPaper()) for number in range(1, 21)])
    assert not any(one.since for one in balance.out_of)
    assert balance.backlogs == ("Upland",) and not balance.is_kept
