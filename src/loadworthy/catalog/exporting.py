"""The catalogue as a set of Parquet files, which other programs and engines can open too."""

from __future__ import annotations

import os
import re
import secrets
import shutil
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Final

import duckdb

from loadworthy.catalog import families
from loadworthy.catalog.failures import failures_explained
from loadworthy.catalog.manifest import MANIFEST, FileOfSet, Manifest, TableOfSet
from loadworthy.catalog.schema import SCHEMA_VERSION
from loadworthy.catalog.store import Catalog
from loadworthy.errors import CatalogError

__all__ = ["export"]

#: What a family's parts, and all offers, are divided by.
_DIVIDED_BY: Final = {"stored": ("channel", "package"), "offers": ("family",)}
#: Files that hold a few rows each cost more to open than they save; a family of so many kinds stays whole.
_MOST_FILES: Final = 400
#: A part's offers are looked up by its key: sorted by it, few row groups can hold it.
_ORDER: Final = {"offers": ("part_key", "list_id", "record")}
_NO_VALUE: Final = "__HIVE_DEFAULT_PARTITION__"


def export(catalog: Catalog, folder: str | Path) -> Manifest:
    """Write a catalogue as a set of Parquet files: all of it, or nothing.

    The files of a family's parts stand in folders by channel and package. Every file holds all its columns, so that
    it says the same wherever it lies; what the folders say is for those who look.

    Parameters
    ----------
    catalog
        The catalogue.
    folder
        Where the set is to stand. An earlier set there is replaced once the new one is whole.

    Raises
    ------
    CatalogError
        The folder holds something else, or cannot be written.
    """
    place = Path(os.path.realpath(folder))
    _refuse_others(place)
    fresh = place.with_name(f".{place.name}.{secrets.token_hex(4)}")
    with failures_explained(place):
        try:
            fresh.mkdir(parents=True)
            manifest = _write(catalog, fresh)
            _put_in_place(fresh, place)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)
    return manifest


def _refuse_others(place: Path) -> None:
    if place.is_dir():
        if not any(place.iterdir()) or (place / MANIFEST).is_file():
            return
        raise CatalogError(
            "the folder holds other things than a set that was exported before.",
            where=str(place),
            way_out="Name a folder that is empty or not there yet.",
        )
    if place.exists():
        raise CatalogError("it is a file, not a folder.", where=str(place), way_out="Name a folder.")


def _put_in_place(fresh: Path, place: Path) -> None:
    """Move the new set to its place; the earlier one goes only then."""
    earlier = fresh.with_name(fresh.name + ".old")
    if place.exists():
        place.rename(earlier)
    try:
        fresh.rename(place)
    except OSError:
        if earlier.exists():
            earlier.rename(place)
        raise
    shutil.rmtree(earlier, ignore_errors=True)


def _write(catalog: Catalog, folder: Path) -> Manifest:
    connection = catalog.connection.cursor()
    connection.execute("BEGIN TRANSACTION")  # all tables as they are at one moment
    try:
        tables = {name: _write_table(connection, name, folder) for name in catalog.stored_tables()}
    finally:
        connection.execute("ROLLBACK")
    manifest = Manifest(schema=SCHEMA_VERSION, made_by=f"loadworthy {version('loadworthy')}", tables=tables)
    (folder / MANIFEST).write_text(manifest.text(), encoding="utf-8")
    return manifest


def _write_table(connection: duckdb.DuckDBPyConnection, name: str, folder: Path) -> TableOfSet:
    columns = {str(row[0]): str(row[1]) for row in connection.execute(f'DESCRIBE "{name}"').fetchall()}
    counted = ", ".join(f'count("{column}")' for column in columns)
    counts = connection.execute(f'SELECT {counted} FROM "{name}"').fetchone() or ()
    divided_by = tuple(column for column in _DIVIDED_BY.get(name.partition("_")[0], ()) if column in columns)
    kinds = _kinds(connection, name, divided_by)
    if len(kinds) > _MOST_FILES:
        divided_by, kinds = (), [{}]
    order_by = [column for column in _ORDER.get(name, ()) if column in columns]
    order = f" ORDER BY {', '.join(order_by)}" if order_by else ""
    files = []
    for number, holds in enumerate(kinds, 1):
        path = "/".join((*_folders(name), *_kind_folders(holds), f"{number:04}.parquet"))
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        rows = connection.execute(
            f'COPY (SELECT * FROM "{name}"{_condition(holds)}{order}) TO {_text(str(folder / path))} '
            f"(FORMAT parquet, COMPRESSION zstd, KV_METADATA {{loadworthy_table: {_text(name)}, "
            f"loadworthy_schema: '{SCHEMA_VERSION}'}})"
        ).fetchone() or (0,)
        files.append(FileOfSet(path=path, rows=int(rows[0]), size=(folder / path).stat().st_size, holds=holds))
    return TableOfSet(
        name=name,
        columns=columns,
        stated=dict(zip(columns, map(int, counts), strict=True)),
        divided_by=divided_by,
        files=tuple(files),
    )


def _kinds(
    connection: duckdb.DuckDBPyConnection, name: str, divided_by: tuple[str, ...]
) -> list[dict[str, str | None]]:
    if not divided_by:
        return [{}]
    named = ", ".join(f'"{column}"' for column in divided_by)
    rows = connection.execute(f'SELECT DISTINCT {named} FROM "{name}" ORDER BY ALL').fetchall()
    return [dict(zip(divided_by, row, strict=True)) for row in rows] or [{}]


def _condition(holds: dict[str, str | None]) -> str:
    """Write it with plain comparisons, which meet the zone maps of the sorted table."""
    tests = [
        f'"{column}" IS NULL' if value is None else f'"{column}" = {_text(value)}' for column, value in holds.items()
    ]
    return " WHERE " + " AND ".join(tests) if tests else ""


def _text(value: str) -> str:
    """Write a text as a literal: COPY takes no parameters."""
    return "'" + value.replace("'", "''") + "'"


def _folders(name: str) -> Iterator[str]:
    """Name the folders of a table: ``stored_transistor`` stands in ``parts/family=transistor``."""
    stem, _, family = name.rpartition("_")
    if stem and family in families.names():
        yield "parts" if stem == "stored" else stem
        yield f"family={family}"
    else:
        yield name


def _kind_folders(holds: dict[str, str | None]) -> Iterator[str]:
    for column, value in holds.items():
        yield f"{column}={_NO_VALUE if value is None else _folded(value)}"


def _folded(value: str) -> str:
    """Write a value as part of a path: what is more than a plain letter stands as %XX."""
    return re.sub(r"[^A-Za-z0-9_.\-]", lambda match: "".join(f"%{byte:02X}" for byte in match[0].encode()), value)
