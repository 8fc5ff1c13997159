"""Paper for pictures: a figure as wide as a phone's screen, panels and lines of text placed from its top in inches."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, Any, Final

from loadworthy.report.text import clean
from loadworthy.report.vector import COLOURS, FONT_PT, SMALL_PT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

__all__ = [
    "LEFT_IN",
    "LINE_IN",
    "RIGHT_IN",
    "WIDTH_IN",
    "blank",
    "hollow",
    "named",
    "panel",
    "say",
    "say_within",
    "ticks",
    "width_in",
]

WIDTH_IN: Final = 4.4
#: What is left of panels for the numbers of their axis, and right of them.
LEFT_IN: Final = 0.44
RIGHT_IN: Final = 0.16
#: Letters of a name: no part number is longer, and a text that is none ends somewhere.
_NAME_LETTERS: Final = 80
#: A line of text.
LINE_IN: Final = 0.19


def blank(height_in: float) -> Figure:
    """Make a figure of the common width."""
    from matplotlib.figure import Figure  # noqa: PLC0415 - it takes long to start, and only pictures need it

    figure = Figure(figsize=(WIDTH_IN, height_in))
    figure.patch.set_visible(False)
    return figure


def panel(figure: Figure, top_in: float, height_in: float, *, left_in: float = LEFT_IN) -> Axes:
    """Add axes by their distance from the top, so that text of known height stands between them."""
    whole = figure.get_figheight()
    place = (left_in / WIDTH_IN, 1.0 - (top_in + height_in) / whole)
    axes = figure.add_axes((*place, 1.0 - (left_in + RIGHT_IN) / WIDTH_IN, height_in / whole))
    axes.patch.set_visible(False)
    axes.grid(visible=True, color=COLOURS["faint"], linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(color=COLOURS["ink"], labelcolor=COLOURS["ink"], labelsize=SMALL_PT, width=0.7, length=3, pad=2.5)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(COLOURS["ink"])
        spine.set_linewidth(0.8)
    return axes


def ticks(axes: Axes, *, across: int = 6, up: int = 5) -> None:
    """Put few numbers at the axes: a phone has no room for more."""
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415 - as above

    steps = [1, 2, 2.5, 5, 10]
    axes.xaxis.set_major_locator(MaxNLocator(nbins=across, steps=steps))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=up, steps=steps))


def say(figure: Figure, text: str, left_in: float, top_in: float, **how: Any) -> Text:  # noqa: ANN401 - as Figure.text
    """Write a line by its distance from the left and the top."""
    return figure.text(
        left_in / WIDTH_IN, 1.0 - top_in / figure.get_figheight(), text, **{"va": "top", "ha": "left", **how}
    )


def width_in(text: Text) -> float:
    """Return how wide a text is, in the font that is measured with; the page's own may be narrower."""
    figure = text.figure
    assert figure is not None  # noqa: S101 - for the type checker
    # The font that is measured with has no wide letters, and takes a narrow box in their place.
    wide = sum(unicodedata.east_asian_width(letter) in "WF" for letter in text.get_text())
    return float(text.get_window_extent().width / figure.dpi) + 0.45 * wide * FONT_PT / 72.0


def say_within(figure: Figure, text: str, left_in: float, top_in: float, *, room_in: float) -> Text:
    """Write a line from the left that takes no more than the room there is, its end left out where it would."""
    said = say(figure, text, left_in, top_in)
    whole = said.get_text()
    for letters in range(len(whole) - 1, 0, -1):
        if width_in(said) <= room_in:
            break
        said.set_text(whole[:letters].rstrip() + "…")
    return said


def named(name: object, most: int = _NAME_LETTERS) -> str:
    """Write a name from a list in at most so many letters."""
    text = clean(name)
    return text if len(text) <= most else text[: most - 1] + "…"


def hollow(colour: str) -> dict[str, Any]:
    """Return how a marker looks that lets the line beneath be seen."""
    return {"markersize": 5.0, "markeredgewidth": 1.2, "markerfacecolor": COLOURS["paper"],
            "markeredgecolor": COLOURS[colour]}  # fmt: skip
