"""Small design spaces, drawn by a seed, and the slow way to search one: build and solve every arrangement."""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from random import Random

from switchsolve.design import Wish
from switchsolve.designing.laying import CannotBeLaid, lay, rail_of, turnouts_of
from switchsolve.facts.probes import bench, entries
from switchsolve.measuring.arrivals import Arrival, Task
from switchsolve.measuring.fewest import fewest
from switchsolve.packing import pack
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, loads
from switchsolve.rules import Rules
from switchsolve.solving import solve
from switchsolve.work import Place

__all__ = [
    "BENCHMARK",
    "GROUND",
    "HARDER",
    "SLOW_NO",
    "SPURS",
    "Enumerated",
    "drawn_design",
    "drawn_spurs",
    "enumerated",
]

GROUND = """\
title = "Cask Lane, not yet built"
unit = "cm"

[tracks]
"Lane lead" = { from = "entrance", to = "West turnout points", length = 6 }
"street" = { from = "West turnout straight", to = "East turnout straight", length = 4 }
"run-around" = { from = "West turnout diverging", to = "East turnout diverging", length = 4 }
"Lane tail" = { from = "East turnout points", to = "Cider turnout points", length = 2 }
"ice house" = { from = "Cider turnout straight", length = 3 }
"cider works" = { from = "Cider turnout diverging", length = 2 }

[turnouts]
"West turnout" = { length = 1 }
"East turnout" = { length = 1 }
"Cider turnout" = { length = 1 }

[kinds]
box = 1

[standards]
car = "box"

[locomotives]
"S&I 5" = { length = 1, heads = "to" }

[cars]
"THB 12" = "box"
"OXCC 7" = "box"

[start]
"Lane lead" = ["THB 12", "S&I 5"]
"ice house" = ["OXCC 7"]

[work]
spot = { "THB 12" = "ice house", "OXCC 7" = "cider works" }
"""
"""Two spurs behind a run-around, all in whole centimeters; the work exchanges two cars."""

_PLACES = ("ice house", "cider works", "print works", "tail end")
SLOW_NO = 1 << 30
"""Stands for no plan."""
Enumerated = list[tuple[float, int, tuple[tuple[str, str], ...]]]


SPURS = """\
title = "Cask Lane, not yet built: three spurs, each at a turnout of its own"
unit = "cm"

[tracks]
"Lane lead" = { from = "entrance", to = "Near turnout points", length = 4 }
"west street" = { from = "Near turnout straight", to = "Cider turnout points", length = 1 }
"mid street" = { from = "Cider turnout straight", to = "Ice turnout points", length = 2 }
"Lane tail" = { from = "Ice turnout straight", to = "Print turnout points", length = 2 }
"tail end" = { from = "Print turnout straight", length = 2 }
"cider works" = { from = "Cider turnout diverging", length = 2 }
"ice house" = { from = "Ice turnout diverging", length = 1 }
"print works" = { from = "Print turnout diverging", length = 2 }

[turnouts]
"Near turnout" = { length = 1, meets = { diverging = "bumper" } }
"Cider turnout" = { straight = 1, diverging = 2 }
"Ice turnout" = { length = 1 }
"Print turnout" = { straight = 2, diverging = 1 }

[kinds]
box = 1

[standards]
car = "box"

[locomotives]
"S&I 5" = { length = 1, heads = "to" }

[cars]
"THB 12" = "box"
"OXCC 7" = "box"

[start]
"Lane lead" = ["THB 12", "S&I 5"]
"ice house" = ["OXCC 7"]

[work]
spot = { "THB 12" = "ice house", "OXCC 7" = "cider works" }

[design]
flip = ["cider works", "ice house", "print works"]
"""
"""Three spurs that may be flipped, and a turnout that waits for one of them."""


def drawn_spurs(seed: int) -> str:
    """Spurs of :data:`SPURS` either way round, here or there, with lengths and wishes drawn by ``seed``."""
    random = Random(seed)
    lines = ["[design.move]", f'"{random.choice(["cider works", "ice house"])}" = ["Near turnout diverging"]']
    if random.random() < 0.5:
        lines += ["[design.lengths]", '"mid street" = { least = 1, most = 2, step = 1 }']
    for _ in range(random.randint(1, 2)):
        lines += ["[[design.wishes]]", *_wish(random)]
    return SPURS + "\n".join(lines) + "\n"


