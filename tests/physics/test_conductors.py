"""Copper wire, held against the wire gauge's published table, IEC 60228, SciPy and `ht`.

Marks beside the published values: *read* – read in the source; *memory* – recalled, so never the only check;
*practice* – a fact of the trade without a source.
"""

from __future__ import annotations

import math

import ht
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from loadworthy.errors import UsageError
from loadworthy.physics import conductors

# Solid copper of the American wire gauge at 20 °C, published table (read): gauge, Ω/km.
GAUGE_OHM_PER_KM = ((10, 3.28), (14, 8.28), (18, 20.94), (20, 33.29), (24, 84.20))

# IEC 60228 (read), plain copper, greatest Ω/km at 20 °C: mm², class 5, class 2.
IEC_60228 = (
    (0.5, 39.0, 36.0),
    (0.75, 26.0, 24.5),
    (1.0, 19.5, 18.1),
    (1.5, 13.3, 12.1),
    (2.5, 7.98, 7.41),
    (4.0, 4.95, 4.61),
    (6.0, 3.30, 3.08),
)


class TestGauge:
    """The American wire gauge."""

    @pytest.mark.parametrize(("gauge", "ohm_per_km"), GAUGE_OHM_PER_KM)
    def test_resistance_meets_the_published_table(self, gauge: int, ohm_per_km: float) -> None:
        """Within 0.1 %, from the diameter of ASTM B258 and copper of IEC 60028 (both read)."""
        area = conductors.awg_area(gauge=gauge)
        assert 1e3 * conductors.solid_resistance_per_m(area_m2=area) == pytest.approx(ohm_per_km, rel=1e-3)

    @pytest.mark.parametrize(("gauge", "diameter_mm"), [(36, 0.127), (-3, 11.684)])
    def test_the_two_diameters_that_define_the_gauge(self, gauge: int, diameter_mm: float) -> None:
        """ASTM B258: 0.0050 in and 0.4600 in, with 38 gauges between them (the definition)."""
        assert 1e3 * conductors.awg_diameter(gauge=gauge) == pytest.approx(diameter_mm, rel=1e-12)

    def test_rows_of_gauges(self) -> None:
        """Each as it is alone; unknown stays unknown."""
        row = conductors.awg_diameter(gauge=np.array([-3.0, 18.0, 40.0, math.nan]))
        alone = [conductors.awg_diameter(gauge=gauge) for gauge in (-3, 18, 40)]
        np.testing.assert_allclose(row, [*alone, math.nan], rtol=1e-14)

    @pytest.mark.parametrize("gauge", [-4, 41, 18.5, math.inf])
    def test_what_is_no_gauge_is_refused(self, gauge: float) -> None:
        """By its number."""
        with pytest.raises(UsageError, match=f"{gauge:g} is no wire gauge"):
            conductors.awg_diameter(gauge=gauge)


class TestStranded:
    """The table of IEC 60228."""

    @pytest.mark.parametrize(("mm2", "class_5", "class_2"), IEC_60228)
    def test_meets_the_standard(self, mm2: float, class_5: float, class_2: float) -> None:
        """To the last digit."""
        for kind, printed in ((5, class_5), (2, class_2)):
            found = conductors.stranded_resistance_per_m(area_m2=mm2 * 1e-6, conductor_class=kind)
            assert 1e3 * found == pytest.approx(printed, rel=1e-12)

    def test_is_not_worked_out_from_the_nominal_area(self) -> None:
        """1 mm² at 1/58 would give 17.24 Ω/km, not 19.5 (read)."""
        solid = conductors.solid_resistance_per_m(area_m2=1e-6)
        assert 1e3 * solid == pytest.approx(17.24, abs=0.005)
        assert conductors.stranded_resistance_per_m(area_m2=1e-6, conductor_class=5) > 1.1 * solid

    @pytest.mark.parametrize("kind", [2, 5])
    def test_no_row_is_better_than_solid_copper_of_that_area_nor_far_from_it(self, kind: int) -> None:
        """Rows from memory among them: stranding costs some per cent, never a fifth."""
        for area, ohm_per_m in conductors.IEC_60228_OHM_PER_M[kind].items():
            ratio = ohm_per_m / conductors.solid_resistance_per_m(area_m2=area)
            assert 1.0 < ratio < 1.2

    def test_an_area_that_is_not_tabulated_is_refused_with_those_that_are(self) -> None:
        """Nothing is made up between the rows."""
        with pytest.raises(UsageError, match=r"2 mm² is not in the table.*0\.5, 0\.75, 1, 1\.5, 2\.5, 4, 6") as caught:
            conductors.stranded_resistance_per_m(area_m2=np.array([1e-6, 2e-6]), conductor_class=5)
        assert caught.value.where == "area_m2"

    def test_rows_of_areas(self) -> None:
        """As they come, within a per cent of the nominal area; unknown stays unknown."""
        found = conductors.stranded_resistance_per_m(
            area_m2=np.array([[6e-6, 0.995e-6], [math.nan, 2.5e-6]]), conductor_class=2
        )
        np.testing.assert_allclose(found, [[3.08e-3, 18.1e-3], [math.nan, 7.41e-3]])


