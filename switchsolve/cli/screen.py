"""What answers are written on."""

from __future__ import annotations

from rich.console import Console

__all__ = ["WIDTH", "Screen"]

WIDTH = 80
"""No answer is wider, in letters, however wide the terminal is: files and printers have no more."""


class Screen(Console):
    """The screen, or whatever reads what is printed."""

    def __init__(self) -> None:
        """80 columns wide, with no colours but those that are asked for."""
        super().__init__(width=WIDTH, highlight=False)

    def on_broken_pipe(self) -> None:
        """The reader has gone away (``| head``): tell it as Python does, for ``main`` to handle.

        Raises
        ------
        BrokenPipeError
            Always.

        """
        raise BrokenPipeError
