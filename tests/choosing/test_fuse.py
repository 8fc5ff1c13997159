"""Fuses for a load: what each carries at its hottest, what opens it in the cold, what it breaks, what it takes."""

from __future__ import annotations

from typing import Any

import pytest
from fuse_oracle import judged_fuse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from path_catalogs import Part, catalog_with, every_row, points, the_row

from loadworthy import FuseNeed, choose, explain
from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs import cautions
from loadworthy.physics import fuses

LOAD: dict[str, Any] = {"supply": "12V", "current": "4A"}

#: Hold current of a resettable 30 V part, rated at 20 °C; source: its maker's data sheet.
HOLD = {
    -40.0: 7.25, -20.0: 6.50, 0.0: 5.75, 20.0: 5.00, 40.0: 4.15, 50.0: 3.85, 60.0: 3.40, 70.0: 3.05, 85.0: 2.60,
}  # fmt: skip
#: Continuous amperes of blade fuses by rating, in whole amperes; source: a maker's table, its 20 % margin inside.
BLADE = {
    10.0: {-40.0: 10, 0.0: 10, 20.0: 10, 65.0: 8, 85.0: 7, 110.0: 6, 125.0: 5},
    15.0: {-40.0: 15, 0.0: 15, 20.0: 14, 65.0: 12, 85.0: 11, 110.0: 9, 125.0: 8},
    20.0: {-40.0: 20, 0.0: 19, 20.0: 18, 65.0: 15, 85.0: 14, 110.0: 12, 125.0: 10},
    30.0: {-40.0: 30, 0.0: 29, 20.0: 27, 65.0: 23, 85.0: 21, 110.0: 18, 125.0: 15},
}


def resettable(part_number: str = "R", **other: Any) -> Part:
    """Return the resettable 30 V part of the data sheet, and what a test changes of it."""
    return {
        "part_key": f"Hollowmere|{part_number}", "maker": "Hollowmere", "part_number": part_number, "claims": 1,
        "package": "radial", "type": "resettable", "mounting": "wired",
        "hold_a": 5.0, "hold_curve": points(HOLD), "trip_a": 10.0, "voltage_v": 30.0, "most_fault_a": 40.0,
        "r_min_ohm": 0.010, "r1_max_ohm": 0.050, "limit_degc": 85.0,
    } | other  # fmt: skip


def melting(part_number: str = "M", **other: Any) -> Part:
    """Return a fuse of 10 A that opens once, and what a test changes of it."""
    return {
        "part_key": f"Weidengrund|{part_number}", "maker": "Weidengrund", "part_number": part_number, "claims": 1,
        "package": "5 x 20 mm", "type": "one-shot", "mounting": "holder", "class": "fast", "standard": "UL",
        "rating_a": 10.0, "voltage_dc_v": 60.0, "breaking_a": 100.0, "cold_ohm": 0.008, "limit_degc": 125.0,
    } | other  # fmt: skip


