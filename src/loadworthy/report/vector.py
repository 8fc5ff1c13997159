"""Pictures as SVG to stand inside a page: text as text, colours of the page, nothing that its rules forbid."""

from __future__ import annotations

import io
import re
import threading
import warnings
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["COLOURS", "FONT_PT", "SMALL_PT", "svg"]

#: Of body text, and of what stands beside a line, in points of the picture: 4.4 in are as wide as a phone's screen.
FONT_PT: Final = 10.0
SMALL_PT: Final = 9.5

_NAMES: Final = ("ink", "faint", "paper", "limit", "fitted", "line-1", "line-2", "line-3", "line-4", "line-5")
#: The page's colours as the drawing library is told them: each stands for a variable of the page's style.
COLOURS: Final[Mapping[str, str]] = {name: f"#0000{number:02x}" for number, name in enumerate(_NAMES, 1)}
_VARIABLES: Final = {colour: f"var(--{name})" for name, colour in COLOURS.items()}

_SVG: Final = "http://www.w3.org/2000/svg"
_XLINK: Final = "{http://www.w3.org/1999/xlink}href"
_REFERENCE: Final = re.compile(r"url\(#([^)]+)\)")
_FONT_SIZE: Final = re.compile(r"([\d.]+)px")
#: What is drawn with: no font of ours, no mathematics in part numbers, the same bytes each time.
_SETTINGS: Final[dict[Any, Any]] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "picture",
    "text.parse_math": False,
    "text.usetex": False,
    "text.color": COLOURS["ink"],
    "font.size": FONT_PT,
    "font.family": ["DejaVu Sans"],
    "axes.formatter.use_mathtext": False,
    "axes.formatter.useoffset": False,
    "axes.unicode_minus": True,
    "path.simplify": True,
}
#: The settings of the library are the process's, and pages are made in several threads.
_ONE_AT_A_TIME: Final = threading.Lock()


@contextmanager
def _settings() -> Iterator[None]:
    import matplotlib as mpl  # noqa: PLC0415 - it takes long to start, and only pictures need it

    with _ONE_AT_A_TIME, warnings.catch_warnings(), mpl.rc_context():
        # The page's own fonts show what the one that texts are measured with has no letters for.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font", category=UserWarning)
        mpl.rcdefaults()
        mpl.rcParams.update(dict(_SETTINGS))
        yield


def svg(draw: Callable[[], Figure], *, ident: str, title: str, words: str) -> str:
    """Draw a picture.

    Parameters
    ----------
    draw
        Makes the figure; its colours are of :data:`COLOURS`.
    ident
        What its ids begin with: one picture's own on a page.
    title, words
        What it is called, and what it shows, for those who do not see it.

    Returns
    -------
    str
        An ``<svg>`` element.
    """
    with _settings():
        from matplotlib.backends.backend_svg import FigureCanvasSVG  # noqa: PLC0415 - as above

        figure = draw()
        FigureCanvasSVG(figure)
        written = io.BytesIO()
        figure.savefig(written, format="svg", metadata=dict.fromkeys(("Creator", "Date", "Format", "Type")))
    # It is our own text, with no entity in it: what came from a list is escaped in it already.
    root = ET.fromstring(written.getvalue())  # noqa: S314 - see above
    _strip(root)
    for element in root.iter():
        _plain(element, ident)
    _number_again(root)
    box = root.get("viewBox") or ""
    root.attrib.clear()
    for name, value in (
        ("class", "picture"),
        ("viewBox", box),
        ("role", "img"),
        ("aria-labelledby", f"{ident}-title {ident}-words"),
        ("stroke-linejoin", "round"),
        ("stroke-linecap", "butt"),
        ("fill", _VARIABLES[COLOURS["ink"]]),
    ):
        root.set(name, value)
    for place, (tag, text, name) in enumerate((("title", title, "title"), ("desc", words, "words"))):
        said = ET.Element(tag, {"id": f"{ident}-{name}"})
        said.text, said.tail = text, "\n"
        root.insert(place, said)
    return ET.tostring(root, encoding="unicode")


def _number_again(root: ET.Element) -> None:
    """Give what is drawn several times under one name, like two limits, an id of its own each."""
    met: dict[str, int] = {}
    for element in root.iter():
        if (name := element.get("id")) is not None:
            met[name] = met.get(name, 0) + 1
            if met[name] > 1:
                element.set("id", f"{name}-{met[name]}")


def _strip(element: ET.Element) -> None:
    """Take out what a page has itself or must not have: metadata and style sheets, and all names of the namespace."""
    element.tag = element.tag.removeprefix(f"{{{_SVG}}}")
    for child in list(element):
        if child.tag in (f"{{{_SVG}}}metadata", f"{{{_SVG}}}style"):
            element.remove(child)
        else:
            _strip(child)


def _plain(element: ET.Element, ident: str) -> None:
    """Write an element's style as attributes, in the page's colours, and its ids as this picture's own."""
    for part in element.attrib.pop("style", "").split(";"):
        name, _, value = (piece.strip() for piece in part.partition(":"))
        if name == "font":
            size = _FONT_SIZE.search(value)
            name, value = "font-size", size.group(1) if size else str(FONT_PT)
            if "bold" in part:
                element.set("font-weight", "bold")
        if name == "font-size":
            value = value.removesuffix("px")
        if name and name != "font-family":
            element.set(name, _VARIABLES.get(value, value))
    if (target := element.attrib.pop(_XLINK, None)) is not None:
        element.set("href", f"#{ident}-{target.removeprefix('#')}")
    if "id" in element.attrib:
        element.set("id", f"{ident}-{element.attrib['id']}")
    if "clip-path" in element.attrib:
        element.set("clip-path", _REFERENCE.sub(rf"url(#{ident}-\1)", element.attrib["clip-path"]))
