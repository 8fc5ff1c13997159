"""A catalogue of small lists, each of a supplier of its own, taken in as any list is."""

from __future__ import annotations

import csv
import datetime
import io
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.shopping import plan, read_order_text

#: Part number → what a supplier says of it; see :func:`row`.
Shelf: TypeAlias = "dict[str, dict[str, str]]"
Shop: TypeAlias = Callable[..., dict[str, Any]]
TODAY = datetime.date(2026, 11, 25)
_HEADINGS = (
    "Maker", "Part number", "Package", "Channel", "VDS max (V)", "VGS max (V)", "VGS(th) max (V)",
    "RDS(on) max at VGS = 10 V (mΩ)", "RDS(on) max at VGS = 4.5 V (mΩ)", "ID at Tc = 25 °C (A)", "TJ max (°C)",
    "Price breaks", "Minimum order quantity", "Order multiple", "Stock", "Packaging", "Life cycle", "Lead time",
)  # fmt: skip


def row(number: str, said: dict[str, str]) -> list[str]:
    """Write one line of a list; what is not said is a sound part with plenty in stock at 1.00 EUR."""
    return [
        said.get("maker", "Fernhill Power"), number, "TO-220", "N", "40", "20", "2.5", said.get("rds10", "4"),
        said.get("rds", "5"), "60", "175", said.get("price", "1: 1.00 EUR"), said.get("least", "1"),
        said.get("multiple", "1"), said.get("stock", "5000"), said.get("packaging", ""),
        said.get("life", "in production"), said.get("lead", ""),
    ]  # fmt: skip


@pytest.fixture
def shelves(tmp_path: Path) -> Callable[..., Path]:
    """Give a function: supplier = what it has → a catalogue file."""

    def make(_dated: str | None = "2026-11-20", **suppliers: Shelf) -> Path:
        folder = Path(tempfile.mkdtemp(dir=tmp_path))
        place = folder / "catalog.duckdb"
        for supplier, shelf in suppliers.items():
            text = io.StringIO(newline="")
            writer = csv.writer(text)
            if _dated is not None:
                writer.writerow([f"Price list of {_dated}"])
            writer.writerow(_HEADINGS)
            writer.writerows(row(number, said) for number, said in shelf.items())
            file = folder / f"{supplier}.csv"
            file.write_text(text.getvalue(), encoding="utf-8")
            (report,) = intake(place, [file], supplier=supplier)
            assert (report.parts, report.rows_refused, report.cells_refused) == (len(shelf), 0, 0)
        return place

    return make


@pytest.fixture
def shop(shelves: Callable[..., Path]) -> Shop:
    """Give a function: an order's text and what suppliers have → the plan as JSON says it."""

    def make(order: str, *, dated: str | None = "2026-11-20", **suppliers: Shelf) -> dict[str, Any]:
        with Catalog.open(shelves(dated, **suppliers)) as catalog:
            return plan(catalog, read_order_text(order), today=TODAY).as_json()

    return make