class TestWhatItCarries:
    """The load's current at the hottest air, for good."""

    @pytest.mark.parametrize(("degc", "amperes"), HOLD.items())
    def test_a_resettable_fuse_holds_what_its_table_says(self, degc: float, amperes: float) -> None:
        """At each temperature of the maker's table (data sheet of the 30 V part)."""
        row = the_row(resettable(), FuseNeed(**LOAD, ambient=f"{degc}degC", coldest="-40degC"))
        assert row["carries_a"] == pytest.approx(amperes, rel=1e-12)
        assert row["ok_carries"] == (amperes >= 4.0)

    def test_between_entries_it_is_read_linearly(self) -> None:
        """Half way from 5.00 A at 20 °C to 4.15 A at 40 °C."""
        assert the_row(resettable(), FuseNeed(**LOAD, ambient="30degC"))["carries_a"] == pytest.approx(4.575)

    def test_beyond_its_table_it_is_known_to_carry_less_and_never_enough(self) -> None:
        """At 85 °C it holds 2.60 A: at 100 °C surely no 3 A, and perhaps 2 A or perhaps not."""
        part = resettable(limit_degc=None)
        more = the_row(part, FuseNeed(supply="12V", current="3A", ambient="100degC"))
        assert (more["ok_carries"], more["has_carries"]) == (False, 2.60)
        less = the_row(part, FuseNeed(supply="12V", current="2A", ambient="100degC"))
        assert (less["ok_carries"], less["has_carries"]) == (None, None)

    def test_a_hold_current_alone_says_nothing_of_warm_air_but_that_it_is_no_more(self) -> None:
        """5 A at room temperature: unknown whether it holds 4 A at 40 °C, and sure that it does not hold 6 A."""
        part = resettable(hold_curve=None)
        assert the_row(part, FuseNeed(**LOAD))["ok_carries"] is None
        assert the_row(part, FuseNeed(supply="12V", current="6A"))["ok_carries"] is False
        room = the_row(part, FuseNeed(**LOAD, ambient="23degC"))
        assert (room["ok_carries"], room["assumed_room"]) == (True, True)

    def test_the_rating_is_a_point_of_a_table_that_has_none_near_room_temperature(self) -> None:
        """Hold 5.0 A and 3.4 A at 60 °C: linear from 23 °C on."""
        part = resettable(hold_curve=points({60.0: 3.4}))
        expected = 5.0 + (3.4 - 5.0) * (40.0 - 23.0) / (60.0 - 23.0)
        row = the_row(part, FuseNeed(**LOAD))
        assert row["carries_a"] == pytest.approx(expected, rel=1e-12)
        assert row["assumed_room"]

    @pytest.mark.parametrize(("standard", "share"), [("UL", 0.75), ("IEC", 1.0), (None, 0.75), ("blade", 0.75)])
    def test_a_rating_counts_by_its_standard(self, standard: str | None, share: float) -> None:
        """75 % of a UL-type, 100 % of an IEC-type rating (a fuse maker's comparison); 75 % where nobody says."""
        row = the_row(melting(standard=standard), FuseNeed(**LOAD))
        assert row["carries_a"] == pytest.approx(10.0 * share)
        assert bool(row["assumed_share"]) == (standard is None)
        assert bool(row["assumed_blade_share"]) == (standard == "blade")
        assert row["assumed_no_temperature"]

    @pytest.mark.parametrize("rating", BLADE)
    @pytest.mark.parametrize("column", ["rating_curve", "continuous_curve"])
    def test_a_blade_fuse_s_table_has_its_margin_inside(self, rating: float, column: str) -> None:
        """Its entries are what it carries, and 75 % is not taken again (a maker's table, whole amperes)."""
        part = melting(standard="blade", rating_a=rating, limit_degc=125.0, **{column: points(BLADE[rating])})
        for degc, amperes in BLADE[rating].items():
            need = FuseNeed(supply="12V", current="4A", ambient=f"{degc}degC", coldest="-40degC")
            row = the_row(part, need)
            assert row["carries_a"] == pytest.approx(amperes, rel=1e-12)
            assert row["remark_margin_inside"]
            assert not row["assumed_blade_share"]

    def test_a_table_of_ratings_still_takes_the_standard_s_share(self) -> None:
        """10 A at 25 °C, 8 A at 85 °C by UL: 75 % of what lies between."""
        part = melting(rating_curve=points({25.0: 10.0, 85.0: 8.0}), rating_a=None)
        row = the_row(part, FuseNeed(**LOAD, ambient="55degC"))
        assert row["carries_a"] == pytest.approx(0.75 * 9.0)
        assert not row["remark_margin_inside"]
        assert not row["assumed_no_temperature"]

    def test_a_size_that_is_a_blade_s_names_the_standard(self) -> None:
        """The list has no column for it; the row says what was made of the size."""
        row = the_row(melting(standard=None, package="Mini blade"), FuseNeed(**LOAD))
        assert (row["standard"], row["assumed_blade"]) == ("blade", True)

    def test_the_margin_is_an_option(self) -> None:
        """1.1 × 4 A is more than 4.15 A."""
        assert the_row(resettable(), FuseNeed(**LOAD))["ok_carries"]
        need = FuseNeed(**LOAD, carry_margin="1.1")
        assert not the_row(resettable(), need)["ok_carries"]
        assert "--carry-margin" in need.limit_sources()["carries"]

    def test_air_above_its_operating_temperature_stops_it(self) -> None:
        """A fuse for up to 85 °C does not do at 90 °C; where a list says nothing, 85 °C is assumed."""
        need = FuseNeed(supply="12V", current="1A", ambient="90degC")
        assert the_row(melting(limit_degc=85.0), need)["ok_warmth"] is False
        silent = the_row(melting(limit_degc=None), need)
        assert (silent["ok_warmth"], silent["assumed_limit_temperature"]) == (False, True)


