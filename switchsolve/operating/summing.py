"""Many sessions in words: what is proved, what binds, what runs out, what the host does by hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from switchsolve.lengths import format_length
from switchsolve.operating.results import Balance, Needs, Operation, OutOf, SessionResult
from switchsolve.operating.telling import cleared_once
from switchsolve.scheduling import Outcome
from switchsolve.words import counted

__all__ = [
    "ALL_TOGETHER",
    "ASKS",
    "LEASTS",
    "LEAST_HEADS",
    "READING",
    "balance_texts",
    "binding_texts",
    "change_cells",
    "even_text",
    "head_text",
    "lasts_text",
    "least_cells",
    "let_pass_text",
    "level_cells",
    "needs_texts",
    "not_proved_text",
    "plain_text",
    "waited_texts",
]

READING = (
    "minutes: the shortest schedule with the yard's work in the file's order (a gap is told), for crews that "
    "make each plan as it is, at the file's pace: plain crews take longer; moves: of districts and yard and "
    "to clear the main, each plan the fewest unless told; waited: cars that were to go on and did not; "
    "short: cars asked for that were not there; by hand: cars the host moved before it."
)
"""What the heads of :func:`~switchsolve.operating.telling.session_cells` mean."""
ALL_TOGETHER = "longest, all: minutes of the longest session, and of all together."
"""What two heads of :func:`change_cells` mean."""
ASKS = "With nothing too short and the host carrying what is missing (on paper), this traffic asks for:"
"""What stands over :func:`needs_texts`."""
LEASTS = (
    "How little would do, each by itself and all else as it is (on paper, with all limits): with so much no "
    "more cars wait than now; with less, down to the second figure, it stays in balance, but they do."
)
"""What stands over :func:`least_cells`."""
LEAST_HEADS = ("what", "now", "no more wait", "in balance", "then wait")
"""The heads of :func:`least_cells`."""


def head_text(found: Operation) -> str:
    """How many sessions, crews and proofs."""
    asked = "" if len(found.sessions) == found.asked else f" of {found.asked} (stopped by Ctrl-C)"
    crews = counted(len(found.layout.crews), "crew")
    return f"{counted(len(found.sessions), 'session')}{asked}, seed {found.seed}, {crews}: {_proofs(found)}."


def _proofs(found: Operation) -> str:
    outcomes = [one.answer.outcome for one in found.sessions]
    names = {
        Outcome.PROVED: "proved the shortest",
        Outcome.BEST_FOUND: "with a gap",
        Outcome.IMPOSSIBLE: "that cannot be run",
        Outcome.GAVE_UP: "without a schedule in time",
    }
    parts = [f"{outcomes.count(one)} {text}" for one, text in names.items() if one in outcomes]
    return f"schedules: {', '.join(parts)}"


def not_proved_text(found: Operation) -> str:
    """Pieces of work whose moves are not proved the fewest, or that had no plan in time; empty if none."""
    works = [done.worked for one in found.sessions for done in one.played.works]
    works += [task.worked for one in found.sessions for task in one.played.yard_tasks]
    gaps = sum(
        worked.moves is not None and not (worked.moves == worked.bound and worked.is_most) for worked in works
    )
    none = sum(worked.moves is None for worked in works)
    if not (gaps or none):
        return ""
    return (
        f"Of {len(works)} pieces of work {gaps} have a plan that is not proved the fewest moves for the "
        f"most that can be done, and {none} had none in time (or none exists): their cars waited."
    )


def let_pass_text(found: Operation) -> str:
    """How often a crew at work let trains pass in the midst of it; empty if never."""
    tables = {one.played.number: one.timetable for one in found.sessions if one.timetable}
    cleared = [one for timetable in tables.values() for one in cleared_once(timetable.cleared)]
    if not cleared:
        return ""
    times, moves = counted(len(cleared), "time"), counted(2 * sum(one.moves for one in cleared), "move")
    waits = counted(sum(one.end - one.start for one in cleared), "minute")
    numbers = [str(number) for number, timetable in tables.items() if timetable.cleared]
    return (
        f"A crew at work let trains pass in the midst of it {times} (session{'s' * (len(numbers) > 1)} "
        f"{', '.join(numbers)}): {moves} to clear the main and come back, {waits} in all."
    )


def lasts_text(found: Operation, result: SessionResult) -> str:
    """How long the session looked at takes: by crews that make the plans, and by plain ones, if asked."""
    most = found.plain.minutes if found.plain else None
    if most is None or result.minutes is None:
        return f"{result.minutes} minutes of {found.layout.minutes} by the plans"
    return f"{result.minutes} to {most} minutes of {found.layout.minutes} (by the plans; by plain crews)"


def even_text(result: SessionResult) -> str:
    """Whether the loads of its crews are as even as can be."""
    return "loads as even as can be (proved)" if result.answer.is_evenness_proved else "loads not proved even"


def plain_text(found: Operation) -> str:
    """The session looked at by crews that plan nothing; empty if it was not asked."""
    plain = found.plain
    if plain is None:
        return ""
    if plain.minutes is None:
        lasts = "no schedule was found"
    else:
        proof = "" if plain.minutes == plain.bound else f", perhaps {plain.bound}"
        lasts = f"it takes {plain.minutes} minutes{proof}"
    beyond = f"; {plain.beyond} of {plain.works} pieces of work they cannot do so, and those last as planned"
    is_late = plain.minutes is not None and plain.minutes > found.layout.minutes
    late = f" With them {found.layout.minutes} minutes are not enough." if is_late else ""
    return f"By plain crews, one item at a time, {lasts}{beyond if plain.beyond else ''}.{late}"


def binding_texts(found: Operation) -> Iterator[str]:
    """What binds, the most first."""
    for one in found.bindings:
        proof = "" if one.minutes == one.bound else f", perhaps {one.bound}"
        yield f"It binds: with {one.change} it takes {one.minutes} minutes{proof}."
    if found.crews and found.is_complete and not found.bindings:
        yield "No single thing binds: with any one loosened it takes as long."
    if found.chain is not None:
        yield (
            f"What must follow each other takes {found.chain} minutes{_at_fixed_times(found)}, however many "
            "crews, tracks and leads there are."
        )


def _at_fixed_times(found: Operation) -> str:
    """The trains that keep a fixed time, so that nobody takes this for a bound without them."""
    result = found.looked_at
    names = [train.name for train in result.work.trains if train.leaves is not None] if result else []
    whose = "its" if len(names) == 1 else "their"
    return f" with {' and '.join(names)} at {whose} fixed time" if names else ""


# -- the balance


def balance_texts(balance: Balance) -> Iterator[str]:
    """Whether it is kept, what runs out, what the host does by hand."""
    yield "In balance." if balance.is_kept else "Not in balance."
    if balance.on_shelf:
        cars = counted(balance.on_shelf, "car")
        yield f"Staging has no room for {cars} of its stock: on the shelf all along."
    for place in balance.backlogs:
        yield _backlog(place, balance.rows[place])
    for one in sorted(balance.out_of, key=lambda one: (one.since is None, one.since or min(one.missing))):
        yield _out_of(one)
    yield _by_hand(balance)


def _backlog(place: str, row: tuple[int, ...]) -> str:
    half = len(row) // 2
    return (
        f"Ever more cars wait at {place}: {min(row[:half])} or more in each of the first {half} sessions, "
        f"{min(row[-half:])} or more in each of the last {half}."
    )


def _out_of(one: OutOf) -> str:
    cars = f"{'loaded' if one.is_loaded else 'empty'} {one.kind} cars"
    times = len(one.missing)
    if one.since is not None:
        since = [number for number in one.missing if number >= one.since]
        return (
            f"{one.place} is out of {cars} from session {one.since}: short in {len(since)} of the "
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
        f"{max(balance.by_hand, default=0)} at most. "
    )
    if max(balance.carried, default=0):
        text += (
            "On paper, with all work done every session, the host would carry "
            f"{carried:.1f} more from place to place, {max(balance.carried)} at most, so that no industry "
            "waits for a car."
        )
    else:
        text += (
            "On paper, with all work done every session, nobody need carry a car from place to place: "
            "what was short comes of work that was left over."
            if balance.out_of
            else "On paper nobody need carry a car from place to place."
        )
    sets = sum(balance.sets_by_hand)
    return text + (f" Trains carried back: {sets}." if sets else "")


def waited_texts(balance: Balance) -> Iterator[str]:
    """How often cars waited where and why, the most first."""
    for (at, why), times in sorted(balance.waited.items(), key=lambda row: -row[1]):
        yield f"{counted(times, 'time')} at {at}: {why}"


def level_cells(balance: Balance) -> Iterator[tuple[str, str, str, int, int, int]]:
    """Place, kind, loaded or empty, and its cars: before the first session, before the last, the least."""
    for (place, kind, is_loaded), row in balance.at_start.items():
        yield place, kind, "loaded" if is_loaded else "empty", row[0], row[-1], min(row)


# -- what the traffic asks for, and the same traffic with changes


def needs_texts(found: Operation, needs: Needs) -> Iterator[tuple[str, str]]:
    """Yard, staging and trains, each with what it takes."""
    layout = found.layout
    tracks = "more than all its tracks"
    if needs.yard_tracks is not None:
        tracks = f"its {counted(needs.yard_tracks, 'longest track', 'longest tracks')}"
    length = format_length(needs.yard_length, layout)
    yard = f"{counted(needs.yard_cars, 'car')}, {length} at most: {tracks} of {len(layout.yard.tracks)}"
    yield "yard", yard
    for name, most in needs.staging.items():
        own = sum(layout.staging_place(name).tracks.values())
        yield name, f"{format_length(most, layout)} at most, of {format_length(own, layout)}"
    for train in layout.trains:
        if needs.train_cars.get(train.name):
            cars = counted(needs.train_cars[train.name], "car")
            longest = format_length(needs.train_length[train.name], layout)
            yield train.name, f"{cars} at most, of {train.most_cars}; {longest}"


def least_cells(found: Operation) -> Iterator[tuple[str, str, str, str, str]]:
    """What, how much there is, with how much no more cars wait, the least that keeps the balance, and how
    often cars wait then."""
    layout = found.layout
    staging = {place.name for place in layout.staging}
    for one in found.leasts:
        amounts = (one.now, one.as_good, one.least)
        if one.name in staging:
            told = [format_length(amount, layout) for amount in amounts]
        else:
            is_train = any(train.name == one.name for train in layout.trains)
            told = [counted(amount, "car" if is_train else "track") for amount in amounts]
        yield one.name, told[0], told[1], told[2], f"{one.waits}, not {one.waits_now}"


def change_cells(one: Operation) -> Mapping[str, int | str]:
    """The figures of the same traffic with a change, by their heads; ``none``: sessions not to be run, of
    which there are no minutes."""
    minutes = [result.minutes for result in one.sessions if result.minutes is not None]
    played = [result.played for result in one.sessions]
    return {
        "longest": max(minutes) if minutes else "none",
        "all": sum(minutes) if minutes else "none",
        "moves": sum(result.moves for result in one.sessions),
        "waited": sum(len(each.waited) for each in played),
        "short": sum(short.count for each in played for short in each.shortages),
        "by hand": sum(each.by_hand for each in played),
        "none": len(one.sessions) - len(minutes),
    }
