"""A file of rows, which long work adds to as it goes, so that it can be killed and go on where it was.

The file is JSON, one object in a line.  The first line says what was asked; work with the same question goes
on where the file ends.  A line that was cut off in the middle (the program was killed) is taken off.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from switchsolve.errors import SwitchsolveError

__all__ = ["RowsError", "RowsFile"]


class RowsError(SwitchsolveError):
    """A file of rows cannot be used; the message names the file and the cure."""


class RowsFile:
    """The file at ``path``, made if it is not there.  ``question``: what the rows depend on; ``work``: what
    they are of, in words such as "study".

    Raises :class:`RowsError` if it cannot be read or written, or holds the rows of other work.
    """

    def __init__(self, path: str | Path, question: Mapping[str, object], work: str) -> None:
        self._path = Path(path)
        self._work = work
        head = (json.dumps(question, ensure_ascii=False) + "\n").encode()
        try:
            self._mend(head, json.loads(head))
            self._file = self._path.open("ab")
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise RowsError(f"{path}: it cannot be read and written ({why}); name another file") from None

    def _mend(self, head: bytes, question: object) -> None:
        """Check the first line, and take off what is not a whole line."""
        data = self._path.read_bytes() if self._path.exists() else b""
        whole = data[: data.rfind(b"\n") + 1]
        if not whole and not head.startswith(data):
            raise RowsError(f"{self._path}: this is no file of rows; name another file")
        if whole and self._parsed(1, whole.split(b"\n", 1)[0]) != question:
            cure = "name another file, or ask the same again"
            raise RowsError(f"{self._path}: its rows are those of another {self._work}; {cure}")
        if not whole:
            self._path.write_bytes(head)
        elif whole != data:
            with self._path.open("r+b") as file:
                file.truncate(len(whole))

    def records(self) -> Iterator[tuple[int, Any]]:
        """What each line holds, with its number.  Raises :class:`RowsError` for a line that is none."""
        with self._path.open("rb") as file:
            for number, line in enumerate(file, 1):
                if number > 1:
                    yield number, self._parsed(number, line)

    def refuse(self, number: int) -> RowsError:
        """The error for a line that holds something else."""
        return RowsError(f"{self._path}: line {number} is no row of a {self._work}; name another file")

    def add(self, record: Mapping[str, object]) -> None:
        """Add a row; once this returns, it is not lost if the program is killed."""
        self._file.write((json.dumps(record, ensure_ascii=False) + "\n").encode())
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def _parsed(self, number: int, line: bytes) -> Any:
        try:
            return json.loads(line)
        except ValueError:
            raise self.refuse(number) from None
