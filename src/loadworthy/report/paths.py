"""The path of an output made ready to be drawn: every link in order, what it may carry against what it must."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from loadworthy.quantities import show

__all__ = ["BARS", "PathView", "Step", "path_views"]

#: A bar that reaches the line may carry just what it must; the picture is twice that wide.
_WIDEST: Final = 2.0
#: What the bars of a path mean, in words.
BARS: Final = (
    "A bar is what a link may carry; the upright line is what it must. A bar that ends before the line falls short. "
    "Bars end at twice what must be carried."
)


@dataclass(frozen=True, kw_only=True)
class Step:
    """One link on the way.

    Attributes
    ----------
    name, kind, where, what
        What it is called, its kind, its place in the board's file, and the kind and part in words.
    share
        Length of the bar: usable over necessary current, at most 2; None where what it may carry is not known.
    enough, weakest, verdict
        Whether it carries what it must, whether it gives in first, and the verdict of the audit.
    told
        Its figures in words.
    """

    name: str
    kind: str
    where: str
    what: str
    share: float | None
    enough: bool
    weakest: bool
    verdict: str
    told: str


@dataclass(frozen=True, kw_only=True)
class PathView:
    """One output's way from the supply to its load.

    Attributes
    ----------
    output, verdict, supply, load
        Its name, the verdict on all of it, and its two ends in words.
    steps
        The links in the order in which the current meets them.
    """

    output: str
    verdict: str
    supply: str
    load: str
    steps: tuple[Step, ...]


def path_views(audit: Mapping[str, Any]) -> list[PathView]:
    """Make the path of every output ready to be drawn.

    Parameters
    ----------
    audit
        The audit as JSON says it.
    """
    links = {line["where"]: line for line in audit["links"]}
    supply = f"{show(audit['supply']['voltage_v'], 'V')}, air {show(audit['surroundings']['ambient_degc'], 'degC')}"
    return [
        PathView(
            output=output["output"],
            verdict=output["verdict"],
            supply=supply,
            load=_load(output),
            steps=tuple(_step(line, weakest=line is weakest) for line in path),
        )
        for output in audit["outputs"]
        for path in [[links[where] for where in output["path"]]]
        for weakest in [_weakest(path, output["weakest"])]
    ]


def _weakest(path: Sequence[Mapping[str, Any]], named: str | None) -> Mapping[str, Any] | None:
    """Return the link that the audit names; a section and an output of one name may both have a link of that name."""
    known = [line for line in path if line["used"] is not None and f"{line['of']}: {line['link']}" == named]
    return max(known, key=lambda line: float(line["used"]), default=None)


def _step(line: Mapping[str, Any], *, weakest: bool) -> Step:
    used = line["used"]
    usable = line["usable_a"]
    share = None if usable is None else _WIDEST if not used else min(1.0 / used, _WIDEST)
    part = f", {line['part']}" if line["part"] else ""
    shared = f", shared: {line['of']}" if line["shared"] else ""
    may = "what it may carry is not known" if usable is None else f"it may carry {show(usable, 'A')}"
    heat = "" if line["temperature_degc"] is None else f", and gets to {show(line['temperature_degc'], 'degC')}"
    return Step(
        name=line["link"],
        kind=line["kind"],
        where=line["where"],
        what=f"{line['kind']}{part}{shared}",
        share=share,
        enough=usable is not None and usable >= line["current_a"],
        weakest=weakest,
        verdict=line["verdict"],
        told=f"{may}, must carry {show(line['current_a'], 'A')}{heat}.",
    )


def _load(output: Mapping[str, Any]) -> str:
    load = output["load"]
    figures = (("resistance_ohm", "ohm"), ("power_w", "W"), ("current_a", "A"))
    said = [show(load[name], unit) for name, unit in figures if load.get(name) is not None]
    return f"{load['kind']}, {', '.join(said)}: {show(output['current_a'], 'A')} at worst"
