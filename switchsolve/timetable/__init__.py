"""From the work of a session to a schedule: who does what when.

:func:`problem_of` makes a scheduling problem of a :class:`SessionWork`, :func:`read` makes a
:class:`Timetable` of its schedule, and :func:`demand_text` says what clashes.
"""

from __future__ import annotations

from switchsolve.timetable.building import NobodyCan, problem_of
from switchsolve.timetable.reading import Entry, Timetable, read
from switchsolve.timetable.sessionwork import SessionWork
from switchsolve.timetable.telling import demand_text

__all__ = ["Entry", "NobodyCan", "SessionWork", "Timetable", "demand_text", "problem_of", "read"]
