"""Choosing connectors: each criterion, what is assumed, and the query held against physics and brute force."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from connector_oracle import PUBLISHED, carried, catalog_of, terminal, verdicts
from hypothesis import given, settings
from hypothesis import strategies as st

from loadworthy import criteria, shipped, statements
from loadworthy.catalog import families
from loadworthy.errors import LoadworthyError
from loadworthy.explanation import Explanation, explain
from loadworthy.judging import judged
from loadworthy.needs import ConnectorNeed
from loadworthy.physics import contacts
from loadworthy.selection import choose

LOAD: dict[str, Any] = {"supply": "12V", "current": "8A", "ambient": "40degC"}
OFFERS = [
    {"part_key": "HOLM|A", "supplier": "Rowan Parts", "currency": "EUR", "unit_price": 1.0, "stock": 0},
    {"part_key": "HOLM|A", "supplier": "Hazel & Co", "currency": "EUR", "unit_price": 3.0, "stock": 50},
]
WIRE: dict[str, Any] = {"wire_min_m2": None, "wire_max_m2": None}
UNRATED: dict[str, Any] = {"rated_ul_a": None, "rated_iec_a": None}


def explained(asked: dict[str, Any], **other: Any) -> Explanation:
    """Hold one terminal against a need."""
    with catalog_of(terminal("A", **other), offers=OFFERS) as catalog:
        return explain(catalog, "A", ConnectorNeed(**{**LOAD, **asked}))


def every_row(catalog: Any, need: ConnectorNeed) -> dict[str, dict[str, Any]]:
    """Run the family's own query over every part."""
    text = judged("connector", offered=False)
    rows = statements.bind("all", text, {**need.parameters(), "closely": True}).rows(catalog.connection)
    return {row["part_number"]: row for row in rows}


