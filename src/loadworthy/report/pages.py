"""A report as one page that needs nothing else, and the pictures and parts that pages on this computer share."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, TypeAlias

from jinja2 import Environment
from markupsafe import Markup

from loadworthy import criteria
from loadworthy.criteria import Rules
from loadworthy.quantities import show
from loadworthy.report import audits, benches, choices, explanations, html, mendings, plans
from loadworthy.report.paths import BARS, path_views

__all__ = [
    "Drawing",
    "bench_drawing",
    "bench_view",
    "board_view",
    "card_view",
    "choice_drawings",
    "choice_view",
    "chosen_view",
    "explained_view",
    "measured_drawing",
    "plan_view",
    "report_page",
]


_Rows: TypeAlias = "list[dict[str, Any]]"


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A picture, and what stands below it."""

    svg: str
    caption: str


def choice_drawings(study: Mapping[str, Any], *, ident: str) -> list[Drawing]:
    """Draw what there is to see of a choice: parts over current, one of them over ambient, what was measured.

    Parameters
    ----------
    study
        The study as JSON says it, see :class:`loadworthy.dossier.ChoiceStudy`.
    ident
        What the pictures' ids begin with; one of its own on each page.
    """
    from loadworthy.report import pictures  # noqa: PLC0415 - plotting takes long to start

    drawn = []
    curves, derating = study["curves"], study["derating"]
    if curves is not None and curves["curves"]:
        drawn.append(
            Drawing(
                svg=pictures.operating_picture(curves, ident=f"{ident}-current"),
                caption=(
                    f"Heat and junction temperature over current, in air of {show(curves['ambient_degc'], 'degC')}. "
                    "The upright line is the current that is needed; a cross says where a part runs away: beyond it, "
                    "it heats itself until it fails."
                ),
            )
        )
    if derating is not None:
        drawn.append(
            Drawing(
                svg=pictures.derating_picture(derating, ident=f"{ident}-ambient"),
                caption="What the first of them may carry in colder and warmer air; the mark is where it is to work.",
            )
        )
    if study["measured"]:
        drawn.append(measured_drawing(study["measured"], ident=f"{ident}-measured"))
    return drawn


def measured_drawing(findings: Sequence[Mapping[str, Any]], *, ident: str) -> Drawing:
    """Draw what was measured against what is claimed."""
    from loadworthy.report import pictures  # noqa: PLC0415 - as above

    return Drawing(
        svg=pictures.measured_picture(findings, ident=ident),
        caption="Each bar is where the figure lies, with its uncertainty (k = 2); the band is what is claimed.",
    )


def choice_view(study: Mapping[str, Any], *, ident: str) -> dict[str, Any]:
    """Make a choice ready to be shown: tables, pictures and arithmetic.

    Parameters
    ----------
    study
        The study as JSON says it.
    ident
        What its pictures' ids begin with.
    """
    chosen, explained = study["choice"], study["explained"]
    return {
        "kind": "choice",
        "title": study["title"],
        **chosen_view(chosen, criteria.load(study["family"])),
        "drawings": choice_drawings(study, ident=ident),
        "curves_left_out": [] if study["curves"] is None else study["curves"].get("left_out", []),
        "derating_assumed": [] if study["derating"] is None else study["derating"].get("assumed", []),
        "explained": None if explained is None else explained_view(explained),
    }


def chosen_view(chosen: Mapping[str, Any], rules: Rules, *, order: Callable[[_Rows], _Rows] = list) -> dict[str, Any]:
    """Make the tables of a choice: the parts that fit, the near misses, what stopped the rest.

    Parameters
    ----------
    chosen
        The choice as JSON says it.
    rules
        What its family is judged by.
    order
        Puts the parts that fit into another order than their rank's.
    """
    rows = order(choices.ranked_rows(chosen["ranked"]))
    misses = choices.miss_rows(chosen["near_misses"])
    counts = chosen["counts"]
    stopped = choices.stopped_rows(counts, titles=rules.titles) if counts is not None else []
    return {
        "need": choices.need_text(chosen["need"]),
        "counts": counts,
        "ranked": html.table_view(rows, choices.by_weight(choices.ranked_columns(rows, rules.headings)), notes="notes"),
        "misses": html.table_view(misses, choices.miss_columns(misses), notes="notes"),
        "stopped": html.table_view(stopped, choices.STOPPED_COLUMNS),
        "cautions": chosen["cautions"],
    }


