# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""What Python calls where limits bind: compiled, and kept on disk, only when it is first asked for."""

from __future__ import annotations

from switchsolve.kernel.keeping import kept
from switchsolve.kernel.run_kernel.memory import I64, KEY, KEYS, MEMORY, SMALL, UNCOUNTED, pointer
from switchsolve.kernel.run_kernel.states import decode, wipe
from switchsolve.kernel.run_kernel.within import steps_within

__all__ = ["expand_within"]

_DONE, _FULL, _MET, _DEFECT = 0, 1, 2, 3


@kept(I64(MEMORY, KEYS, MEMORY, MEMORY, SMALL, I64, MEMORY, SMALL, MEMORY), nogil=True, **UNCOUNTED)
def expand_within(raw, keys, table, chosen, onward_from, depth, out, parents, info):  # type: ignore[no-untyped-def]
    """As :func:`~switchsolve.kernel.run_kernel.entries.expand`, by runs within limits on the moving string;
    3: a defect.  ``onward_from`` is nothing.
    """
    m = pointer(raw)
    for place in range(len(chosen)):
        number = chosen[place]
        for i in range(m[5]):
            m[m[KEY] + i] = keys[number, i]
        rows, generated = info[0], info[2]
        strings = decode(m)
        found = steps_within(m, keys, table, out, parents, info, number, depth, strings)
        wipe(m, strings)
        if found == -3:
            return _DEFECT
        if found == -2:  # as if it had not been begun
            info[0], info[2] = rows, generated
            return _FULL
        info[1] += 1
        if found >= 0:
            info[3] = found
            info[4] = number
            return _MET
    return _DONE
