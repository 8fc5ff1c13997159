"""The page of the bench: what was measured of a part that arrived, held against what is claimed of it as one types."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request
from werkzeug.datastructures import MultiDict

from loadworthy.bench import BenchResult, hows, measure, measured_of, with_measured
from loadworthy.bench.records import date_of, keep_records, stranger_note, supplier_of
from loadworthy.catalog.versions import renewed
from loadworthy.errors import LoadworthyError, UsageError
from loadworthy.listed import near_numbers, suppliers
from loadworthy.readings import GROUPS, KINDS, said_of
from loadworthy.report import benches, pages
from loadworthy.statements import HasConnection
from loadworthy.web.app import Desk, carried
from loadworthy.web.asking import FieldView
from loadworthy.web.safety import status_of
from loadworthy.web.state import MOST_LETTERS, pack, unpack
from loadworthy.web.wording import as_fields, field_called

__all__ = ["make_pages"]

_NEAR: Final = 3
#: What the form asks for besides the readings.
_OURS: Final = ("part", "maker", "kelvin", "supplier")


@dataclass(frozen=True, kw_only=True)
class _Answer:
    """What became of a measurement: its result, or what is wrong with it."""

    result: BenchResult | None = None
    error: LoadworthyError | None = None
    near: tuple[str, ...] = ()
    suppliers: tuple[str, ...] = ()
    stranger: str = ""


def make_pages(desk: Desk) -> Blueprint:
    """Make the pages."""
    made = Blueprint("bench", __name__)

    @made.get("/bench")
    def front() -> Any:  # noqa: ANN401 - what Flask takes
        kept = request.query_string.decode("ascii", "replace")
        return redirect("/bench/transistor" + (f"?{kept}" if kept else ""))

    @made.get("/bench/<kind>")
    def ask(kind: str) -> Response:
        _check(kind)
        return _page(desk, kind, _answered(desk, kind, request.args))

    @made.get("/bench/<kind>/picture")
    def picture(kind: str) -> Response:
        _check(kind)
        answer = _answered(desk, kind, request.args)
        if answer.error is not None:
            raise answer.error
        told = None if answer.result is None else answer.result.as_json()
        drawing = None if told is None else pages.bench_drawing(told, ident="bench")
        return desk.page("need_picture", drawings=[] if drawing is None else [drawing])

    @made.post("/bench/<kind>/samples")
    def several(kind: str) -> Response:
        _check(kind)
        sent = request.files.get("samples")
        if sent is None or not sent.filename:
            error = UsageError("no file was chosen.", way_out="Choose a table of several samples first.")
            return _page(desk, kind, _Answer(error=error), status=400)
        data = sent.read()
        answer = _answered(desk, kind, request.form, samples=data)
        return _page(desk, kind, answer, samples=data, status=status_of(answer.error))

    @made.post("/bench/<kind>/keep")
    def keep(kind: str) -> Any:  # noqa: ANN401 - what Flask takes
        _check(kind)
        samples = _sent_along()
        try:
            supplier, day = supplier_of(request.form.get("supplier")), date_of(request.form.get("date") or None)
            _, result = _found(desk, kind, request.form, samples)
            with renewed(desk.holder.path) as catalog:
                kept = keep_records(catalog, result, supplier=supplier, measured_on=day)
        except LoadworthyError as error:
            return _page(desk, kind, _Answer(error=error), samples=samples, status=status_of(error))
        return redirect(_address(kind, request.form, kept=str(kept), supplier=supplier), 303)

    @made.post("/bench/transistor/board")
    def into_board() -> Any:  # noqa: ANN401 - what Flask takes
        samples = _sent_along()
        try:
            _, result = _found(desk, "transistor", request.form, samples)
            if result.as_measured is None:
                raise UsageError("no on-resistance was measured.", way_out="Give drop, current and gate.")
            link = request.form.get("link", "")
            new, _, _ = with_measured(_board(), link, result.as_measured.resistance_ohm)
        except LoadworthyError as error:
            return _page(desk, "transistor", _Answer(error=error), samples=samples, status=status_of(error))
        return redirect(_address("transistor", request.form, board=pack(new), put=link), 303)

    return made


def _check(kind: str) -> None:
    if kind not in KINDS:
        raise UsageError(f"{kind!r} is not measured here.", way_out=f"It is one of {', '.join(KINDS)}.")


def _board() -> str:
    packed = carried().get("board")
    return unpack(packed) if packed else ""


# -- what is measured ----------------------------------------------------------------------------------
def _given(kind: str, filled: MultiDict[str, str]) -> dict[str, str | None]:
    return {one.name: filled.get(one.name, "").strip() or None for one in said_of(kind)}


def _found(desk: Desk, kind: str, filled: MultiDict[str, str], samples: bytes | None) -> tuple[_Answer, BenchResult]:
    """Measure; where there is no catalogue yet, nothing is claimed but what was given."""
    if not desk.holder.there:
        return _Answer(), _measured(kind, filled, samples, None)
    with desk.holder.reading() as catalog:
        result = _measured(kind, filled, samples, catalog)
        claimed = result.claimed
        unknown = claimed is not None and not claimed.row and catalog.holds(kind)
        near = near_numbers(catalog.connection, claimed.part, [kind], most=_NEAR) if claimed and unknown else []
        stranger = stranger_note(catalog, filled["supplier"]) if filled.get("kept") and filled.get("supplier") else None
        known = suppliers(catalog.connection)
    return _Answer(near=tuple(near), suppliers=tuple(known), stranger=stranger or ""), result


def _measured(
    kind: str, filled: MultiDict[str, str], samples: bytes | None, catalog: HasConnection | None
) -> BenchResult:
    return measure(
        kind,
        _given(kind, filled),
        part=filled.get("part"),
        maker=filled.get("maker", "").strip() or None,
        catalog=catalog,
        kelvin=bool(filled.get("kelvin")),
        samples=samples,
    )


def _answered(desk: Desk, kind: str, filled: MultiDict[str, str], samples: bytes | None = None) -> _Answer:
    """Answer; what is wrong is part of the answer, since it is still being typed."""
    if samples is None and not any(_given(kind, filled).values()):
        return _Answer()
    try:
        beside, result = _found(desk, kind, filled, samples)
    except LoadworthyError as error:
        return _Answer(error=error)
    return _Answer(result=result, near=beside.near, suppliers=beside.suppliers, stranger=beside.stranger)


# -- what is shown -------------------------------------------------------------------------------------
def _page(desk: Desk, kind: str, answer: _Answer, *, samples: bytes | None = None, status: int = 200) -> Response:
    how = as_fields(hows()[kind].as_json())
    filled = request.values
    error = answer.error
    where = re.split(r",\s*", (error.where or "").replace("--", "")) if error else []
    shown: dict[str, Any] = {
        "kind": kind,
        "kinds": KINDS,
        "part": filled.get("part", ""),
        "maker": filled.get("maker", ""),
        "kelvin": bool(filled.get("kelvin")),
        "groups": _groups(kind, filled),
        "wrong": [name.replace("-", "_").lower() for name in where],
        "error": None if error is None else _told_error(error),
        "how": how,
        "how_lines": benches.how_lines(how),
        "typed": _typed(kind, filled),
        "packed": _along(samples),
        "several": samples is not None,
        "result": None,
        "view": None,
        "near": [(number, _address(kind, filled, part=number)) for number in answer.near],
        "suppliers": answer.suppliers,
        "supplier": filled.get("supplier", ""),
        "picture": f"/bench/{kind}/picture?{urlencode(_typed(kind, filled))}",
        **_done(filled, answer),
    }
    if answer.result is not None:
        told = as_fields(answer.result.as_json())
        shown["result"] = told
        shown["verdict"] = benches.short_verdict(told["verdict"])
        shown["view"] = pages.bench_view(told, ident="bench", draw=samples is not None)
    return desk.page("bench", status=status, only_read=desk.holder.only_read, **shown)


def _told_error(error: LoadworthyError) -> dict[str, str]:
    """Say of fields what an error says of options; the place is a field already."""
    names = re.split(r",\s*", error.where) if error.where else []
    where = ", ".join(
        field_called(name.removeprefix("--")) if name.startswith("--") else name.lower() for name in names
    )
    return {"where": where, "message": as_fields(error.message), "way_out": as_fields(error.way_out or "")}


def _done(filled: MultiDict[str, str], answer: _Answer) -> dict[str, Any]:
    """Say what a button did before: the address says it, and what is true of it is looked up."""
    kept, link = filled.get("kept", ""), filled.get("put", "")
    board = measured_of(_board()) if carried().get("board") else {}
    return {
        "kept": int(kept) if re.fullmatch(r"[0-9]{1,6}", kept) else None,
        "stranger": answer.stranger,
        "transistors": list(board),
        "put": link if board.get(link) else "",
        "put_value": board.get(link) or "",
    }


def _groups(kind: str, filled: MultiDict[str, str]) -> list[tuple[str, list[FieldView]]]:
    every = said_of(kind)
    return [
        (words, [_field(one, filled) for one in every if one.group == group])
        for group, words in GROUPS.items()
        if any(one.group == group for one in every)
    ]


def _field(one: Any, filled: MultiDict[str, str]) -> FieldView:  # noqa: ANN401 - what may be said
    return FieldView(
        name=one.name,
        label=field_called(one.name),
        help=one.words,
        kind="choice" if one.choices else "text",
        value=filled.get(one.name, ""),
        example=one.example,
        choices=("", *one.choices) if filled.get(one.name) else one.choices,
        required=False,
        first=one.group == "reading",
        one_of="",
    )


def _typed(kind: str, filled: Mapping[str, str]) -> dict[str, str]:
    """Return what was filled in, and what of the work goes along."""
    names = (*_OURS, *(one.name for one in said_of(kind)))
    return {**{name: filled[name] for name in names if filled.get(name, "").strip()}, **carried()}


def _address(kind: str, filled: Mapping[str, str], **put: str) -> str:
    return f"/bench/{kind}?{urlencode({**_typed(kind, filled), **put})}"


# -- samples that go along with a form -----------------------------------------------------------------
def _along(samples: bytes | None) -> str:
    """Pack a samples' file, so that its result can be kept without the file being sent again."""
    return "" if samples is None or len(samples) > MOST_LETTERS else pack(samples.decode("latin-1"))


def _sent_along() -> bytes | None:
    packed = request.form.get("packed", "")
    return unpack(packed).encode("latin-1", "replace") if packed else None
