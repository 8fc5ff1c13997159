"""Writes one sheet of a workbook out as text, in a process of its own.

The workbook reader ends its whole process when a damaged file, or one stray cell in a far corner, makes it
ask for more memory than there is. Here that costs the child alone; `spreadsheets` starts it and reads what
it answers.
"""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Iterator
from contextlib import suppress
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

__all__ = ["main", "shown"]

_MEMORY = 4 << 30  # bytes; the largest sheet a program writes, a million rows of 20 cells, takes a quarter
_WHOLE = 1e15  # beyond this a double no longer tells whole numbers apart in the 15 digits that sheets keep


def main(order: str) -> str:
    """Carry an order out: JSON with ``workbook``, ``target``, ``sheet`` and ``delimiter``.

    Returns
    -------
    str
        JSON with ``sheet`` (``None`` where nothing was written) and ``sheets``; or with ``trouble``.
    """
    said = json.loads(order)
    from python_calamine import CalamineWorkbook  # noqa: PLC0415 - the parent looks at this module, too

    try:
        book = CalamineWorkbook.from_path(said["workbook"])
        sheets, visible = _worksheets(book)
        sheet = said["sheet"]
        if sheet is None and sheets:
            sheet = max(visible or sheets, key=lambda name: _filled(book.get_sheet_by_name(name)))
        if sheet in sheets:
            _write(book.get_sheet_by_name(sheet), Path(said["target"]), said["delimiter"])
        else:
            sheet = None
    except BaseException as error:  # a panic inside the reader is no Exception
        return json.dumps({"trouble": str(error)})
    return json.dumps({"sheet": sheet, "sheets": sheets})


def _worksheets(book: CalamineWorkbook) -> tuple[list[str], list[str]]:
    """All sheets of cells, and those of them that are not hidden."""
    from python_calamine import SheetTypeEnum, SheetVisibleEnum  # noqa: PLC0415

    cells = [sheet for sheet in book.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
    visible = [sheet for sheet in cells if sheet.visible == SheetVisibleEnum.Visible]
    return [sheet.name for sheet in cells], [sheet.name for sheet in visible]


def _filled(sheet: CalamineSheet) -> int:
    return sum(1 for row in _rows(sheet) for cell in row if cell)


def _write(sheet: CalamineSheet, target: Path, delimiter: str) -> None:
    with target.open("w", encoding="utf-8", errors="replace", newline="") as text:
        writer = csv.writer(text, delimiter=delimiter, lineterminator="\n")
        for row in _rows(sheet):
            writer.writerow(row if any(row) else ())


def _rows(sheet: CalamineSheet) -> Iterator[list[str]]:
    """Every row from the sheet's first, every cell from column A: places are those that the user sees."""
    if sheet.start is None:
        return
    before = [""] * sheet.start[1]
    for row in sheet.iter_rows():
        yield before + [shown(cell) for cell in row]


def shown(cell: object) -> str:
    """Return a cell as text: whole numbers without a decimal point, dates as ISO 8601, true, false.

    Examples
    --------
    >>> shown(12.0), shown(0.25), shown(True), shown(datetime(2026, 3, 9))
    ('12', '0.25', 'true', '2026-03-09')
    """
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        whole = cell.is_integer() and abs(cell) < _WHOLE
        return str(int(cell)) if whole else f"{cell:.15g}"
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(sep=" ")
    if isinstance(cell, date | time):
        return cell.isoformat()
    return str(cell)


def _bound_memory() -> None:
    with suppress(ImportError, ValueError, OSError):  # not every system has such bounds
        import resource  # noqa: PLC0415

        resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))


if __name__ == "__main__":
    _bound_memory()
    print(main(sys.argv[1]))
