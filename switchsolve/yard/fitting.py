"""The fewest passes over tracks that have lengths: every track must hold what is set on it in every pass.

A pass is that of :mod:`switchsolve.yard.marshalling`; the tracks may be pulled in another order in each pass.
The whole cut goes onto the tracks in each pass, so all of it must fit at once.  For each number of passes,
from the fewest that tracks of any length would need, CP-SAT is asked for numbers to the base of the tracks:
exact, since it answers for each number of passes "yes" with the passes, or "no" proved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from switchsolve.yard.marshalling import Pass, fewest_laps, fewest_passes, passes_of

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Fitted", "passes_that_fit"]


@dataclass(frozen=True, slots=True)
class Fitted:
    """What can be said.  ``passes``: how, or ``None`` if no way was found; ``tracks[p][i]``: the track
    (index) that is pulled ``i``-th in pass ``p``.  ``at_least``: no fewer passes will do (proved); if
    ``passes`` has just as many, that is the minimum.
    """

    passes: tuple[Pass, ...] | None
    tracks: tuple[tuple[int, ...], ...]
    at_least: int


def passes_that_fit(
    cut: Sequence[str],
    lengths: Sequence[int],
    rooms: Sequence[int],
    blocks: Sequence[str] | None = None,
    *,
    most_passes: int = 4,
    seconds: float = 30,
) -> Fitted:
    """The fewest passes that put ``cut`` into blocks on tracks that hold ``rooms``.

    ``cut``, ``blocks``: as for :func:`~switchsolve.yard.marshalling.fewest_laps`; ``lengths`` of the cars and
    ``rooms`` in one unit.  Up to ``most_passes`` are tried, each for at most ``seconds``; the answer says how
    far it got.  Raises ``ValueError`` as ``fewest_laps`` does, and if there is no track.
    """
    least = fewest_passes(fewest_laps(cut, blocks).tracks, len(rooms))
    if least == 0:
        return Fitted((), (), 0)
    at_least, is_proved = least or most_passes + 1, True
    for count in range(at_least, most_passes + 1):
        model = _Numbers(cut, lengths, rooms, blocks, count)
        found = model.solve(seconds)
        if isinstance(found, Fitted):
            return Fitted(found.passes, found.tracks, count if is_proved else at_least)
        is_proved = is_proved and found
        at_least = count + 1 if is_proved else at_least
    return Fitted(None, (), at_least)


class _Numbers:
    """The question whether so many passes will do, as a model of CP-SAT."""

    def __init__(
        self,
        cut: Sequence[str],
        lengths: Sequence[int],
        rooms: Sequence[int],
        blocks: Sequence[str] | None,
        passes: int,
    ) -> None:
        from ortools.sat.python import cp_model

        self._model = cp_model.CpModel()
        self._cars, self._passes, self._tracks = range(len(cut)), range(passes), range(len(rooms))
        self._digits = {
            (car, one, digit): self._model.new_bool_var(f"car {car} pass {one} pulled {digit}")
            for car in self._cars
            for one in self._passes
            for digit in self._tracks
        }
        self._at = {
            (one, digit, track): self._model.new_bool_var(f"pass {one} pulled {digit} is track {track}")
            for one in self._passes
            for digit in self._tracks
            for track in self._tracks
        }
        self._one_each()
        self._hold(lengths, rooms)
        self._in_order(cut, blocks)

    def _one_each(self) -> None:
        """Each car has one digit a pass; each track is pulled once in a pass."""
        for car in self._cars:
            for one in self._passes:
                self._model.add_exactly_one(self._digits[car, one, digit] for digit in self._tracks)
        for one in self._passes:
            for fixed in self._tracks:
                self._model.add_exactly_one(self._at[one, fixed, track] for track in self._tracks)
                self._model.add_exactly_one(self._at[one, digit, fixed] for digit in self._tracks)

    def _hold(self, lengths: Sequence[int], rooms: Sequence[int]) -> None:
        """What is set on a track in a pass is no longer than the track."""
        for one in self._passes:
            for digit in self._tracks:
                self._model.add(
                    sum(lengths[car] * self._digits[car, one, digit] for car in self._cars)
                    <= sum(rooms[track] * self._at[one, digit, track] for track in self._tracks)
                )

    def _number(self, car: int) -> cp_model.LinearExprT:
        base, terms = len(self._tracks), []
        for one in self._passes:
            terms += [digit * base**one * self._digits[car, one, digit] for digit in self._tracks]
        number: cp_model.LinearExprT = sum(terms)
        return number

    def _in_order(self, cut: Sequence[str], blocks: Sequence[str] | None) -> None:
        """Of two blocks, all cars of one come before all of the other."""
        names = list(dict.fromkeys(cut)) if blocks is None else blocks
        for first, second in combinations(names, 2):
            is_first = self._model.new_bool_var(f"{first} before {second}")
            if blocks is not None:
                self._model.add(is_first == 1)
            for car in (car for car in self._cars if cut[car] == first):
                for other in (other for other in self._cars if cut[other] == second):
                    # a smaller number comes first; of the same number, whoever stood first
                    one, two = self._number(car), self._number(other)
                    self._model.add(one + int(other < car) <= two).only_enforce_if(is_first)
                    self._model.add(two + int(car < other) <= one).only_enforce_if(~is_first)

    def solve(self, seconds: float) -> Fitted | bool:
        """The passes; or else whether it is proved that there are none."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.catch_sigint_signal = False  # Ctrl-C is for the caller
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_time_in_seconds = seconds
        status = solver.solve(self._model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return bool(status == cp_model.INFEASIBLE)
        numbers = [solver.value(self._number(car)) for car in self._cars]
        tracks = tuple(
            tuple(
                next(track for track in self._tracks if solver.value(self._at[one, digit, track]))
                for digit in self._tracks
            )
            for one in self._passes
        )
        return Fitted(passes_of(numbers, len(self._tracks), len(self._passes)), tracks, len(self._passes))
