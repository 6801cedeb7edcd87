"""The one recommendation, by a rule that is told on the page.

First a standard that is short, cured by the least rail; else the one change of rail that saves most moves of
the file's own work (a track made longer, or a spur turned), of equal ones that with the least new rail; else
to leave the plan as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.facts import StandardResult
from switchsolve.lengths import format_length_up
from switchsolve.measuring.length_steps import gains
from switchsolve.nuisances import Kind, Weighed
from switchsolve.plan import Verdict
from switchsolve.surveying.asking import Survey
from switchsolve.words import counted

__all__ = ["RULE", "Advice", "advise"]

RULE = (
    "A standard that is short comes first, cured by the least rail; else the one change of rail (a track "
    "made longer, a spur turned) that saves most moves in the work of the file, with the least new rail."
)
_RAIL = frozenset({Kind.TAIL, Kind.RUN_AROUND, Kind.SPUR, Kind.TRACK})
_TURNS = frozenset({Kind.FACING, Kind.TRAILING})

_DECIDED = frozenset({Verdict.PROVED, Verdict.IMPOSSIBLE})


@dataclass(frozen=True, slots=True)
class Advice:
    """What to build, in a sentence; ``proof``: what is proved of it."""

    told: str
    proof: str


@dataclass(frozen=True, slots=True)
class _Change:
    """A change of rail, in words, with the ``moves`` it leaves, and how much rail it adds, grid units."""

    told: str
    moves: int
    extra: int


def advise(found: Survey) -> Advice:
    """The recommendation.  Nothing is recommended that is not proved to help."""
    cured = [one for one in found.facts.standards if one.is_met is False and one.cure is not None]
    if cured:
        return _for_standard(found, min(cured, key=_new_rail))
    changes = [*_lengths(found), *_all_of_a_row(found), *_turns(found)]
    if changes:
        return _for_moves(found, min(changes, key=lambda one: (one.moves, one.extra)))
    return _nothing(found)


def _new_rail(result: StandardResult) -> int:
    return result.cure.length if result.cure is not None else 0


def _for_standard(found: Survey, result: StandardResult) -> Advice:
    assert result.cure is not None
    longer = format_length_up(result.cure.length, found.puzzle)
    told = f"Build {result.cure.track} {longer} longer: then the standard “{result.rule}” is met."
    return Advice(told, "Proved: with that much more it is met, with less it is not.")


def _lengths(found: Survey) -> Iterator[_Change]:
    """Each track that saves moves by itself, at the least length for each number of moves."""
    if found.lengths is None:
        return
    for gain in gains(found.lengths):
        longer = format_length_up(gain.extra, found.puzzle)
        yield _Change(f"Build {gain.piece.name} {longer} longer", gain.moves, gain.extra)


def _all_of_a_row(found: Survey) -> Iterator[_Change]:
    """Run-arounds and tails of several tracks that save moves with all of them longer."""
    for gain in found.changes.savings:
        without = gain.nuisance.without
        if gain.nuisance.kind in _RAIL and gain.verdict is Verdict.PROVED and without is not None:
            changed = without.district.tracks
            extra = sum(track.length - found.puzzle.district.track(track.name).length for track in changed)
            longer = format_length_up(extra, found.puzzle)
            told = f"Build {gain.nuisance.name} longer ({longer} more rail in all was tried; less may do)"
            yield _Change(told, gain.moves or 0, extra)


def _turns(found: Survey) -> Iterator[_Change]:
    """Spurs that save moves with their points the other way."""
    for gain in found.changes.savings:
        if gain.nuisance.kind in _TURNS and gain.verdict is Verdict.PROVED:
            yield _Change(f"Turn {gain.nuisance.name}, its points the other way", gain.moves or 0, 0)


def _for_moves(found: Survey, change: _Change) -> Advice:
    now = found.changes.now.counts
    if now is None:
        told = f"{change.told}: the work, impossible now, takes {counted(change.moves, 'move')} then."
    else:
        told = f"{change.told}: {counted(now.moves, 'move')} become {change.moves}."
    return Advice(told, "Both figures are proved, for the work of the file; other work was not asked.")


def _nothing(found: Survey) -> Advice:
    """No change of rail helps for certain."""
    open_ones = [one for one in found.changes.weighed if _is_rail(one) and one.verdict not in _DECIDED]
    untried = [one for one in found.changes.left_out if one.kind in _RAIL | _TURNS]
    told = "Leave the rail as it is: no single track made longer, and no spur turned, saves a move."
    if found.changes.now.verdict is Verdict.IMPOSSIBLE:
        told = "No one change of rail was found that makes the work possible: more than one is needed."
    is_decided = found.changes.now.verdict in _DECIDED and found.changes.stopped is None
    if is_decided and not open_ones and not untried:
        return Advice(told, "Proved, for the work of the file and each change by itself.")
    told = "No change of rail is recommended: none is proved to help."
    why = []
    if open_ones:
        why.append(
            f"{len(open_ones)} of the changes tried {'is' if len(open_ones) == 1 else 'are'} not decided"
        )
    if untried:
        why.append(f"{len(untried)} could not be tried")
    if found.changes.now.verdict not in _DECIDED:
        why.append("the work as it is, is not decided")
    if found.changes.stopped:
        why.append(f"stopped by {found.changes.stopped}")
    return Advice(told, f"As far as proved: {'; '.join(why)}.")


def _is_rail(one: Weighed) -> bool:
    return one.nuisance.kind in _RAIL | _TURNS
