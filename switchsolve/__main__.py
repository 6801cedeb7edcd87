"""``python -m switchsolve``."""

from __future__ import annotations

import sys

from switchsolve.cli import main

sys.exit(main())
