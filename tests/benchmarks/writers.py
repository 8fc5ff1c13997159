"""Lists put into files: five suppliers' styles, and one plain style fast enough for millions of rows."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv
from entries import Column, Entry
from population import make_catalog, significant
from styles import STYLES

__all__ = [
    "WRITERS",
    "WRITTEN",
    "timeless",
    "write_bulk",
    "write_english",
    "write_german",
    "write_pipes",
    "write_two_rows",
    "write_workbook",
]

_REPEAT_HEADING_AFTER = 25
_NO_PROGRAM = (
    b'<Properties xmlns="http://schemas.openxmlformats.org/officeDocument/2006/extended-properties"></Properties>'
)
#: When the lists say that they were written.
WRITTEN = datetime(2026, 11, 2, 8, 0)


def _cells(rows: Sequence[Entry], columns: Sequence[Column]) -> list[list[Any]]:
    return [[column.cell(row) for column in columns] for row in rows]


def _headings(columns: Sequence[Column]) -> list[list[str]]:
    return [list(texts) for texts in zip(*(column.heading for column in columns), strict=True)]


def _delimited(rows: Sequence[Sequence[Any]], delimiter: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    return text.getvalue()


def write_english(rows: Sequence[Entry], path: Path) -> None:
    """Write commas in UTF-8, one heading row with units."""
    columns = STYLES["english"].columns
    path.write_bytes(_delimited([*_headings(columns), *_cells(rows, columns)], ",").encode("utf-8"))


def write_german(rows: Sequence[Entry], path: Path) -> None:
    """Write semicolons in CP1252 with lines before and after the table and headings that repeat."""
    columns = STYLES["german"].columns
    table: list[Sequence[Any]] = [
        ["Bauteilestube Rabenmoos – Preisliste Leistungstransistoren"],
        ["Stand: 02.11.2026", "", "Preise netto, zuzüglich Versand"],
        [],
    ]
    for number, cells in enumerate(_cells(rows, columns)):
        if number % _REPEAT_HEADING_AFTER == 0:
            table += _headings(columns)
        table.append(cells)
    table += [[], [f"Ende der Liste: {len(rows)} Artikel"], ["Irrtum und Zwischenverkauf vorbehalten"]]
    path.write_bytes(_delimited(table, ";").encode("cp1252"))


def write_two_rows(rows: Sequence[Entry], path: Path) -> None:
    """Write tabs in UTF-16 with its mark, quantities in one heading row and units in the next."""
    columns = STYLES["two-rows"].columns
    text = _delimited([*_headings(columns), *_cells(rows, columns)], "\t")
    path.write_bytes(b"\xff\xfe" + text.encode("utf-16-le"))


def write_pipes(rows: Sequence[Entry], path: Path) -> None:
    """Write pipes in UTF-8; a row ends after its last cell that says something."""
    columns = STYLES["pipes"].columns
    lines = []
    for cells in [*_headings(columns), *_cells(rows, columns)]:
        while cells and not cells[-1]:
            cells.pop()
        lines.append(" | ".join(cells))
    path.write_bytes("".join(line + "\n" for line in lines).encode("utf-8"))


def timeless(workbook: bytes) -> bytes:
    """Pack a workbook anew, uncompressed and with fixed dates, so that the same cells give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as before, zipfile.ZipFile(out, "w") as after:
        for member in before.infolist():
            content = before.read(member)
            if member.filename == "docProps/core.xml":
                start, end = (content.index(tag) for tag in (b"<dcterms:modified", b"</dcterms:modified>"))
                start = content.index(b">", start) + 1
                content = content[:start] + f"{WRITTEN:%Y-%m-%dT%H:%M:%SZ}".encode() + content[end:]
            elif member.filename == "docProps/app.xml":  # names the library and its version
                content = _NO_PROGRAM
            after.writestr(zipfile.ZipInfo(member.filename, WRITTEN.timetuple()[:6]), content)
    return out.getvalue()


