"""The page of an order: the list grows from what was chosen, and the plan says what to buy where.

The order is the text of an order file, carried in the address. Every change is a form that answers with the address
of the changed order: the program keeps nothing of it, and going back undoes.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from typing import Any, Final
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request

from loadworthy.errors import CatalogError, LoadworthyError, OrderError, UsageError
from loadworthy.listed import suppliers
from loadworthy.readings import KINDS
from loadworthy.report import pages
from loadworthy.report.plan_files import ENDINGS
from loadworthy.shopping import MissingRates, joined, plan, read_order_text
from loadworthy.shopping.editing import line_changed, lines_of, new_order, table_changed, without_line
from loadworthy.shopping.order_keys import KEYS, MOST_PIECES
from loadworthy.toml_files import read_toml, toml_text
from loadworthy.web import order_forms as forms
from loadworthy.web.app import Desk, carried
from loadworthy.web.files import attached
from loadworthy.web.safety import status_of
from loadworthy.web.state import MOST_LETTERS, pack, unpack
from loadworthy.web.wording import as_fields

__all__ = ["make_pages"]

#: Seconds that a plan may take at first, and where one asks for a better one.
_SECONDS: Final = 4
_LONGER: Final = 30
_Changed = tuple[str, str]


def make_pages(desk: Desk) -> Blueprint:
    """Make the pages."""
    made = Blueprint("order", __name__)

    @made.get("/order")
    def show() -> Response:
        return _page(desk, _text())

    @made.get("/order/plan")
    def planned() -> Response:
        return _plan_page(desk, _text())

    @made.get("/order/plan.<ending>")
    def download(ending: str) -> Response:
        kind = f".{ending.lower()}"
        if kind not in ENDINGS:
            raise UsageError(f"a plan is no {ending!r}.", way_out=f"It can be {', '.join(ENDINGS)}.")
        told = _planned(desk, _text())
        return attached(ENDINGS[kind](told), title=str(told["title"]), usual="order", ending=kind)

    @made.get("/order/order.toml")
    def kept() -> Response:
        text = _text()
        title = forms.order_shown(text)["title"]
        data = (text or new_order(title)).encode("utf-8")
        return attached(data, title=title, usual="order", ending=".toml")

    def change(path: str, how: Callable[[str], _Changed]) -> None:
        """Let a form at `path` change the order; what is wrong with it is said where it was filled in."""

        def changed() -> Any:  # noqa: ANN401 - what Flask takes
            text = _text()
            try:
                new, place = how(text)
                return redirect(_address(new, place), 303)
            except LoadworthyError as error:
                return _page(desk, text, error=error, status=status_of(error))

        made.post(path, endpoint=path.rpartition("/")[2])(changed)

    change("/order/add", _add)
    change("/order/line", _line)
    change("/order/boards", _boards)
    change("/order/whole", _whole)
    change("/order/money", _money)
    change("/order/rates", lambda text: (_with_rates(text), "rates"))
    change("/order/terms", _terms)

    @made.post("/order/open")
    def opened() -> Any:  # noqa: ANN401 - what Flask takes
        sent = request.files.get("file")
        if sent is None or not sent.filename:
            error = UsageError("no file was chosen.", way_out="Choose one first.")
            return _page(desk, _text(), error=error, status=400)
        try:
            text = toml_text(sent.read(), fault=OrderError, name=sent.filename)
        except OrderError as wrong:
            return _page(desk, _text(), error=wrong, status=400)
        return _opened(desk, text.replace("\r\n", "\n"), name=sent.filename)

    @made.post("/order/text")
    def written() -> Any:  # noqa: ANN401 - what Flask takes
        # A browser ends the lines of what is typed as the net does, not as a file.
        return _opened(desk, request.form.get("text", "").replace("\r\n", "\n"), name="the text")

    return made


def _text() -> str:
    packed = request.values.get("order", "")
    return unpack(packed) if packed else ""


def _address(text: str, place: str = "") -> str:
    state = {**carried(), "order": pack(text)}
    return f"/order?{urlencode(state)}" + (f"#{place}" if place else "")


def _opened(desk: Desk, text: str, *, name: str) -> Any:  # noqa: ANN401 - what Flask takes
    """Take a text as the order; one that is no TOML stays where it can be mended."""
    try:
        read_toml(text, fault=OrderError, name=name)
        return redirect(_address(text), 303)
    except LoadworthyError as error:
        return _page(desk, _text(), error=error, typed=text if len(text) <= MOST_LETTERS else None, status=400)


def _page(
    desk: Desk, text: str, *, error: LoadworthyError | None = None, typed: str | None = None, status: int = 200
) -> Response:
    return desk.page(
        "order",
        status=status,
        order=forms.order_shown(text),
        text=text if typed is None else typed,
        typed=typed is not None,
        error=error,
        problems=[one for one in getattr(error, "problems", ()) if one is not error],
        known=_suppliers(desk),
        most=MOST_PIECES,
        helps={key: words for key, (_, words) in (KEYS["terms"] | KEYS["order"]).items()},
        files=list(ENDINGS),
        state=urlencode(carried()),
    )


def _suppliers(desk: Desk) -> list[str]:
    """Name those who can be bought from; a catalogue that is not there yet has none."""
    try:
        with desk.holder.reading() as catalog:
            return suppliers(catalog.connection)
    except CatalogError:
        return []


# -- the plan ------------------------------------------------------------------------------------------
def _seconds() -> int:
    return _LONGER if request.args.get("longer") else _SECONDS


def _planned(desk: Desk, text: str) -> dict[str, Any]:
    # What the solver's own code may print goes to the terminal of the server: turning the output of the process away,
    # as the command line does, would turn it away from every other thread as well.
    order = read_order_text(text)
    with desk.holder.reading() as catalog:
        return plan(catalog, order, today=datetime.date.today(), time_limit_s=_seconds()).as_json()


def _plan_page(desk: Desk, text: str) -> Response:
    state = carried() | ({"longer": "yes"} if request.args.get("longer") else {})
    shown: dict[str, Any] = {"view": None, "problems": (), "files": list(ENDINGS), "state": urlencode(state)}
    more = "" if "longer" in state else f"/order/plan?{urlencode(state | {'longer': 'yes'})}"
    shown |= {"again": "", "seconds": _LONGER, "to_measure": [], "money": None}
    try:
        told = _planned(desk, text)
    except OrderError as error:
        shown["again"] = more if "--time-limit" in (error.way_out or "") else ""
        shown["money"] = error if isinstance(error, MissingRates) else None
        return desk.page("order_plan", **shown | {"problems": _named(text, error)})
    longer = not told["proven"] and told["verdict"] != "impossible" and bool(more)
    ask = "let it look longer, see below" if longer else "fewer lines are planned faster"
    shown |= {
        "view": pages.plan_view(told, longer=ask),
        "again": more if longer else "",
        "to_measure": list(_to_measure(told)),
    }
    return desk.page("order_plan", **shown)


def _named(text: str, error: OrderError) -> list[dict[str, Any]]:
    """Say of each problem which line of the list it is about."""
    rows = lines_of(read_toml(text, fault=OrderError, name="order").raw) if text else []
    told = []
    for one in error.problems or (error,):
        number = forms.placed(one)
        known = number is not None and number <= len(rows)
        called = forms.line_called(rows[number - 1], number) if known and number else None
        words = as_fields({"message": one.message, "way_out": one.way_out or ""})
        told.append({"number": number if known else None, "line": called, **words})
    return told


def _to_measure(told: Mapping[str, Any]) -> Any:  # noqa: ANN401 - a generator of pairs
    """Give the parts that can be measured when they have come: what is said, and where."""
    for one in told["suppliers"]:
        for row in one["lines"]:
            if row["family"] in KINDS:
                asked = {"part": row["part_number"], "maker": row["maker"], "supplier": one["supplier"], **carried()}
                given = urlencode({key: value for key, value in asked.items() if value})
                yield f"{row['part_number']} from {one['supplier']}", f"/bench/{row['family']}?{given}"


# -- what forms change ---------------------------------------------------------------------------------
def _add(text: str) -> _Changed:
    form = request.form
    makers, families, counts = (form.getlist(name) for name in ("maker", "family", "quantity"))
    lines = []
    for place, part in enumerate(form.getlist("part")):
        given = {
            "part": " ".join(part.split()),
            "maker": _nth(makers, place),
            "family": _nth(families, place),
        }
        count = _count(_nth(counts, place) or "1")
        lines.append({**{key: value for key, value in given.items() if value}, "quantity": count})
    if not lines or not all("part" in line for line in lines):
        raise UsageError("which part?", where="part", way_out="Give its number.")
    new, place = joined(text, lines)
    return new, f"line-{place + 1}"


def _nth(words: list[str], place: int) -> str:
    return " ".join(words[place].split()) if place < len(words) else ""


def _count(text: str) -> int:
    if re.fullmatch(r"\s*\d{1,7}\s*", text) and 1 <= int(text) <= MOST_PIECES:
        return int(text)
    raise OrderError(
        f"{text!r} is no whole number from 1 to {MOST_PIECES}.", where="quantity", way_out="Write it like 2."
    )


def _stepped(before: object, typed: str) -> int:
    """Return a number as it was typed, or one more or less than it is."""
    step = {"more": 1, "less": -1}.get(request.form.get("do", ""), 0)
    if not step:
        return _count(typed)
    now = _count(typed) if typed.strip() else before if isinstance(before, int) else 1
    return min(max(now + step, 1), MOST_PIECES)


def _line(text: str) -> _Changed:
    form = request.form
    number = int(form.get("number", "0")) if re.fullmatch(r"\d{1,6}", form.get("number", "")) else 0
    rows = lines_of(read_toml(text, fault=OrderError, name="order").raw)
    row = rows[number - 1] if isinstance(rows, list) and 1 <= number <= len(rows) else {}
    if form.get("do") == "remove":
        return without_line(text, number - 1), "lines"
    if form.get("do") == "keep":
        keys = tuple(key for key in forms.LINE_KEYS if key in form)
        return line_changed(text, number - 1, forms.read_keys("line", keys, form, row)), f"line-{number}"
    count = _stepped(row.get("quantity"), form.get("quantity", ""))
    return line_changed(text, number - 1, {"quantity": count}), f"line-{number}"


def _boards(text: str) -> _Changed:
    raw = read_toml(text, fault=OrderError, name="order").raw
    count = _stepped(raw.get("boards"), request.form.get("boards", ""))
    return table_changed(_begun(text), (), {"boards": count}), "lines"


def _begun(text: str) -> str:
    return text or new_order("Order")


def _whole(text: str) -> _Changed:
    raw = read_toml(text, fault=OrderError, name="order").raw
    keys = forms.read_keys("order", forms.WHOLE_KEYS, request.form, raw)
    return table_changed(_begun(text), (), keys), "whole"


def _with_rates(text: str) -> str:
    raw = read_toml(text, fault=OrderError, name="order").raw.get("rates")
    gone = dict.fromkeys(raw) if isinstance(raw, Mapping) else {}
    return table_changed(_begun(text), ("rates",), {**gone, **forms.rates_of(request.form)})


def _money(text: str) -> _Changed:
    """Take in which sums are, and rates besides those that there are."""
    currency = request.form.get("currency", "").strip()
    if currency:
        keys = forms.read_keys("order", ("currency",), request.form, {})
        text = table_changed(_begun(text), (), {"currency": str(keys["currency"]).upper()})
    own = str(read_toml(text, fault=OrderError, name="order").raw.get("currency", "")).upper()
    rates = {code: rate for code, rate in forms.rates_of(request.form).items() if code != own}
    return table_changed(_begun(text), ("rates",), rates), "plan-title"


def _terms(text: str) -> _Changed:
    raw = read_toml(text, fault=OrderError, name="order").raw.get("terms")
    named = " ".join(request.form.get("supplier", "").split())
    if not named:
        raise UsageError("whose terms?", where="supplier", way_out='Give a supplier\'s name, or "*" for all others.')
    there = {str(name).strip().casefold(): name for name in raw} if isinstance(raw, Mapping) else {}
    supplier = there.get(named.casefold(), named)
    gone = request.form.get("do") == "remove"
    keys = dict.fromkeys(KEYS["terms"]) if gone else forms.terms_of(named, request.form)
    return table_changed(_begun(text), ("terms", supplier), keys), "terms"
