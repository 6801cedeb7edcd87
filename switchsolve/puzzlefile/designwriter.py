"""The section ``[design]`` of a puzzle, as keys and values of a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from switchsolve.design import Choice, Design, Option, Wish

__all__ = ["design_sections"]

Lines = dict[str, Any]
Told = Callable[[int], Decimal]


def design_sections(design: Design, told: Told) -> tuple[list[tuple[str, Lines]], list[tuple[str, Lines]]]:
    """The tables of the section, and the entries of its lists, each with its name.

    ``told`` says a length.  Every choice by name is written as one of several options.
    """
    tables = [("design", _head(design, told)), ("design.lengths", dict(_grids(design, told)))]
    lists = [
        ("design.one_of", _one_of(choice, told)) for choice in design.choices if choice.length_of is None
    ]
    lists += [("design.wishes", _wish(wish)) for wish in design.wishes]
    return tables, lists


def _head(design: Design, told: Told) -> Lines:
    line: Lines = {} if design.most_rail is None else {"most_rail": told(design.most_rail)}
    if design.most_turnouts is not None:
        line["most_turnouts"] = design.most_turnouts
    if design.meets_standards:
        line["standards"] = True
    return line | {"cost": {"rail": _decimal(design.rail_cost), "turnout": _decimal(design.turnout_cost)}}


def _decimal(figure: Fraction) -> Decimal:
    """A figure that was written as a decimal, exactly."""
    return Decimal(figure.numerator) / Decimal(figure.denominator)


def _grids(design: Design, told: Told) -> Iterator[tuple[str, Lines]]:
    for choice in design.choices:
        if choice.length_of is not None:
            lengths = [option.lengths[choice.length_of] for option in choice.options]
            step = {"step": told(lengths[1] - lengths[0])} if len(lengths) > 1 else {}
            yield choice.length_of, {"least": told(lengths[0]), "most": told(lengths[-1]), **step}


def _one_of(choice: Choice, told: Told) -> Lines:
    return {"name": choice.name, "options": {option.name: _option(option, told) for option in choice.options}}


def _option(option: Option, told: Told) -> Lines:
    line: Lines = {
        "flip": list(option.flip),
        "leave_out": list(option.leave_out),
        "move": {track: str(end) for track, end in option.move.items()},
        "lengths": {track: told(length) for track, length in option.lengths.items()},
    }
    return {key: value for key, value in line.items() if value}


def _wish(wish: Wish) -> Lines:
    unit = "minutes" if wish.about == "plain crew" else "moves"
    line: Lines = {
        "about": wish.about,
        "name": wish.name,
        "spots": [str(place) for place in wish.places] or None,
        "except": [str(place) for place in wish.apart] or None,
        "task": wish.task if wish.task != "spot" else None,
        "cars": "ahead" if wish.is_ahead else None,
        "from": wish.entrance,
        f"least_{unit}": wish.least,
        f"most_{unit}": wish.most,
        "most_trips": wish.most_trips,
        "how_many": wish.how_many,
        "of_cars": wish.cars or None,
    }
    return {key: value for key, value in line.items() if value is not None}
