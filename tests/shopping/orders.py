"""Orders written, and plans read back, in short."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


def lines(*wanted: tuple[str, int], top: str = "", terms: str = "") -> str:
    """Write an order of parts and quantities."""
    body = "".join(f'[[line]]\npart = "{part}"\nquantity = {quantity}\n' for part, quantity in wanted)
    return f'currency = "EUR"\n{top}\n{body}{terms}'


def bought(plan: dict[str, Any]) -> Sequence[tuple[str, str, int, float]]:
    """Return what is bought: supplier, part, pieces, amount."""
    return [
        (one["supplier"], each["part_number"], each["pieces"], each["amount"])
        for one in plan["suppliers"]
        for each in one["lines"]
    ]
