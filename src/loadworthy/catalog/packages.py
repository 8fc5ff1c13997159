"""Package outlines: a name each, the spellings that mean it, and careful thermal figures."""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass
from functools import cache

from loadworthy import shipped
from loadworthy.errors import FamilyError
from loadworthy.quantities.text import tidy

__all__ = ["Package", "canonical", "near_names", "packages"]

_WORD = re.compile(r"[^\W_]+")

#: Words that say that the tab is moulded in or insulated; the two-word ones are looked for in order.
_INSULATED = (
    ("isolated",), ("insulated",), ("iso",), ("isol",), ("isoliert",), ("fullpack",), ("fullpak",),
    ("fullpac",), ("vollverguss",), ("vollisoliert",), ("full", "pack"), ("full", "pak"), ("full", "mold"),
    ("full", "mould"),
)  # fmt: skip
_NOT = frozenset({"non", "not", "no", "un", "nicht", "without", "ohne"})
_FULL_PACK = " full-pack"


@dataclass(frozen=True, kw_only=True)
class Package:
    """One outline.

    Attributes
    ----------
    name
        The name that Loadworthy uses for it.
    aliases
        Other spellings and names of the same outline.
    leaded
        Whether it stands on leads, and may so give away about 1 W without a sink (common practice).
    rthja, rthjc, rthcs
        Thermal resistances to fall back on: junction to still air, junction to case, case to sink, in K/W.
    condition
        The mounting that `rthja` is meant for.
    source
        Where the figures come from.
    """

    name: str
    aliases: tuple[str, ...]
    leaded: bool
    rthja: float
    rthjc: float
    rthcs: float
    condition: str
    source: str


@cache
def packages() -> tuple[Package, ...]:
    """Return every outline of ``packages.toml``.

    Raises
    ------
    FamilyError
        The file is not sound, or a spelling stands for two outlines.
    """
    path = shipped.catalog_dir() / "packages.toml"
    try:
        rows = tomllib.loads(path.read_text(encoding="utf-8"))["package"]
        return tuple(Package(**{**row, "aliases": tuple(row.get("aliases", ()))}) for row in rows)
    except (tomllib.TOMLDecodeError, KeyError, TypeError) as error:
        raise FamilyError(
            f"{error} in the table of outlines.", where=str(path), way_out="Compare it with a sound entry."
        ) from error


def canonical(text: str) -> str | None:
    """Find the outline that a list's or a person's text means.

    Punctuation, blanks and case do not count. A text may name one outline several times over; words that
    say that the tab is insulated lead to the full-pack outline.

    Parameters
    ----------
    text
        Such as ``"to220"``, ``"DPAK (TO-252)"``, ``"TO-220AB, insulated"``.

    Returns
    -------
    str or None
        The name of the outline; None where none is meant, or two that differ.

    Examples
    --------
    >>> canonical("TO-263-3, D²Pak (2 Leads + Tab)"), canonical("TO-220 (isolated)"), canonical("SOT-23-6")
    ('TO-263', 'TO-220 full-pack', None)
    """
    found, rest = _outlines(_words(text))
    if not found:
        return None
    if _insulated(rest):
        found = {name + _FULL_PACK if name + _FULL_PACK in _names() else name for name in found}
    refined = {name for name in found if name + _FULL_PACK not in found}
    return refined.pop() if len(refined) == 1 else None


def near_names(text: str, count: int = 5) -> tuple[str, ...]:
    """Return names of outlines that look like `text`, the nearest first, at most `count`."""
    key = _key(text)
    spellings = difflib.get_close_matches(key, list(_spellings()), n=4 * count, cutoff=0.5)
    names = dict.fromkeys(_spellings()[spelling] for spelling in spellings)
    return tuple(names)[:count]


def _key(text: str) -> str:
    return "".join(_WORD.findall(_folded(text)))


def _folded(text: str) -> str:
    return tidy(text).casefold().replace("×", "x")


@cache
def _names() -> frozenset[str]:
    return frozenset(package.name for package in packages())


@cache
def _spellings() -> dict[str, str]:
    known: dict[str, str] = {}
    for package in packages():
        for spelling in (package.name, *package.aliases):
            other = known.setdefault(_key(spelling), package.name)
            if other != package.name:
                raise FamilyError(
                    f"{spelling!r} stands for {other} and for {package.name}.",
                    where="packages.toml",
                    way_out="Leave it to one of them.",
                )
    return known


def _words(text: str) -> list[tuple[str, bool]]:
    """Each word, and whether it hangs on the one before by a hyphen."""
    folded = _folded(text)
    words: list[tuple[str, bool]] = []
    end = 0
    for match in _WORD.finditer(folded):
        words.append((match.group(), folded[end : match.start()] == "-"))
        end = match.end()
    return words


def _outlines(words: list[tuple[str, bool]]) -> tuple[set[str], list[str]]:
    """Take the longest runs of words that spell an outline; return the outlines and the words left over."""
    known = _spellings()
    found: set[str] = set()
    rest: list[str] = []
    start = 0
    while start < len(words):
        for end in range(len(words), start, -1):
            name = known.get("".join(word for word, _ in words[start:end]))
            if name is not None:
                break
        else:
            rest.append(words[start][0])
            start += 1
            continue
        # SOT-23-6 is not SOT-23: another number of leads is another outline.
        if end < len(words) and words[end][1] and words[end][0].isdigit():
            return set(), []
        found.add(name)
        start = end
    return found, rest


def _insulated(rest: list[str]) -> bool:
    for phrase in _INSULATED:
        for start in range(len(rest) - len(phrase) + 1):
            if tuple(rest[start : start + len(phrase)]) == phrase:
                return not (start > 0 and rest[start - 1] in _NOT)
    return False
