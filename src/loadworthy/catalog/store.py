"""The catalogue: one DuckDB file or a set of Parquet files, opened with clear errors and read through few questions."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

import duckdb

from loadworthy.catalog import families, parquet
from loadworthy.catalog.places import is_set, place_of
from loadworthy.catalog.schema import SCHEMA_VERSION, check_schema, claim_columns, fixed_tables, part_columns
from loadworthy.errors import CatalogError

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["Catalog", "CatalogSummary", "default_path", "failures_explained"]

#: DuckDB may take this much memory; what does not fit goes to temporary files beside the catalogue.
MEMORY_LIMIT = "2GB"
#: Set before anything is opened: another kind of database file would else have the engine fetch a reader for it.
_SETTINGS = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "memory_limit": MEMORY_LIMIT,
}


@dataclass(frozen=True, kw_only=True)
class CatalogSummary:
    """What a catalogue holds."""

    path: str
    lists: tuple[dict[str, Any], ...]
    families: tuple[dict[str, Any], ...]
    refused: dict[str, int]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "path": self.path,
            "lists": list(self.lists),
            "families": list(self.families),
            "refused": self.refused,
        }


def default_path() -> Path | str:
    """Return where the catalogue is kept: LOADWORTHY_CATALOG, else the user's data folder."""
    named = os.environ.get("LOADWORTHY_CATALOG")
    if named:
        return place_of(named)
    import platformdirs  # noqa: PLC0415 - only where nobody named a file

    return Path(platformdirs.user_data_dir("loadworthy", appauthor=False)) / "catalog.duckdb"


@contextmanager
def failures_explained(path: Path | str) -> Iterator[None]:
    """Turn the engine's failures into errors that name the file and the way out."""
    try:
        yield
    except duckdb.Error as error:
        raise _explained(error, path) from error
    except PermissionError as error:
        raise CatalogError(
            "may not be read or written.",
            where=str(path),
            way_out="Check its permissions, or name another with --catalog.",
        ) from error
    except OSError as error:
        raise CatalogError(
            f"cannot be used: {error.strerror or error}.",
            where=str(path),
            way_out="Free some space or name another with --catalog.",
        ) from error


def _explained(error: duckdb.Error, path: Path | str) -> CatalogError:
    text = str(error)
    low = text.lower()
    if "set lock" in low or "conflicting lock" in low or "being used by another" in low:
        return CatalogError(
            "the catalogue is held open by another process that writes to it.",
            where=str(path),
            way_out="Wait until that one has ended and try again.",
        )
    if "different configuration" in low:
        return CatalogError(
            "the catalogue is open in this program in another way.",
            where=str(path),
            way_out="Close it there first.",
        )
    if "no space" in low or "disk full" in low or "could not write" in low or "failed to write" in low:
        return CatalogError(
            "there is no space left on the disk; the catalogue is as it was.",
            where=str(path),
            way_out="Free some space and try again.",
        )
    if (
        "not a valid duckdb" in low
        or "serializ" in low
        or "checksum" in low
        or "corrupt" in low
        or "version number" in low
    ):
        return CatalogError(
            "it is not a catalogue, or it is damaged.",
            where=str(path),
            way_out="Name another file with --catalog; a damaged one is made anew by taking the lists in again.",
        )
    if "cannot open" in low or "permission" in low or "is a directory" in low:
        return CatalogError(
            "the catalogue cannot be opened.",
            where=str(path),
            way_out="Check that it is a file that you may read and write.",
        )
    return CatalogError(
        f"the catalogue's engine failed: {text.splitlines()[0]}",
        where=str(path),
        way_out="Take the lists in again into a new file.",
    )


