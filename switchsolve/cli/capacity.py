"""``switchsolve capacity``: how many cars in so many minutes; the longest train with one trip around, two."""

from __future__ import annotations

import json
import sys
import time
from argparse import Namespace
from fractions import Fraction
from textwrap import fill

from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.lengths import format_length
from switchsolve.puzzle import Puzzle
from switchsolve.reaching import Evening, LongTrains, cars_in, long_trains
from switchsolve.words import counted

__all__ = ["run_capacity"]

_TRIPS = {1: "one trip around", 2: "two trips around", 3: "three trips around", 4: "four trips around"}


def run_capacity(arguments: Namespace) -> int:
    """Put the reverse questions to one file; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    with Stop() as stop:
        trains, evening = _asked(puzzle, arguments, stop)
    if arguments.json:
        print(json.dumps(_as_json(puzzle, evening, trains, arguments.trips), indent=2))
    else:
        _print(puzzle, evening, trains, arguments.trips)
    return OK if _is_proved(evening, trains, arguments.trips) else BEST_FOUND


def _asked(puzzle: Puzzle, arguments: Namespace, stop: Stop) -> tuple[LongTrains, Evening | None]:
    """The trains first, which are soon told; the evening has the time that is left."""
    limit, began = arguments.limit_seconds, time.monotonic()
    trains = long_trains(puzzle, cuts=arguments.trips, seconds=limit, tell=Progress(), stop=stop)
    if arguments.minutes is None:
        return trains, None
    left = None if limit is None else max(0.1, limit - (time.monotonic() - began))
    minutes = Fraction(arguments.minutes).limit_denominator(1000)
    return trains, cars_in(puzzle, minutes, seconds=left, tell=Progress(), stop=stop)


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.minutes is not None and not 0 < arguments.minutes < 100_000:
        wrong.append(f"--minutes {arguments.minutes:g}: give a time above zero, such as 45")
    if arguments.trips not in _TRIPS:
        wrong.append(f"--trips {arguments.trips}: give 1 to {max(_TRIPS)}")
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    return wrong


def _is_proved(evening: Evening | None, trains: LongTrains, trips: int) -> bool:
    told = evening is None or (evening.is_proved and evening.crew is not None)
    if trains.bench is None or trains.refused:
        return told
    return told and all(trains.is_proved(cuts) for cuts in range(1, trips + 1))


# ---- the screen


def _print(puzzle: Puzzle, evening: Evening | None, trains: LongTrains, trips: int) -> None:
    console = Screen()

    def say(text: str, style: str = "") -> None:
        console.print(Text(fill(text, 79, break_on_hyphens=False), style=style))

    if puzzle.title:
        say(puzzle.title, "bold")
    if evening is not None:
        say(_evening_text(evening), "bold")
        for text in _evening_details(evening):
            say(text)
        console.print()
    if trains.bench is None or trains.refused:
        say(f"The longest train is not told: {trains.refused}.")
        return
    if trains.longest(trips) is None and all(trains.is_proved(cuts) for cuts in range(1, trips + 1)):
        say("No train can be run around here, not even one car (proved).", "bold")
    else:
        for cuts in range(1, trips + 1):
            say(_train_text(trains, cuts), "bold")
    say(_train_notes(puzzle, trains))


def _evening_text(found: Evening) -> str:
    """``4 to 6 of 8 cars in 45 minutes.``"""
    minutes = f"{float(found.seconds / 60):g}"
    within = f"of {counted(found.tasks, 'car')} in {minutes} minutes"
    if found.most is None and found.at_most < 0:
        return f"None {within}: not even with all of them skipped."
    if found.most is None:
        return f"At most {found.at_most} {within}; no plan was found in the time for computing."
    if found.crew is None or found.crew == found.most:
        return f"{found.most} {within}."
    return f"{found.crew} to {found.most} {within}."


def _evening_details(found: Evening) -> list[str]:
    told = []
    if found.most is not None:
        more = "no plan does more (proved)" if found.is_proved else f"{found.at_most} are not excluded"
        names = ", ".join(map(str, found.done)) or "none"
        told.append(f"The best plan: {_took(found.takes)} for {names}; {more}.")
    if found.crew is not None:
        told.append(f"A plain crew, which never looks ahead: {found.crew}, {_took(found.crew_takes)}.")
    else:
        told.append("A plain crew, which never looks ahead: not told, it gives up or was stopped.")
    if found.stopped is not None:
        told.append(f"Stopped by {found.stopped}.")
    told.append(
        "Minutes by the time figures of the file, for a crew that never hesitates: a real one takes longer. "
        "What is skipped goes home with its train, or stays where it stands."
    )
    return told


def _took(seconds: Fraction | None) -> str:
    """Whole minutes that the time stays within."""
    return f"within {counted(int(-(-(seconds or 0) // 60)), 'minute')}"


def _train_text(found: LongTrains, cuts: int) -> str:
    row, words = found.longest(cuts), _TRIPS[cuts]
    proof = "one more does not go (proved)" if found.is_proved(cuts) else "one more is not decided"
    if row is None:
        return (
            f"Longest train with {words}: none; not even one car (proved)."
            if found.is_proved(cuts)
            else (f"Longest train with {words}: not decided.")
        )
    moves = counted(row.moves or 0, "move")
    text = f"Longest train with {words}: {counted(row.cars, 'car')}, {moves}"
    if row.cuts < cuts:
        return f"{text}, as with {_TRIPS[row.cuts]}; {proof}."
    if len(row.sizes) > 1:
        text += f", cut into {' and '.join(map(str, row.sizes))}"
    return f"{text}; {proof}."


def _train_notes(puzzle: Puzzle, found: LongTrains) -> str:
    assert found.bench is not None
    length = format_length(found.bench.car_length, puzzle)
    text = (
        f"Cars like {found.bench.kind} ({length}) behind {found.bench.locomotive.name}, in the empty "
        "district: the train comes in, and stands where it came from with the locomotive at the other end. "
        "With one trip the cars stay together; with two the train is cut at one place (first told: the cut "
        "nearest to the locomotive)."
    )
    return text if found.stopped is None else f"{text} Stopped by {found.stopped}."


# ---- JSON


def _as_json(puzzle: Puzzle, evening: Evening | None, trains: LongTrains, trips: int) -> dict[str, object]:
    """The documented, stable form of an answer."""
    return {
        "title": puzzle.title,
        "evening": None if evening is None else _evening_json(evening),
        "trains": [
            {
                "trips": cuts,
                "cars": row.cars if (row := trains.longest(cuts)) else None,
                "moves": row.moves if row else None,
                "cut_into": list(row.sizes) if row else None,
                "is_proved": trains.is_proved(cuts),
            }
            for cuts in range(1, trips + 1)
        ],
        "trains_not_told": trains.refused or None,
        "stopped": trains.stopped,
    }


def _evening_json(found: Evening) -> dict[str, object]:
    return {
        "seconds": float(found.seconds),
        "cars": found.tasks,
        "most": found.most,
        "at_most": found.at_most,
        "is_proved": found.is_proved,
        "done": [str(task) for task in found.done],
        "takes_seconds": float(found.takes) if found.takes is not None else None,
        "crew": found.crew,
        "crew_seconds": float(found.crew_takes) if found.crew_takes is not None else None,
        "stopped": found.stopped,
    }