def explained_view(explained: Mapping[str, Any]) -> dict[str, Any]:
    """Make one part against a need ready to be shown."""
    return {
        "answer": explanations.answer_text(explained),
        "criteria": html.table_view(explanations.criterion_rows(explained), explanations.CRITERION_COLUMNS),
        "asks": [explanations.asks_text(line) for line in explained["criteria"]],
        "listed": explanations.listed_text(explained["listed"]) if explained["listed"] else "",
        "formulas": explained["formulas"],
        "assumed": explained["assumed"],
        "remarks": explained["remarks"],
    }


def board_view(audit: Mapping[str, Any]) -> dict[str, Any]:
    """Make an audit ready to be shown: paths, links, outputs, protection and the card for the lid.

    Parameters
    ----------
    audit
        The audit as JSON says it.
    """
    links = [{**row, "letters": row["remarks"]} for row in audits.link_rows(audit["links"])]
    return {
        "opening": audits.opening_text(audit),
        "verdict": audit["verdict"],
        "bare": audits.bare_outputs(audit),
        "paths": path_views(audit),
        "bars": BARS,
        "links": html.table_view(links, (*audits.LINK_COLUMNS, audits.LETTERS), notes="letters"),
        "holds_for": audits.HOLDS_FOR,
        "why": [audits.link_why(line) for line in audit["links"]],
        "outputs": [
            {"name": one["output"], "verdict": one["verdict"], "lines": list(audits.output_lines(one))}
            for one in audit["outputs"]
        ],
        "together": audits.together_text(audit),
        "protection": [_protected(one) for one in audit["protection"]],
        "assumed": audit["assumed"],
        "cautions": audit["cautions"],
        "card": card_view(audit),
    }


def _protected(one: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "output": one["output"],
        "covered": audits.covered_text(one),
        "opens": [audits.opens_text(fuse) for fuse in one["fuses"]],
        "warnings": one["warnings"],
        "assumed": one["assumed"],
    }


def card_view(audit: Mapping[str, Any]) -> dict[str, Any]:
    """Make the card for the lid: what each output can feed at most, and which fuses are in.

    Parameters
    ----------
    audit
        The audit as JSON says it.
    """
    supply, air = audit["supply"], audit["surroundings"]
    fuses = [line for line in audit["links"] if line["kind"] == "fuse"]
    return {
        "title": audit["title"],
        "supply": f"{show(supply['voltage_v'], 'V')}, air up to {show(air['ambient_degc'], 'degC')}",
        "rows": [
            {"output": one["output"], **{name: _most(one[name]) for name in ("alone", "together")}}
            for one in audit["outputs"]
        ],
        "fuses": [" ".join(word for word in (f"{one['of']}: {one['link']}", one["part"]) if word) for one in fuses],
        "carries": audit["verdict"] == "carries",
    }


def _most(bound: Mapping[str, Any]) -> dict[str, str]:
    """Write the greatest load of an output; a current of nothing is a limit too, not a gap."""
    current = bound["current_a"]
    if current is None:
        return {"current": "not known", "least": "–", "cold": "–", "power": "–", "by": "–"}
    if current == 0.0:
        return {"current": "nothing", "least": "–", "cold": "–", "power": "0 W", "by": bound["stopped_by"] or "–"}
    cold = bound["least_cold_ohm"]
    return {
        "current": show(current, "A"),
        "least": show(bound["least_resistance_ohm"], "ohm"),
        "cold": "–" if cold is None else show(cold, "ohm"),
        "power": show(bound["greatest_power_w"], "W"),
        "by": bound["stopped_by"] or "–",
    }


