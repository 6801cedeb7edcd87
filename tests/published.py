"""Shunting puzzles in print, as puzzles of this project.  One grid unit is one unit.

Print counts reversals with every engine under way at the start; moves = reversals + engines.
"""

from __future__ import annotations

from switchsolve.district import District, End, Junction, KeepClear, Marks, Part, Route, Spot, Track
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import EndsIn, Free, LocomotiveEnds, Place, Train, Work

__all__ = ["railway_muddle", "railway_shunting", "wye_exchange", "yard"]

PLAIN = Marks()


def _turnout(name: str, marks: Marks = PLAIN) -> Junction:
    """A turnout one unit long on both routes."""
    routes = (Route("points", "straight", 1), Route("points", "diverging", 1))
    return Junction(name, "turnout", ("points", "straight", "diverging"), routes, marks=marks)


def _link(here: str, there: str) -> tuple[End, End]:
    one, other = here.split(), there.split()
    return End(one[0], one[1]), End(other[0], other[1])


def railway_shunting() -> Puzzle:
    """H. E. Dudeney, Modern Puzzles (1926) no. 48, "Railway Shunting": two trains pass by a spur of one.

    From the left an engine with three carriages behind it, from the right an engine with two.  The spur
    holds one vehicle; its points are entered while moving right.  They must go on, engines in front,
    carriages in order. Printed minimum: 14 reversals with both engines under way, so 16 moves.  Lengths
    are this project's: vehicles and turnout 1, main line 7 on each side.
    """
    district = District(
        tracks=(Track("left", (Part(7),)), Track("right", (Part(7),)), Track("spur", (Part(1),))),
        junctions=(_turnout("turnout"),),
        links=(
            _link("turnout points", "left to"),
            _link("turnout straight", "right from"),
            _link("turnout diverging", "spur from"),
        ),
    )
    start = Start(
        strings=(StartString("left", ("a3", "a2", "a1", "A")), StartString("right", ("B", "b1", "b2"))),
        heads={"A": "to", "B": "from"},
        under_way={"A": "to", "B": "from"},
    )
    eastbound = Train("A", "right", frozenset({"a1", "a2", "a3"}), "to", _in_order("a1", "a2", "a3"), "a3")
    westbound = Train("B", "left", frozenset({"b1", "b2"}), "from", _in_order("b1", "b2"), "b2")
    cars = tuple(Car(name, 1) for name in ("a1", "a2", "a3", "b1", "b2"))
    engines = (Locomotive("A", 1), Locomotive("B", 1))
    return Puzzle(
        district, cars, engines, start, Work((eastbound, westbound)), title="Railway Shunting", grid=1
    )


def railway_muddle(side: int = 8) -> Puzzle:
    """H. E. Dudeney, Amusements in Mathematics (1917) no. 223, "A Railway Muddle": two trains and a loop.

    Single line, one loop; each side of it holds ``side`` wagons (in print eight), or one fewer and an engine.
    Two trains of an engine and ``2 * side`` wagons must get past, whole, engine in front.  Printed minimum: 6
    reversals, hand-found, on turnouts of no length.  In print each train stands with its engine and as many
    wagons as go in on one side of the loop, the others on the line behind.  Here it comes along the line,
    under way, engine in front: from there it runs to where print has it without a reversal.  Lengths are this
    project's: vehicles and turnouts 1, the line ``4 * side + 1`` at each end, which holds both trains but one
    engine.  The wagons of one train are interchangeable.
    """
    line = Part(4 * side + 1)
    district = District(
        tracks=(
            Track("left", (line,)),
            Track("right", (line,)),
            Track("upper", (Part(side),)),
            Track("lower", (Part(side),)),
        ),
        junctions=(_turnout("west"), _turnout("east")),
        links=(
            _link("west points", "left to"),
            _link("west straight", "upper from"),
            _link("west diverging", "lower from"),
            _link("east points", "right from"),
            _link("east straight", "upper to"),
            _link("east diverging", "lower to"),
        ),
    )
    ours = tuple(f"a{number}" for number in range(1, 2 * side + 1))
    theirs = tuple(f"b{number}" for number in range(1, 2 * side + 1))
    start = Start(
        strings=(StartString("left", (*reversed(ours), "A")), StartString("right", ("B", *theirs))),
        heads={"A": "to", "B": "from"},
        under_way={"A": "to", "B": "from"},
    )
    eastbound = Train("A", "right", frozenset(ours), "to", (frozenset(ours),))
    westbound = Train("B", "left", frozenset(theirs), "from", (frozenset(theirs),))
    cars = tuple(Car(name, 1) for name in (*ours, *theirs))
    engines = (Locomotive("A", 1), Locomotive("B", 1))
    return Puzzle(
        district, cars, engines, start, Work((eastbound, westbound)), title="A Railway Muddle", grid=1
    )


