"""Layout files: a whole layout as TOML, with the puzzle files of its districts beside it.

:func:`load_layout` reads one and raises :class:`~switchsolve.errors.FileError` with all that is wrong in it
and in the puzzle files that it names.
"""

from __future__ import annotations

from switchsolve.layoutfile.reader import load_layout, loads_layout

__all__ = ["load_layout", "loads_layout"]
