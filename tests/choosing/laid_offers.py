"""Offers of catalogues that tests spell out, by the keys of their parts, as a set of Parquet files has them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import duckdb

from loadworthy.catalog.schema import LISTED_OF_OFFERS, OFFERED, fixed_tables

_COLUMNS = {
    "part_key": "VARCHAR",
    "family": "VARCHAR",
    "list_id": "INTEGER",
    "record": "BIGINT",
    **dict(OFFERED),
}


def lay_offers(connection: duckdb.DuckDBPyConnection, family: str, offers: Sequence[Mapping[str, Any]]) -> None:
    """Make the tables that all families share, and fill the offers."""
    for statement in fixed_tables():
        connection.execute(statement)
    connection.execute("DROP VIEW offers")
    columns = ", ".join(f"{name} {kind}" for name, kind in _COLUMNS.items())
    connection.execute(f"CREATE TABLE offers ({columns})")
    connection.execute(f"CREATE OR REPLACE VIEW listed_offers AS {LISTED_OF_OFFERS}")
    for offer in offers:
        row = {"family": family, "least_quantity": 1, **offer}
        unknown = row.keys() - _COLUMNS.keys()
        assert not unknown, unknown
        places = ", ".join("?" for _ in row)
        connection.execute(f"INSERT INTO offers ({', '.join(row)}) VALUES ({places})", list(row.values()))
