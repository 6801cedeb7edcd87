"""The shape of a layout file: which keys there are, and what each may hold."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from switchsolve.layout import TRAIN_KINDS
from switchsolve.puzzlefile.schema import Line
from switchsolve.puzzlefile.values import AtLeastOne, Count, Length, Name, Number, complaint, described

__all__ = [
    "AisleLine",
    "DistrictLine",
    "FlowLine",
    "KindFlowLine",
    "LayoutFile",
    "LinkLine",
    "RunLine",
    "SessionLine",
    "StagingLine",
    "StockLine",
    "WhatIfLine",
    "YardLine",
]

_TIME = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")


def _time(value: object) -> int:
    """A time of day, in minutes."""
    found = _TIME.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        raise complaint("this is not a time of day", 'write a time such as "19:30"')
    return 60 * int(found[1]) + int(found[2])


TimeOfDay = Annotated[
    int, PlainValidator(_time), WithJsonSchema({"type": "string", "pattern": _TIME.pattern})
]


class SessionLine(Line):
    """The evening."""

    minutes: AtLeastOne = Field(description="Minutes that a session may last.")
    fast_clock: Number = Field(description="Fast minutes in a minute of the room's clock.")
    begins: TimeOfDay = Field(description="The time on the fast clock when a session begins.")
    pace: Number = Field(description="How many times as long as its locomotive a crew takes.")


class StockLine(Line):
    """Cars of one kind at a place of the world, before the first session."""

    loaded: Count = Field(default=0, description="Loaded cars, which is also how many are kept ready.")
    empty: Count = Field(default=0, description="Empty cars.")


class DistrictLine(Line):
    """A district with a puzzle file."""

    file: Name = Field(description="Its puzzle file, seen from the folder of this one.")
    main: list[Name] = Field(default=[], description="Tracks of it that passing trains use.")
    float: dict[Name, StockLine] = Field(
        default={}, description="Kind to the cars beyond the water, if its cars come by float."
    )
    idler: Name | None = described("Kind of a car that is always next to the locomotive there.")


class YardLine(Line):
    """The yard."""

    file: Name = Field(description="Its puzzle file, seen from the folder of this one.")
    lead: Name = Field(description="The entrance track from which its tracks are worked.")
    tracks: list[Name] = Field(min_length=1, description="Tracks on which cars may be put.")
    room: Length = Field(description="Length of the arrival and departure tracks together.")
    stop: AtLeastOne = Field(description="Minutes that a through train stands there.")


class StagingLine(Line):
    """Tracks that stand for the world outside."""

    through: bool = Field(description="true: open at both ends; false: stubs.")
    tracks: dict[Name, Length] = Field(min_length=1, description="Track to its usable length.")
    keep_empty: list[Name] = Field(default=[], description="Tracks on which nothing may stand.")
    cars: dict[Name, StockLine] = Field(default={}, description="Kind to the cars before the first session.")


class LinkLine(Line):
    """Track between two places."""

    between: Annotated[list[Name], Field(min_length=2, max_length=2)] = Field(description="The two places.")
    minutes: AtLeastOne = Field(description="Minutes from one to the other.")
    tracks: AtLeastOne = Field(default=1, description="Trains that may be on it at once: 1 is single track.")
    longest: Length | None = described("The longest train.")


class AisleLine(Line):
    """Room for people."""

    places: list[Name] = Field(min_length=1, description="Places worked from it.")
    people: AtLeastOne = Field(description="How many people fit.")


class RunLine(Line):
    """A train."""

    kind: Literal[TRAIN_KINDS] = Field(description="What it is.")  # type: ignore[valid-type]
    from_: Name = Field(alias="from", description="Where it leaves.")
    to: Name = Field(description="Where it goes.")
    works: list[Name] = Field(default=[], description="Districts that it works, in this order.")
    most_cars: Count = Field(default=0, description="Most cars in it.")
    equipment: Length = Field(description="Length of locomotive and caboose, or of a whole passenger train.")
    leaves: TimeOfDay | None = described("Fixed time on the fast clock.")
    alternates: bool = Field(default=False, description="Every other session it runs the other way.")


class KindFlowLine(Line):
    """How cars of one kind come to an industry, and leave it."""

    comes: Literal["loaded", "empty"] = Field(description="How a car comes; it leaves the other way.")
    from_: Name = Field(alias="from", description="Staging or float that it comes from.")
    to: Name = Field(description="Staging or float that it leaves for.")


class FlowLine(KindFlowLine):
    """How cars come to an industry, and leave it."""

    kinds: dict[Name, KindFlowLine] = Field(default={}, description="Kinds of which something else is true.")


class WhatIfLine(Line):
    """A change, to be compared on the same traffic."""

    without_crews: list[Name] = Field(default=[], description="Crews that stay away.")
    without_trains: list[Name] = Field(default=[], description="Trains that do not run.")
    staging: dict[Name, dict[Name, Length]] = Field(default={}, description="Staging to lengths of tracks.")
    most_cars: dict[Name, Count] = Field(default={}, description="Train to its most cars.")


class LayoutFile(Line):
    """A layout: places, links, people and trains."""

    title: str = Field(default="", description="What people call it.")
    unit: Literal["in", "mm", "cm", "ft"] = Field(description="Unit of all plain numbers.")
    session: SessionLine = Field(description="The evening.")
    kinds: dict[Name, Length] = Field(min_length=1, description="Kind of car to its length over couplers.")
    yard: dict[Name, YardLine] = Field(min_length=1, max_length=1, description="The yard.")
    districts: dict[Name, DistrictLine] = Field(min_length=1, description="The districts.")
    staging: dict[Name, StagingLine] = Field(min_length=1, description="Staging.")
    links: dict[Name, LinkLine] = Field(min_length=1, description="Track between places.")
    aisles: dict[Name, AisleLine] = Field(default={}, description="Where people stand.")
    trains: dict[Name, RunLine] = Field(min_length=1, description="Trains, in the order of the yard's work.")
    crews: dict[Name, Literal["all"] | list[Name]] = Field(
        min_length=1, description='Crew to the trains that it can take, or "all".'
    )
    industries: dict[Name, dict[Name, FlowLine]] = Field(
        default={}, description="District to its industries, and how cars come and leave."
    )
    what_if: dict[Name, WhatIfLine] = Field(default={}, description="Changes to be compared.")
