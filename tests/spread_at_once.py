"""For tests: questions go to processes at once, however quickly they are answered."""

from __future__ import annotations

import pytest

from switchsolve import spreading

__all__ = ["at_once"]


def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have no patience, and find everything worth while."""
    monkeypatch.setattr(spreading, "_PATIENCE", 0.0)
    monkeypatch.setattr(spreading, "_WORTH", 0.0)
