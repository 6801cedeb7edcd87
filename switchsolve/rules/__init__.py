"""The law: what may happen on the rails, in plain Python.

A :class:`Standing` says which string touches which cells, who stands in it in order, and (its zone) all the
real positions that this can mean.
:meth:`Rules.actions` lists everything a crew can do next.  One action is the smallest event that changes
the picture: the leading end enters a cell, the trailing end leaves one, two strings meet, cars are cut off
and left, a table is lined.  A run is a row of actions in one direction; only a change of a locomotive's
direction costs a move.

Positions.  String ``i`` lies along its path ``ways``, in the direction in which its tokens are listed;
``x_i`` is the distance from the start of ``ways[0]`` to the outer end of its first vehicle.  An **end** of
a string is its head (side 1, facing along ``ways[-1]``) or its tail (side 0, facing along ``ways[0] ^ 1``);
its **room** is the rail from there to the end of that cell: head ``K - x`` with ``K = sum of the path -
length of the string``, tail ``x``.

Whole-number lengths need whole-number positions only; strings that are apart are at least 1 grid unit apart.
"""

from __future__ import annotations

from switchsolve.rules.actions import Rules
from switchsolve.rules.begun import BegunRules
from switchsolve.rules.coarse import CoarseRules, LooseRules
from switchsolve.rules.measured import MeasuredRules
from switchsolve.rules.standing import Action, Cost, Draft, Standing, String, Wanted, reverse_string

__all__ = [
    "Action",
    "BegunRules",
    "CoarseRules",
    "Cost",
    "Draft",
    "LooseRules",
    "MeasuredRules",
    "Rules",
    "Standing",
    "String",
    "Wanted",
    "reverse_string",
]