def drawn_design(seed: int) -> str:
    """A file with a few dozen arrangements at most, and wishes that some of them may fulfill."""
    random = Random(seed)
    lines = ["[design]", f"cost = {{ rail = 1, turnout = {random.choice([0, 2, 5])} }}"]
    if random.random() < 0.4:
        lines.append(f"most_rail = {random.randint(20, 26)}")
    if random.random() < 0.3:
        lines.append(f"most_turnouts = {random.randint(1, 3)}")
    if random.random() < 0.6:
        lines.append('leave_out = ["run-around"]')
    if random.random() < 0.5:
        lines.append(f'flip = ["{random.choice(["cider works", "ice house"])}"]')
    lines.append("[design.lengths]")
    for track, least in random.sample(
        [("Lane tail", 1), ("cider works", 1), ("ice house", 2), ("street", 1)], 2
    ):
        lines.append(f'"{track}" = {{ least = {least}, most = {least + random.randint(1, 3)}, step = 1 }}')
    for _ in range(random.randint(1, 2)):
        lines += ["[[design.wishes]]", *_wish(random)]
    return GROUND + "\n".join(dict.fromkeys(lines) if lines.count("[[design.wishes]]") < 2 else lines) + "\n"


def _wish(random: Random) -> list[str]:
    kind = random.choice(["spots", "work", "range", "some"])
    if kind == "work":
        return ['about = "work"', f"most_moves = {random.randint(4, 12)}", f'name = "w{random.random()}"']
    task = random.choice(["spot", "pick up"])
    row = ['about = "spots"', f'task = "{task}"', f'cars = "{random.choice(["behind", "ahead"])}"']
    row.append(f'name = "s{random.random()}"')
    if kind == "range":
        return [*row, f"least_moves = {random.randint(2, 4)}", f"most_moves = {random.randint(4, 7)}"]
    if kind == "some":
        return [*row, "how_many = 1", f"most_moves = {random.randint(2, 5)}"]
    return [*row, f"most_moves = {random.randint(3, 6)}"]


def enumerated(puzzle: Puzzle) -> Enumerated:
    """Cost, turnouts and choices of every arrangement that fulfills everything, by solving each one.

    Nothing is cut off, bounded or remembered; an arrangement that is another over again counts once.
    """
    design = puzzle.design
    assert design is not None
    rows: Enumerated = []
    seen = set()
    for options in product(*(choice.options for choice in design.choices)):
        gone = {name for option in options for name in option.leave_out}
        pairs = [
            (choice, option)
            for choice, option in zip(design.choices, options, strict=True)
            if choice.length_of not in gone
        ]
        try:
            laid = lay(puzzle, [option for _, option in pairs])
        except CannotBeLaid:
            continue
        text = dumps(laid)
        if text in seen:
            continue
        seen.add(text)
        rail, turnouts = rail_of(laid), turnouts_of(laid)
        if design.most_rail is not None and rail > design.most_rail:
            continue
        if design.most_turnouts is not None and turnouts > design.most_turnouts:
            continue
        again = loads(text) if _stands(laid) else None
        if again is not None and all(_is_met(wish, again) for wish in design.wishes):
            cost = rail / puzzle.grid * float(design.rail_cost) + turnouts * float(design.turnout_cost)
            rows.append((cost, turnouts, tuple((choice.name, option.name) for choice, option in pairs)))
    return sorted(rows)


def _stands(puzzle: Puzzle) -> bool:
    return next(iter(Rules(pack(puzzle)).starts()), None) is not None


def _is_met(wish: Wish, puzzle: Puzzle) -> bool:
    least, most = wish.least or 0, SLOW_NO - 1 if wish.most is None else wish.most
    if wish.about == "work":
        return least <= _solved(dumps(puzzle)) <= most
    found = bench(puzzle)
    assert found is not None
    entry = entries(puzzle, found.locomotive.name)[0]
    places = [Place(name) for name in _PLACES if name in {track.name for track in puzzle.district.tracks}]
    count = 0
    for place in places:
        answer = fewest(
            found, Arrival(entry, wish.is_ahead), place, Task(wish.task), lambda p: solve(p, tie_standings=0)
        )
        count += least <= (SLOW_NO if answer is None else _moves(answer[1])) <= most
    return count >= (len(places) if wish.how_many is None else wish.how_many)