class TestWhatOpensIt:
    """The current that surely opens it, in the coldest air, against the weakest link."""

    @pytest.mark.parametrize(
        ("standard", "factor", "within"),
        [("UL", 1.35, 3600.0), ("blade", 1.35, 600.0), ("IEC", 2.1, 1800.0), (None, 2.1, 3600.0)],
    )
    def test_a_fuse_opens_at_its_standard_s_multiple(self, standard: str | None, factor: float, within: float) -> None:
        """UL 248-14: 135 % within 1 h. From memory: ISO 8820-3 135 % in 10 min, IEC 60127 210 % in 30 min."""
        part = melting(standard=standard)
        just = the_row(part, FuseNeed(**LOAD, weakest=f"{10 * factor + 0.001}A"))
        assert (just["opens_a"], just["opens_within_s"]) == (pytest.approx(10 * factor), within)
        assert just["ok_opens"] is True
        assert the_row(part, FuseNeed(**LOAD, weakest=f"{10 * factor - 0.001}A"))["ok_opens"] is False
        assert bool(just["assumed_opens_memory"]) == (standard != "UL")
        assert bool(just["assumed_opens_standard"]) == (standard is None)

    def test_factors_and_times_are_those_of_the_physics(self) -> None:
        """Query and physics state the same standards."""
        ul = the_row(melting(), FuseNeed(**LOAD, weakest="20A"))
        blade = the_row(melting(standard="blade"), FuseNeed(**LOAD, weakest="20A"))
        assert (ul["opens_factor"], ul["opens_within_s"]) == fuses.UL_248_14_OPENS[0]
        assert (blade["opens_factor"], blade["opens_within_s"]) == fuses.BLADE_OPENS[0]
        assert ul["share"] == fuses.UL_CONTINUOUS_SHARE
        assert the_row(melting(standard="IEC"), FuseNeed(**LOAD))["share"] == fuses.IEC_CONTINUOUS_SHARE

    def test_a_resettable_fuse_trips_later_in_the_cold(self) -> None:
        """At −40 °C it holds 7.25 A instead of 5: 10 A become 14.5 A (data sheet; scaling is common practice)."""
        need = FuseNeed(**LOAD, weakest="14A", coldest="-40degC")
        row = the_row(resettable(), need)
        assert row["opens_a"] == pytest.approx(14.5)
        assert (row["ok_opens"], row["assumed_trip_scaled"]) == (False, True)
        assert the_row(resettable(), FuseNeed(**LOAD, weakest="14A", coldest="20degC"))["ok_opens"] is True

    def test_a_trip_current_without_a_table_in_the_cold_can_only_fail(self) -> None:
        """10 A at room temperature: at 5 °C it is more than 9 A for sure, and perhaps more than 12 A."""
        part = resettable(hold_curve=points({60.0: 3.4}))
        assert the_row(part, FuseNeed(**LOAD, weakest="12A"))["ok_opens"] is None
        failed = the_row(part, FuseNeed(**LOAD, weakest="9A"))
        assert (failed["ok_opens"], failed["has_opens"]) == (False, 10.0)

    def test_another_class_of_iec_fuse_is_marked(self) -> None:
        """210 % is what is remembered of fast ones."""
        need = FuseNeed(**LOAD, weakest="30A")
        marked = [
            bool(the_row(melting(standard="IEC", **{"class": kind}), need)["assumed_opens_class"])
            for kind in ("fast", "slow", None)
        ]
        assert marked == [False, True, True]

    def test_nothing_is_asked_where_no_link_is_named(self) -> None:
        """Without --weakest the criterion is not among those asked, and the caution says so."""
        need = FuseNeed(**LOAD)
        assert "opens" not in need.asked()
        assert the_row(melting(standard=None, rating_a=None, rating_curve=None), need)["ok_opens"] is True
        assert cautions.WEAKEST_LINK in need.cautions()
        assert cautions.WEAKEST_LINK not in FuseNeed(**LOAD, weakest="9A").cautions()


