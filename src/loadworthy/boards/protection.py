"""What a fault meets: which fuse surely opens before which link is at its limit, and whether it can.

A transistor never protects anything: it fails on, and then the load is on for good.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from loadworthy.boards.laws import Check, fuse
from loadworthy.boards.model import Board, Fuse, Link, Output
from loadworthy.needs import cautions
from loadworthy.physics import fuses
from loadworthy.quantities import show

__all__ = ["FuseLine", "Protection", "fault_a", "fuse_checks", "protection"]

#: Less than this is no loop that anybody built: its resistances are not given.
_LEAST_LOOP_OHM = 1e-6
NO_FUSE = (
    "No fuse in this path: when a transistor fails on or a wire is pinched, nothing opens but the weakest link. "
    "Fit a fuse first."
)


@dataclass(frozen=True, kw_only=True)
class FuseLine:
    """One fuse of a path.

    Attributes
    ----------
    name, where
        Which fuse it is.
    opens_a, within_s, rule
        At which current it surely opens in the coldest air, within which time where that is known, and by which rule.
    never
        Whether the supply cannot give that current, so that it need not open at all.
    covers, leaves, unknown
        Links behind it that it protects, that it does not, and of which it is not known.
    assumed
        What this rests on.
    """

    name: str
    where: str
    opens_a: float | None
    within_s: float | None
    rule: str
    never: bool
    covers: tuple[str, ...]
    leaves: tuple[str, ...]
    unknown: tuple[str, ...]
    assumed: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Protection:
    """What protects one output's path.

    Attributes
    ----------
    output
        The output.
    fault_a
        Current into a short circuit at the load; None where it is not known.
    fuses
        Every fuse of the path.
    bare
        Links that no fuse of the path protects.
    unknown
        Links of which that is not known.
    warnings
        What is to be said about it.
    assumed
        What this rests on.
    """

    output: str
    fault_a: float | None
    fuses: tuple[FuseLine, ...]
    bare: tuple[str, ...]
    unknown: tuple[str, ...]
    warnings: tuple[str, ...]
    assumed: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        listed = {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(self).items()}
        listed["fuses"] = [
            {name: list(value) if isinstance(value, tuple) else value for name, value in fuse.items()}
            for fuse in listed["fuses"]
        ]
        return listed


def fault_a(
    board: Board, resistance_ohm: Mapping[str, float | None], path: tuple[Link, ...]
) -> tuple[float | None, str]:
    """Return the current into a short circuit at the end of a path, and what it rests on."""
    if board.supply.most_current_a is not None:
        return board.supply.most_current_a, ""
    loop = sum(resistance_ohm.get(link.where) or 0.0 for link in path)
    if loop < _LEAST_LOOP_OHM:
        return None, "the fault current is not known: give most_current of the supply"
    amperes = float(fuses.fault_current(supply_v=board.supply.high_v, loop_ohm=loop))
    missing = [link.name for link in path if resistance_ohm.get(link.where) is None]
    left = f"; without {', '.join(missing)}" if missing else ""
    return amperes, f"fault current of a stiff supply through {show(loop, 'ohm')}, the cold path alone{left}"


def fuse_checks(link: Fuse, board: Board, fault_current_a: float | None) -> tuple[tuple[Check, ...], tuple[str, ...]]:
    """Hold a fuse's voltage and breaking capacity against the board; say what is not given."""
    checks, notes = [], []
    if link.rated_voltage_v is None:
        notes.append("its rated direct voltage is not given, and so not checked")
    else:
        checks.append(
            Check(
                name="voltage",
                rule="its rated voltage is at least the supply's",
                has=link.rated_voltage_v,
                needs=board.supply.high_v,
                unit="V",
                ok=link.rated_voltage_v >= board.supply.high_v,
                source="its data sheet: above it an arc need not go out",
            )
        )
    most = link.most_current_a if link.type == "resettable" else link.breaking_capacity_a
    named = "greatest fault current (Imax)" if link.type == "resettable" else "breaking capacity"
    if most is None:
        steady = "" if link.type == "resettable" else " for direct current"
        notes.append(f"its {named}{steady} is not given, and so not checked")
    elif fault_current_a is None:
        notes.append(f"its {named} is not checked: the fault current is not known")
    else:
        checks.append(
            Check(
                name="fault",
                rule=f"its {named} is at least the fault current",
                has=most,
                needs=fault_current_a,
                unit="A",
                ok=most >= fault_current_a,
                source="its data sheet",
            )
        )
    return tuple(checks), tuple(notes)


