"""Sheets of a workbook (.xlsx, .xls, .ods) written out as plain text."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from loadworthy.catalog import worksheets
from loadworthy.errors import UnreadableFile, UsageError

__all__ = ["DELIMITER", "looks_like_workbook", "write_sheet"]

DELIMITER = ","
"""What separates the fields of the text that `write_sheet` writes."""

_MARKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")


def looks_like_workbook(start: bytes) -> bool:
    """Whether a file that begins so is a zip archive (.xlsx, .ods) or a compound file (.xls)."""
    return start.startswith(_MARKS)


def write_sheet(workbook: Path, target: Path, *, sheet: str | None) -> tuple[str, tuple[str, ...]]:
    """Write one sheet of a workbook as UTF-8 text, row for row and column for column.

    Parameters
    ----------
    workbook
        A spreadsheet file.
    target
        The file to write. An empty row becomes a blank line.
    sheet
        Name of the sheet; ``None`` takes the visible one with the most filled cells.

    Returns
    -------
    tuple
        The sheet's name, and the names of all worksheets.

    Raises
    ------
    UnreadableFile
        When the file is damaged, locked by a password, has no sheet, or is no workbook.
    UsageError
        When there is no sheet of that name.
    """
    answer = _asked(
        {
            "workbook": str(workbook.absolute()),
            "target": str(target.absolute()),
            "sheet": sheet,
            "delimiter": DELIMITER,
        }
    )
    if "trouble" in answer:
        raise UnreadableFile(
            f"The workbook is damaged, locked by a password, or none at all ({answer['trouble']}).",
            where=workbook.name,
            way_out="Open it in a spreadsheet program and save the sheet as CSV.",
        )
    sheets = tuple(answer["sheets"])
    if not sheets:
        raise UnreadableFile("The workbook has no sheet of cells.", where=workbook.name, way_out="Give another file.")
    if answer["sheet"] is None:
        raise UsageError(
            f"There is no sheet {sheet!r}.",
            where=workbook.name,
            way_out=f"Its sheets are: {', '.join(sheets)}.",
        )
    return answer["sheet"], sheets


def _asked(order: dict[str, Any]) -> dict[str, Any]:
    """Have the order carried out by a child process, and give its answer back."""
    child = subprocess.run(  # noqa: S603 - this interpreter runs this package's own script
        [sys.executable, "-P", worksheets.__file__, json.dumps(order)],
        env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path)), "RUST_BACKTRACE": "0"},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )
    if child.returncode == 0:
        answer: dict[str, Any] = json.loads(child.stdout)
        return answer
    last = child.stderr.decode("utf-8", "replace").strip().splitlines()[:1]
    return {"trouble": last[0] if last else "the reader gave up"}
