"""What can go wrong, as one tree of exceptions.

::

    SwitchsolveError
    ├── DrawingError     a picture cannot be made or written
    ├── FileError        a file is badly written: holds every problem found in it
    └── PlanError        a plan is not legal on its district (the referee's "no")

A :class:`Problem` is one thing wrong in one file.  A reader collects all of them before it raises,
so that a person mends a file in one go.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DrawingError", "FileError", "PlanError", "Problem", "SwitchsolveError"]


class SwitchsolveError(Exception):
    """Root of every error that this package raises on purpose."""


class DrawingError(SwitchsolveError):
    """A picture cannot be made or written; the message says what would help."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in one file: where it stands, what stands there, and how to mend it."""

    file: str
    key: str
    value: str
    what: str
    cure: str

    def __str__(self) -> str:
        value = f" = {self.value}" if self.value else ""
        return f"{self.file}: {self.key}{value}: {self.what}; {self.cure}"


class FileError(SwitchsolveError):
    """A file is badly written.  ``problems`` holds all that was found, in the order of the file."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in problems))

    def __reduce__(self) -> tuple[type[FileError], tuple[list[Problem]]]:
        """For a worker process, whose error has to come out here as it was."""
        return type(self), (list(self.problems),)


class PlanError(SwitchsolveError):
    """A plan breaks the physical model.  ``where`` names the run and step, ``what`` the violation."""

    def __init__(self, where: str, what: str) -> None:
        self.where = where
        self.what = what
        super().__init__(f"{where}: {what}")

    def __reduce__(self) -> tuple[type[PlanError], tuple[str, str]]:
        """For a worker process, whose error has to come out here as it was."""
        return type(self), (self.where, self.what)
