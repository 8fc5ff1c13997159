"""A transistor on the bench, against what an invented list claims of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from scipy import optimize

from loadworthy.bench import NOT_DECIDED, OUTSIDE, WITHIN, Finding, measure
from loadworthy.errors import LoadworthyError, QuantityError, UsageError

#: Two good meters, four wires, a short pulse at 25 °C: little is left to be uncertain of.
CLEAN = {
    "current": "6.000A", "gate": "5V", "temp": "25degC", "pulse": "300us", "volt_meter": "0.1%+1",
    "ammeter": "0.1%+1",
}  # fmt: skip


def _one(catalog: Any, name: str = "on_resistance", *, kelvin: bool = True, **given: str) -> Finding:
    result = measure("transistor", {**CLEAN, **given}, part="ALD-40", catalog=catalog, kelvin=kelvin)
    return next(one for one in result.samples[0].findings if one.name == name)


class TestOnResistance:
    """Drop over current, brought to 25 °C."""

    def test_is_ohms_law_where_nothing_is_to_be_corrected(self, catalog: Any) -> None:
        """54 mV at 6 A and 25 °C: 9 mΩ, to within what 300 µs can warm it."""
        found = _one(catalog, drop="54.00mV")
        assert found.value == pytest.approx(9e-3, rel=2e-3)
        assert found.verdict == WITHIN

    @pytest.mark.parametrize(("drop", "said"), [("54.0mV", WITHIN), ("60.0mV", NOT_DECIDED), ("70.0mV", OUTSIDE)])
    def test_against_the_maximum_at_the_greatest_voltage_not_above_the_gate(
        self, catalog: Any, drop: str, said: str
    ) -> None:
        """10 mΩ is specified at 4.5 V; the 8 mΩ at 10 V are no claim for 5 V."""
        found = _one(catalog, drop=drop)
        assert (found.verdict, found.band.most if found.band else None) == (said, 0.010)

    def test_at_ten_volts_the_other_maximum_counts(self, catalog: Any) -> None:
        """The same reading is outside there."""
        found = _one(catalog, drop="54.0mV", gate="10V")
        assert (found.verdict, found.band.most if found.band else None) == (OUTSIDE, 0.008)

    def test_nothing_is_claimed_below_the_first_voltage(self, catalog: Any) -> None:
        """And it says from where on something is."""
        found = _one(catalog, drop="54.0mV", gate="3.3V")
        assert (found.verdict, found.band) == (NOT_DECIDED, None)
        assert any("4.5 V on" in note for note in found.notes)

    def test_a_typical_figure_is_no_limit(self, catalog_with: Callable[..., Any]) -> None:
        """It is shown, and decides nothing."""
        none = {f"rds_{level}_{end}": None for level in ("4v5", "5v0") for end in ("ohm", "at_v")}
        typical = {"rds_typ_4v5_ohm": 0.007, "rds_typ_4v5_at_v": 4.5}
        found = _one(catalog_with(**none, **typical), drop="90.0mV")
        assert (found.verdict, found.band.limit if found.band else None) == (NOT_DECIDED, False)

    def test_a_hot_junction_reads_more_and_is_brought_back(self, catalog: Any) -> None:
        """4.5 mΩ at 25 °C, 6.5 mΩ at 100 °C: data sheet PSMN4R5-40BS, maximum; to 3 %."""
        found = _one(catalog, drop="39.00mV", temp="100degC", hot_exponent="1.62")
        assert found.value == pytest.approx(4.5e-3, rel=0.03)

    def test_the_uncertainty_is_the_root_of_squares(self, catalog: Any) -> None:
        """Two readings and the leads, by hand: relative for V and I (GUM 5.1.6), absolute for the leads."""
        found = _one(
            catalog, kelvin=False, drop="120.0mV", leads="10.0mohm", hot_exponent="0", volt_meter="1%+0", ammeter="2%+0"
        )
        volts, amperes, leads = 0.01 / math.sqrt(3), 0.02 / math.sqrt(3), 0.2 * 0.010 / math.sqrt(3)
        expected = 2.0 * math.hypot(0.020 * volts, 0.020 * amperes, leads)
        assert found.value == pytest.approx(0.010)
        assert found.uncertainty == pytest.approx(expected, rel=1e-4)
        assert sum(found.shares.values()) == pytest.approx(1.0)

    def test_temperature_and_its_doubt_are_in_it(self, catalog: Any) -> None:
        """The derivative of R25 by the temperature, taken here by SciPy from the power law itself."""
        exact = {"volt_meter": "0%+0", "ammeter": "0%+0", "hot_exponent": "2"}  # at 2 both laws are one
        found = _one(catalog, drop="60.0mV", temp="60degC", pulse="1ns", **exact)
        slope = optimize.approx_fprime([60.0], lambda t: 0.010 / ((t[0] + 273.15) / 298.15) ** 2)[0]
        assert found.uncertainty == pytest.approx(2.0 * abs(slope) * 2.0 / math.sqrt(3.0), rel=1e-3)

    def test_unknown_leads_bound_it_from_above_and_no_more(self, catalog: Any) -> None:
        """A two-wire reading of milliohms is called what it is, and can pass but not fail."""
        for drop, said in (("54.0mV", WITHIN), ("300.0mV", NOT_DECIDED)):
            found = _one(catalog, kelvin=False, drop=drop)
            assert (found.value, found.low, found.verdict) == (None, 0.0, said)
            assert any("two-wire" in note for note in found.notes)

    def test_known_leads_are_taken_off_and_said(self, catalog: Any) -> None:
        """3 mΩ of 12: the leads are a third of the part."""
        found = _one(catalog, kelvin=False, drop="72.0mV", leads="3mohm")
        assert found.value == pytest.approx(9e-3, rel=2e-3)
        assert any("33.4 %" in note or "33.3 %" in note for note in found.notes)

    def test_a_long_test_is_less_certain_and_reads_lower_at_25_degrees(self, catalog: Any) -> None:
        """The junction warms by an unknown amount; without a word on time by the most."""
        given = {**CLEAN, "drop": "60.0mV"}
        del given["pulse"]
        found = []
        for more in ({"pulse": "300us"}, {"duration": "5s"}, {}):
            result = measure("transistor", {**given, **more}, part="ALD-40", catalog=catalog, kelvin=True)
            found.append(result.samples[0].findings[0])
        assert [one.uncertainty for one in found] == sorted(one.uncertainty or 0.0 for one in found)
        assert [one.value for one in found] == sorted((one.value or 0.0 for one in found), reverse=True)
        assert any("was not said" in note for note in found[2].notes)

    def test_digits_left_out_are_what_spoils_it(self, catalog: Any) -> None:
        """6A in place of 6.00A: it says so."""
        found = _one(catalog, drop="54.0mV", current="6A")
        assert found.verdict == NOT_DECIDED
        assert any("6A" in note and "all the digits" in note for note in found.notes)


class TestOtherFigures:
    """Threshold, gate capacitance, breakdown, and what was only looked at."""

    @pytest.mark.parametrize(
        ("name", "option", "text", "said"),
        [
            ("threshold", "vth", "1.80V", WITHIN),
            ("threshold", "vth", "0.70V", OUTSIDE),
            ("threshold", "vth", "2.50V", NOT_DECIDED),
            ("gate_capacitance", "gate_capacitance", "2.6nF", WITHIN),
            ("gate_capacitance", "gate_capacitance", "0.60nF", OUTSIDE),
            ("breakdown", "breakdown", "46.0V", WITHIN),
            ("breakdown", "breakdown", "31.0V", OUTSIDE),
            ("marking", "marking", "agrees", WITHIN),
            ("marking", "marking", "differs", OUTSIDE),
            ("outline", "outline", "differs", OUTSIDE),
        ],
    )
    def test_against_what_is_listed(self, catalog: Any, name: str, option: str, text: str, said: str) -> None:
        """VGS(th) 1 to 2.5 V, Ciss 2 nF, VDS 40 V; alone, without an on-resistance."""
        result = measure("transistor", {option: text, "temp": "25degC"}, part="ALD-40", catalog=catalog)
        assert [(one.name, one.verdict) for one in result.samples[0].findings] == [(name, said)]

    def test_a_threshold_taken_warm_is_less_certain(self, catalog: Any) -> None:
        """7 mV for each kelvin at most (common practice): 0.35 V at 75 °C."""
        at_25 = _one(catalog, "threshold", vth="1.80V", drop="54.0mV")
        at_75 = _one(catalog, "threshold", vth="1.80V", drop="54.0mV", temp="75degC")
        assert (at_75.high or 0.0) - (at_25.high or 0.0) == pytest.approx(0.35)

    def test_a_breakdown_far_above_hints_at_another_die(self, catalog: Any) -> None:
        """It is no contradiction, and worth a word."""
        found = _one(catalog, "breakdown", breakdown="110.0V", drop="54.0mV")
        assert found.verdict == WITHIN
        assert any("another die" in note for note in found.notes)

    def test_one_contradiction_outweighs_all_that_fits(self, catalog: Any) -> None:
        """On-resistance and threshold fit, the marking does not."""
        given = {**CLEAN, "drop": "54.0mV", "vth": "1.80V", "marking": "differs"}
        result = measure("transistor", given, part="ALD-40", catalog=catalog, kelvin=True)
        assert result.verdict == OUTSIDE
        assert result.samples[0].words.startswith("Contradicted by the marking:")


class TestClaims:
    """Where what is claimed comes from."""

    def test_a_data_sheet_in_hand_counts_before_the_list(self, catalog: Any) -> None:
        """8.5 mΩ given, 10 listed."""
        found = _one(catalog, drop="54.0mV", claimed_on_resistance="8.5mohm")
        assert (found.verdict, found.band.said if found.band else None) == (OUTSIDE, "as given")

    @pytest.mark.parametrize("with_catalog", [True, False])
    def test_a_part_that_nobody_lists(self, catalog: Any, with_catalog: bool) -> None:
        """It is measured all the same, against what was given."""
        result = measure(
            "transistor",
            {**CLEAN, "drop": "54.0mV", "claimed_on_resistance": "10mohm"},
            part="NOBODY-1",
            catalog=catalog if with_catalog else None,
            kelvin=True,
        )
        assert result.verdict == WITHIN
        assert result.claimed is not None
        assert "nothing is claimed but what you gave" in result.claimed.notes[0]

    @pytest.mark.parametrize("text", ["2.5V..1V", "1..2..3V", "many", "1..2.5"])
    def test_a_claim_without_sense_is_refused(self, catalog: Any, text: str) -> None:
        """Bounds the wrong way round, three of them, or no quantity."""
        with pytest.raises(QuantityError) as caught:
            _one(catalog, "threshold", vth="1.80V", drop="54.0mV", claimed_threshold=text)
        assert "--claimed-threshold" in (caught.value.where or "")


class TestRefusals:
    """What cannot be worked out says why, and the way out."""

    @pytest.mark.parametrize(
        ("given", "where"),
        [
            ({}, "--drop"),
            ({"drop": "54mV"}, "--current"),
            ({"drop": "54mV", "current": "6A"}, "--gate"),
            ({**CLEAN, "drop": "54mV", "leads": "1ohm"}, "--leads"),
            ({**CLEAN, "drop": "54mV", "duration": "5s"}, "--pulse"),
            ({**CLEAN, "drop": "54mV", "package": "TO-9999"}, "--package"),
            ({**CLEAN, "drop": "54mV", "marking": "maybe"}, "--marking"),
            ({**CLEAN, "drop": "54mV", "gate": "5A"}, "--gate"),
            ({**CLEAN, "drop": "54mV", "temp": "900degC"}, "--temp"),
            ({**CLEAN, "drop": "54kV"}, "--drop"),
            ({**CLEAN, "drop": "54mV", "hot_exponent": "9"}, "--hot-exponent"),
        ],
    )
    def test_names_the_option(self, given: dict[str, str], where: str) -> None:
        """Never a traceback."""
        with pytest.raises(LoadworthyError) as caught:
            measure("transistor", given, part="X", catalog=None)
        assert where in (caught.value.where or "")
        assert caught.value.way_out

    def test_four_wires_have_no_leads(self) -> None:
        """One excludes the other."""
        with pytest.raises(UsageError, match="four wires"):
            measure("transistor", {**CLEAN, "drop": "54mV", "leads": "1mohm"}, part="X", kelvin=True)

    @pytest.mark.parametrize("part", [None, "", "  "])
    def test_a_part_has_a_number(self, part: str | None) -> None:
        """Without one nothing is claimed by anybody."""
        with pytest.raises(UsageError, match="which part"):
            measure("transistor", {**CLEAN, "drop": "54mV"}, part=part)