CASES: list[tuple[str, dict[str, Any], dict[str, Any], str]] = [
    ("offer", {}, {"in_stock": True}, "pass"),
    ("offer", {}, {"in_stock": True, "max_price": "1.50 EUR"}, "fail"),
    ("offer", {}, {"max_price": "1.50 USD"}, "unknown"),
    ("series", {"series": "hx5"}, {"series": " HX5"}, "pass"),
    ("series", {}, {"series": "HX6"}, "fail"),
    ("series", {"series": None}, {"series": "HX5"}, "unknown"),
    ("mount", {}, {"mount": "board"}, "pass"),
    ("mount", {}, {"mount": "panel"}, "fail"),
    ("mount", {"mount": None}, {"mount": "board"}, "unknown"),
    ("gender", {"gender": "plug"}, {"gender": "plug"}, "pass"),
    ("gender", {"gender": "plug"}, {"gender": "header"}, "fail"),
    ("gender", {}, {"gender": "header"}, "unknown"),
    ("construction", {}, {"fixed": True}, "pass"),
    ("construction", {}, {"pluggable": True}, "fail"),
    ("construction", {"construction": None}, {"pluggable": True}, "unknown"),
    ("poles", {}, {"poles": 2}, "pass"),
    ("poles", {"poles": 3.0}, {"poles": "2"}, "fail"),
    ("poles", {"poles": None}, {"poles": 2}, "unknown"),
    ("pitch", {}, {"pitch": "0.2 in"}, "pass"),
    ("pitch", {"pitch_m": 3.81e-3}, {"pitch": "3.8mm"}, "pass"),
    ("pitch", {"pitch_m": 3.81e-3}, {"pitch": "3.79mm"}, "fail"),
    ("pitch", {"pitch_m": 5e-3}, {"pitch": "5.08mm"}, "fail"),
    ("pitch", {"pitch_m": None}, {"pitch": "5.08mm"}, "unknown"),
    ("voltage", {"voltage_ul_v": 12.0}, {}, "pass"),
    ("voltage", {"voltage_ul_v": 11.9}, {}, "fail"),
    ("voltage", {"voltage_ul_v": None}, {}, "unknown"),
    ("voltage", {"voltage_iec_v": 10.0}, {}, "fail"),
    ("voltage", {"voltage_iec_v": 10.0}, {"basis": "UL"}, "pass"),
    ("voltage", {}, {"basis": "IEC"}, "unknown"),
    ("voltage", {"voltage_ul_v": None, "voltage_v": 50.0}, {}, "pass"),
    ("voltage", {"voltage_ul_v": None, "voltage_ac_v": 50.0}, {}, "pass"),
    ("voltage", {"voltage_ul_v": None, "voltage_ac_v": 50.0}, {"basis": "UL"}, "unknown"),
    # 0.8 of the published curve is 7.96 A at 40 °C and 6.88 A at 60 °C.
    ("current", {"derating": PUBLISHED}, {"current": "7.96A"}, "pass"),
    ("current", {"derating": PUBLISHED}, {"current": "7.97A"}, "fail"),
    ("current", {"derating": PUBLISHED}, {"current": "6.88A", "ambient": "60degC"}, "pass"),
    ("current", {"derating": PUBLISHED}, {"current": "6.89A", "ambient": "60degC"}, "fail"),
    ("current", {"derating": PUBLISHED}, {"current": "4A", "current_margin": "2"}, "fail"),
    ("current", {"derating": PUBLISHED, "limit_degc": None}, {"current": "1mA", "ambient": "121degC"}, "unknown"),
    ("current", {"derating": PUBLISHED, "limit_degc": 125.0}, {"current": "1mA", "ambient": "121degC"}, "pass"),
    ("current", {"derating": PUBLISHED, "limit_degc": 125.0}, {"current": "1mA", "ambient": "125degC"}, "fail"),
    # In 20 °C air 0.8 of the lesser rating: 12 A of UL's 15, 12.8 A of IEC's 16.
    ("current", {}, {"current": "12A", "ambient": "20degC"}, "pass"),
    ("current", {}, {"current": "12.1A", "ambient": "20degC"}, "fail"),
    ("current", {}, {"current": "12.8A", "ambient": "20degC", "basis": "IEC"}, "pass"),
    ("current", {}, {"current": "12.9A", "ambient": "20degC", "basis": "IEC"}, "fail"),
    ("current", {"rated_a": 9.0}, {"ambient": "20degC"}, "fail"),
    ("current", {**UNRATED, "rated_a": 12.0}, {}, "pass"),
    ("current", {**UNRATED, "rated_a": 12.0}, {"basis": "UL"}, "unknown"),
    ("current", {**UNRATED, "derating": ((40.0, 12.0),)}, {"basis": "UL"}, "unknown"),
    ("current", {**UNRATED, "derating": ((40.0, 12.0),)}, {"basis": "IEC"}, "pass"),
    # Whatever a curve says, a rating is not exceeded.
    ("current", {"rated_ul_a": 7.0, "derating": ((40.0, 50.0),)}, {}, "fail"),
    # Nothing stated is nothing known, and never bought blind.
    ("current", UNRATED, {"current": "1mA"}, "unknown"),
    ("wire", {}, {"wire": "2.5mm2"}, "pass"),
    ("wire", {}, {"wire": "12AWG"}, "fail"),
    ("wire", {}, {"wire": "0.14mm2"}, "fail"),
    ("wire", {"wire_max_m2": 2.0809077171e-6}, {"wire": "14AWG"}, "pass"),
    ("wire", {"wire_max_m2": 2e-6}, {"wire": "14AWG"}, "fail"),
    ("wire", WIRE, {"wire": "1mm2"}, "unknown"),
    ("wire", {"wire_min_m2": None}, {"wire": "2.5mm2"}, "pass"),
    ("wire", {"wire_min_m2": None}, {"wire": "0.5mm2"}, "unknown"),
    ("wire", {"wire_max_m2": None}, {"wire": "0.5mm2"}, "unknown"),
    ("wire", {"wire_max_m2": None}, {"wire": "0.1mm2"}, "fail"),
    ("wire", {"wire_ferrule_min_m2": 0.25e-6, "wire_ferrule_max_m2": 1.5e-6},
     {"wire": "2.5mm2", "wire_kind": "ferruled"}, "fail"),
    ("wire", {"wire_solid_min_m2": 0.2e-6, "wire_solid_max_m2": 4e-6}, {"wire": "4mm2", "wire_kind": "solid"}, "pass"),
    ("wire", {"wire_solid_min_m2": 0.2e-6, "wire_solid_max_m2": 4e-6}, {"wire": "4mm2"}, "fail"),
    ("wire", {}, {"wire": "2.5mm2", "wire_kind": "stranded"}, "pass"),
    # 45 K at 15 A make 12.8 K at 8 A.
    ("temperature", {}, {"temperature_limit": "52.9degC"}, "pass"),
    ("temperature", {}, {"temperature_limit": "52.7degC"}, "fail"),
    # 30 K of a plug connector make 8.5 K.
    ("temperature", {"construction": "pluggable"}, {"temperature_limit": "48.6degC"}, "pass"),
    ("temperature", {"construction": None, "gender": "plug"}, {"temperature_limit": "48.4degC"}, "fail"),
    ("temperature", UNRATED, {}, "unknown"),
]  # fmt: skip


