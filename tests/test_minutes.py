"""Minutes: a sum of stated figures, a range that never comes of one plan, and figures fitted to a log."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import lsq_linear

from switchsolve.cli import main
from switchsolve.crew import plain_crew
from switchsolve.errors import FileError
from switchsolve.minutes import (
    FIGURES,
    SpanOfTime,
    TimedRun,
    cars_worked,
    figures_of,
    fit,
    minutes_span,
    past_minutes,
    read_log,
    seconds_of,
    span_of,
    span_text,
    timed_runs,
    times_text,
    under_minutes,
    warning_for,
)
from switchsolve.objectives import COMMON_PRACTICE, objective_of
from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle, Times
from switchsolve.puzzlefile import load, loads
from switchsolve.solving import solve

ROOT = Path(__file__).parent.parent
LANE = ROOT / "puzzles" / "cask_lane_facing.toml"
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
OWN = Times(12_000, 9_000, 20_000, 40_000, 2_000_000, 7_000, 90_000, 25_000, 200)
"""Figures of a club, made up: tenths and fifths, so that a sum can be done by hand."""


def _counts(moves: int = 6, couplings: int = 3, cuts: int = 5, thrown: int = 4, tables: int = 1) -> Counts:
    return Counts(moves, moves - 1, couplings, cuts, 3, thrown, tables, 300_000_000)


def _lane(times: Times) -> Puzzle:
    return replace(load(LANE), times=times)


# -- the model -------------------------------------------------------------------------------------------


def test_the_sum_by_hand() -> None:
    """90 s reading, 6 x 12, 3 x 9, 5 x (20 + 0.2 x 25), 4 x 7, 1 x 40, and 300 in at 2 in a second:
    90 + 72 + 27 + 125 + 28 + 40 + 150 = 532 s, added up by hand.
    """
    assert seconds_of(figures_of(_lane(OWN)), _counts()) == 532


def test_twice_the_moves_read_the_list_once() -> None:
    """A crew with a ratio of two takes twice the work, 2 x 442, and reads the list once."""
    assert seconds_of(figures_of(_lane(OWN)), _counts(), Fraction(2)) == 90 + 884


def test_what_a_file_leaves_out_is_borrowed() -> None:
    """Common practice (no source) stands in for each figure left out, and its name is told."""
    found = figures_of(_lane(replace(OWN, turnout=None, speed=None)))
    assert found.borrowed == ("turnout", "speed") and found.turnout == Fraction(
        COMMON_PRACTICE.turnout or 0, 1000
    )
    assert figures_of(_lane(OWN)).borrowed == ()


def test_the_objective_has_five_of_the_figures() -> None:
    """Reading, turnouts and failures change a crew's minutes, and nothing in the objective `minutes`."""
    bare = _lane(Times(*OWN.figures))
    own = _lane(replace(OWN, crew_ratio=(1_100, 1_500)))
    assert objective_of(bare, "minutes") == objective_of(own, "minutes")
    assert seconds_of(figures_of(bare), _counts()) != seconds_of(figures_of(own), _counts())


def test_a_speed_in_scale() -> None:
    """Ten miles an hour in HO: 10 x 17.6 in a second over 87.0857 (304.8 / 3.5, the HO ratio; a mile is
    63,360 in) is 2.021 in of the model.
    """
    text = LANE.read_text(encoding="utf-8")
    speed = loads(f"{text}\n[times]\nscale_mph = 10\n").times.speed
    assert speed is not None and speed == int(
        10 * Fraction(63_360, 3600) / Fraction("304.8") * Fraction("3.5") * 10**6
    )
    assert round(speed / 10**6, 3) == 2.021


def test_cars_of_the_work() -> None:
    """Two to be spotted and two to be picked up at the wharf; three hoppers of any name at the tipple."""
    names = ("glasshouse_switchback", "quarry_hill_three", "cask_lane_facing")
    assert [cars_worked(load(ROOT / "puzzles" / f"{name}.toml")) for name in names] == [4, 3, 1]


# -- the range -------------------------------------------------------------------------------------------


