"""The shape of the section ``[design]``: what is left open, and what is wished."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from switchsolve.puzzlefile.values import AtLeastOne, Cost, Count, Length, Name, described

__all__ = ["CostLine", "DesignLine", "GridLine", "OneOfLine", "OptionLine", "WishLine"]


class _Line(BaseModel):
    """A table of the file: no key but those named, and no value bent to fit."""

    # checks are built once, with those of the whole file, not for each table by itself; defaults of tables
    # are constructed unchecked for the same reason: each of them would have its own built
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, defer_build=True)


class OptionLine(_Line):
    """One way to build something; empty: as the file has it."""

    flip: list[Name] = Field(default=[], description="Spurs laid the other way round.")
    leave_out: list[Name] = Field(default=[], description="Tracks that are not built.")
    move: dict[str, Name] = Field(
        default={}, description='Spur to the end it leaves from instead: "Lane turnout diverging".'
    )
    lengths: dict[str, Length] = Field(default={}, description="Track to its length.")


class OneOfLine(_Line):
    """A choice among options, each with its name."""

    name: Name = Field(description="What is chosen, such as the run-around.")
    options: dict[Name, OptionLine] = Field(description="Name of each option, and what it changes.")


class GridLine(_Line):
    """The lengths that a track may have: inches and the like, or standard cars."""

    least: Length | None = described("The shortest.")
    most: Length | None = described("The longest.")
    step: Length | None = described("From one length to the next.")
    least_cars: Count | None = described("The shortest, in standard cars.")
    most_cars: Count | None = described("The longest, in standard cars.")
    engine: bool = Field(default=False, description="With room for the standard locomotive as well.")


class CostLine(_Line):
    """What arrangements are sorted by, the cheapest first."""

    rail: Cost = Field(default=1, description="Of one unit of rail.")
    turnout: Cost = Field(default=0, description="Of one turnout.")


class WishLine(_Line):
    """Something that an arrangement is to fulfill."""

    about: Literal["spots", "work", "plain crew", "set-ups"] = Field(
        description='What it speaks of: "spots", "work", "plain crew" or "set-ups".'
    )
    name: Name | None = described("What people call it.")
    spots: list[Name] | None = Field(
        default=None, min_length=1, description="These spots only; left out: every spot."
    )
    except_: list[Name] = Field(default=[], alias="except", description="Every spot but these.")
    task: Literal["spot", "pick up", "exchange"] = Field(
        default="spot", description="What is done at each of them."
    )
    cars: Literal["behind", "ahead"] = Field(
        default="behind", description="Where the train has its cars, seen from the locomotive."
    )
    from_: Name | None = described("The entrance track that the train comes from.", alias="from")
    least_moves: Count | None = described("No fewer moves than this.")
    most_moves: Count | None = described("No more moves than this.")
    most_trips: Count | None = described("No more trips to a run-around than this.")
    how_many: AtLeastOne | None = described("So many of the spots at least; left out: all of them.")
    least_minutes: Count | None = described("No fewer minutes for a plain crew.")
    most_minutes: Count | None = described("No more minutes for a plain crew.")
    of_cars: AtLeastOne | None = described("Set-ups of up to so many cars.")


class DesignLine(_Line):
    """What is left open in the district, and what is wished of it."""

    most_rail: Length | None = described("Most rail of all tracks and junctions together.")
    most_turnouts: Count | None = described("Most turnouts.")
    standards: bool = Field(default=False, description="Whether the client's [standards] must be met.")
    cost: CostLine = Field(default=CostLine.model_construct(), description="What arrangements are sorted by.")
    flip: list[Name] = Field(default=[], description="Spurs that may be laid either way round.")
    leave_out: list[Name] = Field(default=[], description="Tracks that may be left out.")
    move: dict[str, Annotated[list[Name], Field(min_length=1)]] = Field(
        default={}, description="Spur to the other ends that it may leave from."
    )
    lengths: dict[str, GridLine] = Field(default={}, description="Track to the lengths that it may have.")
    one_of: list[OneOfLine] = Field(default=[], description="Other choices, each among options of its own.")
    wishes: list[WishLine] = Field(default=[], description="What is wished.")