class TestCriteria:
    """What passes, what fails, and what is not known."""

    @pytest.mark.parametrize(("criterion", "other", "asked", "verdict"), CASES)
    def test_verdict_of_one_criterion(
        self, criterion: str, other: dict[str, Any], asked: dict[str, Any], verdict: str
    ) -> None:
        """Explain, the ranked list and the counts say the same."""
        need = ConnectorNeed(**{**LOAD, **asked})
        with catalog_of(terminal("A", **other), offers=OFFERS) as catalog:
            answer = explain(catalog, "A", need)
            chosen = choose(catalog, need, near=0)
        assert {line.name: line.verdict for line in answer.criteria}[criterion] == verdict
        assert bool(chosen.ranked) == answer.fits
        assert chosen.counts is not None
        failed = next((line.name for line in answer.criteria if line.verdict == "fail"), None)
        assert [name for name, number in chosen.counts.stopped.items() if number] == [failed] * bool(failed)
        assert answer.fits or failed or chosen.counts.unknown

    def test_an_unknown_passes_only_where_it_is_accepted_and_is_marked(self) -> None:
        """A terminal that states no rating is not chosen unless somebody says so."""
        with catalog_of(terminal("A", **UNRATED)) as catalog:
            assert not choose(catalog, ConnectorNeed(**LOAD)).ranked
            (row,) = choose(catalog, ConnectorNeed(**LOAD, accept=("current", "temperature"))).ranked
        assert "usable current in this air unknown, accepted" in row["assumed"]
        assert row["usable_a"] is None

    def test_accepting_an_unknown_never_lets_a_failure_pass(self) -> None:
        """What a list says, and says wrong for this need, stays out whatever is accepted."""
        rules = criteria.load("connector")
        asked = {**LOAD, "pitch": "5.08mm", "poles": 2, "wire": "2.5mm2", "accept": tuple(rules.titles)}
        wrong = [
            {"pitch_m": 5e-3}, {"poles": 3.0}, {"wire_max_m2": 1e-6}, {"rated_ul_a": 5.0}, {"voltage_ul_v": 5.0},
        ]  # fmt: skip
        with catalog_of(*(terminal(f"A{number}", **other) for number, other in enumerate(wrong))) as catalog:
            assert not choose(catalog, ConnectorNeed(**asked)).ranked


