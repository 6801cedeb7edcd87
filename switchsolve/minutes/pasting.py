"""The table ``[times]`` that a fit comes to, as the text of a puzzle file."""

from __future__ import annotations

import math
from collections.abc import Sequence

from switchsolve.minutes.fitting import Fit
from switchsolve.minutes.runs import TimedRun

__all__ = ["times_text"]

_PLAIN = ("new_move", "coupling", "cut", "table", "turnout", "reading", "failed_uncoupling")
_AT_ONCE = 100_000
"""A speed, in units a second, at which running takes no time: where it is inside the other figures."""
_LONGEST = 3600
"""Seconds that a file takes for one figure."""


def times_text(found: Fit, runs: Sequence[TimedRun], unit: str | None) -> str:
    """Lines of TOML.  What the log does not have is written as 0: its time is inside the other figures.

    Ratios are rounded outwards to hundredths, seconds to tenths.
    """
    fitted = f"fitted to {len(runs)} timed run{'' if len(runs) == 1 else 's'}"
    lines = [f"[times]                        # {fitted}"]
    for name in _PLAIN:
        seconds = min(_LONGEST, round(found.seconds.get(name, 0.0), 1))
        lines.append(_line(name, f"{seconds:g}", "inside the others" if name in found.missing else ""))
    lines.append(_line("failed_share", f"{found.failed_share or 0.0:.3f}", ""))
    running = found.seconds.get("running", 0.0)
    if running > 1 / _AT_ONCE:
        remark = f"for one second; unit: {unit or 'that of the log'}"
        lines.append(_line("speed", f"{max(0.001, 1 / running):.3f}", remark))
    else:
        lines.append(_line("speed", f"{_AT_ONCE}", "running takes no time of its own"))
    if found.ratio is not None:
        low = max(1.0, math.floor(100 * found.ratio.low + 1e-9) / 100)
        high = max(low, math.ceil(100 * found.ratio.high - 1e-9) / 100)
        lines.append(_line("crew_ratio", f"[{low:.2f}, {high:.2f}]", "moves of the crew over the minimum"))
    return "\n".join(lines) + "\n"


def _line(key: str, value: str, remark: str) -> str:
    """One line, with a remark."""
    text = f"{key} = {value}"
    return f"{text:<31}# {remark}" if remark else text
