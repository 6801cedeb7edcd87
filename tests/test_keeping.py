"""Code kept on disk: new as soon as any of its sources is, and of one version only."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from switchsolve.kernel import keeping

ROOT = Path(__file__).parent.parent
KERNEL = ROOT / "switchsolve" / "kernel" / "event_kernel"

CONSTANTS = "WEIGHT = {weight}\n"
INNER = """\
from numba.extending import register_jitable
from tiny.constants import WEIGHT

@register_jitable
def inner(n):
    return n * WEIGHT
"""
ENTRIES = """\
from numba import njit, types
from switchsolve.kernel.keeping import kept
from tiny.inner import inner

@{decorator}
def one(n):
    return inner(n)

@{decorator}
def other(n):
    return inner(n) + 1
"""
KEPT = "kept(types.int64(types.int64), nogil=True)"
CACHED = "njit(types.int64(types.int64), cache=True, nogil=True)"
ASK = """\
import sys
sys.path[:0] = sys.argv[1:]
from tiny.entries import one, other
stats = getattr(one, "stats", None)
print(one(1), other(1), stats and sum(stats.cache_hits.values()))
"""


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """A kernel of four files, of two functions that Python calls."""
    folder = tmp_path / "tiny"
    folder.mkdir()
    (folder / "__init__.py").touch()
    (folder / "constants.py").write_text(CONSTANTS.format(weight=2))
    (folder / "inner.py").write_text(INNER)
    (folder / "entries.py").write_text(ENTRIES.format(decorator=KEPT))
    return folder


def _asked(folder: Path, **environment: str) -> str:
    """What a fresh process gets of both functions, and whether the first one's code was on disk."""
    clean = {key: value for key, value in os.environ.items() if not key.startswith("NUMBA_")}
    done = subprocess.run(
        [sys.executable, "-c", ASK, str(folder.parent), str(ROOT)],
        env=clean | environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def _kept_files(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "__pycache__").glob("*.nb?"))


def test_a_change_in_any_file_is_a_new_name(tmp_path: Path) -> None:
    """One letter of any file of the event kernel changed: another digest; all as it was: the same again."""
    folder = tmp_path / "event_kernel"
    shutil.copytree(KERNEL, folder, ignore=shutil.ignore_patterns("__pycache__"))
    before = keeping.digest(folder)
    assert before == keeping.digest(KERNEL)
    paths = sorted(folder.glob("*.py"))
    assert len(paths) > 5
    seen = {before}
    for path in paths:
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("e", "a", 1), encoding="utf-8")
        seen.add(keeping.digest(folder))
        path.write_text(text, encoding="utf-8")
    assert len(seen) == 1 + len(paths)
    assert keeping.digest(folder) == before
    paths[0].rename(folder / "renamed.py")
    assert keeping.digest(folder) not in seen


def test_where_there_are_no_sources_nothing_is_told(tmp_path: Path) -> None:
    """A digest of nothing would be that of all versions."""
    with pytest.raises(FileNotFoundError, match="no sources in"):
        keeping.digest(tmp_path)


def test_code_on_disk_is_that_of_all_files(tiny: Path) -> None:
    """A constant changed two files away from what is called: new code at once, and the old is deleted."""
    assert _asked(tiny) == "2 3 0"
    assert _asked(tiny) == "2 3 1"
    before = _kept_files(tiny)
    assert len(before) == 4  # an index and its data for each function
    (tiny / "constants.py").write_text(CONSTANTS.format(weight=10))
    assert _asked(tiny) == "10 11 0"
    assert _asked(tiny) == "10 11 1"
    after = _kept_files(tiny)
    assert len(after) == 4 and not set(after) & set(before)


def test_sources_written_anew_with_the_same_contents_keep_their_code(tiny: Path) -> None:
    """As after an installation of the same version."""
    assert _asked(tiny) == "2 3 0"
    for path in tiny.glob("*.py"):
        os.utime(path, (2e9, 2e9))
    assert _asked(tiny) == "2 3 1"


def test_kept_by_numba_alone_it_would_be_stale(tiny: Path) -> None:
    """So the tests above would notice: with the cache of numba alone the change goes unseen."""
    (tiny / "entries.py").write_text(ENTRIES.format(decorator=CACHED))
    assert _asked(tiny) == "2 3 0"
    (tiny / "constants.py").write_text(CONSTANTS.format(weight=10))
    assert _asked(tiny) == "2 3 1"


def test_code_goes_where_numba_is_told_to_keep_it(tiny: Path, tmp_path: Path) -> None:
    """In the folder of NUMBA_CACHE_DIR; there too only one version is kept."""
    elsewhere = tmp_path / "elsewhere"
    for weight in (2, 10, 300):
        (tiny / "constants.py").write_text(CONSTANTS.format(weight=weight))
        assert _asked(tiny, NUMBA_CACHE_DIR=str(elsewhere)) == f"{weight} {weight + 1} 0"
        assert len(list(elsewhere.rglob("*.nb?"))) == 4
    assert _kept_files(tiny) == []


def test_with_the_jit_off_functions_stay_plain(tiny: Path) -> None:
    """They can be called, and nothing is kept."""
    assert _asked(tiny, NUMBA_DISABLE_JIT="1") == "2 3 None"
    assert _kept_files(tiny) == []


def test_what_is_edited_while_it_is_compiled_is_not_taken_for_the_old(tiny: Path) -> None:
    """A source is edited between two functions of one process: the code of the old one is not kept as new."""
    imports, one, other = ENTRIES.format(decorator=KEPT).split("\n\n")
    edit = "from pathlib import Path\n"
    edit += f'Path(__file__).with_name("constants.py").write_text({CONSTANTS.format(weight=10)!r})'
    (tiny / "entries.py").write_text("\n\n".join([imports, one, edit, other]))
    assert _asked(tiny) == "2 3 0"
    assert _asked(tiny) == "10 11 0"
