"""The picture of transistors over current: heat and junction, the load's current, limits, where each runs away."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from loadworthy.quantities import show
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
from loadworthy.report.text import clean
from loadworthy.report.vector import COLOURS, FONT_PT, SMALL_PT, svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

__all__ = ["operating_picture"]

#: Candidates: colour, dashes, marker. Where lines lie on each other dashes and staggered markers still show each.
_KINDS: Final = (
    ("line-1", "-", "o"),
    ("line-2", (0, (5, 2)), "s"),
    ("line-3", (0, (5, 1.6, 1.4, 1.6)), "^"),
    ("line-4", (0, (1.4, 1.6)), "D"),
    ("line-5", (0, (8, 2, 1.4, 2, 1.4, 2)), "P"),
)
_FITTED: Final = ("fitted", (0, (9, 3)), "v")
_MARKERS: Final = 6
#: What a marker behind words takes.
_MARK_IN: Final = 0.16
#: The law of the hot resistance holds to here; beyond it a junction is too hot, and no more is said.
_HOT_DEGC: Final = 175.0


def operating_picture(curves: Mapping[str, Any], *, ident: str) -> str:
    """Draw heat and junction temperature of several transistors over current.

    Parameters
    ----------
    curves
        What :class:`~loadworthy.operating.OperatingCurves` says as JSON.
    ident
        What the picture's ids begin with; one of its own for each picture of a page.
    """
    title = f"Heat and junction temperature over current, in air of {show(curves['ambient_degc'], 'degC')}"
    return svg(lambda: _operating(curves), ident=ident, title=title, words=_operating_words(curves))


def _called(curve: Mapping[str, Any]) -> str:
    name = named(curve["name"])
    return f"fitted now: {name}" if curve["fitted"] else name


def _rest(curve: Mapping[str, Any]) -> str:
    """Say what a part does at the target current."""
    at = curve["at_target"]
    if curve["runs_away_at_target"]:
        return "runs away"
    if at["junction_degc"] is None:
        return f"{show(at['conduction_loss_w'], 'W')}, junction not known"
    return f"{show(at['heat_w'], 'W')}, {show(at['junction_degc'], 'degC')}"


def _runaway(curve: Mapping[str, Any]) -> str:
    return f"runs away at {show(curve['runaway']['current_a'], 'A')}"


def _operating_words(curves: Mapping[str, Any]) -> str:
    """Say in words what the picture shows."""
    target = show(curves["target_a"], "A")
    said = [f"Two panels over current: heat in the part and its junction temperature. The load's current is {target}."]
    for curve in curves["curves"]:
        at, most = curve["at_target"], f"its junction may reach {show(curve['junction_limit_degc'], 'degC')}"
        if curve["runs_away_at_target"]:
            told = f"comes to no rest at {target}"
        elif at["junction_degc"] is None:
            told = f"at {target} makes {show(at['conduction_loss_w'], 'W')} when on; {clean(curve['unknown'])}"
        else:
            told = f"at {target} makes {show(at['heat_w'], 'W')} and gets to {show(at['junction_degc'], 'degC')}"
        if curve["limit"] is not None and curve["limit"]["current_a"] > 0.0:
            most += f", which it does at {show(curve['limit']['current_a'], 'A')}"
        ends = [] if curve["runaway"] is None else [f"it {_runaway(curve)}"]
        ends += [] if curve["heat_limit_w"] is None else [f"it may make {show(curve['heat_limit_w'], 'W')}"]
        said.append("; ".join((f"{_called(curve)} {told}", most, *ends)) + ".")
    if any(curve["runaway"] is not None for curve in curves["curves"]):
        said.append(f"The law holds to a junction of {show(_HOT_DEGC, 'degC')}: before it runs away a part is too hot.")
    return " ".join(said)


def _kinds(curves: Sequence[Mapping[str, Any]]) -> list[tuple[Any, ...]]:
    turns = itertools.cycle(_KINDS)
    return [_FITTED if curve["fitted"] else next(turns) for curve in curves]


def _numbers(values: Iterable[float | None]) -> list[float]:
    return [math.nan if value is None else value for value in values]


def _operating(curves: Mapping[str, Any]) -> Figure:
    parts, currents = curves["curves"], curves["current_a"]
    kinds, most_a = _kinds(parts), (max(currents) if currents else 1.5 * curves["target_a"])
    shown = [curve for curve in parts if curve["runaway"] is not None and curve["runaway"]["current_a"] <= most_a]
    rows, lines = _label_rows([(curve["runaway"]["current_a"] / most_a, _runaway(curve)) for curve in shown])
    switched = any(_switched(curve) for curve in parts)
    heading = "heat in the part, W" + (" (thin: conduction alone)" if switched else "")
    # The target's name stands beside the heading where there is room, else below it.
    beside = _across_in(curves["target_a"] / most_a) - 0.5 * _wide_in(_load(curves)) > 0.06 + _wide_in(heading)
    upper_in, lower_in = 1.35, 1.75
    upper_top = 0.16 + LINE_IN * (len(parts) + (2 if beside else 3))
    lower_top = upper_top + upper_in + 0.24 + LINE_IN * max(lines, 1)
    figure = blank(lower_top + lower_in + 0.46)
    upper, lower = panel(figure, upper_top, upper_in), panel(figure, lower_top, lower_in)
    _legend(figure, curves, kinds)
    _draw_lines(upper, lower, curves, kinds)
    for axes in (upper, lower):
        axes.set_xlim(0.0, most_a)
        axes.axvline(curves["target_a"], color=COLOURS["ink"], linewidth=1.1, gid=f"target-{axes is lower:d}")
    upper.set_ylim(0.0, _most_heat_w(curves))
    upper.tick_params(labelbottom=False)
    limits = sorted({curve["junction_limit_degc"] for curve in parts})
    lower.set_ylim(min(curves["ambient_degc"], 40.0) - 5.0, max([_HOT_DEGC, *(limit + 40.0 for limit in limits)]))
    _limit_lines(upper, [curve["heat_limit_w"] for curve in parts], "W")
    _limit_lines(lower, limits, "degC")
    for axes in (upper, lower):
        ticks(axes)
    say(figure, heading, 0.06, upper_top - LINE_IN * (1 if beside else 2) - 0.04)
    _over(figure, say(figure, _load(curves), 0.0, upper_top - LINE_IN - 0.04, ha="center"), curves["target_a"] / most_a)
    say(figure, "junction, °C", 0.06, lower_top - LINE_IN * max(lines, 1) - 0.06)
    by_part = dict(zip(map(id, parts), kinds, strict=True))
    _runaways(figure, lower, parts=shown, rows=rows, kinds=by_part, top_in=lower_top)
    say(figure, "current, A", WIDTH_IN - RIGHT_IN, lower_top + lower_in + 0.24, ha="right")
    return figure


def _load(curves: Mapping[str, Any]) -> str:
    return f"the load: {show(curves['target_a'], 'A')}"


def _across_in(share: float) -> float:
    """Return how far from the left a share of the panels' width is."""
    return LEFT_IN + (WIDTH_IN - LEFT_IN - RIGHT_IN) * share


