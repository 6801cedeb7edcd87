"""Random small districts, the same for the same seed; for tests only.

A district is grown: a base (a fan, an oval, a wye, ...) with open ends, some turnouts more, and a short
track at every end that is still open.  Bases and features are dealt out, not diced: each block of twenty
seeds holds each of them a fixed number of times, so that every two hundred seeds in a row hold their
share of all. Lengths are small whole numbers, one grid unit to the unit, so that brute force can give the
true minimum.

``python -m tests.random_districts --count 200 --seed 0`` prints what was drawn, and how hard it is; with
``--compare`` the solver is held to the true minimum of each.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from random import Random

import numpy as np

from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.rules import Rules
from switchsolve.search.exact import applies
from switchsolve.solving import solve
from switchsolve.work import (
    DoNotTouch,
    EndsIn,
    Hold,
    Item,
    LocomotiveEnds,
    Place,
    Work,
)
from tests.brute_force import TooManyStates, brute_minimum, can_start
from tests.brute_graph import Graph
from tests.brute_search import Search
from tests.random_rail import Draft, draw_base, grow
from tests.random_work import (
    MAKERS,
    SetUp,
    draw_vehicles,
    draw_work,
    end_of_locomotive,
    item_of,
    place_vehicles,
)

__all__ = [
    "SHARES",
    "Drawn",
    "compare",
    "deal",
    "draw",
    "draw_once",
    "draw_table",
    "missing_shares",
    "random_puzzle",
]

_BLOCK = 20
_BASES = (
    ["oval"] * 4
    + ["wye"] * 2
    + ["balloon"] * 2
    + ["crossing", "slip", "double crossover"]
    + ["run-around"] * 3
    + ["chain"] * 3
    + ["fan", "three-way", "table"]
)
_SHARES = {
    "two locomotives": 4,
    "closed": 4,
    "keep clear": 4,
    "do not touch": 3,
    "limits": 4,
    "mixed lengths": 8,
    "rear only": 2,
    "spots": 3,
    "train made up": 3,
    "barred": 2,
    "any cars": 2,
    "dead locomotive": 1,
    "under way": 8,
    "four cars": 3,
    "explored": 12,
}
"""How many of each block of twenty have the feature."""
_PATIENCE = 15
"""Attempts after which easier work will do."""
_LEAVES_OUT = 300
"""Attempts after which each time one feature more may be left out."""
_EXPLORED = 60_000
"""Standings that are looked at to find work that takes many moves."""
_MOST = 2_000_000
"""Bound on units of rail to the power of the vehicles: keeps brute force affordable."""


def deal(seed: int) -> tuple[str, set[str]]:
    """Base and features of a seed."""
    block, index = divmod(seed, _BLOCK)
    deck = list(_BASES)
    Random(f"bases {block}").shuffle(deck)
    features = set()
    for name, share in _SHARES.items():
        if index in Random(f"{name} {block}").sample(range(_BLOCK), share):
            features.add(name)
    return deck[index], features


# -- putting together --------------------------------------------------------------------------------


def _strings(up: SetUp) -> tuple[StartString, ...]:
    """The rows as strings: neighbours coupled or not as the dice fall, a car not to be touched by itself."""
    strings = []
    for track, row in up.rows.items():
        groups: list[list[str]] = []
        for name in row:
            apart = up.random.random() < 0.4 or not groups
            if apart or any(isinstance(item_of(up, n), DoNotTouch) for n in (name, groups[-1][-1])):
                groups.append([name])
            else:
                groups[-1].append(name)
        strings += [StartString(track, tuple(group)) for group in groups]
    return tuple(string if not _fixed(up, string) else _fix(up, string) for string in strings)


def _fixed(up: SetUp, string: StartString) -> bool:
    return isinstance(item_of(up, string.vehicles[0]), DoNotTouch)


def _fix(up: SetUp, string: StartString) -> StartString:
    row = up.rows[string.track]
    before = sum(up.length(name) for name in row[: row.index(string.vehicles[0])])
    after = sum(up.length(name) for name in row[row.index(string.vehicles[0]) :])
    last = max(before, up.draft.tracks[string.track].length - after)
    return replace(string, fixed_at=up.random.randint(before, last))


def _start(up: SetUp) -> Start:
    heads = {locomotive.name: up.random.choice(("from", "to")) for locomotive in up.locomotives}
    under_way = {}
    if "under way" in up.wanted:
        under_way = {name: up.random.choice(("from", "to")) for name in heads}
    return Start(_strings(up), heads, under_way)


def _rear_only_coupled(up: SetUp, start: Start) -> bool:
    """A locomotive whose front does not couple stands coupled at its front."""
    for locomotive in up.locomotives:
        for string in start.strings:
            if locomotive.rear_only and locomotive.name in string.vehicles:
                outer = string.vehicles[-1 if start.heads[locomotive.name] == "to" else 0]
                return outer != locomotive.name
    return False


@lru_cache(maxsize=32)
def random_puzzle(seed: int) -> tuple[Puzzle, frozenset[str]]:
    """A small puzzle, and the names of the features in it.  The same for the same ``seed`` >= 0."""
    base, wanted = deal(seed)
    attempt = 0
    while True:
        random, still = Random(f"{seed} {attempt}"), set(wanted)
        # now and then the features dealt do not go together: then some are left out
        for _ in range(attempt // _LEAVES_OUT):
            still.discard(random.choice(sorted(MAKERS)))
        drawn = draw_once(random, base, still, strict=attempt < _PATIENCE)
        if drawn is not None:
            return drawn
        attempt += 1


def draw_once(
    random: Random, base: str, wanted: set[str], *, strict: bool
) -> tuple[Puzzle, frozenset[str]] | None:
    draft = Draft(random)
    draw_base(draft, base)
    grow(draft)
    up = SetUp(random, draft, wanted)
    draw_vehicles(up)
    vehicles = len(up.cars) + len(up.locomotives) - ("do not touch" in wanted)
    if len(draft.tracks) < 3 or draft.units() ** vehicles > _MOST or not place_vehicles(up):
        return None
    draw_work(up)
    if not all(make(up) for name, make in MAKERS.items() if name in wanted):
        return None
    end_of_locomotive(up)
    return _finished(up, strict)


def _finished(up: SetUp, strict: bool) -> tuple[Puzzle, frozenset[str]] | None:
    start = _start(up)
    if _rear_only_coupled(up, start):
        return None
    puzzle = Puzzle(
        up.draft.district(),
        tuple(up.cars),
        tuple(up.locomotives),
        start,
        Work(tuple(up.items)),
        unit="unit",
        grid=1,
    )
    if not can_start(puzzle):
        return None
    if "explored" in up.wanted and not up.wanted & {"train made up", "any cars"}:
        work = _explored(up.random, puzzle, strict)
        if work is None:
            return None
        puzzle = replace(puzzle, work=work)
    return puzzle, frozenset(_features(up, puzzle))


def _explored(random: Random, puzzle: Puzzle, strict: bool) -> Work | None:
    """Work that can be done, and not soon: tracks for the cars, drawn from those that take many moves.

    ``strict``: ``None`` if none takes six reversals.

    By brute force itself: the least moves to every way of sharing the cars among the tracks.
    """
    fixed = [item for item in puzzle.work.items if isinstance(item, DoNotTouch)]
    names = [car.name for car in puzzle.cars if car.name not in {item.car for item in fixed}]
    marked = [EndsIn(name, (Place(name),)) for name in names]  # no two cars are taken for each other
    graph = Graph(replace(puzzle, work=Work((*fixed, *marked))))
    rows, costs = Search(graph, to_the_end=True).reach(_EXPLORED)
    tracks = [track.name for track in puzzle.district.tracks]
    # by string number; the last one is for the number -1 (no string)
    weights = np.array([_share(graph, number, names, tracks) for number in range(len(graph.strings))] + [0])
    whole = (weights >= 0)[rows].all(axis=1)
    shares, which = np.unique(weights[rows[whole]].sum(axis=1), return_inverse=True)
    least = np.full(len(shares), 1 << 30)
    np.minimum.at(least, which, costs[whole])
    hard = 6 + len(puzzle.locomotives)
    if not len(shares) or (strict and max(least) < hard):
        return None
    liked = [int(share) for share, cost in zip(shares, least, strict=True) if cost >= min(hard, max(least))]
    return _work_of_share(random, puzzle, fixed, names, random.choice(liked))


def _share(graph: Graph, number: int, names: list[str], tracks: list[str]) -> int:
    """Tracks of a string's cars as digits of a number; -1 if one of them is not wholly in a track."""
    string, share = graph.strings[number], 0
    for code, under in zip(string.vehicles, graph.parts(string.vehicles, string.path), strict=True):
        name = next(name for name, sort in graph.work.sort_of.items() if sort == code >> 4)
        if name in names:
            track = graph.whole(under)
            if track not in tracks:
                return -1
            share += tracks.index(track) * len(tracks) ** names.index(name)
    return share


