"""Puzzle files: TOML that reads like the plan, in and out.

:func:`load` and :func:`loads` read a file and raise :class:`~switchsolve.errors.FileError` with all that
is wrong in it; :func:`restarted` reads where everything stands anew; :func:`dumps` writes a
puzzle so that it reads back equal; :func:`json_schema` helps editors.
"""

from __future__ import annotations

from switchsolve.puzzlefile.canonical import canonical
from switchsolve.puzzlefile.reader import json_schema, load, loads
from switchsolve.puzzlefile.restarting import restarted, start_text
from switchsolve.puzzlefile.writer import dumps

__all__ = ["canonical", "dumps", "json_schema", "load", "loads", "restarted", "start_text"]
