"""Compiled code that is kept on disk, and is always that of its sources as they are.

numba takes the code that it has kept for a function as long as the *file of that function* stays as it is.
What the function calls in other files, and the constants that it reads there, are compiled into it; that they
have changed since goes unnoticed.  So a function that is kept here goes by a name that holds a **digest** of
all files of its folder, and numba calls the files on disk after that name.  When a source changes the name is
another: the old code is not found, and is deleted as soon as there is new code.

numba is loaded only when something is compiled, so that one can ask for a name without it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

__all__ = ["digest", "kept", "name_on_disk"]

_DIGITS = 16
"""Of the digest: two versions with the same ones are as good as never met with."""


def digest(folder: Path) -> str:
    """Of the names and contents of all sources in ``folder``, and of this file, which has them compiled."""
    sources = sorted(folder.rglob("*.py"))
    if not sources:
        raise FileNotFoundError(f"no sources in {folder}: nobody could tell whether code is theirs")
    found = hashlib.sha256()
    for path in (*sources, Path(__file__)):
        contents = path.read_bytes()
        found.update(f"{path.name} {len(contents)}\n".encode() + contents)
    return found.hexdigest()[:_DIGITS]


_digest_once = cache(digest)
"""For what is compiled: a file may be edited between two functions, of which compiling takes long, but this
process has imported it before."""


def name_on_disk(function: str, folder: Path) -> str:
    """By which the code of ``function`` goes if it is that of the sources in ``folder`` as they are now."""
    return f"{function}.{digest(folder)}"


def kept(signature: Any, **options: Any) -> Callable[[Callable[..., Any]], Any]:
    """As ``numba.njit(signature, cache=True, **options)``, for a function that calls others in its folder."""
    from numba import njit

    def keep(function: Callable[..., Any]) -> Any:
        source = Path(function.__code__.co_filename)
        name = f"{function.__name__}.{_digest_once(source.parent)}"
        function.__qualname__ = name  # after which numba calls the files
        compiled = njit(signature, cache=True, **options)(function)
        stats = getattr(compiled, "stats", None)  # none where nothing is compiled (NUMBA_DISABLE_JIT)
        if stats is not None and stats.cache_misses:
            _delete_others(Path(stats.cache_path), f"{source.stem}.{function.__name__}", name)
        return compiled

    return keep


def _delete_others(folder: Path, function: str, name: str) -> None:
    """Delete the code of other versions of a function: its sources are gone, or else it can be made again."""
    for path in folder.glob(f"{function}.*-*.nb[ci]"):
        if f".{name}-" not in path.name:
            with suppress(OSError):  # somebody was faster, or (on Windows) is reading it
                path.unlink()
