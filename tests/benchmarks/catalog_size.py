"""How large a catalogue file is beside the same tables as Parquet, and how long it takes to export."""

from __future__ import annotations

from pathlib import Path

import duckdb
from timing import Line, costs_of_call

from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog

__all__ = ["measure_size"]

_TABLES = ("stored_transistor", "claims_transistor", "offer_rows")
_SUPPLIERS = ("Measured Parts", "Measured Parts too", "Measured Parts as well")


def _make(parts: int, folder: Path) -> Path:
    """Take in a list of so many parts, as any list is, from three suppliers."""
    from writers import write_bulk

    from loadworthy.catalog.intake import intake

    made, raw = folder / f"sized-{parts}.duckdb", folder / f"sized-{parts}.part.duckdb"
    if made.exists():
        return made
    raw.unlink(missing_ok=True)
    file = folder / f"list-{parts}.csv"
    if not file.exists():
        write_bulk(parts, 1, file)
    for supplier in _SUPPLIERS:
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


def measure_size(parts: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with a catalogue of so many parts; return notes, for a size is no time."""
    del rounds
    made = _make(parts, folder)
    file = made.stat().st_size
    exported: list[int] = []
    with Catalog.open(made) as catalog:
        offers = catalog.rows("SELECT count(*) AS n FROM offers")[0]["n"]
        parquet = _as_parquet(catalog.connection, folder)
        took = costs_of_call(
            lambda: exported.append(
                sum(table.size for table in export(catalog, folder / f"sized-{parts}").tables.values())
            )
        )
    return [], [
        f"{parts:,} parts, {offers:,} offers: the file {file / 1e6:.0f} MB; the same columns as Parquet (zstd), row "
        f"for row, {parquet / 1e6:.0f} MB: {file / parquet:.2f}; as exported, offers sorted by their parts, "
        f"{exported[0] / 1e6:.0f} MB: {file / exported[0]:.2f}; the export takes {took.wall_s:.0f} s."
    ]
