"""A board file → a board, or every problem of the file at once, each with its line, its key and the way out."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path as FilePath
from typing import Any, Protocol

from loadworthy import toml_positions
from loadworthy.boards.model import Board, Freewheel, Link, Load, Output, Section, Supply, Surroundings
from loadworthy.boards.schema import KINDS, TABLES, Key, Table, field_of
from loadworthy.boards.values import read_value
from loadworthy.errors import BoardError, LoadworthyError
from loadworthy.toml_files import TomlFile, read_toml
from loadworthy.toml_positions import Path

__all__ = ["PartsShelf", "read_board", "read_text"]


class PartsShelf(Protocol):
    """Where the figures of a catalogue number are looked up."""

    def figures(self, kind: str, part: str, maker: str | None, known: Mapping[str, Any]) -> Mapping[str, Any] | None:
        """Return a part's figures by the names that the model gives them, or None where it is not known.

        `known` is what the file says of the link itself, such as the drive at a gate.
        """


def read_board(path: FilePath, *, shelf: PartsShelf | None = None) -> Board:
    """Read a board file.

    Parameters
    ----------
    path
        The file.
    shelf
        Where links that give a catalogue number find their figures; None where there is no catalogue.

    Raises
    ------
    BoardError
        The file cannot be read, or something in it is not sound; :attr:`BoardError.problems` has all.
    """
    return _Reader(read_toml(path, fault=BoardError), shelf).board()


def read_text(text: str, *, name: str, shelf: PartsShelf | None = None, unfinished: bool = False) -> Board:
    """Read the text of a board file.

    Parameters
    ----------
    text
        The text.
    name
        What errors call the file.
    shelf
        As for :func:`read_board`.
    unfinished
        Take a board that is still being described: a link may lack the figures that say what it carries, and an
        output its links.

    Raises
    ------
    BoardError
        Something in it is not sound.
    """
    return _Reader(read_toml(text, fault=BoardError, name=name), shelf, unfinished=unfinished).board()


class _Reader:
    """One file on its way to a board."""

    def __init__(self, file: TomlFile[BoardError], shelf: PartsShelf | None, *, unfinished: bool = False) -> None:
        self.file, self.shelf, self.unfinished = file, shelf, unfinished
        self.raw, self.problems, self.wrong = file.raw, file.problems, file.wrong

    def board(self) -> Board:
        """Read everything; raise what is wrong all at once."""
        top = self.keys(self.raw, "board", ())
        supply = self.table(self.raw, "supply", (), Supply)
        surroundings = self.table(self.raw, "surroundings", (), Surroundings)
        sections = [self.section(raw, path) for raw, path in self.listed(self.raw, "section", ())]
        outputs = [self.output(raw, path) for raw, path in self.listed(self.raw, "output", ())]
        if self.raw.get("output", []) == []:
            self.wrong(("output",), "the board has no output.", "Describe each load with its links under [[output]].")
        self.names()
        self.file.check()
        return Board(
            **top,
            supply=supply,
            surroundings=surroundings,
            sections=tuple(section for section in sections if section is not None),
            outputs=tuple(output for output in outputs if output is not None),
        )

    def keys(self, raw: Mapping[str, Any], name: str, path: Path) -> dict[str, Any]:
        """Read the keys of one table into fields of the model."""
        table, read = TABLES[name], {}
        for written, value in raw.items():
            key = table.key(written)
            if key is None:
                if written not in table.tables:
                    self._unknown(table, written, (*path, written))
                continue
            try:
                read[field_of(key)] = read_value(key, value)
            except LoadworthyError as error:
                self.wrong((*path, written), error.message, error.way_out or "Check it.")
        for key in table.keys:
            if key.required and key.name not in raw:
                self.wrong((*path, key.name), f"{key.name} is missing.", _example(key))
        for group in table.one_of:
            given = [word for word in group if word in raw]
            if len(given) != 1:
                said = f"{' and '.join(given)} exclude one another" if given else f"none of {', '.join(group)} is given"
                self.wrong((*path, *given[1:2]), f"{said}.", "Give exactly one of them.")
        for first, second in table.apart:
            if raw.get(first, False) is not False and raw.get(second, False) is not False:
                self.wrong((*path, second), f"{first} and {second} exclude one another.", "Give one of them.")
        return read

    def _unknown(self, table: Table, written: str, path: Path) -> None:
        known = [*(key.name for key in table.keys), *table.tables]
        near = difflib.get_close_matches(written, known, n=2)
        self.wrong(
            path,
            f"there is no key {written!r} here.",
            f"Did you mean {' or '.join(near)}?" if near else f"It is one of {', '.join(known)}.",
        )

    def table(
        self,
        raw: Mapping[str, Any],
        name: str,
        path: Path,
        make: Callable[..., Any],
        *,
        optional: bool = False,
    ) -> Any:  # noqa: ANN401 - what `make` makes
        """Read a table that stands alone; None where it is missing or not sound."""
        inner = raw.get(name)
        if inner is None:
            if not optional:
                self.wrong((*path, name), f"the table {name} is missing.", f"Write {TABLES[name].title} with its keys.")
            return None
        if not isinstance(inner, Mapping):
            self.wrong((*path, name), f"{name} is no table.", f"Write {TABLES[name].title} with its keys below.")
            return None
        before = len(self.problems)
        read = self.keys(inner, name, (*path, name))
        if name == "load":
            self._load(inner, read, (*path, name))
        self._filled(inner, TABLES[name], read, (*path, name), "diode")
        return make(**read) if len(self.problems) == before else None

    def _load(self, raw: Mapping[str, Any], read: Mapping[str, Any], path: Path) -> None:
        if "duty" in raw and "pwm" not in raw:
            self.wrong(
                (*path, "duty"),
                "a duty without a switching frequency would average heat over minutes.",
                "Give pwm as well; leave duty out for a thermostat: the path must carry the load while on.",
            )
        if "tolerance" in raw and "current" in raw:
            self.wrong(
                (*path, "tolerance"),
                "a tolerance belongs to a resistance or a power, not to a current.",
                "Give the greatest current, without tolerance.",
            )
        cold, warm = read.get("cold_resistance_ohm"), read.get("resistance_ohm")
        if cold is not None and warm is not None and cold > warm:
            self.wrong(
                (*path, "cold_resistance"),
                "the cold resistance is above the warm one.",
                "Leave it out: no inrush then.",
            )

    def listed(self, raw: Mapping[str, Any], name: str, path: Path) -> Iterator[tuple[Mapping[str, Any], Path]]:
        """Give the tables of an array of tables."""
        rows = raw.get(name, [])
        header = f"[[{path[0]}.{name}]]" if path else f"[[{name}]]"
        if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
            self.wrong((*path, name), f"{name} is no list of tables.", f"Write {header} above each.")
            return
        for place, row in enumerate(rows):
            yield row, (*path, name, place)

    def section(self, raw: Mapping[str, Any], path: Path) -> Section | None:
        """Read one section."""
        before = len(self.problems)
        read = self.keys(raw, "section", path)
        links = self.links(raw, path)
        return Section(**read, links=links) if len(self.problems) == before else None

    def output(self, raw: Mapping[str, Any], path: Path) -> Output | None:
        """Read one output."""
        before = len(self.problems)
        read = self.keys(raw, "output", path)
        load = self.table(raw, "load", path, Load)
        freewheel = self.table(raw, "freewheel", path, Freewheel, optional=True)
        links = self.links(raw, path)
        if len(self.problems) > before:
            return None
        return Output(**read, load=load, freewheel=freewheel, links=links)

    def links(self, raw: Mapping[str, Any], path: Path) -> tuple[Link, ...]:
        """Read the links of a section or an output."""
        found: list[Link] = []
        taken: set[str] = set()
        for place, (row, where) in enumerate(self.listed(raw, "link", path), start=1):
            link = self._link(row, where, place)
            if link is not None and link.name in taken:
                self.wrong((*where, "name"), f"two links here are called {link.name!r}.", "Give each its own name.")
            if link is not None:
                taken.add(link.name)
                found.append(link)
        return tuple(found)

    def _link(self, raw: Mapping[str, Any], path: Path, place: int) -> Link | None:
        kind = raw.get("kind")
        if not isinstance(kind, str) or kind not in KINDS:
            said = "kind is missing." if kind is None else f"{kind!r} is no kind of link."
            near = difflib.get_close_matches(str(kind), list(KINDS), n=1)
            way_out = f"Did you mean {near[0]}?" if near else f"It is one of {', '.join(KINDS)}."
            self.wrong((*path, "kind"), said, way_out)
            return None
        before = len(self.problems)
        read = self.keys(raw, kind, path)
        read.pop("kind", None)
        if "copper_m" in read:
            read["thickness_m"] = read.pop("copper_m")
        if kind == "transistor":
            self._package(read, (*path, "package"))
        self._filled(raw, TABLES[kind], read, path, kind)
        if len(self.problems) > before:
            return None
        read.setdefault("name", f"{kind} {place}")
        return KINDS[kind](**read, where=toml_positions.written(path))

    def _package(self, read: dict[str, Any], path: Path) -> None:
        if read.get("package") is None:
            return
        from loadworthy.catalog import packages  # noqa: PLC0415 - only where a package is named

        text = read["package"]
        read["package"] = packages.canonical(text)
        if read["package"] is None:
            near = packages.near_names(text, 2)
            way_out = f"Did you mean {' or '.join(near)}?" if near else "Name an outline such as TO-220."
            self.wrong(path, f"{text!r} is no package that Loadworthy knows.", way_out)

    def _filled(self, raw: Mapping[str, Any], table: Table, read: dict[str, Any], path: Path, kind: str) -> None:
        """Look a part's figures up where the file leaves some out; what stands in the file counts before them."""
        part = read.get("part")
        if part is not None and self.shelf is not None:
            try:
                found = self.shelf.figures(kind, part, read.get("maker"), read)
            except LoadworthyError as error:
                self.wrong((*path, "part"), error.message, error.way_out or "Check it.")
                return
            if found is None and not self.unfinished and not _complete(table, raw):
                self.wrong(
                    (*path, "part"),
                    f"the catalogue holds no {kind} {part!r}.",
                    "Check the number, take its list in, or give the figures here.",
                )
                return
            for name, value in (found or {}).items():
                read.setdefault(name, value)
            if found is not None:
                return
        for group in () if self.unfinished else table.some_of:
            if any(word in raw for word in group):
                continue
            said = f"none of {', '.join(group)} is given" if len(group) > 1 else f"{group[0]} is missing"
            if part is not None:
                self.wrong((*path, "part"), f"{said}, only a part.", "Give --catalog or the figures.")
            else:
                self.wrong((*path, group[0]), f"{said}.", f"Give {' or '.join(group)}.")

    def names(self) -> None:
        """Check that names are given once, that what feeds is there, and that no section feeds itself."""
        for name in ("section", "output"):
            seen: set[str] = set()
            for raw, path in self._rows(name):
                called = _folded(raw.get("name"))
                if called in seen:
                    self.wrong((*path, "name"), f"two {name}s are called {called!r}.", "Give each its own name.")
                seen |= {called} if called is not None else set()
        sections = self._rows("section")
        named = ((_folded(raw.get("name")), _folded(raw.get("fed_by"))) for raw, _ in sections)
        feeds = {called: fed_by for called, fed_by in named if called is not None}
        for raw, path in self._rows("output"):
            if not raw.get("link") and raw.get("fed_by") is None and not self.unfinished:
                self.wrong((*path, "link"), "this output has no link.", "Describe each under [[output.link]].")
        for name in ("section", "output"):
            for raw, path in self._rows(name):
                self._fed(_folded(raw.get("fed_by")), feeds, (*path, "fed_by"))
        self._loops(feeds)

    def _rows(self, name: str) -> list[tuple[Mapping[str, Any], Path]]:
        rows = self.raw.get(name, [])
        sound = isinstance(rows, list) and all(isinstance(row, Mapping) for row in rows)
        return [(row, (name, place)) for place, row in enumerate(rows)] if sound else []

    def _fed(self, fed_by: str | None, feeds: Mapping[str, str | None], path: Path) -> None:
        if fed_by is not None and fed_by not in feeds:
            near = difflib.get_close_matches(fed_by, list(feeds), n=1)
            known = f"The sections are {', '.join(feeds)}." if feeds else "There is no section; leave it out."
            self.wrong(path, f"there is no section {fed_by!r}.", f"Did you mean {near[0]}?" if near else known)

    def _loops(self, feeds: Mapping[str, str | None]) -> None:
        told: set[str] = set()
        for raw, path in self._rows("section"):
            way: dict[str, None] = {}  # in order, and quick to look into
            step = _folded(raw.get("name"))
            while step is not None and step in feeds and step not in way:
                way[step] = None
                step = feeds[step]
            if step is not None and step in way and step not in told:
                passed = list(way)
                loop = [*passed[passed.index(step) :], step]
                told.update(loop)
                self.wrong(
                    (*path, "fed_by"),
                    f"the sections feed each other in a loop: {' ← '.join(loop)}.",
                    "One of them must be fed by the supply: take its fed_by away.",
                )


def _folded(value: object) -> str | None:
    """Return a name as it is read, with single blanks; None for what is none."""
    return " ".join(value.split()) if isinstance(value, str) and value.strip() else None


def _complete(table: Table, raw: Mapping[str, Any]) -> bool:
    return all(any(word in raw for word in group) for group in table.some_of)


def _example(key: Key) -> str:
    return f'Write it like {key.name} = "{key.example}".'
