"""How a choice is told: the ranked parts, what stopped the rest, the nearest misses, and what to mind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from loadworthy.quantities import show, show_apart
from loadworthy.report.columns import HIDDEN, Column, Headings, columns_of, stem_of, unit_of
from loadworthy.report.tables import lettered, table
from loadworthy.report.text import clean, paragraph

__all__ = [
    "STOPPED_COLUMNS",
    "by_weight",
    "choice_text",
    "miss_columns",
    "miss_rows",
    "need_text",
    "price_text",
    "ranked_columns",
    "ranked_rows",
    "remedy_text",
    "stopped_rows",
    "stopped_text",
    "told",
]

STOPPED_COLUMNS: Final = (
    Column(name="criterion", heading="criterion"),
    Column(name="title", heading="which is about", weight=20),
    Column(name="stopped", heading="stopped", right=True),
    Column(name="unknown", heading="not known", right=True),
)
#: What stops a part of any family besides its criteria.
_OUR_TITLES: Final = {"measured": "a kept measurement outside what it claims"}
_MISS_COLUMNS: Final = (
    Column(name="part_number", heading="part number"),
    Column(name="maker", heading="maker", weight=30),
    Column(name="package", heading="package", weight=40),
    Column(name="criterion", heading="stopped by"),
    Column(name="has", heading="has", right=True),
    Column(name="needs", heading="needs", right=True),
    Column(name="remedy", heading="way out", weight=20),
    Column(name="notes", heading="notes"),
)
_MISS_KEYS: Final = frozenset(
    {
        "part_key",
        "maker",
        "part_number",
        "package",
        "criterion",
        "has",
        "needs",
        "unit",
        "sense",
        "assumed",
        "remarks",
        "note",
    }
)
#: Columns that say which part it is, not what it does.
_IDENTITY: Final = frozenset({"rank", "part_number", "maker", "package", "unit_price", "supplier", "notes"})


def choice_text(choice: Mapping[str, Any], *, titles: Mapping[str, str], headings: Headings, width: int) -> str:
    """Tell a choice to a person.

    Parameters
    ----------
    choice
        The choice as JSON says it: ``need``, ``counts``, ``ranked``, ``near_misses``, ``cautions``.
    titles
        Criterion → what it is about.
    headings
        How the family heads its figures.
    width
        Characters a line.
    """
    parts = [_opening(choice, width), _ranked(choice["ranked"], headings, width)]
    parts += [
        stopped_text(choice["counts"], titles=titles, width=width),
        _misses(choice["near_misses"], width),
    ]
    parts.append(told("Mind:", choice["cautions"], width=width))
    return "\n".join(part for part in parts if part)


def told(heading: str, lines: Sequence[str], *, width: int) -> str:
    """Write texts as a list under a heading; nothing where there are none."""
    if not lines:
        return ""
    return "\n".join([heading, *(paragraph(line, width=width, indent="- ") for line in lines)]) + "\n"


def _opening(choice: Mapping[str, Any], width: int) -> str:
    counts = choice["counts"]
    fit = f"{counts['fit']} of {counts['considered']} parts fit."
    return paragraph(need_text(choice["need"]), width=width) + "\n\n" + fit + "\n"


def need_text(need: Mapping[str, Any]) -> str:
    """Say in one sentence what is needed; what was not asked for is not said.

    Examples
    --------
    >>> need_text({"supply_v": 12.0, "pwm_hz": 0.0, "load": "resistive", "package": ["TO-220", "TO-252"]})
    'Need: supply 12 V, load resistive, package TO-220 or TO-252.'
    """
    said = [_entry(key, value) for key, value in need.items() if value not in (None, [], "", False, 0.0)]
    return f"Need: {', '.join(said)}."


def remedy_text(remedy: Mapping[str, float]) -> str:
    """Say what would make a part fit.

    Examples
    --------
    >>> remedy_text({"heatsink_needed_k_per_w": 57.5}), remedy_text({})
    ('heatsink needed 57.5 K/W or better', '')
    """
    return ", ".join(f"{_entry(key, value)} or better" for key, value in remedy.items())


def _entry(key: str, value: object) -> str:
    unit = unit_of(key)
    if unit and isinstance(value, (int, float)):
        return f"{stem_of(key).replace('_', ' ')} {show(value, unit)}"
    words = key.replace("_", " ")
    if isinstance(value, (list, tuple)):
        return f"{words} {' or '.join(clean(item) for item in value)}"
    if isinstance(value, float):
        return f"{words} {show(value, '1')}"
    return words if value is True else f"{words} {clean(value)}"


def ranked_rows(ranked: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Make ranked parts ready for people: the first offer in the row, the remarks as ``notes``."""
    return [{**row, **_offer(row.get("offers") or ()), "notes": _notes(row)} for row in ranked]


