"""What the package offers: names, docstrings, and types that a caller can rely on."""

from __future__ import annotations

import ast
import inspect
import os
import pickle
import pkgutil
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from types import ModuleType

import pytest

import switchsolve
from switchsolve.errors import FileError, PlanError, Problem

ROOT = Path(__file__).parent.parent
_FOUND = pkgutil.walk_packages(switchsolve.__path__, "switchsolve.")
MODULES = ["switchsolve", *sorted(found.name for found in _FOUND if not found.name.endswith("__main__"))]
SILENT = {"switchsolve.kernel", "switchsolve.measuring", "switchsolve.search"}
"""Packages that offer nothing themselves: their modules do."""

SCRIPT = """\
from typing import assert_type
from switchsolve import Plan, Puzzle, Solution, Verdict, load, replay, solve
puzzle = load("puzzles/first_spur.toml")
solution = solve(puzzle, seconds=5.0)
{check}
"""


def _order(name: str) -> tuple[int, str]:
    """Constants first, then classes, then functions, each by name."""
    return (0 if name.isupper() else 1 if name[0].isupper() else 2, name)


def _offered(module: ModuleType) -> list[str]:
    return list(getattr(module, "__all__", []))


def _own(module: ModuleType) -> list[tuple[str, object]]:
    """Functions and classes that the module offers and has written itself."""
    offered = [(name, getattr(module, name)) for name in _offered(module)]
    return [
        (name, thing)
        for name, thing in offered
        if (inspect.isfunction(thing) or inspect.isclass(thing)) and thing.__module__ == module.__name__
    ]


@pytest.mark.parametrize("name", MODULES)
def test_all_is_true_and_sorted(name: str) -> None:
    """Every module says what it offers, in order, once each; and each name is there."""
    module = import_module(name)
    offered = _offered(module)
    assert (offered == []) == (name in SILENT)
    assert offered == sorted(set(offered), key=_order)
    assert [each for each in offered if not hasattr(module, each)] == []


def test_the_check_of_the_order_can_fail() -> None:
    """A constant after a class, or a class after a function, is out of order."""
    assert sorted(["solve", "Plan", "SEARCHES"], key=_order) == ["SEARCHES", "Plan", "solve"]


@pytest.mark.parametrize("name", MODULES)
def test_what_is_public_has_a_docstring(name: str) -> None:
    """Every module, and every function, class and public method that it offers, has its own docstring."""
    module = import_module(name)
    assert module.__doc__
    bare = [each for each, thing in _own(module) if not _is_told(each, thing)]
    for each, thing in _own(module):
        if inspect.isclass(thing):
            bare += [
                f"{each}.{member}"
                for member, value in vars(thing).items()
                if not member.startswith("_")
                and (inspect.isfunction(value) or isinstance(value, property))
                and not inspect.getdoc(value)
            ]
    assert bare == []


def _is_told(name: str, thing: object) -> bool:
    """Whether there is a docstring, and not just the one that a dataclass or named tuple writes itself."""
    text = getattr(thing, "__doc__", None) or ""
    return bool(text) and not re.match(rf"{name}\(", text)


def test_nothing_prints_but_the_command_line() -> None:
    """No module outside ``cli`` calls ``print``, or knows rich."""
    found = []
    for path in sorted((ROOT / "switchsolve").rglob("*.py")):
        if path.parent.name == "cli":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print":
                found.append(f"{path.name}:{node.lineno} print")
            if isinstance(node, ast.ImportFrom | ast.Import):
                named = [alias.name for alias in node.names]
                names = [node.module or ""] if isinstance(node, ast.ImportFrom) else named
                if any(name.split(".")[0] == "rich" for name in names):
                    found.append(f"{path.name}:{node.lineno} rich")
    assert found == []


def test_importing_the_package_is_light() -> None:
    """``import switchsolve`` does not load what only some commands need."""
    heavy = ("networkx", "numba", "ortools", "rich")
    code = f"import switchsolve, sys; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_name_is_where_it_is_said_to_be() -> None:
    """The package offers the very things of its rooms, and a misspelled name is refused."""
    for name in switchsolve.__all__:
        thing = getattr(switchsolve, name)
        assert getattr(import_module(thing.__module__), name) is thing, name
        assert name in dir(switchsolve)
    with pytest.raises(AttributeError, match="no attribute 'slove'"):
        switchsolve.slove  # noqa: B018


@pytest.mark.parametrize(("arguments", "code"), [(["--help"], 0), (["solve", "--oops"], 2)])
def test_help_and_wrong_arguments_load_nothing_heavy(arguments: list[str], code: int) -> None:
    """The command line answers them before it loads any library, or the rooms below it."""
    script = f"""\
import sys
from switchsolve.cli import main
try:
    main({arguments})
except SystemExit as end:
    libraries = {{"networkx", "numba", "numpy", "psutil", "pydantic", "rich"}} & set(sys.modules)
    rooms = {{"switchsolve.puzzle", "switchsolve.puzzlefile", "switchsolve.solving"}} & set(sys.modules)
    print("loaded:", sorted(libraries | rooms))
    sys.exit(end.code)
"""
    command = [sys.executable, "-c", script]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == code
    assert done.stdout.endswith("loaded: []\n")


def test_the_package_is_marked_as_typed() -> None:
    """Type checkers of callers use our annotations: the marker is there, and is packed."""
    assert (ROOT / "switchsolve" / "py.typed").exists()
    assert 'switchsolve = ["py.typed"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def _mypy(script: str, folder: Path) -> subprocess.CompletedProcess[str]:
    (folder / "script.py").write_text(script, encoding="utf-8")
    return subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--config-file=", str(folder / "script.py")],
        cwd=ROOT,
        env={**os.environ, "MYPYPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_a_callers_script_is_typed(tmp_path: Path) -> None:
    """The types of a caller's lines are known to a strict checker, which refuses what may be ``None``."""
    check = """\
assert_type(puzzle, Puzzle), assert_type(solution, Solution), assert_type(solution.verdict, Verdict)
assert_type(solution.plan, Plan | None)
if solution.plan is not None:
    assert_type(replay(puzzle, solution.plan).counts.moves, int)"""
    good = _mypy(SCRIPT.format(check=check), tmp_path)
    assert good.returncode == 0, good.stdout
    misspelled = _mypy("from switchsolve import slove", tmp_path)
    assert misspelled.returncode == 1 and "slove" in misspelled.stdout
    bad = _mypy(SCRIPT.format(check="replay(puzzle, solution.plan)"), tmp_path)
    assert bad.returncode == 1 and 'incompatible type "Plan | None"' in bad.stdout


def test_errors_come_out_of_a_worker_process_as_they_were() -> None:
    """Pickled and read again an error says the same, and holds the same."""
    problem = Problem("a.toml", "tracks", "lead", "this is missing", "add it")
    for error in (FileError([problem, problem]), PlanError("run 2", "it is foul")):
        again = pickle.loads(pickle.dumps(error))
        assert str(again) == str(error) and vars(again) == vars(error)
