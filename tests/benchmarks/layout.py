"""The population laid out as the catalogue keeps it, for measuring selections without an intake before."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray
from population import GATE_LEVELS, PACKAGES, blocks

from loadworthy.catalog import families
from loadworthy.catalog.schema import view_text
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed

__all__ = ["make_catalog_file", "to_parts_table"]

_PACKAGES_FILE = Path(__file__).resolve().parents[2] / "catalog" / "packages.toml"
# The catalogue's standard gate voltages and the names of their columns.
_LEVELS = {
    "1v8": 1.8, "2v5": 2.5, "2v7": 2.7, "3v3": 3.3, "4v0": 4.0, "4v5": 4.5, "5v0": 5.0, "6v0": 6.0,
    "8v0": 8.0, "10v0": 10.0, "12v0": 12.0,
}  # fmt: skip
_AS_THEY_ARE = (
    "vds_v", "vgs_max_v", "vgs_th_min_v", "vgs_th_typ_v", "vgs_th_max_v", "id_case_a", "id_case_hot_a",
    "id_ambient_a", "id_pulse_a", "pd_case_w", "pd_ambient_w",
)  # fmt: skip
_DYNAMIC = (
    "qg_c",
    "qgd_c",
    "ciss_f",
    "rise_s",
    "fall_s",
    "rthja_k_per_w",
    "rthjc_k_per_w",
    "junction_max_degc",
)


def _floats(table: pa.Table, name: str) -> NDArray[np.float64]:
    """Return a column as an array in which null is NaN."""
    values: NDArray[np.float64] = table.column(name).to_numpy()
    return values


def _filled_upwards(table: pa.Table, stem: str) -> dict[str, pa.Array]:
    """Give each standard level the figure at the greatest voltage specified up to it, and that voltage."""
    specified = {volts: _floats(table, f"{stem}_{name}_ohm") for name, volts in _LEVELS.items() if volts in GATE_LEVELS}
    ohm = at_v = np.full(table.num_rows, np.nan)
    columns = {}
    for name, volts in _LEVELS.items():
        if volts in specified:
            here = ~np.isnan(specified[volts])
            ohm, at_v = np.where(here, specified[volts], ohm), np.where(here, volts, at_v)
        columns[f"{stem}_{name}_ohm"] = pa.array(ohm, from_pandas=True)
        columns[f"{stem}_{name}_at_v"] = pa.array(at_v, from_pandas=True)
    return columns


def _rds_from(table: pa.Table) -> pa.Array:
    """Return the least gate voltage at which a maximum is given."""
    least = np.full(table.num_rows, np.nan)
    for volts, name in sorted(GATE_LEVELS.items(), reverse=True):
        least = np.where(np.isnan(_floats(table, f"rds_{name}_ohm")), least, volts)
    return pa.array(least, from_pandas=True)


def _package_figures(table: pa.Table) -> dict[str, pa.ChunkedArray]:
    """Look up what the outline is assumed to have."""
    listed = {entry["name"]: entry for entry in tomllib.loads(_PACKAGES_FILE.read_text("utf-8"))["package"]}
    codes = pc.index_in(table.column("package").cast(pa.string()), pa.array(PACKAGES))

    def of_outline(figure: str, kind: pa.DataType) -> pa.ChunkedArray:
        return pc.take(pa.array([listed[name][figure] for name in PACKAGES], kind), codes)

    return {
        "leaded": of_outline("leaded", pa.bool_()),
        "package_rthja_k_per_w": of_outline("rthja", pa.float64()),
        "package_rthjc_k_per_w": of_outline("rthjc", pa.float64()),
        "package_rthcs_k_per_w": of_outline("rthcs", pa.float64()),
    }


def _part_key(table: pa.Table) -> Any:
    return pc.binary_join_element_wise(table.column("maker").cast(pa.string()), table.column("part_number"), "|")


def _parts(table: pa.Table, before: int) -> pa.Table:
    nothing = np.zeros(table.num_rows, dtype=np.bool_)
    typical = {name: values for name, values in _filled_upwards(table, "rds_typ").items() if name.endswith("ohm")}
    hot = np.where(table.column("hot_told").to_numpy(), _floats(table, "hot_exponent"), np.nan)
    differs = pc.if_else(pc.greater(table.column("claims"), 2), "on-resistance", pa.scalar(None, pa.string()))
    return pa.table(
        {
            "part_key": _part_key(table),
            "list_id": pa.array(np.ones(table.num_rows, dtype=np.int32)),
            "record": pa.array(np.arange(before + 2, before + 2 + table.num_rows)),
            **{name: table.column(name) for name in ("maker", "part_number", "channel", "package")},
            **_package_figures(table),
            **{name: table.column(name) for name in _AS_THEY_ARE},
            **_filled_upwards(table, "rds"),
            **typical,
            "rds_from_v": _rds_from(table),
            "rds_unmarked": nothing,
            "id_unmarked": nothing,
            "hot_exponent": pa.array(hot, from_pandas=True),
            **{name: table.column(name) for name in _DYNAMIC},
            "claims": table.column("claims").cast(pa.int32()),
            "differs": differs,
        }
    )


def to_parts_table(connection: duckdb.DuckDBPyConnection, n: int, seed: int) -> None:
    """Make the table ``parts_transistor`` with ``n`` parts, sorted by channel, package and VDS.

    The columns are those of the catalogue: SI units, on-resistances filled upwards from level to level.
    """
    before = 0
    for table in blocks(n, seed):
        connection.register("block", _parts(table, before))
        connection.execute(
            "INSERT INTO parts_transistor SELECT * FROM block"
            if before
            else "CREATE OR REPLACE TABLE parts_transistor AS SELECT * FROM block"
        )
        connection.unregister("block")
        before += table.num_rows


_OFFERS = """
INSERT INTO offer_rows BY NAME
SELECT 1 AS list_id, record, part_number AS order_number, 'GBP' AS currency, unit_price,
       [{'quantity': 1::BIGINT, 'price': unit_price},
        {'quantity': 100::BIGINT, 'price': 0.7 * unit_price}] AS breaks,
       1::BIGINT AS least_quantity, 1::BIGINT AS multiple, stock, life_cycle,
       CAST(lead_time_weeks AS INTEGER) || ' weeks' AS lead_time
