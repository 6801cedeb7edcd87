"""The cars and locomotives of a file."""

from __future__ import annotations

from collections.abc import Mapping

from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.problems import Problems
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.vehicles import Car, Locomotive

__all__ = ["read_cars", "read_heads", "read_locomotives", "read_under_way"]


def read_cars(file: PuzzleFile, measures: Measures, problems: Problems) -> tuple[Car, ...]:
    """Every car, in the order of the file."""
    for name in file.cars:
        if name in file.locomotives:
            problems.add(
                ("cars", name), "a locomotive has the same name", "give one of them another name", ""
            )
    return tuple(
        Car(name, measures.of_vehicle(("cars", name), line, name), line.kind or "car", line.dead_locomotive)
        for name, line in file.cars.items()
    )


def read_locomotives(file: PuzzleFile, measures: Measures) -> tuple[Locomotive, ...]:
    """Every locomotive, in the order of the file."""
    return tuple(
        Locomotive(
            name,
            measures.of_vehicle(("locomotives", name), line, name),
            line.rear_only,
            line.kind or "locomotive",
        )
        for name, line in file.locomotives.items()
    )


def read_heads(file: PuzzleFile, problems: Problems) -> dict[str, str]:
    """The end to which each locomotive's front points; ``to`` where nothing hangs on it."""
    heads: dict[str, str] = {}
    for name, line in file.locomotives.items():
        ending = file.work.locomotive.get(name)
        why = "is rear only" if line.rear_only else "is to head one way at the end"
        if line.heads is None and (line.rear_only or (ending and ending.heads)):
            cure = 'add heads = "from" or heads = "to"'
            problems.add(
                ("locomotives", name), f"this {why}, but not said to head one way at the start", cure
            )
        heads[name] = line.heads or "to"
    return heads


def read_under_way(file: PuzzleFile) -> Mapping[str, str]:
    """The end towards which each locomotive moves at the start, of those that do."""
    return {name: line.under_way for name, line in file.locomotives.items() if line.under_way}
