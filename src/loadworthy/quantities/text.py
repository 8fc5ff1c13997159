"""Text as suppliers type it, brought to one spelling before anything is read from it."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["tidy"]

# What NFKC leaves alone or spoils: º would become "o", the minus sign stays, an ellipsis becomes
# three dots that look like decimal points, and a micro sign must end up as one of its two letters.
_MENDED = str.maketrans(
    {
        "\u00ba": "°",  # masculine ordinal, typed for a degree
        "\u02da": "°",  # ring above
        "\u2070": "°",  # superscript zero
        "\u2103": "°C",
        "\u2109": "°F",
        "\u2212": "-",  # minus sign
        "\u2011": "-",  # non-breaking hyphen
        "\u2010": "-",  # hyphen
        "\ufe63": "-",
        "\uff0d": "-",
        "\u2013": "–",
        "\u2014": "—",
        "\u2026": "…",
        "\u00b5": "µ",
        "\u03bc": "µ",
        "\u2126": "Ω",
        "\u00a0": " ",
        "\u200b": None,
        "\ufeff": None,
        "\u00ad": None,  # soft hyphen
        "\uf057": "Ω",  # the symbol font's omega, as old spreadsheets export it
        "\uf06d": "µ",
    }
)
_KEPT = {"µ": "\ue000", "…": "\ue001"}
_BACK = {ord(code): letter for letter, code in _KEPT.items()}
_AWAY = {ord(letter): code for letter, code in _KEPT.items()}


_RAISED = re.compile(r"(?<=[\d.,])[⁺⁻]?[¹²³⁰⁴-⁹]+[⁾)]?|\s[¹²³⁰⁴-⁹]+[⁾)]?(?=[\s,;/]|$)")


def _lowered(match: re.Match[str]) -> str:
    """A raised digit behind a number is a power of ten or a footnote, never one more digit."""
    before = match.string[: match.start()]
    if re.search(r"[x×·*]\s?10$", before):
        return "^" + unicodedata.normalize("NFKC", match.group()).replace("\u2212", "-")
    return ""


def tidy(text: str) -> str:
    r"""Bring a text to one spelling: one omega, one micro, one minus, plain spaces.

    Letters keep their case (mΩ and MΩ differ by 10⁹); superscripts become plain digits, so that
    ``cm²`` reads ``cm2`` and ``D²PAK`` reads ``D2PAK``.

    Parameters
    ----------
    text
        Any text.

    Returns
    -------
    str
        The text with runs of white space folded to one space and none at the ends.

    Examples
    --------
    >>> tidy("12\u00a0m\u2126")
    '12 mΩ'
    >>> tidy("1.4ºC/W"), tidy("−30V"), tidy("1…2.5 V"), tidy("62 ℃/W")
    ('1.4°C/W', '-30V', '1…2.5 V', '62 °C/W')
    """
    if text.isascii():
        return " ".join(text.split())
    text = _RAISED.sub(_lowered, text)
    mended = text.translate(_MENDED).translate(_AWAY)
    mended = unicodedata.normalize("NFKC", mended).translate(_BACK)
    return " ".join(mended.split())
