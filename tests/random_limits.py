"""Random small districts with limits on the moving string, the same for the same seed; for tests only."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from random import Random

from switchsolve.district import Junction, Limits, Track
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.exact import why_limits_bind, why_not_within_limits
from tests.random_districts import random_puzzle

__all__ = ["limited_puzzles", "puzzle_with_limits"]


def puzzle_with_limits(seed: int) -> Puzzle:
    """A random set-up, with a limit on the whole district, or on some tracks and a junction."""
    random = Random(seed)
    puzzle = random_puzzle(seed)[0]
    district = replace(puzzle.district, limits=Limits())
    if random.random() < 0.6:
        district = replace(district, limits=_limits(puzzle, random))
    else:
        tracks = [
            _limited_track(one, puzzle, random) if random.random() < 0.4 else one for one in district.tracks
        ]
        junctions = [
            _limited_junction(one, puzzle, random) if random.random() < 0.2 else one
            for one in district.junctions
        ]
        district = replace(district, tracks=tuple(tracks), junctions=tuple(junctions))
    return replace(puzzle, district=district)


def limited_puzzles(seeds: Iterable[int]) -> Iterator[tuple[int, Puzzle, Rules]]:
    """Those of the seeds in which a limit binds, and longest runs within limits are a bound."""
    for seed in seeds:
        puzzle = puzzle_with_limits(seed)
        rules = Rules(pack(puzzle))
        if (
            len(puzzle.locomotives) == 1
            and why_limits_bind(rules) is not None
            and why_not_within_limits(rules) is None
        ):
            yield seed, puzzle, rules


def _limits(puzzle: Puzzle, random: Random) -> Limits:
    cars = len(puzzle.cars)
    kind = random.random()
    if kind < 0.25:
        return Limits(most_shoved=random.randint(0, max(1, cars - 1)))
    if kind < 0.75:
        return Limits(most_cars=random.randint(1, max(1, cars - 1)))
    return Limits(longest=random.randint(1, max(1, sum(car.length for car in puzzle.cars) - 1)))


def _limited_track(track: Track, puzzle: Puzzle, random: Random) -> Track:
    number = random.randrange(len(track.parts))
    part = track.parts[number]
    part = replace(part, marks=replace(part.marks, limits=_limits(puzzle, random)))
    return replace(track, parts=(*track.parts[:number], part, *track.parts[number + 1 :]))


def _limited_junction(junction: Junction, puzzle: Puzzle, random: Random) -> Junction:
    return replace(junction, marks=replace(junction.marks, limits=_limits(puzzle, random)))
