"""The page of a need: as one types, the parts that fit, their picture, and what stopped the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request
from werkzeug.datastructures import MultiDict

from loadworthy.dossier import study_choice
from loadworthy.errors import LoadworthyError
from loadworthy.explanation import Explanation, explain
from loadworthy.needs import NEEDS, Need
from loadworthy.needs.loads import LoadNeed
from loadworthy.report import choices, explanations, pages
from loadworthy.report.columns import heading_of
from loadworthy.report.html import table_view
from loadworthy.selection import Selection, choose
from loadworthy.web.app import Desk, carried
from loadworthy.web.asking import field_views, given_of, need_class, need_of
from loadworthy.web.wording import as_fields

if TYPE_CHECKING:
    from loadworthy.catalog.store import Catalog

__all__ = ["make_pages"]

#: Parts that are listed, and those that fall short in one thing.
_TOP: Final = 20
_NEAR: Final = 5
#: Parts that stand side by side at most.
_BESIDE: Final = 3
#: What the address holds besides the need.
_OURS: Final = ("pin", "by")


#: What the heads and the last row of a comparison say of a part.
_NAMED_ABOVE: Final = frozenset({"part_number", "rank", "notes"})


@dataclass(frozen=True, kw_only=True)
class _Answer:
    """What became of a need: a selection and the parts that were pinned, or what is wrong with it."""

    selection: Selection | None = None
    pinned: tuple[Explanation, ...] = ()
    error: LoadworthyError | None = None
    field: str = ""


def make_pages(desk: Desk) -> Blueprint:
    """Make the pages."""
    made = Blueprint("need", __name__)

    @made.get("/need")
    def front() -> Any:  # noqa: ANN401 - what Flask takes
        kept = request.query_string.decode("ascii", "replace")
        return redirect("/need/transistor" + (f"?{kept}" if kept else ""))

    @made.get("/need/<family>")
    def ask(family: str) -> Response:
        need = need_class(family)
        given = given_of(need, request.args)
        answer = _answered(desk, need, given) if given else _Answer()
        return desk.page("need", **_shown(family, need, answer))

    @made.get("/need/<family>/picture")
    def picture(family: str) -> Response:
        need = need_class(family)
        asked = need_of(need, given_of(need, request.args))
        with desk.holder.reading() as catalog:
            study = study_choice(catalog, choose(catalog, asked, top=_TOP, near=0, counting=False), title=family)
        return desk.page("need_picture", family=family, drawings=pages.choice_drawings(study.as_json(), ident="need"))

    @made.get("/need/<family>/part")
    def part(family: str) -> Response:
        need = need_class(family)
        asked = need_of(need, given_of(need, request.args))
        with desk.holder.reading() as catalog:
            found = explain(catalog, request.args.get("part", ""), asked, maker=request.args.get("maker") or None)
        figure = request.args.get("figure", "")
        return desk.page("need_part", family=family, figure=figure, **_explained(found, figure))

    return made


def _answered(desk: Desk, need: type[Need], given: Mapping[str, Any]) -> _Answer:
    """Answer a need; what is wrong with it is part of the answer, since it is still being typed."""
    try:
        asked = need_of(need, given)
        with desk.holder.reading() as catalog:
            return _Answer(selection=choose(catalog, asked, top=_TOP, near=_NEAR), pinned=_pinned(catalog, asked))
    except LoadworthyError as error:
        return _Answer(error=error, field=(error.where or "").removeprefix("--").replace("-", "_"))


def _pinned(catalog: Catalog, need: Need) -> tuple[Explanation, ...]:
    found = []
    for pin in request.args.getlist("pin")[:_BESIDE]:
        number, _, maker = pin.partition(" | ")
        try:
            found.append(explain(catalog, number, need, maker=maker or None))
        except LoadworthyError:
            continue  # it is gone from the catalogue: a bookmark may outlive a list
    return tuple(found)


def _shown(family: str, need: type[Need], answer: _Answer) -> dict[str, Any]:
    views = field_views(need, request.args)
    shown: dict[str, Any] = {
        "family": family,
        "families": list(NEEDS),
        "ranked_by": need.ranked_by,
        "example": need.examples[0],
        "first": [one for one in views if one.first],
        "more": [one for one in views if not one.first],
        "wrong": answer.field,
        "error": answer.error,
        "chosen": False,
        "order": carried().get("order", ""),
        "board": carried().get("board", ""),
    }
    if answer.selection is not None:
        shown |= _told(answer.selection, answer.pinned)
    return shown


def _told(selection: Selection, pinned: Sequence[Explanation]) -> dict[str, Any]:
    view = pages.chosen_view(selection.as_json(), selection.need.rules, order=_sorted)
    return {
        **view,
        "chosen": True,
        "cautions": as_fields(view["cautions"]),
        "by": request.args.get("by", ""),
        "pins": request.args.getlist("pin")[:_BESIDE],
        "side": _beside(pinned),
        "address": _address,
        "follows": selection.need.load_readings() if isinstance(selection.need, LoadNeed) else {},
    }


def _sorted(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Sort the parts shown by a figure that one picked; the rank keeps what it is."""
    by = request.args.get("by", "")
    if not by or not rows or by not in rows[0]:
        return rows
    return sorted(rows, key=lambda row: (row[by] is None, _key(row[by])))