def protection(
    board: Board,
    output: Output,
    *,
    ultimate_a: Mapping[str, float | None],
    fault_current_a: float | None,
    fault_assumed: str,
    coldest_degc: float,
) -> Protection:
    """Say what protects an output's path.

    Parameters
    ----------
    board, output
        The board and its output.
    ultimate_a
        Place of each link → the current at which it is at its own limit.
    fault_current_a, fault_assumed
        Current into a short circuit at the load, and what it rests on.
    coldest_degc
        Coldest air: there a fuse opens last.
    """
    path = board.path(output)
    lines = [
        _line(board, link, path[place + 1 :], ultimate_a, coldest_degc)
        for place, link in enumerate(path)
        if isinstance(link, Fuse)
    ]
    covered = {where for cover in lines for where in cover.covers}
    unsure = {where for cover in lines for where in cover.unknown} - covered
    others = [link for link in path if not isinstance(link, Fuse)]
    bare = tuple(link for link in others if link.where not in covered | unsure)
    names = {link.where: link.name for link in path}
    lines = [
        replace(
            line,
            covers=tuple(names[where] for where in line.covers),
            leaves=tuple(names[where] for where in line.leaves),
            unknown=tuple(names[where] for where in line.unknown),
        )
        for line in lines
    ]
    return Protection(
        output=output.name,
        fault_a=fault_current_a,
        fuses=tuple(lines),
        bare=tuple(link.name for link in bare),
        unknown=tuple(link.name for link in others if link.where in unsure),
        warnings=_warnings(path, lines, bare),
        assumed=(fault_assumed,) if fault_assumed else (),
    )


def _line(
    board: Board, link: Fuse, behind: tuple[Link, ...], ultimate_a: Mapping[str, float | None], coldest_degc: float
) -> FuseLine:
    opening = fuse.opening(link, coldest_degc)
    most = board.supply.most_current_a
    never = opening.current_a is not None and most is not None and most < opening.current_a
    covers, leaves, unknown = [], [], []
    for other in behind:
        if isinstance(other, Fuse):
            continue
        limit = ultimate_a[other.where]
        if limit is None or opening.current_a is None:
            unknown.append(other.where)
        elif opening.current_a <= limit:
            covers.append(other.where)
        elif most is not None and most <= limit:
            # The supply cannot drive the link beyond its limit: no fuse is needed for it.
            covers.append(other.where)
        else:
            leaves.append(other.where)
    return FuseLine(
        name=link.name,
        where=link.where,
        opens_a=opening.current_a,
        within_s=opening.within_s,
        rule=opening.rule,
        never=never,
        covers=tuple(covers),
        leaves=tuple(leaves),
        unknown=tuple(unknown),
        assumed=opening.assumed,
    )


def _warnings(path: tuple[Link, ...], lines: list[FuseLine], bare: tuple[Link, ...]) -> tuple[str, ...]:
    if not lines:
        return (NO_FUSE,)
    said = []
    for line in lines:
        if line.opens_a is None:
            said.append(f"When {line.name} opens is not known: {line.rule}.")
        elif line.never:
            said.append(
                f"{line.name} need not open at all: it takes {show(line.opens_a, 'A')} to be sure, which the supply "
                "cannot give."
            )
        if line.leaves and line.opens_a is not None and not line.never:
            said.append(
                f"{line.name} does not protect {', '.join(line.leaves)}: it may carry up to {show(line.opens_a, 'A')} "
                "without opening, more than they stand."
            )
    first = next(place for place, link in enumerate(path) if isinstance(link, Fuse))
    ahead = [link.name for link in path[:first] if link in bare]
    if ahead:
        said.append(f"Ahead of the first fuse, and so without any: {', '.join(ahead)}. A fuse belongs at the supply.")
    if any(isinstance(link, Fuse) and link.type == "resettable" for link in path):
        said.append(cautions.TRIPPED_IS_NOT_OFF)
    return tuple(said)
