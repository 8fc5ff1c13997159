"""What the board's page shows of a board: its verdict, its limits, its paths, and what is still to be said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from loadworthy.boards import Board, audit, what_if, with_ambient
from loadworthy.boards.choosing import Mended
from loadworthy.boards.schema import KINDS, STAYS, TABLES
from loadworthy.criteria import load as criteria_of
from loadworthy.errors import LoadworthyError
from loadworthy.needs.base import measured
from loadworthy.needs.loads import MOST_SUPPLY_V
from loadworthy.report.audits import WHAT_IF_COLUMNS, what_if_rows
from loadworthy.report.html import table_view
from loadworthy.report.mendings import next_weakest, said_of
from loadworthy.report.pages import board_view, chosen_view
from loadworthy.report.paths import BARS, PathView
from loadworthy.web.board_work import Work, draft_paths, group_of, links_of, rows_of
from loadworthy.web.wording import as_fields

__all__ = ["KIND_WORDS", "choice_shown", "mended_shown", "shown"]

#: Kind of link → what one calls it when one looks for it.
KIND_WORDS: Final = {
    "connector": "Connector: a terminal, a plug, a pin header",
    "fuse": "Fuse, one-shot or resettable",
    "trace": "Trace: copper on the board",
    "transistor": "Transistor: the power MOSFET that switches",
    "wire": "Wire or lead",
    "plain": "Anything else with a rating: a relay, a switch, a shunt",
}
assert set(KIND_WORDS) == set(KINDS)  # noqa: S101 - a kind that is new must be named here


@dataclass(frozen=True, kw_only=True)
class _Other:
    """Another supply or other air to hold the board against, as it was typed."""

    supply_v: float | None
    ambient_degc: float | None
    wrong: Mapping[str, str]


def shown(work: Work, typed: Mapping[str, str], at: int) -> dict[str, Any]:
    """Return what the page shows of a board.

    Parameters
    ----------
    work
        The board.
    typed
        What the address holds of another ``supply`` and other ``air``.
    at
        Which output stands open, counted from 1; 0 where none was worked on.
    """
    other = _other(typed)
    told: dict[str, Any] = {
        "title": work.title,
        "text": work.text,
        "trouble": work.trouble,
        "problems": work.problems,
        "at_place": {problem.place: work.at(problem.place) for problem in work.problems},
        "empty": work.raw.get("output", []) == [],
        "missing": _missing(work),
        "typed": {name: typed.get(name, "") for name in ("supply", "air")},
        "wrong": other.wrong,
        "sections": [
            {
                "where": f"section[{number}]",
                "name": row.get("name") or f"section {number}",
                "links": len(rows_of(row, "link")),
            }
            for number, row in enumerate(rows_of(work.raw, "section"), 1)
        ],
        "chosen_parts": _parts(work.raw),
        "last": _last(work.raw),
        "replaceable": sorted(STAYS),
        "bars": BARS,
    }
    if work.board is None:
        paths = draft_paths(work)
        return told | {"view": None, "what_if": None, "outputs": _outputs(work.raw, paths, {}, at)}
    board = work.board if other.ambient_degc is None else with_ambient(work.board, other.ambient_degc)
    result = audit(board).as_json()
    view = board_view(result)
    return told | {
        "view": view,
        "verdict": result["verdict"],
        "next_weakest": next_weakest(result).replace("Now the weakest", "The weakest link"),
        "short": [one["where"] for one in result["replace"]],
        "what_if": None if other.supply_v is None else _what_if(board, other.supply_v),
        "outputs": _outputs(
            work.raw, view["paths"], {one["output"]: one for one in result["outputs"]}, at, view["outputs"]
        ),
    }


def _missing(work: Work) -> list[dict[str, str]]:
    """Name the links of which something is still to be said."""
    found = []
    for place in dict.fromkeys(problem.place for problem in work.problems if ".link[" in problem.place):
        link = dict(links_of(group_of(work.raw, place), place.partition(".")[0])).get(place, {})
        kind = str(link.get("kind") or "link")
        found.append({"where": place, "kind": kind, "name": str(link.get("name") or kind)})
    return found


def _other(typed: Mapping[str, str]) -> _Other:
    key = next(one for one in TABLES["surroundings"].keys if one.name == "ambient")
    bounds: dict[str, dict[str, Any]] = {
        "supply": {"unit": "V", "above": 0.0, "most": MOST_SUPPLY_V},
        "air": {"unit": "degC", "least": key.least, "most": key.most},
    }
    found: dict[str, float] = {}
    wrong: dict[str, str] = {}
    for name, bound in bounds.items():
        text = typed.get(name, "").strip()
        if not text:
            continue
        try:
            found[name] = measured(
                name, text, bound["unit"], **{key: value for key, value in bound.items() if key != "unit"}
            )
        except LoadworthyError as error:
            wrong[name] = f"{error.message} {error.way_out or ''}".strip()
    return _Other(supply_v=found.get("supply"), ambient_degc=found.get("air"), wrong=wrong)


def _what_if(board: Board, supply_v: float) -> dict[str, Any]:
    told = what_if(board, supply_v).as_json()
    return {"table": table_view(what_if_rows(told), WHAT_IF_COLUMNS), "warnings": told["warnings"]}


def _outputs(
    raw: Mapping[str, Any],
    paths: Sequence[PathView],
    lines: Mapping[str, Any],
    at: int,
    told: Sequence[Mapping[str, Any]] = (),
) -> list[dict[str, Any]]:
    """Make every output ready to be shown, one of them open at least."""
    rows = rows_of(raw, "output")
    failing = [number for number, path in enumerate(paths, 1) if path.verdict != "carries"]
    first = at or (failing[0] if failing else 1)
    return [
        {
            "number": number,
            "where": f"output[{number}]",
            "path": path,
            "weakest": (lines.get(path.output) or {}).get("weakest"),
            "told": told[number - 1]["lines"] if told else [],
            "freewheel": bool(rows[number - 1].get("freewheel")),
            "inductive": (rows[number - 1].get("load") or {}).get("kind") == "inductive",
            "open": number == first or len(paths) <= 2,
        }
        for number, path in enumerate(paths, 1)
    ]


def _parts(raw: Mapping[str, Any]) -> dict[str, dict[str, str]]:
    """Say which links name a part of a family that can be ordered."""
    found = {}
    for group in ("section", "output"):
        for number, row in enumerate(rows_of(raw, group), 1):
            for place, link in enumerate(rows_of(row, "link"), 1):
                if isinstance(link.get("part"), str) and link.get("kind") in STAYS:
                    where = f"{group}[{number}].link[{place}]"
                    found[where] = {
                        "family": str(link["kind"]),
                        "part": link["part"],
                        "maker": str(link.get("maker") or ""),
                    }
    return found


def _last(raw: Mapping[str, Any]) -> set[str]:
    """Say which links are the last of their section or output."""
    counts = {
        f"{group}[{number}]": len(rows_of(row, "link"))
        for group in ("section", "output")
        for number, row in enumerate(rows_of(raw, group), 1)
    }
    return {f"{where}.link[{count}]" for where, count in counts.items()}


def choice_shown(mended: Mended) -> dict[str, Any]:
    """Return what the page of one replacement shows: the parts that fit, and what the first makes of the board."""
    told = mended.as_json()["mended"]
    one, selection = told["replacements"][-1], mended.replacements[-1].selection
    found: dict[str, Any] = {
        "one": one,
        "said": list(said_of(one)),
        "advice": one["advice"],
        "drive": one["asked"].get("drive", ""),
        "after": next_weakest(told["audit"]),
        "changed": mended.after.board != mended.before.board,
        "chosen": False,
    }
    if selection is None:
        return found
    view = chosen_view(selection.as_json(), criteria_of(one["kind"]))
    return found | view | {"chosen": True, "cautions": as_fields(view["cautions"])}


def mended_shown(mended: Mended) -> dict[str, Any]:
    """Return what the page of all replacements shows: what is done about each link, and the board with it done."""
    told = mended.as_json()["mended"]
    return {
        "done": [{**one, "said": list(said_of(one))} for one in told["replacements"]],
        "after": next_weakest(told["audit"]),
        "view": board_view(told["audit"]),
        "changed": mended.after.board != mended.before.board,
    }
