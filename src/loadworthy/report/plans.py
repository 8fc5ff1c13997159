"""How a buying plan is told: what to buy from whom, the totals, what it beat, and what one forgets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from loadworthy.quantities import show
from loadworthy.report.choices import price_text, told
from loadworthy.report.columns import Column
from loadworthy.report.tables import lettered, table
from loadworthy.report.text import clean, paragraph

__all__ = [
    "COLUMNS",
    "NOTES",
    "beside",
    "charge_rows",
    "file_rows",
    "flat_rows",
    "opening",
    "plan_text",
    "purchase_rows",
    "sections",
    "sums_text",
]

COLUMNS: Final = (
    Column(name="pieces", heading="pieces", right=True),
    Column(name="part_number", heading="part number"),
    Column(name="order_number", heading="order\nnumber", weight=10),
    Column(name="maker", heading="maker", weight=30),
    Column(name="packaging", heading="packaging", weight=20),
    Column(name="price", heading="each", right=True),
    Column(name="cost", heading="comes\nto", right=True),
    Column(name="for", heading="for", weight=5),
)
NOTES: Final = Column(name="notes", heading="notes")
_SHOWN: Final = (*COLUMNS, NOTES)
_SUMS: Final = (
    ("goods", "goods"),
    ("shipping", "shipping"),
    ("handling", "handling"),
    ("tax", "tax"),
    ("total", "total"),
)
_OVER: Final = {
    "break": "cheaper so than the pieces needed alone",
    "least": "fewer are not sold",
    "multiple": "sold in multiples only",
    "charges": "so that the order is worth what the terms ask",
}
_VERDICT: Final = {
    "planned": "everything can be had",
    "short": "not everything can be had",
    "impossible": "not everything can be had, so nothing is planned",
}


def plan_text(plan: Mapping[str, Any], *, width: int) -> str:
    """Tell a plan to a person.

    Parameters
    ----------
    plan
        The plan as JSON says it.
    width
        Characters a line.
    """
    parts = [paragraph(opening(plan), width=width) + "\n"]
    for one in plan["suppliers"]:
        rows, remarks = lettered(purchase_rows(one, plan["currency"]), "notes")
        notes = "".join(paragraph(f"{letter}  {said}", width=width, hanging="   ") + "\n" for letter, said in remarks)
        body = table(rows, _SHOWN, width=width) + (f"\n{notes}" if notes else "")
        parts.append(f"From {clean(one['supplier'])}:\n\n{body}\n{paragraph(sums_text(one, plan), width=width)}\n")
    parts += [told(heading, lines, width=width) for heading, lines in sections(plan)]
    return "\n".join(part for part in parts if part)


def opening(plan: Mapping[str, Any], *, longer: str = "give it longer with --time-limit") -> str:
    """Say in short what the plan comes to, and whether it is proven.

    Parameters
    ----------
    plan
        The plan as JSON says it.
    longer
        What to do about a plan for which the time was too short.
    """
    totals, currency = plan["totals"], plan["currency"]
    text = f"{plan['title']}: {_VERDICT[plan['verdict']]}."
    if plan["verdict"] == "impossible":
        return text
    parcels = "1 parcel" if totals["parcels"] == 1 else f"{totals['parcels']} parcels"
    text += f" {totals['total']:.2f} {currency} in all, in {parcels}"
    if plan["boards"] > 1:
        text += f"; {totals['per_board']:.2f} {currency} for each of {plan['boards']} boards"
    return f"{text}. {_proof(plan, longer)}"


def _proof(plan: Mapping[str, Any], longer: str) -> str:
    aim = {"cheapest": "cheaper", "fewest parcels": "with fewer parcels or cheaper", "soonest": "sooner or cheaper"}
    if plan["proven"]:
        return f"Proven: no plan from these offers is {aim[plan['aim']]}, but for half a cent a line."
    if plan["gap"] is None:
        return f"Not proven: the time was up; {longer}."
    gap = show(100.0 * plan["gap"], "1", 2)
    return f"Not proven: a plan could be up to {gap} % cheaper; {longer}."


def sums_text(one: Mapping[str, Any], plan: Mapping[str, Any]) -> str:
    """Write a supplier's sums; what is nothing is left out, but for the goods and the total."""
    said = []
    for key, word in _SUMS:
        if one[key] or key in ("goods", "total"):
            rate = f" ({show(100.0 * one['tax_rate'], '1')} %)" if key == "tax" and one["tax_rate"] else ""
            said.append(f"{word}{rate} {one[key]:.2f}")
    return f"{', '.join(said)} {plan['currency']}."


