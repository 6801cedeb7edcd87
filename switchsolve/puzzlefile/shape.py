"""From the shape check's errors to problems in our own words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.puzzlefile.values import TAG

__all__ = ["check_shape"]

Shape = TypeVar("Shape", bound=BaseModel)

_PLAIN = {
    "string_type": ("this is not a text", "put it in quotes"),
    "int_type": ("this is not a whole number", "write a whole number such as 2"),
    "int_from_float": ("this is not a whole number", "write a whole number such as 2"),
    "int_parsing_size": ("this is far too much", "write a smaller number"),
    "bool_type": ("this is neither true nor false", "write true or false, without quotes"),
    "list_type": ("this is not a list", "write it in brackets: [ ... ]"),
    "dict_type": ("this is not a table", "write it in braces: { ... }"),
    "model_type": ("this is not a table", "write it in braces: { ... }"),
    "too_short": ("this is empty", "write one at least"),
}
"""Types of error whose words need nothing from the file."""


def check_shape(document: Mapping[str, object], problems: Problems, model: type[Shape]) -> Shape | None:
    """The file in the checked shape of ``model``, or ``None`` with every problem of shape noted in
    ``problems``."""
    try:
        return model.model_validate(document)
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            _note(detail, problems, model)
        return None


def _note(detail: ErrorDetails, problems: Problems, model: type[BaseModel]) -> None:
    """Put one error of the shape check into our own words."""
    path = tuple(step for step in detail["loc"] if not str(step).startswith(TAG))
    if path and path[-1] == "[key]":
        path = path[:-1]
    what, cure = _words(detail, path, model)
    problems.add(path, what, cure, value="" if detail["type"] == "missing" else None)


def _words(detail: ErrorDetails, path: Path, root: type[BaseModel]) -> tuple[str, str]:
    """What is wrong, and the cure."""
    context: Mapping[str, Any] = detail.get("ctx", {})
    kind = detail["type"]
    if kind == "ours":
        return context["what"], context["cure"]
    if kind == "missing":
        return "this is missing", _say(path, root)
    if kind == "extra_forbidden":
        known = list(_keys_at(path[:-1], root))
        return "this key is not known", suggestion(str(path[-1]), known, f"use one of: {', '.join(known)}")
    if kind == "literal_error":
        return (
            "this is none of the words that may stand here",
            f"write {context['expected'].replace(chr(39), chr(34))}",
        )
    if kind == "greater_than_equal":
        return "this is too small", f"write {context['ge']} or more"
    if kind == "less_than_equal":
        return "this is too much", f"write {context['le']} or less"
    if kind == "too_long":
        return "these are too many", f"write {context['max_length']}"
    return _PLAIN.get(kind, (detail["msg"].lower(), "see the description of this key"))


def _say(path: Path, root: type[BaseModel]) -> str:
    """The cure for a key that is missing: what it says."""
    model = _model_at(path[:-1], root)
    for name, field in model.model_fields.items() if model else ():
        if (field.alias or name) == path[-1] and field.description:
            description = field.description.rstrip(".")
            return f"add {value_text(path[-1])[1:-1]} ({description[0].lower()}{description[1:]})"
    return "add it"


def _keys_at(path: Path, root: type[BaseModel]) -> list[str]:
    """The keys that the file may have at ``path``."""
    model = _model_at(path, root)
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _model_at(path: Path, root: type[BaseModel]) -> type[BaseModel] | None:
    """The model of the table at ``path``."""
    form: Any = root
    for step in path:
        form = _inside(form, step)
    return _models(form)[0] if _models(form) else None


def _inside(form: Any, step: str | int) -> Any:
    """The form of what stands in ``form`` under ``step``."""
    for model in _models(form):
        for name, field in model.model_fields.items():
            if (field.alias or name) == step:
                return field.annotation
        return None
    for choice in _choices(form):
        if get_origin(choice) in (dict, list):
            return get_args(choice)[-1]
    return None


def _choices(form: Any) -> list[Any]:
    """The forms between which a key may choose, without their notes."""
    if hasattr(form, "__metadata__"):
        return _choices(get_args(form)[0])
    if get_origin(form) in (dict, list) or not get_args(form):
        return [form]
    return [choice for arm in get_args(form) for choice in _choices(arm)]


def _models(form: Any) -> list[type[BaseModel]]:
    """The tables with named keys among the choices."""
    return [item for item in _choices(form) if isinstance(item, type) and issubclass(item, BaseModel)]
