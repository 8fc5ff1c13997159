"""Wire for a run there and back: its resistance, how warm it gets, what it takes of the supply."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from path_catalogs import Part, catalog_with, every_row, the_row

from loadworthy import WireNeed, choose, explain
from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs import cautions
from loadworthy.physics import conductors
from loadworthy.report.columns import Column
from loadworthy.report.figures import column_cells

RUN: dict[str, Any] = {"supply": "12V", "current": "8A", "length": "1m"}
CLASSES = {"solid": 2, "stranded": 2, "fine": 5}


def wire(part_number: str = "W", **other: Any) -> Part:
    """Return flexible 1.5 mm² in a PVC insulation, and what a test changes of it."""
    return {
        "part_key": f"Ahornfeld|{part_number}", "maker": "Ahornfeld", "part_number": part_number, "claims": 1,
        "area_m2": 1.5e-6, "strand": "fine", "material": "copper", "listed_ohm_per_m": 0.0133, "outer_m": 3.0e-3,
        "voltage_v": 300.0, "limit_degc": 70.0,
    } | other  # fmt: skip


class TestResistance:
    """By the metre at 20 °C: as listed, by IEC 60228, or by the area."""

    @pytest.mark.parametrize("strand", CLASSES)
    @pytest.mark.parametrize("area", conductors.IEC_60228_OHM_PER_M[5])
    def test_the_query_s_table_is_that_of_the_physics(self, strand: str, area: float) -> None:
        """Both state IEC 60228; solid wire has class 1, whose figures are those of class 2 (from memory)."""
        row = the_row(wire(listed_ohm_per_m=None, area_m2=area, strand=strand), WireNeed(**RUN))
        known = conductors.stranded_resistance_per_m(area_m2=area, conductor_class=CLASSES[strand])
        assert row["ohm_per_m"] == pytest.approx(known, rel=1e-12)
        assert row["assumed_table"]
        assert not row["assumed_by_area"]

    @pytest.mark.parametrize(
        ("mm2", "strand", "ohm_per_km"),
        [
            (0.5, "fine", 39.0), (0.75, "fine", 26.0), (1.0, "fine", 19.5), (1.5, "fine", 13.3), (2.5, "fine", 7.98),
            (4.0, "fine", 4.95), (6.0, "fine", 3.30), (0.5, "stranded", 36.0), (0.75, "stranded", 24.5),
            (1.0, "stranded", 18.1), (1.5, "stranded", 12.1), (2.5, "stranded", 7.41), (4.0, "stranded", 4.61),
            (6.0, "stranded", 3.08),
        ],
    )  # fmt: skip
    def test_standard_areas_have_the_standard_s_resistance(self, mm2: float, strand: str, ohm_per_km: float) -> None:
        """IEC 60228, plain copper at 20 °C; never worked out from the nominal area."""
        row = the_row(wire(listed_ohm_per_m=None, area_m2=mm2 * 1e-6, strand=strand), WireNeed(**RUN))
        assert row["ohm_per_m"] == pytest.approx(ohm_per_km * 1e-3, rel=1e-12)

    @pytest.mark.parametrize(("gauge", "ohm_per_km"), [(10, 3.28), (14, 8.28), (18, 20.94), (20, 33.29), (24, 84.20)])
    def test_gauges_have_the_resistance_of_their_area(self, gauge: int, ohm_per_km: float) -> None:
        """Published table of solid wire at 20 °C, within 0.1 %; the wire gauge is that of ASTM B258."""
        area = conductors.awg_area(gauge=gauge)
        row = the_row(wire(listed_ohm_per_m=None, area_m2=area, strand="solid"), WireNeed(**RUN))
        assert row["ohm_per_m"] == pytest.approx(ohm_per_km * 1e-3, rel=1.1e-3)
        assert row["gauge"] == str(gauge)
        assert row["assumed_by_area"]

    @pytest.mark.parametrize("gauge", range(-3, 41))
    def test_each_area_names_its_gauge(self, gauge: int) -> None:
        """4/0 to 40, as the formula of ASTM B258 has them."""
        row = the_row(wire(area_m2=conductors.awg_area(gauge=gauge)), WireNeed(**RUN))
        assert row["gauge"] == (f"{1 - gauge}/0" if gauge <= 0 else str(gauge))

    def test_what_the_list_gives_counts(self) -> None:
        """A listed resistance is neither replaced nor raised."""
        row = the_row(wire(listed_ohm_per_m=0.0140, material="clad"), WireNeed(**RUN))
        assert row["ohm_per_m"] == 0.0140
        assert not row["assumed_table"]
        assert not row["assumed_clad"]
        assert row["remark_clad"]

    def test_clad_aluminium_has_more(self) -> None:
        """1.6 times that of copper where the list gives none; the row says so twice."""
        need = WireNeed(**RUN | {"current": "4A"})
        (row,) = choose(catalog_with("wire", [wire(listed_ohm_per_m=None, material="clad")]), need).ranked
        assert row["ohm_per_m"] == pytest.approx(1.6 * 0.0133)
        assert "copper-clad aluminium: 1.6 × the resistance of copper" in row["assumed"]
        assert any("works loose" in remark for remark in row["remarks"])

    def test_what_is_not_said_is_assumed_on_the_safe_side(self) -> None:
        """An unknown strand counts as class 5, an unknown metal as copper."""
        row = the_row(wire(listed_ohm_per_m=None, strand=None, material=None), WireNeed(**RUN))
        assert row["ohm_per_m"] == pytest.approx(0.0133)
        assert row["assumed_class"]
        assert row["assumed_copper"]
        assert the_row(wire(listed_ohm_per_m=None, material="tinned"), WireNeed(**RUN))["assumed_tinned"]

    def test_without_area_and_resistance_nothing_is_known(self) -> None:
        """Neither heat nor drop is judged."""
        row = the_row(wire(listed_ohm_per_m=None, area_m2=None, outer_m=None), WireNeed(**RUN))
        assert (row["ok_heat"], row["ok_drop"], row["conduction_loss_w"]) == (None, None, None)


class TestHeatAndDrop:
    """The wire alone in still air, and what both conductors take."""

    def test_drop_is_taken_there_and_back_when_warm(self) -> None:
        """8 A through 2 × 1 m of 13.3 Ω/km: 213 mV at 20 °C (Ohm), and more at the wire's own temperature."""
        row = the_row(wire(), WireNeed(**RUN))
        warm = 1.0 + 0.00393 * (row["wire_degc"] - 20.0)
        assert row["drop_v"] == pytest.approx(8.0 * 0.0133 * 2.0 * warm, rel=1e-12)
        assert row["conduction_loss_w"] == pytest.approx(8.0 * row["drop_v"], rel=1e-12)
        assert row["wire_degc"] > 40.0

    def test_the_temperature_balances_heat(self) -> None:
        """What a metre makes at that temperature is what 10 W/(m²·K) carry off its surface."""
        row = the_row(wire(), WireNeed(**RUN))
        made = 8.0**2 * row["hot_ohm_per_m"]
        given_off = 10.0 * math.pi * 3.0e-3 * (row["wire_degc"] - 40.0)
        assert made == pytest.approx(given_off, rel=1e-9)

    def test_the_usual_drop_is_three_per_cent(self) -> None:
        """360 mV of 12 V; as a share or a voltage it is an option, but not both."""
        assert WireNeed(**RUN).parameters()["max_drop_v"] == pytest.approx(0.36)
        assert WireNeed(**RUN, max_drop="5%").parameters()["max_drop_v"] == pytest.approx(0.6)
        own = WireNeed(**RUN, max_drop_voltage="0.4V")
        assert own.parameters()["max_drop_v"] == 0.4
        assert "--max-drop-voltage" in own.limit_sources()["drop"]
        with pytest.raises(UsageError, match="twice"):
            WireNeed(**RUN, max_drop="5%", max_drop_voltage="0.4V")

    def test_a_longer_run_takes_more(self) -> None:
        """1 m does, 3 m do not."""
        assert the_row(wire(), WireNeed(**RUN))["ok_drop"] is True
        assert the_row(wire(), WireNeed(**RUN | {"length": "3m"}))["ok_drop"] is False

    def test_the_wire_stays_below_its_insulation_s_limit(self) -> None:
        """10 K below what it takes, by common practice; less care is said."""
        warm = wire(limit_degc=60.0)
        assert the_row(warm, WireNeed(**RUN))["ok_heat"] is False
        need = WireNeed(**RUN, heat_derating="5K")
        assert the_row(warm, need)["ok_heat"] is True
        assert any("--heat-derating" in caution for caution in need.cautions())

    def test_an_insulation_s_limit_that_is_not_listed_is_assumed(self) -> None:
        """70 °C, or what the need says."""
        row = the_row(wire(limit_degc=None), WireNeed(**RUN))
        assert (row["limit_allowed_degc"], row["assumed_limit"]) == (60.0, True)
        assert the_row(wire(limit_degc=None), WireNeed(**RUN, insulation_limit="105degC"))["limit_allowed_degc"] == 95.0

    def test_a_diameter_that_is_not_listed_is_the_conductor_and_its_insulation(self) -> None:
        """1.5 mm² are 1.382 mm across, and 1.6 mm come on top."""
        row = the_row(wire(outer_m=None), WireNeed(**RUN))
        assert row["outer_m"] == pytest.approx(1.3820e-3 + 1.6e-3, rel=1e-4)
        assert row["assumed_outer"]

    def test_a_wire_that_never_settles_runs_away(self) -> None:
        """60 A through 0.5 mm²."""
        told = explain(
            catalog_with("wire", [wire(area_m2=0.5e-6, listed_ohm_per_m=0.039, outer_m=2e-3)]),
            "W",
            WireNeed(**RUN | {"current": "60A"}),
        )
        heat = next(line for line in told.criteria if line.name == "heat")
        assert (heat.value, heat.verdict) == ("thermal runaway", "fail")