def write_workbook(rows: Sequence[Entry], path: Path) -> None:
    """Write a workbook of three sheets; the table stands on the second, below a title."""
    columns = STYLES["workbook"].columns
    workbook = openpyxl.Workbook()
    workbook.properties.creator = "Tidemill Trade Counter"
    workbook.properties.created = WRITTEN
    front = workbook.active
    front.title = "Read first"
    for line in (
        "Tidemill Trade Counter",
        "Prices in euro, carriage on the last sheet.",
        "Goods are sold as listed.",
    ):
        front.append([line])
    sheet = workbook.create_sheet("Power MOSFETs")
    sheet.append(["Power MOSFETs, over the counter"])
    sheet.append(["Prices hold until the end of the year"])
    sheet.append([])
    for cells in [*_headings(columns), *_cells(rows, columns)]:
        sheet.append(cells)
    carriage = workbook.create_sheet("Carriage")
    for cells in (["Up to weight [kg]", "Carriage [EUR]"], [0.5, 3.2], [2, 5.4], [10, 9.8]):
        carriage.append(cells)
    kept = io.BytesIO()
    workbook.save(kept)
    path.write_bytes(timeless(kept.getvalue()))


WRITERS: dict[str, Callable[[Sequence[Entry], Path], None]] = {
    "english": write_english,
    "german": write_german,
    "two-rows": write_two_rows,
    "pipes": write_pipes,
    "workbook": write_workbook,
}

# Heading, column of the population, and the power of ten from SI to the heading's unit.
_BULK = (
    ("Maker", "maker", None),
    ("Part number", "part_number", None),
    ("Package", "package", None),
    ("Channel", "channel", None),
    ("VDS max (V)", "vds_v", 0),
    ("VGS max (V)", "vgs_max_v", 0),
    ("VGS(th) max (V)", "vgs_th_max_v", 0),
    ("RDS(on) max at VGS = 10 V (mΩ)", "rds_10v0_ohm", 3),
    ("RDS(on) max at VGS = 4.5 V (mΩ)", "rds_4v5_ohm", 3),
    ("RDS(on) max at VGS = 2.5 V (mΩ)", "rds_2v5_ohm", 3),
    ("ID at Tc = 25 °C (A)", "id_case_a", 0),
    ("PD at Tc = 25 °C (W)", "pd_case_w", 0),
    ("RθJC (K/W)", "rthjc_k_per_w", 0),
    ("RθJA (K/W)", "rthja_k_per_w", 0),
    ("TJ max (°C)", "junction_max_degc", 0),
    ("Qg (nC)", "qg_c", 9),
    ("Unit price (EUR)", "unit_price", 0),
    ("Stock", "stock", None),
    ("Life cycle", "life_cycle", None),
)


def _in_unit(values: pa.ChunkedArray, shift: int) -> pa.Array:
    """Scale to the heading's unit; rounding to three digits again takes the scaling's noise away."""
    return pa.array(significant(values.to_numpy() * 10.0**shift, 3), from_pandas=True)


def write_bulk(rows: int, seed: int, path: Path) -> None:
    """Write a plain comma list with units in the headings, its rows in no order; made for millions."""
    table = make_catalog(rows, seed, columns=[name for _, name, _ in _BULK])
    order = np.random.default_rng(seed).permutation(table.num_rows)
    columns = {}
    for heading, name, shift in _BULK:
        values = table.column(name) if shift is None else _in_unit(table.column(name), shift)
        if pa.types.is_dictionary(values.type):
            values = values.cast(pa.string())
        columns[heading] = pc.take(values, order)
    columns["Order number"] = pc.binary_join_element_wise("AS", pa.array(order).cast(pa.string()), "-")
    pa.csv.write_csv(pa.table(columns), path, pa.csv.WriteOptions(quoting_style="needed"))
