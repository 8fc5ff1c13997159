"""Fuses, held against makers' tables and UL 248-14.

Marks beside the published values: *read* – read in the source; *memory* – recalled, so never the only check.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.physics import fuses, loads

# Resettable 30 V part, maker's data sheet (read): hold in A against air in °C.
HOLD_DEGC = (-40.0, -20.0, 0.0, 20.0, 40.0, 50.0, 60.0, 70.0, 85.0)
HOLD_A = (7.25, 6.50, 5.75, 5.00, 4.15, 3.85, 3.40, 3.05, 2.60)

# Blade fuses, maker's table (read): continuous A by rating, in whole amperes, against air in °C.
BLADE_DEGC = (-40.0, 0.0, 20.0, 65.0, 85.0, 110.0, 125.0)
BLADE_A = {
    10.0: (10.0, 10.0, 10.0, 8.0, 7.0, 6.0, 5.0),
    15.0: (15.0, 15.0, 14.0, 12.0, 11.0, 9.0, 8.0),
    20.0: (20.0, 19.0, 18.0, 15.0, 14.0, 12.0, 10.0),
    30.0: (30.0, 29.0, 27.0, 23.0, 21.0, 18.0, 15.0),
}


class TestContinuous:
    """What a fuse carries for good."""

    @pytest.mark.parametrize(
        ("share", "carried_a"), [(fuses.UL_CONTINUOUS_SHARE, 7.5), (fuses.IEC_CONTINUOUS_SHARE, 10.0)]
    )
    def test_a_ul_type_carries_three_quarters_and_an_iec_type_all(self, share: float, carried_a: float) -> None:
        """A fuse maker's comparison (read): 75 % and 100 %."""
        assert fuses.continuous_current(rating_a=10.0, share=share) == carried_a

    @pytest.mark.parametrize("rating", BLADE_A)
    def test_a_blade_s_table_has_its_margin_inside(self, rating: float) -> None:
        """Read along the table with a share of 1; three quarters again would halve it at 125 °C."""
        for degc, printed in zip(BLADE_DEGC, BLADE_A[rating], strict=True):
            carried = fuses.hold_current(degc=degc, curve_degc=BLADE_DEGC, curve_a=BLADE_A[rating])
            assert fuses.continuous_current(rating_a=carried, share=1.0) == printed
        between = fuses.hold_current(degc=40.0, curve_degc=BLADE_DEGC, curve_a=BLADE_A[rating])
        assert BLADE_A[rating][3] < between < BLADE_A[rating][2]


class TestResettable:
    """Hold and trip against temperature."""

    @pytest.mark.parametrize(("degc", "hold_a"), list(zip(HOLD_DEGC, HOLD_A, strict=True)))
    def test_hold_meets_the_maker_s_table(self, degc: float, hold_a: float) -> None:
        """30 V part (read), 145 % at −40 °C down to 52 % at 85 °C."""
        assert fuses.hold_current(degc=degc, curve_degc=HOLD_DEGC, curve_a=HOLD_A) == hold_a

    def test_the_ends_of_the_table_are_the_shares_that_the_maker_prints(self) -> None:
        """145 % and 52 % of the 5 A at 20 °C (read), and the trip current of 10 A with them (practice)."""
        for degc, share in ((-40.0, 1.45), (85.0, 0.52)):
            hold = fuses.hold_current(degc=degc, curve_degc=HOLD_DEGC, curve_a=HOLD_A)
            trip = fuses.trip_current(trip_a=10.0, hold_at_degc_a=hold, hold_at_rating_a=5.0)
            assert trip == pytest.approx(10.0 * share)

    def test_beyond_the_table_nothing_is_known_and_in_the_cold_no_more_than_it_says(self) -> None:
        """As along every curve."""
        found = fuses.hold_current(degc=np.array([-60.0, 86.0]), curve_degc=HOLD_DEGC, curve_a=HOLD_A)
        np.testing.assert_array_equal(found, [7.25, math.nan])

    @given(st.floats(0.1, 40.0), st.floats(0.1, 20.0))
    def test_at_the_temperature_of_the_rating_the_trip_current_is_the_rated_one(self, trip: float, hold: float) -> None:
        """The limit case."""
        assert fuses.trip_current(trip_a=trip, hold_at_degc_a=hold, hold_at_rating_a=hold) == pytest.approx(trip)

    def test_a_part_that_has_tripped_takes_five_times_the_voltage_of_a_new_one(self) -> None:
        """Rmin 0.010, R1max 0.050 Ω (read), at the hold current of 5 A."""
        new, tripped = (fuses.fuse_drop(current_a=5.0, resistance_ohm=ohm) for ohm in (0.010, 0.050))
        assert (new, tripped) == (pytest.approx(0.05), pytest.approx(0.25))


class TestOpening:
    """What surely opens a fuse, and when."""

    @pytest.mark.parametrize(("share", "within_s"), [(1.35, 3600.0), (2.0, 120.0)])
    @pytest.mark.parametrize("rating", [0.3, 1.0, 7.0, 10.0, 30.0])
    def test_meets_ul_248_14(self, rating: float, share: float, within_s: float) -> None:
        """135 % within an hour, 200 % within two minutes, to 30 A (read)."""
        at = fuses.sure_opening_current(rating_a=rating, factor=share)
        assert at == pytest.approx(share * rating)
        assert fuses.sure_opening_time(current_a=at, rating_a=rating, opens=fuses.UL_248_14_OPENS) == within_s
        sooner = fuses.sure_opening_time(current_a=0.999 * at, rating_a=rating, opens=fuses.UL_248_14_OPENS)
        assert not sooner <= within_s

    def test_the_rated_current_is_carried_and_no_time_is_promised(self) -> None:
        """UL 248-14 (read): carries 100 %."""
        assert math.isnan(fuses.sure_opening_time(current_a=30.0, rating_a=30.0, opens=fuses.UL_248_14_OPENS))

    def test_a_blade_opens_sooner_than_ul_asks_the_more_the_current(self) -> None:
        """ISO 8820-3 (memory): at no multiple is its time longer than UL 248-14's (read)."""
        current = np.array([13.5, 20.0, 35.0])
        blade = fuses.sure_opening_time(current_a=current, rating_a=10.0, opens=fuses.BLADE_OPENS)
        glass = fuses.sure_opening_time(current_a=current, rating_a=10.0, opens=fuses.UL_248_14_OPENS)
        assert np.all(blade < glass)
        assert np.all(np.diff(blade) < 0.0)


def test_a_short_circuit_drives_what_the_loop_lets_through() -> None:
    """Ohm's law: with the loop's resistance as the load."""
    assert fuses.fault_current(supply_v=12.0, loop_ohm=0.05) == loads.load_current(supply_v=12.0, resistance_ohm=0.05)
    assert fuses.fault_current(supply_v=12.0, loop_ohm=0.05) == pytest.approx(240.0)


def test_a_cold_lamp_draws_about_ten_times_its_current() -> None:
    """Practice: a 12 V lamp of 60 W draws 5 A warm."""
    hot_ohm = 12.0**2 / 60.0
    cold = loads.tungsten_cold_resistance(hot_ohm=hot_ohm)
    assert loads.load_current(supply_v=12.0, resistance_ohm=cold) == pytest.approx(50.0)
