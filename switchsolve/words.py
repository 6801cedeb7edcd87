"""A plan in a crew's words: one sentence or two for each move."""

from __future__ import annotations

from switchsolve.district import Junction, Track, Way
from switchsolve.lengths import format_length
from switchsolve.plan import Advance, Couple, Cut, Placed, Plan, Run, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Frame, Replay, replay

__all__ = [
    "counted",
    "counts_text",
    "move_texts",
    "run_text",
    "standing_text",
    "still_captions",
    "tightest_text",
    "verdict_text",
]


def counted(number: int, one: str, many: str | None = None) -> str:
    """``3 cars``, ``1 car``."""
    return f"{number} {one if number == 1 else (many or one + 's')}"


def verdict_text(solution: Solution) -> str:
    """The verdict in one sentence, with what stopped the proof."""
    if solution.verdict is Verdict.PROVED and solution.counts is not None:
        return f"Proved minimum: {counted(solution.counts.moves, 'move')}."
    if solution.verdict is Verdict.IMPOSSIBLE:
        return "Impossible: no plan exists (proved)."
    if solution.verdict is Verdict.BEST_FOUND and solution.counts is not None:
        return (
            f"Best found: {counted(solution.counts.moves, 'move')}, cannot be under {solution.lower_bound};"
            f" the proof was stopped by {solution.limit}."
        )
    least = counted(solution.lower_bound or 0, "move")
    return f"Gave up: stopped by {solution.limit} before a plan was found; it cannot be under {least}."


def counts_text(puzzle: Puzzle, solution: Solution) -> str:
    """What the plan with the fewest moves costs, and what of it is proved (empty if there is no plan)."""
    counts = solution.counts
    if counts is None:
        return ""
    handling = "proved least" if solution.couplings_proved else "best found"
    distance = "proved least" if solution.distance_proved else "best found"
    return (
        f"{counted(counts.moves, 'move')} (a move is what a locomotive does between two reversals); "
        f"{counted(counts.couplings, 'coupling')} and {counted(counts.cuts, 'cut')} "
        f"({handling} for so many moves); distance {format_length(counts.distance, puzzle)} ({distance}); "
        f"{counted(counts.cars_moved, 'car')} moved; {counted(counts.turnouts_thrown, 'turnout')} thrown."
    )


def tightest_text(puzzle: Puzzle, solution: Solution, noun: str = "move") -> str:
    """The tightest place of the plan in a sentence (empty if there is none); ``noun`` is what is counted."""
    if solution.tightest is None:
        return ""
    spare = format_length(solution.tightest.spare, puzzle)
    where = f"{solution.tightest.place}, after {noun} {solution.tightest.move}"
    return f"Tightest place: {where}: {spare} to spare."


def still_captions(puzzle: Puzzle, plan: Plan) -> list[str]:
    """What is said of each still of a plan: the start, then each move; what comes after with the last."""
    texts = move_texts(puzzle, plan, replay(puzzle, plan))
    count = len(plan.runs)
    captions = ["At the start.", *(f"{number}. {text}" for number, text in enumerate(texts[:count], 1))]
    captions[-1] = " ".join([captions[-1], *texts[count:]])
    return captions


def move_texts(puzzle: Puzzle, plan: Plan, replayed: Replay) -> list[str]:
    """What the crew does in each run of ``plan``, then the last cuts, if any."""
    texts = [
        run_text(puzzle, run, before, after)
        for run, before, after in zip(plan.runs, replayed.frames, replayed.frames[1:], strict=False)
    ]
    if plan.final_cuts:
        pairs = " and ".join(f"between {one} and {other}" for one, other in plan.final_cuts)
        texts.append(f"At the end uncouple {pairs}.")
    return texts


