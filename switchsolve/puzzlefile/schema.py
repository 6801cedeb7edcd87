"""The shape of a puzzle file: which keys there are, and what each may hold.

These models check the shape only.  Whether names are known, lengths fit and the work makes sense is
checked afterwards, by the other modules of this package.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from switchsolve.puzzlefile.designschema import DesignLine
from switchsolve.puzzlefile.values import (
    NO_LENGTH,
    AtLeastOne,
    CarsASession,
    Count,
    CrewRatio,
    Length,
    Name,
    Number,
    PlaceName,
    ScaleName,
    Seconds,
    Sessions,
    Share,
    ShortLength,
    Slack,
    Spots,
    Thousandths,
    TrackEnd,
    VehicleName,
    described,
    kind_line,
    lines,
    short,
    vehicle_line,
)

__all__ = [
    "AnyLine",
    "CarLine",
    "CrossingLine",
    "DistrictLine",
    "DrawingLine",
    "IndustryLine",
    "JunctionLine",
    "KindLine",
    "LimitsLine",
    "Line",
    "LocomotiveEndLine",
    "LocomotiveLine",
    "MarksLine",
    "PartLine",
    "PlainJunctionLine",
    "PuzzleFile",
    "RouteLine",
    "StandardsLine",
    "StatedLine",
    "TableLine",
    "ThreeWayLine",
    "TimesLine",
    "TrackLine",
    "TrafficLine",
    "TrainLine",
    "TurnoutLine",
    "VariantLine",
    "WorkLines",
]


class Line(BaseModel):
    """A table of the file: no key but those named, and no value bent to fit."""

    # checks are built once, with those of the whole file, not for each table by itself; defaults of tables
    # are constructed unchecked for the same reason: each of them would have its own built
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, defer_build=True)


class LimitsLine(Line):
    """Limits on the moving string.  Locomotives do not count."""

    most_cars: Count | None = described("Most cars in the moving string.")
    longest: Length | None = described("Greatest length of its cars together.")
    most_shoved: Count | None = described("Most cars ahead of the locomotive that runs.")


class MarksLine(Line):
    """What is special about a piece of rail."""

    no_locomotives: bool = Field(
        default=False, description="Cars may be shoved in, locomotives may not run there."
    )
    barred: list[Name] = Field(default=[], description="Kinds of car that may not touch it.")
    keep_clear: Literal["no", "at the end", "always"] = Field(
        default="no", description='"always": at every reversal and at the end nothing is left on it.'
    )
    limits: LimitsLine | None = described("Limits that hold while the moving string touches it.")


class PartLine(MarksLine):
    """A piece of a track between two seams."""

    length: Length = Field(description="Length of the part.")
    name: str = Field(default="", description="What it is, such as a road crossing.")


class TrackLine(MarksLine):
    """A track, from clearance point to clearance point or bumper."""

    from_: str = Field(
        alias="from", description='Where it leaves from: "Lane turnout diverging", "entrance", "bumper".'
    )
    to: str | None = described("Where it leads to; left out, it ends at a bumper.")
    length: Length | None = described("Usable length; may be left out at an entrance.")
    parts: list[PartLine] | None = Field(
        default=None, min_length=1, description="Its parts, instead of a length."
    )
    spots: Spots | None = described('A count of equal spots, or places in it: { "door 1" = 4.5 }.')


Meets = Annotated[dict[str, str], Field(description='Ends that meet without a track: { points = "A to" }.')]


class JunctionLine(MarksLine):
    """What all junctions have."""

    length: Length | None = described("Length of every route that has no length of its own.")
    meets: Meets = {}


class TurnoutLine(JunctionLine):
    """A turnout.  Its ends: points, straight, diverging."""

    number: Number | None = described("Its number, from which the lengths are computed.")
    track_centers: Length | None = described("Distance between the tracks at its clearance point.")
    straight: Length | None = described("Length of the straight leg, points to clearance point.")
    diverging: Length | None = described("Length of the diverging leg, points to clearance point.")


class ThreeWayLine(JunctionLine):
    """A three-way turnout.  Its ends: points, left, straight, right."""

    left: Length | None = described("Length of the left leg.")
    straight: Length | None = described("Length of the straight leg.")
    right: Length | None = described("Length of the right leg.")


class CrossingLine(JunctionLine):
    """A crossing of two tracks a and b.  Its ends: a from, a to, b from, b to."""

    a: Length | None = described("Length of the way from a from to a to.")
    b: Length | None = described("Length of the way from b from to b to.")


class SingleSlipLine(CrossingLine):
    """A crossing with a slip road from a from to b to."""

    a_to_b: Length | None = described("Length of the slip road from a from to b to.")


class DoubleSlipLine(SingleSlipLine):
    """A crossing with both slip roads.  Double crossovers have the same ends and routes."""

    b_to_a: Length | None = described("Length of the way from b from to a to.")


class RouteLine(Line):
    """A way through a junction."""

    from_: Name = Field(alias="from", description="The end it starts from.")
    to: Name = Field(description="The end it leads to.")
    length: Length = Field(description="Length between the clearance points.")


class PlainJunctionLine(MarksLine):
    """Any junction, as a list of routes."""

    routes: list[RouteLine] = Field(min_length=1, description="Its routes.")
    compatible: list[list[AtLeastOne]] = Field(
        default=[], description="Pairs of routes (counted from 1) that may be used at the same time."
    )
    kind: Name = Field(default="junction", description="What people call it.")
    meets: Meets = {}


class TableLine(MarksLine):
    """A turntable or transfer table: the tracks at it name it as their end."""

    length: Length = Field(description="Length of the table.")
    lined: str = Field(description='The track end that it meets at the start, such as "Lead to".')
    lined_by: TrackEnd = Field("from", description="Which end of the table meets it.")


class KindLine(Line):
    """A kind of car."""

    length: Length | None = described("Length of the model over couplers.")
    prototype: Length | None = described("Length of the real car over couplers, with its unit.")


class _VehicleLine(KindLine):
    """What cars and locomotives have."""

    kind: Name | None = described("Its kind, one of [kinds] unless it has a length of its own.")


class CarLine(_VehicleLine):
    """A car."""

    dead_locomotive: bool = Field(
        default=False, description="A locomotive that does not run: counts as a car."
    )


class LocomotiveLine(_VehicleLine):
    """A locomotive."""

    rear_only: bool = Field(default=False, description="Its front neither couples nor shoves.")
    heads: TrackEnd | None = described("The end of its track to which its front points.")
    under_way: TrackEnd | None = described("The end of its track to which it is moving at the start.")


class DistrictLine(Line):
    """Figures for the whole district."""

    track_centers: Length | None = described("Distance between neighboring tracks.")


class AnyLine(Line):
    """So many cars of a kind to a place, whichever they are."""

    kind: Name = Field(description="The kind of car.")
    count: AtLeastOne = Field(description="How many of them.")
    to: Name = Field(description="The track, or the track and spot.")


class LocomotiveEndLine(Line):
    """How a locomotive ends."""

    ends_in: Name | None = described("The track it ends in.")
    heads: TrackEnd | None = described("The end of that track to which its front points.")


class TrainLine(Line):
    """A train that departs."""

    departs_on: Name = Field(description="The track in which it stands at the end.")
    locomotive: Name | None = described("Its locomotive; may be left out if there is one only.")
    pick_up: list[Name] = Field(default=[], description="Its cars.")
    locomotive_at: TrackEnd | None = described("The end of the track at which its locomotive stands.")
    blocks: list[list[Name]] = Field(default=[], description="Its cars block by block, from the locomotive.")
    last: Name | None = described("The car at the other end, such as the caboose.")


class WorkLines(Line):
    """What is to be done.  A car that is not named is to be back where it was."""

    spot: dict[str, Name] = Field(default={}, description="Car to a track, or to a track and spot.")
    set_to_any_of: dict[str, Annotated[list[Name], Field(min_length=1)]] = Field(
        default={}, description="Car to one of several places."
    )
    any: list[AnyLine] = Field(default=[], description="So many cars of a kind to a place.")
    hold: list[Name] = Field(default=[], description="Cars to be back in their place at the end.")
    do_not_touch: list[Name] = Field(default=[], description="Cars that may not be moved at all.")
    free: list[Name] = Field(default=[], description="Cars that may end anywhere in the clear.")
    locomotive: dict[str, LocomotiveEndLine] = Field(default={}, description="Where locomotives end.")
    train: list[TrainLine] = Field(default=[], description="Trains that depart, with the cars they pick up.")


class StandardsLine(Line):
    """The client's own rules."""

    car: Name | None = described("Kind of the standard car.")
    locomotive: Name | None = described("Name of the standard locomotive.")
    run_around_passes: Count | None = described("Standard cars that a run-around must pass.")
    tail_takes: Count | None = described("Standard cars, with the locomotive, that a tail must take.")
    spur_holds: dict[str, Count] = Field(default={}, description="Standard cars that a spur must hold.")
    clear_at_end: list[Name] = Field(default=[], description="Tracks on which nothing is left at the end.")