class TestVoltageFaultAndDrop:
    """What it clears, what it breaks, what it takes of the supply."""

    def test_the_rated_voltage_covers_the_supply_s_high_end(self) -> None:
        """12 V with 5 % is 12.6 V."""
        need = FuseNeed(**LOAD, supply_tolerance="5%")
        verdicts = [the_row(resettable(voltage_v=volts), need)["ok_voltage"] for volts in (12.5, 12.6, None)]
        assert verdicts == [False, True, None]

    def test_the_rating_for_direct_voltage_wins(self) -> None:
        """250 V that alternate say nothing of 12 V that do not."""
        part = melting(voltage_dc_v=10.0, voltage_v=250.0)
        assert the_row(part, FuseNeed(**LOAD))["ok_voltage"] is False
        alternating = the_row(melting(voltage_dc_v=None, voltage_ac_v=250.0), FuseNeed(**LOAD))
        assert alternating["ok_voltage"] is None
        assert not alternating["assumed_alternating"]
        silent = the_row(melting(voltage_dc_v=None, voltage_v=250.0, voltage_unmarked=True), FuseNeed(**LOAD))
        assert (silent["ok_voltage"], silent["assumed_direct"]) == (True, True)
        said = the_row(melting(voltage_dc_v=None, voltage_v=250.0), FuseNeed(**LOAD))
        assert (said["ok_voltage"], said["assumed_direct"]) == (True, False)

    def test_a_rating_for_alternating_voltage_passes_only_where_accepted_and_says_so(self) -> None:
        """Unknown never passes by itself."""
        catalog = catalog_with("fuse", [melting(voltage_dc_v=None, voltage_ac_v=250.0)])
        assert not choose(catalog, FuseNeed(**LOAD)).ranked
        (row,) = choose(catalog, FuseNeed(**LOAD, accept=("voltage",))).ranked
        assert "only a rating for alternating voltage is given" in row["assumed"]
        assert "rated direct voltage unknown, accepted" in row["assumed"]

    @pytest.mark.parametrize(("fault", "verdict"), [("40A", True), ("40.1A", False)])
    def test_the_greatest_fault_is_held_against_what_it_breaks(self, fault: str, verdict: bool) -> None:
        """Imax 40 A of the resettable part (data sheet); nothing known is unknown."""
        assert the_row(resettable(), FuseNeed(**LOAD, fault=fault))["ok_fault"] is verdict
        assert the_row(melting(breaking_a=40.0), FuseNeed(**LOAD, fault=fault))["ok_fault"] is verdict
        assert the_row(melting(breaking_a=None), FuseNeed(**LOAD, fault=fault))["ok_fault"] is None

    def test_drop_is_taken_an_hour_after_a_trip(self) -> None:
        """4 A through R1max 50 mΩ are 200 mV, and 0.8 W (data sheet of the 30 V part; Ohm, Joule)."""
        row = the_row(resettable(), FuseNeed(**LOAD, max_drop="0.2V"))
        assert (row["drop_v"], row["conduction_loss_w"], row["ok_drop"]) == (0.2, pytest.approx(0.8), True)
        assert the_row(resettable(), FuseNeed(**LOAD, max_drop="0.19V"))["ok_drop"] is False

    def test_a_cold_resistance_proves_no_drop_of_a_resettable_fuse(self) -> None:
        """Its 10 mΩ when new become more with every trip; of a fuse that opens once it is the best there is."""
        new = resettable(r1_max_ohm=None, cold_ohm=0.01)
        assert the_row(new, FuseNeed(**LOAD, max_drop="0.2V"))["ok_drop"] is None
        assert the_row(new, FuseNeed(**LOAD, max_drop="0.03V"))["ok_drop"] is False
        once = the_row(melting(), FuseNeed(**LOAD, max_drop="0.2V"))
        assert (once["ok_drop"], once["assumed_cold_resistance"]) == (True, True)
        least = resettable(r1_max_ohm=None)
        assert the_row(least, FuseNeed(**LOAD, max_drop="0.03V"))["ok_drop"] is False