def test_a_range_never_comes_of_one_plan() -> None:
    """Low is the least plan, high the plain crew's; without the crew there is no high end at all."""
    puzzle = load(ROOT / "puzzles" / "glasshouse_switchback.toml")
    least, crew = solve(puzzle, tie_standings=0).counts, plain_crew(puzzle).counts
    assert least is not None and crew is not None and crew.moves > least.moves == 14
    span = span_of(puzzle, least, crew)
    figures = figures_of(puzzle)
    assert (span.low, span.high) == (seconds_of(figures, least), seconds_of(figures, crew))
    alone = span_of(puzzle, least, None)
    assert alone.high is None and span_text(alone).startswith("at least ")


def test_a_clubs_own_ratio_needs_no_plain_crew() -> None:
    """With a ratio of its own both ends are the least plan times it, and no crew's plan counts."""
    puzzle = _lane(replace(OWN, crew_ratio=(1_500, 2_000)))
    span = span_of(puzzle, _counts(), _counts(moves=60))
    assert span == SpanOfTime(Fraction(90 + 663), Fraction(90 + 884), by_ratio=True)


@pytest.mark.parametrize("seconds", [(0, 0), (59, 60), (60, 60), (61, 119), (600, 601), (1234, 4321)])
def test_whole_minutes_whose_ends_differ(seconds: tuple[int, int]) -> None:
    """The range is rounded outwards and never one figure; `under` and `past` stay true, and two figures."""
    low, high = minutes_span(*seconds)
    assert high is not None and low < high and low * 60 <= seconds[0] and high * 60 >= seconds[1]
    under = under_minutes(*seconds)
    assert under[0] < under[1] and all(60 * whole > one for whole, one in zip(under, seconds, strict=True))
    past = past_minutes(*seconds)
    assert past[0] < past[1] and (
        seconds[1] < 60 or all(60 * a <= b for a, b in zip(past, seconds, strict=True))
    )


def test_words_of_a_range() -> None:
    """No decimals, no minute from one figure alone."""
    spans = [(30, 50), (30, 150), (200, 201), (200, None), (20, None)]
    texts = [span_text(SpanOfTime(Fraction(a), None if b is None else Fraction(b))) for a, b in spans]
    assert texts[:4] == ["up to 1 minute", "up to 3 minutes", "3 to 4 minutes", "at least 3 minutes"]
    assert texts[4] == "no telling how many minutes"


def test_unusual_minutes_are_told() -> None:
    """Outside one and a half to five real minutes a car (common practice, no source), for one car."""
    puzzle = load(LANE)
    assert warning_for(puzzle, SpanOfTime(Fraction(90), Fraction(300))) is None
    short = warning_for(puzzle, SpanOfTime(Fraction(89), Fraction(300)))
    long = warning_for(puzzle, SpanOfTime(Fraction(90), Fraction(301)))
    both = warning_for(puzzle, SpanOfTime(Fraction(1), Fraction(999)))
    assert short is not None and "under one and a half" in short and "five" not in short
    assert long is not None and "over five minutes a car" in long and "under" not in long
    assert both is not None and "under one and a half" in both and "over five" in both
    assert not any(re.search(r"\d", text) for text in (short, long, both))


# -- fitting ---------------------------------------------------------------------------------------------

TRUE = {"reading": 95, "new_move": 14, "coupling": 9, "cut": 21, "turnout": 6, "running": Fraction(1, 2)}
"""Seconds of a club that does not exist."""


def _runs(number: int, seed: int, noise: float = 0.0) -> list[TimedRun]:
    """Runs drawn at random, each with the time of :data:`TRUE` and some noise on top (seconds)."""
    random = np.random.default_rng(seed)
    runs = []
    for line in range(number):
        drawn = random.integers(2, 30, 4)
        counts = dict(
            zip(("moves", "couplings", "cuts", "turnouts"), map(Fraction, map(int, drawn)), strict=True)
        )
        counts["distance"] = Fraction(int(random.integers(100, 900)))
        seconds = sum(
            TRUE[name] * counts.get(head or "", Fraction(1)) for name, head in FIGURES.items() if name in TRUE
        )
        seconds += Fraction(round(noise * float(random.standard_normal()), 3)).limit_denominator(1000)
        runs.append(TimedRun(line + 2, Fraction(seconds), counts))
    return runs