class TimesLine(Line):
    """How long things take: the first five for the objective `minutes`, all for the minutes of a crew."""

    new_move: Seconds | None = described("Seconds for a locomotive to set off the other way.")
    coupling: Seconds | None = described("Seconds for a coupling.")
    cut: Seconds | None = described("Seconds for a cut.")
    table: Seconds | None = described("Seconds to line a table anew.")
    speed: Length | None = described("How far a locomotive runs in a second.")
    scale_mph: Number | None = described("The same as a speed in scale, miles an hour; instead of `speed`.")
    turnout: Seconds | None = described("Seconds to throw a turnout by hand.")
    reading: Seconds | None = described("Seconds to read the list, once for the whole work.")
    failed_uncoupling: Seconds | None = described("Seconds lost when a pair does not let go at once.")
    failed_share: Thousandths | None = described("Share of the cuts that fail at first: 0 to 1.")
    crew_ratio: CrewRatio | None = described(
        "The crew's moves over the minimum: not passed by one run in ten, and by nine in ten."
    )


class IndustryLine(Line):
    """What comes to one track, session by session."""

    kinds: dict[Name, CarsASession] = Field(
        min_length=1, description="Cars a session of each kind, as a mean."
    )
    stay: Sessions = Field(description="Sessions that a car stays, as a mean: 1 or more.")
    full: Share = Field(
        default=0.0, description="Share of its places taken before the first session: 0 to 1."
    )


