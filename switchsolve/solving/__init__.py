"""Solve a set-up: the best plan by moves, by couplings and cuts, or by minutes, with proof."""

from __future__ import annotations

from switchsolve.search.beginning import first_states
from switchsolve.solving.allowance import Allowance
from switchsolve.solving.asking import solve
from switchsolve.solving.by_moves import SEARCHES
from switchsolve.solving.choices import CHOICES, Choice, choices
from switchsolve.solving.limit import Limit
from switchsolve.solving.midway import solve_midway
from switchsolve.solving.onward import Onward, Walked, solve_onward
from switchsolve.solving.proving import Figure, Proof, fewest_moves, prove

__all__ = [
    "CHOICES",
    "SEARCHES",
    "Allowance",
    "Choice",
    "Figure",
    "Limit",
    "Onward",
    "Proof",
    "Walked",
    "choices",
    "fewest_moves",
    "first_states",
    "prove",
    "solve",
    "solve_midway",
    "solve_onward",
]
