"""How the intake of suppliers' lists is told: one line a list, how each column was read, what was refused."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from loadworthy.report.columns import Column
from loadworthy.report.text import clean, paragraph

if TYPE_CHECKING:
    from loadworthy.catalog.columns import ColumnReading
    from loadworthy.catalog.reports import IntakeReport, Refusal

__all__ = ["list_columns", "list_rows", "reading_text", "refusal_line", "refused_text"]

_DELIMITERS: Final = {
    "\t": "tab", ",": "comma", ";": "semicolon", "|": "bar", ":": "colon", " ": "blanks", "": "sheet",
}  # fmt: skip
_FIRST: Final = 5
#: Of a cell so many letters are shown; CSV and JSON have them all.
_LONGEST_CELL: Final = 200
_MARKS: Final = {".": "point", ",": "comma"}


def list_columns(reports: Sequence[IntakeReport]) -> tuple[Column, ...]:
    """Pick the columns of one line a list; a column that would say the same of each has none."""
    columns = [
        Column(name="file", heading="list"),
        Column(name="family", heading="family", weight=15),
        Column(name="supplier", heading="supplier", weight=10),
        Column(name="outcome", heading="outcome", weight=8),
        Column(name="rows_read", heading="rows", weight=40, right=True),
        Column(name="parts", heading="parts", right=True),
        Column(name="offers", heading="offers", weight=20, right=True),
        Column(name="refused", heading="refused", weight=5, right=True),
        Column(name="encoding", heading="letters", weight=50),
        Column(name="delimiter", heading="cells by", weight=30),
        Column(name="decimal", heading="decimal", weight=35),
    ]
    plain = {"outcome"} if all(report.outcome == "new" for report in reports) else set()
    plain |= {"family"} if len({report.family for report in reports}) < 2 else set()
    plain |= {"supplier"} if all(report.supplier_from == "file name" for report in reports) else set()
    return tuple(column for column in columns if column.name not in plain)


def list_rows(reports: Sequence[IntakeReport]) -> list[dict[str, Any]]:
    """Make one row a list.

    Parameters
    ----------
    reports
        What :func:`loadworthy.catalog.intake.intake` returned.

    Returns
    -------
    list of dict
        Refused cells and rows are counted together.
    """
    return [
        {
            "file": report.file,
            "sheet": report.sheet,
            "supplier": report.supplier,
            "supplier_from": report.supplier_from,
            "family": report.family,
            "outcome": report.outcome,
            "parts": report.parts,
            "offers": report.offers,
            "refused": report.cells_refused + report.rows_refused,
            "rows_read": report.rows_read,
            "encoding": report.encoding,
            "delimiter": _cells_by(report),
            "decimal": _MARKS.get(report.decimal, report.decimal),
        }
        for report in reports
    ]


def _cells_by(report: IntakeReport) -> str:
    return "sheet" if report.sheet is not None else _DELIMITERS.get(report.delimiter, report.delimiter)


def reading_text(report: IntakeReport, *, width: int) -> str:
    """Say how every column of a list was read, and why where that was guessed or left."""
    lines = [f"How the columns of {clean(report.file)} were read:", ""]
    lines += [
        paragraph(
            f"{column.heading or '(no heading)'} → {_reads(column)}",
            width=width,
            indent=f"{column.position:>3}  ",
        )
        for column in report.columns
    ]
    mark = f"Decimal mark: {_MARKS.get(report.decimal, report.decimal)}; {report.decimal_why}."
    return "\n".join([*lines, "", paragraph(mark, width=width)]) + "\n"


def _reads(column: ColumnReading) -> str:
    if column.certainty == "unread":
        return f"not read: {column.why}" if column.why else "not read"
    said = ", ".join(part for part in (column.title, column.statistic, column.at, column.unit) if part)
    return f"{said} (guessed: {column.why})" if column.certainty == "guessed" else said


def refused_text(report: IntakeReport, *, width: int) -> str:
    """Say how much of a list was refused, with the first few cells and why."""
    if not report.rows_refused + report.cells_refused:
        return ""
    counts = [(report.cells_refused, "cell"), (report.rows_refused, "row")]
    count = " and ".join(_counted(number, what) for number, what in counts if number)
    head = paragraph(f"{clean(report.file)}: {count} refused. The first:", width=width)
    return "\n".join([head, *(_refusal(refusal, width) for refusal in report.refused[:_FIRST])]) + "\n"


def _refusal(refusal: Refusal, width: int) -> str:
    return refusal_line(
        record=refusal.record, heading=refusal.heading, text=refusal.text, reason=refusal.reason, width=width
    )


def refusal_line(*, record: int, heading: str, text: str, reason: str, width: int) -> str:
    """Say in one paragraph where something was refused, what it says and why."""
    place = f"row {record}" + (f", {heading}" if heading else "")
    text = text if len(text) <= _LONGEST_CELL else f"{text[:_LONGEST_CELL]} … ({len(text)} letters)"
    return paragraph(f"{place}: “{text}” – {reason}", width=width, indent="  ", hanging="    ")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
