"""``switchsolve walk``: a page on the own machine, on which a person works the district."""

from __future__ import annotations

import sys
import webbrowser
from argparse import Namespace

from switchsolve.cli.codes import OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.walking.server import WalkServer

__all__ = ["run_walk"]

_MOST_PORT = 65535


def run_walk(arguments: Namespace) -> int:
    """Serve the page of one file until Ctrl-C; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    try:
        server = WalkServer(puzzle, arguments.port, arguments.limit_seconds, arguments.proof_seconds)
    except (OSError, ValueError) as error:
        print(f"walk: {_why_not(arguments, error)}", file=sys.stderr)
        return USAGE
    with server:
        try:
            _serve(server, with_browser=not arguments.no_browser)
        except KeyboardInterrupt:
            print("The walk is over.", file=sys.stderr)
    return OK


def _serve(server: WalkServer, with_browser: bool) -> None:
    """Say where the page is, and serve it until Ctrl-C."""
    print("The page is for this machine only. Ctrl-C ends the walk.", file=sys.stderr)
    print(server.url, flush=True)
    if with_browser:
        webbrowser.open(server.url)
    server.serve_forever()


def _why_not(arguments: Namespace, error: Exception) -> str:
    """Why the page cannot be served, and what would help."""
    if isinstance(error, ValueError):
        return f"{arguments.file}: the strings do not fit on their tracks as listed; list them otherwise"
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    return f"--port {arguments.port}: it cannot be had ({reason}); give another, or leave it out"


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """All that is wrong with the arguments."""
    wrong = []
    if not 0 <= arguments.port <= _MOST_PORT:
        wrong.append(f"--port {arguments.port}: give a number from 0 to {_MOST_PORT}")
    for name, value in (("limit", arguments.limit_seconds), ("proof", arguments.proof_seconds)):
        if not value > 0:
            wrong.append(f"--{name}-seconds {value:g}: give a time above zero")
    return wrong
