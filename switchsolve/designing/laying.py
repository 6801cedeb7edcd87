"""From what is chosen to a district: tracks left out, moved, turned round, longer or shorter.

A turnout that loses a track is not built, nor one drawn for a track that is not laid there.  If one leg is
left it becomes plain rail, as long as the way through it was, and part of the track next to it (of an
entrance that is as long as need be no more is known); if only its legs are left, or one end, what met it ends
at a bumper.  Nothing but these changes is made.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from switchsolve.design import Option
from switchsolve.district import District, End, Junction, Marks, Part, Track
from switchsolve.flipping import flipped
from switchsolve.lengthening import endless_tracks, lengthened
from switchsolve.puzzle import Puzzle

__all__ = ["CannotBeLaid", "lay", "rail_of", "turnouts_of"]


class CannotBeLaid(ValueError):
    """What is chosen does not go together; the message says why."""


def lay(puzzle: Puzzle, options: Iterable[Option]) -> Puzzle:
    """The set-up with all ``options`` built, later ones after earlier ones; without its design.

    Raises :class:`CannotBeLaid`.
    """
    chosen = tuple(options)
    for option in chosen:
        for name, length in option.lengths.items():
            puzzle = _long(puzzle, name, length)
    laid = _Ground(puzzle).laid(chosen)
    there = {track.name for track in laid.district.tracks}
    for name in (name for option in chosen for name in option.flip if name in there):
        try:
            laid = flipped(laid, name)
        except ValueError as error:
            raise CannotBeLaid(str(error)) from None
    return _tidied(laid)


def _long(puzzle: Puzzle, name: str, length: int) -> Puzzle:
    try:
        return lengthened(puzzle, name, length - puzzle.district.track(name).length)
    except ValueError as error:
        raise CannotBeLaid(str(error)) from None


def _tidied(puzzle: Puzzle) -> Puzzle:
    """Without what the file says of places that are gone, and what its author promised of it as a whole."""
    district, hints = puzzle.district, puzzle.drawing
    there = {track.name for track in district.tracks}
    gone = {name for name in (*hints.lanes, *hints.sides) if name not in there}
    drawing = replace(
        hints,
        lanes={name: lane for name, lane in hints.lanes.items() if name not in gone},
        sides={name: side for name, side in hints.sides.items() if name not in gone},
    )
    return replace(
        puzzle, design=None, variants=(), stated_minimum=None, stated_verdict=None, drawing=drawing
    )


@dataclass(slots=True)
class _Ground:
    """A district while it is laid anew."""

    puzzle: Puzzle
    tracks: dict[str, Track] = field(init=False)
    junctions: dict[str, Junction] = field(init=False)
    mate: dict[End, End] = field(init=False)
    loose: list[str] = field(init=False, default_factory=list)
    """Junctions that may have lost a track, or wait for one that may be laid there."""
    shifted: dict[str, int] = field(init=False, default_factory=dict)
    """Tracks that are longer at their ``from`` end, and by how much."""

    def __post_init__(self) -> None:
        district = self.puzzle.district
        self.tracks = {track.name: track for track in district.tracks}
        self.junctions = {junction.name: junction for junction in district.junctions}
        self.mate = {one: other for pair in district.links for one, other in (pair, pair[::-1])}
        choices = () if self.puzzle.design is None else self.puzzle.design.choices
        options = [option for choice in choices for option in choice.options]
        self.loose += dict.fromkeys(end.place for option in options for end in option.move.values())

    def laid(self, options: tuple[Option, ...]) -> Puzzle:
        """The set-up with tracks moved and left out, and turnouts closed that have lost one."""
        moves = {track: end for option in options for track, end in option.move.items()}
        dropped = dict.fromkeys(name for option in options for name in option.leave_out)
        for name in moves:
            self._part(self._own_end(name))
        for name in dropped:
            self._leave_out(name)
        for name, end in moves.items():
            if name not in dropped:
                self._meet(name, end)
        while self.loose:
            self._close(self.loose.pop(0))
        self._check_whole()
        return self._puzzle()

    # ---- taking up and laying

    def _own_end(self, spur: str) -> End:
        return next(End(spur, end) for end in ("from", "to") if End(spur, end) in self.mate)

    def _part(self, end: End) -> None:
        """Take two ends that meet apart."""
        other = self.mate.pop(end)
        del self.mate[other]
        self.loose += [one.place for one in (end, other) if one.place in self.junctions]

    def _meet(self, spur: str, end: End) -> None:
        own = End(spur, self._free_end(spur))
        if end in self.mate or end.place not in self.junctions:
            raise CannotBeLaid(f"two tracks would leave from {end}")
        self.mate[own], self.mate[end] = end, own

    def _free_end(self, spur: str) -> str:
        """The end by which a spur was linked."""
        district = self.puzzle.district
        return next(end for end in ("from", "to") if district.mate(End(spur, end)) is not None)

    def _leave_out(self, name: str) -> None:
        if any(outside.place == name for table in self.puzzle.district.tables for _, outside in table.meets):
            raise CannotBeLaid(f"{name} lies at a table, and cannot be left out")
        for end in (End(name, "from"), End(name, "to")):
            if end in self.mate:
                self._part(end)
        del self.tracks[name]

    # ---- turnouts that have lost a track

    def _close(self, name: str) -> None:
        junction = self.junctions.get(name)
        if junction is None or len(junction.routes) != 2:
            return
        linked = [end for end in junction.ends if self._is_linked(End(name, end))]
        if len(linked) == len(junction.ends):
            return
        through = [route for route in junction.routes if {route.a, route.b} <= set(linked)]
        mates = [self.mate.get(End(name, end)) for end in linked]
        if None in mates:
            return  # it lies at a table
        for end in linked:
            self._part(End(name, end))
        del self.junctions[name]
        if through:
            one, other = (mate for mate in mates if mate is not None)
            self._plain_rail(junction, through[0].length, one, other)

    def _is_linked(self, end: End) -> bool:
        at_table = any(outside == end for table in self.puzzle.district.tables for _, outside in table.meets)
        return at_table or end in self.mate

    def _plain_rail(self, junction: Junction, length: int, one: End, other: End) -> None:
        """Plain rail where the junction was, between ``one`` and ``other``."""
        for here, there in sorted(((one, other), (other, one)), key=lambda pair: pair[0].end != "to"):
            if self._takes(here, junction.marks):
                self._longer(here, length)
                self.mate[here], self.mate[there] = there, here
                return
        self.tracks[junction.name] = Track(junction.name, (Part(length, junction.marks),))
        for mine, end in ((End(junction.name, "from"), one), (End(junction.name, "to"), other)):
            self.mate[mine], self.mate[end] = end, mine

    def _takes(self, end: End, marks: Marks) -> bool:
        """Whether the rail can be part of the track that ends here: both are without marks."""
        track = self.tracks.get(end.place)
        return (
            track is not None
            and track.parts[-1 if end.end == "to" else 0].marks == Marks()
            and marks == Marks()
        )

    def _longer(self, end: End, length: int) -> None:
        """The track longer at this end."""
        track = self.tracks[end.place]
        if end.place in endless_tracks(self.puzzle):
            return
        index = len(track.parts) - 1 if end.end == "to" else 0
        parts = list(track.parts)
        parts[index] = replace(parts[index], length=parts[index].length + length)
        spots = track.spots
        if end.end == "from":
            self.shifted[end.place] = self.shifted.get(end.place, 0) + length
            spots = tuple(replace(spot, at=spot.at + length) for spot in spots)
        self.tracks[end.place] = replace(track, parts=tuple(parts), spots=spots)

    # ---- the whole

    def _check_whole(self) -> None:
        """Everything hangs together."""
        tables = self.puzzle.district.tables
        places = [*self.tracks, *self.junctions, *(table.name for table in tables)]
        beside: dict[str, set[str]] = {place: set() for place in places}
        pairs = [(one.place, other.place) for one, other in self.mate.items()]
        pairs += [(table.name, end.place) for table in tables for _, end in table.meets]
        for one, other in pairs:
            beside[one].add(other)
            beside[other].add(one)
        reached, to_do = {places[0]}, [places[0]]
        while to_do:
            fresh = beside[to_do.pop()] - reached
            reached |= fresh
            to_do += fresh
        if len(reached) < len(places):
            away = next(place for place in places if place not in reached)
            raise CannotBeLaid(f"no rail leads to {away}")

    def _puzzle(self) -> Puzzle:
        old = self.puzzle.district
        links = tuple((one, other) for one, other in self.mate.items() if one < other)
        district = District(
            tuple(self.tracks.values()), tuple(self.junctions.values()), old.tables, links, old.limits
        )
        start = self.puzzle.start
        strings = tuple(
            replace(string, fixed_at=string.fixed_at + self.shifted[string.track])
            if string.fixed_at is not None and string.track in self.shifted
            else string
            for string in start.strings
        )
        gone = {junction.name for junction in old.junctions} - set(self.junctions)
        notes = {key: text for key, text in self.puzzle.notes.items() if key.rsplit(", ", 1)[0] not in gone}
        return replace(self.puzzle, district=district, start=replace(start, strings=strings), notes=notes)


# ---- what it takes to build


def rail_of(puzzle: Puzzle) -> int:
    """All rail, grid units: every track but entrances that are as long as need be, of each junction its
    longest route, and the tables.
    """
    endless = endless_tracks(puzzle)
    district = puzzle.district
    return (
        sum(track.length for track in district.tracks if track.name not in endless)
        + sum(max(route.length for route in junction.routes) for junction in district.junctions)
        + sum(table.length for table in district.tables)
    )


def turnouts_of(puzzle: Puzzle) -> int:
    """Turnouts, and all other junctions that can be thrown: those with two routes that exclude each other."""
    return sum(_is_thrown(junction) for junction in puzzle.district.junctions)


def _is_thrown(junction: Junction) -> bool:
    return junction.kind != "crossing" and len(junction.routes) > 1
