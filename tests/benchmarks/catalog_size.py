"""How large a catalogue file is beside the same tables as Parquet, and how long it takes to export."""

from __future__ import annotations

from pathlib import Path

import duckdb
from timing import Line, costs_of_call

from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog

__all__ = ["measure_size"]

#: What a set of files holds of a family, the offers with their parts' keys.
_TABLES = ("stored_transistor", "claims_transistor", "offers")
_SUPPLIERS = ("Measured Parts", "Measured Parts too", "Measured Parts as well")


def _make(parts: int, folder: Path, suppliers: int) -> Path:
    """Take in a list of so many parts, as any list is, from so many suppliers."""
    from writers import write_bulk

    from loadworthy.catalog.intake import intake

    made, raw = folder / f"sized-{parts}-{suppliers}.duckdb", folder / f"sized-{parts}.part.duckdb"
    if made.exists():
        return made
    raw.unlink(missing_ok=True)
    file = folder / f"list-{parts}.csv"
    if not file.exists():
        write_bulk(parts, 1, file)
    for supplier in _SUPPLIERS[:suppliers]:
        intake(raw, [file], supplier=supplier)
    raw.rename(made)
    return made


def _as_parquet(connection: duckdb.DuckDBPyConnection, folder: Path) -> int:
    """Write the tables row for row; return their bytes."""
    size = 0
    for table in _TABLES:
        file = folder / f"{table}.parquet"
        connection.execute(f"COPY {table} TO '{file}' (FORMAT parquet, COMPRESSION zstd)")
        size += file.stat().st_size
        file.unlink()
    return size


def _free_room(made: Path) -> int:
    """How many bytes of the file hold nothing: the next intake uses them."""
    with duckdb.connect(str(made), read_only=True) as connection:
        row = connection.execute("SELECT block_size * free_blocks FROM pragma_database_size()").fetchone()
    return int(row[0]) if row else 0


def _measure(parts: int, folder: Path, suppliers: int) -> str:
    made = _make(parts, folder, suppliers)
    file, free = made.stat().st_size, _free_room(made)
    exported: list[int] = []
    with Catalog.open(made) as catalog:
        offers = catalog.rows("SELECT count(*) AS n FROM offers")[0]["n"]
        parquet = _as_parquet(catalog.connection, folder)
        took = costs_of_call(
            lambda: exported.append(
                sum(table.size for table in export(catalog, folder / f"sized-{parts}").tables.values())
            )
        )
    return (
        f"{parts:,} parts, {offers:,} offers, {suppliers} lists: the file {file / 1e6:.0f} MB, {free / 1e6:.0f} of "
        f"them free; the same as Parquet (zstd), row for row, {parquet / 1e6:.0f} MB: {file / parquet:.2f}; as "
        f"exported, offers sorted by their parts, {exported[0] / 1e6:.0f} MB: {file / exported[0]:.2f}; the export "
        f"takes {took.wall_s:.0f} s."
    )


def measure_size(parts: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with a catalogue of so many parts; return notes, for a size is no time."""
    del rounds
    return [], [_measure(parts, folder, suppliers) for suppliers in (1, len(_SUPPLIERS))]
