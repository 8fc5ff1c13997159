"""A buying plan as a file: a page to print, a workbook, Markdown, CSV or JSON, by the name's ending."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from typing import Any, Final

from loadworthy.report.delimited import cell_text, csv_text
from loadworthy.report.json_text import json_text
from loadworthy.report.markdown import escape, markdown_table
from loadworthy.report.plans import (
    COLUMNS,
    NOTES,
    charge_rows,
    file_rows,
    flat_rows,
    opening,
    purchase_rows,
    sections,
    sums_text,
)
from loadworthy.report.tables import lettered

__all__ = ["ENDINGS", "plan_markdown", "plan_page", "plan_workbook"]


def plan_markdown(plan: Mapping[str, Any]) -> str:
    """Write a plan as Markdown."""
    parts = [f"# {escape(plan['title'])}\n", escape(opening(plan)) + "\n"]
    for one in plan["suppliers"]:
        rows, remarks = lettered(purchase_rows(one, plan["currency"]), "notes")
        parts.append(f"## From {escape(one['supplier'])}\n")
        parts.append(markdown_table(rows, (*COLUMNS, NOTES)))
        parts += ["".join(f"- {letter}: {escape(remark)}\n" for letter, remark in remarks)] if remarks else []
        parts.append(escape(sums_text(one, plan)) + "\n")
    for heading, lines in sections(plan):
        if lines:
            parts.append(f"## {escape(heading.rstrip(':'))}\n")
            parts.append("".join(f"- {_ticked(line)}\n" for line in lines))
    return "\n".join(parts)


def _ticked(line: str) -> str:
    """Keep the box of a line to tick, which Markdown shows as one."""
    return f"[ ] {escape(line.removeprefix('[ ] '))}" if line.startswith("[ ] ") else escape(line)


def plan_page(plan: Mapping[str, Any]) -> str:
    """Write a plan as one page of HTML that needs nothing else, to be printed on A4."""
    from markupsafe import Markup  # noqa: PLC0415 - only who asks for a page loads it

    from loadworthy.report import html, pages  # noqa: PLC0415

    template = html.environment().get_template("plan.html.jinja")
    written = template.render(view=pages.plan_view(plan), style=Markup(html.style()))  # noqa: S704 - our own file
    return str(written).lstrip()


def plan_workbook(plan: Mapping[str, Any]) -> bytes:
    """Write a plan as a workbook of three sheets; texts stay texts, whatever they begin with."""
    from openpyxl import Workbook  # noqa: PLC0415 - only who asks for a workbook loads it

    book = Workbook()
    first = book.active
    ticks = [{**one, "lines": ", ".join(one["lines"])} for one in plan["forgotten"]]
    sheets = (("buy", file_rows(plan)), ("sums", charge_rows(plan)), ("easily forgotten", ticks))
    for place, (name, rows) in enumerate(sheets):
        sheet = first if place == 0 and first is not None else book.create_sheet()
        sheet.title = name
        names = list(dict.fromkeys(key for row in rows for key in row))
        for column, heading in enumerate(names, start=1):
            _put(sheet, 1, column, heading)
        for line, row in enumerate(rows, start=2):
            for column, key in enumerate(names, start=1):
                _put(sheet, line, column, row.get(key))
        sheet.freeze_panes = "A2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(sheet: Any, line: int, column: int, value: object) -> None:  # noqa: ANN401 - a worksheet
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    cell = sheet.cell(row=line, column=column)
    if number:
        cell.value = value
        return
    text = cell_text(value)
    if text:
        cell.value = text
        # A text that begins with = would else be kept as a formula.
        cell.data_type = "s"
        cell.quotePrefix = True


def _encoded(write: Callable[[Mapping[str, Any]], str]) -> Callable[[Mapping[str, Any]], bytes]:
    return lambda plan: write(plan).encode("utf-8")


#: Ending of a file's name → the plan as its bytes.
ENDINGS: Final[dict[str, Callable[[Mapping[str, Any]], bytes]]] = {
    ".html": _encoded(plan_page),
    ".csv": _encoded(lambda plan: csv_text(flat_rows(plan))),
    ".xlsx": plan_workbook,
    ".md": _encoded(plan_markdown),
    ".json": _encoded(lambda plan: json_text(plan) + "\n"),
}
