"""The command line.  The only room that knows rich, and the only one that prints."""

from __future__ import annotations

from switchsolve.cli.main import main

__all__ = ["main"]