def _work_of_share(
    random: Random, puzzle: Puzzle, fixed: list[DoNotTouch], names: list[str], share: int
) -> Work | None:
    ends = [item for item in puzzle.work.items if isinstance(item, LocomotiveEnds) and random.random() < 0.4]
    homes = {name: string.track for string in puzzle.start.strings for name in string.vehicles}
    items: list[Item] = [*fixed, *ends]
    tracks = puzzle.district.tracks
    for name in names:
        share, track = divmod(share, len(tracks))
        where = tracks[track]
        at_home = where.name == homes[name]
        spot = random.choice(where.spots).name if where.spots and random.random() < 0.5 else None
        if at_home and random.random() < 0.6:
            items += random.choice(([], [Hold(name)]))
        else:
            items.append(EndsIn(name, (Place(where.name, spot),)))
    return Work(tuple(items))


def _features(up: SetUp, puzzle: Puzzle) -> set[str]:
    """What is really in the puzzle: dealt, or come about by the drawing."""
    features = up.draft.features | (up.wanted - {"mixed lengths", "four cars", "explored"})
    if len({car.length for car in puzzle.cars}) > 1:
        features.add("mixed lengths")
    if any(len(track.parts) > 1 for track in puzzle.district.tracks):
        features.add("seams")
    if any(junction.kind in ("crossing", "slip") for junction in puzzle.district.junctions):
        features.add("crossing or back-to-back")
    return features