def _wide_in(text: str) -> float:
    """Return how wide a line of ours is at most, before there is a figure to measure it in."""
    return 0.62 * FONT_PT / 72.0 * len(text)


def _over(figure: Figure, text: Text, share: float) -> None:
    """Centre a text over a share of the panels' width, moved in where it would leave the picture."""
    half = width_in(text) / 2.0
    text.set_x(min(max(_across_in(share), half + 0.04), WIDTH_IN - half - 0.04) / WIDTH_IN)


def _legend(figure: Figure, curves: Mapping[str, Any], kinds: Sequence[tuple[Any, ...]]) -> None:
    """Write each part's line, name, and what it does at the target, above the panels where nothing is in the way."""
    from matplotlib.lines import Line2D  # noqa: PLC0415 - as above

    say(figure, f"at {show(curves['target_a'], 'A')}", WIDTH_IN - RIGHT_IN, 0.06, ha="right", fontsize=SMALL_PT)
    for row, (curve, (colour, dashes, marker)) in enumerate(zip(curves["curves"], kinds, strict=True), 1):
        top = 0.06 + row * LINE_IN
        middle = 1.0 - (top + 0.085) / figure.get_figheight()
        figure.add_artist(
            Line2D(
                [0.06 / WIDTH_IN, 0.3 / WIDTH_IN, 0.54 / WIDTH_IN], [middle] * 3, color=COLOURS[colour],
                linestyle=dashes, linewidth=1.7, marker=marker, markevery=[1], **hollow(colour),
            )
        )  # fmt: skip
        rest = say(figure, _rest(curve), WIDTH_IN - RIGHT_IN, top, ha="right")
        say_within(figure, _called(curve), 0.64, top, room_in=WIDTH_IN - RIGHT_IN - width_in(rest) - 0.64 - 0.12)


def _switched(curve: Mapping[str, Any]) -> bool:
    """Say whether a part makes so much heat in switching that conduction alone is worth a line of its own."""
    at = curve["at_target"]
    return bool(at["heat_w"]) and at["conduction_loss_w"] < 0.97 * at["heat_w"]


def _draw_lines(upper: Axes, lower: Axes, curves: Mapping[str, Any], kinds: Sequence[tuple[Any, ...]]) -> None:
    currents, parts = curves["current_a"], curves["curves"]
    for turn, (curve, (colour, dashes, marker)) in enumerate(zip(parts, kinds, strict=True)):
        step = max(len(currents) / _MARKERS, 1.0)
        # The markers of each part stand between those of the others.
        places = [int(step * (number + (turn + 0.5) / len(parts))) for number in range(_MARKERS)]
        how = {"color": COLOURS[colour], "linestyle": dashes, "linewidth": 1.7, "marker": marker, **hollow(colour),
               "markevery": [place for place in places if place < len(currents)]}  # fmt: skip
        heat, conducted = _numbers(curve["heat_w"]), _numbers(curve["conduction_loss_w"])
        upper.plot(currents, conducted if curve["unknown"] else heat, gid=f"heat-{turn}", **how)
        if _switched(curve):
            upper.plot(currents, conducted, color=COLOURS[colour], linestyle=dashes, linewidth=0.8)
        lower.plot(currents, _numbers(curve["junction_degc"]), gid=f"junction-{turn}", **how)


