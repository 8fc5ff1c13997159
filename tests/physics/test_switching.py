"""The gate and the cost of switching, held against published examples and integrals.

Marks beside the published values: *read* – read in the source; *memory* – recalled, so never the only check.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from loadworthy.physics import switching

# ROHM application note AEK59-D1-0065-2 (read): a converter from 12 V to 5 V.
CONVERTER = {"supply_v": 12.0, "current_a": 3.0, "rise_s": 4e-9, "fall_s": 6e-9, "pwm_hz": 2e6}
CONVERTER_SWITCHING_MW = 360
CONVERTER_GATES_MW = 20


def test_switching_loss_meets_the_published_converter() -> None:
    """½·V·I·(tr + tf)·f, to half a milliwatt."""
    loss = switching.switching_loss(**CONVERTER, inductive=True)
    assert 1e3 * loss == pytest.approx(CONVERTER_SWITCHING_MW, abs=0.5)


def test_gate_loss_meets_the_published_converter() -> None:
    """Two gates of 1 nC at 5 V and 2 MHz; the formula is that of TI SLVAED3A (read)."""
    loss = 2 * switching.gate_loss(drive_v=5.0, qg_c=1e-9, pwm_hz=2e6)
    assert 1e3 * loss == pytest.approx(CONVERTER_GATES_MW, abs=0.5)


def test_gate_loss_is_the_energy_that_the_driver_gives_in_a_period() -> None:
    """The driver moves the charge across its full voltage once a period: integrate v·dq."""
    energy, _ = quad(lambda _charge: 5.0, 0.0, 40e-9)
    assert switching.gate_loss(drive_v=5.0, qg_c=40e-9, pwm_hz=20e3) == pytest.approx(energy * 20e3)


@pytest.mark.parametrize("current_share", [0.2, 0.5, 0.9])
def test_an_inductive_step_costs_the_integral_of_voltage_times_current(current_share: float) -> None:
    """The current climbs at full voltage, then the voltage at full current, however they share the time."""

    def voltage(t: float) -> float:
        return 12.0 if t < current_share else 12.0 * (1.0 - t) / (1.0 - current_share)

    def current(t: float) -> float:
        return min(t / current_share, 1.0) * 3.0

    energy, _ = quad(lambda t: voltage(t) * current(t), 0.0, 1.0, points=[current_share])
    loss = switching.switching_loss(supply_v=12.0, current_a=3.0, rise_s=1e-6, fall_s=0.0, pwm_hz=20e3, inductive=True)
    assert loss == pytest.approx(energy * 1e-6 * 20e3)


def test_a_resistive_step_costs_the_integral_of_voltage_times_current() -> None:
    """Voltage and current ramp together."""
    energy, _ = quad(lambda t: 12.0 * (1.0 - t) * 3.0 * t, 0.0, 1.0)
    loss = switching.switching_loss(supply_v=12.0, current_a=3.0, rise_s=0.0, fall_s=1e-6, pwm_hz=20e3, inductive=False)
    assert loss == pytest.approx(energy * 1e-6 * 20e3)


def test_a_resistive_load_takes_one_third_of_the_inductive_loss() -> None:
    """Textbook, from memory; the integrals above check it."""
    inductive = switching.switching_loss(**CONVERTER, inductive=True)
    assert switching.switching_loss(**CONVERTER, inductive=False) == pytest.approx(inductive / 3.0)


def test_each_row_of_an_array_may_have_its_own_kind_of_load() -> None:
    """An inductive and a resistive one."""
    losses = switching.switching_loss(**CONVERTER, inductive=np.array([True, False]))
    np.testing.assert_allclose(losses, [0.36, 0.12], rtol=1e-12)


def test_without_pwm_there_is_no_loss() -> None:
    """A frequency of zero."""
    assert switching.switching_loss(**CONVERTER | {"pwm_hz": 0.0}, inductive=True) == 0.0
    assert switching.gate_loss(drive_v=5.0, qg_c=40e-9, pwm_hz=0.0) == 0.0


@given(
    st.floats(1e-10, 1e-6),
    st.floats(1.0, 1e5),
    st.floats(1.0, 5.0),
    st.floats(0.01, 10.0),
)
def test_transition_times_move_the_gate_drain_charge_through_the_resistor(
    qgd: float, ohm: float, plateau: float, headroom: float
) -> None:
    """The Motorola TMOS handbook (read): tr = Qgd·R/(Vdrive − Vplateau), tf = Qgd·R/Vplateau.

    Held against the charge itself: the current of the resistor, integrated over the time, is Qgd.
    """
    rise, fall = switching.transition_times(qgd_c=qgd, gate_ohm=ohm, drive_v=plateau + headroom, plateau_v=plateau)
    on, _ = quad(lambda _time: (plateau + headroom - plateau) / ohm, 0.0, rise)
    off, _ = quad(lambda _time: plateau / ohm, 0.0, fall)
    assert on == pytest.approx(qgd, rel=1e-9)
    assert off == pytest.approx(qgd, rel=1e-9)


@pytest.mark.parametrize("drive_v", [0.0, 2.9, 3.0])
def test_a_drive_that_does_not_pass_the_plateau_never_turns_the_part_on(drive_v: float) -> None:
    """No rise time (nan); the fall is as ever."""
    rise, fall = switching.transition_times(qgd_c=1e-8, gate_ohm=100.0, drive_v=drive_v, plateau_v=3.0)
    assert math.isnan(rise)
    assert fall == pytest.approx(1e-8 * 100.0 / 3.0)


def test_no_gate_resistance_switches_at_once() -> None:
    """The limit of the model, not of a real gate."""
    assert switching.transition_times(qgd_c=1e-8, gate_ohm=0.0, drive_v=5.0, plateau_v=3.0) == (0.0, 0.0)


@pytest.mark.parametrize(("series_ohm", "pulldown_ohm"), [(0.0, 1e4), (1e3, math.inf), (0.0, math.inf)])
def test_a_divider_with_one_resistor_takes_nothing(series_ohm: float, pulldown_ohm: float) -> None:
    """No series resistor, no pull-down, or neither."""
    assert switching.gate_divider(pin_v=3.3, series_ohm=series_ohm, pulldown_ohm=pulldown_ohm) == 3.3


@given(st.floats(0.1, 24.0), st.floats(0.0, 1e6), st.floats(1.0, 1e7))
def test_the_divider_passes_the_same_current_through_both_resistors(pin: float, series: float, pulldown: float) -> None:
    """(V − VGS)/Rs = VGS/Rp, cleared of its fractions."""
    gate = switching.gate_divider(pin_v=pin, series_ohm=series, pulldown_ohm=pulldown)
    assert 0.0 <= gate <= pin
    assert (pin - gate) * pulldown == pytest.approx(gate * series, rel=1e-9, abs=1e-9 * pin * pulldown)


@given(st.floats(1e-4, 2.0), st.floats(0.0, 10.0))
def test_a_coil_gives_back_what_was_put_in_while_its_current_rose(inductance: float, current: float) -> None:
    """The integral of L·i over the current, by SciPy."""
    put_in, _ = quad(lambda i: inductance * i, 0.0, current)
    given_back = switching.inductive_energy(inductance_h=inductance, current_a=current)
    assert given_back == pytest.approx(put_in, rel=1e-9)


def test_twice_the_current_is_four_times_the_energy() -> None:
    """And no current is no energy."""
    one, two = (switching.inductive_energy(inductance_h=0.5, current_a=a) for a in (0.4, 0.8))
    assert two == pytest.approx(4.0 * one)
    assert switching.inductive_energy(inductance_h=0.5, current_a=0.0) == 0.0
