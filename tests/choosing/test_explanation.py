"""One part against one need, line by line."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import click
import pytest

from loadworthy.catalog import families
from loadworthy.catalog.schema import part_columns
from loadworthy.catalog.store import Catalog
from loadworthy.cli import main
from loadworthy.cli.needs import need_from
from loadworthy.errors import UsageError
from loadworthy.explanation import explain
from loadworthy.needs import NEEDS, Need, TransistorNeed
from loadworthy.report.choices import ranked_columns, ranked_rows
from loadworthy.report.explanations import explanation_text
from loadworthy.selection import choose

Make = Callable[..., Any]
NEED = TransistorNeed(supply="12V", resistance="1R6")
#: Figures of a query that are what a list gives under another name, or one of several that it gives.
_AS_LISTED = {"rds_on_vgs_v", "id_a", "wire_most_m2", "rating_v", "fault_a", "forward_v", "forward_at_a"}


def test_every_criterion_has_value_limit_margin_and_source(catalog_of: Make, part: Make) -> None:
    """A part for 15 V misses 1.5 × 12 V by 3 V, and the line says where the 1.5 comes from."""
    answer = explain(catalog_of(part("A", vds_v=15.0)), "a", NEED)
    lines = {line.name: line for line in answer.criteria}
    assert list(lines) == list(NEED.asked())
    voltage = lines["voltage"]
    assert (voltage.value, voltage.limit, voltage.margin, voltage.unit, voltage.verdict) == (
        15.0,
        18.0,
        -3.0,
        "V",
        "fail",
    )
    assert "common practice" in voltage.source
    assert all(line.source for line in answer.criteria)
    assert not answer.fits


def test_formulas_come_with_their_numbers(catalog_of: Make, part: Make) -> None:
    """12 V on 1.6 Ω is 7.5 A; the arithmetic of a sink shows only where there is one."""
    answer = explain(catalog_of(part("A")), "A", NEED)
    worked = {line.title: line.worked for line in answer.formulas}
    assert worked["current of the load"] == "7.5 A = 12 V / (1.6 Ω · (1 − 0))"
    assert "thermal resistance through the sink" not in worked
    sunk = explain(catalog_of(part("A")), "A", TransistorNeed(supply="12V", resistance="1R6", heatsink="15K/W"))
    assert "18.5 K/W = 3 K/W + 0.5 K/W + 15 K/W" in [line.worked for line in sunk.formulas]


def test_a_part_that_runs_away_is_called_so(catalog_of: Make, part: Make) -> None:
    """There is no junction temperature to show, and no arithmetic that would pretend one."""
    answer = explain(catalog_of(part("A", rds={4.5: 0.2})), "A", NEED)
    heat = next(line for line in answer.criteria if line.name == "heat")
    assert (heat.value, heat.verdict, heat.margin) == ("thermal runaway", "fail", None)
    assert "junction temperature" not in [line.title for line in answer.formulas]


def test_what_heat_alone_stops_comes_with_a_sink(catalog_of: Make, part: Make) -> None:
    """The explanation names the sink; where something else fails as well it does not."""
    catalog = catalog_of(part("A", rds={4.5: 0.03}), part("B", rds={4.5: 0.03}, vds_v=15.0))
    assert explain(catalog, "A", NEED).remedy["heatsink_needed_k_per_w"] > 0
    assert not explain(catalog, "B", NEED).remedy


def test_assumptions_stand_beside_the_criterion_that_rests_on_them(catalog_of: Make, part: Make) -> None:
    """The package's still-air figure matters to heat, and not to voltage."""
    lines = {line.name: line for line in explain(catalog_of(part("A")), "A", NEED).criteria}
    assert "RθJA of the package, still air" in lines["heat"].assumed
    assert not lines["voltage"].assumed


def test_an_accepted_unknown_is_unknown_and_accepted(catalog_of: Make, part: Make) -> None:
    """The verdict stays unknown; the part fits with it."""
    need = TransistorNeed(supply="12V", resistance="1R6", accept=("gate",))
    answer = explain(catalog_of(part("A", vgs_max_v=None)), "A", need)
    gate = next(line for line in answer.criteria if line.name == "gate")
    assert (gate.verdict, gate.accepted, answer.fits) == ("unknown", True, True)


def test_what_is_not_known_is_called_neither_a_failure_nor_a_fit(catalog_of: Make, part: Make) -> None:
    """Whoever reads the first line alone learns what to look up in the data sheet."""
    catalog = catalog_of(part("A", vgs_max_v=None), part("B", vds_v=15.0, vgs_max_v=None))

    def first_line(name: str, **need: Any) -> str:
        asked = TransistorNeed(supply="12V", resistance="1R6", **need)
        text = explanation_text(explain(catalog, name, asked).as_json(), width=200)
        return next(line for line in text.splitlines() if line.split(" in ")[0].endswith(name))

    assert first_line("A").endswith("is not shown to fit: not known is gate.")
    assert first_line("B").endswith("does not fit: it fails voltage.")
    assert first_line("A", accept=("gate",)).endswith("fits, if what was accepted unknown is good: gate.")