class TestKinds:
    """Type, size, mounting, standard."""

    def test_the_type_follows_from_the_figures_where_no_column_says_it(self) -> None:
        """A hold current makes it resettable, a rating one that opens once; neither leaves it open."""
        parts = [
            resettable("1", type=None),
            melting("2", type=None),
            melting("3", type=None, rating_a=None),
        ]
        rows = every_row(catalog_with("fuse", parts), FuseNeed(**LOAD, type="resettable"))
        assert [row["type"] for row in rows] == ["resettable", "one-shot", None]
        assert [row["ok_type"] for row in rows] == [True, False, None]
        assert [bool(row["assumed_type"]) for row in rows] == [True, True, False]

    @pytest.mark.parametrize("asked", ["5x20", "5 × 20 mm", "5 X 20MM", "5x20mm"])
    def test_a_size_is_one_however_it_is_written(self, asked: str) -> None:
        """Case, blanks, the sign between and the unit do not count."""
        need = FuseNeed(**LOAD, package=(asked,))
        parts = [
            melting("1"),
            melting("2", package="5×20"),
            melting("3", package="6.3 x 32 mm"),
            melting("4", package=None),
        ]
        assert [row["ok_package"] for row in every_row(catalog_with("fuse", parts), need)] == [True, True, False, None]

    def test_mounting_and_standard_are_judged_where_asked_for(self) -> None:
        """Not asked for, they stop nothing."""
        need = FuseNeed(**LOAD, mount="holder", standard="UL")
        assert {"mount", "standard"} <= set(need.asked())
        assert [the_row(melting(mounting=kind), need)["ok_mount"] for kind in ("holder", "surface", None)] == [
            True, False, None,
        ]  # fmt: skip
        assert the_row(melting(standard="IEC"), need)["ok_standard"] is False
        assert the_row(melting(mounting=None, standard=None), FuseNeed(**LOAD))["ok_mount"] is True


class TestChoosing:
    """Ranking, counts, near misses, the arithmetic, what is said."""

    def test_ranked_by_the_rating_nearest_above_then_by_heat(self) -> None:
        """The smallest fuse that carries the load protects best; a bigger one is only cooler."""
        parts = [
            melting("cool", cold_ohm=0.002, rating_a=15.0),
            melting("snug", cold_ohm=0.008, rating_a=8.0),
            melting("snug and cool", cold_ohm=0.004, rating_a=8.0),
            melting("silent", cold_ohm=None, rating_a=8.0),
        ]
        ranked = choose(catalog_with("fuse", parts), FuseNeed(**LOAD)).ranked
        assert [row["part_number"] for row in ranked] == ["snug and cool", "snug", "silent", "cool"]
        assert ranked[0]["excess_a"] == pytest.approx(0.75 * 8.0 - 4.0)

    def test_price_breaks_what_is_otherwise_equal(self) -> None:
        """Two fuses alike in everything."""
        parts = [melting("A"), melting("B")]
        offers = [
            {"part_key": part["part_key"], "supplier": "Quayside", "currency": "EUR", "unit_price": price}
            for part, price in zip(parts, (0.40, 0.30), strict=True)
        ]
        ranked = choose(catalog_with("fuse", parts, offers=offers), FuseNeed(**LOAD)).ranked
        assert [row["part_number"] for row in ranked] == ["B", "A"]

    def test_counts_and_near_misses(self) -> None:
        """Each part under the first criterion that it fails; one step short is a near miss."""
        parts = [
            melting("fits"),
            melting("low", voltage_dc_v=11.0),
            melting("small", rating_a=5.0),
            melting("silent", voltage_dc_v=None),
            melting("both", voltage_dc_v=10.0, rating_a=1.0),
        ]
        chosen = choose(catalog_with("fuse", parts), FuseNeed(**LOAD))
        assert chosen.counts is not None
        assert chosen.counts.fit == 1
        assert {name: number for name, number in chosen.counts.stopped.items() if number} == {
            "voltage": 2,
            "carries": 1,
        }
        assert chosen.counts.unknown == {"voltage": 1}
        misses = [(row["part_number"], row["criterion"], row["has"], row["needs"]) for row in chosen.near_misses]
        assert misses == [("small", "carries", 3.75, 4.0), ("low", "voltage", 11.0, 12.0)]

    def test_offers_are_judged_where_asked_for(self) -> None:
        """In stock at one supplier."""
        parts = [melting("A"), melting("B")]
        offers = [
            {"part_key": parts[0]["part_key"], "supplier": "Quayside", "stock": 0},
            {"part_key": parts[1]["part_key"], "supplier": "Quayside", "stock": 5},
        ]
        ranked = choose(catalog_with("fuse", parts, offers=offers), FuseNeed(**LOAD, in_stock=True)).ranked
        assert [row["part_number"] for row in ranked] == ["B"]

    def test_explain_puts_the_numbers_in(self) -> None:
        """The line between two entries, the trip current in the cold, the drop."""
        need = FuseNeed(**LOAD, ambient="30degC", weakest="16A", coldest="-40degC")
        told = explain(catalog_with("fuse", [resettable()]), "R", need)
        assert told.fits
        worked = {line.title: line.worked for line in told.formulas}
        assert worked["what it carries for good, off its table of temperatures"] == (
            "4.575 A at 30 °C, between 5 A at 20 °C and 4.15 A at 40 °C"
        )
        assert worked["what surely trips it in the coldest air"] == "14.5 A = 10 A · 7.25 A / 5 A at -40 °C"
        assert worked["voltage drop"] == "200 mV = 4 A · 50 mΩ"
        assert "what surely opens it" not in worked

    def test_explain_of_one_that_opens_once(self) -> None:
        """Its share, and 135 % of its rating."""
        need = FuseNeed(supply="12V", resistance="2ohm", weakest="14A")
        told = explain(catalog_with("fuse", [melting()]), "M", need)
        worked = {line.title: line.worked for line in told.formulas}
        assert worked["current of the load"] == "6 A = 12 V / (2 Ω · (1 − 0))"
        assert worked["what it carries for good"] == "7.5 A = 0.75 · 10 A"
        assert worked["what surely opens it"] == "13.5 A = 1.35 · 10 A, within an hour"
        assert {line.verdict for line in told.criteria} == {"pass"}

    def test_time_to_trip_and_inrush_are_remarked(self) -> None:
        """5 s at 25 A, and a cold load that draws 30 A."""
        need = FuseNeed(supply="12V", resistance="4ohm", cold_resistance="0.4ohm")
        told = explain(catalog_with("fuse", [resettable(trip_time_s=5.0, trip_time_at_a=25.0)]), "R", need)
        assert any(remark.startswith("trips within 5 s at 25 A") for remark in told.remarks)
        assert any("inrush of 30 A" in remark for remark in told.remarks)

    def test_cautions_follow_the_kind(self) -> None:
        """Tripped is not isolated; a larger fuse is no way out; a transistor is not protected."""
        both = FuseNeed(**LOAD).cautions()
        assert {cautions.TRIPPED_IS_NOT_OFF, cautions.NO_LARGER_FUSE, cautions.FUSE_PROTECTS_WIRING} <= set(both)
        assert cautions.TRIPPED_IS_NOT_OFF not in FuseNeed(**LOAD, type="one-shot").cautions()
        assert cautions.SHORT_CIRCUIT in both
        assert cautions.SHORT_CIRCUIT not in FuseNeed(**LOAD, fault="30A").cautions()
        assert cautions.ABOVE_60_V in FuseNeed(supply="72V", current="1A").cautions()


