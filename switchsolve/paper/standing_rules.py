"""The standing rules of a district: what a crew must obey whatever the work is."""

from __future__ import annotations

from collections.abc import Iterator

from switchsolve.district import KeepClear, Limits, Marks, Track
from switchsolve.drawing import Schematic
from switchsolve.lengths import format_length
from switchsolve.paper.sides import is_from_left
from switchsolve.puzzle import Puzzle
from switchsolve.words import counted

__all__ = ["standing_rules"]


def standing_rules(puzzle: Puzzle, ground: Schematic) -> list[tuple[str, str]]:
    """What holds where: a place, and the rule in words; no pair twice."""
    rules = [("Everywhere", text) for text in _limit_texts(puzzle, puzzle.district.limits)]
    for place, marks in _marked(puzzle, ground):
        rules += [(place, text) for text in _mark_texts(puzzle, marks)]
    rules += [
        (one.name, "Its front neither couples nor shoves.") for one in puzzle.locomotives if one.rear_only
    ]
    return list(dict.fromkeys(rules))


def _marked(puzzle: Puzzle, ground: Schematic) -> Iterator[tuple[str, Marks]]:
    district = puzzle.district
    for track in district.tracks:
        for index, part in enumerate(track.parts):
            yield _part_name(ground, track, index), part.marks
    for junction in district.junctions:
        yield f"{junction.name} ({junction.kind})", junction.marks
    for table in district.tables:
        yield f"{table.name} ({table.kind})", table.marks


def _part_name(ground: Schematic, track: Track, index: int) -> str:
    """The track, and which part of it."""
    count = len(track.parts)
    if count == 1:
        return track.name
    name = track.parts[index].name
    if name:
        return f"{track.name}, {name}"
    from_left = is_from_left(ground, track.name)
    if from_left is None:
        return f"{track.name}, part {index + 1} of {count}"
    return f"{track.name}, part {index + 1 if from_left else count - index} of {count} from the left"


def _mark_texts(puzzle: Puzzle, marks: Marks) -> Iterator[str]:
    if marks.keep_clear is KeepClear.ALWAYS:
        yield (
            "Keep clear. Whenever a locomotive changes direction, and at the end, only what is coupled to a"
            " locomotive may stand here."
        )
    if marks.keep_clear is KeepClear.AT_END:
        yield "Clear at the end: then only what is coupled to a locomotive may stand here."
    if marks.no_locomotives:
        yield "Closed to locomotives. Cars may be shoved in."
    if marks.barred:
        yield f"Barred to every {' and every '.join(sorted(marks.barred))}."
    yield from _limit_texts(puzzle, marks.limits)


def _limit_texts(puzzle: Puzzle, limits: Limits) -> Iterator[str]:
    if limits.most_cars is not None:
        yield f"No more than {counted(limits.most_cars, 'car')} in the moving string."
    if limits.longest is not None:
        longest = format_length(limits.longest, puzzle)
        yield f"No more than {longest} of cars, coupled, in the moving string."
    if limits.most_shoved is not None:
        yield f"No more than {counted(limits.most_shoved, 'car')} shoved ahead of the locomotive."
