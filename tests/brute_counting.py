"""The census, and the number of minimum plans, of a tiny district by brute force; for tests only.

On the whole-number positions of :mod:`tests.brute_graph`, one unit at a time, and with none of the product's
search: every placement at rest with each vehicle wholly in a track; every standing that can be reached from
any of them; then moves counted backwards over the actions.  Plans are counted as words of letters (a run, a
unit of a new cell, a cut, a coupling), by the set of all standings that a word can have led to.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterator
from dataclasses import replace

from switchsolve.district import Junction
from switchsolve.puzzle import Puzzle
from switchsolve.work import AnyCars, DoNotTouch
from tests.brute_force import TooManyStates
from tests.brute_graph import Graph
from tests.brute_strings import BACK, Sort, code_of
from tests.changes import without_car
from tests.random_districts import random_puzzle

__all__ = ["brute_census", "brute_plans", "histogram", "tiny"]

State = tuple[int, ...]
Clear = tuple[tuple[str, tuple[tuple[Sort, str], ...]], ...]
"""For each track its vehicles, by sort and heading, from its ``from`` to its ``to`` end."""
Stood = tuple[str, int, int]
"""Name, nose and offset."""
Letter = tuple[object, ...]


def brute_census(puzzle: Puzzle, most_states: int = 200_000) -> dict[Clear, int | None]:
    """The distance of every clear standing (``None``: the work cannot be done from there).

    Raises :class:`tests.brute_force.TooManyStates`.
    """
    graph = Graph(puzzle)
    placed: dict[Clear, set[State]] = defaultdict(set)
    for clear, state in _placements(graph):
        placed[clear].add(state)
    before = _explored(graph, {state for states in placed.values() for state in states}, most_states)
    best = _backwards(graph, before)
    found = {}
    for clear, states in placed.items():
        moves = [best[state] for state in states if state in best]
        found[clear] = min(moves) if moves else None
    return found


def _explored(graph: Graph, states: set[State], most_states: int) -> dict[State, list[tuple[State, int]]]:
    """Everything that can be reached, each with the standings one action before it, and their moves."""
    before: dict[State, list[tuple[State, int]]] = {state: [] for state in states}
    waiting = deque(states)
    while waiting:
        state = waiting.popleft()
        for after, moves in _actions(graph, state):
            if after not in before:
                before[after] = []
                waiting.append(after)
            before[after].append((state, moves))
        if len(before) > most_states:
            raise TooManyStates(f"more than {most_states} standings")
    return before


def _actions(graph: Graph, state: State) -> Iterator[tuple[State, int]]:
    for after, moves, _ in graph.successors(state):
        yield after, moves
    for after in graph.lines(state):
        yield after, 0


def _backwards(graph: Graph, before: dict[State, list[tuple[State, int]]]) -> dict[State, int]:
    """The least moves from each standing to one in which the work is done."""
    best: dict[State, int] = {}
    layers = {0: [state for state in before if graph.finish(state[1:]) is not None]}
    while layers:
        moves = min(layers)
        layer = layers.pop(moves)
        while layer:
            state = layer.pop()
            if state in best:
                continue
            best[state] = moves
            for earlier, cost in before[state]:
                if earlier not in best:
                    (layer if not cost else layers.setdefault(moves + cost, [])).append(earlier)
    return best


# ---- placements


def _placements(graph: Graph) -> Iterator[tuple[Clear, State]]:
    """Every placement at rest, every vehicle wholly in a track or on a table."""
    lining = graph.rail.linings.index(tuple(table.lined for table in graph.puzzle.district.tables))
    district = graph.puzzle.district
    places = [place.name for place in (*district.tracks, *district.tables)]
    fixed = {item.car for item in graph.puzzle.work.items if isinstance(item, DoNotTouch)}
    loose = [name for name in graph.work.start if name not in fixed]

    def fill(at: int, left: tuple[str, ...]) -> Iterator[tuple[Clear, tuple[int, ...]]]:
        if at == len(places):
            if not left:
                yield (), ()
            return
        for row, strings, rest in _rows(graph, places[at], left, fixed):
            for clear, numbers in fill(at + 1, rest):
                yield ((places[at], row), *clear), (*strings, *numbers)

    for clear, numbers in fill(0, tuple(loose)):
        if graph.apart(numbers, lining):
            yield clear, (lining, *sorted(numbers))


def _rows(
    graph: Graph, place: str, left: tuple[str, ...], fixed: set[str]
) -> Iterator[tuple[tuple[tuple[Sort, str], ...], tuple[int, ...], tuple[str, ...]]]:
    """Every row on one track: its vehicles, the numbers of its strings, who is left over."""
    there = graph.puzzle.district.place(place)
    assert not isinstance(there, Junction)
    anchored = {
        string.fixed_at: string.vehicles[0]
        for string in graph.puzzle.start.strings
        if string.track == place and string.vehicles[0] in fixed
    }

    def on(
        offset: int, left: tuple[str, ...], row: list[Stood]
    ) -> Iterator[tuple[list[Stood], tuple[str, ...]]]:
        if offset >= there.length:
            if offset == there.length:
                yield row, left
            return
        if offset in anchored:
            name = anchored[offset]
            yield from on(offset + graph.puzzle.vehicles[name].length, left, [*row, (name, 0, offset)])
            return
        yield from on(offset + 1, left, row)
        for at, name in enumerate(left):
            length = graph.puzzle.vehicles[name].length
            if any(offset < other < offset + length for other in anchored):
                continue
            for nose in (0, 1) if graph.sorts[graph.work.sort_of[name]].live else (0,):
                rest = left[:at] + left[at + 1 :]
                yield from on(offset + length, rest, [*row, (name, nose, offset)])

    for row, rest in on(0, left, []):
        named = tuple((_sort(graph, name), _heading(graph, name, nose)) for name, nose, _ in row)
        for strings in _strings(graph, place, row):
            yield named, strings, rest


def _strings(graph: Graph, place: str, row: list[Stood]) -> Iterator[tuple[int, ...]]:
    """The row cut into strings: what touches is coupled, unless it never couples."""
    cells = [cell for cell in graph.rail.first if cell.place == place]
    first = min(graph.rail.first[cell] for cell in cells)
    groups: list[list[tuple[int, int, int]]] = []
    end = -1
    for name, nose, offset in row:
        length = graph.puzzle.vehicles[name].length
        code = _code(graph, name, nose, place)
        if offset == end and groups and not graph._never_couple(groups[-1][-1][0], code):
            groups[-1].append((code, offset, length))
        else:
            groups.append([(code, offset, length)])
        end = offset + length
    numbers = []
    for group in groups:
        begin = first + group[0][1]
        length = sum(one[2] for one in group)
        path = tuple(2 * unit for unit in range(begin, begin + length))
        codes = tuple(one[0] for one in group)
        if not graph.allowed(codes, path):
            return
        numbers.append(graph.string(codes, path) >> 1)
    yield tuple(numbers)


def _code(graph: Graph, name: str, nose: int, place: str) -> int:
    sort = graph.work.sort_of[name]
    return code_of(sort, nose, 0, graph._has_keep_clear(place))


def _heading(graph: Graph, name: str, nose: int) -> str:
    if not graph.sorts[graph.work.sort_of[name]].live:
        return ""
    return "from" if nose else "to"


def _sort(graph: Graph, name: str) -> Sort:
    """What makes a vehicle another one: its kind only where that matters."""
    sort = graph.sorts[graph.work.sort_of[name]]
    district = graph.puzzle.district
    matters = {kind for cell in district.cells() for kind in district.cell_marks(cell).barred}
    matters |= {item.kind for item in graph.puzzle.work.items if isinstance(item, AnyCars) and sort.candidate}
    return replace(sort, kind=sort.kind if sort.kind in matters else "")


# ---- plans


def brute_plans(puzzle: Puzzle, most_states: int = 200_000) -> tuple[int, int] | None:
    """The fewest moves, and how many different plans have so few (``None``: no plan exists)."""
    graph = Graph(puzzle)
    starts = frozenset(graph.starts())
    best = _backwards(graph, _explored(graph, set(starts), most_states))
    reaching = [best[state] for state in starts if state in best]
    if not reaching:
        return None
    known: dict[tuple[frozenset[tuple[tuple[Letter, ...], State]], int], int] = {}

    def words(states: frozenset[tuple[tuple[Letter, ...], State]], left: int) -> int:
        """How many words lead from any of these standings to the work done, with so many moves."""
        key = states, left
        if key not in known:
            done = any(not pending and graph.finish(state[1:]) is not None for pending, state in states)
            following: dict[Letter, set[tuple[tuple[Letter, ...], State]]] = defaultdict(set)
            for pending, state in states:
                for letters, after in [(pending, state)] if pending else _spelled(graph, state):
                    if letters:
                        following[letters[0]].add((letters[1:], after))
            total = int(done)
            for letter, after in following.items():
                still = left - (letter[0] == "run" and letter[2] == 1)
                useful = {one for one in after if best.get(one[1], left + 1) <= still}
                if useful:
                    total += words(_silent(graph, useful), still)
            known[key] = total
        return known[key]

    least = min(reaching)
    plans = words(_silent(graph, {((), state) for state in starts}), least)
    return least + len(puzzle.start.under_way), plans


def _silent(
    graph: Graph, states: set[tuple[tuple[Letter, ...], State]]
) -> frozenset[tuple[tuple[Letter, ...], State]]:
    """These, and what they can become with no letter."""
    found, waiting = set(states), list(states)
    while waiting:
        pending, state = waiting.pop()
        if pending:
            continue
        for letters, after in _spelled(graph, state):
            if not letters and ((), after) not in found:
                found.add(((), after))
                waiting.append(((), after))
    return frozenset(found)


def _spelled(graph: Graph, state: State) -> list[tuple[tuple[Letter, ...], State]]:
    """Each action with its letters (one locomotive, no table)."""
    strings, numbers = graph.strings, state[1:]
    everything = sum(strings[number].mask for number in numbers)
    found = []
    for number in (n for n in numbers if strings[n].live):
        others = everything ^ strings[number].mask
        for left, oriented, entering, touching, reverses, moves, _ in graph.steps(number, state[0]):
            if others & entering or (reverses and not all(strings[n].clear for n in numbers)):
                continue
            codes, path = graph.read(oriented)
            letters: list[Letter] = []
            if moves:
                live = next(code for code in codes if graph.sorts[code >> 4].live)
                letters.append(("run", live >> 1 & 3 == BACK, moves))
            if left >= 0:
                letters.append(("cut", len(strings[left].vehicles)))
            ahead = path[-2] if len(path) > 1 else strings[number].path[0]
            if graph.rail.cell[path[-1] >> 1] != graph.rail.cell[ahead >> 1]:
                letters.append(("enter", graph.rail.cell[path[-1] >> 1], path[-1] & 1))
            after = [n for n in numbers if n != number] + ([left] if left >= 0 else [])
            moving = oriented >> 1
            met = [n for n in after if strings[n].mask & touching]
            if met:
                coupled = graph.couple(oriented, met[0], state[0])
                if coupled == -2:
                    continue
                if coupled >= 0:
                    after.remove(met[0])
                    moving = coupled
                    theirs = [code >> 4 for code in strings[met[0]].vehicles]
                    letters.append(("couple", *min(theirs, theirs[::-1])))
            found.append((tuple(letters), (state[0], *sorted([*after, moving]))))
    return found


def histogram(census: dict[Clear, int | None]) -> tuple[tuple[int, ...], int]:
    """How many standings at each distance, and how many from which the work cannot be done."""
    counts = Counter(census.values())
    never = counts.pop(None, 0)
    return tuple(counts[d] for d in range(max((d for d in counts if d is not None), default=-1) + 1)), never


def tiny(seed: int, most: int = 30_000) -> tuple[Puzzle, frozenset[str]]:
    """The random puzzle of a seed with so many cars left out that few placements are left.

    ``most``: on units of rail to the power of the vehicles that can move.
    """
    puzzle, features = random_puzzle(seed)
    units = sum(puzzle.district.cell_length(cell) for cell in puzzle.district.cells())
    fixed = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    while units ** (len(puzzle.cars) - len(fixed) + len(puzzle.locomotives)) > most:
        loose = [car.name for car in puzzle.cars if car.name not in fixed]
        if len(loose) < 2:
            break
        puzzle = without_car(puzzle, loose[-1])
    return puzzle, features
