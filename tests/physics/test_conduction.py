"""On-resistance, conduction loss and junction temperature, held against data sheets and SciPy.

Marks beside the published values: *read* – read in the source; *practice* – a fact of the trade without a
source.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.physics import conduction, loads

T0 = 298.15


class HotFigure(NamedTuple):
    """On-resistances that one data sheet prints, in mΩ, with half a step of the last digit printed."""

    source: str
    vds_v: float
    cold_mohm: float
    hot_mohm: float
    hot_degc: float
    half_step_mohm: float


# Data sheets, each value read there. The first sheet prints typical and maximum at two temperatures.
HOT_FIGURES = (
    HotFigure("PSMN4R5-40BS, typical", 40.0, 3.79, 5.5, 100.0, 0.05),
    HotFigure("PSMN4R5-40BS, typical", 40.0, 3.79, 7.41, 175.0, 0.005),
    HotFigure("PSMN4R5-40BS, maximum", 40.0, 4.5, 6.5, 100.0, 0.05),
    HotFigure("PSMN4R5-40BS, maximum", 40.0, 4.5, 8.7, 175.0, 0.05),
    HotFigure("BUK9505-30A, VGS 5 V", 30.0, 5.0, 9.3, 175.0, 0.05),
    HotFigure("2N6798", 200.0, 400.0, 750.0, 125.0, 5.0),
    HotFigure("PSMN020-150W", 150.0, 20.0, 57.0, 175.0, 0.5),
)
# What the ratios above give, computed: 30-40 V parts 1.5-1.7, 150-200 V parts 2.2-2.6, to one decimal.
EXPONENTS_TO_40_V = (1.5, 1.7)
EXPONENTS_FROM_150_V = (2.2, 2.6)


def fitted(figure: HotFigure) -> float:
    """Give the exponent that a published pair of figures has."""
    return float(conduction.hot_exponent(ratio=figure.hot_mohm / figure.cold_mohm, hot_degc=figure.hot_degc))


@pytest.mark.parametrize("figure", HOT_FIGURES, ids=str)
def test_published_hot_figures_give_exponents_in_the_band_of_their_voltage(figure: HotFigure) -> None:
    """Each sheet alone, rounded to the one decimal that the bands have."""
    least, most = EXPONENTS_TO_40_V if figure.vds_v <= 40.0 else EXPONENTS_FROM_150_V
    assert least <= round(fitted(figure), 1) <= most


@pytest.mark.parametrize("figure", HOT_FIGURES, ids=str)
def test_the_power_law_gives_the_published_hot_figure_back(figure: HotFigure) -> None:
    """The fit and the law are each other's inverse."""
    hot = conduction.resistance_power_law(
        rds25_ohm=figure.cold_mohm * 1e-3, exponent=fitted(figure), junction_degc=figure.hot_degc
    )
    assert hot == pytest.approx(figure.hot_mohm * 1e-3, rel=1e-12)


@pytest.mark.parametrize("figure", HOT_FIGURES, ids=str)
def test_the_second_order_law_gives_the_published_hot_figure_back_within_2_percent(figure: HotFigure) -> None:
    """1.0 % where the exponent is not above 2.4."""
    hot = conduction.resistance_at(
        rds25_ohm=figure.cold_mohm * 1e-3, exponent=fitted(figure), junction_degc=figure.hot_degc
    )
    assert hot == pytest.approx(figure.hot_mohm * 1e-3, rel=0.02 if fitted(figure) > 2.4 else 0.0105)


@pytest.mark.parametrize(("at_100", "at_175"), [HOT_FIGURES[0:2], HOT_FIGURES[2:4]], ids=["typical", "maximum"])
def test_the_exponent_of_the_hottest_figure_foretells_the_one_between(at_100: HotFigure, at_175: HotFigure) -> None:
    """PSMN4R5-40BS prints a third point, which the fit has not seen: to the printed digits."""
    between_mohm = 1e3 * conduction.resistance_at(
        rds25_ohm=at_175.cold_mohm * 1e-3, exponent=fitted(at_175), junction_degc=at_100.hot_degc
    )
    assert between_mohm == pytest.approx(at_100.hot_mohm, abs=at_100.half_step_mohm)


@pytest.mark.parametrize("figure", HOT_FIGURES, ids=str)
def test_the_assumed_exponent_is_near_the_published_one(figure: HotFigure) -> None:
    """The bands are 0.2 and 0.4 wide, so that no published part is further from the assumption than that."""
    assumed = conduction.default_hot_exponent(vds_v=figure.vds_v)
    assert assumed == pytest.approx(fitted(figure), abs=0.2 if figure.vds_v <= 40.0 else 0.4)


