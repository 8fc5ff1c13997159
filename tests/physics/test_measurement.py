"""What a meter's reading is worth, what leads add, what a test warms: against the GUM and data sheets."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from loadworthy.bench.combining import Reading, combine
from loadworthy.errors import UsageError
from loadworthy.physics import conduction, conductors, measurement

#: GUM (JCGM 100:2008) H.2, table H.2: estimates with their standard uncertainties, and their correlations.
H2_READINGS = {
    "volts": Reading(value=4.999, standard=3.2e-3),
    "amperes": Reading(value=19.661e-3, standard=9.5e-6),
    "phase": Reading(value=1.04446, standard=7.5e-4),
}
H2_CORRELATIONS = {("volts", "amperes"): -0.36, ("volts", "phase"): 0.86, ("amperes", "phase"): -0.65}


class TestCombining:
    """The one way in which readings become a result."""

    def test_gives_the_resistance_of_the_guide(self) -> None:
        """R = V/I·cos φ with its correlations: 127.732 (0.070) Ω (GUM H.2, table H.4)."""
        found = combine(
            lambda volts, amperes, phase: volts / amperes * math.cos(phase),
            H2_READINGS,
            correlations=H2_CORRELATIONS,
        )
        # The estimates are printed rounded; the guide worked with its unrounded means.
        assert found.value == pytest.approx(127.732, abs=0.005)
        assert found.standard == pytest.approx(0.070, abs=0.0015)

    def test_the_correlations_matter_there(self) -> None:
        """Without them the same readings give another uncertainty: the check above can fail."""
        found = combine(lambda volts, amperes, phase: volts / amperes * math.cos(phase), H2_READINGS)
        assert found.standard > 0.15

    def test_relative_uncertainties_of_a_quotient_add_in_squares(self) -> None:
        """Textbook: u²(R)/R² = u²(V)/V² + u²(I)/I² (GUM 5.1.6)."""
        readings = {"drop_v": Reading(value=0.096, standard=0.0012), "current_a": Reading(value=6.0, standard=0.03)}
        found = combine(
            lambda drop_v, current_a: measurement.drop_resistance(drop_v=drop_v, current_a=current_a, leads_ohm=0.0),
            readings,
        )
        assert found.standard / found.value == pytest.approx(math.hypot(0.0012 / 0.096, 0.03 / 6.0), rel=1e-6)
        assert found.shares["drop_v"] == pytest.approx((0.0012 / 0.096) ** 2 / (found.standard / found.value) ** 2)
        assert sum(found.shares.values()) == pytest.approx(1.0)

    def test_a_correlation_that_cannot_be_is_refused(self) -> None:
        """Above one there is none; nor are three of −0.9 possible at once."""
        with pytest.raises(UsageError, match="correlation"):
            combine(lambda volts, amperes, phase: volts, H2_READINGS, correlations={("volts", "phase"): 1.4})
        impossible = dict.fromkeys(H2_CORRELATIONS, -0.9)
        with pytest.raises(UsageError, match="correlation"):
            combine(lambda volts, amperes, phase: volts, H2_READINGS, correlations=impossible)


class TestReadings:
    """A meter, its leads and the factor behind the ±."""

    def test_the_deviation_of_a_rectangle(self) -> None:
        """GUM 4.3.7 against SciPy's uniform distribution."""
        half = 0.7
        expected = stats.uniform(loc=-half, scale=2 * half).std()
        assert measurement.rectangular_uncertainty(half_width=half) == pytest.approx(expected)

    def test_twice_the_deviation_is_about_95_percent(self) -> None:
        """The coverage of k = 2 is 95.45 % of a normal distribution (GUM G.1.3)."""
        assert stats.norm.cdf(measurement.COVERAGE) - stats.norm.cdf(-measurement.COVERAGE) == pytest.approx(
            0.9545, abs=5e-5
        )

    def test_percent_and_counts_add_before_the_root(self) -> None:
        """1 % of 200 and two counts of 0.5 bound it within 3; a negative reading is worth the same."""
        for reading in (200.0, -200.0):
            found = measurement.meter_uncertainty(reading=reading, accuracy=0.01, counts=2.0, step=0.5)
            assert found * math.sqrt(3.0) == pytest.approx(3.0)

    def test_leads_on_two_ohms(self) -> None:
        """0.2 Ω of lead on 2 Ω is 10 %, and is taken off again where it is known."""
        assert measurement.two_wire_error(leads_ohm=0.2, resistance_ohm=2.0) == pytest.approx(0.1)
        assert measurement.drop_resistance(drop_v=2.2, current_a=1.0, leads_ohm=0.2) == pytest.approx(2.0)

    def test_leads_that_explain_all_leave_nothing_known(self) -> None:
        """No resistance below zero."""
        assert math.isnan(measurement.drop_resistance(drop_v=0.01, current_a=1.0, leads_ohm=0.02))


