"""The balance of many sessions in words, and the lengths that the traffic asks for."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import fill

from switchsolve.lengths import format_length
from switchsolve.operating import Operation
from switchsolve.operating.results import Balance, OutOf
from switchsolve.words import counted

__all__ = ["balance_lines", "needs_lines"]


def balance_lines(found: Operation) -> Iterator[str]:
    """What runs out, what the host does by hand, who waited and why, how each place drifts."""
    balance = found.balance
    if balance is None:
        return
    yield ""
    yield "In balance." if balance.is_kept else "Not in balance."
    if balance.on_shelf:
        cars = counted(balance.on_shelf, "car")
        yield from _wrapped(f"Staging has no room for {cars} of its stock: on the shelf all along.")
    for one in sorted(balance.out_of, key=lambda one: (not one.is_lasting, one.since)):
        yield from _wrapped(_out_of(one))
    yield from _wrapped(_by_hand(balance))
    if balance.waited:
        yield "Cars waited:"
        for (at, why), times in sorted(balance.waited.items(), key=lambda row: -row[1]):
            yield from _wrapped(f"  {counted(times, 'time')} at {at}: {why}")
    yield from _levels(balance)


def _wrapped(text: str) -> list[str]:
    return fill(text, 79, subsequent_indent="  ", break_on_hyphens=False).splitlines()


def _out_of(one: OutOf) -> str:
    cars = f"{'loaded' if one.is_loaded else 'empty'} {one.kind} cars"
    times = len(one.missing)
    if one.is_lasting:
        return (
            f"{one.place} is out of {cars} from session {one.since}: short in {times} of the "
            f"{one.sessions - one.since + 1} since, {max(one.missing.values())} at most."
        )
    names = ", ".join(map(str, one.missing))
    return f"{one.place} was short of {cars} in session{'s' if times > 1 else ''} {names}."


def _by_hand(balance: Balance) -> str:
    """What the host does between sessions."""
    mean = sum(balance.by_hand) / max(1, len(balance.by_hand))
    carried = sum(balance.carried) / max(1, len(balance.carried))
    text = (
        f"By hand before a session: {mean:.1f} cars moved in staging to make up trains, "
        f"{max(balance.by_hand, default=0)} at most. So that no industry waits for a car the host would "
        f"carry {carried:.1f} more from place to place, {max(balance.carried, default=0)} at most (on paper)."
    )
    sets = sum(balance.sets_by_hand)
    return text + (f" Trains carried back: {sets}." if sets else "")


def _levels(balance: Balance) -> Iterator[str]:
    """Cars of each place and kind, at first and at last."""
    yield "Cars there before the first session, and before the last:"
    for (place, kind, is_loaded), row in balance.at_start.items():
        load = "loaded" if is_loaded else "empty"
        least = f", {min(row)} at least" if min(row) < min(row[0], row[-1]) else ""
        yield f"  {place:<12.12} {kind + ', ' + load:<22.22} {row[0]:>3} {row[-1]:>3}{least}"


def needs_lines(found: Operation) -> Iterator[str]:
    """What the traffic asks for when nothing is too short."""
    needs, layout = found.needs, found.layout
    if needs is None:
        return
    yield ""
    yield from _wrapped(
        "With nothing too short and the host carrying what is missing (on paper), this traffic asks for:"
    )
    tracks = "more than all its tracks"
    if needs.yard_tracks is not None:
        tracks = f"its {counted(needs.yard_tracks, 'longest track', 'longest tracks')}"
    yield from _wrapped(
        f"  yard: {counted(needs.yard_cars, 'car')}, {format_length(needs.yard_length, layout)} at most: "
        f"{tracks} of {len(layout.yard.tracks)}"
    )
    for name, length in needs.staging.items():
        own = sum(layout.staging_place(name).tracks.values())
        yield from _wrapped(
            f"  {name}: {format_length(length, layout)} at most, of {format_length(own, layout)}"
        )
    for train in layout.trains:
        if needs.train_cars.get(train.name):
            yield from _wrapped(
                f"  {train.name}: {counted(needs.train_cars[train.name], 'car')} at most, of "
                f"{train.most_cars}; {format_length(needs.train_length[train.name], layout)}"
            )