def test_an_unknown_part_is_answered_with_close_ones(catalog_of: Make, part: Make) -> None:
    """A slip in the number is found out."""
    with pytest.raises(UsageError, match="GRN40N05"):
        explain(catalog_of(part("GRN40N05"), part("XYZ1")), "GRN40M05", NEED)


def test_nothing_close_says_where_to_look(catalog_of: Make, part: Make) -> None:
    """Not every part that is missing resembles another."""
    with pytest.raises(UsageError, match="loadworthy catalog"):
        explain(catalog_of(part("GRN40N05")), "Q", NEED)


def test_two_makers_with_one_number_are_told_apart(catalog_of: Make, part: Make) -> None:
    """The error names both, and the maker decides."""
    catalog = catalog_of(part("A", maker="Birch"), part("A", maker="Yew", vds_v=60.0))
    with pytest.raises(UsageError, match=r"Birch, Yew.*--maker"):
        explain(catalog, "A", NEED)
    assert explain(catalog, "A", NEED, maker="yew").part["vds_v"] == 60.0


def test_a_part_number_that_looks_like_sql_is_harmless(catalog_of: Make, part: Make) -> None:
    """It is a text that nothing equals."""
    catalog = catalog_of(part("A"))
    with pytest.raises(UsageError):
        explain(catalog, "'; DROP TABLE parts_transistor; --", NEED)
    assert explain(catalog, "A", NEED).fits


def test_json_is_plain(catalog_of: Make, part: Make) -> None:
    """Everything goes through strict JSON."""
    answer = json.loads(json.dumps(explain(catalog_of(part("A")), "A", NEED).as_json(), allow_nan=False))
    assert {
        "need",
        "part",
        "fits",
        "criteria",
        "listed",
        "remarks",
        "formulas",
        "assumed",
        "remedy",
        "cautions",
    } == set(answer)


def test_every_gate_voltage_that_the_lists_give_is_told(catalog_of: Make, part: Make) -> None:
    """The exact pairs stay beside the figure that counts: the reader sees what else is specified."""
    known = part("A", rds={2.5: 0.009, 4.5: 0.006, 10.0: 0.004}, rds_typ={4.5: 0.005})
    told = explain(catalog_of(known), "A", NEED).as_json()["listed"]
    assert [(one["statistic"], one["vgs_v"], one["rds_on_ohm"]) for one in told if one["statistic"] == "max"] == [
        ("max", 10.0, 0.004),
        ("max", 4.5, 0.006),
        ("max", 2.5, 0.009),
    ]


def test_an_offer_is_held_against_what_was_asked_of_it(catalog_of: Make, part: Make) -> None:
    """Supplier, stock and price stand beside one another, as asked and as nearest offered."""
    offers = [
        {"part_key": "Alder|A", "supplier": "Dear", "currency": "EUR", "unit_price": 3.0, "stock": 5},
        {"part_key": "Alder|A", "supplier": "Fair", "currency": "EUR", "unit_price": 1.5, "stock": 2},
    ]
    need = TransistorNeed(supply="12V", resistance="1R6", in_stock=True, max_price="2 EUR")
    answer = explain(catalog_of(part("A"), offers=offers), "A", need)
    (line,) = [one for one in answer.criteria if one.name == "offer"]
    assert (line.verdict, line.value, line.limit) == ("pass", "Fair: 1.50 EUR, 2 in stock", "in stock, at most 2 EUR")


def _asked(family: str) -> Iterator[Need]:
    """Make the needs of a family's examples."""
    for example in NEEDS[family].examples:
        choose_group: Any = main.get_command(click.Context(main), "choose")
        command = choose_group.get_command(click.Context(choose_group), family)
        typed = command.make_context(family, shlex.split(example), resilient_parsing=True).params
        yield need_from(NEEDS[family], {name: value for name, value in typed.items() if value not in (None, ())})


@pytest.mark.parametrize("family", list(NEEDS))
def test_every_figure_shown_is_listed_or_has_its_formula(stocked: Path, family: str) -> None:
    """What no list gives was worked out, and opens to a formula with its numbers."""
    held = {column.name for column in part_columns(families.load(family))}
    looked = 0
    with Catalog.open(stocked) as catalog:
        for need in _asked(family):
            ranked = choose(catalog, need, top=5, near=0, counting=False).ranked
            for row in ranked:
                answer = explain(catalog, row["part_number"], need, maker=row["maker"])
                worked = {name for line in answer.formulas for name in line.figures}
                shown = [one.name for one in ranked_columns(ranked_rows([row]), need.rules.headings) if one.unit]
                figures = {name for name in shown if row.get(name) is not None} - held - _AS_LISTED
                assert figures <= worked
                looked += len(figures)
    assert looked