# -- what was drawn ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Drawn:
    """One seed: its features, its minimum in moves (``None``: impossible), its locomotives, and the
    time it took.
    """

    seed: int
    features: frozenset[str]
    moves: int | None
    locomotives: int
    seconds: float = 0.0

    @property
    def reversals(self) -> int | None:
        """Least number of reversals that so many moves stand for."""
        return None if self.moves is None else max(0, self.moves - self.locomotives)


def _counts(rows: Sequence[Drawn]) -> Counter[str]:
    counts = Counter(feature for row in rows for feature in row.features)
    counts["impossible"] = sum(row.moves is None for row in rows)
    counts["six reversals or more"] = sum((row.reversals or 0) >= 6 for row in rows)
    return counts


def draw_table(rows: Sequence[Drawn]) -> str:
    """What was drawn, with shares, and how the minima are spread."""
    counts = _counts(rows)
    lines = [f"{'feature':<28}{'drawn':>7}{'share':>8}"]
    lines += [f"{name:<28}{counts[name]:>7}{counts[name] / len(rows):>8.1%}" for name in sorted(counts)]
    lines += ["", f"{'minimum, moves':<28}{'drawn':>7}{'share':>8}"]
    minima = Counter(-1 if row.moves is None else row.moves for row in rows)
    for moves in sorted(minima):
        name = "impossible" if moves < 0 else str(moves)
        lines.append(f"{name:<28}{minima[moves]:>7}{minima[moves] / len(rows):>8.1%}")
    return "\n".join(lines)


