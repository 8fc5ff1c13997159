"""The junction temperature's closed form, held against SciPy's root finder, a warming up, and limit cases."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from loadworthy.physics import conduction

T0 = 298.15


class Cases(NamedTuple):
    """Operating points, one an index."""

    current_a: npt.NDArray[np.float64]
    duty: npt.NDArray[np.float64]
    rds25_ohm: npt.NDArray[np.float64]
    exponent: npt.NDArray[np.float64]
    rth_k_per_w: npt.NDArray[np.float64]
    ambient_degc: npt.NDArray[np.float64]
    other_loss_w: npt.NDArray[np.float64]

    def self_heating_k(self) -> npt.NDArray[np.float64]:
        """Give the rise that the on-resistance at 25 °C would cause."""
        return self.duty * self.current_a**2 * self.rds25_ohm * self.rth_k_per_w


def random_cases(*, seed: int, count: int, exponents: tuple[float, float]) -> Cases:
    """Draw operating points from cool to far beyond runaway."""
    draw = np.random.default_rng(seed)

    def decades(least: float, most: float) -> npt.NDArray[np.float64]:
        return np.exp(draw.uniform(math.log(least), math.log(most), count))

    return Cases(
        current_a=decades(0.5, 40.0),
        duty=draw.uniform(0.05, 1.0, count),
        rds25_ohm=decades(1e-3, 0.3),
        exponent=draw.uniform(*exponents, count),
        rth_k_per_w=decades(1.0, 150.0),
        ambient_degc=draw.uniform(-40.0, 85.0, count),
        other_loss_w=draw.uniform(0.0, 1.0, count),
    )


def second_order(delta: npt.NDArray[np.float64] | float, exponent: float) -> npt.NDArray[np.float64] | float:
    """R(T)/R25 by the second-order law, from the binomial series."""
    u = delta / T0
    return 1.0 + exponent * u + exponent * (exponent - 1.0) / 2.0 * u * u


def power_law(delta: npt.NDArray[np.float64] | float, exponent: float) -> npt.NDArray[np.float64] | float:
    """R(T)/R25 by the power law."""
    return (1.0 + delta / T0) ** exponent


class Balance(NamedTuple):
    """The first temperature at which heating and cooling balance (nan: none), and how clear that is."""

    junction_degc: float
    clearance_k: float


def balance(cases: Cases, i: int, law: Callable[..., npt.NDArray[np.float64] | float]) -> Balance:
    """Search upwards from the ambient for the first balance, and close in on it with brentq."""
    k = float(cases.self_heating_k()[i])
    exponent = float(cases.exponent[i])
    ambient = float(cases.ambient_degc[i])
    constant = ambient - 25.0 + float(cases.rth_k_per_w[i] * cases.other_loss_w[i])

    def surplus(delta: npt.NDArray[np.float64] | float) -> npt.NDArray[np.float64] | float:
        return delta - constant - k * law(delta, exponent)

    steps = ambient - 25.0 + np.concatenate([[0.0], np.geomspace(1e-6, 1e8, 4000)])
    surpluses = np.asarray(surplus(steps))
    clearance = float(np.max(surpluses))
    cooled = np.flatnonzero(surpluses > 0.0)
    if cooled.size == 0:
        return Balance(math.nan, -clearance)
    first = int(cooled[0])
    root = brentq(surplus, float(steps[first - 1]), float(steps[first]), xtol=1e-12, rtol=1e-14)
    return Balance(25.0 + float(root), clearance)


def test_the_closed_form_finds_the_balance_that_brentq_finds_and_runaway_where_there_is_none() -> None:
    """Both sides of runaway, on 1500 operating points; the search cannot tell within 0.01 K of the brink."""
    cases = random_cases(seed=20, count=1500, exponents=(1.0, 2.6))
    closed = np.asarray(conduction.junction_temperature(**cases._asdict()))
    found = [balance(cases, i, second_order) for i in range(1500)]
    clear = np.array([f.clearance_k > 0.01 for f in found])
    searched = np.array([f.junction_degc for f in found])
    assert np.count_nonzero(~clear) <= 5
    assert np.count_nonzero(np.isnan(searched)) > 150
    assert np.count_nonzero(np.isfinite(searched)) > 150
    np.testing.assert_array_equal(np.isnan(closed[clear]), np.isnan(searched[clear]))
    np.testing.assert_allclose(closed[clear], searched[clear], rtol=1e-7)


def test_exponents_below_1_run_away_only_where_no_balance_lies_below_800_degc() -> None:
    """In air of 25 °C or more, as the function's description says."""
    cases = random_cases(seed=21, count=800, exponents=(0.0, 1.0))
    cases = cases._replace(ambient_degc=np.maximum(cases.ambient_degc, 25.0))
    closed = np.asarray(conduction.junction_temperature(**cases._asdict()))
    searched = np.array([balance(cases, i, second_order).junction_degc for i in range(800)])
    runaway = np.isnan(closed)
    assert 20 < np.count_nonzero(runaway) < 780
    assert np.all(np.isnan(searched[runaway]) | (searched[runaway] > 800.0))
    np.testing.assert_allclose(closed[~runaway], searched[~runaway], rtol=1e-7)


