"""What a district can do: facts that the rules prove for a standard car and a standard locomotive.

Nothing here is a formula over lengths.  Every number is the answer to a row of small set-ups built from the
file's district, emptied of its cars: so many cars can be handled, one more cannot.
"""

from __future__ import annotations

from switchsolve.facts.examining import Facts, Tightest, examine, standards_met
from switchsolve.facts.standards import StandardResult

__all__ = ["Facts", "StandardResult", "Tightest", "examine", "standards_met"]
