"""Text that is safe to show: suppliers' files may hold control characters that would steer a terminal."""

from __future__ import annotations

import re
import textwrap
from typing import Final

__all__ = ["STEERING", "clean", "paragraph"]

#: What must not reach a terminal: C0 and C1 controls, delete, line and paragraph separators, lone
#: surrogates, and the marks that turn the direction of writing.
STEERING: Final = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")

_BEFORE_UNIT: Final = re.compile(r"(?<=\d) (?=(?:[pnµmkMG]?(?:V|A|W|Ω|F|C|Hz|s)|°C|K/W|K|%)(?:\W|$))")
_C0_PICTURES: Final = 0x2400
_DELETE_PICTURE: Final = "\u2421"
_REPLACEMENT: Final = "\ufffd"


def _visible(match: re.Match[str]) -> str:
    letter = match.group()
    if letter in "\t\n\r\v\f\u2028\u2029":
        return " "
    if letter < " ":
        return chr(_C0_PICTURES + ord(letter))
    return _DELETE_PICTURE if letter == "\x7f" else _REPLACEMENT


def clean(text: object) -> str:
    r"""Make a text safe for a terminal: one line, every steering character visible and without effect.

    Parameters
    ----------
    text
        Anything; its ``str`` is taken.

    Returns
    -------
    str
        Line breaks and tabs are blanks; other controls are Unicode's pictures of them.

    Examples
    --------
    >>> clean("LQX\x1b[2J9\n5"), clean("a\x9bb")
    ('LQX␛[2J9 5', 'a�b')
    """
    return STEERING.sub(_visible, str(text))


def paragraph(text: str, *, width: int, indent: str = "", hanging: str | None = None) -> str:
    """Fold a text to a width between words; a word that is longer than the width is never broken.

    Parameters
    ----------
    text
        One paragraph.
    width
        Characters a line.
    indent
        What the first line begins with.
    hanging
        What the other lines begin with; as many blanks as ``indent`` is long if not given.

    Examples
    --------
    >>> print(paragraph("the fuse and the cut-off", width=16, indent="- "))
    - the fuse and
      the cut-off
    """
    # A number stays with its unit: a blank that does not fold stands between them until all is folded.
    filled = textwrap.fill(
        _BEFORE_UNIT.sub("\u00a0", clean(text)),
        width=width,
        initial_indent=indent,
        subsequent_indent=" " * len(indent) if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace("\u00a0", " ")
