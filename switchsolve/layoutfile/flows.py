"""The industries of a layout file: each one that its district has, fed from the world and back to it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

from switchsolve.layoutfile.schema import LayoutFile
from switchsolve.puzzle import Puzzle, Traffic
from switchsolve.puzzlefile.problems import Path, Problems
from switchsolve.puzzlefile.tomltext import value_text

__all__ = ["check_flows"]

Known = Callable[[Path, str, Collection[str], str], bool]
"""Whether a name is one of those, noted if not; the last is what it should be."""


def check_flows(
    file: LayoutFile, puzzles: Mapping[str, Puzzle], problems: Problems, known: Known
) -> None:
    """Note what is wrong with ``[industries]``, and with districts that have no traffic."""
    worlds = [*file.staging, *(name for name, line in file.districts.items() if line.float)]
    for name, flows in file.industries.items():
        if not known(("industries", name), name, file.districts, "district"):
            continue
        for track, flow in flows.items():
            path: Path = ("industries", name, track)
            lines = [(path, flow), *(((*path, "kinds", kind), own) for kind, own in flow.kinds.items())]
            for where, line in lines:
                known((*where, "from"), line.from_, worlds, "staging or float")
                known((*where, "to"), line.to, worlds, "staging or float")
    for name in file.districts:
        if name in puzzles:
            _district(file, name, puzzles[name].traffic, problems, known)


def _district(
    file: LayoutFile, name: str, traffic: Traffic | None, problems: Problems, known: Known
) -> None:
    """A district and its traffic."""
    if traffic is None:
        what = "its file says not what sessions bring"
        problems.add(("districts", name, "file"), what, "add [traffic] to it")
        return
    flows = file.industries.get(name, {})
    if file.districts[name].float:
        if flows:
            problems.add(("industries", name), "a float has no industries", "leave it out", "")
        return
    tracks = [industry.track for industry in traffic.industries]
    for track in flows:
        known(("industries", name, track), track, tracks, "industry in the traffic of its file")
    for industry in traffic.industries:
        for kind in flows[industry.track].kinds if industry.track in flows else ():
            path = ("industries", name, industry.track, "kinds", kind)
            known(path, kind, industry.kinds, "kind of car in its traffic")
        if industry.track not in flows:
            cure = f"add a line for it under [industries.{value_text(name)}]"
            what = f"nothing is said of its industry {value_text(industry.track)}"
            problems.add(("districts", name), what, cure, "")
        for kind in industry.kinds:
            if kind not in file.kinds:
                what = f"its traffic brings cars of the kind {value_text(kind)}, which is not under [kinds]"
                problems.add(("districts", name, "file"), what, "add the kind and its length")