@pytest.mark.parametrize(
    ("vds_v", "exponent"), [(12.0, 1.65), (60.0, 1.65), (105.0, 2.025), (150.0, 2.4), (600.0, 2.4)]
)
def test_the_assumed_exponent_is_flat_at_both_ends_and_linear_between(vds_v: float, exponent: float) -> None:
    """1.65 up to 60 V, 2.4 from 150 V, and half-way between them at 105 V."""
    assert conduction.default_hot_exponent(vds_v=vds_v) == pytest.approx(exponent, rel=1e-12)


def test_the_assumed_exponent_is_no_more_hopeful_than_the_rule_of_thumb() -> None:
    """+50 % per 100 °C, and x 1.3 for a hot part: TI application notes BQ24650 and LM5088 (read).

    The rule of thumb has no digits to hold against, so: never below it, and not a quarter above. The note
    gives no temperature for x 1.3: taken as 60 to 100 °C (common practice).
    """
    ratio = conduction.resistance_at(rds25_ohm=1.0, exponent=1.65, junction_degc=125.0)
    assert 1.5 <= ratio <= 1.25 * 1.5
    at_60, at_100 = (conduction.resistance_at(rds25_ohm=1.0, exponent=1.65, junction_degc=hot) for hot in (60.0, 100.0))
    assert at_60 <= 1.3 <= at_100


@pytest.mark.parametrize(("most_exponent", "tolerance"), [(2.39, 0.01), (2.4, 0.0105), (2.6, 0.02)])
def test_the_second_order_law_stays_near_the_power_law_from_minus_55_to_175(
    most_exponent: float, tolerance: float
) -> None:
    """The range of validity that the law's own description states; 1.0 % is stated to a tenth."""
    exponent, junction = np.meshgrid(np.linspace(0.0, most_exponent, 101), np.linspace(-55.0, 175.0, 231))
    second = conduction.resistance_at(rds25_ohm=1.0, exponent=exponent, junction_degc=junction)
    np.testing.assert_allclose(second, ((junction + 273.15) / T0) ** exponent, rtol=tolerance)


@given(exponent=st.floats(0, 8), coldest=st.floats(-55, 200), warmer=st.floats(0, 255))
def test_no_part_has_less_resistance_than_its_least_growth(exponent: float, coldest: float, warmer: float) -> None:
    """At the coldest and at every temperature above it, up to 200 °C."""
    junction = min(coldest + warmer, 200.0)
    least = conduction.least_growth(exponent=exponent, coldest_degc=coldest)
    at = conduction.resistance_at(rds25_ohm=1.0, exponent=exponent, junction_degc=junction)
    assert least <= at * (1 + 1e-12)
    if exponent <= 4:
        here = conduction.resistance_at(rds25_ohm=1.0, exponent=exponent, junction_degc=coldest)
        assert least == pytest.approx(here, rel=1e-12)


@pytest.mark.parametrize("exponent", [0.0, 1.0, 2.0])
def test_the_second_order_law_is_exact_for_exponents_0_1_and_2(exponent: float) -> None:
    """The binomial series ends there."""
    junction = np.linspace(-55.0, 300.0, 72)
    second = conduction.resistance_at(rds25_ohm=0.02, exponent=exponent, junction_degc=junction)
    power = conduction.resistance_power_law(rds25_ohm=0.02, exponent=exponent, junction_degc=junction)
    np.testing.assert_allclose(second, power, rtol=1e-12)


# Conduction loss ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("current_a", "duty", "resistance_ohm", "printed_w", "half_step_w"),
    [
        # ROHM application note AEK59-D1-0065-2 (read): 12 V to 5 V, 3 A, 100 and 70 mΩ.
        (3.0, 5.0 / 12.0, 0.100, 0.375, 0.0005),
        (3.0, 7.0 / 12.0, 0.070, 0.3675, 0.00005),
        # A measured jig (practice): "almost 5 W".
        (11.0, 1.0, 0.040, 5.0, 0.5),
    ],
)
def test_conduction_loss_meets_worked_examples(
    current_a: float, duty: float, resistance_ohm: float, printed_w: float, half_step_w: float
) -> None:
    """To half a step of the last digit printed."""
    loss = conduction.conduction_loss(current_a=current_a, duty=duty, resistance_ohm=resistance_ohm)
    assert loss == pytest.approx(printed_w, abs=half_step_w)


def test_under_8_milliohm_at_11_ampere_is_under_a_watt() -> None:
    """A measured jig; practice."""
    assert conduction.conduction_loss(current_a=11.0, duty=1.0, resistance_ohm=0.008) < 1.0


@given(st.floats(0.0, 100.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_conduction_loss_is_the_rms_current_squared_times_resistance(current: float, duty: float, ohm: float) -> None:
    """Two ways to the same heat."""
    rms = loads.rms_current(current_a=current, duty=duty)
    loss = conduction.conduction_loss(current_a=current, duty=duty, resistance_ohm=ohm)
    assert loss == pytest.approx(rms**2 * ohm, rel=1e-12, abs=1e-300)