SHARES = {
    "impossible": 0.25,
    "six reversals or more": 1 / 3,
    "oval": 0.1,
    "wye or balloon": 0.1,
    "two locomotives": 0.1,
    "closed": 0.1,
    "keep clear": 0.1,
    "seams": 0.1,
    "do not touch": 0.1,
    "limits": 0.1,
    "crossing or back-to-back": 0.1,
    "mixed lengths": 0.1,
}
"""The least share of each that a draw of two hundred or more must have."""


def missing_shares(rows: Sequence[Drawn]) -> list[str]:
    """What was drawn too rarely."""
    counts = _counts(rows)
    return [name for name, share in SHARES.items() if counts[name] < share * len(rows)]


def draw(seed: int, most_states: int = 5_000_000) -> Drawn:
    """One seed with its true minimum.  Raises :class:`~tests.brute_force.TooManyStates`."""
    begun = time.perf_counter()
    puzzle, features = random_puzzle(seed)
    moves = brute_minimum(puzzle, most_states=most_states)
    return Drawn(seed, features, moves, len(puzzle.locomotives), time.perf_counter() - begun)


def compare(seed: int, moves: int | None, seconds: float | None = None) -> str:
    """What the solver says of a seed whose true minimum is ``moves``: ``agrees``, ``gave up``, or what is
    wrong.
    """
    puzzle, _ = random_puzzle(seed)
    # the compiled search at once: the plain one, which goes before it, is held to it by tests of its own
    search = "auto" if applies(Rules(pack(puzzle))) is None else "compiled events"
    solution = solve(puzzle, seconds=seconds, search=search, tie_standings=0)
    if solution.verdict in (Verdict.GAVE_UP, Verdict.BEST_FOUND):
        least = solution.lower_bound or 0
        return "gave up" if moves is None or least <= moves else f"says at least {least}, truth {moves}"
    said = solution.counts.moves if solution.counts else None
    return "agrees" if said == moves else f"says {said}, truth {moves} (None: impossible)"


def _draw(seeds: range, most_states: int, seconds: float | None, comparing: bool) -> tuple[list[Drawn], int]:
    rows, said = [], Counter[str]()
    for seed in seeds:
        try:
            rows.append(draw(seed, most_states))
        except TooManyStates:
            print(f"seed {seed}: more than {most_states} standings, left out", file=sys.stderr)
            continue
        if comparing:
            word = compare(seed, rows[-1].moves, seconds)
            said[word if word in ("agrees", "gave up") else "disagrees"] += 1
            if word not in ("agrees", "gave up"):
                print(f"seed {seed}: the solver {word}", file=sys.stderr)
        if len(rows) % 20 == 0:
            spent = sum(row.seconds for row in rows)
            print(f"{len(rows)} of {len(seeds)}, brute force {spent:.1f} s {dict(said)}", file=sys.stderr)
    if comparing:
        print("solver against brute force:", ", ".join(f"{word} {said[word]}" for word in sorted(said)))
    return rows, said["disagrees"]


def main() -> int:
    """The command; returns 1 if the solver is wrong anywhere."""
    parser = argparse.ArgumentParser(description="random small districts: what is drawn, and how hard it is")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--most-states", type=int, default=5_000_000)
    parser.add_argument("--compare", action="store_true", help="solve each one too, and hold it to the truth")
    parser.add_argument("--seconds", type=float, help="limit for the solver, each")
    given = parser.parse_args()
    seeds = range(given.seed, given.seed + given.count)
    rows, wrong = _draw(seeds, given.most_states, given.seconds, given.compare)
    slowest = sorted(rows, key=lambda row: -row.seconds)[:5]
    print(draw_table(rows))
    print("\nslowest:", ", ".join(f"seed {row.seed} {row.seconds:.1f} s" for row in slowest))
    if missing_shares(rows):
        print("drawn too rarely:", ", ".join(missing_shares(rows)))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
