"""``switchsolve why``: what makes work long, or impossible: each nuisance removed, the work solved again."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections import defaultdict
from collections.abc import Sequence
from textwrap import fill

from rich.table import Table
from rich.text import Text

from switchsolve.cli.codes import BEST_FOUND, USAGE
from switchsolve.cli.effort import effort_as_json, effort_text, figures_of, forced_as_json, forced_text
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.screen import Screen
from switchsolve.cli.stopping import Stop
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.effort import Forced, forced_moves
from switchsolve.lengths import format_length
from switchsolve.nuisances import Kind, Nuisance, Weighed, Weighing, weigh
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.study import cores
from switchsolve.words import counted, verdict_text

__all__ = ["run_why"]

_MOST_STANDINGS = 200_000
"""For forced moves: some seconds."""
_NOT_DECIDED = "Not decided"
_SHORT = {Kind.TAIL, Kind.RUN_AROUND, Kind.SPUR, Kind.TRACK}


def run_why(arguments: Namespace) -> int:
    """Weigh the nuisances of one file; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    with Stop() as stop:
        found = weigh(
            puzzle,
            seconds=arguments.limit_seconds,
            workers=arguments.workers or cores(),
            tell=Progress(),
            stop=stop,
        )
        forced = forced_moves(puzzle, moves=_fewest(found.now), most=_MOST_STANDINGS, stop=stop)
    if arguments.json:
        print(json.dumps(_as_json(puzzle, found, forced), indent=2))
    else:
        _Screen(puzzle, found).show(forced)
    code = CODE_OF_VERDICT[found.now.verdict]
    return BEST_FOUND if found.now.verdict is Verdict.PROVED and not found.is_proved else code


def _fewest(now: Solution) -> int | None:
    """The fewest moves, if they are proved."""
    return now.counts.moves if now.counts is not None and now.verdict is Verdict.PROVED else None


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = []
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if arguments.workers is not None and arguments.workers < 1:
        wrong.append(f"--workers {arguments.workers}: give 1 or more")
    return wrong


