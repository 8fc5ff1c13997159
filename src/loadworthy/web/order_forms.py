"""The forms of an order: what stands in them, and the keys of the order that they make when they are sent."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import InvalidOperation
from typing import Any, Final
from urllib.parse import urlencode

from werkzeug.datastructures import MultiDict

from loadworthy.errors import LoadworthyError, OrderError
from loadworthy.needs import NEEDS
from loadworthy.readings import KINDS
from loadworthy.shopping.order import Order, read_order_text
from loadworthy.shopping.order_keys import KEYS, READERS, read_rate
from loadworthy.shopping.programme import AIMS, SHORTFALLS
from loadworthy.shopping.terms import KEYS as TERM_KEYS
from loadworthy.shopping.terms import read_currency, read_terms
from loadworthy.toml_files import read_toml
from loadworthy.web.asking import FieldView

__all__ = [
    "LINE_KEYS",
    "WHOLE_KEYS",
    "LineView",
    "TermsView",
    "fields_of",
    "line_called",
    "order_shown",
    "placed",
    "rates_of",
    "read_keys",
    "terms_of",
]

#: Keys of the order that one form asks for; boards have buttons of their own.
WHOLE_KEYS: Final = (
    "title", "currency", "aim", "shortfall", "wait", "spares", "suppliers", "second_source", "tax",
)  # fmt: skip
#: Keys of a line besides the part and the quantity.
LINE_KEYS: Final = ("name", "maker", "spares", "suppliers", "second_source")
_CHOICES: Final[dict[str, tuple[str, ...]]] = {"aim": AIMS, "shortfall": SHORTFALLS}
_LABELS: Final = {
    "shortfall": "left out if need be",
    "wait": "longest wait",
    "suppliers": "buy from",
    "second_source": "name a second source",
    "tax": "show tax",
    "least_order": "least order",
}
#: What the choices mean, where the words of the file want some more.
_SAYS: Final = {
    "shortfall": "Where not all can be had. None: no plan then; lines: whole ones; pieces: as many as are missing.",
    "aim": "What the plan is for: the least total, the fewest parcels, or the shortest wait.",
}
_AS_ORDER: Final = "as the order"
_EMPTY_ROWS: Final = 2
_PLACE: Final = re.compile(r"key line\[(\d+)\]")


@dataclass(frozen=True, kw_only=True)
class LineView:
    """One line of the order as it is shown.

    Attributes
    ----------
    number
        Its place, from 1.
    name, asked
        What it is called, and the part or the need in words.
    quantity, pieces
        For one board, and in all with spares; nothing where the order cannot be read.
    need, bench
        Where its need is asked and its part measured; nothing where it has none.
    fields
        What else may be said of it.
    problems
        What is wrong with it.
    """

    number: int
    name: str
    asked: str
    quantity: str
    pieces: int | None
    need: str
    bench: str
    fields: tuple[FieldView, ...]
    problems: tuple[LoadworthyError, ...]


@dataclass(frozen=True, kw_only=True)
class TermsView:
    """What one supplier charges, as a form shows it; pairs have empty rows to add to them."""

    supplier: str
    shipping: tuple[tuple[str, str], ...]
    packaging: tuple[tuple[str, str], ...]
    fields: tuple[FieldView, ...]


# -- what is shown -------------------------------------------------------------------------------------
def order_shown(text: str) -> dict[str, Any]:
    """Make an order ready to be shown, however much of it is wrong.

    Raises
    ------
    OrderError
        It is no TOML.
    """
    raw = read_toml(text, fault=OrderError, name="order").raw if text else {}
    rows = raw.get("line", [])
    rows = [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []
    order, problems = _read(text) if rows else (None, ())
    by_line = [(placed(one), one) for one in problems]
    terms = raw.get("terms")
    return {
        "title": str(raw.get("title") or "Order"),
        "boards": str(raw.get("boards", 1)),
        "lines": [
            _line_view(number, row, order, tuple(one for place, one in by_line if place == number))
            for number, row in enumerate(rows, 1)
        ],
        "problems": [one for place, one in by_line if place is None or place > len(rows)],
        "readable": order is not None,
        "whole": fields_of("order", WHOLE_KEYS, raw),
        "rates": _rate_rows(raw.get("rates")),
        "terms": [
            _terms_view(str(name), table)
            for name, table in (terms.items() if isinstance(terms, Mapping) else ())
            if isinstance(table, Mapping)
        ],
        "blank_terms": _terms_view("", {}),
    }


def _read(text: str) -> tuple[Order | None, tuple[LoadworthyError, ...]]:
    try:
        return read_order_text(text), ()
    except OrderError as error:
        return None, error.problems or (error,)


def placed(problem: LoadworthyError) -> int | None:
    """Say which line of the order a problem is about, from 1; None where it is about none.

    Examples
    --------
    >>> placed(OrderError("x", where="order, line 7, key line[2].quantity")), placed(OrderError("x"))
    (2, None)
    """
    found = _PLACE.search(problem.where or "")
    return int(found.group(1)) if found else None


def line_called(row: Mapping[str, Any], number: int) -> str:
    """Return what a line is called: its name, its part, or its number."""
    return str(row.get("name") or row.get("part") or f"line {number}")


def _line_view(
    number: int, row: Mapping[str, Any], order: Order | None, problems: tuple[LoadworthyError, ...]
) -> LineView:
    need = row.get("need")
    family = row.get("family")
    bench = {"part": row.get("part"), "maker": row.get("maker")} if "part" in row and family in KINDS else {}
    return LineView(
        number=number,
        name=line_called(row, number),
        asked=_asked(row, number),
        quantity=str(row.get("quantity", "")),
        pieces=order.lines[number - 1].pieces if order is not None else None,
        need=_need_address(need) if isinstance(need, Mapping) else "",
        bench=f"/bench/{family}?{urlencode({key: value for key, value in bench.items() if value})}" if bench else "",
        fields=fields_of("line", tuple(key for key in LINE_KEYS if key != "maker" or "part" in row), row),
        problems=problems,
    )


def _asked(row: Mapping[str, Any], number: int) -> str:
    need = row.get("need")
    if isinstance(need, Mapping):
        words = ((re.sub("[_-]", " ", key), _text(value)) for key, value in need.items() if key != "family")
        said = ", ".join(" ".join(pair) for pair in words)
        return f"any {need.get('family', 'part')} that fits: {said}"
    keys = ("part", "maker", "family") if row.get("name") else ("maker", "family")
    called = [] if row.get("name") else [f"line {number}"]  # so the plan calls it
    return ", ".join([*called, *(str(row[key]) for key in keys if row.get(key))])


def _need_address(need: Mapping[str, Any]) -> str:
    family = need.get("family")
    if family not in NEEDS:
        return ""
    asked = {
        key.replace("-", "_"): "yes" if value is True else value
        for key, value in need.items()
        if key not in ("family", "more_loss")
    }
    return f"/need/{family}?{urlencode(asked, doseq=True)}"


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def fields_of(table: str, keys: Sequence[str], raw: Mapping[str, Any]) -> tuple[FieldView, ...]:
    """Make the fields of a form from the keys that an order file may have.

    Parameters
    ----------
    table
        Of which of its tables.
    keys
        Which of them, in their order.
    raw
        What stands in the file.
    """
    return tuple(_field(table, key, raw.get(key)) for key in keys)


def _field(table: str, key: str, value: object) -> FieldView:
    written, words = KEYS[table][key]
    example = _text(tomllib.loads(f"value = {written}")["value"])
    whole = table == "order"
    flag = _is_flag(table, key)
    choices = _CHOICES.get(key, ()) if whole else (_AS_ORDER, "yes", "no") if flag else ()
    usual = choices[0] if choices else ""
    return FieldView(
        name=key,
        label=_LABELS.get(key, key.replace("_", " ")),
        help=_SAYS.get(key, words) if whole else words,
        kind="tick" if flag and whole else "choice" if choices else "text",
        value=("yes" if value is True else "") if flag and whole else usual if value is None else _text(value),
        example="" if flag else example,
        choices=choices,
        required=False,
        first=True,
        one_of="",
    )


def _is_flag(table: str, key: str) -> bool:
    return isinstance(tomllib.loads(f"value = {KEYS[table][key][0]}")["value"], bool)


def _rate_rows(raw: object) -> list[tuple[str, str]]:
    rows = [(str(code), str(rate)) for code, rate in raw.items()] if isinstance(raw, Mapping) else []
    return [*rows, ("", "")]


def _terms_view(supplier: str, raw: Mapping[str, Any]) -> TermsView:
    shipping, packaging = raw.get("shipping"), raw.get("packaging")
    if isinstance(shipping, list):
        steps = [(str(step[0]), str(step[1])) for step in shipping if isinstance(step, list) and len(step) == 2]
    else:
        steps = [] if shipping is None else [("0", str(shipping))]
    extra = [(str(word), str(fee)) for word, fee in packaging.items()] if isinstance(packaging, Mapping) else []
    return TermsView(
        supplier=supplier,
        shipping=(*(steps or [("0", "")]), *[("", "")] * _EMPTY_ROWS),
        packaging=(*extra, ("", "")),
        fields=fields_of("terms", ("handling", "least_order", "tax", "currency"), raw),
    )


# -- what is sent --------------------------------------------------------------------------------------
def read_keys(
    table: str, keys: Sequence[str], form: MultiDict[str, str], before: Mapping[str, Any]
) -> dict[str, object]:
    """Read the keys that a form sends; None stands for what is to be taken away.

    Parameters
    ----------
    table, keys
        As of :func:`fields_of`.
    form
        What was filled in.
    before
        What stands in the file: what is said there and stays as usual is left alone.

    Raises
    ------
    OrderError
        A value cannot be; ``where`` names the field.
    """
    return {key: _value(table, key, form.get(key, ""), before.get(key)) for key in keys}


def _value(table: str, key: str, typed: str, before: object) -> object:
    text = " ".join(typed.split())
    if _is_flag(table, key):
        if table == "order":
            return True if text else False if before is False else None
        return {"yes": True, "no": False}.get(text)
    if not text or (before is None and text == (_CHOICES.get(key, ("",))[0] if table == "order" else "")):
        return None
    value: object = text
    example = tomllib.loads(f"value = {KEYS[table][key][0]}")["value"]
    if (isinstance(example, int) or key == "spares") and re.fullmatch(r"\d{1,9}", text):
        value = int(text)
    elif isinstance(example, list):
        value = [word.strip() for word in text.split(",") if word.strip()]
    try:
        READERS[key](value)
    except LoadworthyError as error:
        way_out = error.way_out or f"Write it like {_text(example)}."
        raise OrderError(error.message, where=_LABELS.get(key, key), way_out=way_out) from error
    return value


def rates_of(form: MultiDict[str, str]) -> dict[str, object]:
    """Read the rates that a form sends; a row without a currency or without a rate is left out.

    Raises
    ------
    OrderError
        A currency or a rate is none.
    """
    found: dict[str, object] = {}
    for code, rate in zip(form.getlist("code"), form.getlist("rate"), strict=False):
        written, text = code.strip(), rate.strip().replace(",", ".")
        if not written or not text:
            continue
        try:
            currency = read_currency(written)
            read_rate(text)
        except (InvalidOperation, OrderError) as error:
            said = f"{written} = {rate.strip()} is no rate."
            raise OrderError(said, where="rates", way_out="Write three letters and a number: USD and 0.92.") from error
        found[currency] = float(text)
    return found


def terms_of(supplier: str, form: MultiDict[str, str]) -> dict[str, object]:
    """Read a supplier's terms that a form sends; None stands for what is to be taken away.

    Raises
    ------
    OrderError
        Something of them cannot be; ``problems`` has all of it.
    """
    steps = [
        [start.strip() or "0", charge.strip()]
        for start, charge in zip(form.getlist("from"), form.getlist("costs"), strict=False)
        if charge.strip()
    ]
    packaging = {
        word.strip(): fee.strip()
        for word, fee in zip(form.getlist("word"), form.getlist("fee"), strict=False)
        if word.strip() and fee.strip()
    }
    found: dict[str, object] = {key: " ".join(form.get(key, "").split()) or None for key in TERM_KEYS}
    found["shipping"] = (steps[0][1] if len(steps) == 1 and steps[0][0] == "0" else steps) if steps else None
    found["packaging"] = packaging or None
    given = {key: value for key, value in found.items() if value is not None}
    problems: list[OrderError] = []

    def wrong(path: tuple[str | int, ...], message: str, way_out: str) -> None:
        where = f"{supplier}, {_LABELS.get(str(path[-1]), str(path[-1]))}"
        problems.append(OrderError(message, where=where, way_out=way_out))

    read_terms({supplier: given}, ("terms",), wrong, among=lambda _: "")
    if problems:
        first = problems[0]
        raise OrderError(first.message, where=first.where, way_out=first.way_out, problems=tuple(problems))
    return found
