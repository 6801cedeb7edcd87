"""Do trains fit?  Onto a track of staging at either end, over the links on their way; and a car on the
arrival tracks of the yard."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from switchsolve.layout import SWITCHER
from switchsolve.layoutfile.building import long, short
from switchsolve.layoutfile.schema import LayoutFile, RunLine
from switchsolve.lengths import GRID, decimal_text
from switchsolve.puzzlefile.problems import Problems
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.quickest import quickest

__all__ = ["check_sizes"]


def check_sizes(file: LayoutFile, problems: Problems) -> None:
    """Note what is too long for where it is to go.  Names that are not known, and lengths in cars, are told
    elsewhere."""
    try:
        cars = {kind: long(measure, file.unit) for kind, measure in file.kinds.items()}
        _room(file, cars, problems)
        for name, train in file.trains.items():
            _train(file, name, train, cars, problems)
    except ValueError:
        return  # a length in cars


def _room(file: LayoutFile, cars: dict[str, int], problems: Problems) -> None:
    ((name, yard),) = file.yard.items()
    longest = max(cars, key=lambda kind: cars[kind])
    if short(yard.room, file.unit) < cars[longest]:
        what = f"no {value_text(longest)} ({_text(cars[longest], file)}) has room there"
        problems.add(("yard", name, "room"), what, "write the length of the longest cut, or more")


def _train(
    file: LayoutFile, name: str, train: RunLine, cars: dict[str, int], problems: Problems
) -> None:
    """A train with nothing, or with one car of the shortest kind if it is to have cars."""
    length = long(train.equipment, file.unit)
    so = "it is"
    if train.most_cars:
        length += min(cars.values())
        so = "with one car it is"
    rooms = (*_tracks(file, train), *_links(file, train))
    short_of = [f"{what} ({_text(room, file)})" for what, room in rooms if room < length]
    if short_of:
        what = f"{so} {_text(length, file)} long, which is too much for {', '.join(short_of)}"
        problems.add(("trains", name, "equipment"), what, "make it shorter, or more room for it")


def _tracks(file: LayoutFile, train: RunLine) -> Iterator[tuple[str, int]]:
    """The longest track on which it may stand, at either end."""
    for place in dict.fromkeys((train.from_, train.to)):
        staging = file.staging.get(place)
        usable = [track for track in staging.tracks if track not in staging.keep_empty] if staging else []
        if staging and usable:
            longest = max(usable, key=lambda track: short(staging.tracks[track], file.unit))
            room = short(staging.tracks[longest], file.unit)
            yield f"the longest track of {place}, {longest}", room


def _links(file: LayoutFile, train: RunLine) -> Iterator[tuple[str, int]]:
    """The longest train of each link of its way that does not take every length."""
    if train.kind == SWITCHER:
        return
    rows = list(file.links.items())
    between = tuple(((link.between[0], link.between[1]), link.minutes) for _, link in rows)
    names: dict[str, None] = {}
    for here, there in pairwise((train.from_, *(train.works or file.yard), train.to)):
        try:
            names |= dict.fromkeys(rows[number][0] for number, _ in quickest(between, here, there))
        except ValueError:
            continue  # no way leads there, which is told elsewhere
    for name in names:
        longest = file.links[name].longest
        if longest is not None:
            yield name, short(longest, file.unit)


def _text(length: int, file: LayoutFile) -> str:
    return f"{decimal_text(length, GRID)} {file.unit}"
