"""A measured on-resistance put into a board's file, which stays as its owner wrote it, comments and all."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from loadworthy import toml_positions as positions
from loadworthy.errors import BoardError
from loadworthy.toml_files import read_toml, write_whole

__all__ = ["put_measured"]

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
    file = read_toml(place, fault=BoardError, name=str(path))
    found = _found(file.raw, link, str(path))
    text = place.read_bytes().decode("utf-8")
    value = f"{ohms * 1e3:.4g}mohm"
    new = _put(text, found, value)
    if new is None:
        raise BoardError(
            f"the key {_KEY} cannot be put where {link!r} is described.",
            where=str(path),
            way_out=f'Write it there yourself: {_KEY} = "{value}".',
        )
    _replace(place, new, str(path))
    return f"{positions.written(found)}.{_KEY} of {path} is now {value}."


def _links(raw: Mapping[str, Any]) -> Iterator[tuple[positions.Path, str, Mapping[str, Any]]]:
    """Give the path, the group's name and the table of every link."""
    for kind in ("section", "output"):
        groups = raw.get(kind, [])
        for number, group in enumerate(groups if isinstance(groups, list) else []):
            rows = group.get("link", []) if isinstance(group, Mapping) else []
            for place, row in enumerate(rows if isinstance(rows, list) else []):
                if isinstance(row, Mapping):
                    yield (kind, number, "link", place), str(group.get("name", "")), row


def _found(raw: Mapping[str, Any], link: str, where: str) -> positions.Path:
    wanted = _folded(link)
    every = [
        (path, group, str(row.get("name") or f"transistor {int(path[-1]) + 1}"))
        for path, group, row in _links(raw)
        if row.get("kind") == "transistor"
    ]
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


def _put(text: str, path: positions.Path, value: str) -> str | None:
    """Return the text with the value in it and nothing else changed; None where that cannot be done."""
    for attempt in (_changed, _added):
        new = attempt(text, path, value)
        if new is not None and _only_that(text, new, path, value):
            return new
    return None


def _changed(text: str, path: positions.Path, value: str) -> str | None:
    """Change a key that is there, or one of a table written on one line."""
    import tomlkit  # noqa: PLC0415 - slow to start, and few write into a file
    from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415 - as above

    plain = text.removeprefix(_MARK)
    try:
        document = tomlkit.parse(plain)
        table: Any = document
        for step in path:
            table = table[step]
    except TOMLKitError:
        return None
    if _KEY not in table and not isinstance(table, tomlkit.items.InlineTable):
        return None
    table[_KEY] = value
    return text[: len(text) - len(plain)] + tomlkit.dumps(document)


def _added(text: str, path: positions.Path, value: str) -> str | None:
    """Add the key on a line of its own below the link's kind.

    At the end of the table it would stand behind comments that belong to the next one.
    """
    line = positions.positions(text).get((*path, "kind"))
    if line is None:
        return None
    lines = text.split("\n")
    above = lines[line - 1]
    indent = above[: len(above) - len(above.lstrip())]
    ending = "\r" if above.endswith("\r") else ""
    lines.insert(line, f'{indent}{_KEY} = "{value}"   # as measured, its upper end{ending}')
    return "\n".join(lines)


def _only_that(before: str, after: str, path: positions.Path, value: str) -> bool:
    """Say whether the new text says what the old one said, and the value besides."""
    try:
        said, expected = (tomllib.loads(text.removeprefix(_MARK)) for text in (after, before))
    except ValueError:
        return False
    table: Any = expected
    for step in path:
        table = table[step]
    table[_KEY] = value
    return bool(said == expected)


def _replace(path: Path, text: str, name: str) -> None:
    try:
        write_whole(path, text)
    except OSError as error:
        raise BoardError(
            f"it cannot be written: {error.strerror or error}.",
            where=name,
            way_out="Check the rights; it is as it was.",
        ) from error