class TestKinds:
    """Strand, size, voltage, offers."""

    @pytest.mark.parametrize(
        ("asked", "verdicts"),
        [
            ("solid", [True, False, False, None]),
            ("stranded", [False, True, True, None]),
            ("fine", [False, False, True, None]),
        ],
    )
    def test_fine_counts_as_stranded(self, asked: str, verdicts: list[bool | None]) -> None:
        """Finely stranded is stranded, the other way round it is not."""
        parts = [wire(str(n), strand=strand) for n, strand in enumerate(("solid", "stranded", "fine", None))]
        rows = every_row(catalog_with("wire", parts), WireNeed(**RUN, strand=asked))
        assert [row["ok_strand"] for row in rows] == verdicts

    def test_sizes_are_bounded_where_a_terminal_bounds_them(self) -> None:
        """From 18 AWG to 2.5 mm²; a bound may be a gauge."""
        need = WireNeed(**RUN, min_area="18AWG", max_area="2.5mm2")
        assert {"least_size", "most_size"} <= set(need.asked())
        parts = [wire(str(n), area_m2=mm2 * 1e-6) for n, mm2 in enumerate((0.75, 1.5, 2.5, 4.0))]
        rows = every_row(catalog_with("wire", parts), need)
        assert [(row["ok_least_size"], row["ok_most_size"]) for row in rows] == [
            (False, True), (True, True), (True, True), (True, False),
        ]  # fmt: skip

    def test_the_insulation_is_rated_for_the_supply(self) -> None:
        """Unknown never passes."""
        verdicts = [the_row(wire(voltage_v=volts), WireNeed(**RUN))["ok_voltage"] for volts in (10.0, 12.0, None)]
        assert verdicts == [False, True, None]


