"""How the catalogue's holdings are told: families, lists, how complete the figures are, what was refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from loadworthy import criteria
from loadworthy.report.columns import Column, heading_of
from loadworthy.report.intakes import refusal_line
from loadworthy.report.tables import table
from loadworthy.report.text import clean, paragraph

if TYPE_CHECKING:
    from loadworthy.catalog.store import CatalogSummary

__all__ = [
    "COMPLETENESS_COLUMNS",
    "EXPORTED_COLUMNS",
    "FAMILY_COLUMNS",
    "LIST_COLUMNS",
    "MEASURED_COLUMNS",
    "REFUSED_COLUMNS",
    "completeness_rows",
    "family_rows",
    "refused_text",
    "summary_text",
]

FAMILY_COLUMNS: Final = (
    Column(name="family", heading="family"),
    Column(name="parts", heading="parts", right=True),
    Column(name="offers", heading="offers", right=True),
)
LIST_COLUMNS: Final = (
    Column(name="file", heading="list"),
    Column(name="supplier", heading="supplier", weight=10),
    Column(name="family", heading="family", weight=40),
    Column(name="rows_parts", heading="parts", right=True),
    Column(name="rows_read", heading="rows", weight=30, right=True),
    Column(name="rows_refused", heading="rows\nrefused", weight=20, right=True),
    Column(name="cells_refused", heading="cells\nrefused", weight=20, right=True),
    Column(name="taken_in", heading="taken in", weight=50),
)
REFUSED_COLUMNS: Final = (
    Column(name="file", heading="list", weight=20),
    Column(name="record", heading="row", right=True),
    Column(name="heading", heading="column", weight=10),
    Column(name="text", heading="what it says"),
    Column(name="reason", heading="why it was refused"),
)
COMPLETENESS_COLUMNS: Final = (
    Column(name="figure", heading="what is known of the parts"),
    Column(name="share", heading="of them", right=True),
)
#: How the records of the catalogue are shown, one row a part and supplier.
MEASURED_COLUMNS: Final = (
    Column(name="family", heading="family", weight=40),
    Column(name="maker", heading="maker", weight=20),
    Column(name="part_number", heading="part number"),
    Column(name="supplier", heading="supplier"),
    Column(name="samples", heading="samples", right=True),
    Column(name="within", heading="within", right=True),
    Column(name="outside", heading="outside", right=True),
    Column(name="not_decided", heading="not\ndecided", right=True, weight=10),
    Column(name="last_on", heading="last", weight=30),
)

EXPORTED_COLUMNS: Final = (
    Column(name="table", heading="table"),
    Column(name="rows", heading="rows", right=True),
    Column(name="files", heading="files", right=True),
    Column(name="bytes", heading="bytes", right=True),
)

_KINDS: Final = {"cell": "cells", "row": "rows", "note": "notes"}


def refused_text(rows: Sequence[Mapping[str, Any]], *, width: int) -> str:
    """Tell what was refused, list by list."""
    lines: list[str] = []
    for file, refused in groupby(rows, key=lambda row: str(row["file"])):
        lines += [clean(file), *(_refusal(row, width) for row in refused), ""]
    return "\n".join(lines)


def _refusal(row: Mapping[str, Any], width: int) -> str:
    return refusal_line(
        record=row["record"],
        heading=row["heading"] or "",
        text=row["text"] or "",
        reason=row["reason"],
        width=width,
    )


def family_rows(summary: CatalogSummary) -> list[dict[str, Any]]:
    """Make one flat row a family: under share_KEY the share of parts of which it is known."""
    return [
        {
            **{key: value for key, value in family.items() if key != "completeness"},
            **{f"share_{key}": share for key, share in family["completeness"].items()},
        }
        for family in summary.families
    ]


def summary_text(summary: CatalogSummary, *, width: int) -> str:
    """Tell what the catalogue holds."""
    parts = [table(summary.families, FAMILY_COLUMNS, width=width)]
    parts += [_completeness(family, width) for family in summary.families]
    parts.append(table(summary.lists, LIST_COLUMNS, width=width))
    parts.append(_refused(summary.refused, width))
    return "\n".join(part for part in parts if part)


def completeness_rows(family: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one row a figure: of how many of a family's parts it is known."""
    shares: Mapping[str, float] = family["completeness"]
    return [
        {"figure": heading_of(key, criteria.load(family["family"]).headings), "share": f"{100 * share:.0f} %"}
        for key, share in shares.items()
    ]


def _completeness(family: Mapping[str, Any], width: int) -> str:
    rows = completeness_rows(family)
    figure, share = COMPLETENESS_COLUMNS
    columns = (replace(figure, heading=f"what is known of {family['family']} parts"), share)
    return table(rows, columns, width=width) if rows else ""


def _refused(counts: Mapping[str, int], width: int) -> str:
    told = [
        f"{count} {kind if count == 1 else _KINDS.get(kind, kind)}"
        for kind, count in counts.items()
        if count and kind != "note"
    ]
    if not told:
        return ""
    return paragraph(f"Refused: {', '.join(told)}. loadworthy catalog --refused lists them.", width=width) + "\n"
