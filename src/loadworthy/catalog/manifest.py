"""What a set of Parquet files says of itself: its tables, the files of each, and how much is in them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Final

from loadworthy.catalog import families
from loadworthy.catalog.places import MANIFEST
from loadworthy.catalog.schema import LISTED_OF_OFFERS, view_text
from loadworthy.errors import CatalogError

__all__ = ["MANIFEST", "FileOfSet", "Manifest", "TableOfSet", "part_views", "read_manifest", "whole"]

_WHAT: Final = "a Loadworthy catalogue in Parquet files"
_TABLE: Final = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True, kw_only=True)
class FileOfSet:
    """One Parquet file.

    Attributes
    ----------
    path
        Where it stands in the set, with ``/`` between folders.
    rows, size
        Its rows, and its bytes.
    holds
        The one value that each of the dividing columns has in it.
    """

    path: str
    rows: int
    size: int
    holds: Mapping[str, str | None]


@dataclass(frozen=True, kw_only=True)
class TableOfSet:
    """One table of the catalogue.

    Attributes
    ----------
    name
        Its name in the catalogue.
    columns
        Column → its type in DuckDB's words.
    stated
        Column → how many rows say something in it.
    divided_by
        The columns that its files are divided by.
    files
        Its files, in the order of its rows.
    """

    name: str
    columns: Mapping[str, str]
    stated: Mapping[str, int]
    divided_by: tuple[str, ...]
    files: tuple[FileOfSet, ...]

    @property
    def rows(self) -> int:
        """How many rows it has."""
        return sum(file.rows for file in self.files)

    @property
    def size(self) -> int:
        """How many bytes its files take."""
        return sum(file.size for file in self.files)

    def as_row(self) -> dict[str, Any]:
        """Return how much there is of it, in a line."""
        return {"table": self.name, "rows": self.rows, "files": len(self.files), "bytes": self.size}


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """What stands in a set.

    Attributes
    ----------
    schema
        The version of the tables, as in a catalogue file.
    made_by
        Which Loadworthy wrote it.
    tables
        Its tables by name.
    """

    schema: int
    made_by: str
    tables: Mapping[str, TableOfSet]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "what": _WHAT,
            "schema": self.schema,
            "made_by": self.made_by,
            "tables": {
                table.name: {
                    "rows": table.rows,
                    "bytes": table.size,
                    "columns": dict(table.columns),
                    "stated": dict(table.stated),
                    "divided_by": list(table.divided_by),
                    "files": [
                        {"path": file.path, "rows": file.rows, "bytes": file.size, "holds": dict(file.holds)}
                        for file in table.files
                    ],
                }
                for table in self.tables.values()
            },
        }

    def text(self) -> str:
        """Return it as it is written."""
        return json.dumps(self.as_json(), ensure_ascii=False, indent=1) + "\n"


def read_manifest(text: str, where: str) -> Manifest:
    """Read what a set says of itself.

    Parameters
    ----------
    text
        What stands in the file.
    where
        The set, for errors.

    Raises
    ------
    CatalogError
        It is no such file, or damaged. Another schema is left to who opens the set.
    """
    try:
        told = json.loads(text)
        if told["what"] != _WHAT:
            raise _not_sound(where)
        tables = {name: _table(name, one) for name, one in told["tables"].items()}
        return Manifest(schema=int(told["schema"]), made_by=str(told["made_by"]), tables=tables)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise _not_sound(where) from error


def whole(manifest: Manifest, place: Path) -> Manifest:
    """See to it that every file of a set is there.

    Raises
    ------
    CatalogError
        One is not, or is of another size.
    """
    for file in (file for table in manifest.tables.values() for file in table.files):
        there = place / file.path
        if not there.is_file() or there.stat().st_size != file.size:
            raise CatalogError(
                f"the set is not whole: {file.path} is missing or not as it was written.",
                where=str(place),
                way_out="Copy it again with all its files, or export it anew.",
            )
    return manifest


def part_views(manifest: Manifest) -> Iterator[tuple[str, str]]:
    """Yield (name, text) of the views over the stored parts of each family, and over the offers.

    Parameters
    ----------
    manifest
        What the set says of itself.
    """
    for table in manifest.tables.values():
        family = family_of(table)
        if family is not None:
            yield f"parts_{family}", view_text(families.load(family), table.columns, table.name)
    yield "listed_offers", LISTED_OF_OFFERS


def family_of(table: TableOfSet) -> str | None:
    """Return the family whose parts a table stores; None of every other table."""
    family = table.name.removeprefix("stored_")
    return family if family != table.name and family in families.names() else None


def _not_sound(where: str) -> CatalogError:
    return CatalogError(
        f"{MANIFEST} in it is not one of Loadworthy's, or it is damaged.",
        where=where,
        way_out="Write the set anew: loadworthy catalog --catalog FILE --export DIR.",
    )


def _table(name: str, told: Mapping[str, Any]) -> TableOfSet:
    """Names and paths go into statements and out to a disk, so nothing but plain ones may pass."""
    files = tuple(
        FileOfSet(
            path=str(file["path"]),
            rows=int(file["rows"]),
            size=int(file["bytes"]),
            holds={str(key): None if value is None else str(value) for key, value in file["holds"].items()},
        )
        for file in told["files"]
    )
    columns = {str(key): str(kind) for key, kind in told["columns"].items()}
    outside = [file.path for file in files if ".." in (path := PurePosixPath(file.path)).parts or path.is_absolute()]
    if outside or not files or not all(map(_TABLE.fullmatch, (name, *columns))):
        raise ValueError(name)
    return TableOfSet(
        name=name,
        columns=columns,
        stated={str(key): int(count) for key, count in told["stated"].items()},
        divided_by=tuple(map(str, told["divided_by"])),
        files=files,
    )
