"""What marks and limits forbid a string that stands or moves."""

from __future__ import annotations

from switchsolve.district import Limits
from switchsolve.rules.positions import Positions
from switchsolve.rules.standing import Draft, String

__all__ = ["Marks"]


class Marks(Positions):
    """Closed and barred cells, limits, parts to be kept clear."""

    # ---- marks

    def _sides(self, draft: Draft, slot: int) -> list[tuple[int, int, bool]]:
        """For each (cell of the path, vehicle closed out of it): whether the vehicle is before it."""
        string = draft.strings[slot]
        assert string is not None
        found = []
        begin = 0
        for k, way in enumerate(string.ways):
            cell = way >> 1
            if not self.p.all_may_touch[cell]:
                offset = 0
                for v, token in enumerate(string.tokens):
                    length = self.token_lengths[token]
                    if not self.p.may_touch[cell][token]:
                        before = draft.zone.most(slot, 1) + offset + length <= begin
                        found.append((k, v, before))
                    offset += length
            begin += self.lengths[cell]
        return found

    def _demand_sides(self, draft: Draft, slot: int, sides: list[tuple[int, int, bool]]) -> bool:
        """Keep each such vehicle on its side of the closed cell."""
        string = draft.strings[slot]
        assert string is not None
        for k, v, before in sides:
            begin = self.path_length(string.ways[:k])
            offset = self.length(string.tokens[:v])
            if before:
                if not draft.zone.at_least(slot, -1, offset + self.token_lengths[string.tokens[v]] - begin):
                    return False
            else:
                end = begin + self.lengths[string.ways[k] >> 1]
                if not draft.zone.at_least(slot, 1, end - offset):
                    return False
        return True

    def _within(self, limits: Limits, tokens: tuple[int, ...], side: int) -> bool:
        cars = [token for token in tokens if self.p.classes[token >> 1].counts_as_car]
        if limits.most_cars is not None and len(cars) > limits.most_cars:
            return False
        if limits.longest is not None and sum(self.token_lengths[token] for token in cars) > limits.longest:
            return False
        if limits.most_shoved is not None:
            ahead = 0
            for token in reversed(tokens) if side else tokens:
                if self.is_loco[token]:
                    break
                ahead += 1
            return ahead <= limits.most_shoved
        return True

    def keeps_limits(self, string: String) -> bool:
        """Whether the limits let the string move, whichever way."""
        return self._may_move(string, 0) and self._may_move(string, 1)

    def _may_move(self, string: String, side: int) -> bool:
        """Whether the limits let the string move towards ``side``."""
        if not self.p.has_limits:
            return True
        if not self._within(self.p.puzzle.district.limits, string.tokens, side):
            return False
        return all(
            self._within(self.p.cells[way >> 1].limits, string.tokens, side)
            for way in string.ways
            if self.p.cells[way >> 1].limits
        )
