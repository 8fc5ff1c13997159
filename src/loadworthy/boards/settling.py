"""The whole board at rest: currents, drops and temperatures that belong together, shared links carrying their sum."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from loadworthy.boards import draws, laws
from loadworthy.boards.flows import downwards, flows
from loadworthy.boards.laws import Body, Conditions
from loadworthy.boards.model import Board, Output, Section
from loadworthy.physics import loads, paths

__all__ = ["Rest", "SettledLink", "SettledOutput", "settled"]

_ROUNDS: Final = 100
_CLOSE: Final = 1e-10


@dataclass(frozen=True, kw_only=True)
class SettledLink:
    """One link at rest; None for what is not known or does not come to rest."""

    current_a: float | None
    resistance_ohm: float | None
    drop_v: float | None
    loss_w: float | None
    temperature_degc: float | None
    runs_away: bool = False


@dataclass(frozen=True, kw_only=True)
class SettledOutput:
    """One output at rest: ``settled``, ``runaway`` or ``starved``, as :class:`loadworthy.physics.paths.SettledPath`."""

    state: str
    current_a: float | None
    load_v: float | None
    load_w: float | None


@dataclass(frozen=True, kw_only=True)
class Rest:
    """The board at rest: by the place of each link, and by the name of each output."""

    links: Mapping[str, SettledLink]
    outputs: Mapping[str, SettledOutput]


@dataclass
class _Group:
    """A section or an output, with what the last round found."""

    group: Section | Output
    conditions: Conditions
    current_a: float
    bodies: tuple[Body, ...] = ()
    path: paths.SettledPath | None = None


def settled(board: Board, conditions: Mapping[str, Conditions], supply_v: float) -> Rest:
    """Find where the board comes to rest on a supply voltage, every load at its nominal value.

    Parameters
    ----------
    board
        The board.
    conditions
        Place of each section or output (``section:NAME``, ``output:NAME``) → what its links meet.
    supply_v
        The voltage; loads that are given by a power keep the resistance that they have at the nominal supply.

    Notes
    -----
    The drop of what is shared depends on all currents, and each current on that drop: they are worked out in
    turns until none changes any more.
    """
    sections = {section.name: _Group(section, conditions[f"section:{section.name}"], 0.0) for section in board.sections}
    outputs = {
        output.name: _Group(
            output, conditions[f"output:{output.name}"], draws.nominal_a(output.load, board.supply.voltage_v)
        )
        for output in board.outputs
    }
    for _ in range(_ROUNDS):
        before = {name: group.current_a for name, group in outputs.items()}
        currents = flows(board, before)
        after: dict[str | None, float] = {None: supply_v}
        for section in downwards(board):
            group = sections[section.name]
            group.current_a = currents[section.name]
            _settle(group, after[section.fed_by], paths.FixedCurrent(current_a=group.current_a))
            after[section.name] = group.path.load_v if group.path is not None else math.nan
        for output in board.outputs:
            group = outputs[output.name]
            _settle(group, after[output.fed_by], draws.as_seen(output.load, board.supply.voltage_v))
            if group.path is not None and group.path.state == "settled":
                group.current_a = group.path.current_a
        if all(math.isclose(group.current_a, before[name], rel_tol=_CLOSE) for name, group in outputs.items()):
            break
    every = [*sections.values(), *outputs.values()]
    links = {link.where: found for group in every for link, found in zip(group.group.links, _told(group), strict=True)}
    return Rest(links=links, outputs={name: _output(board, group, sections) for name, group in outputs.items()})


def _settle(group: _Group, source_v: float, load: paths.Load) -> None:
    if math.isnan(source_v):
        group.path = None
        return
    conditions = group.conditions
    rms = float(loads.rms_current(current_a=group.current_a, duty=conditions.duty))
    group.bodies = tuple(laws.body(link, conditions, group.current_a, rms) for link in group.group.links)
    group.path = paths.settle(supply_v=source_v, load=load, links=[body.link for body in group.bodies])


def _told(group: _Group) -> list[SettledLink]:
    path = group.path
    nothing = SettledLink(current_a=None, resistance_ohm=None, drop_v=None, loss_w=None, temperature_degc=None)
    if path is None:
        return [nothing for _ in group.group.links]
    if path.state != "settled":
        return [
            SettledLink(
                current_a=None,
                resistance_ohm=None,
                drop_v=None,
                loss_w=None,
                temperature_degc=None,
                runs_away=index in path.runaway,
            )
            for index in range(len(group.group.links))
        ]
    duty = group.conditions.duty
    return [
        SettledLink(
            current_a=path.current_a,
            resistance_ohm=float(path.resistance_ohm[index]) if body.resistance_known else None,
            drop_v=float(path.drop_v[index]) if body.resistance_known else None,
            loss_w=duty * (float(path.loss_w[index]) + body.link.other_loss_w) if body.resistance_known else None,
            temperature_degc=float(path.temperature_degc[index]) if body.temperature_known else None,
        )
        for index, body in enumerate(group.bodies)
    ]


def _output(board: Board, group: _Group, sections: Mapping[str, _Group]) -> SettledOutput:
    path = group.path
    if path is None or path.state != "settled":
        state = path.state if path is not None else _upstream(board, group.group, sections)
        return SettledOutput(state=state, current_a=None, load_v=None, load_w=None)
    duty = group.conditions.duty
    return SettledOutput(state="settled", current_a=path.current_a, load_v=path.load_v, load_w=duty * path.load_w)


def _upstream(board: Board, group: Section | Output, sections: Mapping[str, _Group]) -> str:
    """Say what is the matter in the sections before an output that gets nothing."""
    for section in board.feeding(group.fed_by):
        path = sections[section.name].path
        if path is not None and path.state != "settled":
            return path.state
    return "starved"
