"""TOML files that people write: read whole, with the line of every key at hand for whoever finds something wrong."""

from __future__ import annotations

import os
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from loadworthy import toml_positions as positions
from loadworthy.errors import LoadworthyError

__all__ = ["TomlFile", "read_toml", "toml_text", "write_whole"]

_Fault = TypeVar("_Fault", bound=LoadworthyError)


@dataclass
class TomlFile(Generic[_Fault]):
    """One file, and what is wrong with it so far.

    Attributes
    ----------
    name
        What errors call the file.
    raw
        Its tables.
    lines
        The line of every key.
    fault
        The kind of error that is raised about it.
    problems
        What was found wrong, in the order in which it was found.
    """

    name: str
    raw: Mapping[str, Any]
    lines: dict[positions.Path, int]
    fault: Callable[..., _Fault]
    problems: list[tuple[int, _Fault]] = field(default_factory=list)

    def place(self, path: positions.Path) -> str:
        r"""Say where a key stands.

        Examples
        --------
        >>> from loadworthy.errors import OrderError
        >>> read_toml('[[line]]\npart = "X"', name="order.toml", fault=OrderError).place(("line", 0, "part"))
        'order.toml, line 2, key line[1].part'
        """
        key = f", key {positions.written(path)}" if path else ""
        return f"{self.name}, line {positions.line_of(self.lines, path)}{key}"

    @staticmethod
    def key_in(place: str | None) -> str:
        """Return the key of a place that :meth:`place` wrote; nothing where it names none.

        Examples
        --------
        >>> TomlFile.key_in("order.toml, line 2, key line[1].part"), TomlFile.key_in("order.toml, line 2")
        ('line[1].part', '')
        """
        return (place or "").rpartition(", key ")[2] if ", key " in (place or "") else ""

    def wrong(self, path: positions.Path, message: str, way_out: str) -> None:
        """Keep a problem with its place."""
        problem = self.fault(message, where=self.place(path), way_out=way_out)
        self.problems.append((positions.line_of(self.lines, path), problem))

    def check(self) -> None:
        """Raise what is wrong, all at once and in the order of the lines.

        Raises
        ------
        LoadworthyError
            Of the kind that the file was read with, where anything is wrong.
        """
        if not self.problems:
            return
        ordered = [problem for _, problem in sorted(self.problems, key=lambda one: one[0])]
        if len(ordered) == 1:
            raise ordered[0]
        raise self.fault(
            "\n".join([f"{len(ordered)} things are to be mended:", *map(str, ordered)]),
            where=self.name,
            problems=tuple(ordered),
        )


def read_toml(source: Path | str, *, fault: Callable[..., _Fault], name: str | None = None) -> TomlFile[_Fault]:
    """Read a TOML file, or the text of one.

    Parameters
    ----------
    source
        The file, or the text.
    fault
        The kind of error to raise.
    name
        What errors call it; the file's own path if not given.

    Raises
    ------
    LoadworthyError
        Of the kind `fault`: it cannot be read, or is no TOML.
    """
    called = name or str(source)
    text = source if isinstance(source, str) else _text(source, fault)
    try:
        raw = tomllib.loads(text)
        lines = positions.positions(text)
    except (ValueError, RecursionError) as error:  # a number of thousands of digits is a plain ValueError
        raise fault(
            f"it is no TOML: {error}.", where=called, way_out='Mend that line; a key is written key = "value".'
        ) from error
    return TomlFile(name=called, raw=raw, lines=lines, fault=fault)


def _text(path: Path, fault: Callable[..., _Fault]) -> str:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise fault(
            f"it cannot be read: {error.strerror or error}.", where=str(path), way_out="Check the name and the rights."
        ) from error
    return toml_text(data, fault=fault, name=str(path))


def toml_text(data: bytes, *, fault: Callable[..., _Fault], name: str) -> str:
    """Return the text of a TOML file's bytes.

    Parameters
    ----------
    data
        The bytes.
    fault
        The kind of error to raise.
    name
        What errors call the file.

    Raises
    ------
    LoadworthyError
        Of the kind `fault`: they are not UTF-8.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise fault(
            "it is not written in UTF-8, as TOML is.",
            where=f"{name}, line {line}",
            way_out="Save it as UTF-8; your editor has that among its encodings.",
        ) from error


def write_whole(path: Path, text: str) -> None:
    """Put a text in a file's place all at once: whoever reads it finds the old one or the new one, never half."""
    place = Path(os.path.realpath(path))
    try:
        _put(place, text)
    except OSError as error:  # of the name that was asked for, not of the half-written file
        raise OSError(error.errno, error.strerror, str(path)) from error


def _put(place: Path, text: str) -> None:
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{place.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        if place.exists():
            shutil.copymode(place, name)
        else:
            mask = os.umask(0)
            os.umask(mask)
            Path(name).chmod(0o666 & ~mask)
        Path(name).replace(place)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