class TestCurve:
    """The published base curve, 5 poles, limit 125 °C, and its 0.8 curve (a connector data sheet; IEC 60512-5-2)."""

    #: Temperature → 0.8 of the base curve, as the data sheet prints it.
    USABLE = ((20.0, 8.88), (40.0, 7.96), (60.0, 6.88), (80.0, 5.64), (100.0, 4.12), (120.0, 1.68))

    @pytest.mark.parametrize(("degc", "amperes"), USABLE)
    def test_usable_current_is_the_printed_one(self, degc: float, amperes: float) -> None:
        """At each printed temperature."""
        part = explained({"ambient": f"{degc}degC"}, derating=PUBLISHED, limit_degc=125.0).part
        assert part["usable_a"] == pytest.approx(amperes, abs=0.005)

    @pytest.mark.parametrize(("degc", "amperes"), USABLE[1:])
    def test_without_the_curve_the_root_law_is_optimistic_and_says_so(self, degc: float, amperes: float) -> None:
        """At no printed temperature does it give less than the curve; by 15 % more near the limit."""
        answer = explained({"ambient": f"{degc}degC"}, **{**UNRATED, "rated_iec_a": PUBLISHED[0][1]}, limit_degc=125.0)
        assert amperes < answer.part["usable_a"] < 1.16 * amperes
        assert "√ law in place of a derating curve, optimistic near the limit" in answer.assumed
        assert "rated in 20 °C air, the list does not say" in answer.assumed

    def test_in_colder_air_the_first_point_holds(self) -> None:
        """A curve is not followed upwards."""
        answer = explained({"ambient": "-20degC"}, derating=PUBLISHED)
        assert answer.part["base_a"] == 11.1
        assert "11.1 A, its point at 20 °C" in [line.worked for line in answer.formulas]

    def test_of_two_currents_at_one_temperature_the_lesser_counts(self) -> None:
        """Whichever stands first, at the point and beside it."""
        doubled = ((20.0, 12.0), (40.0, 8.0), (40.0, 10.0), (60.0, 6.0))
        assert explained({}, derating=doubled).part["base_a"] == 8.0
        assert explained({"ambient": "30degC"}, derating=doubled).part["base_a"] == pytest.approx(10.0)
        assert explained({"ambient": "50degC"}, derating=doubled).part["base_a"] == pytest.approx(7.0)

    def test_beyond_the_last_point_the_root_law_goes_on_from_there(self) -> None:
        """From 7.05 A at 80 °C to 125 °C: half the current is left at a quarter of the distance."""
        answer = explained({"ambient": "113.75degC"}, derating=PUBLISHED[:4], limit_degc=125.0)
        assert answer.part["base_a"] == pytest.approx(7.05 / 2)
        assert any("beyond the last point" in words for words in answer.assumed)

    def test_a_limit_that_no_list_gives_lies_no_lower_than_the_curve_reaches(self) -> None:
        """A curve drawn to 120 °C proves 120 °C; without a curve 105 °C is assumed."""
        drawn = explained({"current": "1A", "ambient": "110degC"}, derating=PUBLISHED, limit_degc=None)
        assert (drawn.part["limit_degc"], drawn.fits) == (120.0, True)
        assert "temperature limit at the last point of its curve" in drawn.assumed
        bare = explained({"current": "1A"}, limit_degc=None)
        assert bare.part["limit_degc"] == 105.0
        assert "temperature limit 105 °C" in bare.assumed


