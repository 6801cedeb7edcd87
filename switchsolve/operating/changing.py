"""A layout with a change, to be compared on the same traffic."""

from __future__ import annotations

from dataclasses import replace

from switchsolve.layout import Layout, WhatIf

__all__ = ["what_if"]


def what_if(layout: Layout, change: WhatIf) -> Layout:
    """The layout with ``change`` made.  Orders depend on the seed, the session and the industry alone, so
    that the same cars are asked for; a district that no train works any more asks in vain."""
    staging = tuple(
        replace(place, tracks={**place.tracks, **change.staging.get(place.name, {})})
        for place in layout.staging
    )
    trains = tuple(
        replace(train, most_cars=change.most_cars.get(train.name, train.most_cars))
        for train in layout.trains
        if train.name not in change.without_trains
    )
    crews = tuple(crew for crew in layout.crews if crew.name not in change.without_crews)
    return replace(
        layout,
        title=f"{layout.title}: {change.name}",
        staging=staging,
        trains=trains,
        crews=crews,
        what_if=(),
    )
