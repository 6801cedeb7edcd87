"""What is left open in a district, and what is wished of it: the section ``[design]`` of a file.

An **arrangement** takes one option of each choice.  Everything else is as the file has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from switchsolve.district import End
from switchsolve.work import Place

__all__ = ["ABOUT", "TASKS", "Choice", "Design", "Option", "Wish"]

ABOUT = ("spots", "work", "plain crew", "set-ups")
"""What a wish can speak of (see :class:`Wish`)."""
TASKS = ("spot", "pick up", "exchange")
"""What can be done at a spot."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to build something.

    ``flip``: spurs laid the other way round.  ``leave_out``: tracks that are not built.  ``move``: for a spur
    the end of a junction that it leaves from instead.  ``lengths``: for a track its length, grid units.
    """

    name: str
    flip: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    move: Mapping[str, End] = field(default_factory=dict)
    lengths: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Choice:
    """What can be built in several ways.

    ``length_of``: the track whose length alone is chosen; its options are its lengths, the shortest first.
    """

    name: str
    options: tuple[Option, ...]
    length_of: str | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """Something that an arrangement is to fulfill.

    ========== ========================================================================================
    about      what is looked at
    ========== ========================================================================================
    spots      the fewest moves of ``task`` at each of ``places`` (empty: at every spot but those of
               ``apart``), with the train from ``entrance`` (``None``: the first) and its cars behind the
               locomotive or ``is_ahead`` of it; ``how_many`` of them at least (``None``: all)
    work       the fewest moves of the file's own work
    plain crew the minutes that a plain crew takes for the file's own work
    set-ups    whether ``cars`` standard cars behind the locomotive can be spotted, in every order, each at a
               spot of its own, whichever these are (but for those of ``apart``); and so for fewer cars
    ========== ========================================================================================

    ``least``, ``most``: moves or minutes.  ``most_trips``: trips to a run-around in the plan.
    """

    name: str
    about: str
    places: tuple[Place, ...] = ()
    apart: tuple[Place, ...] = ()
    task: str = "spot"
    is_ahead: bool = False
    entrance: str | None = None
    least: int | None = None
    most: int | None = None
    most_trips: int | None = None
    how_many: int | None = None
    cars: int = 0


@dataclass(frozen=True, slots=True)
class Design:
    """The whole section.

    ``most_rail``: most rail of all tracks and junctions together, grid units; ``most_turnouts``: most
    junctions but crossings; ``meets_standards``: the client's standards must be met.  ``rail_cost`` for one
    unit of the file, ``turnout_cost`` for one turnout: arrangements come cheapest first.
    """

    choices: tuple[Choice, ...]
    wishes: tuple[Wish, ...] = ()
    most_rail: int | None = None
    most_turnouts: int | None = None
    meets_standards: bool = False
    rail_cost: Fraction = Fraction(1)
    turnout_cost: Fraction = Fraction(0)

    @property
    def arrangements(self) -> int:
        """How many there are."""
        count = 1
        for choice in self.choices:
            count *= len(choice.options)
        return count
