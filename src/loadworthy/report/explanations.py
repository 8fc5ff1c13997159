"""How one part against one need is told: each criterion, then the arithmetic with its numbers put in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from loadworthy.quantities import show
from loadworthy.report.choices import need_text, remedy_text, told
from loadworthy.report.columns import Column
from loadworthy.report.tables import table
from loadworthy.report.text import clean, paragraph

__all__ = [
    "CRITERION_COLUMNS",
    "answer_text",
    "asks_text",
    "criteria_text",
    "criterion_rows",
    "explanation_text",
    "formulas_text",
    "listed_text",
    "verdict_text",
]

CRITERION_COLUMNS: Final = (
    Column(name="verdict", heading="verdict"),
    Column(name="name", heading="criterion"),
    Column(name="symbol", heading="figure", weight=20),
    Column(name="value", heading="has", right=True),
    Column(name="limit", heading="needs", right=True),
    Column(name="margin", heading="margin", weight=10, right=True),
)


def explanation_text(explanation: Mapping[str, Any], *, width: int) -> str:
    """Tell an explanation to a person, in full.

    Parameters
    ----------
    explanation
        The explanation as JSON says it: ``need``, ``part``, ``fits``, ``criteria``, ``formulas``,
        ``assumed``, ``remarks``, ``remedy``, ``cautions``.
    width
        Characters a line.
    """
    remedy = remedy_text(explanation["remedy"])
    parts = [
        paragraph(need_text(explanation["need"]), width=width) + "\n",
        paragraph(answer_text(explanation), width=width) + "\n",
        criteria_text(explanation, width=width),
        told("What each asks, and why:", [asks_text(line) for line in explanation["criteria"]], width=width),
        paragraph(listed_text(explanation["listed"]), width=width) + "\n" if explanation["listed"] else "",
        formulas_text(explanation["formulas"], width=width),
        told("Assumed:", explanation["assumed"], width=width),
        told("Of this part:", explanation["remarks"], width=width),
        paragraph(f"A way out: {remedy}.", width=width) + "\n" if remedy else "",
        told("Mind:", explanation["cautions"], width=width),
    ]
    return "\n".join(part for part in parts if part)


def answer_text(explanation: Mapping[str, Any]) -> str:
    """Say in one sentence whether the part fits."""
    part = explanation["part"]
    named = " ".join(str(part[key]) for key in ("maker", "part_number") if part.get(key))
    package = f" in {part['package']}" if part.get("package") else ""
    return f"{named}{package} {verdict_text(explanation)}."


def verdict_text(explanation: Mapping[str, Any]) -> str:
    """Say whether the part fits; what is not known is no failure, and no proof either.

    Examples
    --------
    >>> gate = {"name": "gate", "verdict": "unknown", "accepted": False}
    >>> verdict_text({"fits": False, "criteria": [gate]})
    'is not shown to fit: not known is gate'
    >>> verdict_text({"fits": False, "criteria": [gate, {"name": "heat", "verdict": "fail", "accepted": False}]})
    'does not fit: it fails heat'
    >>> verdict_text({"fits": True, "criteria": [gate | {"accepted": True}]})
    'fits, if what was accepted unknown is good: gate'
    """
    lines = explanation["criteria"]
    accepted = [line["name"] for line in lines if line["accepted"]]
    if explanation["fits"]:
        return "fits" + (f", if what was accepted unknown is good: {', '.join(accepted)}" if accepted else "")
    failed = [line["name"] for line in lines if line["verdict"] == "fail"]
    if failed:
        return f"does not fit: it fails {', '.join(failed)}"
    unknown = [line["name"] for line in lines if line["verdict"] == "unknown" and not line["accepted"]]
    return f"is not shown to fit: not known is {', '.join(unknown)}"


def criteria_text(explanation: Mapping[str, Any], *, width: int) -> str:
    """Write the criteria as a table."""
    return table(criterion_rows(explanation), CRITERION_COLUMNS, width=width)


def criterion_rows(explanation: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one row a criterion, its figures written with their unit.

    A margin of a temperature is a difference, in kelvin.
    """
    return [
        {
            **line,
            "verdict": f"{line['verdict']}, accepted" if line["accepted"] else line["verdict"],
            "symbol": line["symbol"] or " ",
            "value": _measure(line["value"], line["unit"]),
            "limit": _limit(line),
            "margin": _measure(line["margin"], "K" if line["unit"] == "degC" else line["unit"]) or " ",
        }
        for line in explanation["criteria"]
    ]


def _limit(line: Mapping[str, Any]) -> str | None:
    limit = _measure(line["limit"], line["unit"])
    return f"{line['sense']} {limit}".strip() if limit else None


def _measure(value: object, unit: str | None) -> str | None:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return show(value, unit or "1")
    return None if value is None else clean(value)


def asks_text(line: Mapping[str, Any]) -> str:
    """Say what a criterion asks, where that is from, and what its verdict rests on."""
    assumed = f" Assumed: {'; '.join(line['assumed'])}." if line["assumed"] else ""
    return f"{line['name']} – {line['rule']}. Source: {line['source']}.{assumed}"


def listed_text(listed: Sequence[Mapping[str, Any]]) -> str:
    """Say at which gate voltages the lists give the on-resistance."""
    said = [f"{show(one['rds_on_ohm'], 'ohm')} {one['statistic']} at {show(one['vgs_v'], 'V')}" for one in listed]
    return f"On-resistance as listed, at 25 °C: {', '.join(said)}."


def formulas_text(formulas: Sequence[Mapping[str, Any]], *, width: int) -> str:
    """Write the arithmetic: the law, the law with its numbers, where it comes from."""
    if not formulas:
        return ""
    lines = ["The arithmetic:"]
    for formula in formulas:
        law = f"{formula['title']}: {formula['text']}"
        lines.append(paragraph(law, width=width, indent="- ", hanging="    "))
        lines.append(paragraph(formula["worked"], width=width, indent="    "))
        lines.append(paragraph(f"({formula['source']})", width=width, indent="    "))
    return "\n".join(lines) + "\n"