class TestWords:
    """What is said of a part: assumptions, remarks, arithmetic, cautions."""

    @pytest.mark.parametrize(
        ("other", "asked", "words"),
        [
            ({**UNRATED, "rated_a": 15.0}, {}, "rated current by UL or by IEC"),
            ({"voltage_ul_v": None, "voltage_v": 50.0}, {}, "rated voltage by UL or by IEC"),
            ({"voltage_ul_v": None, "voltage_ac_v": 50.0}, {}, "alternating voltage alone"),
            ({}, {"poles": 2}, "with all poles in use"),
            ({"loaded_poles": 1.0}, {"poles": 2}, "more poles loaded"),
            ({}, {"wire": "1mm2", "wire_kind": "solid"}, "this kind of wire"),
            ({}, {"wire": "1mm2"}, "kind of wire not said"),
            ({}, {}, "45 K warmer"),
            ({"construction": "pluggable"}, {}, "30 K warmer"),
            ({"contact_ohm": None}, {}, "loss not known"),
            ({"typical": "Rc"}, {}, "Rc typical"),
        ],
    )
    def test_what_a_figure_rests_on_is_said_where_it_does_and_nowhere_else(
        self, other: dict[str, Any], asked: dict[str, Any], words: str
    ) -> None:
        """Against a part of which everything is known."""
        known = {"loaded_poles": 2.0, "derating": PUBLISHED, "wire_solid_min_m2": 0.2e-6, "wire_solid_max_m2": 4e-6}
        assert any(words in line for line in explained(asked, **other).assumed)
        sure = explained({**asked, "wire_kind": "solid"} if "wire" in asked else asked, **known)
        assert sure.assumed == ()

    @pytest.mark.parametrize(("amperes", "said"), [(14.9, True), (15.0, False), (20.0, False)])
    def test_a_rating_without_a_basis_is_named_only_where_it_is_what_counts(self, amperes: float, said: bool) -> None:
        """Beside 15 A by UL."""
        answer = explained({}, rated_a=amperes)
        assert answer.part["rating_a"] == min(amperes, 15.0)
        assert any("the list does not say" in line and "UL or by IEC" in line for line in answer.assumed) is said

    @pytest.mark.parametrize(
        ("other", "asked", "words"),
        [
            ({"pitch_m": 5e-3, "poles": 12.0}, {"pitch": "5.08mm"}, "5 mm against 5.08 mm: 0.88 mm off over 12 poles"),
            ({}, {}, "UL and IEC ratings differ: 15 A by UL, 16 A by IEC"),
            ({"loaded_poles": 1.0}, {"poles": 2}, "rated with 1 poles loaded: with more of them it carries less"),
            ({"mates_with": "HX5-H"}, {}, "one half of a pair: buy the other half (HX5-H) too, from the same maker"),
            ({"construction": "pluggable"}, {}, "one half of a pair: buy the other half too"),
            ({"torque_min_n_m": 0.5}, {}, "tighten to 0.5 N·m"),
            ({"torque_min_n_m": 0.5, "torque_max_n_m": 0.6}, {}, "tighten to 0.5 N·m, no more than 0.6 N·m"),
            ({"torque_max_n_m": 0.6}, {}, "tighten to no more than 0.6 N·m"),
            ({}, {"wire": "1mm2", "wire_kind": "stranded"}, "a ferrule keeps the strands together"),
        ],
    )
    def test_remarks(self, other: dict[str, Any], asked: dict[str, Any], words: str) -> None:
        """Each is made where it applies, and not of a part that gives no cause."""
        assert any(words in line for line in explained(asked, **other).remarks)
        assert not explained({}, rated_iec_a=15.0).remarks

    def test_the_arithmetic_comes_with_its_numbers(self) -> None:
        """8 A through two contacts of 1 mΩ; half-way between 40 °C and 60 °C; the last pole's offset."""
        answer = explained({"ambient": "50degC", "pitch": "5mm", "current": "7A"}, derating=PUBLISHED, poles=12.0)
        worked = {line.title: line.worked for line in answer.formulas}
        assert worked["base current, off its curve"] == ("9.275 A at 50 °C, between 9.95 A at 40 °C and 8.6 A at 60 °C")
        assert worked["usable current"] == "7.42 A from 0.8 · 9.275 A"
        assert worked["loss in the contacts"] == "98 mW = 2 · (7 A)² · 1 mΩ"
        assert worked["last pole's offset"] == "0.88 mm = |5.08 mm − 5 mm| · (12 − 1)"
        assert "usable current, held down" not in worked
        held = explained({}, rated_ul_a=7.0, derating=((40.0, 50.0),))
        assert "7 A, less than 0.8 · 50 A" in [line.worked for line in held.formulas]

    def test_every_line_has_a_source(self) -> None:
        """Of criteria and of formulas."""
        asked = {"pitch": "5mm", "poles": 2, "wire": "1mm2", "mount": "board", "series": "HX5", "fixed": True}
        answer = explained({**asked, "in_stock": True})
        assert all(line.source for line in (*answer.criteria, *answer.formulas))
        assert "IEC 60512-5-2" in {line.name: line.source for line in answer.criteria}["current"]

    def test_cautions_fit_the_need(self) -> None:
        """What can hurt is said; what can't be pulled is not."""
        said = ConnectorNeed(**LOAD).cautions()
        for words in ("extra-low voltage", "under load", "more than 10 A", "tighten them again", "data sheet"):
            assert any(words in line for line in said), words
        assert not any("under load" in line for line in ConnectorNeed(**LOAD, fixed=True).cautions())
        assert any("insulate" in line for line in ConnectorNeed(**{**LOAD, "supply": "72V"}).cautions())


