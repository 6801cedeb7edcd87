"""Work sheets: for each set-up a sheet to try it with, and at the end a sheet with each solution."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from switchsolve.paper.document import document, field_lines, header_lines, words_of
from switchsolve.paper.html import asked_lines, plan_lines
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["Sheet", "sheets_html"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A set-up and its solution; ``remarks`` on its verdict go with the solution."""

    puzzle: Puzzle
    solution: Solution
    remarks: tuple[str, ...] = ()


def sheets_html(sheets: Sequence[Sheet]) -> str:
    """All work sheets, then all solutions, each on paper of its own, numbered alike.

    Only a proved minimum is called one.  Raises :class:`~switchsolve.errors.PlanError` if the referee finds
    anything wrong with a plan.
    """
    body: list[str] = []
    for number, sheet in enumerate(sheets, 1):
        body += _work_sheet(sheet, f"{number} of {len(sheets)}")
    for number, sheet in enumerate(sheets, 1):
        body += _solution_sheet(sheet, f"{number} of {len(sheets)}")
    return document("Work sheets", body)


def _title(sheet: Sheet) -> str:
    return words_of(sheet.puzzle.title) or "A switching district"


def _work_sheet(sheet: Sheet, number: str) -> Iterator[str]:
    yield f'<section class="sheet work-sheet" aria-label="Work sheet {number}">'
    yield from header_lines(f"Work sheet {number}", _title(sheet))
    yield f'<p class="verdict">{_least(sheet.solution)}</p>'
    yield f"<p>{_MOVE}{_UNDER_WAY if sheet.puzzle.start.under_way else ''}</p>"
    yield from field_lines("Name", "Date", "My moves")
    yield from asked_lines(sheet.puzzle)
    yield "</section>"


_MOVE = (
    "A move is what a locomotive does between two reversals: count one when it first sets off, and one more"
    " each time it changes direction. Stops to couple or to cut count nothing."
)
_UNDER_WAY = " A locomotive that is under way at the start is in its first move already."


def _least(solution: Solution) -> str:
    """What is known of the fewest moves."""
    if solution.verdict is Verdict.PROVED and solution.counts is not None:
        return f"Fewest moves: {solution.counts.moves} (proved)."
    if solution.verdict is Verdict.IMPOSSIBLE:
        return "This work cannot be done (proved). Find out why."
    bound = counted(solution.lower_bound or 0, "move")
    if solution.counts is None:
        return f"The fewest moves are not known; it cannot be done in under {bound}."
    return (
        f"Done in {counted(solution.counts.moves, 'move')}; fewer may do, but not under {bound}"
        " (the fewest are not proved)."
    )


def _solution_sheet(sheet: Sheet, number: str) -> Iterator[str]:
    yield f'<section class="sheet solution" aria-label="Solution {number}">'
    yield from header_lines(f"Solution {number}", _title(sheet))
    yield from plan_lines(sheet.puzzle, sheet.solution, sheet.remarks)
    yield "</section>"
