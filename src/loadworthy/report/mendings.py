"""How a board is told with what was chosen for it: as it is, what is done about each link, and as it is then."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

from loadworthy.quantities import show
from loadworthy.report.audits import links_text, loud_text, opening_text, outputs_text, protection_text
from loadworthy.report.choices import price_text, told
from loadworthy.report.columns import Column
from loadworthy.report.text import clean, paragraph

__all__ = ["REPLACEMENT_COLUMNS", "mended_text", "next_weakest", "replacement_rows", "said_of"]

REPLACEMENT_COLUMNS: Final = (
    Column(name="link", heading="link"),
    Column(name="why", heading="why"),
    Column(name="maker", heading="maker", weight=20),
    Column(name="part_number", heading="part number"),
    Column(name="price", heading="price", right=True, weight=10),
    Column(name="advice", heading="what else"),
)


def mended_text(result: Mapping[str, Any], *, typed: Callable[[Mapping[str, Any]], list[str]], width: int) -> str:
    """Tell a mended board to a person.

    Parameters
    ----------
    result
        The audit as JSON says it, with ``mended``.
    typed
        Writes a need as the options one would type.
    width
        Characters a line.
    """
    done, after = result["mended"]["replacements"], result["mended"]["audit"]
    parts = [
        paragraph(opening_text(result), width=width) + "\n",
        loud_text(result, width),
        "Every link as it is, the weakest first:\n\n" + links_text(result["links"], width),
        outputs_text(result, width),
        _done(done, typed, width),
        "With that in place:\n\n" + paragraph(opening_text(after), width=width) + "\n",
        loud_text(after, width),
        links_text(after["links"], width),
        paragraph(next_weakest(after), width=width) + "\n",
        outputs_text(after, width),
        protection_text(after["protection"], width),
        told("Assumed of the board:", after["assumed"], width=width),
        told("Mind:", after["cautions"], width=width),
    ]
    return "\n".join(part for part in parts if part)


def replacement_rows(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one flat row a replacement: which link, why, which part, its price, what else is to be done."""
    return [
        {
            "link": one["link"],
            "why": one["why"],
            "maker": (one["chosen"] or {}).get("maker"),
            "part_number": (one["chosen"] or {}).get("part_number"),
            "price": _price(one["chosen"]),
            "advice": " ".join(one["advice"]) or None,
        }
        for one in result["mended"]["replacements"]
    ]


def _price(chosen: Mapping[str, Any] | None) -> str | None:
    offers = (chosen or {}).get("offers") or ()
    return price_text(offers[0]) if offers else None


def _done(done: Sequence[Mapping[str, Any]], typed: Callable[[Mapping[str, Any]], list[str]], width: int) -> str:
    if not done:
        return "Nothing has to be replaced.\n"
    lines = ["What is done about it:"]
    for number, one in enumerate(done, 1):
        lines.append(paragraph(f"{number}. {one['link']} – {one['why']}.", width=width, hanging="   "))
        lines += [paragraph(text, width=width, indent="   ") for text in said_of(one)]
        if one["asked"]:
            command = shlex.join(["loadworthy", "choose", one["kind"], *typed(one["asked"])])
            lines.append(paragraph(f"$ {command}", width=width, indent="   ", hanging="       "))
    return "\n".join(lines) + "\n"


def said_of(one: Mapping[str, Any]) -> Iterator[str]:
    """Say what was chosen for a link, and what else is to be done about it."""
    chosen = one["chosen"]
    if chosen is not None:
        price = _price(chosen)
        offered = f", {price} from {clean(chosen['offers'][0]['supplier'])}" if price else ""
        more = f" Next: {', '.join(map(clean, one['next']))}." if one["next"] else ""
        yield (
            f"→ {clean(chosen['maker'] or '')} {clean(chosen['part_number'])}{offered}; "
            f"the first of {one['fit']} that fit, of {one['considered']}.{more}"
        ).replace("→  ", "→ ")
        said = [f"assumed: {text}" for text in chosen.get("assumed") or ()] + list(chosen.get("remarks") or ())
        if said:
            yield f"Of it: {'; '.join(said)}."
    yield from one["advice"]


def next_weakest(after: Mapping[str, Any]) -> str:
    """Say which link is the weakest now."""
    known = [link for link in after["links"] if link["used"] is not None]
    if not known:
        return ""
    weakest = max(known, key=lambda link: link["used"])
    must, may = show(weakest["current_a"], "A"), show(weakest["usable_a"], "A")
    stands = f"carries {must} of {may}" if weakest["used"] <= 1.0 else f"must carry {must} and may carry {may}"
    return f"Now the weakest: {weakest['of']}: {weakest['link']}, which {stands}."
