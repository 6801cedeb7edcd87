from __future__ import annotations


def begun_from() -> None: ...
