"""A set of Parquet files opened as a catalogue: the same tables by the same names, read from where they lie."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final
from urllib.parse import unquote, urlsplit

import duckdb

from loadworthy.catalog import families
from loadworthy.catalog.manifest import MANIFEST, Manifest, TableOfSet, read_manifest
from loadworthy.catalog.schema import viewed_columns
from loadworthy.errors import CatalogError

__all__ = ["is_set", "lay_views", "manifest_of", "part_views", "place_of", "within"]

_ADDRESS: Final = re.compile(r"([a-z][a-z0-9+.\-]+)://", re.IGNORECASE)
#: What DuckDB reads by its extension httpfs; the rest, such as hdfs, only Spark can open.
_BY_HTTPFS: Final = frozenset({"http", "https", "s3", "s3a", "s3n", "gs", "gcs", "r2", "hf"})


def place_of(path: str | Path) -> Path | str:
    """Return where a catalogue stands: a path, or an address such as ``s3://…`` as it is.

    Examples
    --------
    >>> place_of("s3://parts/greenhouse"), place_of("file:///var/parts").as_posix()
    ('s3://parts/greenhouse', '/var/parts')
    """
    scheme = _ADDRESS.match(path) if isinstance(path, str) else None
    if scheme is None:
        return Path(path)
    if scheme[1].lower() == "file":
        return Path(unquote(urlsplit(str(path)).path))
    return str(path).rstrip("/")


def is_set(place: Path | str) -> bool:
    """Say whether a set of Parquet files stands here; an address can only be one."""
    return isinstance(place, str) or (place / MANIFEST).is_file()


def within(place: Path | str, path: str) -> str:
    """Name a file of a set."""
    return f"{place}/{path}" if isinstance(place, str) else str(place.resolve() / path)


def manifest_of(place: Path | str, connection: duckdb.DuckDBPyConnection) -> Manifest:
    """Read what a set says of itself, and see to it that its files are there.

    Parameters
    ----------
    place
        The folder or address.
    connection
        Reads what lies at an address.

    Raises
    ------
    CatalogError
        It is no set, it is not whole, or what could read it is missing.
    """
    if isinstance(place, str):
        _reach(place, connection)
        read = connection.execute("SELECT content FROM read_text(?)", [within(place, MANIFEST)]).fetchone()
        return read_manifest(str(read[0]) if read else "", place)
    if not is_set(place):
        raise CatalogError(
            "it is a folder, but no set of Parquet files that Loadworthy exported.",
            where=str(place),
            way_out="Name a catalogue file, or export one: loadworthy catalog --catalog FILE --export DIR.",
        )
    return whole(read_manifest((place / MANIFEST).read_text(encoding="utf-8"), str(place)), place)


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


def _reach(place: str, connection: duckdb.DuckDBPyConnection) -> None:
    """Load what reads addresses, where the user has it; nothing is fetched."""
    scheme = place.partition("://")[0].lower()
    if scheme not in _BY_HTTPFS:
        raise CatalogError(
            f"DuckDB opens no {scheme}:// address.",
            where=place,
            way_out="Copy the set to this machine, or read it with --engine spark.",
        )
    try:
        connection.execute("LOAD httpfs")
    except duckdb.Error as error:
        raise CatalogError(
            "DuckDB opens an address by its extension httpfs, which is not installed here; Loadworthy fetches nothing.",
            where=place,
            way_out="Install it once: python -c \"import duckdb; duckdb.sql('INSTALL httpfs')\"; or copy the set to "
            "this machine, or read it with --engine spark.",
        ) from error


def lay_views(place: Path | str, manifest: Manifest, connection: duckdb.DuckDBPyConnection) -> None:
    """Give the tables of a set the names that they have in a catalogue file.

    Parameters
    ----------
    place, manifest
        The set.
    connection
        To an empty database in memory.
    """
    connection.execute(
        "CREATE TABLE about AS SELECT CAST(? AS INTEGER) AS loadworthy_schema, ? AS made_by",
        [manifest.schema, manifest.made_by],
    )
    for table in manifest.tables.values():
        files = ", ".join(_text(within(place, file.path)) for file in table.files)
        # The files hold all columns; a folder's name would be read as a number where a package looks like one.
        connection.execute(
            f'CREATE VIEW "{table.name}" AS SELECT * FROM read_parquet([{files}], hive_partitioning = false)'
        )
    for view, text in part_views(manifest):
        connection.execute(f'CREATE VIEW "{view}" AS {text}')


def part_views(manifest: Manifest) -> Iterator[tuple[str, str]]:
    """Yield (name, text) of the views over the stored parts of each family.

    Parameters
    ----------
    manifest
        What the set says of itself.
    """
    for table in manifest.tables.values():
        family = family_of(table)
        if family is not None:
            viewed = ", ".join(
                f'{text} AS "{name}"' for text, name in viewed_columns(families.load(family), table.columns)
            )
            yield f"parts_{family}", f'SELECT {viewed} FROM "{table.name}"'


def family_of(table: TableOfSet) -> str | None:
    """Return the family whose parts a table stores; None of every other table."""
    family = table.name.removeprefix("stored_")
    return family if family != table.name and family in families.names() else None


def _text(value: str) -> str:
    return "'" + value.replace("'", "''") + "'"
