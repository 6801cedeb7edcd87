"""The rows as plain records, for JSON, CSV and Parquet."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from switchsolve.errors import SwitchsolveError
from switchsolve.measuring.spots import Minimum, Row
from switchsolve.measuring.turns import Turn

__all__ = [
    "COLUMNS",
    "Record",
    "check_parquet",
    "record_of",
    "turn_record",
    "write_csv",
    "write_parquet",
]

Record = dict[str, str | int | bool | None]

_OF_MINIMUM: dict[str, type] = {
    "verdict": str,
    "moves": int,
    "bound": int,
    "crew": int,
    "runs_around": bool,
    "switches_back": bool,
    "idlers": int,
    "minutes_low": int,
    "minutes_high": int,
}
COLUMNS: dict[str, type] = {
    "track": str,
    "spot": str,
    "entrance": str,
    "cars": str,
    "task": str,
    "way_in": int,
    **_OF_MINIMUM,
    **{f"among_{name}": kind for name, kind in _OF_MINIMUM.items()},
    "added": int,
}
"""The keys of a record in order, each with its type (any value can be missing)."""


def record_of(row: Row) -> Record:
    """One row; ``None`` for what is not there.  ``among_``: the same among the file's own cars."""
    return {
        "track": row.place.track,
        "spot": row.place.spot,
        "entrance": row.arrival.entry.track,
        "cars": row.arrival.order,
        "task": row.task.value,
        "way_in": row.way_in,
        **_minimum(row.alone),
        **{f"among_{name}": value for name, value in _minimum(row.among).items()},
        "added": row.added,
    }


def _minimum(one: Minimum | None) -> Record:
    if one is None:
        return dict.fromkeys(_OF_MINIMUM)
    low, high = (None, None) if one.span is None else one.span.minutes
    return {
        "verdict": "no room" if one.verdict is None else one.verdict.value,
        "moves": one.moves,
        "bound": one.bound,
        "crew": one.crew,
        "runs_around": one.runs_around,
        "switches_back": one.switches_back,
        "idlers": one.idlers,
        "minutes_low": low,
        "minutes_high": high,
    }


def turn_record(turn: Turn) -> dict[str, object]:
    """A turn, for JSON."""
    out, home = turn.legs
    return {
        "task": turn.task.value,
        "outbound_from": {"entrance": out.entry.track, "cars": out.order},
        "homebound_from": {"entrance": home.entry.track, "cars": home.order},
        "spots": [
            {
                "track": spot.place.track,
                "spot": spot.place.spot,
                "outbound": spot.outbound,
                "homebound": spot.homebound,
                "better": spot.better,
            }
            for spot in turn.spots
        ],
        "outbound": turn.outbound,
        "homebound": turn.homebound,
        "split": turn.split,
    }


def write_csv(path: Path, records: Sequence[Record]) -> None:
    """Write ``records`` with a line of heads; what is missing is left empty.  Raises ``OSError``."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        writer.writerows(records)


def check_parquet() -> None:
    """Raise ``SwitchsolveError`` with the cure if Parquet cannot be written here."""
    if find_spec("pyarrow") is None:
        raise SwitchsolveError(
            "Parquet needs the package pyarrow, which is not there: pip install 'switchsolve[tables]'"
        )


def write_parquet(path: Path, records: Sequence[Record]) -> None:
    """Write ``records``.  Raises ``OSError``, and ``SwitchsolveError`` without pyarrow."""
    check_parquet()
    import pyarrow
    import pyarrow.parquet

    kinds = {str: pyarrow.string(), int: pyarrow.int64(), bool: pyarrow.bool_()}
    schema = pyarrow.schema([(name, kinds[kind]) for name, kind in COLUMNS.items()])
    pyarrow.parquet.write_table(pyarrow.Table.from_pylist(list(records), schema=schema), path)