class TestSelection:
    """Rank, near misses, JSON."""

    def test_the_least_loss_comes_first_then_the_least_strain_and_unknown_losses_last(self) -> None:
        """Price breaks what is left."""
        parts = [
            terminal("easy", contact_ohm=None, rated_ul_a=30.0, rated_iec_a=30.0),
            terminal("strained", contact_ohm=1e-3, rated_ul_a=14.0),
            terminal("relaxed", contact_ohm=1e-3, rated_ul_a=16.0),
            terminal("cool", contact_ohm=5e-4),
            terminal("cool and cheap", contact_ohm=5e-4),
        ]
        offers = [
            {"part_key": "HOLM|cool", "supplier": "R", "currency": "EUR", "unit_price": 2.0},
            {"part_key": "HOLM|cool and cheap", "supplier": "R", "currency": "EUR", "unit_price": 1.0},
        ]
        with catalog_of(*parts, offers=offers) as catalog:
            ranked = choose(catalog, ConnectorNeed(**LOAD)).ranked
        assert [row["part_number"] for row in ranked] == ["cool and cheap", "cool", "relaxed", "strained", "easy"]

    def test_a_pitch_that_is_a_hair_off_is_the_nearest_miss(self) -> None:
        """It says by how much it is off over the row."""
        parts = [terminal("hair", pitch_m=5e-3, poles=12.0), terminal("far", pitch_m=7.62e-3, poles=12.0)]
        with catalog_of(*parts) as catalog:
            near, far = choose(catalog, ConnectorNeed(**LOAD, poles=12, pitch="5.08mm")).near_misses
        assert (near["part_number"], near["criterion"], near["unit"]) == ("hair", "pitch", "m")
        assert (near["has"], near["needs"]) == (5e-3, 5.08e-3)
        assert "5 mm against 5.08 mm: 0.88 mm off over 12 poles" in near["remarks"]
        assert far["part_number"] == "far"

    def test_a_miss_by_the_wire_names_the_end_of_the_range_that_it_lies_beyond(self) -> None:
        """The thick end of one, the thin end of the other."""
        parts = [terminal("thin", wire_max_m2=1.5e-6), terminal("thick", wire_min_m2=3e-6, wire_max_m2=6e-6)]
        with catalog_of(*parts) as catalog:
            misses = choose(catalog, ConnectorNeed(**LOAD, wire="2.5mm2")).near_misses
        assert {miss["part_number"]: (miss["has"], miss["needs"]) for miss in misses} == {
            "thin": (1.5e-6, 2.5e-6), "thick": (3e-6, 2.5e-6),
        }  # fmt: skip

    def test_a_part_too_small_for_the_current_alone_is_a_near_miss(self) -> None:
        """That its contact gets too warm as well follows from it and is no second step."""
        with catalog_of(terminal("A", derating=((20.0, 9.0), (60.0, 6.0)))) as catalog:
            (miss,) = choose(catalog, ConnectorNeed(**LOAD)).near_misses
        assert (miss["criterion"], miss["needs"]) == ("current", 8.0)
        assert miss["has"] == pytest.approx(0.8 * 7.5)

    def test_what_must_be_neither_more_nor_less_has_no_margin(self) -> None:
        """A pitch, a number of poles, a wire in a range."""
        answer = explained({"pitch": "5mm", "poles": 2, "wire": "1mm2"})
        margins = {line.name: line.margin for line in answer.criteria}
        assert (margins["pitch"], margins["poles"], margins["wire"]) == (None, None, None)
        assert margins["voltage"] == 288.0

    def test_json_is_plain(self) -> None:
        """Everything goes through strict JSON."""
        with catalog_of(terminal("A", derating=PUBLISHED), terminal("B", pitch_m=5e-3)) as catalog:
            chosen = choose(catalog, ConnectorNeed(**{**LOAD, "current": "7A"}, pitch="5.08mm"))
        answer = json.loads(json.dumps(chosen.as_json(), allow_nan=False))
        assert [row["part_number"] for row in answer["ranked"]] == ["A"]
        assert {"usable_a", "strain", "contact_degc", "conduction_loss_w", "poles", "pitch_m"} <= set(
            answer["ranked"][0]
        )