def test_known_figures_come_back() -> None:
    """Without noise the figures are found again, to a millionth, and explain all."""
    found = fit(_runs(12, 1))
    assert found.seconds == pytest.approx({name: float(one) for name, one in TRUE.items()}, rel=1e-6)
    assert found.explained == pytest.approx(1) and found.mixed == ()
    assert max(map(abs, found.misses)) < 1e-5 and set(found.missing) == {"table", "failed_uncoupling"}


@pytest.mark.parametrize("seed", range(8))
def test_noise_is_fitted_as_another_solver_does(seed: int) -> None:
    """With noise: none below zero, and the least squares of scipy's ``lsq_linear``, which is another
    algorithm (a trust region, not active sets), on the same table with bounds at zero.
    """
    runs = _runs(10, seed, noise=200.0)
    found = fit(runs)
    heads = [FIGURES[name] for name in found.seconds]
    table = [[1.0 if head is None else float(run.counts[head]) for head in heads] for run in runs]
    timed = [float(run.seconds) for run in runs]
    other = lsq_linear(table, timed, bounds=(0, np.inf), tol=1e-14, max_iter=10_000)
    mine = np.array(list(found.seconds.values()))
    assert (mine >= 0).all()
    assert sum(miss**2 for miss in found.misses) == pytest.approx(2 * other.cost, rel=1e-4)
    assert mine == pytest.approx(other.x, rel=1e-2, abs=0.05)


def test_some_noise_binds_a_figure_to_zero() -> None:
    """The bound at zero is met in the draws above: a fit without it would have a figure below zero."""
    assert any(0 in fit(_runs(10, seed, noise=200.0)).seconds.values() for seed in range(8))


def test_what_cannot_be_told_apart_is_named() -> None:
    """Where each coupling comes with one cut, these two are named and no others; so are cuts that are always
    twice the couplings, and a log of runs that are all alike names all.
    """
    for times in (1, 2):
        runs = [
            replace(run, counts={**run.counts, "cuts": times * run.counts["couplings"]})
            for run in _runs(12, 3)
        ]
        assert fit(runs).mixed == (("coupling", "cut"),)
    alike = [_runs(1, 5)[0]] * 6
    assert fit(alike).mixed == (("reading", "new_move", "coupling", "cut", "turnout", "running"),)
    assert fit(alike).explained is None


def test_what_the_log_lacks_is_inside_the_others() -> None:
    """Without turnouts in the log the table says 0 for them; without distance running takes no time."""
    runs = [
        replace(run, counts={head: run.counts[head] for head in ("moves", "couplings", "cuts")})
        for run in _runs(12, 4)
    ]
    text = times_text(fit(runs), runs, None)
    times = loads(LANE.read_text(encoding="utf-8") + text).times
    assert times.turnout == 0 and times.table == 0
    assert seconds_of(figures_of(_lane(times)), replace(_counts(), distance=0)) == pytest.approx(
        seconds_of(figures_of(_lane(times)), _counts()), abs=0.01
    )