def run_text(puzzle: Puzzle, run: Run, before: Frame, after: Frame) -> str:
    """What the crew does in one run, from the standing of one frame to that of the next."""
    string = next(placed for placed in before.standing if run.locomotive in placed.vehicles)
    leads_at_head = run.forward == (string.noses[run.locomotive] > 0)
    row = string.vehicles if leads_at_head else string.vehicles[::-1]  # the leading end last
    phrases: list[str] = []
    path: list[str] = []
    for step in run.steps:
        if isinstance(step, Advance):
            path += [way.cell.place for way in step.enters]
            continue
        phrases.append(_going(puzzle, run.locomotive, row, path, is_first=not phrases))
        path = []
        if isinstance(step, Couple):
            phrases.append(f"couple to {_names(step.vehicles)}{_found(puzzle, before, step.vehicles)}")
            row = (*row, *step.vehicles)
        elif isinstance(step, Cut):
            phrases.append(f"cut off {_names(step.vehicles)}{_left(puzzle, after, step.vehicles)}")
            row = row[len(step.vehicles) :]
        else:
            table = next(table for table in puzzle.district.tables if table.name == step.table)
            phrases.append(f"line the {table.name} to {table.meets[step.index][1].place}")
    is_moving = any(isinstance(step, Advance) for step in run.steps[-1:])
    if is_moving:
        phrases.append(_going(puzzle, run.locomotive, row, path, is_first=not phrases))
    phrases.append(_stop(puzzle, after, run.locomotive))
    way = "forward" if run.forward else "back"
    where = _rails(puzzle, string.ways)
    return f"{run.locomotive} {way} from {where}: " + ", ".join(one for one in phrases if one) + "."


def _going(puzzle: Puzzle, loco: str, row: tuple[str, ...], path: list[str], is_first: bool) -> str:
    """Pull or shove what, to where; empty if nothing new is reached and it is not the first thing said."""
    tracks = [name for name in dict.fromkeys(path) if not isinstance(puzzle.district.place(name), Junction)]
    if not tracks and not is_first:
        return ""
    behind, ahead = row[: row.index(loco)], row[row.index(loco) + 1 :]
    if behind and ahead:
        verb = f"pull {_cars(puzzle, behind)}, shoving {_cars(puzzle, ahead)}"
    elif behind:
        verb = f"pull {_cars(puzzle, behind)}"
    elif ahead:
        verb = f"shove {_cars(puzzle, ahead)}"
    else:
        verb = "run light"
    if not tracks:
        return verb if path or behind or ahead else ""
    by_way = f" by way of {_names(tracks[:-1])}" if tracks[:-1] else ""
    return f"{verb} to {tracks[-1]}{by_way}"


def _cars(puzzle: Puzzle, vehicles: tuple[str, ...]) -> str:
    """By name if they are few, or not all cars."""
    engines = {loco.name for loco in puzzle.locomotives}
    return _names(vehicles) if len(vehicles) < 3 or engines & {*vehicles} else f"{len(vehicles)} cars"


def _found(puzzle: Puzzle, before: Frame, vehicles: tuple[str, ...]) -> str:
    """Where a string stood that is coupled to, if it stood there by itself on one track."""
    placed = next((one for one in before.standing if {*one.vehicles} == {*vehicles}), None)
    if placed is None or len({way.cell.place for way in placed.ways}) > 1:
        return ""
    return f" on {placed.ways[0].cell.place}"


def _left(puzzle: Puzzle, frame: Frame, vehicles: tuple[str, ...]) -> str:
    """Where cars were cut off: on a track, at a spot, or foul of what."""
    texts = list(dict.fromkeys(_place(puzzle, frame, name) for name in vehicles))
    if any(" and " in text for text in texts):
        placed = next(one for one in frame.standing if vehicles[0] in one.vehicles)
        return f" standing across {_rails(puzzle, placed.ways)}"
    return f" on {texts[0]}" if len(texts) == 1 else f" on {_names(texts)}"


def _rails(puzzle: Puzzle, ways: tuple[Way, ...]) -> str:
    """The tracks of a path, or its junctions if there is no track."""
    places = list(dict.fromkeys(way.cell.place for way in ways))
    tracks = [name for name in places if not isinstance(puzzle.district.place(name), Junction)]
    return _names(tracks or places)


def _names(vehicles: tuple[str, ...] | list[str]) -> str:
    return ", ".join(vehicles[:-1]) + (" and " if len(vehicles) > 1 else "") + vehicles[-1]


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
    return f"{text}, {' and '.join(spots)}" if spots and len(touched) == 1 else text


def _stop(puzzle: Puzzle, frame: Frame, loco: str) -> str:
    """How the run ends: foul of what, or clear of the last junction behind."""
    placed = next(one for one in frame.standing if loco in one.vehicles)
    places = list(dict.fromkeys(way.cell.place for way in placed.ways))
    foul = [name for name in places if isinstance(puzzle.district.place(name), Junction)]
    if foul:
        return f"stop across {_names(foul)}"
    entered = [way.cell.place for way in frame.entered]
    passed = [name for name in entered if isinstance(puzzle.district.place(name), Junction)]
    return f"stop clear of {passed[-1]}" if passed else f"stop on {_names(places)}"
