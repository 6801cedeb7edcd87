"""A layout in operation: sessions one after the other, every car on its way, and a schedule for each.

::

    with pool(2, RUNS) as executor:
        operation = operate(load_layout("puzzles/saltmarsh_layout.toml"), 20, 3, executor)

:func:`operate` gives one :class:`Operation` with all there is to show; :func:`session_faults` asks, on its
own, what is wrong with a session.
"""

from __future__ import annotations

from switchsolve.operating.changing import what_if
from switchsolve.operating.checking import session_faults
from switchsolve.operating.results import Operation, SessionResult
from switchsolve.operating.sessions import Limits, operate

__all__ = ["Limits", "Operation", "SessionResult", "operate", "session_faults", "what_if"]