class TrafficLine(Line):
    """What sessions bring, for study."""

    train: Name = Field(description="The entrance track on which the train arrives and departs.")
    locomotive_at: TrackEnd = Field(description="The end of that track at which the locomotive arrives.")
    departs_at: TrackEnd | None = described("The end at which it leaves; left out: either.")
    most_cars: AtLeastOne = Field(
        description="Most cars of an arriving train, and most to be picked up in a session."
    )
    blocking: Literal["as drawn", "by industry", "random"] = Field(
        default="as drawn", description="Order of the arriving cars, from the locomotive outwards."
    )
    roads: list[Name] = Field(
        default=[], description="Letters of the roads that cars come from; left out: those of [cars]."
    )
    industries: dict[str, IndustryLine] = Field(
        min_length=1, description="Track to the cars that it is sent."
    )


class DrawingLine(Line):
    """Wishes for the drawing.  They change nothing else."""

    lanes: dict[str, Annotated[int, Field(ge=-99, le=99)]] = Field(
        default={}, description="Track to a lane: 0 is that of the first track, -1 the next above it."
    )
    sides: dict[str, Literal["up", "down"]] = Field(
        default={}, description="Track to the side on which it leaves what it comes from."
    )


def _changed(what: str) -> Any:
    """Lines of a section that a variant adds, or changes by the keys that it gives."""
    return Field(default={}, description=f"{what}: new ones whole, others by the keys that change.")


Changes = dict[str, dict[str, Any]]


