"""Layout files: a whole layout as TOML, with the puzzle files of its districts beside it.

:func:`load_layout` reads one and raises :class:`~switchsolve.errors.FileError` with all that is wrong in it
and in the puzzle files that it names; :func:`json_schema` helps editors.
"""

from __future__ import annotations

from switchsolve.layoutfile.reader import json_schema, load_layout, loads_layout

__all__ = ["json_schema", "load_layout", "loads_layout"]