def test_ranges_are_those_of_another_solver_drawn_by_scipy() -> None:
    """``lsq_linear`` (a trust region) on rows drawn one by one by scipy's bootstrap: the same ends."""
    runs = _runs(14, 9, noise=60.0)
    found = fit(runs)
    heads = [FIGURES[name] for name in found.seconds]
    table = np.array([[1.0 if head is None else float(run.counts[head]) for head in heads] for run in runs])
    timed = np.array([float(run.seconds) for run in runs])

    def of_drawn(drawn: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        some = drawn.astype(int)
        return lsq_linear(table[some], timed[some], bounds=(0, np.inf), method="bvls").x  # type: ignore[no-any-return]

    wanted = stats.bootstrap(
        (np.arange(len(runs)),), of_drawn, vectorized=False, n_resamples=1_999, method="percentile",
        rng=np.random.default_rng(1),
    ).confidence_interval  # fmt: skip
    assert [low for low, _ in found.ranges.values()] == pytest.approx(list(wanted.low), rel=1e-5, abs=1e-5)
    assert [high for _, high in found.ranges.values()] == pytest.approx(list(wanted.high), rel=1e-5, abs=1e-5)


def test_ranges_hold_the_true_figures_mostly() -> None:
    """Of logs made from known figures with noise, 95 in 100 of all ranges should hold their figure: of 60 of
    them at least 50 do."""
    inside = []
    for seed in range(10):
        found = fit(_runs(60, 100 + seed, noise=60.0))
        inside += [low < TRUE[name] < high for name, (low, high) in found.ranges.items()]
    assert len(inside) == 60 and sum(inside) >= 50


def test_no_ranges_from_a_few_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With hardly more runs than figures there are none, and that is said."""
    assert fit(_runs(9, 2)).ranges == {} and len(fit(_runs(10, 2)).ranges) == 6
    _written(tmp_path / "log.csv", _runs(9, 2))
    main(["calibrate", str(tmp_path / "log.csv")])
    assert "too few runs to say how well each figure is known" in " ".join(capsys.readouterr().out.split())


def test_the_ratio_and_its_spread_agree_with_scipy() -> None:
    """Percentiles of the crew's moves over the minimum: those of scipy on the same ratios."""
    runs = [replace(run, minimum=max(1, int(run.counts["moves"]) - 2)) for run in _runs(25, 6)]
    ratio = fit(runs).ratio
    assert ratio is not None and ratio.runs == 25
    ratios = [float(run.ratio or 0) for run in runs]
    for share, mine in ((0.1, ratio.low), (0.5, ratio.middle), (0.9, ratio.high)):
        assert mine == stats.quantile(np.array(ratios), share, method="inverted_cdf")
        assert sum(one <= mine for one in ratios) >= share * 25 > sum(one < mine for one in ratios)


def test_what_is_printed_reads_back() -> None:
    """The table of a fit, pasted into a file, is the fit again (tenths of a second, ratios outwards)."""
    runs = [replace(run, minimum=max(1, int(run.counts["moves"]) - 1)) for run in _runs(12, 7)]
    found = fit(runs)
    times = loads(LANE.read_text(encoding="utf-8") + "\n" + times_text(found, runs, "in")).times
    assert (times.new_move, times.coupling, times.cut) == (14_000, 9_000, 21_000)
    assert (times.turnout, times.reading, times.speed) == (6_000, 95_000, 2_000_000)
    assert times.crew_ratio is not None and found.ratio is not None
    assert times.crew_ratio[0] <= 1000 * found.ratio.low and times.crew_ratio[1] >= 1000 * found.ratio.high


def test_no_runs() -> None:
    """Nothing to fit is refused."""
    with pytest.raises(ValueError, match="no runs"):
        fit([])


# -- the log ---------------------------------------------------------------------------------------------

BROKEN = [
    ("", ["line 1: there is no column `minutes`; add it: real minutes of each run, by a watch"]),
    ("minutes,moves,couplings,cuts\n", ["file: there is no run in it; write a row for each timed run"]),
    (
        "minutes,mooves,cuts,cuts\n9,3,1,1\n",
        [
            'line 1, column 2 = mooves: there is no such head; did you mean "moves"?',
            "line 1, column 4 = cuts: this head is there twice; keep one of them",
            "line 2: without a puzzle this run needs moves, couplings; count them, or name the puzzle file "
            "that was worked",
        ],
    ),
    (
        "minutes,moves,couplings,cuts,minimum,failed\n,3,1,1,,\n12:75,3.5,1,-1,,\n9,3,1,2,4,3\nsoon,3,1,1,,,7\n",
        [
            "line 2, minutes: the time of this run is missing; write real minutes, such as 41, 41.5 or 41:30",
            "line 3, moves = 3.5: this is no count; write a whole number",
            "line 3, cuts = -1: this is no count; write a whole number",
            "line 3, minutes = 12:75: this is no time of a run; write real minutes, such as 41, 41.5 or "
            "41:30",
            "line 4, moves = 3: no crew does it in fewer moves than the minimum, 4; count the moves again, "
            "or mend `minimum`",
            "line 4, failed = 3: more cuts failed than there were, 2; count each cut once",
            "line 5 = 7: there are more cells than heads; take commas out, or put the cell in quotes",
            "line 5, minutes = soon: this is no time of a run; write real minutes, such as 41, 41.5 or 41:30",
        ],
    ),
    (
        "minutes,puzzle,minimum,distance\n9,nowhere.toml,3,\n9,a.toml,,far\n",
        [
            "line 2, minimum = 3: with a puzzle the minimum is found; leave one of the two empty",
            "line 3, distance = far: this is no distance; write a length, such as 214.5",
        ],
    ),
]


@pytest.mark.parametrize(("text", "problems"), BROKEN)
def test_everything_wrong_with_a_log_is_told_at_once(
    text: str, problems: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each message names file, line, column, value and cure; the exit code is 3."""
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    assert main(["calibrate", str(path)]) == 3
    assert capsys.readouterr().err.splitlines() == [f"{path}: {problem}" for problem in problems]


def test_a_log_that_cannot_be_read(tmp_path: Path) -> None:
    """No file, a folder, and bytes that are no text."""
    (tmp_path / "bytes.csv").write_bytes(b"minutes\n\xff\n")
    for name, words in (("no.csv", "no such file"), (".", "is a directory"), ("bytes.csv", "not UTF-8")):
        with pytest.raises(FileError, match=words):
            read_log(tmp_path / name)


def _log(folder: Path, text: str) -> Path:
    for name in ("cask_lane_facing", "cask_lane_trailing", "first_spur", "quarry_hill_run_around"):
        (folder / f"{name}.toml").write_bytes((ROOT / "puzzles" / f"{name}.toml").read_bytes())
    path = folder / "log.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_puzzle_fills_in_what_was_not_counted(tmp_path: Path) -> None:
    """The facing spur: 3 moves at least, 1 coupling, 2 cuts, 4 turnouts (the README's figures). A crew of 6
    moves is taken to have done everything twice, but for what it counted itself.
    """
    path = _log(
        tmp_path, "minutes,puzzle,moves,cuts\n9:30,cask_lane_facing.toml,6,7\n5,cask_lane_facing.toml,,\n"
    )
    (slow, plain), unit = timed_runs(path, read_log(path))
    assert unit == "in" and slow.seconds == 570 and slow.ratio == 2 and plain.ratio is None
    assert [slow.counts[head] for head in ("moves", "couplings", "cuts", "turnouts")] == [6, 2, 7, 8]
    assert [plain.counts[head] for head in ("moves", "couplings", "cuts", "turnouts")] == [3, 1, 2, 4]
    assert (slow.cars, plain.cars) == (1, 1)


def test_puzzles_of_a_log_that_will_not_do(tmp_path: Path) -> None:
    """A file that is not there, two units in one log, and fewer moves than the proved minimum."""
    path = _log(
        tmp_path, "minutes,puzzle\n9,nowhere.toml\n9,first_spur.toml\n9,quarry_hill_run_around.toml\n"
    )
    with pytest.raises(FileError) as told:
        timed_runs(path, read_log(path))
    assert [problem.what for problem in told.value.problems] == [
        "there is no such file",
        "the puzzle files measure in in and mm",
    ]
    path = _log(tmp_path, "minutes,puzzle,moves\n9,cask_lane_facing.toml,2\n")
    with pytest.raises(FileError, match=r"line 2, moves = 2: no crew does .* than the minimum, 3"):
        timed_runs(path, read_log(path))


def test_semicolons_will_do(tmp_path: Path) -> None:
    """A spreadsheet that writes semicolons is understood, and so are a mark of UTF-8 and empty lines."""
    path = tmp_path / "log.csv"
    path.write_text("\ufeffMinutes;moves;couplings;cuts\n9;3;1;1\n;;;\n", encoding="utf-8")
    (row,) = read_log(path)
    assert row.seconds == 540 and row.numbers["moves"] == 3


# -- the command -----------------------------------------------------------------------------------------

HEADS = "minutes,moves,couplings,cuts,turnouts,distance,minimum,cars"


def _written(path: Path, runs: list[TimedRun]) -> None:
    rows = [
        ",".join(str(float(one)) if head == "distance" else str(int(one)) for head, one in run.counts.items())
        for run in runs
    ]
    lines = [
        f"{float(run.seconds) / 60:.9f},{row},{max(1, int(run.counts['moves']) - 1)},4"
        for run, row in zip(runs, rows, strict=True)
    ]
    path.write_text("\n".join([HEADS, *lines]), encoding="utf-8")


def test_the_screen_and_the_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """80 columns, whole minutes, the table ready to paste, and the same in the file of ``-o``."""
    _written(tmp_path / "log.csv", _runs(12, 1))
    out = tmp_path / "times.toml"
    assert main(["calibrate", str(tmp_path / "log.csv"), "-o", str(out)]) == 0
    text = capsys.readouterr().out
    assert all(len(line) <= 80 for line in text.splitlines())
    assert re.search(r"a new move +14 +14 to 14 *\n", text)  # no noise in this log
    assert not re.search(r"\d\.\d+ minutes", text) and "Half of the runs lie within 1 minute" in text
    written = out.read_text(encoding="utf-8")
    assert "\n".join(line.rstrip() for line in written.splitlines()) in text
    assert loads(LANE.read_text(encoding="utf-8") + "\n" + written).times.new_move == 14_000


def test_json_of_a_calibration(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its keys are those of DEVELOPERS.md, and 10 says that something cannot be told apart."""
    runs = [replace(run, counts={**run.counts, "cuts": run.counts["couplings"]}) for run in _runs(12, 2)]
    _written(tmp_path / "log.csv", runs)
    assert main(["calibrate", str(tmp_path / "log.csv"), "--json"]) == 10
    answer = json.loads(capsys.readouterr().out)
    table = DEVELOPERS.split("| key of `calibrate` | type | meaning |")[1].split("\n\n")[0]
    told = {word for row in table.splitlines()[2:] for word in re.findall(r"`([^`]+)`", row.split("|")[1])}
    assert told == set(answer) | {f"runs[].{key}" for key in answer["runs"][0]}
    assert answer["mixed"] == [["coupling", "cut"]]
    assert main(["calibrate", str(tmp_path / "log.csv")]) == 10
    assert "cannot tell apart a coupling and a cut" in " ".join(capsys.readouterr().out.split())


def test_wrong_arguments_of_calibrate(capsys: pytest.CaptureFixture[str]) -> None:
    """All at once, with exit code 2."""
    assert main(["calibrate", "log.csv", "--limit-seconds", "0", "-o", "times.txt"]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "--limit-seconds 0: give a time above zero",
        "-o times.txt: give a name that ends in .toml",
    ]


def test_solve_with_a_crew(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``--crew`` sets the plain crew and a range beside the minimum; a ratio of the file does so itself."""
    glasshouse = ROOT / "puzzles" / "glasshouse_switchback.toml"
    assert main(["solve", str(glasshouse), "--crew", "--json"]) == 0
    crew = json.loads(capsys.readouterr().out)["crew"]
    assert crew["by"] == "plain crew" and crew["moves"][0] == crew["moves"][1] > 14
    assert crew["minutes"][0] < crew["minutes"][1] and "turnout" in crew["borrowed"]
    own = tmp_path / "own.toml"
    own.write_text(
        LANE.read_text(encoding="utf-8") + "\n[times]\ncrew_ratio = [1.2, 1.8]\n", encoding="utf-8"
    )
    assert main(["solve", str(own)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "By the club's own ratio a crew takes 3 to 6 moves." in out and "minutes of real time." in out
    assert main(["solve", str(LANE), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["crew"] is None


def test_one_run_and_a_ratio_between_whole_moves(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Four moves for a minimum of three are 13.3 for ten: not "13 or under"; and one run is no "runs"."""
    path = _log(tmp_path, "minutes,moves,couplings,cuts,minimum\n10,4,1,1,3\n")
    main(["calibrate", str(path)])
    text = " ".join(capsys.readouterr().out.split())
    assert "half the runs 14 or under, one in ten 14 or under, nine in ten 14 or under. With 1 run " in text
    assert "# fitted to 1 timed run new_move" in text