class TestNeed:
    """Quantities as people write them; what cannot be is refused where it stands."""

    def test_poles_loaded_are_all_unless_said_and_the_contacts_where_none_were_asked_for(self) -> None:
        """Out and back are two contacts."""
        assert ConnectorNeed(**LOAD).as_json()["poles_loaded"] == 2
        assert ConnectorNeed(**LOAD, poles="12").as_json()["poles_loaded"] == 12
        assert ConnectorNeed(**LOAD, poles=12, poles_loaded="4").as_json()["poles_loaded"] == 4

    def test_the_load_may_be_a_resistance_or_a_power(self) -> None:
        """12 V on 1.6 Ω, 90 W at 12 V: 7.5 A each."""
        for load in ({"resistance": "1R6"}, {"power": "90W"}):
            assert ConnectorNeed(supply="12V", **load).parameters()["current_least_a"] == 7.5

    @pytest.mark.parametrize(
        ("asked", "where", "words"),
        [
            ({"current": None}, "--current, --resistance, --power", "is not given"),
            ({"poles": "2.5"}, "--poles", "no whole number"),
            ({"poles": 0}, "--poles", "at least 1"),
            ({"poles": 2, "poles_loaded": 3}, "--poles-loaded", "at most 2"),
            ({"contacts": "none"}, "--contacts", "not a quantity"),
            ({"pitch": "5.08"}, "--pitch", "no unit"),
            ({"pitch": "5.08V"}, "--pitch", "'V'"),
            ({"wire": "2.5mm"}, "--wire", "'mm'"),
            ({"wire_kind": "solid"}, "--wire-kind", "cross-section"),
            ({"wire": "1mm2", "wire_kind": "bare"}, "--wire-kind", "solid"),
            ({"mount": "ceiling"}, "--mount", "board"),
            ({"gender": "both"}, "--gender", "plug"),
            ({"basis": "XY"}, "--basis", "UL"),
            ({"series": " "}, "--series", "no name"),
            ({"pluggable": True, "fixed": True}, "--pluggable, --fixed", "either"),
            ({"temperature_limit": "30degC"}, "--temperature-limit", "above 40"),
            ({"current_margin": "0.5"}, "--current-margin", "at least 1"),
            ({"accept": ("pich",)}, "--accept", "Did you mean pitch"),
            ({"supply": "230V"}, "--supply", "at most 120 V"),
        ],
    )
    def test_what_cannot_be_is_refused_where_it_stands(self, asked: dict[str, Any], where: str, words: str) -> None:
        """The error names the option and what would do, as soon as the need is made."""
        with pytest.raises(LoadworthyError) as caught:
            ConnectorNeed(**{**LOAD, **asked})
        assert caught.value.where == where
        assert caught.value.way_out
        assert words in str(caught.value)

    def test_symbols_are_those_of_the_familys_figures(self) -> None:
        """A symbol that no figure has would never be found in a list."""
        assert ConnectorNeed(**LOAD).symbols() <= {figure.symbol for figure in families.load("connector").figures}

    def test_description_and_query_name_the_same_things(self) -> None:
        """Criteria, what they compare, assumptions, remarks."""
        rules = criteria.load("connector")
        numeric = {one.name for one in rules.criteria if one.numeric}
        expected = {
            "ok_": {one.name for one in rules.criteria}, "has_": numeric, "needs_": numeric,
            "assumed_": {one.name for one in rules.assumptions}, "remark_": {one.name for one in rules.remarks},
        }  # fmt: skip
        lines = [line for line in shipped.query("connector").splitlines() if "--" not in line]
        words = {word.strip(",()") for line in lines for word in line.split()}
        for stem, names in expected.items():
            assert {word.removeprefix(stem) for word in words if word.startswith(stem)} == names


def some(*values: Any) -> st.SearchStrategy[Any]:
    """Draw one of these, or nothing."""
    return st.sampled_from((None, *values))


CURVES = some((), PUBLISHED, PUBLISHED[:3], ((40.0, 12.0),), ((25.0, 20.0), (70.0, 14.0), (105.0, 0.0)))
PARTS = st.lists(
    st.fixed_dictionaries(
        {
            "series": some("HX5", "hx5", "GW"), "mount": some("board", "wire"), "gender": some("plug", "header"),
            "construction": some("pluggable", "fixed"), "poles": some(2.0, 3.0, 12.0), "loaded_poles": some(1.0, 2.0),
            "pitch_m": some(5e-3, 5.08e-3, 5.075e-3, 7.62e-3),
            "rated_ul_a": some(8.0, 15.0), "rated_iec_a": some(10.0, 24.0), "rated_a": some(9.0, 17.5),
            "voltage_ul_v": some(10.0, 300.0), "voltage_iec_v": some(12.0, 160.0), "voltage_v": some(50.0),
            "limit_degc": some(85.0, 105.0, 125.0), "contact_ohm": some(5e-4, 3e-3), "derating": CURVES,
            **{f"wire_{kind}{end}_m2": some(*areas) for kind in ("", "solid_", "stranded_", "ferrule_")
               for end, areas in (("min", (0.2e-6, 2e-6)), ("max", (1.5e-6, 2.5e-6, 4e-6)))},
        }
    ),
    min_size=1,
    max_size=12,
)  # fmt: skip
NEEDS = st.fixed_dictionaries(
    {"current": st.sampled_from(("1A", "6.5A", "8A", "12A")),
     "ambient": st.sampled_from(("-10degC", "20degC", "40degC", "55degC", "65degC", "90degC", "110degC"))},
    optional={
        "basis": st.sampled_from(("UL", "IEC")), "poles": st.sampled_from((2, 3)), "poles_loaded": st.just(2),
        "pitch": st.sampled_from(("5mm", "5.08mm")), "series": st.just("HX5"), "mount": st.just("board"),
        "gender": st.just("plug"), "contacts": st.sampled_from(("1", "4")), "current_margin": st.just("1.25"),
        "temperature_limit": st.just("115degC"),
    },
)  # fmt: skip
WIRES = st.one_of(
    st.just({}),
    st.fixed_dictionaries(
        {"wire": st.sampled_from(("0.2mm2", "1.5mm2", "2.5mm2", "14AWG"))},
        optional={"wire_kind": st.sampled_from(("solid", "stranded", "ferruled"))},
    ),
)
MADE = st.sampled_from(({}, {"pluggable": True}, {"fixed": True}))


