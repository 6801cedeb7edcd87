"""The arguments of ``switchsolve session``."""

from __future__ import annotations

import argparse

__all__ = ["add_session"]


def add_session(session: argparse.ArgumentParser) -> None:
    """Add them to its parser."""
    session.add_argument("file", metavar="LAYOUT", help="a layout file")
    session.add_argument("--sessions", type=int, default=10, metavar="N", help="how many (default 10)")
    session.add_argument("--seed", type=int, default=1, metavar="S", help="of all that is drawn (default 1)")
    session.add_argument("--show", type=int, metavar="N", help="look closely at this one, not the longest")
    session.add_argument("--what-if", action="store_true", help="compare the changes under [what_if], too")
    session.add_argument("--only", metavar="PLACE", help="one district by itself, fed from its entrance")
    session.add_argument("--workers", type=int, metavar="N", help="processes (default: one for each core)")
    session.add_argument(
        "--limit-seconds", type=float, default=4, metavar="N", help="for each piece of work (default 4)"
    )
    session.add_argument("-o", "--output", metavar="OUT.html", help="the answers on a page, too")
    session.add_argument("--json", action="store_true", help="print the answer as JSON (see DEVELOPERS.md)")
