"""Each criterion of a transistor: what passes, what fails, and what is not known."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from loadworthy.catalog import families
from loadworthy.explanation import explain
from loadworthy.needs import TransistorNeed
from loadworthy.selection import choose

LOAD = {"supply": "12V", "resistance": "1R6"}
OFFERS: list[dict[str, Any]] = [
    {"part_key": "Alder|A", "supplier": "Rowan Parts", "currency": "EUR", "unit_price": 1.0, "stock": 0},
    {"part_key": "Alder|A", "supplier": "Hazel & Co", "currency": "EUR", "unit_price": 3.0, "stock": 50},
]

CASES = [
    ("channel", {}, {}, "pass"),
    ("channel", {"channel": "p"}, {}, "fail"),
    ("channel", {"channel": None}, {}, "unknown"),
    ("package", {}, {"package": ("to220ab",)}, "pass"),
    ("package", {"package": "TO-247"}, {"package": ("TO-220", "DPAK")}, "fail"),
    ("package", {"package": None}, {"package": ("TO-220",)}, "unknown"),
    ("drive", {"rds": {4.5: 0.005}}, {"drive": "4.5V"}, "pass"),
    ("drive", {"rds": {4.5: 0.005}}, {"drive": "4.4V"}, "fail"),
    ("drive", {"rds": {}, "rds_typ": {4.5: 0.005}}, {}, "unknown"),
    ("drive", {"rds": {10.0: 0.004}, "rds_typ": {4.5: 0.005}}, {}, "unknown"),
    ("drive", {"rds": {}}, {}, "unknown"),
    # 4.6 V stands in the column of 5 V: a drive of 4.7 V finds it there, one of 4.55 V does not.
    ("drive", {"rds": {4.6: 0.005}}, {"drive": "4.7V"}, "pass"),
    ("drive", {"rds": {4.6: 0.005}}, {"drive": "4.55V"}, "fail"),
    # A divider of 1 kΩ and 10 kΩ leaves 4.545 V of 5 V.
    ("drive", {"rds": {4.5: 0.005}}, {"gate_series": "1kohm", "gate_pulldown": "10kohm"}, "pass"),
    ("drive", {"rds": {4.6: 0.005}}, {"gate_series": "1kohm", "gate_pulldown": "10kohm"}, "fail"),
    ("threshold", {"vgs_th_max_v": 5.0}, {}, "fail"),
    ("threshold", {"vgs_th_max_v": 4.9}, {}, "pass"),
    ("threshold", {"vgs_th_max_v": None}, {}, "pass"),
    ("threshold", {"vgs_th_max_v": None, "rds": {}}, {}, "unknown"),
    ("gate", {"vgs_max_v": 6.25}, {}, "pass"),
    ("gate", {"vgs_max_v": 6.2}, {}, "fail"),
    ("gate", {"vgs_max_v": None}, {}, "unknown"),
    ("gate", {"vgs_max_v": 6.2}, {"gate_margin": "1.2"}, "pass"),
    ("voltage", {"vds_v": 18.0}, {}, "pass"),
    ("voltage", {"vds_v": 15.0}, {}, "fail"),
    ("voltage", {"vds_v": None}, {}, "unknown"),
    ("voltage", {"vds_v": 20.0}, {"load": "inductive", "unclamped": True}, "fail"),
    ("voltage", {"vds_v": 20.0}, {"profile": "MIL-DTL-917"}, "fail"),
    ("voltage", {"vds_v": 24.0}, {"profile": "MIL-DTL-917"}, "pass"),
    # 1.1 × 30 V is 33 V, although floating point makes it a hair more.
    ("voltage", {"vds_v": 33.0}, {"supply": "30V", "voltage_margin": "1.1"}, "pass"),
    ("current", {"id_case_a": 9.375}, {}, "pass"),
    ("current", {"id_case_a": 9.3}, {}, "fail"),
    ("current", {"id_case_a": None}, {}, "unknown"),
    ("current", {"id_case_a": None, "id_case_hot_a": 9.5}, {}, "pass"),
    ("current", {"id_case_a": None, "id_case_hot_a": 9.0}, {}, "fail"),
    ("current", {"id_case_a": None, "id_ambient_a": 9.5}, {}, "pass"),
    # Less than needed in still air says nothing about the case.
    ("current", {"id_case_a": None, "id_ambient_a": 8.0}, {}, "unknown"),
    ("current", {"id_case_a": 12.0}, {"profile": "MIL-DTL-917"}, "fail"),
    ("current", {"id_case_a": 12.5}, {"profile": "MIL-DTL-917"}, "pass"),
    ("inrush", {"id_pulse_a": 120.0}, {"cold_resistance": "0.1ohm"}, "pass"),
    ("inrush", {"id_pulse_a": 119.0}, {"cold_resistance": "0.1ohm"}, "fail"),
    ("inrush", {}, {"cold_resistance": "0.1ohm"}, "unknown"),
    ("inrush", {}, {"cold_resistance": "0.24ohm"}, "pass"),
    # 7.5² × 0.017 Ω is 0.96 W cold, and more than 1 W hot: too much for leads.
    ("loss", {"rds": {4.5: 0.017}}, {}, "fail"),
    ("loss", {"rds": {4.5: 0.017}}, {"leaded_loss": "2W"}, "pass"),
    ("loss", {"rds": {4.5: 0.017}}, {"heatsink": "15K/W"}, "pass"),
    ("loss", {"rds": {4.5: 0.017}, "package": "TO-263"}, {}, "pass"),
    ("loss", {"rds": {4.5: 0.017}, "package": "TO-263"}, {"max_loss": "0.9W"}, "fail"),
    ("loss", {"rds": {4.5: 0.017}, "package": None, "rthja_k_per_w": 60.0}, {}, "unknown"),
    ("loss", {"package": None, "rthja_k_per_w": 60.0}, {}, "pass"),
    ("heat", {}, {}, "pass"),
    ("heat", {"rds": {4.5: 0.1}}, {}, "fail"),
    ("heat", {"package": None}, {}, "unknown"),
    ("heat", {"rds": {4.5: 0.02}, "package": "TO-263", "junction_max_degc": 150.0}, {}, "fail"),
    ("heat", {"rds": {4.5: 0.02}, "package": "TO-263"}, {"heatsink": "20K/W"}, "pass"),
    # Charge and gate resistance give the edges; without a charge and without times nothing does.
    ("heat", {}, {"pwm": "500Hz"}, "unknown"),
    ("heat", {"qgd_c": 10e-9}, {"pwm": "500Hz"}, "pass"),
    ("heat", {"qg_c": 30e-9}, {"pwm": "500Hz"}, "pass"),
    ("heat", {"qgd_c": 10e-9, "vgs_th_max_v": None}, {"pwm": "500Hz"}, "unknown"),
    ("heat", {"rise_s": 30e-9, "fall_s": 20e-9}, {"pwm": "500Hz"}, "pass"),
    ("heat", {"rise_s": 30e-9, "fall_s": 20e-9}, {"pwm": "5MHz", "load": "inductive"}, "fail"),
    ("offer", {}, {"in_stock": True}, "pass"),
    ("offer", {}, {"supplier": ("rowan parts",)}, "pass"),
    ("offer", {}, {"max_price": "1.50 EUR"}, "pass"),
    # One offer is cheap, another in stock, none is both.
    ("offer", {}, {"max_price": "1.50 EUR", "in_stock": True}, "fail"),
    ("offer", {}, {"supplier": ("Rowan Parts",), "in_stock": True}, "fail"),
    ("offer", {}, {"max_price": "1.50 USD"}, "unknown"),
    ("offer", {"part_key": "Alder|nobody sells it"}, {"in_stock": True}, "fail"),
]


@pytest.mark.parametrize(("criterion", "other", "asked", "verdict"), CASES)
def test_verdict_of_one_criterion(  # noqa: PLR0917 - pytest hands them over by name
    catalog_of: Callable[..., Any],
    part: Callable[..., Any],
    criterion: str,
    other: dict[str, Any],
    asked: dict[str, Any],
    verdict: str,
) -> None:
    """A criterion passes, fails or is unknown, and the ranked list and the counts say the same as explain."""
    catalog = catalog_of(part("A", **other), offers=OFFERS)
    need = TransistorNeed(**{**LOAD, **asked})
    explained = explain(catalog, "A", need)
    line = next(line for line in explained.criteria if line.name == criterion)
    assert line.verdict == verdict
    chosen = choose(catalog, need, near=0)
    assert bool(chosen.ranked) == explained.fits
    first_failed = next((one.name for one in explained.criteria if one.verdict == "fail"), None)
    assert [name for name, number in chosen.counts.stopped.items() if number] == [first_failed] * bool(first_failed)
    assert explained.fits or first_failed or chosen.counts.unknown


def test_unknown_passes_only_where_it_is_accepted(catalog_of: Callable[..., Any], part: Callable[..., Any]) -> None:
    """A part without a stated gate voltage is not chosen, is counted as unknown, and passes marked."""
    catalog = catalog_of(part("A", vgs_max_v=None))
    strict = choose(catalog, TransistorNeed(**LOAD))
    assert not strict.ranked
    assert strict.counts.unknown == {"gate": 1}
    assert any("--accept gate" in caution for caution in strict.cautions)
    lenient = choose(catalog, TransistorNeed(**LOAD, accept=("gate",)))
    assert [row["part_number"] for row in lenient.ranked] == ["A"]
    assert "gate–source voltage unknown, accepted" in lenient.ranked[0]["assumed"]


def test_accepting_an_unknown_never_lets_a_failure_pass(
    catalog_of: Callable[..., Any], part: Callable[..., Any]
) -> None:
    """What a list says, and says wrong for this need, stays out whatever is accepted."""
    names = ("channel", "drive", "threshold", "gate", "voltage", "current", "loss", "heat")
    parts = [
        part("channel", channel="p"),
        part("drive", rds={6.0: 0.005}),
        part("gate", vgs_max_v=6.0),
        part("voltage", vds_v=17.0),
        part("current", id_case_a=9.0),
        part("heat", rds={4.5: 0.1}),
    ]
    assert not choose(catalog_of(*parts), TransistorNeed(**LOAD, accept=names)).ranked


def test_typical_on_resistance_counts_only_where_the_drive_is_accepted(
    catalog_of: Callable[..., Any], part: Callable[..., Any]
) -> None:
    """The typical figure is then what the loss is worked out from, and the row says so."""
    catalog = catalog_of(part("A", rds={}, rds_typ={4.5: 0.005}))
    assert not choose(catalog, TransistorNeed(**LOAD)).ranked
    (row,) = choose(catalog, TransistorNeed(**LOAD, accept=("drive",))).ranked
    assert row["rds_on_ohm"] == 0.005
    assert row["rds_on_vgs_v"] is None
    assert "typical RDS(on), no maximum given" in row["assumed"]


def test_heat_that_is_accepted_unknown_is_taken_at_the_hottest_junction(
    catalog_of: Callable[..., Any], part: Callable[..., Any]
) -> None:
    """A part of unknown package loses what it loses at 125 °C: 7.5² × 5 mΩ × (398.15/298.15)^1.65."""
    catalog = catalog_of(part("A", package=None))
    (row,) = choose(catalog, TransistorNeed(**LOAD, accept=("heat", "loss"))).ranked
    assert row["conduction_loss_w"] == pytest.approx(7.5**2 * 0.005 * (398.15 / 298.15) ** 1.65, rel=0.01)
    assert "junction at its limit, heat unknown" in row["assumed"]


@pytest.mark.parametrize("drive", ["5V", "3.3V"])
def test_part_specified_at_6_v_and_10_v_never_passes_below(
    catalog_of: Callable[..., Any], part: Callable[..., Any], drive: str
) -> None:
    """A threshold of 3.5 V is no drive: on-resistance at 6 V (17 mΩ) and 10 V (13 mΩ) says nothing below 6 V.

    Source: figures of a 60 V part, read on its maker's own data page (VGS(th) 2.6/3/3.5 V).
    """
    fet = part("N", vds_v=60.0, rds={6.0: 0.017, 10.0: 0.013}, vgs_th_max_v=3.5, vgs_th_typ_v=3.0, vgs_th_min_v=2.6)
    need = TransistorNeed(supply="12V", current="2A", drive=drive)
    chosen = choose(catalog_of(fet), need)
    assert not chosen.ranked
    assert chosen.counts.stopped["drive"] == 1
    accepting = TransistorNeed(supply="12V", current="2A", drive=drive, accept=("drive", "threshold", "heat", "loss"))
    assert not choose(catalog_of(fet), accepting).ranked


def test_the_same_part_passes_at_6_v(catalog_of: Callable[..., Any], part: Callable[..., Any]) -> None:
    """At 6 V it is specified, and its 17 mΩ count (same source)."""
    fet = part("N", vds_v=60.0, rds={6.0: 0.017, 10.0: 0.013}, vgs_th_max_v=3.5)
    (row,) = choose(catalog_of(fet), TransistorNeed(supply="12V", current="2A", drive="6V")).ranked
    assert (row["rds_on_ohm"], row["rds_on_vgs_v"]) == (0.017, 6.0)


def test_typical_figures_are_named_where_the_need_looks_at_them(
    catalog_of: Callable[..., Any], part: Callable[..., Any]
) -> None:
    """Gate charge matters to a switched load, input capacitance to neither."""
    catalog = catalog_of(part("A", typical="Qg, Ciss", qg_c=30e-9))
    (steady,) = choose(catalog, TransistorNeed(**LOAD)).ranked
    assert not any("typical" in words for words in steady["assumed"])
    (switched,) = choose(catalog, TransistorNeed(**LOAD, pwm="500Hz")).ranked
    assert "Qg typical, no limit given" in switched["assumed"]


LEVELS = next(figure.levels.values for figure in families.load("transistor").figures if figure.levels)


@pytest.mark.parametrize("level", LEVELS)
def test_at_each_standard_drive_the_figure_of_that_level_counts(
    catalog_of: Callable[..., Any], part: Callable[..., Any], level: float
) -> None:
    """A maximum given at a level counts from that drive up, and not a hair below it."""
    known = part("A", rds={level: 0.004}, vgs_th_max_v=0.5)
    need = {"supply": "12V", "current": "2A", "gate_margin": "1"}
    at_level = explain(catalog_of(known), "A", TransistorNeed(**need, drive=f"{level}V"))
    below = explain(catalog_of(known), "A", TransistorNeed(**need, drive=f"{level - 0.05:g}V"))
    verdicts = [next(one.verdict for one in answer.criteria if one.name == "drive") for answer in (at_level, below)]
    assert verdicts == ["pass", "fail"]
    assert at_level.part["rds_on_ohm"] == 0.004
    assert at_level.part["rds_on_vgs_v"] == level