def numbers(row: dict[str, Any], names: dict[str, Any]) -> list[float]:
    """Return some figures of a row, nan for what is not known."""
    return [math.nan if row[name] is None else row[name] for name in names]


class TestBruteForce:
    """The query says what a part-by-part judgement on the physics package says."""

    @settings(max_examples=60, deadline=None)
    @given(drawn=PARTS, asked=NEEDS, wire=WIRES, made=MADE)
    def test_verdicts_figures_rank_and_counts(
        self, drawn: list[dict[str, Any]], asked: dict[str, Any], wire: dict[str, Any], made: dict[str, Any]
    ) -> None:
        """Whatever is known of the parts, and whatever is asked."""
        need = ConnectorNeed(supply="12V", **asked, **wire, **made)
        parts = [terminal(f"P{number:02}", **other) for number, other in enumerate(drawn)]
        with catalog_of(*parts) as catalog:
            rows = every_row(catalog, need)
            chosen = choose(catalog, need, top=50, near=0)
        stopped, unknown = dict.fromkeys(need.asked(), 0), dict.fromkeys(need.asked(), 0)
        fitting = []
        for part in parts:
            row, figures, judged = rows[part["part_number"]], carried(part, need.parameters()), verdicts(part, need)
            assert {name: row[f"ok_{name}"] for name in judged} == judged
            assert all(row[f"ok_{one.name}"] for one in need.rules.criteria if one.name not in judged)
            assert numbers(row, figures) == pytest.approx(numbers(figures, figures), rel=1e-9, abs=1e-12, nan_ok=True)
            failed = next((name for name, verdict in judged.items() if verdict is False), None)
            hidden = next((name for name, verdict in judged.items() if verdict is None), None)
            if failed or hidden:
                (stopped if failed else unknown)[failed or hidden] += 1
            else:
                keys = (figures["conduction_loss_w"], figures["strain"])
                known = tuple(float("inf") if key is None else float(f"{key:.9g}") for key in keys)
                fitting.append((*known, part["part_number"]))
        assert chosen.counts is not None
        assert dict(chosen.counts.stopped) == stopped
        assert dict(chosen.counts.unknown) == {name: number for name, number in unknown.items() if number}
        assert [row["part_number"] for row in chosen.ranked] == [name for *_, name in sorted(fitting)]

    @given(poles=st.integers(1, 24), pitch=st.floats(2e-3, 1e-2), other=st.floats(2e-3, 1e-2))
    @settings(max_examples=20, deadline=None)
    def test_the_offset_of_the_last_pole_is_that_of_the_physics(self, poles: int, pitch: float, other: float) -> None:
        """|a − b|·(n − 1)."""
        with catalog_of(terminal("A", poles=float(poles), pitch_m=pitch)) as catalog:
            row = every_row(catalog, ConnectorNeed(**LOAD, pitch=f"{other!r} m"))["A"]
        expected = contacts.pitch_offset(pitch_a_m=pitch, pitch_b_m=other, poles=float(poles))
        assert row["pitch_off_m"] == pytest.approx(expected, rel=1e-9, abs=1e-15)