@lru_cache
def _solved(text: str) -> int:
    return _moves(solve(loads(text), tie_standings=0))


def _moves(solution: Solution) -> int:
    if solution.verdict is Verdict.IMPOSSIBLE:
        return SLOW_NO
    assert solution.counts is not None and solution.verdict is Verdict.PROVED
    return solution.counts.moves


BENCHMARK = """\
title = "Cask Lane: ten tracks, five thousand arrangements, three cars"
unit = "in"
scale = "HO"
allowance = 0.1

[district]
track_centers = 2

[tracks]
"Lane lead"   = { from = "entrance", to = "West turnout points" }
"west street" = { from = "West turnout straight", to = "Cider turnout points", length = 3 }
"mid street"  = { from = "Cider turnout straight", to = "Ice turnout points", length = 10 }
"east street" = { from = "Ice turnout straight", to = "East turnout straight", length = 3 }
"run-around"  = { from = "West turnout diverging", to = "East turnout diverging", length = 32 }
"Lane tail"   = { from = "East turnout points", to = "Print turnout points", length = 6 }
"print works" = { from = "Print turnout diverging", length = 7 }
"tail end"    = { from = "Print turnout straight", length = 6 }
"cider works" = { from = "Cider turnout diverging", length = 7 }
"ice house"   = { from = "Ice turnout diverging", length = 7 }

[turnouts]
"West turnout"  = { number = 6 }
"Cider turnout" = { number = 4 }
"Ice turnout"   = { number = 4 }
"East turnout"  = { number = 6 }
"Print turnout" = { number = 4 }

[kinds]
"40 ft box" = { prototype = "44 ft 2 1/2 in" }

[standards]
car = "40 ft box"

[locomotives]
"S&I 5" = { length = 5.5, heads = "to" }

[cars]
"THB 12" = "40 ft box"
"QLV 7"  = "40 ft box"
"OXCC 7" = "40 ft box"

[start]
"Lane lead"   = ["THB 12", "QLV 7", "S&I 5"]
"cider works" = ["OXCC 7"]

[work]
spot = { "THB 12" = "cider works", "QLV 7" = "print works" }
[[work.train]]
departs_on = "Lane lead"
pick_up = ["OXCC 7"]

[design]
flip = ["cider works", "ice house", "print works"]
cost = { rail = 1, turnout = 20 }
[design.lengths]
"run-around" = { least = 8, most = 32, step = 6 }
"Lane tail"  = { least = 2, most = 14, step = 3 }
"tail end"   = { least = 2, most = 14, step = 3 }
"mid street" = { least = 2, most = 14, step = 3 }
[[design.wishes]]
about = "work"
most_moves = 8
"""
"""Five thousand arrangements of ten tracks, and a wish about the work with three cars."""

HARDER = (
    BENCHMARK.partition("[design]")[0]
    .replace("ten tracks, five thousand arrangements", "ten tracks, spurs here or there")
    .replace('straight", length = 6 }\n"cider', 'straight", length = 14 }\n"cider')
    .replace('to = "West turnout points" }', 'to = "Near turnout points" }')
    .replace(
        '[turnouts]\n"West turnout"  = { number = 6 }',
        """[turnouts]
"Near turnout"  = { number = 4, meets = { straight = "West turnout points", diverging = "bumper" } }
"West turnout"  = { number = 6 }""",
    )
    + """\
[design]
flip = ["cider works", "ice house", "print works"]
leave_out = ["run-around"]
cost = { rail = 1, turnout = 20 }
[design.move]
"ice house" = ["Near turnout diverging"]
"print works" = ["Near turnout diverging"]
[design.lengths]
"run-around" = { least = 8, most = 32, step = 6 }
"Lane tail"  = { least = 2, most = 11, step = 3 }
"mid street" = { least = 2, most = 11, step = 3 }
[[design.wishes]]
about = "work"
least_moves = 4
most_moves = 8
[[design.wishes]]
about = "set-ups"
of_cars = 3
"""
)
"""As many arrangements of the same tracks, of which lengths alone decide little: a run-around, places of two
spurs and the way round of three; wishes about the work and about every set-up of three cars.
"""
