"""The files of the folder puzzles/: set-ups of one district, and whole layouts."""

from __future__ import annotations

from pathlib import Path

__all__ = ["layout_files", "puzzle_files"]

_FOLDER = Path(__file__).parent.parent / "puzzles"


def puzzle_files() -> list[Path]:
    """The puzzle files, by name."""
    return sorted(path for path in _FOLDER.glob("*.toml") if not path.stem.endswith("_layout"))


def layout_files() -> list[Path]:
    """The layout files, by name."""
    return sorted(_FOLDER.glob("*_layout.toml"))