class TestChoosing:
    """Ranking, counts, near misses, the arithmetic, what is said."""

    def test_the_least_copper_that_does_comes_first(self) -> None:
        """Thinner wire falls short, thicker wire costs more; of one size the lesser loss."""
        parts = [
            wire("thin", area_m2=0.5e-6, listed_ohm_per_m=0.039, outer_m=2.1e-3),
            wire("does", listed_ohm_per_m=0.0133),
            wire("better", listed_ohm_per_m=0.0125),
            wire("thick", area_m2=4e-6, listed_ohm_per_m=0.00495, outer_m=4.4e-3),
        ]
        chosen = choose(catalog_with("wire", parts), WireNeed(**RUN))
        assert [row["part_number"] for row in chosen.ranked] == ["better", "does", "thick"]
        assert chosen.counts is not None
        assert chosen.counts.stopped == {"voltage": 0, "heat": 1, "drop": 0}

    def test_a_near_miss_says_by_how_much(self) -> None:
        """One that takes too much of the supply, and nothing else."""
        (miss,) = choose(catalog_with("wire", [wire()]), WireNeed(**RUN | {"length": "2m"})).near_misses
        assert (miss["criterion"], miss["unit"]) == ("drop", "V")
        assert miss["has"] > miss["needs"] == pytest.approx(0.36)

    def test_a_reel_s_price_is_shown_by_the_metre(self) -> None:
        """29.50 for 100 m; without a reel's length nobody knows."""
        parts = [wire("reel", reel_m=100.0), wire("loose")]
        offers = [
            {"part_key": part["part_key"], "supplier": "Quayside", "currency": "EUR", "unit_price": 29.5, "stock": 3}
            for part in parts
        ]
        need = WireNeed(**RUN, in_stock=True, max_price="40 EUR")
        ranked = choose(catalog_with("wire", parts, offers=offers), need).ranked
        prices = {row["part_number"]: row["metre_price"] for row in ranked}
        assert prices == {"reel": pytest.approx(0.295), "loose": None}

    def test_areas_are_shown_in_square_millimetres(self) -> None:
        """The unit in the heading is that of the figures below it."""
        area = Column(name="area_m2", heading="cross-section", unit="m2", right=True)
        assert column_cells([{"area_m2": 1.5e-6}, {"area_m2": 2.5e-6}], area) == ("mm²", ["1.5", "2.5"])

    def test_explain_puts_the_numbers_in(self) -> None:
        """The balance of heat, the drop there and back."""
        told = explain(catalog_with("wire", [wire()]), "W", WireNeed(supply="12V", resistance="1.5ohm", length="1m"))
        assert told.fits
        worked = {line.title: line.worked for line in told.formulas}
        assert worked["current of the load"] == "8 A = 12 V / (1.5 Ω · (1 − 0))"
        assert "in air of 40 °C, 13.3 mΩ/m at 20 °C, 3 mm over the insulation" in worked["temperature of the wire"]
        assert worked["voltage drop there and back"].endswith("· 2 · 1 m")
        assert all(line.source for line in told.criteria)

    def test_codes_count_and_a_fuse_is_needed(self) -> None:
        """Always said."""
        said = WireNeed(**RUN).cautions()
        assert {cautions.AMPACITY_IS_LOCAL, cautions.WIRE_NEEDS_A_FUSE, cautions.LOW_VOLTAGE_ONLY} <= set(said)
        assert cautions.ABOVE_60_V in WireNeed(**RUN | {"supply": "72V"}).cautions()

    @pytest.mark.parametrize(
        ("wrong", "where"),
        [
            ({"strand": "flexible"}, "--strand"),
            ({"length": "0m"}, "--length"),
            ({"length": "3"}, "--length"),
            ({"min_area": "4mm2", "max_area": "1mm2"}, "--min-area"),
            ({"insulation_limit": "20degC"}, "--insulation-limit"),
            ({"max_drop": "80%"}, "--max-drop"),
        ],
    )
    def test_a_slip_is_told_with_its_option(self, wrong: dict[str, Any], where: str) -> None:
        """The option, and the way out."""
        with pytest.raises((UsageError, QuantityError)) as caught:
            WireNeed(**{**RUN, **wrong})
        assert where in str(caught.value)


