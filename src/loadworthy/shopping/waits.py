"""How long until a part is sent, as lists and people write it."""

from __future__ import annotations

import math
import re
import tomllib
from functools import cache
from typing import Any, Final

from loadworthy import shipped

__all__ = ["knowledge", "read_wait"]

_WAIT: Final = re.compile(
    r"(?:about|approx\.?|ca\.?|circa|etwa|up to|bis zu|bis)?\s*(?P<least>\d+(?:[.,]\d+)?)\s*"
    r"(?:(?:-|–|to|bis)\s*(?P<most>\d+(?:[.,]\d+)?)\s*)?"
    r"(?P<unit>[^\W\d_]+(?: [^\W\d_]+)??)\.?(?:\s*(?:aro|ab bestellung))?"
)


@cache
def knowledge() -> dict[str, Any]:
    """Read what a buyer knows: ``catalog/shopping.toml``."""
    return tomllib.loads((shipped.catalog_dir() / "shopping.toml").read_text(encoding="utf-8"))


@cache
def read_wait(text: str | None) -> float | None:
    """Read a wait in days; of a range the longer counts.

    Returns
    -------
    float or None
        None where the text states none.

    Examples
    --------
    >>> read_wait("12 weeks"), read_wait("2–3 Wochen"), read_wait("5 Werktage"), read_wait("ab Lager")
    (84.0, 21.0, 7.0, 0.0)
    >>> read_wait("auf Anfrage"), read_wait(None)
    (None, None)
    """
    words = knowledge()["waits"]
    folded = " ".join((text or "").lower().split())
    if folded in words["at_once"]:
        return 0.0
    match = _WAIT.fullmatch(folded)
    if match is None:
        return None
    number = max(float(found.replace(",", ".")) for found in (match["least"], match["most"]) if found)
    unit = next((name for name, spellings in words["units"].items() if match["unit"] in spellings), None)
    return None if unit is None else float(math.ceil(number * words["days"][unit] - 1e-9))