def plan_view(plan: Mapping[str, Any], **words: str) -> dict[str, Any]:
    """Make a buying plan ready to be shown.

    Parameters
    ----------
    plan
        The plan as JSON says it.
    words
        As of :func:`loadworthy.report.plans.opening`.
    """
    return {
        "title": plan["title"],
        "opening": plans.opening(plan, **words),
        "suppliers": [
            {
                "name": one["supplier"],
                "table": html.table_view(
                    plans.purchase_rows(one, plan["currency"]), (*plans.COLUMNS, plans.NOTES), notes="notes"
                ),
                "sums": plans.sums_text(one, plan),
            }
            for one in plan["suppliers"]
        ],
        "sections": [(heading.rstrip(":"), lines) for heading, lines in plans.beside(plan) if lines],
        "cautions": plan["cautions"],
    }


def bench_view(result: Mapping[str, Any], *, ident: str, draw: bool = True) -> dict[str, Any]:
    """Make a measurement ready to be shown.

    Parameters
    ----------
    result
        The measurement as JSON says it.
    ident
        What its picture's ids begin with.
    draw
        Whether its picture is drawn at once.
    """
    several = len(result["samples"]) > 1
    spread = result["spread"]
    return {
        "title": "Measured: " + ("a load" if result["part"] is None else str(result["part"]["part_number"])),
        "opening": benches.opening(result),
        "table": html.table_view(
            benches.finding_rows(result),
            (*((benches.SAMPLE,) if several else ()), *benches.FINDING_COLUMNS, benches.LETTERS),
            notes="letters",
        ),
        "drawing": bench_drawing(result, ident=ident) if draw else None,
        "spread": html.table_view(benches.spread_rows(spread), benches.SPREAD_COLUMNS) if spread else None,
        "sections": [(heading, lines) for heading, lines in benches.sections(result) if lines],
        "cautions": result["cautions"],
    }


def bench_drawing(result: Mapping[str, Any], *, ident: str) -> Drawing | None:
    """Draw what was measured; None where it was only looked at."""
    several = len(result["samples"]) > 1
    findings = [
        {**finding, **({"sample": sample["sample"]} if several else {})}
        for sample in result["samples"]
        for finding in sample["findings"]
    ]
    return measured_drawing(findings, ident=ident) if any(one["unit"] for one in findings) else None


def report_page(sections: Sequence[tuple[str, Mapping[str, Any]]], *, title: str, made_on: date) -> str:
    """Write a report: one page of HTML that needs nothing else.

    Parameters
    ----------
    sections
        What it shows in order: ``("board", BoardStudy)``, ``("choice", ChoiceStudy)``, ``("order", OrderStudy)`` or
        ``("bench", BenchResult)``, each as JSON says it.
    title
        What stands above it.
    made_on
        The day it is made, for the cards.
    """
    views = [_section(kind, told, f"s{number}") for number, (kind, told) in enumerate(sections, 1)]
    for view in views:
        _say_once(view, set())
    return (
        _templates()
        .get_template("report.html.jinja")
        .render(
            title=title,
            made_on=made_on.isoformat(),
            sections=views,
            style=Markup(html.style()),  # noqa: S704 - our own file
        )
    )


def _section(kind: str, told: Mapping[str, Any], ident: str) -> dict[str, Any]:
    if kind == "choice":
        return choice_view(told, ident=ident)
    if kind == "bench":
        return {"kind": "bench", **bench_view(told, ident=f"{ident}-measured")}
    inner = [choice_view(one, ident=f"{ident}-{number}") for number, one in enumerate(told["choices"], 1)]
    if kind == "order":
        return {"kind": "order", **plan_view(told["plan"]), "choices": inner}
    board = told["board"]
    view = {"kind": "board", "title": board["title"], "now": board_view(board), "then": None, "choices": inner}
    if "mended" in board:
        after = board["mended"]["audit"]
        view |= {
            "then": board_view(after),
            "done": [
                {"link": one["link"], "why": one["why"], "said": list(mendings.said_of(one))}
                for one in board["mended"]["replacements"]
            ],
            "next_weakest": mendings.next_weakest(after),
        }
    return view


def _say_once(view: dict[str, Any], said: set[str]) -> None:
    """Leave out cautions that stand above in the same section: what is said too often is not read."""
    for one in (view, view.get("now") or {}, *view.get("choices", ()), view.get("then") or {}):
        if "cautions" in one:
            one["cautions"] = [text for text in one["cautions"] if text not in said]
            said.update(one["cautions"])


@cache
def _templates() -> Environment:
    return html.environment()
