"""What chance decides: which cars are asked for, how long they stay, in which order they come.

All of it by NumPy's PCG64, from the seed of the study and a key of its own for each session and each
industry.  So what a session asks for depends on the seed and on its number alone, and not on what was done
before, on the tracks of the district, or on who computes it.

- **Asked for**: for each kind of an industry a number of cars by a Poisson distribution with the mean of the
  file; then the cars of the session in random order.
- **Stay**: a geometric distribution with the mean of the file, one session or more: after each session a car
  is done with the same probability, ``1 / stay``.
- **Before the first session** each place is taken with the probability ``full``, by a kind in proportion to
  the cars a session of each; how long that car still stays is drawn as for a new one, which is exact, since
  a geometric stay has no memory.
"""

from __future__ import annotations

from dataclasses import dataclass

from numpy.random import PCG64, Generator, SeedSequence

from switchsolve.puzzle import Industry

__all__ = ["Asked", "asked_for", "order_of", "standing_at_first", "stream_of"]


@dataclass(frozen=True, slots=True)
class Asked:
    """A car that chance asks for.  ``stay``: in sessions; ``road``: index of its road."""

    kind: str
    stay: int
    road: int


def asked_for(industry: Industry, roads: int, *key: int) -> list[Asked]:
    """The cars that ``industry`` asks for.  ``key``: seed, season, session and number of the industry."""
    stream = stream_of(*key)
    kinds = [
        kind for kind, mean in industry.kinds.items() for _ in range(int(stream.poisson(mean)))
    ]  # fmt: skip
    return [_asked(stream, industry, kinds[int(index)], roads) for index in stream.permutation(len(kinds))]


def standing_at_first(industry: Industry, places: int, roads: int, *key: int) -> list[Asked | None]:
    """Who stands at each of the ``places`` before the first session (``None``: nobody)."""
    stream = stream_of(*key)
    kinds, means = list(industry.kinds), list(industry.kinds.values())
    shares = [mean / sum(means) for mean in means]
    standing: list[Asked | None] = []
    for _ in range(places):
        is_taken = stream.random() < industry.full
        asked = _asked(stream, industry, kinds[int(stream.choice(len(kinds), p=shares))], roads)
        standing.append(asked if is_taken else None)
    return standing


def order_of(count: int, *key: int) -> list[int]:
    """A random order of so many cars."""
    return [int(index) for index in stream_of(*key).permutation(count)]


def _asked(stream: Generator, industry: Industry, kind: str, roads: int) -> Asked:
    """One car of ``kind``."""
    return Asked(kind, int(stream.geometric(1 / industry.stay)), int(stream.integers(roads)))


def stream_of(seed: int, *key: int) -> Generator:
    """The stream of random numbers of a seed (0 or more) and a key: the same for the same figures, on any
    machine.
    """
    return Generator(PCG64(SeedSequence(seed, spawn_key=key)))
