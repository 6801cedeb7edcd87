"""The same district with other marks on its parts, junctions and tables."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from switchsolve.district import District, Marks

__all__ = ["remarked"]


def remarked(
    district: District, change: Callable[[Marks], Marks], names: Collection[str] | None = None
) -> District:
    """The district with the marks changed everywhere, or in the places of these ``names`` only."""

    def new(name: str, marks: Marks) -> Marks:
        return change(marks) if names is None or name in names else marks

    return replace(
        district,
        tracks=tuple(
            replace(
                track,
                parts=tuple(replace(part, marks=new(track.name, part.marks)) for part in track.parts),
            )
            for track in district.tracks
        ),
        junctions=tuple(replace(one, marks=new(one.name, one.marks)) for one in district.junctions),
        tables=tuple(replace(one, marks=new(one.name, one.marks)) for one in district.tables),
    )
