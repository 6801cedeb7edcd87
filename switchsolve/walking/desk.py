"""What the page of a walk asks for and is told: plain data in and out, for one walk at a time.

Every answer tells the whole state, with its ``version``.  A request says which version it was made from; one
that was made from another changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from threading import Lock
from typing import Any

from switchsolve.drawing import draw
from switchsolve.drawing.text import clean
from switchsolve.errors import FileError
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.walking.background import Background
from switchsolve.walking.choices import Choice
from switchsolve.walking.picture import ground_svg, layer, layers_of
from switchsolve.walking.session import Step, Walk
from switchsolve.walking.telling import ahead_text
from switchsolve.walking.typed import NAME, Typed, begun_from
from switchsolve.words import counted

__all__ = ["BadRequest", "Desk", "State"]

State = dict[str, Any]


class BadRequest(Exception):
    """A request that no page of ours makes; the message says what is wrong with it."""


class Desk:
    """One walk, for one page.

    ``seconds``: for each question about moves that are still needed; ``proof_seconds``: for the proof of the
    minimum, which goes on meanwhile (``None``: as long as it takes).
    """

    def __init__(self, puzzle: Puzzle, seconds: float, proof_seconds: float | None) -> None:
        self._puzzle = puzzle
        self._seconds, self._proof_seconds = seconds, proof_seconds
        self._lock = Lock()
        self._version = 0
        self._ground = draw(puzzle)
        self._walk = Walk(puzzle)
        self._minimum = Background(puzzle, proof_seconds)
        self._asks: Mapping[str, Callable[[Mapping[str, Any]], State]] = {
            "state": lambda asked: self._state(),
            "go": self._go,
            "undo": lambda asked: self._changed(self._walk.undo()),
            "redo": lambda asked: self._changed(self._walk.redo()),
            "restart": lambda asked: self._begin(self._puzzle, 0),
            "start": lambda asked: self._begin(self._walk.puzzle, _number(asked, "start")),
            "stand": self._stand,
        }

    def close(self) -> None:
        """Stop what goes on."""
        self._minimum.stop()

    @property
    def ground(self) -> str:
        """The schematic as SVG."""
        return ground_svg(self._puzzle, self._ground)

    @property
    def title(self) -> str:
        """What the district is called."""
        return clean(self._puzzle.title) or "A switching district"

    def answer(self, what: str, asked: Mapping[str, Any]) -> State:
        """Do what is asked for.  Raises :class:`BadRequest`."""
        if what in ("ahead", "hint"):
            return self._ahead(asked, with_hint=what == "hint")
        if what == "minimum":
            return {"minimum": self._minimum_text()}
        if what not in self._asks:
            raise BadRequest("there is no such request")
        with self._lock:
            if what != "state" and _number(asked, "version") != self._version:
                return self._state()
            return self._asks[what](asked)

    # ---- steps

    def _go(self, asked: Mapping[str, Any]) -> State:
        number = _number(asked, "choice")
        if not 0 <= number < len(self._walk.stops):
            raise BadRequest(f"there is no choice {number}")
        step = self._walk.go(number)
        self._version += 1
        return self._state(None if asked.get("calm") is True else step)

    def _changed(self, is_changed: bool) -> State:
        self._version += is_changed
        return self._state()

    def _begin(self, puzzle: Puzzle, start: int) -> State:
        """Begin anew; the schematic stays."""
        try:
            walk = Walk(puzzle, start)
        except ValueError as error:
            raise BadRequest(str(error)) from None
        if puzzle is not self._walk.puzzle:
            self._minimum.stop()
            self._minimum = Background(puzzle, self._proof_seconds)
        self._walk = walk
        self._version += 1
        return self._state()

    def _stand(self, asked: Mapping[str, Any]) -> State:
        """Begin where a person says that everything stands; or all that is wrong with it."""
        typed = Typed(
            _text(asked, "start"),
            _words(asked, "heads"),
            _words(asked, "ran"),
            {name: int(word) for name, word in _words(asked, "lined").items() if word.isdecimal()},
        )
        try:
            return self._begin(begun_from(self._puzzle, typed), 0)
        except FileError as error:
            return self._state() | {"problems": [clean(str(problem)) for problem in error.problems]}
        except BadRequest:
            told = f"{NAME}: the strings do not fit on their tracks as they are listed; list them otherwise"
            return self._state() | {"problems": [told]}

    # ---- the state

    def _state(self, step: Step | None = None) -> State:
        walk, here = self._walk, self._walk.here
        picture, words = layer(walk.puzzle, self._ground, here.placed, here.standing.lined)
        met, last_cuts = walk.met, walk.last_cuts
        return {
            "version": self._version,
            "moves": here.moves,
            "couplings": here.couplings,
            "cuts": here.cuts + len(last_cuts),
            "minimum": self._minimum_text(),
            "isDone": met is not None,
            "done": self._done_text() if met is not None else "",
            "choices": [_choice(choice) for choice in walk.choices],
            "steps": [[one.after.moves, clean(one.text)] for one in walk.steps],
            "canUndo": bool(walk.steps),
            "canRedo": walk.can_redo,
            "picture": picture,
            "frames": layers_of(walk.puzzle, self._ground, step) if step is not None else [],
            "standing": words,
            "starts": walk.starts if not walk.steps else 1,
        }

    def _done_text(self) -> str:
        pairs = [f"between {one} and {other}" for one, other in self._walk.last_cuts]
        last = f" At the end uncouple {' and '.join(pairs)}." if pairs else ""
        return clean(f"The work is done in {counted(self._walk.here.moves, 'move')}.{last}")

    def _minimum_text(self) -> str:
        return self._minimum.text()

    # ---- ahead

    def _ahead(self, asked: Mapping[str, Any], with_hint: bool) -> State:
        """How many moves are still needed; asked of a copy, so that steps can be made meanwhile."""
        with self._lock:
            version, walk = self._version, self._walk.copy()
            if _number(asked, "version") != version:
                return {"version": self._version, "ahead": ""}
        onward = walk.ahead(seconds=self._seconds, stop=lambda: self._left(version))
        with self._lock:
            if self._version == version:
                self._walk.learn(onward)
        told: State = {"version": version, "ahead": ahead_text(onward)}
        if with_hint and onward.verdict is not Verdict.IMPOSSIBLE:
            number = walk.good_next(onward)
            if number is not None:
                told |= {"choice": number, "hint": clean(walk.go(number).text)}
        return told

    def _left(self, version: int) -> str | None:
        """Why a question is not to be answered any more."""
        return None if self._version == version else "your next step"


def _choice(choice: Choice) -> State:
    return {
        "who": clean(choice.who),
        "moves": choice.moves,
        "leaves": clean(choice.leaves),
        "goes": clean(choice.goes),
        "kind": choice.kind,
        "places": list(choice.places),
    }


def _number(asked: Mapping[str, Any], key: str) -> int:
    value = asked.get(key)
    if not isinstance(value, int) or isinstance(value, bool):
        raise BadRequest(f"{key} is no whole number")
    return value


def _text(asked: Mapping[str, Any], key: str) -> str:
    value = asked.get(key)
    if not isinstance(value, str):
        raise BadRequest(f"{key} is no text")
    return value


def _words(asked: Mapping[str, Any], key: str) -> dict[str, str]:
    value = asked.get(key, {})
    if not isinstance(value, dict) or not all(isinstance(word, str) for word in value.values()):
        raise BadRequest(f"{key} is no table of words")
    return value