FROM block
"""
_OFFERED = (
    "order_number", "currency", "unit_price", "breaks", "least_quantity", "multiple", "stock", "life_cycle",
    "lead_time",
)  # fmt: skip


def _lay_offers(catalog: Catalog, n: int, seed: int) -> None:
    """Lay one offer down for each part of :func:`to_parts_table`, all of one list."""
    catalog.ensure_offered(_OFFERED)
    catalog.connection.execute(
        "INSERT INTO lists (list_id, supplier, family) VALUES (1, 'Alderbrook Stores', 'transistor')"
    )
    before = 0
    for table in blocks(n, seed):
        columns = ("part_number", "unit_price", "stock", "life_cycle", "lead_time_weeks")
        records = pa.array(np.arange(before + 2, before + 2 + table.num_rows))
        catalog.connection.register("block", table.select(columns).append_column("record", records))
        catalog.connection.execute(_OFFERS)
        catalog.connection.unregister("block")
        before += table.num_rows
    catalog.view_offers()


def make_catalog_file(path: Path, n: int, seed: int) -> Path:
    """Make a catalogue as an intake lays it out: a stored table of parts, a view that has every column, offers.

    One that is there already stays.
    """
    if path.exists():
        return path
    with renewed(path) as catalog:
        connection = catalog.connection
        to_parts_table(connection, n, seed)
        connection.execute("ALTER TABLE parts_transistor RENAME TO stored_transistor")
        there = {row[0] for row in connection.execute("DESCRIBE stored_transistor").fetchall()}
        viewed = view_text(families.load("transistor"), there, "stored_transistor")
        connection.execute(f"CREATE VIEW parts_transistor AS {viewed}")
        catalog.ensure_family(families.load("transistor"))
        _lay_offers(catalog, n, seed)
    return path
