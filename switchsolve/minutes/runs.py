"""Timed runs: the rows of a log, with what the puzzle files tell that they name."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from switchsolve.errors import FileError, Problem
from switchsolve.minutes.log import COUNTED, LogRow
from switchsolve.minutes.model import cars_worked
from switchsolve.plan import Counts, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.solving import solve

__all__ = ["TimedRun", "timed_runs"]


@dataclass(frozen=True, slots=True)
class TimedRun:
    """A run with all that is known of it.  ``counts`` has those of :data:`COUNTED` that the log tells."""

    line: int
    seconds: Fraction
    counts: Mapping[str, Fraction]
    minimum: int | None = None
    cars: int | None = None

    @property
    def ratio(self) -> Fraction | None:
        """The crew's moves over the minimum, where both are known."""
        return None if not self.minimum or "moves" not in self.counts else self.counts["moves"] / self.minimum


def timed_runs(
    path: str | Path,
    rows: Sequence[LogRow],
    *,
    seconds: float = 60.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> tuple[list[TimedRun], str | None]:
    """The runs with what their puzzle files tell, and the unit of their lengths (``None``: no file says it).

    Each file is solved once, ``seconds`` for each.  Raises :class:`~switchsolve.errors.FileError` with all
    that is wrong: a file that cannot be read, a minimum that is not proved in time, fewer moves than that,
    files with different units.
    """
    puzzles, problems = _loaded(Path(path), rows)
    units = sorted({puzzle.unit for puzzle in puzzles.values()})
    if len(units) > 1:
        what = f"the puzzle files measure in {' and '.join(units)}"
        problems.append(Problem(str(path), "puzzle", "", what, "make one log for each unit"))
    if problems:
        raise FileError(problems)
    least: dict[str, Counts] = {}
    for name, puzzle in puzzles.items():
        if tell is not None:
            tell(f"{name}: its minimum")
        solution = solve(puzzle, search="steady", seconds=seconds, tell=tell, stop=stop)
        if solution.verdict is Verdict.PROVED and solution.counts is not None:
            least[name] = solution.counts
        else:
            what = f"its minimum is not known ({solution.verdict})"
            cure = "give it more time with --limit-seconds, or take its runs out"
            problems.append(Problem(str(path), "puzzle", name, what, cure))
    runs = [_run(row, puzzles, least, str(path), problems) for row in rows]
    if problems:
        raise FileError(problems)
    return [run for run in runs if run is not None], units[0] if units else None


def _loaded(path: Path, rows: Sequence[LogRow]) -> tuple[dict[str, Puzzle], list[Problem]]:
    """The puzzle files by the names that the log gives them, and what is wrong with them."""
    puzzles: dict[str, Puzzle] = {}
    problems: list[Problem] = []
    for name in dict.fromkeys(row.puzzle for row in rows if row.puzzle is not None):
        try:
            puzzles[name] = load(path.parent / name)
        except FileError as error:
            problems += error.problems
    return puzzles, problems


def _run(
    row: LogRow,
    puzzles: Mapping[str, Puzzle],
    least: Mapping[str, Counts],
    file: str,
    problems: list[Problem],
) -> TimedRun | None:
    """A row as a run; ``None`` if its puzzle has no proved minimum, or it has fewer moves."""
    own = {head: row.numbers[head] for head in COUNTED if head in row.numbers}
    cars = row.numbers.get("cars")
    minimum = row.numbers.get("minimum")
    if row.puzzle is None:
        known = None if minimum is None else int(minimum)
        return TimedRun(row.line, row.seconds, own, known, None if cars is None else int(cars))
    if row.puzzle not in least:
        return None
    counts, puzzle = least[row.puzzle], puzzles[row.puzzle]
    moves = own.get("moves")
    if moves is not None and moves < counts.moves:
        what = f"no crew does {row.puzzle} in fewer moves than the minimum, {counts.moves}"
        problems.append(Problem(file, f"line {row.line}, moves", str(moves), what, "count the moves again"))
        return None
    ratio = Fraction(1) if moves is None or not counts.moves else moves / counts.moves
    of_plan = {
        "moves": Fraction(counts.moves),
        "couplings": Fraction(counts.couplings),
        "cuts": Fraction(counts.cuts),
        "turnouts": Fraction(counts.turnouts_thrown),
        "tables": Fraction(counts.tables_turned),
        "distance": Fraction(counts.distance, puzzle.grid),
    }
    taken = {head: ratio * number for head, number in of_plan.items()} | own
    worked = cars_worked(puzzle) if cars is None else int(cars)
    known = counts.moves if moves is not None else None
    return TimedRun(row.line, row.seconds, taken, known, worked)