class Catalog:
    """An open catalogue.

    Use it as a context manager, or close it: a catalogue open for writing shuts others out.
    """

    def __init__(self, path: Path | str, connection: duckdb.DuckDBPyConnection) -> None:
        self.path = path
        self.connection = connection

    @classmethod
    def open(cls, path: str | Path, *, read_only: bool = True) -> Catalog:
        """Open a catalogue.

        Parameters
        ----------
        path
            The file, or the folder of a set of Parquet files, which may also be an address. Opened for writing a
            file is made where there is none; a set is only read.
        read_only
            Several readers can open it at once; a writer is alone.

        Raises
        ------
        CatalogError
            There is none, it is no catalogue, of another schema, or held by another process.
        """
        place = place_of(path)
        if isinstance(place, str) or place.is_dir():
            return cls._open_set(place, read_only=read_only)
        path = place
        fresh = not path.exists()
        if fresh and read_only:
            raise CatalogError(
                "there is no catalogue here yet.",
                where=str(path),
                way_out="Fill one with: loadworthy intake FILE…",
            )
        if not fresh and path.stat().st_size == 0:
            raise CatalogError(
                "it is empty, not a catalogue.",
                where=str(path),
                way_out="Delete it or name another with --catalog.",
            )
        with failures_explained(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            connection = duckdb.connect(str(path), read_only=read_only, config=dict(_SETTINGS))
            catalog = cls(path, connection)
            try:
                if catalog._is_one():
                    catalog._check_schema()
                else:
                    catalog._refuse_or_make(read_only=read_only)
            except BaseException:
                connection.close()
                if fresh:
                    path.unlink(missing_ok=True)
                raise
        return catalog

    @classmethod
    def _open_set(cls, place: Path | str, *, read_only: bool) -> Catalog:
        if not read_only:
            raise CatalogError(
                "it is a folder of Parquet files, which is only read."
                if is_set(place)
                else "it is a folder, not a catalogue.",
                where=str(place),
                way_out="Name a catalogue file with --catalog; export it again after it has changed.",
            )
        with failures_explained(place):
            connection = duckdb.connect(config={**_SETTINGS, "temp_directory": tempfile.gettempdir()})
            try:
                manifest = parquet.manifest_of(place, connection)
                check_schema(manifest.schema, str(place))
                parquet.lay_views(place, manifest, connection)
            except BaseException:
                connection.close()
                raise
        return cls(place, connection)

    def _tables(self) -> set[str]:
        rows = self.connection.execute(
            "SELECT table_name FROM duckdb_tables() WHERE NOT temporary "
            "UNION SELECT view_name FROM duckdb_views() WHERE NOT internal"
        ).fetchall()
        return {str(row[0]) for row in rows}

    def stored_tables(self) -> list[str]:
        """Name the tables that hold what was taken in; the views over them hold nothing of their own."""
        return sorted(name for name in self._tables() if name != "about" and not name.startswith("parts_"))

    def _is_one(self) -> bool:
        return "about" in self._tables()

    def _refuse_or_make(self, *, read_only: bool) -> None:
        tables = self._tables()
        if tables or read_only:
            raise CatalogError(
                "it is a database, but not a catalogue of Loadworthy's." if tables else "the catalogue is empty.",
                where=str(self.path),
                way_out="Name another file with --catalog." if tables else "Fill it with: loadworthy intake FILE…",
            )
        self.connection.execute("BEGIN")
        for statement in fixed_tables():
            self.connection.execute(statement)
        self.connection.execute("INSERT INTO about VALUES (?, ?)", [SCHEMA_VERSION, "loadworthy"])
        self.connection.execute("COMMIT")

    def _check_schema(self) -> None:
        found = self.connection.execute("SELECT loadworthy_schema FROM about").fetchone()
        check_schema(int(found[0]) if found and found[0] is not None else 0, str(self.path))

    def ensure_family(self, family: families.Family) -> None:
        """Make the family's table of claims where there is none."""
        columns = ", ".join(f'"{name}" {kind}' for name, kind in claim_columns(family))
        self.connection.execute(f'CREATE TABLE IF NOT EXISTS "claims_{family.name}" ({columns})')

    def holds(self, family: str) -> bool:
        """Say whether parts of a family were taken in."""
        return f"stored_{family}" in self._tables()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    def __enter__(self) -> Catalog:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # -- questions -----------------------------------------------------------------------------------
    def rows(self, statement: str, parameters: list[Any] | dict[str, Any] | None = None) -> list[dict[str, Any]]:
        """Run a statement and return its rows as dicts."""
        with failures_explained(self.path):
            result = self.connection.execute(statement, parameters or [])
            names = [column[0] for column in result.description or []]
            return [dict(zip(names, row, strict=True)) for row in result.fetchall()]

    def summary(self) -> CatalogSummary:
        """Say what the catalogue holds: lists, families with their completeness, refusals."""
        lists = self.rows("SELECT * EXCLUDE (reading) FROM lists ORDER BY list_id")
        for one in lists:
            one["taken_in"] = str(one["taken_in"])
            one["stated_date"] = str(one["stated_date"]) if one["stated_date"] else None
        held = [name for name in families.names() if self.holds(name)]
        refused = self.rows("SELECT kind, count(*) AS n FROM refused GROUP BY kind ORDER BY kind")
        return CatalogSummary(
            path=str(self.path),
            lists=tuple(lists),
            families=tuple(self._family_summary(name) for name in held),
            refused={str(row["kind"]): int(row["n"]) for row in refused},
        )

    def _family_summary(self, name: str) -> dict[str, Any]:
        family = families.load(name)
        shown = [column for column in part_columns(family) if column.title]
        counted = ", ".join(f'count("{column.name}")' for column in shown)
        counted += f', count("{family_levels(family)}")' if family_levels(family) else ""
        row = self.connection.execute(f'SELECT count(*), {counted} FROM "parts_{name}"').fetchone() or (0,)
        offers = self.connection.execute("SELECT count(*) FROM offers WHERE family = ?", [name]).fetchone() or (0,)
        titles = [column.name for column in shown] + ([family_levels(family)] if family_levels(family) else [])
        parts = int(row[0])
        return {
            "family": name,
            "parts": parts,
            "offers": int(offers[0]),
            "completeness": {
                title: (int(count) / parts if parts else 0.0) for title, count in zip(titles, row[1:], strict=True)
            },
        }

    def refused(self, list_id: int | None = None, limit: int = 100) -> list[dict[str, Any]]:
        """Return refused cells and rows, and notes beside the tables, in file order."""
        return self.rows(
            "SELECT l.file, l.supplier, r.list_id, r.kind, r.record, r.heading, r.text, r.reason "
            "FROM refused r JOIN lists l USING (list_id) WHERE $list_id IS NULL OR list_id = $list_id "
            "ORDER BY list_id, record, heading LIMIT $most",
            {"list_id": list_id, "most": limit},
        )

    def parts(self, family: str) -> pa.Table:
        """Return a family's parts, one row a part, all figures in SI units."""
        families.load(family)
        if not self.holds(family):
            raise CatalogError(
                f"it holds no {family}.",
                where=str(self.path),
                way_out="Fill it with: loadworthy intake FILE…",
            )
        with failures_explained(self.path):
            return self.connection.sql(f'SELECT * FROM "parts_{family}" ORDER BY maker, part_number').to_arrow_table()


def family_levels(family: families.Family) -> str:
    """Return the column of the lowest-level figure that tells whether a part has any (``rds_from_v``)."""
    return next((f"{figure.levels.stem}_from_v" for figure in family.figures if figure.levels), "")
