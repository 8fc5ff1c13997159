"""A choice told to a person."""

from __future__ import annotations

from typing import Any

import pytest

from loadworthy.report.choices import choice_text, price_text, ranked_columns

_MISS: dict[str, Any] = {
    "part_key": "k", "maker": "Fernhill", "part_number": "GH-9", "package": "TO-220", "criterion": "heat",
    "has": None, "needs": 125.0, "unit": "degC", "sense": "at most", "note": "thermal runaway", "assumed": [],
}  # fmt: skip


def _choice(**changes: Any) -> dict[str, Any]:
    empty = {"considered": 0, "fit": 0, "stopped": {}, "unknown": {}}
    return {
        "need": {"supply_v": 12.0},
        "counts": empty,
        "ranked": [],
        "near_misses": [],
        "cautions": [],
        **changes,
    }


def test_a_part_that_never_settles_is_told_in_words() -> None:
    """Where there is no junction temperature to print, the reason stands in its place."""
    text = choice_text(_choice(near_misses=[_MISS]), titles={}, headings={}, width=80)
    assert "thermal runaway" in text
    assert "125 °C" in text


def test_a_way_out_is_told_with_its_unit() -> None:
    """What would make the near miss fit, whatever figure it is."""
    miss = {**_MISS, "has": 130.0, "note": None, "heatsink_needed_k_per_w": 57.5}
    assert "heatsink needed 57.5 K/W or better" in choice_text(
        _choice(near_misses=[miss]), titles={}, headings={}, width=100
    )


def test_lists_that_differ_are_told_below_the_table() -> None:
    """Which figure they differ in, and that the worse one counted."""
    part = {
        "rank": 1,
        "part_number": "GH-1",
        "conduction_loss_w": 0.1,
        "assumed": [],
        "differs": "VDS",
        "offers": [],
    }
    text = choice_text(_choice(ranked=[part]), titles={}, headings={}, width=80)
    assert "a  lists differ in VDS; the worse figure counts, else the first list" in text


def test_unknowns_are_counted_beside_what_was_stopped() -> None:
    """A criterion that stopped nobody but is not known of some has its line."""
    counts = {"considered": 9, "fit": 1, "stopped": {"drive": 5, "gate": 0}, "unknown": {"gate": 3}}
    lines = choice_text(
        _choice(counts=counts), titles={"gate": "gate–source voltage"}, headings={}, width=80
    ).splitlines()
    heading, drive, gate = (next(line for line in lines if line.startswith(word)) for word in ("crit", "dr", "ga"))
    assert (drive.split(), gate.split()) == (["drive", "5"], ["gate", "gate–source", "voltage", "3"])
    assert len(drive) == heading.index("stopped") + len("stopped")
    assert len(gate) == len(heading)


def test_a_family_without_headings_shows_everything() -> None:
    """Nobody has said what matters of it yet, so nothing is held back."""
    rows = [{"rank": 1, "part_number": "FU-1", "hold_a": 5.0, "trip_a": 10.0, "unit_price": None}]
    assert {"hold_a", "trip_a"} <= {column.name for column in ranked_columns(rows, {})}


@pytest.mark.parametrize(
    ("offer", "text"),
    [
        ({"unit_price": 1.2, "currency": "EUR", "least_quantity": 1}, "1.20 EUR"),
        ({"unit_price": 0.0125, "currency": "USD", "least_quantity": 100}, "0.0125 USD from 100"),
        ({"unit_price": None, "currency": "EUR"}, None),
    ],
)
def test_a_price_keeps_its_cents_and_its_least_quantity(offer: dict[str, Any], text: str | None) -> None:
    """Cents always, further digits where the price has them."""
    assert price_text(offer) == text
