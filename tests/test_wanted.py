"""Actions that are not wanted are not worked out: against all of them, gone through one by one."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from switchsolve.packing import pack
from switchsolve.puzzlefile import load
from switchsolve.rules import Action, MeasuredRules, Rules, Standing, String, Wanted

PUZZLES = Path(__file__).parent.parent / "puzzles"
FILES = ("cask_lane", "coast_two_engines", "marrow_point_turntable", "ferry_slip_float", "quarry_hill_branch")


def _walk(rules: Rules, random: Random, steps: int) -> list[Standing]:
    """Standings of a random hand, which cuts now and then."""
    standing = next(rules.starts())
    found = [standing]
    for _ in range(steps):
        following = list(rules.actions(standing))
        if not following:
            break
        cuts = [one for one in following if one[0].cut]
        _, standing, _ = random.choice(cuts if cuts and random.random() < 0.4 else following)
        found.append(standing)
    return found


def _left(standing: Standing, action: Action) -> String:
    """What ``action`` leaves standing, by its own words: so many vehicles go on, parted in that cell."""
    string = standing.strings[action.string]
    if action.side:
        return String(string.ways[: action.joint + 1], string.tokens[: len(string.tokens) - action.cut])
    return String(string.ways[action.joint :], string.tokens[action.cut :])


@pytest.mark.parametrize("law", [Rules, MeasuredRules])
@pytest.mark.parametrize("name", FILES)
def test_what_is_wanted_is_what_is_left_of_all(name: str, law: type[Rules]) -> None:
    """By moves, by the part that is left, by the way that is entered: the same actions, standings and costs,
    in the same order."""
    rules, random = law(pack(load(PUZZLES / f"{name}.toml"))), Random(name)
    left_out = 0
    for standing in _walk(rules, random, 40):
        most, salt = random.choice((0, 1)), random.randrange(1 << 20)

        def may_leave(part: String, moves: int, salt: int = salt) -> bool:
            return hash((part, moves, salt)) % 3 > 0

        def may_enter(way: int, moves: int, salt: int = salt) -> bool:
            return hash((way, moves, salt)) % 3 > 0

        every = list(rules.actions(standing))
        expected = [
            (action, after, cost)
            for action, after, cost in every
            if cost.moves <= most
            and (not action.cut or may_leave(_left(standing, action), cost.moves))
            and (action.event != "enter" or may_enter(action.way, cost.moves))
        ]
        wanted = Wanted(most, may_leave, may_enter)
        assert list(rules.actions(standing, wanted=wanted)) == expected
        left_out += len(every) - len(expected)
    assert left_out > 20


@pytest.mark.parametrize("law", [Rules, MeasuredRules])
@pytest.mark.parametrize("name", FILES)
def test_each_action_can_be_traced(name: str, law: type[Rules]) -> None:
    """The draft of an action by itself is the one that comes among all; one that is not legal is refused."""
    rules, random = law(pack(load(PUZZLES / f"{name}.toml"))), Random(name)
    for standing in _walk(rules, random, 15):
        first: dict[Action, Standing] = {}
        for action, draft, _ in rules.drafts(standing):
            first.setdefault(action, rules.canonical(draft))
        for action, after in first.items():
            assert rules.canonical(rules.trace(standing, action)) == after
        slot = next(at for at, one in enumerate(standing.strings) if rules.has_loco(one.tokens))
        with pytest.raises(ValueError, match="not legal"):
            rules.trace(standing, Action("enter", slot, 1, way=-7))
