"""The catalogue: one DuckDB file or a set of Parquet files, opened with clear errors and read through few questions."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, cast

import duckdb

from loadworthy.catalog import families, parquet
from loadworthy.catalog.concurring import CONCURRING, claims_view
from loadworthy.catalog.failures import failures_explained
from loadworthy.catalog.laying import columns_of
from loadworthy.catalog.manifest import Manifest
from loadworthy.catalog.places import is_set, place_of
from loadworthy.catalog.schema import (
    CLAIM,
    OFFERED,
    SCHEMA_VERSION,
    check_schema,
    fixed_tables,
    listed_offers_view,
    offers_view,
    part_columns,
)
from loadworthy.catalog.sessions import Session, attached, opened, unattached
from loadworthy.errors import CatalogError

if TYPE_CHECKING:
    import pyarrow as pa

    from loadworthy.needs import Need

__all__ = ["Catalog", "CatalogSummary", "default_path"]

#: A set holds views over parts by their columns, and all claims as one table.
_NOT_IN_SETS = ("parts_", "disputed_", "concurring_")


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


class Catalog:
    """An open catalogue: its version of the moment when it was opened, whatever is written after.

    Use it as a context manager, or close it. It is written to by :func:`loadworthy.catalog.versions.renewed`.
    """

    def __init__(
        self, path: Path | str, connection: duckdb.DuckDBPyConnection, manifest: Manifest | None = None
    ) -> None:
        self.path = path
        self.connection = connection
        self._manifest = manifest

    @classmethod
    def open(cls, path: str | Path) -> Catalog:
        """Open a catalogue for reading.

        Parameters
        ----------
        path
            The file, or the folder or address of a set of Parquet files. Any number of readers can open it, a file
            also while a new version of it is written.

        Raises
        ------
        CatalogError
            There is none, it is no catalogue, or of another schema.
        """
        place = place_of(path)
        with failures_explained(place):
            if isinstance(place, str) or place.is_dir():
                return cls._of_set(place)
            if not place.exists():
                raise CatalogError(
                    "there is no catalogue here yet.",
                    where=str(place),
                    way_out="Fill one with: loadworthy intake FILE…",
                )
            cls.refuse(place)
            return cls(place, attached(place))._checked(fill=False)

    @classmethod
    def to_write(cls, path: Path, *, file: Path) -> Catalog:
        """Open the file in which a new version of a catalogue is made; it gets its tables where it is new.

        Parameters
        ----------
        path
            The catalogue, as errors name it.
        file
            The file. Nobody else may read it while it is open.

        Raises
        ------
        CatalogError
            It cannot be written, is no catalogue, or of another schema.
        """
        with failures_explained(path):
            return cls(path, opened(file))._checked(fill=True)

    @classmethod
    def _of_set(cls, place: Path | str) -> Catalog:
        connection = unattached()
        try:
            manifest = parquet.manifest_of(place, connection)
            check_schema(manifest.schema, str(place))
            parquet.lay_views(place, manifest, connection)
        except BaseException:
            connection.close()
            raise
        return cls(place, connection, manifest)

    @staticmethod
    def refuse(place: Path | str) -> None:
        """Refuse what cannot be a catalogue file: a folder, a set of Parquet files, an empty file."""
        if isinstance(place, str) or place.is_dir():
            raise CatalogError(
                "it is a set of Parquet files, which is only read." if is_set(place) else "it is a folder, not a file.",
                where=str(place),
                way_out="Name a catalogue file with --catalog; export it again after it has changed.",
            )
        if place.exists() and place.stat().st_size == 0:
            raise CatalogError(
                "it is empty, not a catalogue.", where=str(place), way_out="Delete it or name another with --catalog."
            )

    def settle(self) -> None:
        """Put all that is committed into the file itself, and undo what is not: nothing more is to be written."""
        with failures_explained(self.path):
            cast("Session", self.connection).close_cursors()
            with suppress(duckdb.TransactionException):  # there is none
                self.connection.execute("ROLLBACK")
            self.connection.execute("CHECKPOINT")

    def stamp(self) -> object:
        """Return what tells its present state from another that is written later, as plain values."""
        if self._manifest is not None:
            return self._manifest.as_json()
        told = Path(self.path).stat()
        return [told.st_size, told.st_mtime_ns]

    def another(self) -> Catalog:
        """Return the same version over a connection of its own, for another thread."""
        with failures_explained(self.path):
            return Catalog(self.path, self.connection.cursor(), self._manifest)

    def _checked(self, *, fill: bool) -> Catalog:
        """Hold it to be a catalogue of this schema; an empty one gets its tables where it is to be written to."""
        try:
            if self._is_one():
                self._check_schema()
            else:
                self._refuse_or_fill(fill=fill)
        except BaseException:
            self.close()
            raise
        return self

    def _tables(self) -> set[str]:
        rows = self.connection.execute(
            "SELECT table_name FROM duckdb_tables() WHERE NOT temporary "
            "UNION SELECT view_name FROM duckdb_views() WHERE NOT internal AND NOT temporary"
        ).fetchall()
        return {str(row[0]) for row in rows}

    def stored_tables(self) -> list[str]:
        """Name what a set of files holds: what was taken in, claims written out, offers with their parts' keys."""
        return sorted(
            name
            for name in self._tables()
            if name not in ("about", "laid", "offer_rows", "listed_offers") and not name.startswith(_NOT_IN_SETS)
        )

    def _is_one(self) -> bool:
        return "about" in self._tables()

    def _refuse_or_fill(self, *, fill: bool) -> None:
        tables = self._tables()
        if tables or not fill:
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
        """Make the family's tables of claims where there are none; columns are added where a claim fills them."""
        for table, columns in (("disputed", CLAIM), ("concurring", CONCURRING)):
            named = ", ".join(f'"{name}" {kind}' for name, kind in columns)
            self.connection.execute(f'CREATE TABLE IF NOT EXISTS "{table}_{family.name}" ({named})')

    def ensure_offered(self, columns: Collection[str]) -> None:
        """Make those columns of the offers that no list has filled before."""
        for name, kind in OFFERED:
            if name in columns:
                self.connection.execute(f"ALTER TABLE offer_rows ADD COLUMN IF NOT EXISTS {name} {kind}")

    def view_offers(self) -> None:
        """Lay the views over the offers anew: they name the columns and the families that there are."""
        held = self._held()
        offered = listed_offers_view(self._columns("offer_rows"))
        self.connection.execute(f"CREATE OR REPLACE VIEW listed_offers AS {offered}")
        self.connection.execute(f"CREATE OR REPLACE VIEW offers AS {offers_view(held)}")

    def view_claims(self, family: families.Family) -> None:
        """Lay the view over all claims of a family's parts anew: it names the columns that there are."""
        columns = (self._columns(f"{table}_{family.name}") for table in ("stored", "disputed"))
        text = claims_view(family, *columns)
        self.connection.execute(f"CREATE OR REPLACE VIEW claims_{family.name} AS {text}")

    def _columns(self, table: str) -> set[str]:
        return columns_of(self.connection, table)

    def _held(self) -> list[str]:
        tables = self._tables()
        return [name for name in families.names() if f"stored_{name}" in tables]

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
        held = self._held()
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
        offers = self.connection.execute("SELECT count(*) FROM listed_offers WHERE family = ?", [name]).fetchone() or (
            0,
        )
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

    def lists_of(self, supplier: str, family: str) -> list[dict[str, Any]]:
        """Return a supplier's lists of a family: a new one takes their place."""
        return self.rows(
            "SELECT list_id, file, sheet, stated_date, taken_in FROM lists WHERE supplier = ? AND family = ? "
            "ORDER BY list_id",
            [supplier, family],
        )

    def refused(self, list_id: int | None = None, limit: int = 100, *, after: int = 0) -> list[dict[str, Any]]:
        """Return refused cells and rows, and notes beside the tables, in file order; those ``after`` so many."""
        return self.rows(
            "SELECT l.file, l.supplier, r.list_id, r.kind, r.record, r.heading, r.text, r.reason "
            "FROM refused r JOIN lists l USING (list_id) WHERE $list_id IS NULL OR list_id = $list_id "
            "ORDER BY list_id, record, heading, r.kind, text LIMIT $most OFFSET $after",
            {"list_id": list_id, "most": limit, "after": after},
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

    def choose_many(self, needs: Iterable[Need] | Mapping[str, Need], *, top: int = 10) -> pa.Table:
        """Rank the parts that fit each of many needs; see :func:`loadworthy.choose_many`."""
        # What chooses stands above the catalogue; this is its name at hand for who holds one.
        from loadworthy.many import choose_many  # noqa: PLC0415 - as said

        return choose_many(self, needs, top=top)


def family_levels(family: families.Family) -> str:
    """Return the column of the lowest-level figure that tells whether a part has any (``rds_from_v``)."""
    return next((f"{figure.levels.stem}_from_v" for figure in family.figures if figure.levels), "")
