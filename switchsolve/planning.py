"""From a row of actions to a plan on real positions.

Each standing's zone holds exactly the positions that can really be reached, so a plan is made backwards:
take a point of the last zone, then for each action the point it can have come from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from switchsolve.district import Cell, Track, Way
from switchsolve.goal import Met
from switchsolve.plan import Advance, Couple, Cut, Line, Placed, Plan, Run, Step
from switchsolve.rules import Action, Draft, Rules, Standing, String, reverse_string
from switchsolve.zone import Zone

__all__ = ["Stretch", "fixed_cars", "follow", "make_plan", "points_along", "start_names"]

NOWHERE: Mapping[int, int] = MappingProxyType({})


@dataclass(slots=True)
class _Stage:
    """One action: the standing before, the draft after, positions before and after by slot of the draft."""

    standing: Standing
    action: Action
    draft: Draft
    before: list[int]
    after: dict[int, int]


def make_plan(rules: Rules, standings: list[Standing], actions: list[Action], met: Met) -> Plan:
    """The plan of ``actions`` (one between each two ``standings``) that ends in a position of ``met``.

    Raises ``ValueError`` if no positions fit (the standings' zones were wider than the truth).
    """
    stretch = follow(rules, standings, actions, start_names(rules, standings[0]), met.zone)
    pairs = tuple((stretch.names[slot][v], stretch.names[slot][v + 1]) for slot, v in met.cuts)
    return Plan((*stretch.start, *fixed_cars(rules)), stretch.runs, pairs)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A row of actions on real positions: the strings at its start and at its end, but for do-not-touch cars,
    and the runs between.

    ``points``: the place of each string in the last standing; ``names``: the vehicles in each.
    """

    start: tuple[Placed, ...]
    runs: tuple[Run, ...]
    end: tuple[Placed, ...]
    points: tuple[int, ...]
    names: tuple[tuple[str, ...], ...]


def follow(
    rules: Rules,
    standings: Sequence[Standing],
    actions: Sequence[Action],
    names: Sequence[tuple[str, ...]],
    zone: tuple[int, ...],
    wish: Mapping[int, int] = NOWHERE,
) -> Stretch:
    """Follow ``actions`` (one between each two ``standings``) to a position of ``zone``, one of the last
    standing's.

    ``names``: the vehicles in each string of the first standing.  ``wish``: by string of the last standing
    where it should stand, or as near to that as it may.  Raises ``ValueError`` if no positions fit.
    """
    last = _point(rules, zone, len(standings[-1].strings), wish)
    stages = _positions(rules, standings, actions, last)
    start = _all_placed(rules, standings[0], stages[0].before if stages else last, names)
    scribe = _Scribe(rules)
    now = list(names)
    for stage in stages:
        now = scribe.write(stage, now)
    end = _all_placed(rules, standings[-1], last, now)
    return Stretch(start, scribe.runs(), end, tuple(last), tuple(now))


def points_along(
    rules: Rules, standings: Sequence[Standing], actions: Sequence[Action], zone: tuple[int, ...]
) -> list[list[int]]:
    """Where each string stands in each of the ``standings``, on the way to a position of ``zone``.

    Raises ``ValueError`` if no positions fit.
    """
    last = _point(rules, zone, len(standings[-1].strings))
    return [*(stage.before for stage in _positions(rules, standings, actions, last)), last]


def _all_placed(
    rules: Rules, standing: Standing, point: Sequence[int], names: Sequence[tuple[str, ...]]
) -> tuple[Placed, ...]:
    return tuple(
        _placed(rules, string, x, who)
        for string, x, who in zip(standing.strings, point, names, strict=True)
    )


# ---- positions, backwards


def _positions(
    rules: Rules, standings: Sequence[Standing], actions: Sequence[Action], point: list[int]
) -> list[_Stage]:
    stages = []
    for standing, action in zip(reversed(standings[:-1]), reversed(actions), strict=True):
        draft = rules.trace(standing, action)
        _, sources = rules.ordered(draft)
        after = {slot: sign * (x - shift) for (slot, sign, shift), x in zip(sources, point, strict=True)}
        before = _before(rules, standing, action, draft, after)
        stages.append(_Stage(standing, action, draft, before, after))
        point = before
    stages.reverse()
    return stages


def _point(
    rules: Rules, zone_of: tuple[int, ...], strings: int, wish: Mapping[int, int] = NOWHERE
) -> list[int]:
    """A point of a zone: what is wished for first, as near as may be; then each string at its least place."""
    zone = Zone(list(zone_of), 1 + strings * (2 if rules.mirrored else 1), rules.mirrored)
    point = dict[int, int]()
    for slot in sorted(range(strings), key=lambda slot: slot not in wish):
        low, high = -zone.most(slot, -1), zone.most(slot, 1)
        point[slot] = min(max(wish.get(slot, low), low), high)
        _pin(zone, slot, point[slot])
    return [point[slot] for slot in range(strings)]


def _pin(zone: Zone, slot: int, x: int) -> None:
    if not (zone.at_least(slot, 1, x) and zone.at_least(slot, -1, -x)):
        raise ValueError("no positions fit this row of actions")


def _before(
    rules: Rules, standing: Standing, action: Action, draft: Draft, after: dict[int, int]
) -> list[int]:
    new = len(standing.strings)  # the slot of the part that a cut leaves
    known = {slot: x for slot, x in after.items() if slot < new}
    left = after.get(new, 0)
    if action.event == "line":
        return [known[slot] for slot in range(len(standing.strings))]
    zone = rules.before(standing, action)
    slot = action.string
    aim = known.pop(slot)
    if action.event == "couple":
        aim, other = _at_contact(rules, standing, action, draft, aim)
        if action.other == new:
            left = other  # round a loop to the part just left
        else:
            known[action.other] = other
    if action.cut:
        known[slot] = left if action.side else left - _joint_shift(rules, standing, action)
    else:
        aim = _in_old_frame(rules, standing, action, aim)
        if action.event == "go":
            aim += -1 if action.side else 1  # to stand still is no motion
    for number, x in known.items():
        _pin(zone, number, x)
    if not action.cut:
        low, high = -zone.most(slot, -1), zone.most(slot, 1)
        if (action.side and low > aim) or (not action.side and high < aim):
            raise ValueError("no positions fit this row of actions")
        known[slot] = min(high, aim) if action.side else max(low, aim)
        _pin(zone, slot, known[slot])
    return [known[number] for number in range(len(standing.strings))]


def _joint_shift(rules: Rules, standing: Standing, action: Action) -> int:
    """What is added to a cut string's x to have that of its high part."""
    string = standing.strings[action.string]
    first = len(string.tokens) - action.cut if action.side else action.cut
    return rules.length(string.tokens[:first]) - rules.path_length(string.ways[: action.joint])


def _in_old_frame(rules: Rules, standing: Standing, action: Action, x: int) -> int:
    """The x of the acting string after its event, counted as before the event (no cut)."""
    if action.event == "leave" and action.side:
        return x + rules.lengths[standing.strings[action.string].ways[0] >> 1]
    if action.event == "enter" and not action.side:
        return x - rules.lengths[action.way >> 1]
    return x


def _at_contact(rules: Rules, standing: Standing, action: Action, draft: Draft, x: int) -> tuple[int, int]:
    """Where the acting string and the one it met stood at contact, each in its own frame."""
    whole = draft.strings[action.string]
    assert whole is not None
    met = _met(standing, action)
    going = _going(standing, action)
    shared = 1 if action.way < 0 else 0
    if action.side:
        mine = x
        begin = rules.path_length(going.ways[: len(going.ways) - shared])
        aligned = x + rules.length(going.tokens) - begin
    else:
        begin = rules.path_length(whole.ways) - rules.path_length(going.ways)
        mine = x + rules.length(met.tokens) - begin
        aligned = x
    is_turned = _faces_along(rules, met, whole, action.side)
    other = rules.path_length(met.ways) - rules.length(met.tokens) - aligned if is_turned else aligned
    return mine, other


def _faces_along(rules: Rules, met: String, whole: String, side: int) -> bool:
    """Whether the met string was turned round to join the whole."""
    part = whole.ways[-len(met.ways) :] if side else whole.ways[: len(met.ways)]
    if part == met.ways == reverse_string(met, rules.is_loco).ways:
        raise ValueError("a path cannot be its own reverse")
    return part != met.ways


def _going(standing: Standing, action: Action) -> String:
    """The part of the acting string that goes on, over the cells it has before its event."""
    string = standing.strings[action.string]
    if not action.cut:
        return string
    if action.side:
        return String(string.ways[action.joint :], string.tokens[-action.cut :])
    return String(string.ways[: action.joint + 1], string.tokens[: action.cut])


def _met(standing: Standing, action: Action) -> String:
    """The string that was coupled to; round a loop it may be the part just left."""
    if action.other < len(standing.strings):
        return standing.strings[action.other]
    string = standing.strings[action.string]
    if action.side:
        return String(string.ways[: action.joint + 1], string.tokens[: -action.cut])
    return String(string.ways[action.joint :], string.tokens[action.cut :])


# ---- names


def start_names(rules: Rules, standing: Standing) -> list[tuple[str, ...]]:
    """Which vehicles stand in each string of a starting standing."""
    left = [string for string in rules.p.puzzle.start.strings if string.vehicles[0] in rules.p.class_of]
    rank = {slot: at for _, order in standing.inside for at, slot in enumerate(order)}

    def place(slot: int) -> tuple[int, int]:
        string = standing.strings[slot]
        return min(way >> 1 for way in string.ways), rank.get(slot, 0)

    by_track: dict[str, list[int]] = {}
    for slot in sorted(range(len(standing.strings)), key=place):
        by_track.setdefault(rules.p.cells[standing.strings[slot].ways[0] >> 1].cell.place, []).append(slot)
    names: list[tuple[str, ...]] = [()] * len(standing.strings)
    for track, slots in by_track.items():
        of_track = [string for string in left if string.track == track]
        for slot, string in zip(_along(slots, standing), of_track, strict=True):
            is_turned = bool(standing.strings[slot].ways[0] & 1)
            names[slot] = tuple(reversed(string.vehicles)) if is_turned else string.vehicles
    return names


def _along(slots: list[int], standing: Standing) -> list[int]:
    """Slots of one track from its ``from`` to its ``to`` end (a string over two parts lies beyond one in the
    first).
    """
    rank = {slot: at for _, order in standing.inside for at, slot in enumerate(order)}

    def key(slot: int) -> tuple[int, int, int]:
        cells = sorted(way >> 1 for way in standing.strings[slot].ways)
        return cells[0] + cells[-1], cells[-1], rank.get(slot, 0)

    return sorted(slots, key=key)


def fixed_cars(rules: Rules) -> tuple[Placed, ...]:
    """Do-not-touch cars, where they stand."""
    placed = []
    for string in rules.p.puzzle.start.strings:
        if string.vehicles[0] in rules.p.class_of or string.fixed_at is None:
            continue
        track = rules.p.puzzle.district.place(string.track)
        low, high = string.fixed_at, string.fixed_at + rules.p.puzzle.vehicles[string.vehicles[0]].length
        ways: list[Way] = []
        begin, offset = 0, 0
        lengths = [part.length for part in track.parts] if isinstance(track, Track) else []
        for index, length in enumerate(lengths):
            if max(low, begin) < min(high, begin + length):
                if not ways:
                    offset = low - begin
                ways.append(Way(Cell(string.track, index), 1))
            begin += length
        placed.append(Placed(string.vehicles, tuple(ways), offset))
    return tuple(placed)


def _placed(rules: Rules, string: String, x: int, names: tuple[str, ...]) -> Placed:
    """A string on the cells that it really touches."""
    touched: list[Way] = []
    begin, offset = 0, 0
    low, high = x, x + rules.length(string.tokens)
    for way in string.ways:
        end = begin + rules.lengths[way >> 1]
        if max(low, begin) < min(high, end):
            if not touched:
                piece = rules.p.cells[way >> 1]
                whole = rules.p.puzzle.district.cell_length(piece.cell)
                before = whole - piece.start - piece.length if way & 1 else piece.start
                offset = low - begin + before
            touched.append(rules.p.way_of(way))
        begin = end
    noses = {
        name: -1 if token & 1 else 1
        for name, token in zip(names, string.tokens, strict=True)
        if rules.is_loco[token]
    }
    return Placed(names, tuple(touched), offset, noses)


# ---- writing


class _Scribe:
    """Turns stages into runs; keeps count of rail that is claimed but not yet really entered."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self._runs: list[tuple[str, bool, list[Step]]] = []
        self._lines: list[Step] = []

    def runs(self) -> tuple[Run, ...]:
        """The runs written so far; table linings after the last advance are part of the last run.

        A locomotive that was under way, and turns back without having moved, has no run that way.
        """
        found: list[Run] = []
        lines: list[Step] = []
        for name, forward, steps in self._runs:
            if any(isinstance(step, Advance) for step in steps):
                found.append(Run(name, forward, (*lines, *steps)))
                lines = []
            else:
                lines += steps
        return tuple(found)

    def write(self, stage: _Stage, names: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
        """Write one stage; returns who stands in each string after it."""
        action = stage.action
        by_slot: list[tuple[str, ...]] = list(names)
        if action.event == "line":
            table = self.rules.p.puzzle.district.tables[action.string].name
            self._lines.append(Line(table, action.way))
        else:
            by_slot = self._write_motion(stage, by_slot)
        _, sources = self.rules.ordered(stage.draft)
        return [by_slot[slot] if sign > 0 else by_slot[slot][::-1] for slot, sign, _ in sources]

    def _write_motion(self, stage: _Stage, names: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
        action = stage.action
        string = stage.standing.strings[action.string]
        who = names[action.string]
        going = _going(stage.standing, action)
        left: tuple[str, ...] = ()
        if action.cut:
            going_names = who[-action.cut :] if action.side else who[: action.cut]
            left = who[: -action.cut] if action.side else who[action.cut :]
            x = stage.before[action.string]
            x += _joint_shift(self.rules, stage.standing, action) if action.side else 0
        else:
            going_names, x = who, stage.before[action.string]
        steps = self._steps_of(string, going, going_names, action.side)
        if left:
            steps.append(Cut(left[::-1] if action.side else left))
        end, path = self._reach(stage, going)
        distance = (end - x) if action.side else (x - end)
        self._advance(steps, going, x, action, distance, path)
        result = list(names)
        result[action.string] = going_names
        if action.cut:
            result.append(left)
        if action.event == "couple":
            met = names[action.other] if action.other < len(names) else left
            whole = stage.draft.strings[action.string]
            assert whole is not None
            if _faces_along(self.rules, _met(stage.standing, action), whole, action.side):
                met = met[::-1]
            steps.append(Couple(met if action.side else met[::-1]))
            result[action.string] = (*going_names, *met) if action.side else (*met, *going_names)
        return result

    def _reach(self, stage: _Stage, going: String) -> tuple[int, tuple[int, ...]]:
        """Where the going part's x ends, in the frame it had before the event, and the ways that lie ahead of
        it.
        """
        action = stage.action
        x = stage.after[action.string]
        if action.event == "couple":
            x, _ = _at_contact(self.rules, stage.standing, action, stage.draft, x)
            return x, ()
        if action.event == "leave" and action.side:
            return x + self.rules.lengths[going.ways[0] >> 1], ()
        if action.event == "enter":
            now = stage.draft.strings[action.string]
            assert now is not None
            if not action.side:
                return x - self.rules.lengths[action.way >> 1], (action.way,)
            # the trailing end may have left its cell at the same time
            gone = going.ways[: len(going.ways) + 1 - len(now.ways)]
            return x + self.rules.path_length(gone), (action.way,)
        return x, ()

    def _advance(
        self, steps: list[Step], going: String, x: int, action: Action, distance: int, path: tuple[int, ...]
    ) -> None:
        """Add an advance, naming the cells that the leading end really enters."""
        if distance == 0:
            return
        total = self.rules.path_length(going.ways)
        length = self.rules.length(going.tokens)
        lead = x + length if action.side else total - x
        ways = going.ways if action.side else tuple(way ^ 1 for way in reversed(going.ways))
        begin, entered = 0, []
        for way in (*ways, *path):
            if lead <= begin < lead + distance:
                entered.append(self.rules.p.way_of(way))
            begin += self.rules.lengths[way >> 1]
        if steps and isinstance(steps[-1], Advance):
            last = steps.pop()
            assert isinstance(last, Advance)
            distance, entered = distance + last.distance, [*last.enters, *entered]
        steps.append(Advance(distance, tuple(entered)))

    def _steps_of(self, string: String, going: String, names: tuple[str, ...], side: int) -> list[Step]:
        """The step list of the run that this motion belongs to, a new run if need be."""
        order = list(zip(names, going.tokens, strict=True))
        if side:
            order.reverse()
        locos = [(name, (token & 1) != side) for name, token in order if self.rules.is_loco[token]]
        if self._runs:
            name, forward, steps = self._runs[-1]
            if (name, forward) in locos and not self.rules.p.has_limits:
                return self._with_lines(steps)
            if locos[0] == (name, forward):
                return self._with_lines(steps)
        name, forward = locos[0]
        self._runs.append((name, forward, []))
        return self._with_lines(self._runs[-1][2])

    def _with_lines(self, steps: list[Step]) -> list[Step]:
        steps.extend(self._lines)
        self._lines.clear()
        return steps
