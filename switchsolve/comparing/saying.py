"""The answer in one sentence."""

from __future__ import annotations

from fractions import Fraction

from switchsolve.comparing.figures import Interval
from switchsolve.comparing.once import Compared
from switchsolve.comparing.tallying import Differences
from switchsolve.minutes import SpanOfTime, span_text
from switchsolve.plan import Verdict

__all__ = ["minutes_text", "range_text", "sentence_of", "sentence_once"]


def sentence_of(first: str, second: str, found: Differences) -> str:
    """What a session with the arrangement called ``second`` takes, beside ``first``."""
    return f"{_moves_sentence(first, second, found)}{_cannot(first, second, found)}"


def _moves_sentence(first: str, second: str, found: Differences) -> str:
    """Moves and minutes of the sessions compared."""
    if not found.compared:
        return f'There is no session in which "{first}" and "{second}" can be compared.'
    count = f"{found.compared} session" + ("s" if found.compared > 1 else "")
    if set(found.moves) == {0}:
        return f'"{second}" takes as many moves as "{first}" in each of {count}.'
    moves = found.mean_moves()
    how_often = f"more in {found.more} of {count}, fewer in {found.fewer}"
    if moves.low is not None and moves.high is not None and moves.low <= 0 <= moves.high:
        return (
            f'No difference is shown between "{second}" and "{first}": with "{second}" a session takes '
            f"{_amount(moves, 1, 'move', 2)} ({range_text(moves)} moves more), {how_often}."
        )
    return (
        f'With "{second}" a session takes {_amount(moves, 1, "move", 2)} than with "{first}" '
        f"({_absolute(moves)}){_minutes(found)}; {how_often}."
    )


def _cannot(first: str, second: str, found: Differences) -> str:
    """What cannot be done, or is not known."""
    parts = []
    if found.only_first:
        parts.append(f'"{second}" cannot do all the work in {found.only_first} that "{first}" can do')
    if found.only_second:
        parts.append(f'"{first}" cannot do all the work in {found.only_second} that "{second}" can do')
    if found.neither:
        parts.append(f"neither can in {found.neither}")
    if found.not_decided:
        parts.append(f"{found.not_decided} not proved, and left out")
    return f" Of all {found.sessions} sessions: {'; '.join(parts)}." if parts else ""


def _amount(figure: Interval, one: float, word: str, places: int) -> str:
    """A mean as so many more or fewer."""
    value = f"{abs(figure.figure) / one:.{places}f}"
    return f"{value} {word}{'' if float(value) == 1 else 's'} {'more' if figure.figure > 0 else 'fewer'}"


def range_text(figure: Interval, one: float = 1.0) -> str:
    """The range of a figure."""
    if figure.low is None or figure.high is None:
        return "too few sessions for a range"
    return f"95 in 100: {_signed(figure.low / one)} to {_signed(figure.high / one)}"


def _signed(value: float) -> str:
    text = f"{value:.2f}"
    return "0.00" if text == "-0.00" else text


def _absolute(figure: Interval) -> str:
    """The range of what is more, or of what is fewer."""
    if figure.low is None or figure.high is None:
        return "too few sessions for a range"
    low, high = sorted((abs(figure.low), abs(figure.high)))
    return f"95 in 100: {low:.2f} to {high:.2f}"


def _minutes(found: Differences) -> str:
    """Minutes, where plain crews can tell them."""
    if not found.with_crew:
        return ""
    return f", and {minutes_text(found.mean_seconds(), found.mean_crew_seconds())}"


def minutes_text(seconds: Interval, crew: Interval) -> str:
    """So many minutes more or less: a range of whole minutes that holds both intervals, that of the plans
    with the fewest moves and that of a plain crew (both in seconds; the mean where there is no interval).
    """
    ends = [end for one in (seconds, crew) for end in (one.low, one.high, one.figure) if end is not None]
    low, high = min(ends), max(ends)
    if low < 0 < high:
        less, longer = (-int(-abs(end) // 60) for end in (low, high))
        return f"between {less} minute{'' if less == 1 else 's'} less and {longer} longer"
    return f"{_whole_range(low, high)} {'longer' if high > 0 else 'less'}"


def _whole_range(one: float, other: float) -> str:
    """From the smaller of two numbers of seconds to the larger, whatever their signs."""
    low, high = sorted((Fraction(abs(one)), Fraction(abs(other))))
    return span_text(SpanOfTime(low, high))


def sentence_once(first: Compared, second: Compared) -> str:
    """What the one set-up takes in the second arrangement, beside the first."""
    ours, theirs = _verdict(first), _verdict(second)
    sentence = f'With "{second.case.name}" the work {theirs}; with "{first.case.name}" it {ours}'
    if first.moves is None or second.moves is None:
        return f"{sentence}."
    both = {first.solution.verdict, second.solution.verdict}
    more = second.moves - first.moves
    if both != {Verdict.PROVED}:
        return f"{sentence}: which is less is not proved."
    if not more:
        return f"{sentence}: no difference."
    return f"{sentence}: {abs(more)} {'more' if more > 0 else 'fewer'}, proved."


def _verdict(one: Compared) -> str:
    """What there is to say of one."""
    if one.moves is None:
        return "cannot be done" if one.solution.verdict is Verdict.IMPOSSIBLE else "was not decided in time"
    moves = f"takes {one.moves} move" + ("s" if one.moves != 1 else "")
    if one.solution.verdict is not Verdict.PROVED:
        moves = f"takes {one.moves} moves at most"
    return moves if one.span is None else f"{moves}, {span_text(one.span)}"
