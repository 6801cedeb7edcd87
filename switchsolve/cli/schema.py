"""``switchsolve schema``: the JSON Schema of puzzle files, or of layout files."""

from __future__ import annotations

import json
from argparse import Namespace

from switchsolve.cli.codes import OK
from switchsolve.layoutfile import json_schema as layout_schema
from switchsolve.puzzlefile import json_schema

__all__ = ["run_schema"]


def run_schema(arguments: Namespace) -> int:
    """Print it; returns the exit code."""
    print(json.dumps(layout_schema() if arguments.layout else json_schema(), indent=2))
    return OK
