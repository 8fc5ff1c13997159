"""Connectors and curves, held against a data sheet's curve and the standards that it follows.

Marks beside the published values: *read* – read in the source; *computed* – worked out from the stated formula.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.errors import UsageError
from loadworthy.physics import contacts, curves

# Connector data sheet (read), 5 poles, limit 125 °C: air in °C, base curve in A, its 0.8 curve in A.
SHEET = (
    (20.0, 11.1, 8.88),
    (40.0, 9.95, 7.96),
    (60.0, 8.6, 6.88),
    (80.0, 7.05, 5.64),
    (100.0, 5.15, 4.12),
    (120.0, 2.1, 1.68),
)
BASE = {"curve_degc": [row[0] for row in SHEET], "curve_a": [row[1] for row in SHEET]}


class TestCurve:
    """Reading along a curve."""

    @pytest.mark.parametrize(("degc", "base_a", "usable_a"), SHEET)
    def test_the_points_are_met_and_four_fifths_of_them_may_be_used(
        self, degc: float, base_a: float, usable_a: float
    ) -> None:
        """IEC 60512-5-2 (read): the sheet prints both curves."""
        base = contacts.curve_current(degc=degc, **BASE)
        assert base == base_a
        assert contacts.usable_current(base_a=base) == pytest.approx(usable_a, abs=1e-9)

    @given(st.floats(20.0, 120.0))
    def test_between_two_points_the_current_lies_on_the_line(self, degc: float) -> None:
        """Worked out by hand from the two neighbours."""
        right = next(i for i in range(1, len(SHEET)) if degc <= SHEET[i][0])
        (t0, i0, _), (t1, i1, _) = SHEET[right - 1], SHEET[right]
        expected = i0 + (i1 - i0) * (degc - t0) / (t1 - t0)
        assert contacts.curve_current(degc=degc, **BASE) == pytest.approx(expected)

    def test_colder_than_the_curve_is_no_better_than_its_first_point(self) -> None:
        """Never drawn out upwards."""
        assert contacts.curve_current(degc=-40.0, **BASE) == 11.1

    def test_hotter_than_the_curve_nothing_is_known(self) -> None:
        """The last point is inside, a hair beyond it is not."""
        found = contacts.curve_current(degc=np.array([120.0, 120.01, math.nan]), **BASE)
        np.testing.assert_array_equal(found, [2.1, math.nan, math.nan])

    def test_a_curve_of_one_point_holds_up_to_it(self) -> None:
        """A single rating at a temperature."""
        assert curves.along_curve(degc=20.0, curve_degc=[40.0], curve_a=[8.0]) == 8.0
        assert math.isnan(curves.along_curve(degc=41.0, curve_degc=[40.0], curve_a=[8.0]))

    @pytest.mark.parametrize(
        ("degc", "amperes", "words"),
        [
            ([], [], "says nothing"),
            ([20.0, 40.0], [5.0], "1 currents do not go with 2 temperatures"),
            ([40.0, 20.0], [5.0, 6.0], "do not rise"),
            ([20.0, 20.0], [5.0, 6.0], "do not rise"),
            ([20.0, math.nan], [5.0, 4.0], "unknown"),
            ([20.0, 40.0], [5.0, math.nan], "unknown"),
            ([20.0, 40.0], [5.0, -4.0], "must not be negative"),
        ],
    )
    def test_what_is_no_curve_is_refused(self, degc: list[float], amperes: list[float], words: str) -> None:
        """With what is wrong about it."""
        with pytest.raises(UsageError, match=words):
            curves.along_curve(degc=30.0, curve_degc=degc, curve_a=amperes)


class TestRootLaw:
    """The fall-back where no curve is given."""

    PART = {"rated_a": 11.1, "rated_degc": 20.0, "limit_degc": 125.0}  # noqa: RUF012

    @pytest.mark.parametrize(("up_to_degc", "most"), [(90.0, 0.034), (110.0, 0.08), (120.0, 0.155)])
    def test_is_optimistic_at_the_sheet_s_points_by_no_more_than_was_found(
        self, up_to_degc: float, most: float
    ) -> None:
        """+3.4 % to 90 °C, +8 % at 110, +15 % at 120 (computed); held at the points that the sheet prints (read)."""
        points = [(degc, base) for degc, base, _ in SHEET if degc <= up_to_degc]
        excess = [contacts.root_law_current(ambient_degc=degc, **self.PART) / base - 1.0 for degc, base in points]
        assert min(excess[1:]) > 0.0
        assert max(excess) <= most

    def test_hot_air_is_where_the_law_flatters(self) -> None:
        """15 % too much at 120 °C (computed), whole per cent."""
        law = contacts.root_law_current(ambient_degc=120.0, **self.PART)
        assert law / 2.1 - 1.0 == pytest.approx(0.15, abs=0.005)

    def test_between_the_points_the_law_is_nowhere_below_the_line(self) -> None:
        """Always optimistic: the curve is the one to trust."""
        air = np.linspace(20.0, 120.0, 401)
        law = contacts.root_law_current(ambient_degc=air, **self.PART)
        assert np.all(law >= contacts.curve_current(degc=air, **BASE) * (1.0 - 1e-12))

    def test_beside_its_limit_a_contact_carries_nothing(self) -> None:
        """Zero at the limit and above; the rated current where the air is colder than the rating's."""
        found = contacts.root_law_current(ambient_degc=np.array([-40.0, 20.0, 125.0, 150.0]), **self.PART)
        np.testing.assert_array_equal(found, [11.1, 11.1, 0.0, 0.0])

    @given(st.floats(1.0, 30.0), st.floats(20.0, 120.0))
    def test_at_its_current_the_contact_reaches_its_limit(self, rated: float, air: float) -> None:
        """The law follows from a rise that goes with I²: 105 K at the rated current."""
        current = contacts.root_law_current(rated_a=rated, rated_degc=20.0, limit_degc=125.0, ambient_degc=air)
        reached = contacts.contact_temperature(current_a=current, rated_a=rated, rated_rise_k=105.0, ambient_degc=air)
        assert reached == pytest.approx(125.0)


