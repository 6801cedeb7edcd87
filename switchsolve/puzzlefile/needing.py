"""Tracks that the rest of a file asks for, so that they cannot be left out."""

from __future__ import annotations

from switchsolve.puzzlefile.schema import PuzzleFile

__all__ = ["needed_tracks"]


def needed_tracks(file: PuzzleFile) -> dict[str, str]:
    """Tracks that something else in the file asks for, and what does."""
    work = file.work
    needed = {track: "something stands there at the start" for track, row in file.start.items() if row}
    names = [*work.spot.values(), *(p for several in work.set_to_any_of.values() for p in several)]
    names += [one.to for one in work.any]
    for text in names:
        for track in file.tracks:
            if text == track or text.startswith(track + " "):
                needed[track] = "the work names it"
    tracks = [one.ends_in for one in work.locomotive.values()] + [train.departs_on for train in work.train]
    needed |= dict.fromkeys((name for name in tracks if name), "the work names it")
    standards = file.standards
    needed |= dict.fromkeys([*standards.spur_holds, *standards.clear_at_end], "the standards name it")
    if file.traffic is not None:
        needed |= dict.fromkeys([file.traffic.train, *file.traffic.industries], "the traffic needs it")
    return needed