class _Screen:
    """The answer for people."""

    def __init__(self, puzzle: Puzzle, found: Weighing) -> None:
        self._puzzle = puzzle
        self._found = found
        self._is_impossible = found.now.verdict is Verdict.IMPOSSIBLE
        self._console = Screen()

    def show(self, forced: Forced) -> None:
        """All of it."""
        if self._puzzle.title:
            self._say(self._puzzle.title, style="bold")
        self._say(verdict_text(self._found.now), style="bold")
        self._say(self._sum(), style="bold")
        self._rows("without it, all else as it is", self._found.savings)
        self._rows("with a car skipped", self._found.skips)
        self._best_skip()
        self._others()
        self._plan(forced)
        self._notes()

    def _say(self, text: str, *, style: str = "") -> None:
        if text:
            self._console.print(Text(fill(text, 79, break_on_hyphens=False), style=style))

    def _sum(self) -> str:
        """All savings in one sentence."""
        gains, now = self._found.savings, self._found.now
        if self._is_impossible or now.counts is None or not gains:
            return ""
        told = ", ".join(f"{one.nuisance} {one.saved}" for one in gains)
        return f"{counted(now.counts.moves, 'move')}: {told}."

    def _rows(self, head: str, gains: Sequence[Weighed]) -> None:
        if not gains:
            return
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        table.add_column(head, overflow="fold")
        table.add_column("moves", justify="right", vertical="top")
        if not self._is_impossible:
            table.add_column("saved", justify="right", vertical="top")
        for one in gains:
            saved = [] if self._is_impossible else [str(one.saved)]
            mark = "" if one.verdict is Verdict.PROVED else "?"
            name = one.nuisance.name if one.nuisance.kind is Kind.SKIP else str(one.nuisance)
            table.add_row(Text(name), f"{one.moves}{mark}", *saved)
        self._console.print()
        self._console.print(table)

    def _best_skip(self) -> None:
        skips = self._found.skips
        self._console.print()
        if not skips:
            tried = [one for one in self._found.weighed if one.nuisance.kind is Kind.SKIP]
            if any(self._fate(one) != _NOT_DECIDED for one in tried):
                what = "makes the work possible" if self._is_impossible else "saves a move (as far as proved)"
                self._say(f"No single car skipped {what}.")
            return
        best = skips[0]
        left = counted(best.moves or 0, "move")
        if self._is_impossible:
            self._say(f"The one car to skip: {best.nuisance.name}; the rest takes {left}.")
            return
        same = [one.nuisance.name for one in skips[1:] if one.saved == best.saved]
        also = f" ({' or '.join(same)} saves as many)" if same else ""
        saved = counted(best.saved or 0, "move")
        self._say(f"The one car to skip: {best.nuisance.name}: {saved} fewer, {left} then{also}.")

    def _others(self) -> None:
        """What makes no difference, what makes it worse, what is not known, what was not tried."""
        groups: dict[str, list[str]] = defaultdict(list)
        gains = {id(one) for one in (*self._found.savings, *self._found.skips)}
        for one in self._found.weighed:
            if id(one) not in gains:
                groups[self._fate(one)].append(str(one.nuisance))
        for head, names in groups.items():
            self._say(f"{head}: {', '.join(names)}.")
        reasons: dict[str, list[str]] = defaultdict(list)
        for nuisance in self._found.left_out:
            reasons[nuisance.left_out].append(str(nuisance))
        for reason, names in reasons.items():
            self._say(f"Not tried: {', '.join(names)} ({reason}).")
        if self._found.stopped is not None:
            self._say(f"Stopped by {self._found.stopped}; the rest was not tried.")

    def _fate(self, one: Weighed) -> str:
        """What is to be said of a change that saves nothing for certain."""
        if one.verdict is Verdict.IMPOSSIBLE:
            return "No help" if self._is_impossible else "Impossible then"
        if one.saved is None:
            return _NOT_DECIDED
        return "No difference" if not one.saved else "More moves then"

    def _plan(self, forced: Forced) -> None:
        now = self._found.now
        if now.plan is not None:
            self._console.print()
            self._say(effort_text(figures_of(self._puzzle, now.plan)))
            self._say(forced_text(forced))

    def _notes(self) -> None:
        kinds = {one.nuisance.kind for one in self._found.weighed}
        notes = ["Each change is made by itself: savings do not add up, for two may cost the same moves."]
        if kinds & _SHORT:
            extra = sum(vehicle.length + 1 for vehicle in self._puzzle.vehicles.values())
            notes.append(
                f"What is short was tried {format_length(extra, self._puzzle)} longer (all vehicles "
                "together); `lengths` tells how much of that is needed."
            )
        if kinds & {Kind.FACING, Kind.TRAILING}:
            notes.append("Spurs: flipped, their points the other way; facing as the locomotive comes.")
        if kinds & {Kind.NEIGHBOR}:
            notes.append("Cars in the way: not there at all.")
        if kinds & {Kind.SKIP}:
            notes.append("A car skipped goes home with the train it came with, or stays where it stands.")
        ordering = self._found.ordering
        if ordering is not None and ordering.listed.how != "all":
            what = "blocks in every order" if ordering.listed.how == "blocks" else "some orders, drawn"
            notes.append(f"Order of the train: {what}; other orders were not tried.")
        self._console.print()
        self._say(" ".join(notes))


# ---- JSON


def _as_json(puzzle: Puzzle, found: Weighing, forced: Forced) -> dict[str, object]:
    """The documented, stable form of an answer."""
    now, skips = found.now, found.skips
    plan = now.plan
    return {
        "title": puzzle.title,
        "verdict": now.verdict.value,
        "moves": now.counts.moves if now.counts else None,
        "lower_bound": now.lower_bound,
        "changes": [_row(one) for one in found.weighed],
        "not_tried": [_left_out(one) for one in found.left_out],
        "best_skip": skips[0].nuisance.name if skips else None,
        "best_order": _best_order(found),
        "orders_tried": len(found.ordering.asked) if found.ordering else 0,
        "orders": found.ordering.listed.how if found.ordering else None,
        "effort": None if plan is None else effort_as_json(puzzle, figures_of(puzzle, plan)),
        "forced": forced_as_json(forced),
        "stopped": found.stopped,
    }


def _row(one: Weighed) -> dict[str, object]:
    return {
        "kind": one.nuisance.kind.value,
        "name": one.nuisance.name,
        "verdict": one.verdict.value,
        "moves": one.moves,
        "lower_bound": one.bound,
        "saved": one.saved,
    }


def _left_out(one: Nuisance) -> dict[str, object]:
    return {"kind": one.kind.value, "name": one.name, "reason": one.left_out}


def _best_order(found: Weighing) -> list[str] | None:
    if found.ordering is None or not found.ordering.workable:
        return None
    return list(found.ordering.workable[0].cars)