def _key(value: Any) -> tuple[int, float, str]:  # noqa: ANN401 - figures and texts
    if isinstance(value, (int, float)):
        return (0, float(value), "")
    first = str(value or "").split(" ")[0]
    try:
        return (0, float(first), "")  # a price stands with its currency
    except ValueError:
        return (1, 0.0, str(value or "").casefold())


def _address(*, path: str = "", drop: Mapping[str, str] | None = None, **put: str) -> str:
    """Return the address with something added, replaced or taken away.

    Parameters
    ----------
    path
        What comes after the family.
    drop
        Name → the one value of it that goes.
    put
        Name → value; a pin is added to those there are, all else is replaced.
    """
    kept = MultiDict(
        (name, value)
        for name, value in request.args.items(multi=True)
        if (name == "pin" or name not in put) and (drop or {}).get(name) != value
    )
    for name, value in put.items():
        kept.add(name, value)
    if path:
        for name in _OURS:
            kept.poplist(name)
    base = request.path.split("/")[2]
    return f"/need/{base}{path}?{urlencode(list(kept.items(multi=True)))}"


def _beside(pinned: Sequence[Explanation]) -> dict[str, Any] | None:
    """Set pinned parts side by side: a row a figure, a column a part."""
    if not pinned:
        return None
    rules = pinned[0].need.rules
    parts = [{**one.part, "notes": [*one.assumed, *one.remarks]} for one in pinned]
    told = choices.by_weight(choices.ranked_columns(parts, rules.headings))
    columns = [one for one in told if one.name not in _NAMED_ABOVE]
    view = table_view(parts, columns)
    return {
        "parts": [f"{one.part['part_number']} | {one.part['maker'] or ''}" for one in pinned],
        "names": [str(one.part["part_number"]) for one in pinned],
        "answers": [explanations.verdict_text(one.as_json()) for one in pinned],
        "makers": [str(one.part["maker"] or "") for one in pinned],
        "rows": [(head, [cells[place] for _, cells in view.rows]) for place, head in enumerate(view.heads)],
        "notes": [part["notes"] for part in parts],
    }


def _explained(found: Explanation, figure: str) -> dict[str, Any]:
    told = found.as_json()
    own = [line for line in told["formulas"] if figure in line["figures"]]
    own.sort(key=lambda line: line["figures"][0] != figure)
    return {
        **pages.explained_view(told),
        "told": told,
        "own": own,
        "others": [line for line in told["formulas"] if line not in own],
        "heading": heading_of(figure, found.need.rules.headings),
    }
