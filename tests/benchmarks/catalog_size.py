"""How large a catalogue file is beside the same tables as Parquet, and how long it takes to export."""

from __future__ import annotations

from pathlib import Path

import duckdb
from timing import Line, costs_of_call

from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed

__all__ = ["measure_size"]

_TABLES = ("stored_transistor", "offers")
#: Two more suppliers offer the same parts, at prices and from stocks of their own.
_MORE_OFFERS = """
INSERT INTO offers SELECT * REPLACE (
    {number} AS list_id,
    'Supplier {number}' AS supplier,
    'S{number}-' || order_number AS order_number,
    CAST(hash(part_key || '{number}') % 4000 AS BIGINT) AS stock,
    round(unit_price * {factor}, 3) AS unit_price,
    [struct_pack(quantity := CAST(1 AS BIGINT), price := round(unit_price * {factor}, 3))] AS breaks
) FROM offers WHERE list_id = 1
"""


def _make(parts: int, folder: Path) -> Path:
    """Take in a list of so many parts, as any list is; give each part two offers more; leave no gaps in the file."""
    from writers import write_bulk

    from loadworthy.catalog.intake import intake

    made, raw = folder / f"sized-{parts}.duckdb", folder / f"sized-{parts}.part.duckdb"
    if made.exists():
        return made
    raw.unlink(missing_ok=True)
    file = folder / f"list-{parts}.csv"
    if not file.exists():
        write_bulk(parts, 1, file)
    intake(raw, [file], supplier="Measured Parts")
    with renewed(raw) as catalog:
        for number in (2, 3):
            factor = f"(0.8 + (hash(part_key || 'p{number}') % 1000) / 2500.0)"
            catalog.connection.execute(_MORE_OFFERS.format(number=number, factor=factor))
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
