"""The client's own rules in a file, its times, wishes for the drawing, and what its author promises."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from switchsolve.puzzle import DrawingHints, Standards, Times
from switchsolve.puzzlefile.measures import Measures
from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.schema import PuzzleFile

__all__ = ["check_stated", "read_drawing", "read_standards", "read_times"]

_MM_A_SECOND = Fraction(1_609_344, 3600)
"""Millimeters a second in a mile an hour, exact (a mile is 1609.344 m)."""


def read_standards(file: PuzzleFile, problems: Problems) -> Standards:
    """The section ``[standards]``, with its names checked."""
    line = file.standards
    path: Path = ("standards",)
    if line.car is not None:
        _check(
            (*path, "car"),
            line.car,
            file.kinds,
            "there is no such kind of car",
            "add it under [kinds]",
            problems,
        )
    if line.locomotive is not None:
        cure = "name one of [locomotives]"
        _check(
            (*path, "locomotive"),
            line.locomotive,
            file.locomotives,
            "there is no such locomotive",
            cure,
            problems,
        )
    named: list[tuple[Path, str]] = [((*path, "spur_holds", name), name) for name in line.spur_holds]
    named += [((*path, "clear_at_end", index), name) for index, name in enumerate(line.clear_at_end)]
    for here, name in named:
        _check(here, name, file.tracks, "there is no such track", "name one of [tracks]", problems)
    return Standards(
        line.car,
        line.locomotive,
        line.run_around_passes,
        line.tail_takes,
        dict(line.spur_holds),
        tuple(line.clear_at_end),
    )


def read_times(file: PuzzleFile, measures: Measures) -> Times:
    """The section ``[times]``."""
    line = file.times
    speed = None if line.speed is None else measures.track(("times", "speed"), line.speed)
    if line.scale_mph is not None:
        if speed is not None:
            cure = "keep `speed` for the model or `scale_mph` for the real thing"
            measures.refuse(("times", "scale_mph"), "the speed is given twice", cure)
        speed = measures.in_scale(("times", "scale_mph"), line.scale_mph * _MM_A_SECOND)
    return Times(
        line.new_move,
        line.coupling,
        line.cut,
        line.table,
        speed,
        line.turnout,
        line.reading,
        line.failed_uncoupling,
        line.failed_share,
        line.crew_ratio,
    )


def read_drawing(file: PuzzleFile, problems: Problems) -> DrawingHints:
    """The section ``[drawing]``, with its names checked."""
    line = file.drawing
    for key, names in (("lanes", line.lanes), ("sides", line.sides)):
        for name in names:
            path: Path = ("drawing", key, name)
            _check(path, name, file.tracks, "there is no such track", "name one of [tracks]", problems)
    return DrawingHints(dict(line.lanes), dict(line.sides))


def check_stated(file: PuzzleFile, problems: Problems) -> None:
    """Note it if verdict and moves under ``[stated]`` do not go together."""
    if file.stated is None:
        return
    if file.stated.verdict == "impossible" and file.stated.moves is not None:
        problems.add(("stated", "moves"), "what is impossible takes no moves", "leave `moves` out")
    if file.stated.verdict != "impossible" and file.stated.moves is None:
        problems.add(("stated",), "this does not say how many moves", "add `moves`")


def _check(path: Path, name: str, known: Iterable[str], what: str, cure: str, problems: Problems) -> None:
    """Note ``what`` if ``name`` is not known."""
    names = list(known)
    if name not in names:
        problems.add(path, what, suggestion(name, names, cure))
