"""Meters and readings as they are typed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.bench.claims import claimed_band
from loadworthy.bench.meters import ASSUMED_METER, read_meter, typed, typed_step
from loadworthy.errors import LoadworthyError, QuantityError, UsageError


class TestTypedStep:
    """One count is the last digit that was typed."""

    @pytest.mark.parametrize(
        ("text", "unit", "step"),
        [
            ("96mV", "V", 1e-3),
            ("96.40mV", "V", 1e-5),
            ("0.0964V", "V", 1e-4),
            ("96,4 mV", "V", 1e-4),
            ("6A", "A", 1.0),
            ("6.00A", "A", 0.01),
            ("1R6", "ohm", 0.1),
            ("R012", "ohm", 1e-3),
            ("1.60 Ω", "ohm", 0.01),
            ("9.6E-2 V", "V", 1e-3),
            ("1.9nF", "F", 1e-10),
            ("2V50", "V", 0.01),
            ("1 234 ohm", "ohm", 1.0),
            ("9.99V", "V", 0.01),
        ],
    )
    def test_is_that_of_the_digits(self, text: str, unit: str, step: float) -> None:
        """Counted by hand from the text."""
        assert typed_step(text, unit) == pytest.approx(step, rel=1e-5)

    @given(st.integers(1, 9999), st.integers(0, 4))
    def test_follows_the_decimals(self, digits: int, decimals: int) -> None:
        """Any number of digits with any number of decimals in millivolts."""
        text = f"{digits / 10**decimals:.{decimals}f}mV"
        assert typed_step(text, "V") == pytest.approx(10.0**-decimals * 1e-3, rel=1e-4)

    def test_refuses_what_is_no_quantity(self) -> None:
        """Without a digit there is no last one."""
        with pytest.raises(QuantityError):
            typed_step("many volts", "V")


class TestMeter:
    """An accuracy as a data sheet writes it."""

    @pytest.mark.parametrize(
        ("text", "accuracy", "counts", "step"),
        [
            ("0.5%+3", 0.005, 3.0, None),
            ("±(0.8 % + 2 digits)", 0.008, 2.0, None),
            ("1% of reading + 5 counts", 0.01, 5.0, None),
            ("0,05 %", 0.0005, 0.0, None),
            ("0.5% + 3 of 0.1mV", 0.005, 3.0, 1e-4),
        ],
    )
    def test_is_read(self, text: str, accuracy: float, counts: float, step: float | None) -> None:
        """Percent of the reading, counts, and what a count is."""
        meter = read_meter("volt_meter", text, "V")
        assert (meter.accuracy, meter.counts, meter.assumed) == (pytest.approx(accuracy), counts, False)
        assert meter.step == (None if step is None else pytest.approx(step))

    @pytest.mark.parametrize("text", ["good", "0.5", "+3", "0.5%+3 of 2A", "80%+1", "-1%+3", "", "0.5%+3 of 0V"])
    def test_what_is_none_is_refused_with_its_option(self, text: str) -> None:
        """The error names the option and how to write it."""
        with pytest.raises((UsageError, QuantityError)) as caught:
            read_meter("volt_meter", text, "V")
        assert caught.value.where == "--volt-meter"
        assert caught.value.way_out

    def test_nobody_said_which(self) -> None:
        """Then one hand-held is assumed, and every reading says so."""
        assert read_meter("ammeter", None, "A") is ASSUMED_METER
        shown = typed("current", "6.00A", "A", ASSUMED_METER)
        assert any("common practice" in text for text in shown.said)

    def test_a_reading_says_when_its_count_was_taken_from_the_text(self) -> None:
        """Not where the meter says what a count is."""
        told = typed("drop", "96mV", "V", read_meter("volt_meter", "0.5%+3", "V"))
        known = typed("drop", "96mV", "V", read_meter("volt_meter", "0.5%+3 of 0.1mV", "V"))
        assert any("last digit typed" in text for text in told.said)
        assert known.said == ()
        assert known.reading.standard < told.reading.standard

    def test_the_bound_is_percent_and_counts(self) -> None:
        """0.5 % of 96 mV and three counts of 1 mV: 3.48 mV, by √3 (GUM 4.3.7)."""
        shown = typed("drop", "96mV", "V", read_meter("volt_meter", "0.5%+3", "V"))
        assert shown.reading.standard == pytest.approx(3.48e-3 / math.sqrt(3.0))

    @pytest.mark.parametrize("text", ["96", "-96mV", "0mV", "96mA"])
    def test_a_reading_without_sense_is_refused(self, text: str) -> None:
        """No unit, the wrong one, or nothing above zero."""
        with pytest.raises(QuantityError) as caught:
            typed("drop", text, "V", ASSUMED_METER)
        assert caught.value.where == "--drop"


_TYPED = st.text(alphabet="0123456789.,+-±%() eEmµuVAΩRohmcountsdigitof·x×^'’٣", max_size=16)


class TestWhateverIsTyped:
    """Nothing but errors that say the way out."""

    @given(_TYPED | st.text(max_size=12))
    def test_a_meter_is_read_or_refused(self, text: str) -> None:
        """Finite figures, or an error of ours."""
        try:
            meter = read_meter("volt_meter", text, "V")
        except LoadworthyError:
            return
        assert math.isfinite(meter.accuracy)
        assert math.isfinite(meter.counts)

    @given(_TYPED.map(lambda text: f"{text}V") | st.text(max_size=12), st.sampled_from(["V", "A", "ohm", "F"]))
    def test_a_reading_is_read_or_refused(self, text: str, unit: str) -> None:
        """A value above zero with a count and an uncertainty, or an error of ours."""
        try:
            shown = typed("drop", text, unit, ASSUMED_METER, most=1e9)
        except LoadworthyError:
            return
        assert shown.value > 0.0
        assert 0.0 < shown.step < math.inf
        assert math.isfinite(shown.reading.standard)

    @given(_TYPED | st.text(max_size=12))
    def test_a_claim_is_read_or_refused(self, text: str) -> None:
        """Bounds in order, or an error of ours."""
        try:
            band = claimed_band("claimed_threshold", text, "V", alone="most")
        except LoadworthyError:
            return
        assert band is not None
        assert band.least is None or band.most is None or band.least <= band.most
