"""A catalogue that holds one transistor, one contact and one resettable fuse, all invented."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import duckdb
import pytest

from loadworthy.catalog import families
from loadworthy.catalog.schema import fixed_tables, level_columns, part_columns

#: What the invented lists say of the invented parts.
PARTS: dict[str, dict[str, Any]] = {
    "transistor": {
        "maker": "Alder", "part_number": "ALD-40", "package": "TO-220", "vds_v": 40.0, "vgs_th_min_v": 1.0,
        "vgs_th_max_v": 2.5, "ciss_f": 2e-9, "id_case_a": 60.0, "junction_max_degc": 175.0, "rds_from_v": 4.5,
        "rds_4v5_ohm": 0.010, "rds_4v5_at_v": 4.5, "rds_5v0_ohm": 0.010, "rds_5v0_at_v": 4.5,
        "rds_10v0_ohm": 0.008, "rds_10v0_at_v": 10.0, "rds_12v0_ohm": 0.008, "rds_12v0_at_v": 10.0,
        "channel": "n",
    },
    "connector": {"maker": "Sedgemoor", "part_number": "SM-508-2", "contact_ohm": 0.003},
    "fuse": {
        "maker": "Quenchford", "part_number": "QR-5", "type": "resettable", "hold_a": 5.0, "r_min_ohm": 0.010,
        "r1_max_ohm": 0.050,
    },
}  # fmt: skip


@dataclass
class SmallCatalog:
    """What the bench needs of a catalogue: its connection."""

    connection: duckdb.DuckDBPyConnection


def _lay(connection: duckdb.DuckDBPyConnection, family: str, part: dict[str, Any]) -> None:
    described = families.load(family)
    columns = {"part_key": "VARCHAR", "claims": "INTEGER", "differs": "VARCHAR"}
    columns |= {column.name: column.kind for column in part_columns(described)}
    for figure in described.figures:
        for typical in (False, True) if figure.levels else ():
            for _, stem in level_columns(figure.levels, typical=typical) if figure.levels else ():
                columns |= {f"{stem}_ohm": "DOUBLE", f"{stem}_at_v": "DOUBLE"}
    connection.execute(f"CREATE TABLE parts_{family} ({', '.join(f'{name} {kind}' for name, kind in columns.items())})")
    row = {"part_key": f"{part['maker'].upper()}|{part['part_number']}", "claims": 1, **part}
    assert set(row) <= set(columns), set(row) - set(columns)
    places = ", ".join(f"${name}" for name in row)
    connection.execute(f"INSERT INTO parts_{family} ({', '.join(row)}) VALUES ({places})", row)


@pytest.fixture
def catalog_with() -> Iterator[Callable[..., SmallCatalog]]:
    """Make a catalogue of the three parts, with changes to one of them."""
    opened: list[duckdb.DuckDBPyConnection] = []

    def make(of: str = "transistor", /, **changes: Any) -> SmallCatalog:
        connection = duckdb.connect(":memory:")
        opened.append(connection)
        for statement in fixed_tables():
            connection.execute(statement)
        for family, part in PARTS.items():
            _lay(connection, family, {**part, **(changes if family == of else {})})
        return SmallCatalog(connection)

    yield make
    for connection in opened:
        connection.close()


@pytest.fixture
def catalog(catalog_with: Callable[..., SmallCatalog]) -> SmallCatalog:
    """Return the catalogue of the three parts."""
    return catalog_with()
