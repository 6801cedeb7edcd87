"""The census of a district: how many clear standings there are at each distance from the work done.

The **distance** of a clear standing (:mod:`switchsolve.counting.standings`) is the fewest moves that do the
work of the file, were the standing its start: every locomotive stands still, the vehicles of a row stand
coupled or not as suits, and where in their tracks suits.  Spots and fixed places of the file's start do not
bind, its work does: a car on hold goes back to where the file has it.  Standings in which the work is done
have distance 0.

By longest runs backwards (:mod:`switchsolve.counting.by_runs`) where these are exact, else by the law itself:
plain (:mod:`switchsolve.counting.by_events`), and compiled (:mod:`switchsolve.counting.by_ends`) when that
gets long.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

from switchsolve.counting.by_events import backwards, forwards
from switchsolve.counting.by_runs import by_runs, runs_apply
from switchsolve.counting.refusing import Meter, TooManyEnds
from switchsolve.counting.standings import ClearStanding, Distances, Standings
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.exact import why_limits_bind, why_one_way_only
from switchsolve.search.readying import EVENTS, Readying, make_ready
from switchsolve.work import AnyCars, EndsIn, Hold, Item, Place, Work

__all__ = ["METHODS", "Census", "take_census"]


@dataclass(frozen=True, slots=True)
class Census:
    """``at[d]`` clear standings are at distance ``d``; from ``never`` of them the work cannot be done.

    ``example``: one of the farthest, as a puzzle whose fewest moves are its distance (``None``: no standing
    can reach the work done, or the work lets the crew choose among cars: those left over go back to where the
    file starts them, and no other start can say that).
    """

    at: tuple[int, ...]
    never: int
    example: Puzzle | None
    method: str

    @property
    def standings(self) -> int:
        """All clear standings."""
        return sum(self.at) + self.never

    @property
    def farthest(self) -> int | None:
        """The greatest distance."""
        return len(self.at) - 1 if self.at else None


def take_census(
    puzzle: Puzzle,
    *,
    most: int = 50_000,
    looks: int = 20,
    method: str = "auto",
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
    most_bytes: int | None = None,
) -> Census:
    """The census, exact.

    ``most``: with more clear standings, or ``looks`` times as many standings of the search, it is refused;
    ``method``: one of :data:`METHODS`; ``tell`` receives lines of progress; ``stop`` gives a reason
    to refuse, or ``None``; ``most_bytes``: what the standings kept may take.

    Raises :class:`~switchsolve.counting.Refused`; ``ValueError`` for an unknown method, or one that is not
    exact for this set-up.
    """
    plain = _work_written_out(puzzle)
    rules = Rules(pack(plain, starts_anywhere=True))
    name = _choose(rules, method)
    standings = Standings(rules)
    meter = Meter(looks * most, tell, stop, most_bytes)
    every = standings.all(most, meter)
    try:
        hurried = _Hurried(meter, name, rules) if method == "auto" and name in _COMPILED else meter
        found = METHODS[name](standings, every, hurried)
    except _Long:
        try:
            found = METHODS[_COMPILED[name]](standings, every, meter)
            name = _COMPILED[name]
        except TooManyEnds:  # what is counted is not to hang on how soon the compiled search was ready
            found = METHODS[name](standings, every, meter)
    counts = Counter(moves for moves, _ in found.values())
    at = tuple(counts[distance] for distance in range(max(counts, default=-1) + 1))
    return Census(at, len(every) - len(found), _example(plain, standings, found), name)


def _compiled_backwards(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    make_ready(meter.tell)
    from switchsolve.counting.by_ends import by_ends

    return by_ends(standings, every, meter)


def _compiled_forwards(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    make_ready(meter.tell)
    from switchsolve.counting.by_ends import by_each

    return by_each(standings, every, meter)


METHODS: dict[str, Callable[[Standings, list[ClearStanding], Meter], Distances]] = {
    "longest runs": by_runs,
    "events backwards": backwards,
    "compiled events backwards": _compiled_backwards,
    "events forwards": forwards,
    "compiled events forwards": _compiled_forwards,
}
"""By name: the ways to find all distances, the fastest first."""
_COMPILED = {name: f"compiled {name}" for name in ("events backwards", "events forwards")}
"""What takes over when a plain way gets long."""
_PLAIN = 300
"""Standings that are looked at before it does."""


def _why_not_backwards(rules: Rules) -> str | None:
    # what is longer in a clear standing than the limits let it be can be cut, but no run leads back to it
    return why_limits_bind(rules) or why_one_way_only(rules)


def _why_not_compiled(rules: Rules) -> str | None:
    return None if is_compilable(rules) else "a string can span too many cells for the compiled search"


_REASONS: dict[str, Callable[[Rules], str | None]] = {
    "longest runs": runs_apply,
    "events backwards": _why_not_backwards,
    "compiled events backwards": lambda rules: _why_not_backwards(rules) or _why_not_compiled(rules),
    "events forwards": lambda rules: None,
    "compiled events forwards": _why_not_compiled,
}
"""Why each is not exact for a set-up, or ``None``."""


class _Long(Exception):
    """It has gone on for long, and what is faster is ready."""


class _Hurried(Meter):
    """A meter that ends a plain way once the compiled one of the same name can take over."""

    def __init__(self, meter: Meter, name: str, rules: Rules) -> None:
        super().__init__(meter.most, meter.tell, meter.stop, meter.most_bytes)
        self._readying = Readying(EVENTS) if _REASONS[_COMPILED[name]](rules) is None else None

    def pause(self, how_far: str) -> None:
        """As any meter; then raises :class:`_Long`, if it is time."""
        super().pause(how_far)
        if self._readying is not None and self.looked_at > _PLAIN and self._readying.is_ready():
            raise _Long


def _choose(rules: Rules, method: str) -> str:
    if method == "auto":
        return next(name for name, why in _REASONS.items() if why(rules) is None)
    if method not in METHODS:
        raise ValueError(f"no method is called {method!r}: it is one of auto, {', '.join(METHODS)}")
    reason = _REASONS[method](rules)
    if reason is not None:
        raise ValueError(f"{method} are not exact here: {reason}")
    return method


def _work_written_out(puzzle: Puzzle) -> Puzzle:
    """The same work without a hold, so that it says the same from another start.

    Candidates of an any-car item stay as they are: no item says what they do.
    """
    home = {
        name: Place(string.track, string.spots.get(name))
        for string in puzzle.start.strings
        for name in string.vehicles
    }
    kinds = {item.kind for item in puzzle.work.items if isinstance(item, AnyCars)}
    items: list[Item] = [item for item in puzzle.work.items if not isinstance(item, Hold)]
    for car in puzzle.cars:
        item = puzzle.work.of_car(car.name)
        if isinstance(item, Hold) or (item is None and car.kind not in kinds):
            items.append(EndsIn(car.name, (home[car.name],)))
    return replace(puzzle, work=Work(tuple(items)))


def _example(puzzle: Puzzle, standings: Standings, found: Distances) -> Puzzle | None:
    if not found or any(isinstance(item, AnyCars) for item in puzzle.work.items):
        return None
    farthest = max(moves for moves, _ in found.values())
    _, (_, rows) = min((one for one in found.items() if one[1][0] == farthest), key=lambda one: one[0])
    return replace(
        puzzle,
        title=f"{puzzle.title or 'A standing'}: {farthest} moves away".strip(),
        start=standings.start(rows),
        stated_minimum=farthest,
        stated_verdict="proved minimum",
        standards=replace(puzzle.standards),
    )