def _offer(offers: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    first = offers[0] if offers else {}
    return {"unit_price": price_text(first), "supplier": first.get("supplier")}


def price_text(offer: Mapping[str, Any]) -> str | None:
    """Write what one piece costs, and from how many up.

    Examples
    --------
    >>> price_text({"unit_price": 0.84, "currency": "EUR", "least_quantity": 10})
    '0.84 EUR from 10'
    >>> price_text({"unit_price": 0.0345, "currency": None}), price_text({})
    ('0.0345', None)
    """
    price = offer.get("unit_price")
    if price is None:
        return None
    whole, _, part = f"{price:.4f}".partition(".")
    figure = f"{whole}.{part.rstrip('0').ljust(2, '0')}"
    least = offer.get("least_quantity") or 1
    return " ".join([figure, offer.get("currency") or "", f"from {least}" if least > 1 else ""]).strip()


def _notes(row: Mapping[str, Any]) -> list[str]:
    notes = [f"assumed: {remark}" for remark in row.get("assumed") or ()]
    notes += row.get("remarks") or ()
    if row.get("differs"):
        notes.append(f"lists differ in {row['differs']}; the worse figure counts, else the first list")
    return notes


def ranked_columns(rows: Sequence[Mapping[str, Any]], headings: Headings) -> tuple[Column, ...]:
    """Pick the columns of ranked parts: the figures that have a heading, or all where none has one."""
    every = columns_of(rows, headings=headings, without=("offers", "part_key", "assumed", "remarks", "differs"))
    shown = tuple(column for column in every if column.weight < HIDDEN)
    return shown if any(column.name not in _IDENTITY for column in shown) else every


def by_weight(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Put columns in the order of their weight: where a table is wider than its place, what matters stands in sight."""
    return tuple(sorted(columns, key=lambda column: column.weight))


def _ranked(ranked: Sequence[Mapping[str, Any]], headings: Headings, width: int) -> str:
    if not ranked:
        return ""
    rows, remarks = lettered(ranked_rows(ranked), "notes")
    return table(rows, ranked_columns(rows, headings), width=width) + _below(remarks, width)


def stopped_text(counts: Mapping[str, Any], *, titles: Mapping[str, str], width: int) -> str:
    """Say which criterion stopped how many parts, in the need's order, and of how many it is not known."""
    rows = stopped_rows(counts, titles=titles)
    if not rows:
        return ""
    return "What stopped the rest, each part counted once:\n\n" + table(rows, STOPPED_COLUMNS, width=width)


def stopped_rows(counts: Mapping[str, Any], *, titles: Mapping[str, str]) -> list[dict[str, Any]]:
    """Make one row a criterion that stopped a part, or of which it is not known."""
    stopped: Mapping[str, int] = counts["stopped"]
    unknown: Mapping[str, int] = counts["unknown"]
    return [
        {
            "criterion": name,
            "title": titles.get(name) or _OUR_TITLES.get(name, " "),
            "stopped": stopped.get(name) or " ",
            "unknown": unknown.get(name) or " ",
        }
        for name in dict.fromkeys([*stopped, *unknown])
        if stopped.get(name) or unknown.get(name)
    ]


def _misses(misses: Sequence[Mapping[str, Any]], width: int) -> str:
    if not misses:
        return ""
    rows, remarks = lettered(miss_rows(misses), "notes")
    return "One step short:\n\n" + table(rows, miss_columns(rows), width=width) + _below(remarks, width)


def miss_rows(misses: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Make one row a near miss: what it has, what it needs, and what would make it fit."""
    return [
        {
            **miss,
            "has": miss["note"] or _measures(miss)[0],
            "needs": _measures(miss)[1],
            "remedy": _way_out(miss),
            "notes": miss.get("remarks") or [],
        }
        for miss in misses
    ]


def miss_columns(rows: Sequence[Mapping[str, Any]]) -> tuple[Column, ...]:
    """Pick the columns of near misses: those in which something stands."""
    without = {name for name in ("remedy", "notes") if all(row[name] in (" ", "", []) for row in rows)}
    return tuple(column for column in _MISS_COLUMNS if column.name not in without)


def _below(remarks: Sequence[tuple[str, str]], width: int) -> str:
    """Write what the letters in a table mean."""
    notes = "".join(paragraph(f"{letter}  {remark}", width=width, hanging="   ") + "\n" for letter, remark in remarks)
    return f"\n{notes}" if notes else ""


def _way_out(miss: Mapping[str, Any]) -> str:
    """Say what would make the part fit: the figures beside those that every miss has."""
    return remedy_text({key: value for key, value in miss.items() if key not in _MISS_KEYS}) or " "


def _measures(miss: Mapping[str, Any]) -> tuple[str | None, str | None]:
    """Write what a part has and what it needs, in as many digits as tell them apart."""
    has, needs, unit = miss["has"], miss["needs"], miss["unit"] or "1"
    if has is not None and needs is not None:
        return show_apart(has, needs, unit)
    return (None if has is None else show(has, unit)), (None if needs is None else show(needs, unit))
