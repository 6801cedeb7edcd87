"""What the tasks of a session are called, so that movements, schedule and screen speak of one thing."""

from __future__ import annotations

__all__ = ["first_run", "last_run", "make_up", "passing", "piece", "put_away", "run", "stop", "work"]


def run(train: str, number: int) -> str:
    """A run over a link, counted from 1 in each train."""
    return f"{train}: run {number}"


def first_run(train: str) -> str:
    """The run with which a train sets out."""
    return run(train, 1)


def last_run(train: str) -> str:
    """The run with which a train comes in, whatever its number is: movements name it so."""
    return f"{train}: last run"


def passing(train: str, place: str) -> str:
    """A train passes a district on its main."""
    return f"{train}: passes {place}"


def stop(train: str) -> str:
    """A through train stands at the yard."""
    return f"{train}: stop"


def work(train: str, place: str) -> str:
    """A train works a district."""
    return f"{train}: works {place}"


def make_up(train: str) -> str:
    """The yard makes up a train's cut."""
    return f"make up {train}"


def put_away(train: str) -> str:
    """The yard puts a train's cut away; with no train, what was left on the arrival tracks."""
    return f"put away {train}" if train else "put away what was left"


def piece(work: str, index: int) -> str:
    """A part of the work in a district, counted from 0."""
    return f"{work}, part {index + 1}"
