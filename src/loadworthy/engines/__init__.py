"""What runs the queries: DuckDB, in this process, or Spark, for a catalogue that has outgrown one machine.

DuckDB is what everything is written for; another engine gives the same answers to the same SQL files.
"""

from __future__ import annotations

from typing import Final

__all__ = ["DUCKDB", "ENGINES", "SPARK", "engine_of"]

DUCKDB: Final = "duckdb"
SPARK: Final = "spark"
ENGINES: Final = (DUCKDB, SPARK)


def engine_of(connection: object) -> str:
    """Name the engine behind a connection; only those of another engine than DuckDB say which."""
    return str(getattr(connection, "engine", DUCKDB))
