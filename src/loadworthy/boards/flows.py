"""How the currents of the outputs add up in what they share, and how much room that leaves for one of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loadworthy.boards.model import Board, Output, Section

__all__ = ["Room", "alone", "downwards", "factor", "flows", "together"]


@dataclass(frozen=True, kw_only=True)
class Room:
    """The greatest current of one output, and the link that sets it.

    ``stopped_by`` is the place of the link, None where nothing known limits it; then the current is None too.
    """

    current_a: float | None
    stopped_by: str | None


def _others(
    board: Board, name: str, loads: Mapping[str, float], currents: Mapping[str, float], without: Section | Output
) -> list[float]:
    """Return the current of each thing that a section feeds, leaving one out."""
    found = [loads[output.name] for output in board.outputs if output.fed_by == name and output is not without]
    return found + [
        currents[section.name] for section in board.sections if section.fed_by == name and section is not without
    ]


def downwards(board: Board) -> list[Section]:
    """Return the sections, each after the one that feeds it."""
    fed: dict[str | None, list[Section]] = {}
    for section in board.sections:
        fed.setdefault(section.fed_by, []).append(section)
    found = list(fed.get(None, ()))
    for section in found:  # grows as it goes
        found += fed.get(section.name, ())
    return found


def _diversity(section: Section) -> float:
    return 1.0 if section.diversity is None else section.diversity


def flows(board: Board, loads: Mapping[str, float]) -> dict[str, float]:
    """Return the current of every section.

    Parameters
    ----------
    board
        The board.
    loads
        Output → its current.

    Returns
    -------
    dict
        Section → the share of the sum of all that it feeds that flows at once, but never less than the greatest of
        them alone.
    """
    fed: dict[str, list[float]] = {section.name: [] for section in board.sections}
    for output in board.outputs:
        if output.fed_by is not None:
            fed[output.fed_by].append(loads[output.name])
    found: dict[str, float] = {}
    for section in reversed(downwards(board)):
        drawn = fed[section.name]
        found[section.name] = max([_diversity(section) * sum(drawn), *drawn], default=0.0)
        if section.fed_by is not None:
            fed[section.fed_by].append(found[section.name])
    return found


def _way(board: Board, output: Output) -> tuple[Section | Output, ...]:
    """Return what the current of an output passes, the section at the supply first."""
    return (*board.feeding(output.fed_by), output)


def _tighter(room: Room, current_a: float, stopped_by: str | None) -> Room:
    if room.current_a is not None and room.current_a <= current_a:
        return room
    return Room(current_a=max(current_a, 0.0), stopped_by=stopped_by or room.stopped_by)


def _least(group: Section | Output, usable: Mapping[str, float | None], room: Room) -> Room:
    for link in group.links:
        amperes = usable[link.where]
        if amperes is not None:
            room = _tighter(room, amperes, link.where)
    return room


def alone(board: Board, output: Output, usable: Mapping[str, float | None]) -> Room:
    """Return the greatest current of an output with nothing else on.

    Parameters
    ----------
    board, output
        The board and its output.
    usable
        Place of each link → its usable current; None where that is not known, which then does not count.
    """
    room = Room(current_a=None, stopped_by=None)
    for group in _way(board, output):
        room = _least(group, usable, room)
    return room


def together(board: Board, output: Output, usable: Mapping[str, float | None], loads: Mapping[str, float]) -> Room:
    """Return the greatest current of an output while the others draw theirs."""
    room = Room(current_a=None, stopped_by=None)
    way = _way(board, output)
    currents = flows(board, loads) if len(way) > 1 else {}
    for group, after in zip(way, (*way[1:], None), strict=True):
        room = _least(group, usable, room)
        bound = room.current_a
        if not isinstance(group, Section) or after is None or bound is None:
            continue
        # From the section's own bound to that of what comes after it on the way to the output.
        others = _others(board, group.name, loads, currents, after)
        if others and max(others) > bound:
            room = Room(current_a=0.0, stopped_by=room.stopped_by)
        else:
            room = _tighter(room, bound / _diversity(group) - sum(others), None)
    return room


def factor(
    board: Board, usable: Mapping[str, float | None], loads: Mapping[str, float]
) -> tuple[float | None, str | None]:
    """Return by what all loads at once may be multiplied, and the place of the link that sets it.

    Every section's current grows as its loads do, so the least ratio of usable current to current is the factor.
    """
    best: tuple[float | None, str | None] = (None, None)
    currents = flows(board, loads)
    groups: list[tuple[Section | Output, float]] = [(section, currents[section.name]) for section in board.sections]
    groups += [(output, loads[output.name]) for output in board.outputs]
    for group, current in groups:
        for link in group.links:
            amperes = usable[link.where]
            if amperes is not None and current > 0.0 and (best[0] is None or amperes / current < best[0]):
                best = (amperes / current, link.where)
    return best
