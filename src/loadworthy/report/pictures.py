"""Pictures of what was worked out, as SVG for a page: heat over current, derating over the air, what was measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from loadworthy.quantities import show
from loadworthy.report.benches import finding_rows
from loadworthy.report.drawing import (
    LEFT_IN,
    LINE_IN,
    RIGHT_IN,
    WIDTH_IN,
    blank,
    hollow,
    named,
    panel,
    say,
    say_within,
    ticks,
    width_in,
)  # fmt: skip
from loadworthy.report.heat_picture import operating_picture
from loadworthy.report.text import clean
from loadworthy.report.vector import COLOURS, SMALL_PT, svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["derating_picture", "measured_picture", "operating_picture"]


def derating_picture(curve: Mapping[str, Any], *, ident: str) -> str:
    """Draw what a connector or a fuse may carry over the temperature of the air.

    Parameters
    ----------
    curve
        What :class:`~loadworthy.derating.DeratingCurve` says as JSON.
    ident
        What the picture's ids begin with; one of its own for each picture of a page.
    """
    title = f"What {named(curve['name'])} may carry for good over the temperature of the air"
    return svg(lambda: _derating(curve), ident=ident, title=title, words=_derating_words(curve))


def _may(curve: Mapping[str, Any]) -> str:
    usable = curve["operating"]["usable_a"]
    return "what it may carry there is not known" if usable is None else f"may carry {show(usable, 'A')}"


def _derating_words(curve: Mapping[str, Any]) -> str:
    at, airs, usable = curve["operating"], curve["ambient_degc"], curve["usable_a"]
    end = show(airs[-1], "degC")
    said = [
        f"In air of {show(at['ambient_degc'], 'degC')} {named(curve['name'])} has to carry "
        f"{show(at['current_a'], 'A')} and {_may(curve)}.",
        f"In air of {show(airs[0], 'degC')} it may carry {show(usable[0], 'A')}.",
        f"In air of {end} it may carry nothing." if curve["ends"] == "nothing carried"
        else f"In air of {end} it may carry {show(usable[-1], 'A')}; above that nothing is known.",
    ]  # fmt: skip
    said += [f"Assumed: {'; '.join(clean(word) for word in curve['assumed'])}."] if curve["assumed"] else []
    return " ".join(said)


def _derating(curve: Mapping[str, Any]) -> Figure:
    at, airs, usable = curve["operating"], curve["ambient_degc"], curve["usable_a"]
    top_in, high_in = 0.08 + 3 * LINE_IN, 1.9
    figure = blank(top_in + high_in + 0.46)
    axes = panel(figure, top_in, high_in)
    unit = say(figure, "may carry, A", WIDTH_IN - RIGHT_IN, 0.06, ha="right")
    say_within(figure, named(curve["name"]), 0.06, 0.06, room_in=WIDTH_IN - RIGHT_IN - width_in(unit) - 0.18)
    axes.set_xlim(min(airs[0], at["ambient_degc"]), max(airs[-1], at["ambient_degc"] + 5.0) + 5.0)
    axes.set_ylim(0.0, 1.18 * max(*usable, at["current_a"]))
    ticks(axes)
    axes.fill_between(airs, usable, color=COLOURS["line-1"], alpha=0.1, linewidth=0.0)
    axes.plot(airs, usable, color=COLOURS["line-1"], linewidth=1.9, gid="usable")
    if curve["ends"] == "nothing known":
        axes.plot([airs[-1]] * 2, [0.0, usable[-1]], color=COLOURS["limit"], linewidth=1.2, linestyle=(0, (7, 2, 1, 2)))
    low, high = axes.get_xlim()
    place = LEFT_IN + (WIDTH_IN - LEFT_IN - RIGHT_IN) * (at["ambient_degc"] - low) / (high - low)
    axes.axvline(at["ambient_degc"], color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (2, 2)), gid="air")
    axes.plot(
        [at["ambient_degc"]], [at["current_a"]], marker="o", markersize=8, color=COLOURS["ink"], linestyle="none",
        gid="operating", zorder=5,
    )  # fmt: skip
    text = say(
        figure,
        f"● the load: {show(at['current_a'], 'A')} at {show(at['ambient_degc'], 'degC')}; {_may(curve)}",
        0.0, 0.06 + 1.6 * LINE_IN, ha="center", fontsize=SMALL_PT,
    )  # fmt: skip
    half = width_in(text) / 2.0
    text.set_x(min(max(place, half + 0.04), WIDTH_IN - half - 0.04) / WIDTH_IN)
    if at["usable_a"] is not None:
        axes.plot([at["ambient_degc"]], [at["usable_a"]], zorder=4, linestyle="none", marker="o",
                  **hollow("line-1"))  # fmt: skip
    if curve["ends"] == "nothing known":
        say(figure, f"not known above {show(airs[-1], 'degC')}", 0.06, top_in + high_in + 0.24, color=COLOURS["limit"],
            fontsize=SMALL_PT)  # fmt: skip
    say(figure, "air, °C", WIDTH_IN - RIGHT_IN, top_in + high_in + 0.24, ha="right")
    return figure


def measured_picture(findings: Sequence[Mapping[str, Any]], *, ident: str) -> str:
    """Draw measured figures with their uncertainty against what is claimed, each on a scale of its own.

    Parameters
    ----------
    findings
        Findings as JSON says them; ``sample`` in one is named beside it. What was only looked at is left out.
    ident
        What the picture's ids begin with; one of its own for each picture of a page.
    """
    drawn = [one for one in findings if one["unit"] is not None]
    told = finding_rows({"samples": [{"sample": one.get("sample"), "findings": [one]} for one in drawn]})
    words = (
        " ".join(f"{_subject(row)}: {row['shown']}, claimed {row['claimed']}, {row['verdict']}." for row in told)
        or "Nothing was measured."
    )
    title = "What was measured, with its uncertainty (k = 2), against what is claimed"
    return svg(lambda: _measured(drawn, told), ident=ident, title=title, words=words)


def _subject(row: Mapping[str, Any]) -> str:
    return clean(row["title"]) if row["sample"] is None else f"{clean(row['sample'])}, {clean(row['title'])}"


def _measured(findings: Sequence[Mapping[str, Any]], told: Sequence[Mapping[str, Any]]) -> Figure:
    row_in, bar_in = 0.86, 0.26
    figure = blank(0.1 + row_in * max(len(findings), 1))
    for number, (finding, row) in enumerate(zip(findings, told, strict=True)):
        top_in = 0.08 + row_in * number
        verdict = say(figure, row["verdict"], WIDTH_IN - RIGHT_IN, top_in, ha="right", fontweight="bold")
        say_within(figure, _subject(row), 0.06, top_in, room_in=WIDTH_IN - RIGHT_IN - width_in(verdict) - 0.18)
        axes = panel(figure, top_in + LINE_IN + 0.03, bar_in, left_in=0.06)
        axes.set_axis_off()
        _interval(axes, finding)
        low = top_in + LINE_IN + bar_in + 0.06
        say(figure, row["shown"], 0.06, low, fontsize=SMALL_PT)
        say(figure, f"claimed: {row['claimed']}", WIDTH_IN - RIGHT_IN, low, ha="right", fontsize=SMALL_PT,
            color=COLOURS["line-1"])  # fmt: skip
    return figure


def _interval(axes: Axes, finding: Mapping[str, Any]) -> None:
    """Draw one figure: the claimed band, over it the interval in which the measured value lies, and the value."""
    least, most, low, high, value = (
        finding[name] for name in ("claimed_least", "claimed_most", "low", "high", "value")
    )
    bounds = [bound for bound in (least, most, low, high, value) if bound is not None]
    span = (max(bounds) - min(bounds)) or abs(bounds[0]) or 1.0
    left, right = min(bounds) - 0.25 * span, max(bounds) + 0.25 * span
    axes.set_xlim(left, right)
    axes.set_ylim(-1.0, 1.0)
    axes.axhline(0.0, color=COLOURS["faint"], linewidth=1.0)
    if least is not None or most is not None:
        ends = (left if least is None else least, right if most is None else most)
        axes.fill_between(ends, -0.85, 0.85, color=COLOURS["line-1"], alpha=0.16, linewidth=0.0, gid="claimed")
        solid = "-" if finding["claimed_is_limit"] else (0, (2, 2))
        for bound in (least, most):
            if bound is not None:
                axes.plot([bound, bound], [-0.85, 0.85], color=COLOURS["line-1"], linewidth=1.6, linestyle=solid)
    start, end = (left if low is None else low), (right if high is None else high)
    axes.plot([start, end], [0.0, 0.0], color=COLOURS["ink"], linewidth=2.0, gid="uncertainty")
    for bound in (low, high):
        if bound is not None:
            axes.plot([bound, bound], [-0.45, 0.45], color=COLOURS["ink"], linewidth=1.4)
    if value is not None:
        axes.plot([value], [0.0], marker="o", markersize=6.5, color=COLOURS["ink"], linestyle="none", gid="measured")
