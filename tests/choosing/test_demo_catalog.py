"""The greenhouse's own catalogue: the query finds what a part-by-part judgement finds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from oracle import as_ranked, sorted_out

from loadworthy.catalog.store import Catalog
from loadworthy.needs import TransistorNeed
from loadworthy.selection import choose

BENCH = {"supply": "12V", "resistance": "1.6ohm", "drive": "5V", "ambient": "40degC"}


@pytest.fixture(scope="module")
def greenhouse(stocked: Path) -> Iterator[Catalog]:
    """Open the catalogue of all lists of the demo."""
    with Catalog.open(stocked) as catalog:
        assert len(catalog.rows("SELECT DISTINCT supplier FROM lists")) >= 4
        yield catalog


@pytest.mark.parametrize(
    "asked",
    [
        {"package": ("TO-220",)},
        {},
        {"drive": "3.3V"},
        {"channel": "p"},
        {"accept": ("drive", "gate", "current")},
        {"heatsink": "15K/W", "resistance": "0.8ohm"},
        {"supply": "24V", "resistance": "3.2ohm", "pwm": "1kHz", "load": "inductive", "duty": "70%"},
    ],
)
def test_the_demo_catalogue_by_brute_force(greenhouse: Catalog, asked: dict[str, Any]) -> None:
    """Every part of the demo's lists is judged alike by the query and by plain Python on the physics."""
    need = TransistorNeed(**{**BENCH, **asked})
    parts = greenhouse.parts("transistor").to_pylist()
    chosen = choose(greenhouse, need, top=len(parts), near=0)
    fitting, stopped, unknown = sorted_out(parts, need)
    assert as_ranked(chosen) == fitting
    assert fitting
    assert chosen.counts is not None
    assert dict(chosen.counts.stopped) == stopped
    assert dict(chosen.counts.unknown) == unknown
    assert chosen.counts.considered == len(parts)


def test_what_is_specified_at_six_volts_is_never_chosen_at_five(greenhouse: Catalog) -> None:
    """The lists hold parts that tempt: a low threshold, and on-resistance given at 6 V and 10 V only."""
    need = TransistorNeed(**BENCH)
    chosen = {row["part_number"] for row in choose(greenhouse, need, top=1000).ranked}
    tempting = [
        part
        for part in greenhouse.parts("transistor").to_pylist()
        if part["rds_from_v"] and part["rds_from_v"] > 5.0 and (part["vgs_th_max_v"] or 9.0) < 5.0
    ]
    assert len(tempting) > 5
    assert not chosen & {part["part_number"] for part in tempting}
