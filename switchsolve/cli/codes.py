"""Exit codes: a contract, tested."""

from __future__ import annotations

__all__ = [
    "BAD_FILE",
    "BEST_FOUND",
    "GAVE_UP",
    "IMPOSSIBLE",
    "INTERRUPTED",
    "OK",
    "READER_GONE",
    "STANDARD_SHORT",
    "TERMINATED",
    "USAGE",
]

OK = 0
"""``check`` found nothing wrong; ``solve`` proved the minimum; ``census`` counted all."""
USAGE = 2
"""The command line itself was wrong (set by argparse)."""
BAD_FILE = 3
"""A file could not be read; every problem is on stderr."""
BEST_FOUND = 10
IMPOSSIBLE = 11
GAVE_UP = 12
"""``solve`` found no plan before its limit; ``census`` refused to count."""
STANDARD_SHORT = 13
"""``check``: the file is sound, but one of the client's standards is not met."""
INTERRUPTED = 130
"""Ctrl-C before anything could be said."""
READER_GONE = 141
"""What reads the answer has gone away before its end (``| head``): 128 and SIGPIPE, as shells count."""
TERMINATED = 143
"""Ended from outside by SIGTERM: 128 and its number, as shells count."""