class TestContact:
    """Rise, loss and pitch."""

    @pytest.mark.parametrize("rise_k", [30.0, 45.0])
    def test_the_rated_current_gives_the_rated_rise(self, rise_k: float) -> None:
        """30 K plugs (IEC 60512-5-1), 45 K terminals (IEC 60998-1), t = tamb + Δt (maker's note, read)."""
        at_rating = {"rated_a": 8.0, "rated_rise_k": rise_k, "ambient_degc": 40.0}
        assert contacts.contact_temperature(current_a=8.0, **at_rating) == 40.0 + rise_k
        assert contacts.contact_temperature(current_a=16.0, **at_rating) == 40.0 + 4.0 * rise_k
        assert contacts.contact_temperature(current_a=0.0, **at_rating) == 40.0

    def test_a_connector_of_two_poles_carries_the_current_out_and_back(self) -> None:
        """Twice the loss of one contact."""
        one, two = (contacts.contact_loss(current_a=7.5, contact_ohm=5e-3, contacts=n) for n in (1, 2))
        assert one == pytest.approx(7.5**2 * 5e-3)
        assert two == pytest.approx(2.0 * one)

    def test_twelve_poles_of_the_wrong_pitch_miss_by_most_of_a_millimetre(self) -> None:
        """5.00 against 5.08 mm: eleven times 0.08 mm, whichever is the board's."""
        for a, b in ((5.00e-3, 5.08e-3), (5.08e-3, 5.00e-3)):
            assert 1e3 * contacts.pitch_offset(pitch_a_m=a, pitch_b_m=b, poles=12) == pytest.approx(0.88)
        assert contacts.pitch_offset(pitch_a_m=5.00e-3, pitch_b_m=5.08e-3, poles=1) == 0.0