def purchase_rows(one: Mapping[str, Any], currency: str) -> list[dict[str, Any]]:
    """Make one row a purchase at one supplier, its remarks as ``notes``."""
    return [
        {
            **row,
            "price": price_text({"unit_price": row["unit_price"]}),
            "cost": f"{row['amount']:.2f}",
            "for": _lines(row),
            "notes": list(_notes(row, currency)),
        }
        for row in one["lines"]
    ]


def _lines(row: Mapping[str, Any]) -> str:
    if len(row["lines"]) == 1:
        return str(row["lines"][0]["line"])
    return ", ".join(f"{each['line']}: {each['pieces']}" for each in row["lines"])


def _notes(row: Mapping[str, Any], currency: str) -> Iterator[str]:
    if row["over"]:
        yield f"{row['over']['pieces']} more than needed: {_OVER[row['over']['why']]}"
    if row["listed_currency"] not in (None, currency):
        yield f"listed at {price_text({'unit_price': row['listed_price'], 'currency': row['listed_currency']})}"
    if row["fee"]:
        yield f"with {row['fee']:.2f} for its packaging"
    if row["least_loss_w"] and row["loss_w"] is not None and row["loss_w"] > row["least_loss_w"] * (1.0 + 1e-9):
        more = 100.0 * (row["loss_w"] / row["least_loss_w"] - 1.0)
        yield f"loses {show(row['loss_w'], 'W')}, {show(more, '1', 2)} % more than the best that can be bought"
    yield from row["notes"]
    yield from (_beaten(rival, row) for rival in row["beat"])


