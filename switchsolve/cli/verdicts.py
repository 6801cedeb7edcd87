"""The exit code of each verdict.

Apart from :mod:`switchsolve.cli.codes`, which every command reads before anything is loaded.
"""

from __future__ import annotations

from switchsolve.cli.codes import BEST_FOUND, GAVE_UP, IMPOSSIBLE, OK
from switchsolve.plan import Verdict

__all__ = ["CODE_OF_VERDICT"]

CODE_OF_VERDICT = {
    Verdict.PROVED: OK,
    Verdict.BEST_FOUND: BEST_FOUND,
    Verdict.IMPOSSIBLE: IMPOSSIBLE,
    Verdict.GAVE_UP: GAVE_UP,
}
