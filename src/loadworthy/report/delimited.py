"""Results as CSV: full precision, SI units in the names, no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeGuard

from loadworthy.report.json_text import json_text
from loadworthy.report.text import clean

__all__ = ["cell_text", "csv_lines", "csv_text"]

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def csv_text(rows: Iterable[Mapping[str, Any]]) -> str:
    """Write rows as CSV with a heading line.

    Parameters
    ----------
    rows
        Dicts; the columns are all their keys, in the order in which they first come.

    Returns
    -------
    str
        Numbers with every digit they have (reading them back gives the same float); an unknown is an empty
        cell. A text that a spreadsheet would take for a formula gets an apostrophe in front.

    Examples
    --------
    >>> rows = [{"part_number": "=1+1", "loss_w": -0.1}, {"part_number": "X,2", "loss_w": None}]
    >>> print(csv_text(rows), end="")
    part_number,loss_w
    '=1+1,-0.1
    "X,2",
    """
    listed = list(rows)
    names = list(dict.fromkeys(name for row in listed for name in row))
    return (csv_lines([dict(zip(names, names, strict=True))], names) if names else "") + csv_lines(listed, names)


def csv_lines(rows: Iterable[Mapping[str, Any]], names: Sequence[str]) -> str:
    """Write rows as lines of CSV without a heading, these of their keys in this order."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([_cell(row.get(name)) for name in names] for row in rows)
    return out.getvalue()


def _cell(value: object) -> str:
    text = cell_text(value)
    if _is_number(value) or not text:
        return text
    raw = value if isinstance(value, str) else text
    return f"'{text}" if raw.startswith(_FORMULA_STARTS) else text


def cell_text(value: object) -> str:
    """Write one value in full, for a cell that a program may read back.

    Examples
    --------
    >>> cell_text(0.1), cell_text(None), cell_text(True), cell_text(["RθJA", "ID"]), cell_text({"a": 1})
    ('0.1', '', 'true', 'RθJA; ID', '{"a": 1}')
    """
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if _is_number(value):
        return repr(value)
    if isinstance(value, (list, tuple)) and not any(isinstance(item, Mapping) for item in value):
        return "; ".join(cell_text(item) for item in value)
    if isinstance(value, (Mapping, list, tuple)):
        return json_text(value, indent=None)
    return clean(value)


def _is_number(value: object) -> TypeGuard[int | float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
