"""A buying plan as a file: a page to print, a workbook, Markdown, CSV or JSON, by the name's ending."""

from __future__ import annotations

import html
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

from loadworthy.report.columns import Column
from loadworthy.report.delimited import cell_text, csv_text
from loadworthy.report.json_text import json_text
from loadworthy.report.markdown import escape, markdown_table
from loadworthy.report.plans import (
    COLUMNS,
    charge_rows,
    file_rows,
    flat_rows,
    opening,
    purchase_rows,
    sections,
    sums_text,
)
from loadworthy.report.tables import lettered
from loadworthy.report.text import clean

__all__ = ["ENDINGS", "plan_markdown", "plan_page", "plan_workbook"]

_NOTES: Final = Column(name="notes", heading="notes")
_PAGE: Final = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
@page {{ size: A4; margin: 15mm; }}
body {{ font: 10pt/1.4 sans-serif; color: #000; background: #fff; max-width: 180mm; margin: 1em auto; padding: 0 1em; }}
h1 {{ font-size: 15pt; }} h2 {{ font-size: 11.5pt; margin: 1.4em 0 .3em; break-after: avoid; }}
table {{ border-collapse: collapse; width: 100%; font-size: 9pt; }}
th, td {{ border-bottom: 1px solid #888; padding: .15em .4em; text-align: left; vertical-align: top; }}
th {{ border-bottom-width: 2px; }} .right {{ text-align: right; font-variant-numeric: tabular-nums; }}
tr, li {{ break-inside: avoid; }} td {{ overflow-wrap: anywhere; }} .tick {{ list-style: none; padding-left: .3em; }}
@media print {{ body {{ max-width: none; margin: 0; padding: 0; }} }}
</style>
</head>
<body>
<h1>{title}</h1>
<p>{opening}</p>
{body}
</body>
</html>
"""


def plan_markdown(plan: Mapping[str, Any]) -> str:
    """Write a plan as Markdown."""
    parts = [f"# {escape(plan['title'])}\n", escape(opening(plan)) + "\n"]
    for one in plan["suppliers"]:
        rows, remarks = lettered(purchase_rows(one, plan["currency"]), "notes")
        parts.append(f"## From {escape(one['supplier'])}\n")
        parts.append(markdown_table(rows, (*COLUMNS, _NOTES)))
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


def _joined(rows: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    return [{**row, "notes": "; ".join(row["notes"])} for row in rows]


def plan_page(plan: Mapping[str, Any]) -> str:
    """Write a plan as one page of HTML that needs nothing else, to be printed on A4."""
    parts = []
    for one in plan["suppliers"]:
        rows = purchase_rows(one, plan["currency"])
        parts.append(f"<h2>From {_safe(one['supplier'])}</h2>\n{_html_table(_joined(rows), (*COLUMNS, _NOTES))}")
        parts.append(f"<p>{_safe(sums_text(one, plan))}</p>")
    for heading, lines in sections(plan):
        if lines:
            parts.append(f"<h2>{_safe(heading.rstrip(':'))}</h2>\n<ul>\n{''.join(map(_item, lines))}</ul>")
    return _PAGE.format(title=_safe(plan["title"]), opening=_safe(opening(plan)), body="\n".join(parts))


def _safe(text: object) -> str:
    return html.escape(clean(text))


def _item(line: str) -> str:
    if line.startswith("[ ] "):
        return f'<li class="tick">☐ {_safe(line.removeprefix("[ ] "))}</li>\n'
    return f"<li>{_safe(line)}</li>\n"


def _html_table(rows: Sequence[Mapping[str, Any]], columns: Sequence[Column]) -> str:
    def cell(column: Column, tag: str, text: object) -> str:
        kind = ' class="right"' if column.right else ""
        return f"<{tag}{kind}>{_safe('' if text is None else text)}</{tag}>"

    head = "".join(cell(column, "th", column.heading) for column in columns)
    body = "".join(
        "<tr>" + "".join(cell(column, "td", row.get(column.name)) for column in columns) + "</tr>\n" for row in rows
    )
    return f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>"


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
