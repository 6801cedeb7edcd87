"""The values of a puzzle file, and their short forms: what a single key may hold."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Discriminator,
    Field,
    PlainValidator,
    Tag,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError

from switchsolve.lengths import BadLength, Measure, exact_number, parse_length

__all__ = [
    "NO_LENGTH",
    "TAG",
    "AtLeastOne",
    "CarsASession",
    "Cost",
    "Count",
    "CrewRatio",
    "Length",
    "Name",
    "Number",
    "PlaceName",
    "ScaleName",
    "Seconds",
    "Sessions",
    "Share",
    "ShortLength",
    "Slack",
    "Spots",
    "Thousandths",
    "TrackEnd",
    "VehicleName",
    "complaint",
    "described",
    "kind_line",
    "lines",
    "short",
    "vehicle_line",
]

TAG = "\N{NULL}"
"""First letter of what the shape check puts into the place of an error without any key of the file."""


NO_LENGTH = Measure((), "0")
_MOST_SECONDS = 3600
_MOST_CARS_A_SESSION = 20
_MOST_SESSIONS = 1000
_MOST_RATIO = 100_000


def complaint(what: str, cure: str) -> PydanticCustomError:
    """An error of the shape check in our own words."""
    return PydanticCustomError("ours", "{what}; {cure}", {"what": what, "cure": cure})


def _length(value: object) -> Measure:
    """A length above zero."""
    try:
        measure = parse_length(value)
    except BadLength as bad:
        raise complaint(bad.what, bad.cure) from None
    if any(number < 0 for number, _ in measure.terms) or not sum(number for number, _ in measure.terms):
        raise complaint("a length must be above zero", "write the length in the clear")
    return measure


def _slack(value: object) -> Measure:
    """A length that may be zero."""
    if value == 0 and not isinstance(value, bool):
        return NO_LENGTH
    try:
        return _length(value)
    except PydanticCustomError as error:
        if error.context and "above zero" in error.context["what"]:
            raise complaint("this must not be below zero", "write 0 or more") from None
        raise


def _number(value: object) -> Any:
    """An exact number above zero."""
    try:
        number = exact_number(value)
    except BadLength as bad:
        raise complaint(bad.what, "write a number") from None
    if number <= 0:
        raise complaint("this must be above zero", "write a number above zero")
    return number


def _seconds(value: object) -> Any:
    """A time of zero or more, in thousandths of a second."""
    try:
        number = exact_number(value)
    except BadLength:
        raise complaint("this is not a number", "write seconds, such as 10 or 2.5") from None
    if not 0 <= number <= _MOST_SECONDS:
        raise complaint(f"this is not between 0 and {_MOST_SECONDS} seconds", "write how long one takes")
    if (1000 * number).denominator != 1:
        raise complaint("this has more than three decimals", "write thousandths of a second at most")
    return int(1000 * number)


def _figure(value: object, says: str) -> float:
    """A number of traffic."""
    try:
        return float(exact_number(value))
    except (BadLength, OverflowError):
        raise complaint("this is not a number", says) from None


def _cars_a_session(value: object) -> float:
    """A mean of cars a session, above zero."""
    cars = _figure(value, "write cars a session, such as 1 or 0.5")
    if not 0 < cars <= _MOST_CARS_A_SESSION:
        what = f"this is not above 0 and up to {_MOST_CARS_A_SESSION} cars a session"
        raise complaint(what, "write how many come in a mean session, or leave the kind out")
    return cars


def _sessions(value: object) -> float:
    """A mean of sessions, one or more."""
    sessions = _figure(value, "write sessions, such as 2 or 1.5")
    if not 1 <= sessions <= _MOST_SESSIONS:
        what = f"this is not between 1 and {_MOST_SESSIONS} sessions"
        raise complaint(what, "a car stays until the next session at least: write 1 or more")
    return sessions


def _share(value: object) -> float:
    """A share, from nothing to all."""
    share = _figure(value, "write a share, such as 0.6")
    if not 0 <= share <= 1:
        raise complaint("this is not between 0 and 1", "write a share of the places, such as 0.6")
    return share


def _cost(value: object) -> Any:
    """What one of something costs, exactly: zero or more."""
    try:
        number = exact_number(value)
    except BadLength as bad:
        raise complaint(bad.what, "write a number") from None
    if number < 0:
        raise complaint("this must not be below zero", "write 0 or more")
    return number


def _thousandths(value: object) -> int:
    """A share of all, in thousandths."""
    says = "write a share of three decimals at most, such as 0.1"
    try:
        share = 1000 * exact_number(value)
    except BadLength:
        raise complaint("this is not a number", says) from None
    if not 0 <= share <= 1000 or share.denominator != 1:
        raise complaint("this is not between 0 and 1, in thousandths", says)
    return int(share)


def _crew_ratio(value: object) -> tuple[int, int]:
    """Two ratios, 1 or more, the smaller one first; in thousandths."""
    says = "write two numbers of three decimals at most, such as [1.1, 1.6]"
    try:
        ratios = [1000 * exact_number(one) for one in value] if isinstance(value, list) else []
    except BadLength:
        raise complaint("one of these is not a number", says) from None
    if len(ratios) != 2:
        raise complaint("this is not a pair of numbers", says)
    if not 1000 <= ratios[0] <= ratios[1] <= _MOST_RATIO or any(one.denominator != 1 for one in ratios):
        what = f"these are not two ratios from 1 to {_MOST_RATIO // 1000}, the smaller one first"
        raise complaint(what, says)
    return int(ratios[0]), int(ratios[1])


def _scale(value: object) -> Any:
    """The name of a scale, or its ratio."""
    return value if isinstance(value, str) else _number(value)


def kind_line(value: object) -> object:
    """The short form of a kind: a number is the length of the model."""
    if isinstance(value, str):
        cure = f'write {{ length = "{value}" }} for the model or {{ prototype = "{value}" }} for the real car'
        raise complaint("this does not say whether it measures the model or the real car", cure)
    return value if isinstance(value, dict) else {"length": value}


def vehicle_line(value: object) -> object:
    """The short form of a vehicle: a text is its kind, a number its length."""
    if isinstance(value, dict):
        return value
    return {"kind": value} if isinstance(value, str) else {"length": value}


def _name(value: str) -> str:
    """A name that people can see."""
    if not value.strip():
        raise complaint("a name must not be empty", "give it a name")
    return value


def _place_name(value: str) -> str:
    """A name for a track, junction or table."""
    if value in ("entrance", "bumper"):
        raise complaint("this word has a meaning of its own here", "choose another name")
    return _name(value)


def _vehicle_name(value: str) -> str:
    """A name for a car or locomotive."""
    if value == "|":
        raise complaint('"|" stands for a gap between cars', "choose another name")
    return _name(value)


_LENGTH_FORMS = [{"type": "number", "exclusiveMinimum": 0}, {"type": "string", "minLength": 1}]

Length = Annotated[Measure, PlainValidator(_length), WithJsonSchema({"anyOf": _LENGTH_FORMS})]
Slack = Annotated[
    Measure,
    PlainValidator(_slack),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0}, {"type": "string", "minLength": 1}]}),
]
Number = Annotated[Any, PlainValidator(_number), WithJsonSchema({"type": "number", "exclusiveMinimum": 0})]
Seconds = Annotated[
    Any,
    PlainValidator(_seconds),
    WithJsonSchema({"type": "number", "minimum": 0, "maximum": _MOST_SECONDS}),
]
Cost = Annotated[Any, PlainValidator(_cost), WithJsonSchema({"type": "number", "minimum": 0})]
CarsASession = Annotated[
    float,
    PlainValidator(_cars_a_session),
    WithJsonSchema({"type": "number", "exclusiveMinimum": 0, "maximum": _MOST_CARS_A_SESSION}),
]
Sessions = Annotated[
    float,
    PlainValidator(_sessions),
    WithJsonSchema({"type": "number", "minimum": 1, "maximum": _MOST_SESSIONS}),
]
Share = Annotated[
    float, PlainValidator(_share), WithJsonSchema({"type": "number", "minimum": 0, "maximum": 1})
]
Thousandths = Annotated[
    Any, PlainValidator(_thousandths), WithJsonSchema({"type": "number", "minimum": 0, "maximum": 1})
]
CrewRatio = Annotated[
    Any,
    PlainValidator(_crew_ratio),
    WithJsonSchema(
        {"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": "number", "minimum": 1}}
    ),
]
ScaleName = Annotated[Any, PlainValidator(_scale), WithJsonSchema({"type": ["string", "number"]})]
ShortLength = Annotated[Any, WithJsonSchema({"type": "number", "exclusiveMinimum": 0})]
Name = Annotated[str, AfterValidator(_name)]
PlaceName = Annotated[str, AfterValidator(_place_name)]
VehicleName = Annotated[str, AfterValidator(_vehicle_name)]
TrackEnd = Literal["from", "to"]
Count = Annotated[int, Field(ge=0)]
AtLeastOne = Annotated[int, Field(ge=1)]


def _spots_form(value: object) -> str:
    """Spots are a count, or a table of places."""
    return f"{TAG}places" if isinstance(value, dict) else f"{TAG}count"


Spots = Annotated[
    Annotated[AtLeastOne, Tag(f"{TAG}count")] | Annotated[dict[Name, Slack], Tag(f"{TAG}places")],
    Discriminator(_spots_form),
]


def described(text: str, **more: Any) -> Any:
    """A key that may be left out."""
    return Field(default=None, description=text, **more)


def lines(text: str) -> Any:
    """A section whose keys are names."""
    return Field(default={}, description=text)


def short(widen: Callable[[object], object], form: Any) -> BeforeValidator:
    """Read a short form of a line as the whole line."""
    return BeforeValidator(widen, json_schema_input_type=form)
