"""``switchsolve draw``: the district as a picture, with a plan as a filmstrip if asked for."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path

from switchsolve.cli.codes import OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.pictures import print_pictures
from switchsolve.cli.progress import Progress
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.drawing import (
    draw,
    film_svg,
    make_scene,
    placed_at_start,
    png_bytes,
    scene_svg,
    scenes_of,
)
from switchsolve.errors import DrawingError
from switchsolve.plan import Plan, Solution
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve
from switchsolve.words import still_captions

__all__ = ["run_draw"]

_ENDINGS = (".svg", ".png")


def run_draw(arguments: Namespace) -> int:
    """Draw one file; returns the exit code."""
    output = arguments.output
    if output is not None and Path(output).suffix.lower() not in _ENDINGS:
        print(f"-o {output}: name a file that ends in {' or '.join(_ENDINGS)}", file=sys.stderr)
        return USAGE
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        print(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero", file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    plan, code = None, OK
    if arguments.plan:
        solution = solve(puzzle, seconds=arguments.limit_seconds, tell=Progress())
        plan, code = solution.plan, CODE_OF_VERDICT[solution.verdict]
        if plan is None:
            print(_no_plan(solution), file=sys.stderr)
            return code
    try:
        if output is not None:
            _write(Path(output), _svg(puzzle, plan, to_scale=not arguments.even))
        if output is None or arguments.terminal or arguments.ascii:
            print_pictures(puzzle, plan, ascii_only=arguments.ascii)
    except DrawingError as error:
        print(f"draw: {error}", file=sys.stderr)
        return USAGE
    return code


def _no_plan(solution: Solution) -> str:
    return f"draw --plan: there is no plan to draw ({solution.verdict.value})"


def _svg(puzzle: Puzzle, plan: Plan | None, *, to_scale: bool) -> str:
    ground = draw(puzzle, to_scale=to_scale)
    if plan is None:
        return scene_svg(make_scene(ground, puzzle, placed_at_start(puzzle)))
    return film_svg(scenes_of(ground, puzzle, plan), still_captions(puzzle, plan))


def _write(path: Path, svg: str) -> None:
    data = png_bytes(svg) if path.suffix.lower() == ".png" else svg.encode("utf-8")
    try:
        path.write_bytes(data)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise DrawingError(f"{path}: it cannot be written ({reason}); name another file") from None
