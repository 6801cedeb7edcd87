"""The answer of ``switchsolve study`` as JSON."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence

from switchsolve.measuring.evenings import study_minutes
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.study import Study, Tally, at_or_under

__all__ = ["json_of_study"]

_MEDIAN, _ONE_IN_TEN = 0.5, 0.9


def json_of_study(puzzle: Puzzle, found: Study, seed: int, files: Sequence[str]) -> str:
    """The documented, stable form of an answer; ``files``: those of the hardest, if they were written."""
    return json.dumps(_as_json(puzzle, found, seed, files), indent=2)


def _as_json(puzzle: Puzzle, found: Study, seed: int, files: Sequence[str]) -> dict[str, object]:
    tally = found.tally
    names = [*files, *[None] * len(found.hardest)]
    return {
        "title": puzzle.title,
        "seed": seed,
        "sessions_asked": found.asked,
        "sessions": tally.sessions,
        "solved": found.solved,
        "verdicts": {str(verdict): tally.verdicts[verdict] for verdict in Verdict},
        "study_moves": _figures(tally.moves),
        "study_bounds": _figures(tally.bounds),
        "study_couplings": _figures(tally.couplings),
        "study_cuts": _figures(tally.cuts),
        "study_crew_moves": _figures(tally.crew_moves),
        "study_minutes": study_minutes(tally),
        "study_trips": _figures(tally.trips),
        "study_shuttles": _figures(tally.shuttles),
        "study_spells": _figures(tally.spells),
        "study_forced": _figures(tally.forced),
        "forced_share": _forced_share(tally),
        "light_share": tally.light_share,
        "cars_arrived": tally.arrived,
        "cars_to_pick_up": tally.picked_up,
        "cars_rolled_over": tally.rolled_over,
        "cars_waited": tally.waiting,
        "cars_turned_away": tally.turned_away,
        "cars_left_over": tally.left_over,
        "sessions_left_over": tally.sessions_left_over,
        "sessions_not_most": tally.sessions_not_most,
        "hardest": [
            {
                "season": played.row.season,
                "session": played.row.session,
                "moves": played.row.moves,
                "verdict": str(played.row.verdict),
                "file": name,
            }
            for played, name in zip(found.hardest, names, strict=False)
        ],
    }


def _forced_share(tally: Tally) -> float | None:
    """Of the moves of the sessions of which forced moves are told."""
    if not tally.forced_among:
        return None
    return sum(forced * sessions for forced, sessions in tally.forced.items()) / tally.forced_among


def _figures(counter: Counter[int]) -> dict[str, object] | None:
    """Percentiles, and how often each figure comes."""
    if not counter:
        return None
    return {
        "median": at_or_under(counter, _MEDIAN),
        "nine_in_ten": at_or_under(counter, _ONE_IN_TEN),
        "most": max(counter),
        "histogram": {str(figure): counter[figure] for figure in sorted(counter)},
    }
