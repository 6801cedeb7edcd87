"""A plain crew: what work costs when it is done by a simple rule, one item at a time, without looking ahead.

The minimum is what the best plan takes.  Beside it stands what a crew takes that follows a stated policy
(:func:`plain_crew`); its plan is replayed by the referee like any other.
"""

from __future__ import annotations

from switchsolve.crew.policy import CrewResult, CrewStep, plain_crew
from switchsolve.effort import runs_around

__all__ = ["CrewResult", "CrewStep", "plain_crew", "runs_around"]