def _most_heat_w(curves: Mapping[str, Any]) -> float:
    """Return how far up heat is shown: over every limit, and all that the parts make while they keep theirs."""
    shown = [0.0]
    for curve in curves["curves"]:
        shown.append(curve["heat_limit_w"] or 0.0)
        for values in (curve["heat_w"], curve["conduction_loss_w"]):
            pairs = zip(values, curve["junction_degc"], strict=True)
            shown += [w for w, t in pairs if w is not None and (t is None or t <= curve["junction_limit_degc"])]
    return 1.25 * max(shown) or 1.0


def _limit_lines(axes: Axes, limits: Iterable[float | None], unit: str) -> None:
    """Draw limits across, with one text over the uppermost: near ones would write over each other."""
    found = sorted({limit for limit in limits if limit is not None})
    for limit in found:
        axes.axhline(limit, color=COLOURS["limit"], linewidth=1.2, linestyle=(0, (7, 2, 1, 2)), gid=f"limit-{unit}")
    if found:
        words = " and ".join(show(limit, unit) for limit in found)
        axes.annotate(
            f"limit {words}", (0.0, found[-1]), xycoords=("axes fraction", "data"), xytext=(4, 2.5),
            textcoords="offset points", color=COLOURS["limit"], fontsize=SMALL_PT, va="bottom",
        )  # fmt: skip


def _label_rows(labels: Sequence[tuple[float, str]]) -> tuple[list[int], int]:
    """Give each label that ends at its place a row, counted from below, in which it writes over no other.

    A label further right never stands lower than one that it would cover, so that no leader crosses a text but at the
    very left, where a label has no room before its place. Said too is how many lines they and the heading at the left
    take, which has the uppermost to itself where it must.
    """
    heading = _wide_in("junction, °C")
    ends: list[float] = []
    starts: list[float] = []
    rows = [0] * len(labels)
    for index in sorted(range(len(labels)), key=lambda one: labels[one][0]):
        place, text = labels[index]
        wide = _wide_in(text) + _MARK_IN
        end = max(_across_in(place), LEFT_IN + wide)
        start = end - wide
        row = next((number for number, last in enumerate(ends) if start >= last), len(ends))
        ends[row:] = [end + 0.1, *ends[row + 1 :]]
        starts[row:] = [min([start, *starts[row : row + 1]]), *starts[row + 1 :]]
        rows[index] = row
    return rows, len(ends) + bool(starts and starts[-1] < heading + 0.16)


def _runaways(
    figure: Figure,
    axes: Axes,
    *,
    parts: Sequence[Mapping[str, Any]],
    rows: Sequence[int],
    kinds: Mapping[int, tuple[Any, ...]],
    top_in: float,
) -> None:
    """Mark with a cross, where its line leaves the panel, the current above which a part comes to no rest."""
    from matplotlib.lines import Line2D  # noqa: PLC0415 - as above

    for curve, row in zip(parts, rows, strict=True):
        name, _, marker = kinds[id(curve)]
        colour = COLOURS[name]
        at = curve["runaway"]["current_a"]
        up_in = 0.07 + LINE_IN * row
        axes.plot(
            [at], [1.0], transform=axes.get_xaxis_transform(), marker="x", markersize=7, markeredgewidth=2.0,
            color=colour, linestyle="none", clip_on=False, zorder=5, gid="runaway",
        )  # fmt: skip
        axes.axvline(at, color=colour, linewidth=0.8, linestyle=(0, (1, 2.5)))
        if row:
            axes.plot(
                [at, at], [1.0, 1.0 + up_in / (axes.get_position().height * figure.get_figheight())],
                transform=axes.get_xaxis_transform(), color=colour, linewidth=0.8, clip_on=False,
            )  # fmt: skip
        text = say(
            figure, _runaway(curve), 0.0, top_in - up_in, color=colour, ha="right", va="bottom", fontsize=SMALL_PT
        )
        end = max(_across_in(at / axes.get_xlim()[1]) - 0.03, LEFT_IN + _MARK_IN + width_in(text))
        text.set_x((end - _MARK_IN) / WIDTH_IN)
        # The part's own marker stands behind its words: colour alone would not do.
        mark = (end - 0.5 * _MARK_IN) / WIDTH_IN, 1.0 - (top_in - up_in - 0.055) / figure.get_figheight()
        figure.add_artist(Line2D(*([place] for place in mark), linestyle="none", marker=marker, **hollow(name)))
