"""The page of the catalogue: what it holds, and suppliers' lists on their way into it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request, send_file

from loadworthy.catalog import families
from loadworthy.catalog.reports import IntakeReport, UnsettledTable
from loadworthy.catalog.versions import writable
from loadworthy.errors import CatalogError, LoadworthyError, RecipeError, UsageError
from loadworthy.measured_parts import kept
from loadworthy.report import holdings, intakes
from loadworthy.report.columns import Column
from loadworthy.report.html import table_view
from loadworthy.web.app import MOST_UPLOAD, Desk, carried
from loadworthy.web.catalog_looks import Job, Looks, Reading, Table, Work
from loadworthy.web.catalog_shown import column_views, corrected, table_error, table_fields
from loadworthy.web.safety import status_of
from loadworthy.web.spool import MOST_FILES, Entry, NotThere, Spool

if TYPE_CHECKING:
    from loadworthy.catalog.store import Catalog, CatalogSummary

__all__ = ["make_pages"]

#: Lines of what was refused on one page.
_REFUSED: Final = 100
#: A page waits so long for what is going on before it says how far that is, and then asks again.
_PATIENCE_S: Final = 1.0
#: One who confirms waits longer: the other writer that may be met is waited for as well.
_CONFIRMED_S: Final = 4.0
_DATED: Final = Column(name="stated_date", heading="dated")
_OVERVIEW: Final = (
    Column(name="file", heading="list"),
    Column(name="sheet", heading="sheet"),
    Column(name="family", heading="family"),
    Column(name="supplier", heading="supplier"),
    Column(name="rows_read", heading="rows", right=True),
    Column(name="parts", heading="parts", right=True),
    Column(name="guessed", heading="columns guessed", right=True),
    Column(name="refused", heading="refused", right=True),
)


def make_pages(desk: Desk) -> Blueprint:
    """Make the pages."""
    made = Blueprint("catalog", __name__)
    spool: Spool[Work] = Spool(Work)
    looks = Looks(desk.holder.path, spool)

    @made.get("/catalog")
    def front() -> Response:
        came = _what_came(spool, request.args.get("came", ""))
        return desk.page("catalog", came=came, most=MOST_UPLOAD // 1_048_576, most_files=MOST_FILES, **_held(desk))

    @made.get("/catalog/refused")
    def refused() -> Response:
        return desk.page("catalog_refused", **_refused(desk))

    @made.post("/catalog/look")
    def drop() -> Any:  # noqa: ANN401 - what Flask takes
        writable(desk.holder.path)  # it is said before anything is read, not at the end
        files = [one for one in request.files.getlist("file") if one.filename]
        entry = spool.put((one.filename or "", one.stream) for one in files)
        looks.begin(entry)
        return _to(f"/catalog/look/{entry.token}")

    @made.get("/catalog/look/<token>")
    def look(token: str) -> Any:  # noqa: ANN401
        entry = spool.find(token)
        return _looked(desk, entry, _number("reading", 1))

    @made.get("/catalog/look/<token>/recipe")
    def recipe(token: str) -> Response:
        table = _table(Looks.reading(spool.find(token), _number("reading", 1)))
        if table.report is None:
            raise UsageError("there is no recipe of what could not be read.", way_out="Correct it first.")
        text = io.BytesIO(table.report.recipe_text().encode())
        return send_file(text, "application/toml", as_attachment=True, download_name=f"{table.file.name}.toml")

    @made.post("/catalog/look/<token>/correct")
    def correct(token: str) -> Any:  # noqa: ANN401
        entry = spool.find(token)
        before = _done(Looks.reading(entry, _number("reading", 1)))
        place = _place(before)
        said = corrected(_table(before), request.form)
        after = looks.correct(entry, before, place, said)
        return _to(f"/catalog/look/{token}", reading=after.number, table=place, part="found")

    @made.post("/catalog/take")
    def take() -> Any:  # noqa: ANN401
        entry = spool.find(request.form.get("token", ""))
        reading = _done(Looks.reading(entry, _number("reading", 1)))
        places = [int(one) for one in request.form.getlist("take") if one.isdecimal() and one.isascii()]
        job = looks.take(entry, reading, places, keep_earlier=bool(request.form.get("keep_earlier")))
        if entry.kept.taken is None:
            job.ended.wait(_CONFIRMED_S)
        if job.error is not None:
            return _looked(desk, entry, reading.number)
        return _to(f"/catalog/look/{entry.token}", reading=reading.number)

    @made.post("/catalog/discard")
    def discard() -> Any:  # noqa: ANN401
        entry = spool.find(request.form.get("token", ""))
        if entry.kept.taking is not None and entry.kept.taking.going:
            raise UsageError("it is being taken in at this moment.", way_out="Wait until it is in.")
        spool.discard(entry)
        return _to("/catalog")

    @made.errorhandler(NotThere)
    def gone(error: NotThere) -> Response:
        return desk.page("error", status=404, error=error, problems=())

    return made


def _to(path: str, *, part: str = "", **query: Any) -> Any:  # noqa: ANN401 - what Flask takes
    """Send the browser on, with the work that it carries."""
    asked = urlencode({**{key: value for key, value in query.items() if value not in (None, "")}, **carried()})
    return redirect(path + (f"?{asked}" if asked else "") + (f"#{part}" if part else ""), code=303)


def _number(name: str, usual: int) -> int:
    text = request.values.get(name, "")
    return int(text) if text.isdecimal() and text.isascii() and len(text) < 10 else usual


def _done(reading: Reading) -> Reading:
    if reading.job.going:
        raise UsageError("the list is still being read.", way_out="Go back and wait until it was read.")
    if reading.job.error is not None:
        raise reading.job.error
    return reading


def _place(reading: Reading) -> int:
    """Which table of a drop is shown: the one that is asked for, else the first that must be looked at."""
    usual = next(
        (place for place, one in enumerate(reading.tables) if not one.ready),
        next((place for place, one in enumerate(reading.tables) if _guessed(one)), 0),
    )
    return _number("table", usual)


def _guessed(table: Table) -> int:
    return sum(column.certainty == "guessed" for column in table.report.columns) if table.report else 0


def _table(reading: Reading) -> Table:
    place = _place(reading)
    if place >= len(reading.tables):
        raise NotThere("there is no such table in what was dropped.", way_out="Go back and pick one of those listed.")
    return reading.tables[place]


def _held(desk: Desk) -> dict[str, Any]:
    """Say what the catalogue holds; where there is none yet, that is no error."""
    shown: dict[str, Any] = {
        "missing": not desk.holder.there,
        "error": None,
        "place": str(desk.holder.path),
        "only_read": desk.holder.only_read,
    }
    nothing = {"families": None, "known": (), "lists": None, "measured": None}
    if shown["missing"]:
        return {**shown, **nothing}
    try:
        with desk.holder.reading() as catalog:
            return {**shown, **_holdings(catalog.summary(), catalog)}
    except CatalogError as error:
        return {**shown, **nothing, "error": error}


def _holdings(summary: CatalogSummary, catalog: Catalog) -> dict[str, Any]:
    measured = kept(catalog.connection).rows
    lists = [{**one, "file": _file(one)} for one in summary.lists]
    return {
        "families": table_view(holdings.family_rows(summary), holdings.FAMILY_COLUMNS),
        "known": [
            (family["family"], table_view(holdings.completeness_rows(family), holdings.COMPLETENESS_COLUMNS))
            for family in summary.families
        ],
        "lists": table_view(lists, (*holdings.LIST_COLUMNS[:-1], _DATED, holdings.LIST_COLUMNS[-1])),
        "measured": table_view(measured, holdings.MEASURED_COLUMNS),
    }


def _file(one: dict[str, Any]) -> str:
    return f"{one['file']}, {one['sheet']}" if one["sheet"] else str(one["file"])


def _refused(desk: Desk) -> dict[str, Any]:
    after, which = _number("after", 0), _number("list", 0)
    with desk.holder.reading() as catalog:
        lists = {int(one["list_id"]): one for one in catalog.summary().lists}
        rows = catalog.refused(which or None, _REFUSED + 1, after=after)
    if which and which not in lists:
        raise NotThere("that list is no longer in the catalogue.", way_out="Pick one on the page of the catalogue.")
    columns = holdings.REFUSED_COLUMNS[1:] if which else holdings.REFUSED_COLUMNS
    return {
        "title": f"What was refused of {_file(lists[which])}" if which else "What was refused",
        "table": table_view(rows[:_REFUSED], columns),
        "which": which,
        "first": after + 1,
        "last": after + len(rows[:_REFUSED]),
        "earlier": max(after - _REFUSED, 0) if after else None,
        "later": after + _REFUSED if len(rows) > _REFUSED else None,
    }


def _what_came(spool: Spool[Work], token: str) -> list[str] | None:
    """Say what came of lists that were confirmed, as long as that is remembered."""
    if not token:
        return None
    try:
        taken = spool.find(token).kept.taken
    except NotThere:
        return None  # a bookmark may outlive it
    if taken is None:
        return None
    words = {
        "new": "is new in the catalogue",
        "replaced": "took the place of the supplier's earlier list",
        "same": "was in already: nothing changed",
    }
    return [f"{_titled(one)} {words.get(one.outcome, one.outcome)}. {intakes.counts_text(one)}" for one in taken]


def _titled(report: IntakeReport) -> str:
    return f"{report.file}, {report.sheet}" if len(report.sheets) > 1 and report.sheet else report.file


def _looked(desk: Desk, entry: Entry[Work], number: int) -> Any:  # noqa: ANN401 - what Flask takes
    """Show a dropped list: how far it is, what was found, or where it went."""
    taking = entry.kept.taking
    if taking is not None and _waits(taking):
        return _progress(desk, entry, taking, "is being taken in")
    if entry.kept.taken is not None:
        return _to("/catalog", came=entry.token)
    reading = Looks.reading(entry, number)
    if _waits(reading.job):
        return _progress(desk, entry, reading.job, "is being read")
    _done(reading)
    error = taking.error if taking is not None else None
    return desk.page("catalog_look", status=status_of(error), error=error, **_found(desk, entry, reading))


def _waits(job: Job) -> bool:
    return not job.ended.wait(_PATIENCE_S)


def _progress(desk: Desk, entry: Entry[Work], job: Job, what: str) -> Response:
    names = ", ".join(one.name for one in entry.files)
    page = desk.page(
        "catalog_wait",
        names=names,
        what=what,
        stage=job.stage,
        percent=round(100 * job.share),
        token=entry.token,
        reading=what == "is being read",
    )
    page.headers["Refresh"] = f"1; url={_again(entry)}"
    return page


def _again(entry: Entry[Work]) -> str:
    """Say where a page that waits asks again.

    Each time somewhere else: a browser takes an address that differs in nothing for the way to a place within the
    page, where one is named, and asks nobody.
    """
    asked = {**request.args, "asked": str(_number("asked", 0) + 1)}
    return f"/catalog/look/{entry.token}?{urlencode(asked)}" + ("#found" if _number("reading", 1) > 1 else "")


def _found(desk: Desk, entry: Entry[Work], reading: Reading) -> dict[str, Any]:
    place, table = _place(reading), _table(reading)
    report, error = table.report, table.error
    views = column_views(table)
    return {
        "token": entry.token,
        "reading": reading,
        "place": place,
        "table": table,
        "report": report,
        "wrong": _told(table_error(table)),
        "overview": _overview(reading.tables),
        "ready": [(number, one) for number, one in enumerate(reading.tables) if one.ready],
        "facts": _facts(table),
        "replaces": _replaces(desk, reading.tables),
        "counts": intakes.counts_text(report) if report else "",
        "changes": _changes(reading, place),
        "fields": table_fields(table),
        "columns": views,
        "guessed": sum(view.how == "guessed" for view in views),
        "refused": table_view(report.as_json()["refused"], holdings.REFUSED_COLUMNS[1:]) if report else None,
        "refused_count": report.cells_refused + report.rows_refused + report.rows_notes if report else 0,
        "top": error.top if isinstance(error, UnsettledTable) else (),
    }


def _told(error: LoadworthyError | None) -> LoadworthyError | None:
    """Say what is wrong with a table in the words of the page: its way out is a field there, no option."""
    if isinstance(error, UnsettledTable):
        way_out = "Say it below, and have it read again."
        return UsageError(error.message, where=error.where, way_out=way_out)
    if isinstance(error, RecipeError):
        return UsageError(error.message, way_out=error.way_out)
    return error


def _overview(tables: Sequence[Table]) -> Any:  # noqa: ANN401 - a view for the template
    rows = intakes.list_rows([one.report for one in tables if one.report is not None])
    told = iter(rows)
    shown = [
        {
            **(next(told) if one.report is not None else {"file": one.file.name}),
            "place": place,
            "guessed": _guessed(one) if one.report else None,
            "state": ""
            if one.ready
            else "cannot be taken in as it is"
            if one.report is None
            else "correction does not go",
        }
        for place, one in enumerate(tables)
    ]
    return table_view(shown, _OVERVIEW)


def _facts(table: Table) -> list[tuple[str, str]]:
    report = table.report
    if report is None:
        return []
    told = {"option": "as you said", "recipe": "as you said", "column": "a column names it row by row"}
    supplier = told.get(report.supplier_from, "from the file's name")
    facts = [
        ("parts", families.load(report.family).title),
        ("supplier", f"{report.supplier} ({supplier})"),
        ("cells by", intakes.cells_by(report) + (f" {report.sheet}" if report.sheet else "")),
        ("letters", report.encoding),
        ("decimal mark", f"{intakes.mark_text(report)}{f', {report.decimal_why}' if report.decimal_why else ''}"),
    ]
    return facts + ([("sheets of the workbook", ", ".join(report.sheets))] if len(report.sheets) > 1 else [])


def _replaces(desk: Desk, tables: Sequence[Table]) -> list[str]:
    """Name the lists whose place these would take."""
    if not desk.holder.there:
        return []
    asked = dict.fromkeys(
        (one.report.supplier, one.report.family) for one in tables if one.report is not None and one.ready
    )
    try:
        with desk.holder.reading() as catalog:
            earlier = [one for supplier, family in asked for one in catalog.lists_of(supplier, family)]
    except CatalogError:
        return []  # it is said when it is confirmed
    return [f"{_file(one)}, taken in {one['taken_in']:%Y-%m-%d}" for one in earlier]


def _changes(reading: Reading, place: int) -> list[str] | None:
    """Say what the last correction changed of the table that is shown."""
    if reading.before is None or reading.changed != place:
        return None
    was, now = reading.before.tables[place].report, reading.tables[place].report
    if was is None or now is None or not reading.tables[place].ready:
        return None
    return intakes.changes(was, now)