class TestResistance:
    """Length and temperature."""

    def test_copper_at_20_degc_is_as_stated(self) -> None:
        """IEC 60028 (read): nothing to correct at the reference."""
        assert conductors.copper_factor(degc=20.0) == 1.0
        assert conductors.conductor_resistance(ohm_per_m_20=0.0133, length_m=3.0, degc=20.0) == pytest.approx(0.0399)

    def test_copper_s_resistance_would_vanish_at_minus_234_5_degc(self) -> None:
        """The inferred zero of annealed copper, 234.5 (IEC 60034, from memory): the line through two points."""
        at_20, at_100 = (conductors.copper_factor(degc=degc) for degc in (20.0, 100.0))
        assert 20.0 - at_20 * 80.0 / (at_100 - at_20) == pytest.approx(-234.5, abs=0.1)

    @given(st.floats(0.0, 30.0), st.floats(0.0, 1.0))
    def test_the_drop_times_the_current_is_the_heat(self, current: float, ohm: float) -> None:
        """U·I = I²·R."""
        drop = conductors.voltage_drop(current_a=current, resistance_ohm=ohm)
        assert drop * current == pytest.approx(current**2 * ohm)


wires = st.fixed_dictionaries(
    {
        "ohm_per_m_20": st.floats(1e-3, 0.1),
        "outer_diameter_m": st.floats(1e-3, 8e-3),
        "ambient_degc": st.floats(-40.0, 85.0),
        "film_w_per_m2_k": st.floats(5.0, 30.0),
    }
)


class TestWarmWire:
    """The balance of a wire's heat."""

    @given(wires, st.floats(0.0, 0.9))
    def test_brentq_finds_the_same_balance(self, wire: dict[str, float], share: float) -> None:
        """SciPy on the balance itself, at up to nine tenths of the current that no wire could stand."""
        cooling = wire["film_w_per_m2_k"] * math.pi * wire["outer_diameter_m"]
        current = share * math.sqrt(cooling / (wire["ohm_per_m_20"] * 0.00393))

        def surplus(degc: float) -> float:
            heat = current**2 * wire["ohm_per_m_20"] * (1.0 + 0.00393 * (degc - 20.0))
            return cooling * (degc - wire["ambient_degc"]) - heat

        found = conductors.wire_temperature(current_a=current, **wire)
        assert found == pytest.approx(brentq(surplus, -60.0, 5000.0, xtol=1e-10), abs=1e-6)

    @given(wires, st.floats(1.0001, 3.0))
    def test_beyond_the_brink_there_is_no_temperature(self, wire: dict[str, float], share: float) -> None:
        """k·α ≥ 1: every kelvin makes more heat than it carries off."""
        brink = math.sqrt(
            wire["film_w_per_m2_k"] * math.pi * wire["outer_diameter_m"] / (wire["ohm_per_m_20"] * 0.00393)
        )
        assert math.isnan(conductors.wire_temperature(current_a=share * brink, **wire))

    @given(wires, st.floats(86.0, 200.0))
    def test_the_limit_current_warms_the_wire_to_its_limit(self, wire: dict[str, float], limit: float) -> None:
        """Current and temperature are each other's inverse."""
        current = conductors.wire_current(limit_degc=limit, **wire)
        assert conductors.wire_temperature(current_a=current, **wire) == pytest.approx(limit, abs=1e-6)

    @pytest.mark.parametrize("limit", [40.0, 20.0])
    def test_in_air_as_warm_as_the_limit_nothing_may_flow(self, limit: float) -> None:
        """Zero, not the root of a negative number."""
        wire = {"ohm_per_m_20": 0.0195, "outer_diameter_m": 2.4e-3, "ambient_degc": 40.0, "film_w_per_m2_k": 10.0}
        assert conductors.wire_current(limit_degc=limit, **wire) == 0.0

    def test_without_a_current_the_wire_is_as_warm_as_the_air(self) -> None:
        """The limit case."""
        wire = {"ohm_per_m_20": 0.0195, "outer_diameter_m": 2.4e-3, "ambient_degc": 40.0, "film_w_per_m2_k": 10.0}
        assert conductors.wire_temperature(current_a=0.0, **wire) == pytest.approx(40.0)

    @pytest.mark.parametrize("rise_k", [20.0, 40.0, 60.0])
    @pytest.mark.parametrize("diameter_m", [1e-3, 2e-3, 4e-3, 6e-3])
    def test_the_film_offered_for_still_air_is_on_the_safe_side(self, diameter_m: float, rise_k: float) -> None:
        """`ht`: Churchill and Chu on a level cylinder, and radiation of plastic (ε 0.9, practice), in air of 20 °C.

        Air at 300–350 K (Incropera, table A.4, from memory): ν about 1.8e-5 m²/s, k 0.028 W/(m·K), Pr 0.70.
        """
        grashof = 9.81 * rise_k / (293.15 + rise_k / 2.0) * diameter_m**3 / 1.8e-5**2
        convection = ht.Nu_horizontal_cylinder_Churchill_Chu(0.70, grashof) * 0.028 / diameter_m
        radiation = ht.q_rad(0.9, 293.15 + rise_k, 293.15) / rise_k
        assert convection + radiation >= conductors.STILL_AIR_FILM_W_PER_M2_K
