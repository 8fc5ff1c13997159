"""How the intake of suppliers' lists is told: one line a list, how each column was read, what was refused."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from loadworthy.report.columns import Column
from loadworthy.report.text import clean, paragraph

if TYPE_CHECKING:
    from loadworthy.catalog.columns import ColumnReading
    from loadworthy.catalog.reports import IntakeReport, Refusal

__all__ = [
    "cells_by",
    "changes",
    "counts_text",
    "list_columns",
    "list_rows",
    "mark_text",
    "plain_text",
    "reading_text",
    "reads_text",
    "refusal_line",
    "refused_text",
]

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
            "delimiter": cells_by(report),
            "decimal": mark_text(report),
        }
        for report in reports
    ]


def cells_by(report: IntakeReport) -> str:
    """Say what parts the cells of a list."""
    return "sheet" if report.sheet is not None else _DELIMITERS.get(report.delimiter, report.delimiter)


def reading_text(report: IntakeReport, *, width: int) -> str:
    """Say how every column of a list was read, and why where that was guessed or left."""
    lines = [f"How the columns of {clean(report.file)} were read:", ""]
    lines += [
        paragraph(
            f"{column.heading or '(no heading)'} → {reads_text(column)}",
            width=width,
            indent=f"{column.position:>3}  ",
        )
        for column in report.columns
    ]
    mark = f"Decimal mark: {mark_text(report)}; {report.decimal_why}."
    return "\n".join([*lines, "", paragraph(mark, width=width)]) + "\n"


def mark_text(report: IntakeReport) -> str:
    """Name the mark between a number's wholes and its parts."""
    return _MARKS.get(report.decimal, report.decimal)


def reads_text(column: ColumnReading) -> str:
    """Say what a column was read as, and why where that was guessed or left."""
    if column.certainty == "unread":
        return f"not read: {column.why}" if column.why else "not read"
    said = plain_text(column)
    return f"{said} (guessed: {column.why})" if column.certainty == "guessed" else said


def plain_text(column: ColumnReading) -> str:
    """Say what a column was read as, without how sure that is; empty where it was not read."""
    return ", ".join(part for part in (column.title, column.statistic, column.at, column.unit) if part)


def counts_text(report: IntakeReport) -> str:
    """Say what became of a list's rows.

    Every row is one of these; cells that were refused stand in rows that were taken.
    """
    kinds = (
        (report.rows_headings, "a heading again", "headings again"),
        (report.rows_notes, "a line beside the table", "lines beside the table"),
        (report.rows_refused, "refused", "refused"),
    )
    rows = [_counted(report.rows_parts, "part"), *(f"{n} {one if n == 1 else many}" for n, one, many in kinds if n)]
    cells = f"; {_counted(report.cells_refused, 'cell')} of them refused" if report.cells_refused else ""
    return f"{_counted(report.rows_read, 'row')}: {', '.join(rows)}{cells}."


def changes(before: IntakeReport, after: IntakeReport) -> list[str]:
    """Say in words what another reading of the same table made different."""
    told = [
        f"{word}: {was or 'none'} → {now or 'none'}"
        for word, was, now in (
            ("family", before.family, after.family),
            ("supplier", before.supplier, after.supplier),
            ("decimal mark", mark_text(before), mark_text(after)),
            ("letters", before.encoding, after.encoding),
            ("cells by", cells_by(before), cells_by(after)),
        )
        if was != now
    ]
    earlier = {column.position: column for column in before.columns}
    for column in after.columns:
        was = earlier.get(column.position)
        if was is None or plain_text(was) != plain_text(column):
            told.append(
                f"column {column.position}, {column.heading or '(no heading)'}: "
                f"{plain_text(was) or 'not read' if was else 'not there'} → {plain_text(column) or 'not read'}"
            )
    told += [
        f"{word}: {was} → {now}"
        for word, was, now in (
            ("rows that are parts", before.rows_parts, after.rows_parts),
            ("rows refused", before.rows_refused, after.rows_refused),
            ("cells refused", before.cells_refused, after.cells_refused),
        )
        if was != now
    ]
    return told


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