def _beaten(rival: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    """Say what one choice has over another.

    Examples
    --------
    >>> rival = {"supplier": "Rabenmoos", "part_number": "X", "goods": -0.42, "charges": 4.9, "total": 4.48}
    >>> _beaten({**rival, "parcels": 1}, {"part_number": "X", "supplier": "Tidemill"})
    '0.42 dearer than at Rabenmoos, saves a parcel of 4.90'
    """
    place = f"at {clean(rival['supplier'])}" if rival["supplier"] != row["supplier"] else "here"
    what = "" if rival["part_number"] == row["part_number"] else f"{clean(rival['part_number'])} "
    if rival["goods"] < -0.005:
        text = f"{-rival['goods']:.2f} dearer than {what}{place}"
        if rival["parcels"] > 0 and rival["charges"] > 0.0:
            return f"{text}, saves a parcel of {rival['charges']:.2f}"
        if rival["charges"] > 0.0:
            return f"{text}, saves {rival['charges']:.2f} of shipping and handling"
        return f"{text}, for the sake of what the plan is for"
    if rival["total"] < 0.005:
        return f"{what}{place} would do as well"
    return f"next best {what}{place}, {rival['total']:.2f} more in all"


def sections(plan: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    """Return what is told beside the purchases, and what to mind: heading → lines."""
    return [*beside(plan), ("Mind:", list(plan["cautions"]))]


def beside(plan: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    """Return what is told beside the purchases: heading → lines."""
    return [
        ("What cannot be had:", [_missing(line) for line in plan["lines"] if line["missing"]]),
        ("Held against simpler plans, without tax:", [_compared(one, plan) for one in plan["compared"]]),
        ("A second source:", [_second(line, plan) for line in plan["lines"] if line["second_source"]]),
        ("Easily forgotten, to tick:", [_tick(one) for one in plan["forgotten"]]),
        ("Assumed:", list(plan["assumed"])),
    ]


def _missing(line: Mapping[str, Any]) -> str:
    why = f" – {'; '.join(line['why'])}" if line["why"] else ""
    return f"{line['line']}: {line['missing']} of {line['pieces']} pieces of {line['asked']}{why}."


def _compared(one: Mapping[str, Any], plan: Mapping[str, Any]) -> str:
    parcels = "1 parcel" if one["parcels"] == 1 else f"{one['parcels']} parcels"
    apart = "the same" if abs(one["dearer"]) < 0.005 else f"{abs(one['dearer']):.2f} {_sense(one['dearer'])}"
    return f"{one['plan']}: {one['total']:.2f} {plan['currency']}, {parcels}; {apart}."


def _sense(dearer: float) -> str:
    return "dearer" if dearer > 0.0 else "cheaper"


def _second(line: Mapping[str, Any], plan: Mapping[str, Any]) -> str:
    second = line["second_source"]
    if second["part_number"] is None:
        return f"{line['line']}: none."
    price = price_text({"unit_price": second["unit_price"], "currency": plan["currency"]})
    maker = f" by {second['maker']}" if second["maker"] else ""
    return f"{line['line']}: {second['part_number']}{maker} at {second['supplier']}, {price} each."


def _tick(one: Mapping[str, Any]) -> str:
    count = f"{one['pieces']} × " if one["pieces"] else ""
    when = f", {one['when']}" if one["when"] else ""
    return f"[ ] {count}{one['what']} ({', '.join(one['lines'])}){when}. {one['reason']}"


def file_rows(plan: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one flat row a purchase for CSV and workbooks, and one for each line that gets too little."""
    rows = [
        {
            "supplier": row["supplier"],
            "order_number": row["order_number"],
            "part_number": row["part_number"],
            "maker": row["maker"],
            "family": row["family"],
            "package": row["package"],
            "packaging": row["packaging"],
            "pieces": row["pieces"],
            "needed": row["needed"],
            "unit_price": row["unit_price"],
            "amount": row["amount"],
            "currency": plan["currency"],
            "listed_price": row["listed_price"],
            "listed_currency": row["listed_currency"],
            "for": _lines(row),
            "wait_days": row["wait_days"],
            "dated": row["dated"],
            "missing": 0,
            "notes": list(_notes(row, plan["currency"])),
        }
        for one in plan["suppliers"]
        for row in one["lines"]
    ]
    keys = list(rows[0]) if rows else ["supplier", "part_number", "pieces", "needed", "for", "missing", "notes"]
    short = [line for line in plan["lines"] if line["missing"]]
    rows += [
        {
            **dict.fromkeys(keys),
            "needed": line["pieces"],
            "for": line["line"],
            "missing": line["missing"],
            "notes": line["why"],
        }
        for line in short
    ]
    return rows


def flat_rows(plan: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make the rows of one flat table: purchases, and what each supplier charges besides, so that amounts add up."""
    rows = file_rows(plan)
    keys = list(rows[0]) if rows else ["supplier", "for", "amount", "currency"]
    charges = [
        {
            **dict.fromkeys(keys),
            "supplier": one["supplier"],
            "for": words,
            "amount": one[key],
            "currency": plan["currency"],
            "missing": 0,
            "notes": [],
        }
        for one in plan["suppliers"]
        for key, words in _SUMS
        if key not in ("goods", "total") and one[key]
    ]
    return [*rows, *charges]


def charge_rows(plan: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one row a supplier with its sums, and one with the totals."""
    keys = [key for key, _ in _SUMS]
    rows: list[dict[str, Any]] = [
        {"supplier": one["supplier"], **{key: one[key] for key in keys}, "currency": plan["currency"]}
        for one in plan["suppliers"]
    ]
    return [*rows, {"supplier": "total", **{key: plan["totals"][key] for key in keys}, "currency": plan["currency"]}]
