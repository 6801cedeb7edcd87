"""Where longest runs begin."""

from __future__ import annotations

from switchsolve.rules import Rules
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["first_states"]


def first_states(rules: Rules, runs: LongestRuns, under_way: int) -> list[RunState]:
    """The states of longest runs at the start (``under_way``: how many locomotives are, 0 or 1)."""
    states = []
    for standing in rules.starts():
        for state in runs.from_standing(standing):
            nose = next(token for token in state[1].tokens if rules.is_loco[token]) & 1
            heads = -1 if nose else 1
            if not under_way or rules.p.start_last[0] == heads:
                states.append(state)
    return states
