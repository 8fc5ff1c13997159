"""Connections to the engine: to a file that is read, to one that is written, and further ones beside them."""

from __future__ import annotations

import os
import secrets
import tempfile
import weakref
from pathlib import Path
from typing import Any, cast

import duckdb

__all__ = ["MEMORY_LIMIT", "Session", "attached", "opened", "unattached"]

#: DuckDB may take this much memory; what does not fit goes to temporary files.
MEMORY_LIMIT = "2GB"
#: Set before anything is opened: another kind of database file would else have the engine fetch a reader for it.
_SETTINGS = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "memory_limit": MEMORY_LIMIT,
}
#: The name that an attached catalogue has within the engine.
_ATTACHED = "shelf"


class Session:
    """A connection to a catalogue whose cursors look into the same catalogue, and end with it.

    The engine's own cursors look into the database that its instance was opened with, which is not an attached
    one; and one that is left open keeps the file open.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, database: str | None) -> None:
        self._connection, self._database = connection, database
        self._cursors: weakref.WeakSet[Session] = weakref.WeakSet()
        if database:
            connection.execute(f"USE {database}")

    def cursor(self) -> Session:
        """Return another connection, for another thread or another question."""
        made = Session(self._connection.cursor(), self._database)
        self._cursors.add(made)
        return made

    def close(self) -> None:
        """Close it and its cursors."""
        self.close_cursors()
        self._connection.close()

    def close_cursors(self) -> None:
        """Close what was opened from it; what that has not committed is undone."""
        for cursor in list(self._cursors):
            cursor.close()

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever a connection has
        return getattr(self._connection, name)


def _connection(connection: duckdb.DuckDBPyConnection, database: str | None) -> duckdb.DuckDBPyConnection:
    try:
        return cast("duckdb.DuckDBPyConnection", Session(connection, database))
    except BaseException:
        connection.close()
        raise


def _new_instance() -> duckdb.DuckDBPyConnection:
    spills = Path(tempfile.gettempdir()) / f"loadworthy-{os.getpid()}-{secrets.token_hex(4)}"
    return duckdb.connect(config={**_SETTINGS, "temp_directory": str(spills)})


def unattached() -> duckdb.DuckDBPyConnection:
    """Open nothing yet: a database in memory, for views over what lies elsewhere."""
    return _connection(_new_instance(), None)


def attached(path: Path) -> duckdb.DuckDBPyConnection:
    """Open a database file for reading, in the version that stands there now.

    Opened by its path alone, the engine would hand out what this process has open of that path already, though
    another version has taken its place since. An instance of its own has none open.

    Raises
    ------
    duckdb.Error
        It is no database of the engine's, or somebody writes in it.
    """
    quoted = str(path).replace("'", "''")
    connection = _new_instance()
    try:
        connection.execute(f"ATTACH '{quoted}' AS {_ATTACHED} (TYPE duckdb, READ_ONLY)")
    except BaseException:
        connection.close()
        raise
    return _connection(connection, _ATTACHED)


def opened(file: Path) -> duckdb.DuckDBPyConnection:
    """Open a database file for writing; it is made where there is none.

    Raises
    ------
    duckdb.Error
        It is no database of the engine's, or somebody else has it open.
    """
    return _connection(duckdb.connect(str(file), config=dict(_SETTINGS)), None)