def test_the_closed_form_agrees_with_the_power_law_to_175_degc() -> None:
    """Where the laws differ by 1.0 % of R, the balances differ by that share of the rise over the gain.

    The gain is 1 less the slope of the heating, which is steepest at the hotter of the two balances, as R(T)
    curves upwards. Points with a slope above one half are near runaway, where no law is to be trusted.
    """
    cases = random_cases(seed=22, count=1500, exponents=(1.0, 2.4))
    closed = np.asarray(conduction.junction_temperature(**cases._asdict()))
    k = cases.self_heating_k()
    compared = 0
    for i in range(1500):
        true = balance(cases, i, power_law).junction_degc
        n = cases.exponent[i]
        if not true <= 175.0 or k[i] * n / T0 * power_law(true - 25.0, n - 1.0) > 0.5:
            continue
        hotter = max(true, closed[i]) - 25.0
        slope = k[i] * (n / T0 + n * (n - 1.0) * hotter / T0**2)
        allowed = 0.0105 * k[i] * power_law(true - 25.0, n) / (1.0 - slope)
        assert abs(closed[i] - true) <= allowed + 1e-9
        compared += 1
    assert compared > 500


@pytest.mark.parametrize("current_a", [5.0, 7.5, 9.5])
def test_a_part_that_warms_up_from_the_ambient_settles_at_the_closed_form(current_a: float) -> None:
    """The smaller root is the one that a cold part comes to: step through the warming up."""
    delta: Any = 15.0
    for _ in range(20_000):
        heating = 62.0 * current_a**2 * 0.013 * second_order(delta, 1.65)
        delta += 0.01 * (15.0 + heating - delta)
    closed = conduction.junction_temperature(
        current_a=current_a,
        duty=1.0,
        rds25_ohm=0.013,
        exponent=1.65,
        rth_k_per_w=62.0,
        ambient_degc=40.0,
        other_loss_w=0.0,
    )
    assert closed == pytest.approx(25.0 + delta, abs=1e-6)


POINT = {
    "current_a": 7.5,
    "duty": 0.8,
    "rds25_ohm": 0.013,
    "exponent": 1.65,
    "rth_k_per_w": 62.0,
    "ambient_degc": 40.0,
    "other_loss_w": 0.2,
}


@pytest.mark.parametrize("without", [{"current_a": 0.0}, {"duty": 0.0}, {"rds25_ohm": 0.0}])
def test_without_conduction_the_other_loss_alone_heats_the_junction(without: dict[str, float]) -> None:
    """No current, never on, or no resistance: TJ = TA + Rth·P."""
    assert conduction.junction_temperature(**POINT | without) == pytest.approx(40.0 + 62.0 * 0.2, rel=1e-12)


def test_a_perfect_sink_keeps_the_junction_at_the_ambient() -> None:
    """Rth of zero."""
    assert conduction.junction_temperature(**POINT | {"rth_k_per_w": 0.0}) == pytest.approx(40.0, rel=1e-12)


def test_with_exponent_0_the_rise_is_the_cold_loss_times_the_thermal_resistance() -> None:
    """A resistance that does not change with temperature."""
    rise = 62.0 * (0.8 * 7.5**2 * 0.013 + 0.2)
    assert conduction.junction_temperature(**POINT | {"exponent": 0.0}) == pytest.approx(40.0 + rise)


def test_with_exponent_1_the_balance_is_the_linear_one() -> None:
    """Δ = (TA − 25 + Rth·P + k)/(1 − k/298.15): where b is zero and a quadratic's usual root would fail."""
    k = 62.0 * 0.8 * 7.5**2 * 0.013
    delta = (15.0 + 62.0 * 0.2 + k) / (1.0 - k / T0)
    assert conduction.junction_temperature(**POINT | {"exponent": 1.0}) == pytest.approx(25.0 + delta)


def test_nearly_linear_exponents_lose_no_digits() -> None:
    """Nothing cancels where b is tiny: the result moves smoothly through exponent 1."""
    linear = conduction.junction_temperature(**POINT | {"exponent": 1.0})
    for shift in (1e-15, 1e-13, 1e-11, -1e-15, -1e-13, -1e-11):
        near = conduction.junction_temperature(**POINT | {"exponent": 1.0 + shift})
        assert near == pytest.approx(linear, rel=1e-13 + 10.0 * abs(shift))


def hotness(**changed: float) -> float:
    """Give the junction temperature of the point with changes; runaway counts as infinitely hot."""
    junction = float(conduction.junction_temperature(**POINT | changed))
    return math.inf if math.isnan(junction) else junction


@given(
    st.sampled_from(["current_a", "duty", "rds25_ohm", "rth_k_per_w", "ambient_degc", "other_loss_w"]),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_more_of_anything_that_heats_makes_no_cooler_junction(name: str, one: float, two: float) -> None:
    """Up to and past runaway."""
    most = {
        "current_a": 40.0,
        "duty": 1.0,
        "rds25_ohm": 0.3,
        "rth_k_per_w": 300.0,
        "ambient_degc": 125.0,
        "other_loss_w": 10.0,
    }[name]
    less, more = sorted((one * most, two * most))
    assert hotness(**{name: less}) <= hotness(**{name: more}) + 1e-9


@given(st.floats(0.0, 30.0), st.floats(1.0, 2.6), st.floats(-55.0, 125.0), st.floats(0.0, 3.0))
def test_at_the_junction_temperature_the_heat_made_is_the_heat_carried_off(
    current: float, exponent: float, ambient: float, other: float
) -> None:
    """The balance itself, put back together from the other functions."""
    changed = {
        "current_a": current,
        "exponent": exponent,
        "ambient_degc": ambient,
        "other_loss_w": other,
        "rth_k_per_w": 12.0,
    }
    junction = conduction.junction_temperature(**POINT | changed)
    if math.isnan(junction):
        return
    hot_ohm = conduction.resistance_at(rds25_ohm=0.013, exponent=exponent, junction_degc=junction)
    loss = conduction.conduction_loss(current_a=current, duty=0.8, resistance_ohm=hot_ohm) + other
    assert junction >= ambient - 1e-9
    assert ambient + 12.0 * loss == pytest.approx(junction, rel=1e-6, abs=1e-6)
