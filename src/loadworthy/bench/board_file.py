"""A measured on-resistance put into a board's file, which stays as its owner wrote it, comments and all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from loadworthy import toml_positions as positions
from loadworthy.boards import editing
from loadworthy.errors import BoardError
from loadworthy.toml_files import read_toml, write_whole

__all__ = ["measured_of", "put_measured", "with_measured"]

_KEY: Final = "measured_on_resistance"
_MARK: Final = "\ufeff"


def put_measured(path: Path, link: str, ohms: float) -> str:
    """Put the measured on-resistance of a transistor into a board's file.

    Parameters
    ----------
    path
        The board's file. It is replaced as a whole or not at all.
    link
        What the transistor is called there, as ``Q1`` or, where several are called so, ``mat A: Q1``.
    ohms
        On-resistance at 25 °C [Ω].

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    BoardError
        The file cannot be read or written, or has no transistor of that name, or several.
    """
    place = path.resolve()
    read_toml(place, fault=BoardError, name=str(path))
    new, where, value = with_measured(place.read_bytes().decode("utf-8"), link, ohms, name=str(path))
    _replace(place, new, str(path))
    return f"{where}.{_KEY} of {path} is now {value}."


def with_measured(text: str, link: str, ohms: float, *, name: str = "the board") -> tuple[str, str, str]:
    """Put the measured on-resistance of a transistor into a board's text.

    Parameters
    ----------
    text
        The board's text.
    link, ohms
        As of :func:`put_measured`.
    name
        What errors call it.

    Returns
    -------
    tuple
        The new text, the place of the transistor in it, and the value as it is written there.

    Raises
    ------
    BoardError
        It is no TOML, or has no transistor of that name, or several.
    """
    file = read_toml(text.removeprefix(_MARK), fault=BoardError, name=name)
    where = positions.written(_found(file.raw, link, name))
    value = f"{ohms * 1e3:.4g}mohm"
    return editing.put(text, where, {_KEY: value}, comment="as measured, its upper end"), where, value


def measured_of(text: str) -> dict[str, str | None]:
    """Return the transistors of a board's text, each with its output or section, and what is measured of each.

    Nothing where the text cannot be read.
    """
    try:
        raw = read_toml(text.removeprefix(_MARK), fault=BoardError, name="the board").raw
    except BoardError:
        return {}
    rows = {path: row for path, _, row in _links(raw)}
    found = ((f"{group}: {name}", rows[path].get(_KEY)) for path, group, name in _transistors(raw))
    return {called: None if value is None else str(value) for called, value in found}


def _links(raw: Mapping[str, Any]) -> Iterator[tuple[positions.Path, str, Mapping[str, Any]]]:
    """Give the path, the group's name and the table of every link."""
    for kind in ("section", "output"):
        groups = raw.get(kind, [])
        for number, group in enumerate(groups if isinstance(groups, list) else []):
            rows = group.get("link", []) if isinstance(group, Mapping) else []
            for place, row in enumerate(rows if isinstance(rows, list) else []):
                if isinstance(row, Mapping):
                    yield (kind, number, "link", place), str(group.get("name", "")), row


def _transistors(raw: Mapping[str, Any]) -> list[tuple[positions.Path, str, str]]:
    """Give the path, the group's name and the own name of every transistor."""
    return [
        (path, group, str(row.get("name") or f"transistor {int(path[-1]) + 1}"))
        for path, group, row in _links(raw)
        if row.get("kind") == "transistor"
    ]


def _found(raw: Mapping[str, Any], link: str, where: str) -> positions.Path:
    wanted = _folded(link)
    every = _transistors(raw)
    matching = [one for one in every if wanted in (_folded(one[2]), _folded(f"{one[1]}: {one[2]}"))]
    if len(matching) == 1:
        return matching[0][0]
    named = ", ".join(f"{group}: {name}" for _, group, name in (matching or every))
    if matching:
        raise BoardError(
            f"several transistors are called {link!r}: {named}.", where=where, way_out="Give --link with its output."
        )
    raise BoardError(
        f"it has no transistor called {link!r}.",
        where=where,
        way_out=f"Its transistors are {named}." if named else 'Describe one with kind = "transistor".',
    )


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()


def _replace(path: Path, text: str, name: str) -> None:
    try:
        write_whole(path, text)
    except OSError as error:
        raise BoardError(
            f"it cannot be written: {error.strerror or error}.",
            where=name,
            way_out="Check the rights; it is as it was.",
        ) from error
