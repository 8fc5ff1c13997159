"""What an intake did: counts that close, how each column was read, what was refused."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from loadworthy.catalog.columns import ColumnReading, Record
from loadworthy.errors import UnreadableFile

__all__ = ["IntakeReport", "Refusal", "UnsettledTable"]


@dataclass(frozen=True, kw_only=True)
class Refusal:
    """A cell or a row that was not taken, or a note beside the table."""

    kind: str
    record: int
    heading: str
    text: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class IntakeReport:
    """What was found in one file and what became of it.

    ``examples`` are a few texts of each column, as they stand near the top of the table.
    ``rows_read`` counts the records below the heading; it is always the sum of ``rows_parts`` (each a part's
    claim and an offer), ``rows_headings`` (the heading repeated), ``rows_notes`` and ``rows_refused``.
    """

    file: str
    sheet: str | None
    sheets: tuple[str, ...]
    supplier: str
    supplier_from: str
    family: str
    encoding: str
    delimiter: str
    decimal: str
    decimal_why: str
    outcome: str
    columns: tuple[ColumnReading, ...] = ()
    rows_read: int = 0
    rows_parts: int = 0
    rows_headings: int = 0
    rows_notes: int = 0
    rows_refused: int = 0
    cells_refused: int = 0
    parts: int = 0
    offers: int = 0
    notes: tuple[str, ...] = ()
    refused: tuple[Refusal, ...] = ()
    recipe: str = ""
    examples: tuple[tuple[str, ...], ...] = ()

    def recipe_text(self) -> str:
        """Return the recipe (TOML) that reads the next such table in the same way."""
        return self.recipe

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        found = asdict(self)
        del found["recipe"]
        found["columns"] = [{**asdict(column), "at": column.at} for column in self.columns]
        found["refused"] = [asdict(one) for one in self.refused]
        return found


class UnsettledTable(UnreadableFile):
    """A file can be read, but not as a table of parts until a recipe settles what its headings leave open.

    Attributes
    ----------
    family
        What it would be read as; empty where that is not known.
    columns, examples
        What its columns read as, and a few texts of each; empty where no row reads as the headings.
    top
        Its first rows.
    """

    family: str = ""
    columns: tuple[ColumnReading, ...] = ()
    examples: tuple[tuple[str, ...], ...] = ()
    top: tuple[Record, ...] = ()
