"""A set of Parquet files opened as a catalogue: the same tables by the same names, read from where they lie."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import duckdb

from loadworthy.catalog.manifest import MANIFEST, Manifest, part_views, read_manifest, whole
from loadworthy.catalog.places import is_set, within
from loadworthy.errors import CatalogError

__all__ = ["lay_views", "manifest_of"]

#: What DuckDB reads by its extension httpfs; the rest, such as hdfs, only Spark can open.
_BY_HTTPFS: Final = frozenset({"http", "https", "s3", "s3a", "s3n", "gs", "gcs", "r2", "hf"})


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
        # The files hold all columns; what stands in a folder's name is read in as many ways as there are readers.
        connection.execute(
            f'CREATE VIEW "{table.name}" AS SELECT * FROM read_parquet([{files}], hive_partitioning = false)'
        )
    for view, text in part_views(manifest):
        connection.execute(f'CREATE VIEW "{view}" AS {text}')


def _text(value: str) -> str:
    return "'" + value.replace("'", "''") + "'"
