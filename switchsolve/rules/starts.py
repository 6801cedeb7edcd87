"""The standings that a file's start allows, and those of rows of strings laid anywhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from switchsolve.puzzle import StartString
from switchsolve.rules.marks import Marks
from switchsolve.rules.standing import Draft, Standing, String
from switchsolve.zone import Zone

__all__ = ["Starts"]


class Starts(Marks):
    """Lays the strings of a start."""

    # ---- the start

    def starts(self) -> Iterator[Standing]:
        """All starting standings: one for each choice of the parts of a track that a string lies over, and of
        the side of a closed part on which a vehicle stands.
        """
        lanes = self._lanes()
        for paths in self._lay([], lanes, 0):
            for draft in self._laid_out(lanes, paths):
                standing, sources = self.ordered(draft)
                if not self.mirrored:
                    standing = standing._replace(zone=_without_twins(standing.zone, len(sources)))
                yield standing

    # ---- any standing

    def laid(self, rows: Sequence[tuple[tuple[int, ...], Sequence[tuple[int, ...]]]]) -> Iterator[Standing]:
        """All standings, every locomotive at rest, with these strings (rows of tokens), each wholly on its
        cells.

        A row is ``(cells, strings)``: cells in a row, from ``from`` to ``to``, and the strings on them in
        that order.  There is one standing for each choice of the cells that a string lies over, and of the
        side of a closed cell on which a vehicle stands.  Tables are lined as at the start.
        """
        lanes = [(cells, tokens, at > 0) for cells, strings in rows for at, tokens in enumerate(strings)]
        for paths in self._paths(lanes, []):
            for draft in self._laid_free(lanes, paths):
                standing, sources = self.ordered(draft)
                if not self.mirrored:
                    standing = standing._replace(zone=_without_twins(standing.zone, len(sources)))
                yield standing

    def at_places(
        self, rows: Sequence[tuple[String, int]], last: tuple[int, ...]
    ) -> tuple[Standing, list[int]] | None:
        """The standing of these strings, each at just the place given, and for each string of it the number
        of its row; ``None``: the law has no such standing.

        A row is a string and its ``x``.  ``last``: the direction of each locomotive's last motion.  Tables
        are lined as at the start.
        """
        inside: dict[int, list[int]] = {}
        zone = Zone.free(len(rows), True)  # strings are listed either way, then turned
        for slot, (string, x) in enumerate(rows):
            if len(string.ways) == 1:
                inside.setdefault(string.ways[0] >> 1, []).append(slot)
            zone.at_least(slot, 1, x)
            zone.at_least(slot, -1, -x)
        for order in inside.values():
            order.sort(key=lambda slot: self._from_end(*rows[slot]))
        draft = Draft([string for string, _ in rows], inside, last, self.p.start_lined, zone)
        if not all(self._demand(draft, slot) for slot in range(len(rows))):
            return None
        standing, sources = self.ordered(draft)
        if not self.mirrored:
            standing = standing._replace(zone=_without_twins(standing.zone, len(sources)))
        return standing, [slot for slot, _, _ in sources]

    def _from_end(self, string: String, x: int) -> int:
        """How far a string in one cell stands from the cell's ``from`` end."""
        is_turned = string.ways[0] & 1
        return self.path_length(string.ways) - self.length(string.tokens) - x if is_turned else x

    def _paths(
        self, lanes: list[tuple[tuple[int, ...], tuple[int, ...], bool]], chosen: list[tuple[int, ...]]
    ) -> Iterator[list[tuple[int, ...]]]:
        if len(chosen) == len(lanes):
            yield chosen
            return
        cells, tokens, follows = lanes[len(chosen)]
        first = cells.index(chosen[-1][-1] >> 1) if follows else 0
        for i in range(first, len(cells)):
            for j in range(i, len(cells)):
                path = tuple(2 * cell for cell in cells[i : j + 1])
                if self.path_length(path) >= self.length(tokens):
                    yield from self._paths(lanes, [*chosen, path])

    def _laid_free(
        self, lanes: list[tuple[tuple[int, ...], tuple[int, ...], bool]], paths: list[tuple[int, ...]]
    ) -> Iterator[Draft]:
        strings: list[String | None] = []
        inside: dict[int, list[int]] = {}
        for (_, tokens, _), path in zip(lanes, paths, strict=True):
            if len(path) == 1:
                inside.setdefault(path[0] >> 1, []).append(len(strings))
            strings.append(String(path, tokens))
        yield from self._laid_anywhere(strings, inside, self.p.start_lined)

    def _laid_anywhere(
        self, strings: list[String | None], inside: dict[int, list[int]], lined: tuple[int, ...]
    ) -> Iterator[Draft]:
        """Drafts of strings, every locomotive at rest, with all positions that the law allows."""
        number = {slot: at for at, slot in enumerate(i for i, one in enumerate(strings) if one is not None)}
        kept = [string for string in strings if string is not None]
        order = {cell: [number[slot] for slot in slots] for cell, slots in inside.items() if slots}
        rest = (0,) * len(self.p.loco_names)
        draft = Draft(list(kept), order, rest, lined, Zone.free(len(kept), True))
        if all(self._demand(draft, slot) for slot in range(len(kept))):
            yield from self._off_closed(draft, self._closed(draft))

    def standings_of(
        self, strings: list[String | None], inside: dict[int, list[int]], lined: tuple[int, ...]
    ) -> Iterator[Standing]:
        """All standings, every locomotive at rest, of these strings, listed in any direction (``None``: no
        string), over just these cells; ``inside`` gives the order of those wholly in one cell, by number.

        There is one for each choice of the side of a closed cell on which a vehicle stands.
        """
        for draft in self._laid_anywhere(strings, inside, lined):
            standing, sources = self.ordered(draft)
            if not self.mirrored:
                standing = standing._replace(zone=_without_twins(standing.zone, len(sources)))
            yield standing

    def _closed(self, draft: Draft) -> list[tuple[int, int, int]]:
        """Where a string lies over a cell that one of its vehicles may not touch: slot, cell, vehicle."""
        return [
            (slot, k, v)
            for slot, string in enumerate(draft.strings)
            if string is not None
            for k, way in enumerate(string.ways)
            for v, token in enumerate(string.tokens)
            if not self.p.may_touch[way >> 1][token]
        ]

    def _off_closed(self, draft: Draft, closed: list[tuple[int, int, int]]) -> Iterator[Draft]:
        if not closed:
            yield draft
            return
        (slot, k, v), *rest = closed
        for before in (True, False):
            narrowed = draft.copy()
            if self._demand_sides(narrowed, slot, [(k, v, before)]):
                yield from self._off_closed(narrowed, rest)

    def _lanes(self) -> list[tuple[StartString, tuple[tuple[int, ...], ...], bool]]:
        """Every string to be laid, with the paths it may take, and whether it follows the one before on its
        track.
        """
        lanes = []
        before = ""
        for string in self.p.puzzle.start.strings:
            if string.vehicles[0] in self.p.class_of:
                lanes.append((string, self._paths_for(string), string.track == before))
                before = string.track
        return lanes

    def _paths_for(self, string: StartString) -> tuple[tuple[int, ...], ...]:
        pieces = sorted(self.p.cells_of_track.get(string.track, ()))
        low, high = self._between_fixed(string)
        usable = [
            piece
            for piece in pieces
            if low <= self.p.track_start[piece] and self.p.track_start[piece] + self.lengths[piece] <= high
        ]
        return tuple(
            tuple(2 * piece for piece in usable[i:j])
            for i in range(len(usable))
            for j in range(i + 1, len(usable) + 1)
        )

    def _between_fixed(self, string: StartString) -> tuple[int, int]:
        """The stretch of its track that do-not-touch cars leave to a string, by the order of the file."""
        low, high, seen = 0, 1 << 60, False
        for other in self.p.puzzle.start.strings:
            if other.track != string.track:
                continue
            if other is string:
                seen = True
            elif other.vehicles[0] not in self.p.class_of and other.fixed_at is not None:
                if seen:
                    high = min(high, other.fixed_at)
                else:
                    low = other.fixed_at + self.p.puzzle.vehicles[other.vehicles[0]].length
        return low, high

    def _lay(
        self,
        chosen: list[tuple[int, ...]],
        lanes: list[tuple[StartString, tuple[tuple[int, ...], ...], bool]],
        at: int,
    ) -> Iterator[list[tuple[int, ...]]]:
        if at == len(lanes):
            yield chosen[:]
            return
        for path in lanes[at][1]:
            if not lanes[at][2] or path[0] >= chosen[-1][-1]:
                yield from self._lay([*chosen, path], lanes, at + 1)

    def _laid_out(
        self,
        lanes: list[tuple[StartString, tuple[tuple[int, ...], ...], bool]],
        paths: list[tuple[int, ...]],
    ) -> Iterator[Draft]:
        strings: list[String | None] = []
        inside: dict[int, list[int]] = {}
        for (string, _, _), path in zip(lanes, paths, strict=True):
            if len(path) == 1:
                inside.setdefault(path[0] >> 1, []).append(len(strings))
            strings.append(String(path, tuple(self._start_token(name) for name in string.vehicles)))
        zone = Zone.free(len(strings), True)  # strings are laid from `from` to `to`, then turned
        draft = Draft(strings, inside, self.p.start_last, self.p.start_lined, zone)
        for slot, (string, _, _) in enumerate(lanes):
            if not (self._demand(draft, slot) and self._demand_start(draft, slot, string)):
                return
        yield from self._off_closed(draft, self._closed(draft))

    def _start_token(self, name: str) -> int:
        heads = self.p.puzzle.start.heads.get(name, "to")
        return 2 * self.p.class_of[name] + (heads == "from")

    def _demand_start(self, draft: Draft, slot: int, string: StartString) -> bool:
        """Spots and fixed places bind a string at the start."""
        laid = draft.strings[slot]
        assert laid is not None
        begin = self.p.track_start[laid.ways[0] >> 1]
        if string.fixed_at is not None:
            at = string.fixed_at - begin
            if not (draft.zone.at_least(slot, 1, at) and draft.zone.at_least(slot, -1, -at)):
                return False
        for v, name in enumerate(string.vehicles):
            if name in string.spots:
                offset = self.length(laid.tokens[:v])
                point = (
                    self.p.puzzle.district.track(string.track).spot(string.spots[name]).at - begin - offset
                )
                length = self.token_lengths[laid.tokens[v]]
                if not (
                    draft.zone.at_least(slot, -1, -point) and draft.zone.at_least(slot, 1, point - length)
                ):
                    return False
        return True


def _without_twins(zone: tuple[int, ...], strings: int) -> tuple[int, ...]:
    """The plain zone within a mirrored one."""
    n = 1 + 2 * strings
    kept = [0, *(1 + 2 * i for i in range(strings))]
    return tuple(zone[u * n + v] for u in kept for v in kept)
