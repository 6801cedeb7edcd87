"""What is compared: files, and the variants in them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from switchsolve.puzzle import Puzzle

__all__ = ["Case", "cases_of"]

_AS_IT_IS = "as it is"


@dataclass(frozen=True, slots=True)
class Case:
    """One arrangement.  ``name``: what it is called in this comparison; ``file``: where it was read."""

    name: str
    file: str
    puzzle: Puzzle


def cases_of(files: Iterable[tuple[str, Puzzle]]) -> tuple[Case, ...]:
    """Every file, each followed by its variants.  With one file the file itself is called *as it is*, with
    several each goes by its name; no two have the same.
    """
    read = list(files)
    cases: list[Case] = []
    for file, puzzle in read:
        stem = Path(file).stem
        cases.append(Case(stem if len(read) > 1 else _AS_IT_IS, file, replace(puzzle, variants=())))
        for variant in puzzle.variants:
            name = variant.name if len(read) == 1 else f"{stem}, {variant.name}"
            cases.append(Case(name, file, variant.puzzle))
    return tuple(_told_apart(cases))


def _told_apart(cases: list[Case]) -> Iterable[Case]:
    """The cases with a number where a name comes again."""
    seen: dict[str, int] = {}
    for case in cases:
        seen[case.name] = seen.get(case.name, 0) + 1
        again = seen[case.name] > 1
        yield replace(case, name=f"{case.name} ({seen[case.name]})") if again else case