class TestTheNeed:
    """What it takes, and what it refuses."""

    def test_the_coldest_air_is_assumed_and_said(self) -> None:
        """5 °C, or the ambient where that is colder; only where the weakest link is asked about."""
        assert FuseNeed(**LOAD, weakest="9A").assumptions() == ("coldest air 5 °C",)
        assert FuseNeed(**LOAD, weakest="9A", ambient="-5degC").parameters()["coldest_degc"] == -5.0
        assert FuseNeed(**LOAD).assumptions() == ()

    @pytest.mark.parametrize(
        ("wrong", "where"),
        [
            ({"type": "blade"}, "--type"),
            ({"standard": "ul"}, "--standard"),
            ({"mount": "board"}, "--mount"),
            ({"coldest": "50degC"}, "--coldest"),
            ({"weakest": "0A"}, "--weakest"),
            ({"max_drop": "2A"}, "--max-drop"),
            ({"package": "5x20"}, "--package"),
        ],
    )
    def test_a_slip_is_told_with_its_option(self, wrong: dict[str, Any], where: str) -> None:
        """The option, and the way out."""
        with pytest.raises((UsageError, QuantityError)) as caught:
            FuseNeed(**{**LOAD, **wrong})
        assert where in str(caught.value)

    def test_less_care_is_said(self) -> None:
        """No margin lies below one, and one is the usual: less care cannot be asked for by these."""
        with pytest.raises(QuantityError):
            FuseNeed(**LOAD, voltage_margin="0.9")


# -- held against an oracle in plain Python on the physics package ---------------------------------------------