class TestTemperature:
    """What was measured warm, brought to the data sheet's temperature."""

    @pytest.mark.parametrize(("hot_degc", "hot_ohm"), [(100.0, 6.5e-3), (175.0, 8.7e-3)])
    def test_the_hot_maxima_of_a_data_sheet_come_back_to_25_degrees(self, hot_degc: float, hot_ohm: float) -> None:
        """4.5 mΩ at 25 °C, 6.5 at 100, 8.7 at 175 °C: data sheet PSMN4R5-40BS; to the printed digits and 3 %."""
        found = measurement.resistance_at_25(resistance_ohm=hot_ohm, exponent=1.62, junction_degc=hot_degc)
        assert found == pytest.approx(4.5e-3, rel=0.03)

    def test_there_and_back_is_where_it_began(self) -> None:
        """The inverse of the law that the rest of the program uses."""
        there = conduction.resistance_at(rds25_ohm=0.02, exponent=2.1, junction_degc=88.0)
        back = measurement.resistance_at_25(resistance_ohm=there, exponent=2.1, junction_degc=88.0)
        assert back == pytest.approx(0.02, rel=1e-12)

    def test_copper_by_iec_60028(self) -> None:
        """20 → 120 °C is a factor of 1.393 (α = 0.00393 /K)."""
        found = measurement.resistance_at_other(
            resistance_ohm=10.0, at_degc=20.0, other_degc=120.0, alpha_20_per_k=conductors.COPPER_ALPHA_20
        )
        assert found == pytest.approx(13.93)

    def test_a_metal_below_where_its_line_ends_is_not_known(self) -> None:
        """Copper's line meets zero at −234.5 °C (the figure that winding tests use)."""
        part = {"resistance_ohm": 1.0, "at_degc": 20.0, "alpha_20_per_k": conductors.COPPER_ALPHA_20}
        assert measurement.resistance_at_other(other_degc=-234.0, **part) > 0.0
        assert math.isnan(measurement.resistance_at_other(other_degc=-235.0, **part))


class TestTransientBound:
    """How warm a test may get a junction."""

    def test_it_lies_above_what_a_data_sheet_says_after_ten_seconds(self) -> None:
        """SO-8: 50 K/W at 10 s, 85 K/W at 1000 s (data sheet); a bound from above."""
        found = measurement.transient_bound(time_s=10.0, rthjc_k_per_w=20.0, rthja_k_per_w=85.0)
        assert 50.0 <= found <= 85.0
        late = measurement.transient_bound(time_s=1000.0, rthjc_k_per_w=20.0, rthja_k_per_w=85.0)
        assert late == pytest.approx(85.0)

    def test_four_times_the_pulse_is_twice_the_rise(self) -> None:
        """Heat into a solid goes with the root of time (textbook); the whole part adds next to nothing yet."""
        part = {"rthjc_k_per_w": 2.0, "rthja_k_per_w": 2.0}
        short = measurement.transient_bound(time_s=100e-6, **part)
        assert measurement.transient_bound(time_s=400e-6, **part) == pytest.approx(2.0 * short)

    def test_it_never_falls_with_time_nor_exceeds_the_steady_state(self) -> None:
        """From a microsecond to a day."""
        times = [10.0**power for power in range(-6, 6)]
        found = [measurement.transient_bound(time_s=time, rthjc_k_per_w=3.0, rthja_k_per_w=62.5) for time in times]
        assert found == sorted(found)
        assert found[-1] <= 62.5