# -- an oracle in plain Python on the physics package -----------------------------------------------------------


def maybe(known: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Let a figure be unknown."""
    return st.none() | known


areas = st.sampled_from(
    [0.5e-6, 0.75e-6, 0.755e-6, 1e-6, 1.3087e-6, 1.5e-6, 2.0809e-6, 2.5e-6, 4e-6, 10e-6, 16e-6, 25e-6]
)
wire_parts = st.fixed_dictionaries(
    {
        "area_m2": maybe(areas),
        "strand": maybe(st.sampled_from(["solid", "stranded", "fine"])),
        "material": maybe(st.sampled_from(["copper", "tinned", "clad"])),
        "listed_ohm_per_m": maybe(st.floats(1e-3, 0.2)),
        "outer_m": maybe(st.floats(1e-3, 8e-3)),
        "voltage_v": maybe(st.sampled_from([10.0, 60.0, 300.0])),
        "limit_degc": maybe(st.sampled_from([60.0, 70.0, 105.0])),
    }
)
wire_needs = st.fixed_dictionaries(
    {
        "current": st.sampled_from(["0.5A", "4A", "12A", "40A"]),
        "length": st.sampled_from(["0.3m", "2.5m", "20m"]),
        "ambient": st.sampled_from(["-20degC", "20degC", "40degC", "75degC"]),
    }
)


def by_the_metre(part: Part) -> float | None:
    """Return the resistance at 20 °C by the metre, with the physics package."""
    if part["listed_ohm_per_m"] is not None:
        return float(part["listed_ohm_per_m"])
    if part["area_m2"] is None:
        return None
    try:
        cold = conductors.stranded_resistance_per_m(
            area_m2=part["area_m2"], conductor_class=CLASSES.get(part["strand"] or "fine", 5)
        )
    except UsageError:
        cold = conductors.solid_resistance_per_m(area_m2=part["area_m2"])
    return float(cold) * (1.6 if part["material"] == "clad" else 1.0)


def judged(part: Part, ask: Mapping[str, Any]) -> dict[str, Any]:
    """Judge one wire with the physics package for every formula."""
    cold, across = by_the_metre(part), part["outer_m"]
    if across is None and part["area_m2"] is not None:
        across = math.sqrt(4.0 * part["area_m2"] / math.pi) + 1.6e-3
    volts, limit = part["voltage_v"], (part["limit_degc"] or 70.0) - 10.0
    found: dict[str, Any] = {
        "wire_degc": None, "drop_v": None, "conduction_loss_w": None, "ok_heat": None, "ok_drop": None,
        "ok_voltage": None if volts is None else volts >= ask["supply_v"],
    }  # fmt: skip
    if cold is None or across is None:
        return found
    warm = conductors.wire_temperature(
        current_a=ask["current_a"], ohm_per_m_20=cold, outer_diameter_m=across, ambient_degc=ask["ambient_degc"],
        film_w_per_m2_k=conductors.STILL_AIR_FILM_W_PER_M2_K,
    )  # fmt: skip
    if math.isnan(float(warm)):
        return found | {"ok_heat": False}
    ohms = 0.0
    if warm >= -200.0:
        ohms = conductors.conductor_resistance(ohm_per_m_20=cold, length_m=2.0 * ask["length_m"], degc=warm)
    drop = float(conductors.voltage_drop(current_a=ask["current_a"], resistance_ohm=ohms))
    return found | {
        "wire_degc": warm, "drop_v": drop, "conduction_loss_w": ask["current_a"] * drop,
        "ok_heat": warm <= limit, "ok_drop": drop <= ask["max_drop_v"],
    }  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(wire_parts, min_size=1, max_size=25), wire_needs)
def test_query_and_oracle_agree(made: list[Part], asked: dict[str, Any]) -> None:
    """Same figures to 1e-9 and same verdicts, over wires that lack whatever a list may lack."""
    need = WireNeed(supply="12V", **asked)
    parts = [{"part_key": f"{n:03}", "part_number": f"{n:03}", "claims": 1, **part} for n, part in enumerate(made)]
    for part, row in zip(parts, every_row(catalog_with("wire", parts), need), strict=True):
        expected = judged(part, need.parameters())
        for name, want in expected.items():
            close = pytest.approx(want, rel=1e-9) if isinstance(want, float) else want
            assert row[name] == close, (name, part)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(wire_parts, min_size=1, max_size=25), wire_needs)
def test_the_ranked_list_is_what_the_oracle_lets_pass(made: list[Part], asked: dict[str, Any]) -> None:
    """By area, then loss; and counts that add up."""
    need = WireNeed(supply="12V", **asked)
    parts = [{"part_key": f"{n:03}", "part_number": f"{n:03}", "claims": 1, **part} for n, part in enumerate(made)]
    told = [(part, judged(part, need.parameters())) for part in parts]
    fitting = [(part, one) for part, one in told if one["ok_heat"] and one["ok_drop"] and one["ok_voltage"]]
    chosen = choose(catalog_with("wire", parts), need, top=50)
    assert sorted(row["part_number"] for row in chosen.ranked) == sorted(part["part_number"] for part, _ in fitting)
    areas_ranked = [math.inf if row["area_m2"] is None else row["area_m2"] for row in chosen.ranked]
    assert areas_ranked == sorted(areas_ranked)
    counts = chosen.counts
    assert counts is not None
    assert counts.considered == len(parts)
    assert counts.fit == len(fitting)
