"""The space of arrangements: which there are, what each costs, and the boxes with which a search begins.

Rail only adds up, so what the cheapest of a box costs is known at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from switchsolve.design import Choice, Design, Option
from switchsolve.designing.boxes import BOTH, Box, Indexes
from switchsolve.designing.laying import CannotBeLaid, lay, rail_of, turnouts_of
from switchsolve.flipping import both_ways, turnout_of
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import canonical

__all__ = ["Ground", "Space"]


@dataclass(frozen=True, slots=True)
class Ground:
    """What holds for all lengths of one row of picks: turnouts, and the rail with the shortest lengths."""

    turnouts: int
    rail: int


class Space:
    """All arrangements of the design of ``puzzle``.  Raises ``ValueError`` if it has none."""

    def __init__(self, puzzle: Puzzle) -> None:
        if puzzle.design is None:
            raise ValueError("this puzzle has no design")
        self.puzzle = puzzle
        self.design: Design = puzzle.design
        self.named: tuple[Choice, ...] = tuple(c for c in self.design.choices if c.length_of is None)
        self.grids: tuple[Choice, ...] = tuple(c for c in self.design.choices if c.length_of is not None)
        self.flips: dict[int, str] = dict(self._flips())
        """The spur of each choice that does nothing but flip one, and that no other option flips."""
        self._grounds: dict[Indexes, Ground] = {}
        self._last: tuple[Indexes, Indexes, Puzzle] | None = None

    def _flips(self) -> Iterator[tuple[int, str]]:
        flipped = Counter(spur for c in self.named for option in c.options for spur in option.flip)
        for number, choice in enumerate(self.named):
            spurs = choice.options[-1].flip
            plain = (Option(choice.options[0].name), Option(choice.options[-1].name, flip=spurs))
            if len(spurs) == 1 and choice.options == plain and flipped[spurs[0]] == 1:
                yield number, spurs[0]

    @property
    def tracks(self) -> tuple[str, ...]:
        """The tracks whose length is open."""
        return tuple(grid.length_of or "" for grid in self.grids)

    # ---- the boxes to begin with

    def roots(self, ruled_out: Counter[str]) -> Iterator[Box]:
        """A box for each row of picks that can be built and is not another one over again; of spurs that can
        be laid both ways at once it holds both.

        What is left out is added to ``ruled_out``, by the reason.
        """
        seen: set[str] = set()
        for picks in self._as_drawn():
            whole = Box(tuple(BOTH if n in self.flips else pick for n, pick in enumerate(picks)), *self._ends)
            try:
                laid = self.laid(picks, whole.low)
            except CannotBeLaid as error:
                ruled_out[f"cannot be built: {error}"] += whole.size
                continue
            said = repr(sorted(map(repr, (*laid.district.tracks, *laid.district.junctions, *_links(laid)))))
            if said in seen:
                ruled_out[_TWICE] += whole.size
                continue
            seen.add(said)
            self._grounds[picks] = Ground(turnouts_of(laid), rail_of(laid))
            kept = self._that_matter(whole, laid)
            if kept.size < whole.size:
                ruled_out[_TWICE] += whole.size - kept.size
            yield from self._parted(kept, laid, ruled_out)

    @property
    def _ends(self) -> tuple[Indexes, Indexes]:
        return tuple(0 for _ in self.grids), tuple(len(grid.options) - 1 for grid in self.grids)

    def _as_drawn(self) -> Iterator[Indexes]:
        """Every row of picks in which all spurs of :attr:`flips` are as drawn."""
        ranges = (range(1 if n in self.flips else len(c.options)) for n, c in enumerate(self.named))
        return product(*ranges)

    def _that_matter(self, whole: Box, laid: Puzzle) -> Box:
        """The box without choices about tracks that are not there."""
        there = {track.name for track in laid.district.tracks}
        picks = (
            0 if n in self.flips and self.flips[n] not in there else p for n, p in enumerate(whole.picks)
        )
        pairs = zip(self.tracks, whole.high, strict=True)
        return Box(tuple(picks), whole.low, tuple(top if track in there else 0 for track, top in pairs))

    def _parted(self, whole: Box, laid: Puzzle, ruled_out: Counter[str]) -> Iterator[Box]:
        """The box, parted by the spurs that cannot be laid both ways at once: two at one turnout."""
        turnouts = {
            n: turnout_of(laid.district, spur) for n, spur in self.flips.items() if whole.picks[n] == BOTH
        }
        shared = Counter(turnouts.values())
        apart = [n for n, turnout in turnouts.items() if turnout is None or shared[turnout] > 1]
        for ways in product((0, 1), repeat=len(apart)):
            laid_so = dict(zip(apart, ways, strict=True))
            picks = tuple(laid_so.get(n, pick) for n, pick in enumerate(whole.picks))
            box = Box(picks, whole.low, whole.high)
            try:
                self.laid(picks, whole.low)
            except CannotBeLaid as error:
                ruled_out[f"cannot be built: {error}"] += box.size
                continue
            yield box

    # ---- one arrangement

    def laid(self, picks: Indexes, lengths: Indexes) -> Puzzle:
        """The set-up of one arrangement, as a file would have it; with spurs laid both ways where ``picks``
        says so.  Raises :class:`CannotBeLaid`.
        """
        if self._last is None or self._last[:2] != (picks, lengths):
            chosen = [choice.options[max(at, 0)] for choice, at in zip(self.named, picks, strict=True)]
            left_out = {name for option in chosen for name in option.leave_out}
            chosen += [
                grid.options[at]
                for grid, at in zip(self.grids, lengths, strict=True)
                if grid.length_of not in left_out
            ]
            puzzle = lay(self.puzzle, chosen)
            for spur in (self.flips[n] for n, at in enumerate(picks) if at == BOTH):
                puzzle = both_ways(puzzle, spur)
            self._last = (picks, lengths, canonical(puzzle))
        return self._last[2]

    def turnouts_of_flips(self, picks: Indexes) -> dict[str, int]:
        """The choice of each spur that lies both ways in ``picks``, by its turnout."""
        district = self.laid(tuple(max(at, 0) for at in picks), self._ends[0]).district
        pairs = ((n, turnout_of(district, self.flips[n])) for n, at in enumerate(picks) if at == BOTH)
        return {turnout: n for n, turnout in pairs if turnout is not None}

    def _ground(self, picks: Indexes) -> Ground:
        """Flipping a spur changes neither its turnout nor any rail."""
        return self._grounds[tuple(0 if n in self.flips else pick for n, pick in enumerate(picks))]

    def turnouts(self, picks: Indexes) -> int:
        """How many turnouts there are to build."""
        return self._ground(picks).turnouts

    def rail(self, picks: Indexes, lengths: Indexes) -> int:
        """How much rail there is to build, grid units."""
        more = 0
        for grid, track, at in zip(self.grids, self.tracks, lengths, strict=True):
            more += grid.options[at].lengths[track] - grid.options[0].lengths[track] if at else 0
        return self._ground(picks).rail + more

    def cost(self, picks: Indexes, lengths: Indexes) -> Fraction:
        """By what arrangements are sorted."""
        rail = Fraction(self.rail(picks, lengths), self.puzzle.grid)
        return rail * self.design.rail_cost + self.turnouts(picks) * self.design.turnout_cost

    def told(self, picks: Indexes, lengths: Indexes) -> tuple[tuple[str, str], ...]:
        """What is chosen: name of the choice and of the option."""
        pairs = [*zip(self.named, picks, strict=True), *zip(self.grids, lengths, strict=True)]
        left_out = {name for choice, at in pairs for name in choice.options[at].leave_out}
        return tuple(
            (choice.name, choice.options[at].name) for choice, at in pairs if choice.length_of not in left_out
        )


_TWICE = "the same as another"


def _links(puzzle: Puzzle) -> Iterator[tuple[str, ...]]:
    for one, other in puzzle.district.links:
        yield tuple(sorted((str(one), str(other))))
