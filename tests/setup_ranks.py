"""Does the difficulty of set-ups rank them as troubles do?  ``python -m tests.setup_ranks``

Two troubles that share nothing with the difficulty: that of a seeded solver that picks every move by chance
(:mod:`switchsolve.setups.wandering`, the median of its walks), and what the plain crew takes over the minimum
(one that gives up has more trouble than any that does not), with all its moves beside it.  Set-ups of six
small districts (:mod:`tests.setup_sets`) are drawn with from one to three cars of work.  For each set
Spearman's rank correlation is printed, by SciPy, with its p-value (the chance that ranks with nothing in
common agree as well, two-sided); the same for the number of moves alone.

The weights of the difficulty were chosen on the first two districts.  The others show what it is worth; the
last two were drawn when the weights had long been fixed, and ranked once, with a seed of their own.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from scipy.stats import spearmanr

from switchsolve.crew import plain_crew
from switchsolve.setups import Asking, Drawer, Figures, difficulty_of, grade, trouble_of
from switchsolve.setups.difficulty import is_whole
from tests.setup_sets import BLIND, CHOSEN_ON, SHOWN_ON, district

__all__ = ["AMOUNTS", "Ranked", "correlation", "rank_all", "ranked"]

AMOUNTS = ((1, 0), (0, 1), (1, 1), (2, 0), (2, 1))
"""Cars to spot and cars to pick up."""
_GAVE_UP = 1_000
_BLIND = 20261126
"""The seed of the set that was ranked once."""
_TITLES = {"chosen": "Weights chosen on", "shown": "Not looked at for that:", "blind": "Ranked once:"}


@dataclass(frozen=True)
class Ranked:
    """One set-up: what it is, how hard it is said to be, and the two troubles."""

    district: str
    amount: tuple[int, int]
    figures: Figures
    difficulty: float
    wandering: int
    crew: int


def ranked(name: str, amount: tuple[int, int], draws: int, seed: int = 1, walks: int = 9) -> list[Ranked]:
    """The different ones of so many set-ups drawn on a district, those left out for which forced moves and
    luck are not to be had.
    """
    drawer = Drawer(district(name), spot=amount[0], pick_up=amount[1])
    found = grade(drawer, draws, seed, tries=draws, asking=Asking()).every
    rows = []
    for one in found:
        if not is_whole(one.figures):
            continue
        moves, crew = one.figures.moves, plain_crew(one.puzzle, seconds_each=60)
        wandering = trouble_of(one.puzzle, seed, walks=walks)
        assert wandering is not None and crew.is_decided, one.puzzle.title
        over = _GAVE_UP if crew.counts is None else crew.counts.moves - moves
        difficulty = difficulty_of(one.figures, whole=True)
        rows.append(Ranked(name, amount, one.figures, difficulty, wandering, over))
    return rows


def correlation(one: Sequence[float], other: Sequence[float]) -> tuple[float, float]:
    """Spearman's rank correlation and its p-value, by SciPy."""
    found = spearmanr(one, other)
    return float(found.statistic), float(found.pvalue)


def rank_all(names: Sequence[str], draws: int, workers: int, seed: int = 1) -> list[Ranked]:
    """Every set-up of these districts."""
    jobs = [(name, amount) for name in names for amount in AMOUNTS]
    rows: list[Ranked] = []
    with ProcessPoolExecutor(workers) as pool:
        for one in [pool.submit(ranked, name, amount, draws, seed) for name, amount in jobs]:
            rows += one.result()
            print(f"{len(rows)} set-ups ranked", file=sys.stderr)
    return rows


def _print(title: str, rows: Sequence[Ranked]) -> None:
    print(f"{title}: {len(rows)} set-ups")
    for told, values in (
        ("difficulty", [row.difficulty for row in rows]),
        ("moves alone", [row.figures.moves for row in rows]),
    ):
        wandering, crew = [row.wandering for row in rows], [row.crew for row in rows]
        every = [row.crew + row.figures.moves for row in rows]
        troubles = {"random solver": wandering, "crew's excess": crew, "crew's moves": every}
        found = ((name, correlation(values, trouble)) for name, trouble in troubles.items())
        told_of = ", ".join(f"{name} {value:+.2f} (p {chance:.1g})" for name, (value, chance) in found)
        print(f"  {told:12} {told_of}")


def _print_rows(rows: Sequence[Ranked]) -> None:
    for row in sorted(rows, key=lambda one: one.difficulty):
        figures = row.figures
        assert figures.turnings is not None
        print(
            f"  {row.district:6} {row.amount} moves {figures.moves:2} around {figures.trips} moved "
            f"{len(figures.moved)} forced {figures.forced} luck {float(figures.turnings.luck):.1e} "
            f"difficulty {row.difficulty:5.1f}  random {row.wandering:6} crew +{row.crew}"
        )


def main() -> None:
    """Rank, and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--draws", type=int, default=4, help="of each amount of work (default 4)")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--rows", action="store_true", help="print each set-up, too")
    parser.add_argument("--only", choices=("chosen", "shown", "blind"))
    arguments = parser.parse_args()
    for what, names, seed in (("chosen", CHOSEN_ON, 1), ("shown", SHOWN_ON, 1), ("blind", BLIND, _BLIND)):
        if arguments.only in (None, what):
            rows = rank_all(list(names), arguments.draws, arguments.workers, seed)
            _print(f"{_TITLES[what]} {' and '.join(names)}", rows)
            for name in names:
                _print(f"  {name} by itself", [row for row in rows if row.district == name])
            if arguments.rows:
                _print_rows(rows)


if __name__ == "__main__":
    main()
