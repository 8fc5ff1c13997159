"""A file of needs: a row each, its columns named as the options are."""

from __future__ import annotations

import difflib
import tempfile
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import MISSING, Field, dataclass, fields
from pathlib import Path
from typing import Any, Final

import duckdb

from loadworthy.catalog.reading import load_rows, open_source
from loadworthy.catalog.surveying import digest
from loadworthy.errors import LoadworthyError, UnreadableFile, UsageError
from loadworthy.needs import NEEDS, Need

__all__ = ["Asked", "NeedsFile", "Refused", "read_needs"]

_TABLE: Final = "rows_of_needs"
#: What does not fit into so much memory goes to the scratch folder.
_SETTINGS: Final = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "memory_limit": "500MB",
}
_PARQUET: Final = b"PAR1"
_ID: Final = "id"
_YES: Final = frozenset({"true", "yes", "1", "x", "on", "ja"})
_NO: Final = frozenset({"false", "no", "0", "off", "nein"})


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A row that is a need: its number in the file, and the id that it goes by."""

    row: int
    id: str
    need: Need


@dataclass(frozen=True, kw_only=True)
class Refused:
    """A row that is no need, or that nothing answers: in which column, why, and what to do."""

    row: int
    id: str
    column: str
    reason: str
    way_out: str

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {"row": self.row, "id": self.id, "column": self.column, "reason": self.reason, "way_out": self.way_out}


class NeedsFile:
    """A file of needs that was looked at, to be read in pieces.

    Parameters
    ----------
    path
        Delimited text or a workbook, as suppliers' lists are read, or Parquet.
    family
        The family that the needs are of.
    usual
        Options that hold for every row that does not give them.

    Raises
    ------
    UnreadableFile
        It is no table.
    UsageError
        A column is named as no option is.
    """

    def __init__(self, path: str | Path, family: str, usual: Mapping[str, Any] | None = None) -> None:
        self.path = Path(path)
        self.need = NEEDS[family]
        self.usual = dict(usual or {})
        self._fields: dict[str, Field[Any]] = {field.name: field for field in fields(self.need)}
        self._folder = tempfile.TemporaryDirectory(prefix="loadworthy-needs-")
        self._connection = duckdb.connect(str(Path(self._folder.name) / "needs.duckdb"), config=dict(_SETTINGS))
        try:
            start = b""
            if self.path.is_file():
                with self.path.open("rb") as stream:
                    start = stream.read(4)
            headings = self._load_parquet() if start == _PARQUET else self._load_text()
            self.columns = self._named(headings)
            row = self._connection.execute(f"SELECT count(*) FROM {_TABLE}").fetchone()
        except BaseException:
            self.close()
            raise
        self.rows = int(row[0]) if row else 0
        self.digest = digest(self.path)

    def close(self) -> None:
        """Let the file go."""
        self._connection.close()
        self._folder.cleanup()

    def __enter__(self) -> NeedsFile:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def read(self, first: int, count: int) -> tuple[list[Asked], list[Refused]]:
        """Read some rows, the first of the file being 0: those that are needs, and those that are not."""
        needs: list[Asked] = []
        refused: list[Refused] = []
        found = self._connection.execute(
            f"SELECT * EXCLUDE (place) FROM {_TABLE} WHERE place >= ? AND place < ? ORDER BY place",
            [first, first + count],
        ).fetchall()
        for record, surplus, *cells in found:
            asked = self._asked(int(record), surplus, cells)
            if isinstance(asked, Asked):
                needs.append(asked)
            else:
                refused.append(asked)
        return needs, refused

    # -- the table -----------------------------------------------------------------------------------
    def _load_text(self) -> list[str]:
        folder = Path(self._folder.name)
        with closing(open_source(self.path, scratch=folder)) as source:
            at, headings = next((at, row) for at, row in enumerate(source.head, 1) if any(cell.strip() for cell in row))
            texts = load_rows(source, first_record=at + 1, width=len(headings), folder=folder)
        self._connection.register("texts_of_needs", texts.table)
        cells = ", ".join(f"c{number}" for number in range(len(headings)))
        self._connection.execute(
            f"CREATE TABLE {_TABLE} AS SELECT row_number() OVER (ORDER BY record) - 1 AS place, record, surplus, "
            f"{cells} FROM texts_of_needs"
        )
        self._connection.unregister("texts_of_needs")
        return [cell.strip() for cell in headings]

    def _load_parquet(self) -> list[str]:
        literal = str(self.path).replace("'", "''")
        try:
            names = [
                str(row[0]) for row in self._connection.execute(f"DESCRIBE FROM read_parquet('{literal}')").fetchall()
            ]
            cells = ", ".join(f'"{name.replace(chr(34), chr(34) * 2)}"' for name in names)
            self._connection.execute(
                f"CREATE TABLE {_TABLE} AS SELECT file_row_number AS place, file_row_number + 1 AS record, "
                f"NULL AS surplus, {cells} "
                f"FROM read_parquet('{literal}', file_row_number = true)"
            )
        except duckdb.Error as error:
            raise UnreadableFile(
                f"The Parquet file cannot be read ({str(error).splitlines()[0]}).",
                where=self.path.name,
                way_out="Write it anew.",
            ) from error
        return names

    def _named(self, headings: Sequence[str]) -> list[str]:
        """Find the option that each column is named as; an empty name is a column that is left out."""
        found: list[str] = []
        for number, heading in enumerate(headings, 1):
            name = heading.strip().lstrip("-").strip().lower().replace("-", "_").replace(" ", "_")
            if name and name not in self._fields and name != _ID:
                known = [one.replace("_", "-") for one in (*self._fields, _ID)]
                near = difflib.get_close_matches(name.replace("_", "-"), known, n=2)
                raise UsageError(
                    f"column {number} is named {heading!r}, which is no option of this family.",
                    where=self.path.name,
                    way_out=f"Did you mean {' or '.join(near)}?" if near else f"It is one of {', '.join(known)}.",
                )
            if name in found and name:
                raise UsageError(
                    f"the column {heading!r} stands twice.", where=self.path.name, way_out="Leave one of them out."
                )
            found.append(name)
        if not any(name for name in found if name != _ID):
            raise UsageError(
                "no column is named as an option.", where=self.path.name, way_out="Name them as the options: supply, …"
            )
        return found

    # -- a row ---------------------------------------------------------------------------------------
    def _asked(self, row: int, surplus: object, cells: Sequence[Any]) -> Asked | Refused:
        texts = dict(zip(self.columns, cells, strict=True))
        named = texts.pop(_ID, None)
        who = str(row) if named is None or not str(named).strip() else str(named).strip()
        if surplus is not None:
            return Refused(
                row=row, id=who, column="", reason="it has more cells than there are headings.",
                way_out="Put a cell that holds the delimiter in quotes.",
            )  # fmt: skip
        given = dict(self.usual)
        column = ""
        try:
            for column, cell in texts.items():
                value = self._value(column, cell) if column else None
                if value is not None:
                    given[column] = value
            column = ""
            self._require(given)
            need = self.need(**given)
        except LoadworthyError as error:
            where = error.where or ""
            return Refused(
                row=row,
                id=who,
                column=where.replace("--", "") if where.startswith("--") else column.replace("_", "-"),
                reason=error.message,
                way_out=error.way_out or "",
            )
        return Asked(row=row, id=who, need=need)

    def _value(self, column: str, cell: object) -> Any:  # noqa: ANN401 - as the option takes it
        """Read one cell as its option's value; None where nothing is given."""
        field = self._fields[column]
        if isinstance(cell, (list, tuple)):
            texts = [str(item).strip() for item in cell if item is not None and str(item).strip()]
        elif isinstance(field.default, tuple):
            texts = [piece.strip() for piece in str(cell or "").split(";") if piece.strip()]
        else:
            texts = [] if cell is None or not str(cell).strip() else [str(cell).strip()]
        if isinstance(field.default, tuple):
            return tuple(texts) or None
        if len(texts) > 1:
            raise UsageError("it has several values where one may stand.", way_out="Make a row of each.")
        if not texts:
            return None
        if isinstance(field.default, bool):
            return _flag(texts[0])
        return texts[0]

    def _require(self, given: Mapping[str, Any]) -> None:
        for name, field in self._fields.items():
            if field.default is MISSING and field.default_factory is MISSING and name not in given:
                option = name.replace("_", "-")
                raise UsageError(f"{option} is not given.", where=f"--{option}", way_out="Give it.")


def _flag(text: str) -> bool:
    word = text.casefold()
    if word in _YES or word in _NO:
        return word in _YES
    raise UsageError(f"{text!r} is neither yes nor no.", way_out="Write yes or no.")


def read_needs(path: str | Path, family: str) -> tuple[list[Asked], list[Refused]]:
    """Read a file of needs.

    Parameters
    ----------
    path
        A table with a row a need: delimited text, a workbook or Parquet. Its columns are named as the options of
        ``loadworthy choose FAMILY``, and `id`. Where an option may stand several times its texts stand in one cell
        with semicolons between them, or in a list.
    family
        The family that the needs are of.

    Returns
    -------
    tuple
        The needs, each with its row and its id, and the rows that are none, each with the reason.

    Raises
    ------
    UnreadableFile
        It is no table.
    UsageError
        A column is named as no option is.
    """
    with NeedsFile(path, family) as file:
        return file.read(0, file.rows)