class VariantLine(Line):
    """The same district with some of it changed, to compare with."""

    name: Name = Field(description="What people call it.")
    flip: list[Name] = Field(default=[], description="Spurs whose turnout is to face the other way.")
    lengths: dict[str, Length] = Field(default={}, description="Track to another length.")
    drop: list[Name] = Field(
        default=[], description="Tracks and junctions to leave out, with what stands or belongs there."
    )
    tracks: Changes = _changed("Tracks")
    turnouts: Changes = _changed("Turnouts")
    three_ways: Changes = _changed("Three-way turnouts")
    crossings: Changes = _changed("Crossings")
    single_slips: Changes = _changed("Single slips")
    double_slips: Changes = _changed("Double slips")
    double_crossovers: Changes = _changed("Double crossovers")
    junctions: Changes = _changed("Other junctions")
    turntables: Changes = _changed("Turntables")
    transfer_tables: Changes = _changed("Transfer tables")
    kinds: dict[str, Any] = lines("Kinds of car of another length, or new ones.")
    locomotives: dict[str, Any] = lines("Another locomotive.")
    cars: dict[str, Any] = lines("Cars of another kind or length, or new ones.")
    start: dict[str, list[str]] = lines("Who stands on these tracks instead.")
    fixed: dict[str, Slack] = lines("Other exact places at the start.")
    notes: dict[str, str] = lines("Where its figures come from.")


class StatedLine(Line):
    """What the author of the file promises."""

    verdict: Literal["proved minimum", "best found", "impossible"] = Field(description="The verdict.")
    moves: Count | None = described("The number of moves.")


class PuzzleFile(Line):
    """A switching district, who stands where, and the work to be done."""

    title: str = Field(default="", description="What people call it.")
    unit: Literal["in", "mm", "cm", "ft", "car"] = Field(description="Unit of all plain numbers.")
    scale: ScaleName | None = described('The scale: "HO", "N", ..., or a ratio such as 87.1.')
    gauge: Length | None = described("Gauge of the model, for turnouts by number.")
    allowance: Slack = Field(default=NO_LENGTH, description="Added to the length of every vehicle.")
    district: DistrictLine = Field(
        default=DistrictLine.model_construct(), description="Figures that hold all over the district."
    )
    tracks: dict[PlaceName, TrackLine] = Field(min_length=1, description="The tracks.")
    turnouts: dict[PlaceName, TurnoutLine] = lines("Turnouts.")
    three_ways: dict[PlaceName, ThreeWayLine] = lines("Three-way turnouts.")
    crossings: dict[PlaceName, CrossingLine] = lines("Crossings.")
    single_slips: dict[PlaceName, SingleSlipLine] = lines("Single slips.")
    double_slips: dict[PlaceName, DoubleSlipLine] = lines("Double slips.")
    double_crossovers: dict[PlaceName, DoubleSlipLine] = lines("Double crossovers.")
    junctions: dict[PlaceName, PlainJunctionLine] = lines("Other junctions, as lists of routes.")
    turntables: dict[PlaceName, TableLine] = lines("Turntables.")
    transfer_tables: dict[PlaceName, TableLine] = lines("Transfer tables.")
    kinds: dict[Name, Annotated[KindLine, short(kind_line, KindLine | ShortLength)]] = lines("Kinds of car.")
    locomotives: dict[
        VehicleName, Annotated[LocomotiveLine, short(vehicle_line, LocomotiveLine | ShortLength | Name)]
    ] = Field(min_length=1, description="Locomotives.")
    cars: dict[VehicleName, Annotated[CarLine, short(vehicle_line, CarLine | ShortLength | Name)]] = lines(
        "Cars."
    )
    start: dict[str, list[str]] = Field(description='Who stands where, read from "from" to "to".')
    fixed: dict[str, Slack] = lines('Exact places at the start: from the track\'s "from" end to the vehicle.')
    work: WorkLines = Field(default=WorkLines.model_construct(), description="What is to be done.")
    limits: LimitsLine = Field(
        default=LimitsLine.model_construct(), description="Limits on every moving string."
    )
    standards: StandardsLine = Field(
        default=StandardsLine.model_construct(), description="The client's own rules, for check."
    )
    times: TimesLine = Field(default=TimesLine.model_construct(), description="How long things take.")
    traffic: TrafficLine | None = described("What sessions bring, for study.")
    design: DesignLine | None = described("What is left open, and what is wished, for design.")
    drawing: DrawingLine = Field(default=DrawingLine.model_construct(), description="Wishes for the drawing.")
    stated: StatedLine | None = described("What the author promises.")
    notes: dict[str, str] = lines("Where figures come from, to be shown.")
    variants: list[VariantLine] = Field(default=[], description="The same with something changed.")
