"""The balance of many sessions in words, and the lengths that the traffic asks for."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import fill

from switchsolve.operating import Operation
from switchsolve.operating.results import Balance
from switchsolve.operating.summing import (
    ASKS,
    LEAST_HEADS,
    LEASTS,
    balance_texts,
    least_cells,
    level_cells,
    needs_texts,
    waited_texts,
)

__all__ = ["balance_lines", "needs_lines"]


def balance_lines(found: Operation) -> Iterator[str]:
    """What runs out, what the host does by hand, who waited and why, how each place drifts."""
    balance = found.balance
    if balance is None:
        return
    yield ""
    for text in balance_texts(balance):
        yield from _wrapped(text)
    if balance.waited:
        yield "Cars waited:"
        for text in waited_texts(balance):
            yield from _wrapped(f"  {text}")
    yield from _levels(balance)


def _wrapped(text: str) -> list[str]:
    return fill(text, 79, subsequent_indent="  ", break_on_hyphens=False).splitlines()


def _levels(balance: Balance) -> Iterator[str]:
    """Cars of each place and kind, at first and at last."""
    yield "Cars there before the first session, and before the last:"
    for place, kind, load, first, last, least in level_cells(balance):
        told = f", {least} at least" if least < min(first, last) else ""
        yield f"  {place:<12.12} {kind + ', ' + load:<22.22} {first:>3} {last:>3}{told}"


def needs_lines(found: Operation) -> Iterator[str]:
    """What the traffic asks for when nothing is too short."""
    if found.needs is None:
        return
    yield ""
    yield from _wrapped(ASKS)
    for name, text in needs_texts(found, found.needs):
        yield from _wrapped(f"  {name}: {text}")
    yield from _least_lines(found)


def _least_lines(found: Operation) -> Iterator[str]:
    """How little would do."""
    if not found.leasts:
        return
    yield ""
    yield from _wrapped(LEASTS)
    for row in (LEAST_HEADS, *least_cells(found)):
        name, *cells = row
        yield f"  {name:<16.16}" + "".join(f"{cell:>14}" for cell in cells)
