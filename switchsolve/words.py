"""A plan in a crew's words: one sentence or two for each move."""

from __future__ import annotations

from switchsolve.district import Junction, Track
from switchsolve.plan import Advance, Couple, Cut, Line, Placed, Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Frame, Replay

__all__ = ["counted", "move_texts", "standing_text"]


def counted(number: int, one: str, many: str | None = None) -> str:
    """``3 cars``, ``1 car``."""
    return f"{number} {one if number == 1 else (many or one + 's')}"


def move_texts(puzzle: Puzzle, plan: Plan, replayed: Replay) -> list[str]:
    """What the crew does in each run of ``plan``, then the last cuts, if any."""
    texts = [
        _run_text(puzzle, plan, number, replayed.frames[number], replayed.frames[number + 1])
        for number in range(len(plan.runs))
    ]
    if plan.final_cuts:
        pairs = " and ".join(f"between {one} and {other}" for one, other in plan.final_cuts)
        texts.append(f"At the end uncouple {pairs}.")
    return texts


def _run_text(puzzle: Puzzle, plan: Plan, number: int, before: Frame, after: Frame) -> str:
    run = plan.runs[number]
    string = next(placed.vehicles for placed in before.standing if run.locomotive in placed.vehicles)
    where = _place(puzzle, before, run.locomotive)
    sentences: list[str] = []
    opening = f"{run.locomotive} {'forward' if run.forward else 'back'} from {where}"
    path: list[str] = []
    remaining = list(string)
    for step in run.steps:
        if isinstance(step, Advance):
            path += [way.cell.place for way in step.enters]
            continue
        if path or sentences:
            sentences.append(_through(puzzle, path))
            path = []
        if isinstance(step, Couple):
            sentences.append(f"couple to {_names(step.vehicles)}")
        elif isinstance(step, Cut):
            place = _place(puzzle, after, step.vehicles[0])
            sentences.append(f"cut off {_names(step.vehicles)} ({place})")
            remaining = [name for name in remaining if name not in step.vehicles]
        elif isinstance(step, Line):
            end = next(table for table in puzzle.district.tables if table.name == step.table).meets[
                step.index
            ][1]
            sentences.append(f"line {step.table} to {end}")
    sentences.append(_through(puzzle, path))
    sentences.append(f"stop {_stop(puzzle, after, run.locomotive)}")
    return f"{opening}{_with(puzzle, before, run.locomotive)}: " + ", ".join(s for s in sentences if s) + "."


def _with(puzzle: Puzzle, frame: Frame, loco: str) -> str:
    placed = next(one for one in frame.standing if loco in one.vehicles)
    others = [name for name in placed.vehicles if name != loco]
    return f" with {_names(others)}" if others else ""


def _names(vehicles: tuple[str, ...] | list[str]) -> str:
    return ", ".join(vehicles[:-1]) + (" and " if len(vehicles) > 1 else "") + vehicles[-1]


def _through(puzzle: Puzzle, path: list[str]) -> str:
    """Which tracks are run to, junctions named where the route matters."""
    tracks = [name for name in dict.fromkeys(path) if not isinstance(puzzle.district.place(name), Junction)]
    if not tracks:
        return ""
    return "run to " + tracks[-1] + (f" by way of {_names(tracks[:-1])}" if tracks[:-1] else "")


def _place(puzzle: Puzzle, frame: Frame, name: str) -> str:
    """The track a vehicle stands on, and its spot if it stands at one; or what it is foul of."""
    placed = next(one for one in frame.standing if name in one.vehicles)
    return standing_text(puzzle, placed, name)


def standing_text(puzzle: Puzzle, placed: Placed, name: str) -> str:
    """Where one vehicle of a placed string stands, in words."""
    lengths = puzzle.vehicles
    low = placed.offset + sum(
        lengths[other].length for other in placed.vehicles[: placed.vehicles.index(name)]
    )
    high = low + lengths[name].length
    begin = 0
    touched: list[str] = []
    spots: list[str] = []
    for way in placed.ways:
        end = begin + puzzle.district.cell_length(way.cell)
        if max(begin, low) < min(end, high):
            place = puzzle.district.place(way.cell.place)
            if place.name not in touched:
                touched.append(place.name)
            if isinstance(place, Track):
                before = sum(part.length for part in place.parts[: way.cell.index])
                for spot in place.spots:
                    inside = spot.at - before
                    if 0 <= inside <= end - begin:
                        at = begin + inside if way.sign > 0 else end - inside
                        if low <= at <= high and spot.name not in spots:
                            spots.append(spot.name)
        begin = end
    text = " and ".join(touched)
    return f"{text}, at {' and '.join(spots)}" if spots and len(touched) == 1 else text


def _stop(puzzle: Puzzle, frame: Frame, loco: str) -> str:
    placed = next(one for one in frame.standing if loco in one.vehicles)
    places = list(dict.fromkeys(way.cell.place for way in placed.ways))
    foul = [name for name in places if isinstance(puzzle.district.place(name), Junction)]
    clear = [name for name in places if name not in foul]
    if not foul:
        return f"in the clear on {_names(clear)}"
    return f"standing across {_names(foul)}" + (f", on {_names(clear)}" if clear else "")
