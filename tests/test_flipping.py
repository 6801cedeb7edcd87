"""A spur the other way round."""

from __future__ import annotations

from pathlib import Path

import networkx as nx
import pytest

from switchsolve.district import District, End
from switchsolve.flipping import flippable, flipped, flipped_district
from switchsolve.plan import Verdict
from switchsolve.puzzlefile import load
from switchsolve.solving import solve
from tests.builders import spur_district, switchback_district
from tests.tiny_districts import tiny_puzzle

PUZZLES = Path(__file__).parent.parent / "puzzles"


def _rail(district: District) -> nx.MultiGraph[str]:
    """Tracks and junctions and what meets what, for another's code to compare; ends do not count."""
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for track in district.tracks:
        graph.add_node(track.name, length=track.length)
    for junction in district.junctions:
        graph.add_node(junction.name, length=sum(route.length for route in junction.routes))
    graph.add_edges_from((one.place, other.place) for one, other in district.links)
    return graph


def test_the_two_files_of_the_cider_works() -> None:
    """Facing and trailing, two files written by hand: each flipped takes the other's moves."""
    facing, trailing = (load(PUZZLES / f"cask_lane_{name}.toml") for name in ("facing", "trailing"))
    for one, other in ((facing, trailing), (trailing, facing)):
        answer = solve(flipped(one, "cider works"), tie_standings=0)
        assert answer.verdict is Verdict.PROVED and answer.lower_bound == other.stated_minimum


def test_flipping_swaps_what_meets_points_and_leg() -> None:
    """West and east street change places at the turnout; the spur stays."""
    district = load(PUZZLES / "cask_lane_facing.toml").district
    new = flipped_district(district, "cider works")
    points, leg = End("Cider turnout", "points"), End("Cider turnout", "straight")
    assert (new.mate(points), new.mate(leg)) == (district.mate(leg), district.mate(points))
    assert new.mate(End("cider works", "from")) == district.mate(End("cider works", "from"))


def test_the_last_spur_of_a_fan_becomes_a_switchback() -> None:
    """Lead at the points, two spurs: one flipped is reached by way of the other only, as drawn by hand."""
    new = flipped_district(spur_district(), "spur")
    by_hand = switchback_district(tail=4)
    names = {"S": "T", "tail": "main"}
    links = {
        frozenset(End(names.get(end.place, end.place), end.end) for end in pair) for pair in by_hand.links
    }
    assert {frozenset(pair) for pair in new.links} == links


@pytest.mark.parametrize("seed", range(40))
def test_twice_is_not_at_all_and_all_lengths_stay(seed: int) -> None:
    """On random districts: the same rail meets (networkx compares), and flipped twice it is as it was."""
    district = tiny_puzzle(seed).district
    for name in flippable(district):
        new = flipped_district(district, name)
        assert nx.utils.graphs_equal(_rail(new), _rail(district))
        again = flipped_district(new, name)
        assert {frozenset(pair) for pair in again.links} == {frozenset(pair) for pair in district.links}
        assert again.tables == district.tables and new != district


def test_some_random_districts_have_such_spurs() -> None:
    """The test above has something to look at."""
    assert sum(bool(flippable(tiny_puzzle(seed).district)) for seed in range(40)) > 20


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("Lane lead", "it is no spur; name a track with a turnout at one end and a bumper at the other"),
        ("run-around", "it is no spur; name a track with a turnout at one end and a bumper at the other"),
        ("Lane tail", "it meets the points of East turnout; name a spur that leaves from a leg of a turnout"),
    ],
)
def test_what_cannot_be_flipped_says_why(name: str, why: str) -> None:
    """An entrance, a track between two turnouts, and a tail: each with its reason and the cure."""
    district = load(PUZZLES / "cask_lane_facing.toml").district
    assert flippable(district) == ("cider works",)
    with pytest.raises(ValueError, match=f"^{name} cannot be flipped: {why}$"):
        flipped_district(district, name)


def test_an_unknown_track_is_a_key_error() -> None:
    """As everywhere in the data model."""
    with pytest.raises(KeyError):
        flipped_district(load(PUZZLES / "first_spur.toml").district, "nowhere")
