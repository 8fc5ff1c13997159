"""Printed copper, held against IPC-2221, the resistance of a square, and Kirchhoff's laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.errors import UsageError
from loadworthy.physics import conductors, traces

OUNCE_M = 1.378 * 25.4e-6

# From the formula of IPC-2221 (computed outside the project), one ounce, 20 K: A, constant, mm.
WIDTHS = ((5.0, traces.OUTER_K, 1.816), (5.0, traces.INNER_K, 4.724), (10.0, traces.OUTER_K, 4.724))
LAYERS = st.sampled_from([traces.OUTER_K, traces.INNER_K])


class TestLaw:
    """I = k·ΔT^0.44·A^0.725 and its inverses."""

    @pytest.mark.parametrize(("current_a", "layer_k", "width_mm"), WIDTHS)
    def test_widths_meet_those_worked_out_from_the_standard(
        self, current_a: float, layer_k: float, width_mm: float
    ) -> None:
        """To the last digit."""
        width = traces.trace_width(current_a=current_a, rise_k=20.0, thickness_m=OUNCE_M, layer_k=layer_k)
        assert 1e3 * width == pytest.approx(width_mm, abs=6e-4)

    def test_the_law_itself_in_its_own_units(self) -> None:
        """100 mil of 1 mil at 10 K, outer (IPC-2221, read): 0.048·10^0.44·100^0.725."""
        current = traces.trace_current(width_m=2.54e-3, thickness_m=25.4e-6, rise_k=10.0, layer_k=traces.OUTER_K)
        assert current == pytest.approx(0.048 * 10.0**0.44 * 100.0**0.725, rel=1e-12)

    def test_an_inner_layer_carries_half_of_what_an_outer_one_does(self) -> None:
        """0.024 to 0.048 (read)."""
        trace = {"width_m": 3e-3, "thickness_m": OUNCE_M, "rise_k": 20.0}
        outer, inner = (traces.trace_current(**trace, layer_k=k) for k in (traces.OUTER_K, traces.INNER_K))
        assert inner == pytest.approx(outer / 2.0)

    @given(st.floats(1e-4, 10e-3), st.floats(17e-6, 70e-6), st.floats(1.0, 50.0), LAYERS)
    def test_rise_and_width_are_the_inverse_of_current(
        self, width: float, thickness: float, rise: float, layer: float
    ) -> None:
        """Through the current and back."""
        try:
            current = traces.trace_current(width_m=width, thickness_m=thickness, rise_k=rise, layer_k=layer)
        except UsageError:
            assert width > 5e-3  # only broad and hot copper passes the greatest current
            return
        same = {"current_a": current, "thickness_m": thickness, "layer_k": layer}
        assert traces.trace_rise(**same, width_m=width) == pytest.approx(rise, rel=1e-9)
        assert traces.trace_width(**same, rise_k=rise) == pytest.approx(width, rel=1e-9)

    def test_layers_of_both_kinds_in_one_row(self) -> None:
        """Each as it is alone."""
        layers = np.array([traces.OUTER_K, traces.INNER_K])
        row = traces.trace_rise(current_a=4.0, width_m=3e-3, thickness_m=OUNCE_M, layer_k=layers)
        alone = [traces.trace_rise(current_a=4.0, width_m=3e-3, thickness_m=OUNCE_M, layer_k=k) for k in layers]
        np.testing.assert_allclose(row, alone, rtol=1e-13)


class TestRange:
    """What the charts of IPC-2221 do not reach (read): 35 A outer, 17.5 A inner, 100 K, 400 mil."""

    def test_20_a_on_an_inner_layer_is_refused(self) -> None:
        """The words say which limit."""
        with pytest.raises(UsageError, match=r"20 A is more than the charts give for an inner layer, 17\.5 A"):
            traces.trace_width(current_a=20.0, rise_k=20.0, thickness_m=OUNCE_M, layer_k=traces.INNER_K)

    @pytest.mark.parametrize(
        ("inside", "outside", "words"),
        [
            ({"current_a": 35.0}, {"current_a": 35.1}, "outer layer, 35 A"),
            ({"current_a": 17.5, "layer_k": traces.INNER_K}, {"current_a": 17.6, "layer_k": traces.INNER_K}, "17.5 A"),
            ({"rise_k": 100.0}, {"rise_k": 101.0}, "a rise of 101 K"),
            ({"width_m": 400 * 25.4e-6}, {"width_m": 10.2e-3}, "a width of 10.2 mm"),
        ],
    )
    def test_the_edge_is_inside_and_what_lies_past_it_is_told(
        self, inside: dict[str, float], outside: dict[str, float], words: str
    ) -> None:
        """In the words that the refusals use."""
        trace = {"current_a": 5.0, "rise_k": 20.0, "width_m": 2e-3, "layer_k": traces.OUTER_K}
        assert traces.trace_problem(**trace | inside) is None
        told = traces.trace_problem(**trace | outside)
        assert told is not None
        assert words in told

    def test_a_row_names_the_value_that_lies_outside(self) -> None:
        """The first, counted from 1."""
        with pytest.raises(UsageError, match=r"value 2 of 3"):
            traces.trace_rise(
                current_a=np.array([1.0, 36.0, 40.0]), width_m=9e-3, thickness_m=70e-6, layer_k=traces.OUTER_K
            )

    def test_each_function_refuses_what_comes_out_of_range(self) -> None:
        """Results are judged as inputs are."""
        outer = {"thickness_m": OUNCE_M, "layer_k": traces.OUTER_K}
        with pytest.raises(UsageError, match="a rise of"):
            traces.trace_rise(current_a=20.0, width_m=1e-3, **outer)
        with pytest.raises(UsageError, match="a width of"):
            traces.trace_width(current_a=34.0, rise_k=5.0, **outer)
        with pytest.raises(UsageError, match="more than the charts give for an outer layer"):
            traces.trace_current(width_m=10e-3, rise_k=100.0, thickness_m=105e-6, layer_k=traces.OUTER_K)

    def test_the_unknown_is_not_judged(self) -> None:
        """Nan is neither inside nor outside."""
        assert traces.trace_problem(current_a=math.nan, rise_k=math.nan, width_m=math.nan, layer_k=math.nan) is None

    def test_a_constant_of_no_layer_is_refused(self) -> None:
        """There are two."""
        with pytest.raises(UsageError, match=r"0\.03 is the constant of no layer"):
            traces.trace_problem(current_a=1.0, rise_k=1.0, width_m=1e-3, layer_k=0.03)


class TestCopper:
    """Resistance, and copper beside copper."""

    def test_a_square_of_one_ounce_has_about_half_a_milliohm(self) -> None:
        """0.5 mΩ a square at room temperature (practice)."""
        square = traces.trace_resistance(width_m=5e-3, thickness_m=OUNCE_M, length_m=5e-3, degc=20.0)
        assert 1e3 * square == pytest.approx(0.5, abs=0.05)

    def test_a_trace_is_a_wire_of_its_area(self) -> None:
        """The wire of 1 mm² as a trace: 17.24 mΩ a metre (IEC 60028, read)."""
        trace = traces.trace_resistance(width_m=10e-3, thickness_m=100e-6, length_m=1.0, degc=20.0)
        assert 1e3 * trace == pytest.approx(17.24, abs=0.005)

    @given(st.floats(0.5, 10.0), st.floats(1.01, 10.0), st.floats(0.01, 0.5), st.floats(1e-3, 0.2))
    def test_the_added_wire_leaves_the_trace_its_own_limit(
        self, limit: float, times: float, length: float, trace_ohm: float
    ) -> None:
        """Kirchhoff: two resistances side by side share the current as their conductances."""
        total = limit * times
        area = traces.needed_parallel_area(total_a=total, trace_a=limit, trace_ohm=trace_ohm, length_m=length)
        wire_ohm = length * conductors.solid_resistance_per_m(area_m2=area)
        assert total * wire_ohm / (wire_ohm + trace_ohm) == pytest.approx(limit, rel=1e-9)

    @pytest.mark.parametrize("total", [0.0, 3.0, 5.0])
    def test_no_wire_where_the_trace_alone_will_do(self, total: float) -> None:
        """Not a negative one."""
        assert traces.needed_parallel_area(total_a=total, trace_a=5.0, trace_ohm=0.02, length_m=0.1) == 0.0
