"""How much memory a search may take."""

from __future__ import annotations

__all__ = ["most_bytes"]

_SHARE_OF_FREE = 0.7
"""Of the memory free at the start: what the search may take if nobody says otherwise."""


def most_bytes(mebibytes: float | None) -> int:
    """What the search may take: as asked, else most of the memory that is free now."""
    if mebibytes is not None:
        return int(mebibytes * 2**20)
    from psutil import virtual_memory

    return int(_SHARE_OF_FREE * virtual_memory().available)
