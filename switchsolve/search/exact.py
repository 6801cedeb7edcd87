"""Where longest runs are exact, and where they only bound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product

from switchsolve.district import Limits
from switchsolve.packing import PackedPuzzle
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.rules import BegunRules, CoarseRules, Rules
from switchsolve.search.runs import LongestRuns
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Place

__all__ = [
    "applies",
    "bounds",
    "has_kept_in_place",
    "why_limits_bind",
    "why_not_coarse",
    "why_not_within_limits",
    "why_one_way_only",
]

_MOST_SUMS = 100_000
"""Lengths that vehicles can have together; who has more has vehicles of very many lengths."""


def applies(rules: Rules, *, with_halts: bool = False) -> str | None:
    """``None`` if longest runs are exact for this set-up, else the reason why they are not.

    ``with_halts``: who asks knows that a run over a table, or where it could come back, is a row of longest
    runs.
    """
    return bounds(rules, with_halts=with_halts) or _why_forbidden(rules.p) or _why_places_matter(rules.p)


def bounds(rules: Rules, *, with_halts: bool = False) -> str | None:
    """``None`` if no plan has fewer runs than longest runs find, and there is none where they find none; else
    the reason why that is not so.

    They forget limits on the moving string, what a rear-only locomotive may not do, and where in its track a
    vehicle stands.  Where that matters they may find fewer than there are: a plan of so many runs is then
    still to be found.
    """
    p = rules.p
    if len(p.loco_names) != 1:
        return "more than one locomotive"
    if p.start_lined:
        why = _why_not_over(rules) if with_halts else "a table"
        if why is not None:
            return why
    if p.has_exempt:
        return "a car stands on a part to be kept clear"
    if _closed_is_open_at_both_ends(p):
        return "a closed part that can be reached from two sides"
    why = _why_not_round(rules, with_halts)
    if why is not None:
        return why
    runs = LongestRuns(rules)
    if not all(runs.fits(*kept) for kept in runs.kept_in_place()):
        return "strings apart from each other at exact places over both ends of a part"
    return None


def why_one_way_only(rules: Rules) -> str | None:
    """What a set-up has that is not the same backwards (``None``: nothing).

    Seen coarsely, going back leaves cars over no more cells than they need.  A string that is longer than the
    limits let it be may be cut, but is never made: so none is, at any time, if none is at the start.
    """
    p = rules.p
    if isinstance(rules, CoarseRules) and any(
        not rules.needs_its_cells(string) for standing in rules.starts() for string in standing.strings
    ):
        return "a string that may start over more cells than it needs"
    if p.keep_clear_always or p.has_exempt:
        return "rail to be kept clear at every reversal"
    if not _limits_bind(p):
        return None
    limits = (p.puzzle.district.limits, *(cell.limits for cell in p.cells))
    if any(one.most_shoved is not None for one in limits):  # backwards they are behind
        return "a limit on the cars ahead"
    if not all(
        rules.keeps_limits(string)
        for standing in rules.starts()
        for string in standing.strings
        if rules.has_loco(string.tokens)
    ):
        return "a string that is longer at the start than the limits let it be"
    return None


def why_limits_bind(rules: Rules) -> str | None:
    """What a set-up has that no longest run keeps to (``None``: nothing)."""
    return "limits on the moving string" if _limits_bind(rules.p) else None


def why_not_within_limits(rules: Rules) -> str | None:
    """``None`` if no plan has fewer runs than longest runs within limits find, and there is none where they
    find none; else the reason why that may not be so.
    """
    if any(what.rear_only for what in rules.p.classes):
        return "a rear-only locomotive"  # who touches its front keeps no gap, and is not coupled to it
    if any(
        rules.has_loco(string.tokens)
        and not rules.keeps_limits(string)
        and rules.path_length(string.ways) <= rules.length(string.tokens)
        for standing in rules.starts()
        for string in standing.strings
    ):
        # to be coupled they need no gap; but no run would ever leave them so
        return "a string that is longer at the start than the limits let it be, and fills its cells"
    return bounds(rules)


def why_not_coarse(rules: Rules) -> str | None:
    """``None`` if no plan of the law has fewer moves than the law seen coarsely finds
    (:class:`~switchsolve.rules.CoarseRules`), else the reason why that may not be so.
    """
    p = rules.p
    if not all(p.all_may_touch):
        return "rail closed to some vehicle"
    if p.keep_clear_always or p.has_exempt:
        return "rail to be kept clear at every reversal"
    if any(string.fixed_at is not None or string.spots for string in p.puzzle.start.strings):
        return "a string that starts at an exact place"
    if any(place.spot is not None for number in range(len(p.classes)) for place in _places(p, number)):
        return "a car wanted at a spot"
    return _why_forbidden(p)


def has_kept_in_place(rules: Rules) -> bool:
    """Whether a string stands at the start, and must, where no run would leave it: see
    :meth:`~switchsolve.search.runs.LongestRuns.kept_in_place`.
    """
    return bool(LongestRuns(rules).kept_in_place())


def _why_forbidden(p: PackedPuzzle) -> str | None:
    """What longest runs do that the set-up forbids (``None``: nothing)."""
    if _limits_bind(p):
        return "limits on the moving string"
    if any(what.rear_only for what in p.classes):
        return "a rear-only locomotive"
    return None


def _limits_bind(p: PackedPuzzle) -> bool:
    """Whether a limit on the moving string, of the district or of a part, can ever be broken."""
    all_limits = (p.puzzle.district.limits, *(cell.limits for cell in p.cells))
    return any(_can_bind(p, limits) for limits in all_limits)


def _can_bind(p: PackedPuzzle, limits: Limits) -> bool:
    """Whether all cars in one string would be too many, too long, or too many to be shoved."""
    number, length = len(p.puzzle.cars), sum(car.length for car in p.puzzle.cars)
    pairs = (limits.most_cars, number), (limits.longest, length), (limits.most_shoved, number)
    return any(most is not None and most < has for most, has in pairs)


def _why_places_matter(p: PackedPuzzle) -> str | None:
    """Why it can matter where in its track a vehicle stands, which longest runs do not see (``None``: it can
    not).

    Where a track is closed to something in part, a place in it can be out of reach: so it counts if a string
    starts there at an exact place or a spot, if two start there apart from each other (who may not follow
    them in cannot bring them together, and strings in one cell count as one), or a car is wanted at a spot.
    On any track it counts if a car
    that is wanted at a spot starts on that track and need not be at it, or if cars coupled to each other
    could not be at the spots at which they are wanted: strings in one cell count as one, and a run that
    shoves them there cannot leave room between them.
    """
    puzzle = p.puzzle
    closed = {
        track.name
        for track in puzzle.district.tracks
        if any(part.marks.no_locomotives or part.marks.barred for part in track.parts)
    }
    here = {name: string for string in puzzle.start.strings for name in string.vehicles}
    untouched = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    loose_strings: Counter[str] = Counter()
    for string in puzzle.start.strings:
        if string.track not in closed or untouched.issuperset(string.vehicles):
            continue
        loose_strings[string.track] += 1
        if string.fixed_at is not None or string.spots:
            return "a string at an exact place in a track with a closed part"
    if max(loose_strings.values(), default=0) > 1:
        return "strings apart from each other in a track with a closed part"
    for cars, places in _wanted(puzzle):
        for place in places:
            if place.spot is None:
                continue
            if place.track in closed:
                return "a spot in a track with a closed part"
            if any(_may_be_off(puzzle, here[car], car, place) for car in cars):
                return "a car in the track of a spot at which it is wanted, and not at it"
    if any(_apart(p, one, other) for one, other in combinations(p.class_of.values(), 2)):
        return "cars wanted at spots of one track with room between them"
    return None


def _apart(p: PackedPuzzle, one: int, other: int) -> bool:
    """Whether cars of these two classes may have to be at spots of one track that are too far from each
    other for cars coupled to each other.  (If each pair of a row can be coupled, so can the row: where its
    first car may begin is an interval for each car, and intervals that meet in pairs have a point in common.)
    """
    reach = p.classes[one].length + p.classes[other].length
    spots = p.puzzle.district.track
    return any(
        here.track == there.track
        and here.spot is not None
        and there.spot is not None
        and abs(spots(here.track).spot(here.spot).at - spots(there.track).spot(there.spot).at) > reach
        for here, there in product(_places(p, one), _places(p, other))
    )


def _places(p: PackedPuzzle, number: int) -> tuple[Place, ...]:
    """Where a car of this class may have to be."""
    what = p.classes[number]
    return what.places if what.any_of < 0 else (*what.places, p.any_cars[what.any_of].place)


def _may_be_off(puzzle: Puzzle, string: StartString, car: str, place: Place) -> bool:
    """Whether ``car`` starts on the track of its spot, and need not be at it."""
    if string.track != place.track or place.spot is None or string.spots.get(car) == place.spot:
        return False
    if string.fixed_at is None:
        return True
    lengths = [puzzle.vehicles[name].length for name in string.vehicles]
    at = string.vehicles.index(car)
    begin = string.fixed_at + sum(lengths[:at])
    return not begin <= puzzle.district.track(place.track).spot(place.spot).at <= begin + lengths[at]


def _wanted(puzzle: Puzzle) -> Iterator[tuple[list[str], tuple[Place, ...]]]:
    """Cars, and the places at which they are wanted."""
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            yield [item.car], item.places
        elif isinstance(item, AnyCars):
            yield [car.name for car in puzzle.cars if car.kind == item.kind], (item.place,)


def _why_not_over(rules: Rules) -> str | None:
    """What keeps longest runs from going over tables (``None``: nothing).

    What fills a table from edge to edge touches who fills the rail beyond: whether a table can then be lined
    hangs on places that longest runs do not see.  (Two grid units to spare are enough, one for each edge.)
    """
    p = rules.p
    tables = p.puzzle.district.tables
    if any(len(p.cells_of_track.get(table.name, ())) != 1 for table in tables):
        return "a table with a car that may not be touched"
    if not all(p.all_may_touch[cell] for cell in p.table_cells):
        return "a table closed to some vehicle"
    if p.keep_clear_always:
        return "a table, and rail to be kept clear at every reversal"
    if isinstance(rules, BegunRules):
        return "a table, and strings at exact places"
    names = {table.name for table in tables}
    if any(one.track in names and one.fixed_at is not None for one in p.puzzle.start.strings):
        return "a string that starts at an exact place on a table"
    if any(way >> 1 in p.table_cells for cell in p.table_cells for way in _beside(p, cell)):
        return "a table that meets another"
    sums = {0}
    longest = max(p.lengths[cell] for cell in p.table_cells)
    for number in p.class_of.values():
        own = p.classes[number].length
        sums |= {some + own for some in sums if some + own <= longest}
        if len(sums) > _MOST_SUMS:
            return "a table, and vehicles of too many lengths"
    if any(p.lengths[cell] - spare in sums for cell in p.table_cells for spare in (0, 1)):
        return "a table that vehicles fill to the last"
    if any(p.lengths[way >> 1] == 1 for cell in p.table_cells for way in _beside(p, cell)):
        return "a table beside a track of no length to speak of"
    return None


def _beside(p: PackedPuzzle, cell: int) -> tuple[int, ...]:
    """The ways that lead on from both ends of a cell."""
    return p.ways_on[2 * cell] + p.ways_on[2 * cell + 1]


def _why_not_round(rules: Rules, with_halts: bool) -> str | None:
    """What keeps longest runs from going where a run can come back to where it was (``None``: nothing, or no
    run can).
    """
    if not rules.can_come_back:
        return None
    if not with_halts:
        return "a run can come back to where it was"
    if rules.p.keep_clear_always:
        return "a run can come back to where it was, and rail is to be kept clear at every reversal"
    if isinstance(rules, BegunRules):
        return "a run can come back to where it was, and strings at exact places"
    return "a run can come back to where it was, for want of a long track" if rules.halts is None else None


def _closed_is_open_at_both_ends(p: PackedPuzzle) -> bool:
    """Whether a part that some vehicle may not touch has rail on beyond both of its ends."""
    return any(
        not p.all_may_touch[cell] and p.ways_on[2 * cell] and p.ways_on[2 * cell + 1]
        for cell in range(len(p.cells))
    )