def _in_order(*names: str) -> tuple[frozenset[str], ...]:
    return tuple(frozenset({name}) for name in names)


def wye_exchange(back: bool) -> Puzzle:
    """W. W. Rouse Ball, Mathematical Recreations and Essays (4th ed. 1905), "Shunting problems": a wye.

    Main line through the turnouts D and F, whose legs B and C meet in a stub that holds one wagon but not
    the engine.  Wagon P on leg B and wagon Q on leg C change places; ``back``: the engine ends where it
    was, between D and F.  The printed manoeuvre has 16 reversals; no minimum is claimed.  Lengths are
    this project's: vehicles, turnouts and stub 1, every other track 6, the engine under way towards F.
    """
    stub = Track("stub", (Part(1, Marks(no_locomotives=True)),))
    district = District(
        tracks=(*(Track(name, (Part(6),)) for name in ("left", "middle", "right", "B", "C")), stub),
        junctions=(_turnout("D"), _turnout("F"), _turnout("wye")),
        links=(
            _link("D points", "left to"),
            _link("D straight", "middle from"),
            _link("D diverging", "B from"),
            _link("F points", "right from"),
            _link("F straight", "middle to"),
            _link("F diverging", "C from"),
            _link("wye points", "stub from"),
            _link("wye straight", "B to"),
            _link("wye diverging", "C to"),
        ),
    )
    start = Start(
        strings=(StartString("middle", ("E",)), StartString("B", ("P",)), StartString("C", ("Q",))),
        heads={"E": "to"},
        under_way={"E": "to"},
    )
    ends = (LocomotiveEnds("E", "middle"),) if back else ()
    work = Work((EndsIn("P", (Place("C"),)), EndsIn("Q", (Place("B"),)), *ends))
    return Puzzle(
        district, (Car("P", 1), Car("Q", 1)), (Locomotive("E", 1),), start, work, title="Wye", grid=1
    )


def yard(drawn: tuple[str, ...], *, lead_is_empty: bool) -> Puzzle:
    """A yard of three dead-end tracks for 5, 3 and 3 cars, studied by S. R. Blackburn.

    Electronic Journal of Combinatorics 26(2) (2019) P2.8 asks when such yards can always be solved.  One lead
    for the locomotive and 3 cars, two turnouts back to back, each shorter than a car and to be kept clear.
    The cars 1 to 5 stand on the long track, 1 next to the points, 6 to 8 on a short one; the five ``drawn``
    must come to stand on the long track in that order, read from the points; the others may end anywhere,
    or, if ``lead_is_empty``, anywhere but on the lead.  Lengths are this project's: vehicles 2, turnouts 1.
    """
    doors = tuple(Spot(str(number), 2 * number - 1) for number in range(1, 6))
    clear = Marks(keep_clear=KeepClear.ALWAYS)
    district = District(
        tracks=(
            Track("lead", (Part(8),)),
            Track("long", (Part(10),), doors),
            Track("short", (Part(6),)),
            Track("other", (Part(6),)),
        ),
        junctions=(_turnout("A", clear), _turnout("B", clear)),
        links=(
            _link("A points", "lead to"),
            _link("A straight", "long from"),
            _link("A diverging", "B points"),
            _link("B straight", "short from"),
            _link("B diverging", "other from"),
        ),
    )
    names = tuple("12345678")
    start = Start(
        strings=(
            StartString("lead", ("S",)),
            StartString("long", names[:5]),
            StartString("short", names[5:]),
        ),
        heads={"S": "to"},
    )
    wanted = [EndsIn(name, (Place("long", str(number)),)) for number, name in enumerate(drawn, 1)]
    left = [name for name in names if name not in drawn]
    off = [EndsIn(name, (Place("short"), Place("other"))) if lead_is_empty else Free(name) for name in left]
    cars = tuple(Car(name, 2) for name in names)
    work = Work((*wanted, *off))
    return Puzzle(district, cars, (Locomotive("S", 2),), start, work, title="Yard of 5, 3 and 3", grid=1)
