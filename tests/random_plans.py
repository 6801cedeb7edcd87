"""Random districts of up to thirty tracks, the same for the same seed, to be drawn; for tests only.

They grow from the bases of :mod:`tests.random_rail`: turnouts, three-ways, crossings and run-arounds are put
to ends that are open, and some open ends are joined to each other, so that there are loops of every kind.
"""

from __future__ import annotations

from random import Random

from switchsolve.district import District, End, Track
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import Work
from tests.random_rail import Draft, draw_base

__all__ = ["BASES", "random_plan"]

BASES = (
    "oval", "wye", "balloon", "crossing", "slip", "double crossover", "run-around", "chain", "fan",
    "three-way", "table",
)  # fmt: skip
_GROWTH = (
    ("turnout", (("points", "straight"), ("points", "diverging"))),
    ("turnout", (("points", "straight"), ("points", "diverging"))),
    ("turnout", (("points", "straight"), ("points", "diverging"))),
    ("three-way", (("points", "left"), ("points", "straight"), ("points", "right"))),
    ("crossing", (("a from", "a to"), ("b from", "b to"))),
    ("double slip", (("a from", "a to"), ("b from", "b to"), ("a from", "b to"), ("b from", "a to"))),
)


def random_plan(seed: int, most: int = 30) -> Puzzle:
    """A district of four to ``most`` tracks with a few vehicles on it, and no work."""
    random = Random(f"plan {seed}")
    draft = Draft(random)
    draw_base(draft, BASES[seed % len(BASES)])
    wanted = random.randint(4, most)
    while len(draft.tracks) + len(draft.open) < wanted and draft.open:
        kind, pairs = random.choice(_GROWTH)
        name = draft.junction(kind, pairs)
        draft.attach(name, random.choice([end for pair in pairs for end in pair]))
        if random.random() < 0.12 and len(draft.open) > 4:
            one, other = random.sample(draft.open, 2)
            if one.place != other.place:
                draft.join(f"{one.place}.{one.end}", f"{other.place}.{other.end}", direct=0.2)
    for end in list(draft.open):
        draft.track(random.randint(1, 8), end)
    return _with_vehicles(random, draft.district())


def _with_vehicles(random: Random, district: District) -> Puzzle:
    met = {end for link in district.links for end in link}
    stubs = [track for track in district.tracks if End(track.name, "from") not in met]
    tracks = tuple(
        Track(track.name, track.parts, track.spots, frozenset({"from"} if track in stubs[:1] else ()))
        for track in district.tracks
    )
    cars, strings = [], []
    for track in tracks:
        room = min(track.length - 1, random.choice((0, 1, 2, 3)))
        if room > 0:
            names = tuple(f"{random.choice(('QLV', 'THB', 'OXCC'))} {len(cars) + n}" for n in range(room))
            cars += [Car(name, 1) for name in names]
            strings.append(StartString(track.name, names))
    longest = max(tracks, key=lambda track: track.length)
    strings = [string for string in strings if string.track != longest.name]
    strings.append(StartString(longest.name, ("S&I 1",)))
    standing = {name for string in strings for name in string.vehicles}
    whole = District(tracks, district.junctions, district.tables, district.links)
    return Puzzle(
        whole,
        tuple(car for car in cars if car.name in standing),
        (Locomotive("S&I 1", 1),),
        Start(tuple(strings), {"S&I 1": random.choice(("from", "to"))}),
        Work(()),
        title=f"Random district {len(tracks)}",
        grid=1,
    )