amperes = st.sampled_from([0.5, 1.0, 2.5, 3.15, 5.0, 7.5, 10.0, 15.0, 20.0])
tables = st.none() | st.lists(
    st.tuples(st.sampled_from([-40.0, -20.0, 0.0, 20.0, 23.0, 25.0, 40.0, 60.0, 85.0, 105.0]), amperes),
    min_size=1, max_size=6, unique_by=lambda point: point[0],
).map(lambda found: points(dict(sorted(found))))  # fmt: skip


def maybe(known: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Let a figure be unknown."""
    return st.none() | known


fuse_parts = st.fixed_dictionaries(
    {
        "type": maybe(st.sampled_from(["resettable", "one-shot"])),
        "standard": maybe(st.sampled_from(["UL", "IEC", "blade"])),
        "class": maybe(st.sampled_from(["fast", "slow"])),
        "package": maybe(st.sampled_from(["Mini blade", "5 x 20 mm", "1206"])),
        "hold_a": maybe(amperes), "hold_curve": tables, "trip_a": maybe(amperes),
        "rating_a": maybe(amperes), "rating_curve": tables, "continuous_a": maybe(amperes), "continuous_curve": tables,
        "voltage_v": maybe(st.sampled_from([6.0, 12.0, 32.0])), "voltage_dc_v": maybe(st.sampled_from([10.0, 32.0])),
        "most_fault_a": maybe(st.sampled_from([20.0, 40.0])), "breaking_a": maybe(st.sampled_from([25.0, 1000.0])),
        "r_min_ohm": maybe(st.sampled_from([0.005, 0.04])), "r1_max_ohm": maybe(st.sampled_from([0.01, 0.06])),
        "cold_ohm": maybe(st.sampled_from([0.008, 0.03])), "limit_degc": maybe(st.sampled_from([70.0, 85.0, 125.0])),
    }
)  # fmt: skip
fuse_needs = st.fixed_dictionaries(
    {
        "current": st.sampled_from(["0.4A", "2.4A", "4A", "7.5A", "11A"]),
        "ambient": st.sampled_from(["-10degC", "20degC", "23degC", "40degC", "62degC", "90degC"]),
        "weakest": maybe(st.sampled_from(["4A", "11A", "25A"])),
        "coldest": st.sampled_from(["-40degC", "-12degC"]),
        "fault": maybe(st.sampled_from(["30A"])),
        "max_drop": maybe(st.sampled_from(["0.1V", "0.3V"])),
    }
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(fuse_parts, min_size=1, max_size=25), fuse_needs)
def test_query_and_oracle_agree(made: list[Part], asked: dict[str, Any]) -> None:
    """Same kinds, figures to 1e-9 and verdicts, over parts that lack whatever a list may lack."""
    need = FuseNeed(supply="12V", **asked)
    parts = [{"part_key": f"{n:03}", "part_number": f"{n:03}", "claims": 1, **part} for n, part in enumerate(made)]
    for part, row in zip(parts, every_row(catalog_with("fuse", parts), need), strict=True):
        expected = judged_fuse(part, need.parameters())
        assert (row["type"], row["standard"]) == (expected["type"], expected["standard"])
        for name in ("carries_a", "opens_a", "drop_v", "conduction_loss_w"):
            want = expected[name]
            assert row[name] == (None if want is None else pytest.approx(want, rel=1e-9)), (name, part)
        assert {name: row[f"ok_{name}"] for name in expected["verdict"]} == expected["verdict"], part


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(fuse_parts, min_size=1, max_size=25), fuse_needs)
def test_choosing_loosely_and_closely_finds_the_same(made: list[Part], asked: dict[str, Any]) -> None:
    """What the quick look lets pass is what the close one does."""
    need = FuseNeed(supply="12V", **asked)
    parts = [{"part_key": f"{n:03}", "part_number": f"{n:03}", "claims": 1, **part} for n, part in enumerate(made)]
    catalog = catalog_with("fuse", parts)

    def passing(rows: list[dict[str, Any]]) -> list[str]:
        return [row["part_number"] for row in rows if all(row[f"ok_{name}"] for name in need.asked())]

    close = passing(every_row(catalog, need))
    assert passing(every_row(catalog, need, closely=False)) == close
    assert sorted(row["part_number"] for row in choose(catalog, need, top=50).ranked) == close
