"""A board's text as it is worked on: read as far as it can be, with what is still to be said of it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from loadworthy.boards import Board, read_text
from loadworthy.boards.editing import tables_of
from loadworthy.boards.schema import TABLES
from loadworthy.errors import BoardError, CatalogError, LoadworthyError
from loadworthy.report.paths import PathView, Step
from loadworthy.toml_files import TomlFile

if TYPE_CHECKING:
    from loadworthy.catalog.store import Catalog
    from loadworthy.web.app import Desk

__all__ = ["Problem", "Work", "draft_paths", "group_of", "links_of", "problems_in", "read_work", "rows_of", "work_on"]

NAME: Final = "board"
#: A place that can be worked on by itself: a group, or a link, a load or a diode of it.
_PLACE: Final = re.compile(r"(?:section|output)\[\d+\](?:\.link\[\d+\]|\.load|\.freewheel)?|supply|surroundings")

_KEYS: Final = re.compile(
    rf"\b(?:{'|'.join({key.name for table in TABLES.values() for key in table.keys if '_' in key.name})})\b"
)


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing that is to be mended or still to be said: its key, its line, what is wrong and what to do."""

    key: str
    line: str
    text: str

    @property
    def place(self) -> str:
        """Where one works on it; nothing where that is the whole board."""
        found = _PLACE.match(self.key)
        return found.group() if found else ""


@dataclass(frozen=True, kw_only=True)
class Work:
    """A board on its way.

    Attributes
    ----------
    text, raw
        Its text, and the tables in it; none where it is no TOML.
    board
        The board; None where it says too little, or something that cannot be.
    problems
        What is to be mended. Where there is a board, what is still to be said before a link can be judged.
    unsound
        What of that keeps it from being read even as an unfinished board.
    trouble
        Why the catalogue that its parts are in could not be read.
    """

    text: str
    raw: Mapping[str, Any]
    board: Board | None
    problems: tuple[Problem, ...]
    unsound: tuple[Problem, ...] = ()
    trouble: LoadworthyError | None = None

    @property
    def title(self) -> str:
        """What it is called."""
        title = self.raw.get("title")
        return title if isinstance(title, str) and title.strip() else "A board without a title"

    def at(self, where: str) -> list[Problem]:
        """Return the problems of one place."""
        return [problem for problem in self.problems if problem.place == where]


def work_on(desk: Desk, text: str) -> Work:
    """Read a board's text, with the catalogue where it names parts."""
    try:
        raw = tables_of(text)
    except BoardError as error:
        return Work(text=text, raw={}, board=None, problems=problems_in(error))
    if not any("part" in link for link in _named(raw)):
        return read_work(text, raw, None)
    try:
        with desk.holder.reading() as catalog:
            return read_work(text, raw, catalog)
    except CatalogError as error:
        return read_work(text, raw, None, trouble=error)


def _named(raw: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    groups = [group for kind in ("section", "output") for group in rows_of(raw, kind)]
    links = [link for group in groups for link in rows_of(group, "link")]
    return links + [diode for group in groups if isinstance(diode := group.get("freewheel"), Mapping)]


def read_work(
    text: str, raw: Mapping[str, Any], catalog: Catalog | None, *, trouble: LoadworthyError | None = None
) -> Work:
    """Read a board's text; what a link lacks is told, and does not stop the rest from being judged."""
    from loadworthy.boards.shelf import CatalogShelf  # noqa: PLC0415 - brings DuckDB in

    shelf = None if catalog is None else CatalogShelf(catalog)
    try:
        board = read_text(text, name=NAME, shelf=shelf)
    except BoardError as error:
        problems = problems_in(error)
    else:
        return Work(text=text, raw=raw, board=board, problems=(), trouble=trouble)
    try:
        unfinished = read_text(text, name=NAME, shelf=shelf, unfinished=True)
    except BoardError as error:
        unsound = problems_in(error)
        return Work(text=text, raw=raw, board=None, problems=problems, unsound=unsound, trouble=trouble)
    return Work(text=text, raw=raw, board=unfinished, problems=problems, trouble=trouble)


def problems_in(error: BoardError) -> tuple[Problem, ...]:
    """Take what is wrong with a board apart."""
    found = []
    for one in error.problems or (error,):
        key = TomlFile.key_in(one.where)
        line = re.search(r"line (\d+)", one.where or "")
        # The command line's words for what the pages have at hand, and the file's for what the forms call it.
        way_out = (one.way_out or "").replace("Give --catalog or", "Take its list in on the page Catalogue, or give")
        text = _KEYS.sub(lambda match: match.group().replace("_", " "), f"{one.message} {way_out}".strip())
        found.append(Problem(key=key, line=line.group(1) if line else "", text=text[:1].upper() + text[1:]))
    return tuple(found)


def rows_of(table: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    """Return the tables of a list; what is none is passed over with an empty one, so that places stay."""
    rows = table.get(name)
    return [row if isinstance(row, Mapping) else {} for row in rows] if isinstance(rows, list) else []


def group_of(raw: Mapping[str, Any], where: str) -> Mapping[str, Any]:
    """Return the section or output of a place; an empty one where there is none."""
    found = re.match(r"(section|output)\[(\d+)\]", where)
    rows = rows_of(raw, found.group(1)) if found else []
    place = int(found.group(2)) - 1 if found else 0
    return rows[place] if 0 <= place < len(rows) else {}


def links_of(group: Mapping[str, Any], where: str) -> list[tuple[str, Mapping[str, Any]]]:
    """Return the links of a section or an output, each with its place."""
    return [(f"{where}.link[{number}]", link) for number, link in enumerate(rows_of(group, "link"), 1)]


def draft_paths(work: Work) -> list[PathView]:
    """Draw the path of every output of a board that cannot be judged yet."""
    raw = work.raw
    supply = raw.get("supply")
    volts = supply.get("voltage") if isinstance(supply, Mapping) else None
    feeders = {row.get("name"): (f"section[{number}]", row) for number, row in enumerate(rows_of(raw, "section"), 1)}
    views = []
    for number, output in enumerate(rows_of(raw, "output"), 1):
        way: list[tuple[str, Mapping[str, Any]]] = [(f"output[{number}]", output)]
        while (fed_by := way[0][1].get("fed_by")) in feeders and feeders[fed_by] not in way:
            way.insert(0, feeders[fed_by])
        load = output.get("load")
        said = [str(value) for value in load.values()] if isinstance(load, Mapping) else []
        views.append(
            PathView(
                output=str(output.get("name") or f"output {number}"),
                verdict="not known",
                supply=str(volts or "its voltage is not said"),
                load=", ".join(said) or "its load is not said",
                steps=tuple(
                    _draft(place, link, work.at(place))
                    for where, group in way
                    for place, link in links_of(group, where)
                ),
            )
        )
    return views


def _draft(where: str, link: Mapping[str, Any], problems: Sequence[Problem]) -> Step:
    kind = str(link.get("kind") or "link")
    part = f", {link['part']}" if link.get("part") else ""
    return Step(
        name=str(link.get("name") or kind),
        kind=kind,
        where=where,
        what=f"{kind}{part}",
        share=None,
        enough=False,
        weakest=False,
        verdict="not known",
        told="something is to be mended here." if problems else "it is judged once the rest of the board is said.",
    )
