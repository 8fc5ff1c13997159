"""Ratings, thermal chains and heat sinks, held against military sheets, a textbook and a maker's tutorial.

Marks beside the published values: *read* – read in the source; *memory* – recalled, so never the only check;
*practice* – a fact of the trade without a source.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from loadworthy.catalog.packages import canonical, packages
from loadworthy.physics import conduction, thermal

# Ratings -------------------------------------------------------------------------------------------------


def test_power_rating_meets_the_military_sheet() -> None:
    """MIL-PRF-19500/557F (read): 25 W at RθJC 5.0 K/W, TJmax 150 °C, TC 25 °C."""
    rating = thermal.power_rating(junction_max_degc=150.0, case_degc=25.0, rthjc_k_per_w=5.0)
    assert rating == pytest.approx(25.0, abs=0.5)


class CurrentPair(NamedTuple):
    """Drain currents in A that a sheet prints for cases of 25 and 100 °C, and half a printed step of each."""

    at_25_a: float
    at_100_a: float
    half_step_25_a: float
    half_step_100_a: float


# MIL-PRF-19500/557F (read). Every figure is a whole number of half amperes: that is the printed step.
PAIRS_557F = tuple(CurrentPair(a, b, 0.0, 0.25) for a, b in ((8.0, 5.0), (5.5, 3.5), (3.0, 2.0), (2.5, 1.5)))
# MIL-PRF-19500/565B (read), to the last digit printed. Only in its first pair does it show that the first
# current is rounded, too.
PAIRS_565B = (
    CurrentPair(1.16, 0.74, 0.005, 0.005),
    CurrentPair(6.0, 3.8, 0.0, 0.05),
    CurrentPair(12.0, 7.6, 0.0, 0.05),
    CurrentPair(25.0, 15.8, 0.0, 0.05),
)


@pytest.mark.parametrize("pair", PAIRS_557F + PAIRS_565B, ids=str)
def test_the_case_current_rating_falls_from_25_to_100_degc_as_the_military_sheets_print(
    pair: CurrentPair,
) -> None:
    """Both ratings have the same hot resistance and RθJC, so these follow from the first current.

    TJmax 150 °C is read in /557F; that /565B has it too is from memory. The first current lies anywhere
    within its printed step, and so must the second.
    """
    rthjc = 5.0

    def at_100(at_25_a: float) -> float:
        hot_ohm = 125.0 / (rthjc * at_25_a**2)
        return float(
            thermal.case_current_rating(
                junction_max_degc=150.0, case_degc=100.0, rthjc_k_per_w=rthjc, hot_resistance_ohm=hot_ohm
            )
        )

    assert at_100(pair.at_25_a - pair.half_step_25_a) <= pair.at_100_a + pair.half_step_100_a
    assert at_100(pair.at_25_a + pair.half_step_25_a) >= pair.at_100_a - pair.half_step_100_a


@pytest.mark.parametrize(("case_degc", "printed_a"), [(25.0, 5.5), (100.0, 3.5)])
def test_the_current_rating_of_a_200_v_part_follows_from_its_hot_resistance(case_degc: float, printed_a: float) -> None:
    """2N6798: 400 mΩ at 25 °C, 750 mΩ at 125 °C (data sheet, read); RθJC 5.0 K/W, TJmax 150 °C (/557F, read).

    That the pair 5.5 and 3.5 A of /557F, printed in half amperes, is this part's is from memory.
    """
    exponent = conduction.hot_exponent(ratio=750.0 / 400.0, hot_degc=125.0)
    rating = thermal.case_current_rating(
        junction_max_degc=150.0,
        case_degc=case_degc,
        rthjc_k_per_w=5.0,
        hot_resistance_ohm=conduction.resistance_at(rds25_ohm=0.4, exponent=exponent, junction_degc=150.0),
    )
    assert rating == pytest.approx(printed_a, abs=0.25)


@given(st.floats(50.0, 200.0), st.floats(-55.0, 45.0), st.floats(0.1, 50.0), st.floats(1e-3, 2.0))
def test_at_its_rated_current_a_part_on_a_perfect_case_reaches_its_rated_junction(
    junction_max: float, case: float, rthjc: float, hot_ohm: float
) -> None:
    """Rating and heating are each other's inverse."""
    current = thermal.case_current_rating(
        junction_max_degc=junction_max, case_degc=case, rthjc_k_per_w=rthjc, hot_resistance_ohm=hot_ohm
    )
    loss = conduction.conduction_loss(current_a=current, duty=1.0, resistance_ohm=hot_ohm)
    assert case + rthjc * loss == pytest.approx(junction_max, rel=1e-9)


@pytest.mark.parametrize("case_degc", [150.0, 151.0, 400.0])
def test_a_case_as_hot_as_the_junction_may_be_leaves_no_rating(case_degc: float) -> None:
    """Zero, not a negative power or the root of one."""
    part = {"junction_max_degc": 150.0, "case_degc": case_degc, "rthjc_k_per_w": 5.0}
    assert thermal.power_rating(**part) == 0.0
    assert thermal.case_current_rating(**part, hot_resistance_ohm=0.1) == 0.0


# Still air -----------------------------------------------------------------------------------------------

# Thermal resistance from junction to still air, from data sheets (read), in K/W: package, condition, value.
STILL_AIR = (
    ("TO-220", "maximum, one maker", 62.0),
    ("TO-220", "maximum, another maker", 62.5),
    ("TO-220", "typical, a third maker", 60.0),
    ("D2PAK", "maximum, 1 square inch of copper", 40.0),
    ("D2PAK", "typical, minimum footprint", 50.0),
    ("DPAK", "no copper", 110.0),
    ("DPAK", "1 square inch of copper", 50.0),
    ("DPAK", "no copper, another maker", 100.0),
    ("DPAK", "1 square inch of copper, another maker", 52.0),
    ("SO-8", "10 s", 50.0),
    ("SO-8", "1000 s", 85.0),
    ("SOT-23", "minimum copper", 250.0),
    ("SOT-23", "minimum copper, another maker", 270.0),
    ("SOT-23", "typical, on a board", 75.0),
    ("SOT-23", "maximum, on a board", 100.0),
    ("TO-92", "one maker", 312.5),
    ("TO-92", "another maker", 357.0),
)


@pytest.mark.parametrize(("package", "condition", "rthja"), STILL_AIR)
def test_the_loss_that_still_air_carries_off_brings_the_junction_to_the_limit(
    package: str, condition: str, rthja: float
) -> None:
    """The rating in still air and the self-heating agree, and brentq finds the same balance: 40 to 125 °C."""
    # What the table of outlines falls back on is no more hopeful than any published bare-footprint figure.
    if not any(word in condition for word in ("copper,", "inch", "board", "10 s")):
        outline = next(one for one in packages() if one.name == canonical(package))
        assert outline.rthja >= rthja
    loss = thermal.power_rating(junction_max_degc=125.0, case_degc=40.0, rthjc_k_per_w=rthja)
    hot_ohm = conduction.resistance_at(rds25_ohm=0.02, exponent=1.65, junction_degc=125.0)
    current = math.sqrt(loss / hot_ohm)
    junction = conduction.junction_temperature(
        current_a=current,
        duty=1.0,
        rds25_ohm=0.02,
        exponent=1.65,
        rth_k_per_w=rthja,
        ambient_degc=40.0,
        other_loss_w=0.0,
    )
    assert junction == pytest.approx(125.0, rel=1e-9)

    def surplus(degc: float) -> float:
        return degc - 40.0 - rthja * current**2 * 0.02 * math.pow((degc + 273.15) / 298.15, 1.65)

    assert brentq(surplus, 40.0, 150.0) == pytest.approx(junction, abs=1.0)


def test_the_table_of_outlines_is_no_more_hopeful_than_a_data_sheet() -> None:
    """TO-220, three data sheets (read): θJC 1.87, θCS 0.50 K/W."""
    outline = next(one for one in packages() if one.name == "TO-220")
    assert outline.rthjc >= 1.87
    assert outline.rthcs >= 0.50


def junction_of(loss_w: float, rth_k_per_w: float, ambient_degc: float) -> float:
    """Give the junction temperature of a part whose loss does not change with temperature."""
    return float(
        conduction.junction_temperature(
            current_a=0.0,
            duty=1.0,
            rds25_ohm=0.0,
            exponent=0.0,
            rth_k_per_w=rth_k_per_w,
            ambient_degc=ambient_degc,
            other_loss_w=loss_w,
        )
    )


def test_copper_decides_whether_a_small_tab_package_stays_cool() -> None:
    """DPAK 50 K/W on copper, 110 without (read): the same 1.5 W is fit on the one and not on the other."""
    limit = thermal.junction_limit(junction_max_degc=175.0, derate_k=25.0, cap_degc=125.0)
    assert junction_of(1.5, 50.0, 40.0) < limit < junction_of(1.5, 110.0, 40.0)


def test_a_leaded_power_package_takes_about_a_watt_without_a_sink_and_some_more_with_a_small_one() -> None:
    """About 1 W without a sink, 1–2 W more with a clip-on: practice.

    TO-220: 62 K/W, θJC 1.87, θCS 0.50 (data sheets, read), in warm air of 50 °C, junction at 125 °C.
    The sink is the 19.1 K/W one of a maker's tutorial (read).
    """
    bare = thermal.power_rating(junction_max_degc=125.0, case_degc=50.0, rthjc_k_per_w=62.0)
    through = thermal.chain(rthjc_k_per_w=1.87, rthcs_k_per_w=0.50, rthsa_k_per_w=19.1)
    sunk = thermal.power_rating(junction_max_degc=125.0, case_degc=50.0, rthjc_k_per_w=through)
    assert bare == pytest.approx(1.0, abs=0.5)
    assert sunk - bare >= 1.0


# Heat sinks ----------------------------------------------------------------------------------------------


def test_the_needed_sink_meets_the_textbook() -> None:
    """Textbook (read): 5 W, TJ 150 °C, TA 50 °C, θJC 3, θCS 1 → θSA ≤ 16 K/W, whatever the loss is from."""
    fixed = {"duty": 1.0, "exponent": 0.0, "rthjc_k_per_w": 3.0, "rthcs_k_per_w": 1.0}
    air = {"ambient_degc": 50.0, "junction_limit_degc": 150.0}
    by_current = thermal.needed_heatsink(current_a=10.0, rds25_ohm=0.05, other_loss_w=0.0, **fixed, **air)
    by_other = thermal.needed_heatsink(current_a=0.0, rds25_ohm=0.05, other_loss_w=5.0, **fixed, **air)
    assert by_current == pytest.approx(16.0, abs=0.5)
    assert by_other == pytest.approx(by_current, rel=1e-12)


# A heat-sink maker's tutorial (read): 2.78 W in air of 50 °C, θJC 0.5, θCS 0.45.
TUTORIAL_LOSS_W = 2.78
TUTORIAL_AIR_DEGC = 50.0


def test_the_needed_sink_meets_the_tutorial() -> None:
    """A total of 27 K/W leaves 26.05 for the sink."""
    sink = thermal.needed_heatsink(
        current_a=0.0,
        duty=1.0,
        rds25_ohm=0.01,
        exponent=1.65,
        rthjc_k_per_w=0.5,
        rthcs_k_per_w=0.45,
        ambient_degc=TUTORIAL_AIR_DEGC,
        junction_limit_degc=TUTORIAL_AIR_DEGC + 27.0 * TUTORIAL_LOSS_W,
        other_loss_w=TUTORIAL_LOSS_W,
    )
    assert sink == pytest.approx(26.05, abs=0.005)


def test_the_junction_on_the_tutorials_sink_meets_the_tutorial() -> None:
    """With the 19.1 K/W sink 105.7 °C."""
    rth = float(thermal.chain(rthjc_k_per_w=0.5, rthcs_k_per_w=0.45, rthsa_k_per_w=19.1))
    assert junction_of(TUTORIAL_LOSS_W, rth, TUTORIAL_AIR_DEGC) == pytest.approx(105.7, abs=0.05)


def test_the_junction_without_a_sink_meets_the_tutorial() -> None:
    """With none 222 °C; for the bare TO-220 the still-air figure of 62 K/W of a data sheet (read)."""
    assert junction_of(TUTORIAL_LOSS_W, 62.0, TUTORIAL_AIR_DEGC) == pytest.approx(222.0, abs=0.5)


PART = {
    "current_a": 20.0,
    "duty": 1.0,
    "rds25_ohm": 0.013,
    "exponent": 1.65,
    "ambient_degc": 40.0,
    "other_loss_w": 0.5,
}
SINK = PART | {"rthjc_k_per_w": 1.87, "rthcs_k_per_w": 0.5, "junction_limit_degc": 125.0}


def surplus_heat_w(part: dict[str, float], rth_k_per_w: float, junction_degc: float) -> float:
    """Give what a part makes more than its thermal resistance carries off, by the binomial series."""
    u = (junction_degc - 25.0) / 298.15
    n = part["exponent"]
    hot = part["rds25_ohm"] * (1.0 + n * u + n * (n - 1.0) / 2.0 * u * u)
    made = part["duty"] * part["current_a"] ** 2 * hot + part["other_loss_w"]
    return made - (junction_degc - part["ambient_degc"]) / rth_k_per_w


@given(
    st.floats(0.5, 60.0),
    st.floats(1.0, 2.6),
    st.floats(-55.0, 80.0),
    st.floats(85.0, 175.0),
    st.floats(0.0, 5.0),
)
def test_the_needed_sink_is_the_greatest_from_which_the_junction_comes_back_to_its_limit(
    current: float, exponent: float, ambient: float, limit: float, other: float
) -> None:
    """One percent less carries off more than is made at the limit, one percent more carries off less."""
    part = PART | {
        "current_a": current,
        "exponent": exponent,
        "ambient_degc": ambient,
        "other_loss_w": other,
    }
    sink = thermal.needed_heatsink(**part, rthjc_k_per_w=1.87, rthcs_k_per_w=0.5, junction_limit_degc=limit)
    if math.isnan(sink):
        assert surplus_heat_w(part, 1.87 + 0.5, limit) >= -1e-9
        return
    total = float(thermal.chain(rthjc_k_per_w=1.87, rthcs_k_per_w=0.5, rthsa_k_per_w=sink))
    assert conduction.junction_temperature(**part, rth_k_per_w=total) <= limit + 1e-5
    assert surplus_heat_w(part, 0.99 * total, limit) < 0.0
    assert surplus_heat_w(part, 1.01 * total, limit) > 0.0


@given(st.floats(0.5, 60.0), st.floats(1.0, 2.4), st.floats(25.0, 80.0), st.floats(85.0, 175.0))
def test_in_warm_air_the_junction_settles_just_at_the_limit(
    current: float, exponent: float, ambient: float, limit: float
) -> None:
    """From 25 °C of air to limits of 175 °C the limit is the smaller root."""
    part = PART | {"current_a": current, "exponent": exponent, "ambient_degc": ambient}
    sink = thermal.needed_heatsink(**part, rthjc_k_per_w=1.87, rthcs_k_per_w=0.5, junction_limit_degc=limit)
    assume(math.isfinite(sink))
    total = thermal.chain(rthjc_k_per_w=1.87, rthcs_k_per_w=0.5, rthsa_k_per_w=sink)
    assert conduction.junction_temperature(**part, rth_k_per_w=total) == pytest.approx(limit, rel=1e-7)


def test_in_very_cold_air_the_limit_is_the_greater_root_and_the_junction_comes_back_from_it() -> None:
    """−55 °C of air, exponent 2.4, limit 125 °C: the loss rises faster than the sink can follow."""
    part = PART | {"exponent": 2.4, "ambient_degc": -55.0, "other_loss_w": 0.0}
    sink = thermal.needed_heatsink(**part, rthjc_k_per_w=1.0, rthcs_k_per_w=0.5, junction_limit_degc=125.0)
    total = float(thermal.chain(rthjc_k_per_w=1.0, rthcs_k_per_w=0.5, rthsa_k_per_w=sink))
    settled = float(conduction.junction_temperature(**part, rth_k_per_w=total))
    assert settled < 120.0
    assert surplus_heat_w(part, total, settled) == pytest.approx(0.0, abs=1e-9)
    assert surplus_heat_w(part, total, 125.0) == pytest.approx(0.0, abs=1e-9)
    assert all(surplus_heat_w(part, total, degc) < 0.0 for degc in np.linspace(settled + 0.1, 124.9, 100))


def test_a_part_that_makes_no_heat_needs_no_sink() -> None:
    """Any will do: infinite."""
    assert thermal.needed_heatsink(**SINK | {"current_a": 0.0, "other_loss_w": 0.0}) == math.inf


@pytest.mark.parametrize(
    "hopeless",
    [{"current_a": 200.0}, {"rthjc_k_per_w": 90.0}, {"ambient_degc": 125.0}, {"ambient_degc": 130.0}],
    ids=str,
)
def test_where_no_sink_can_do_it_the_answer_is_nan(hopeless: dict[str, float]) -> None:
    """Too much loss, too long a way to the case, or air as hot as the limit."""
    assert math.isnan(thermal.needed_heatsink(**SINK | hopeless))


def test_no_heat_does_not_help_a_part_in_air_hotter_than_its_limit() -> None:
    """Nothing cools below the air."""
    cold_part = SINK | {"current_a": 0.0, "other_loss_w": 0.0, "ambient_degc": 130.0}
    assert math.isnan(thermal.needed_heatsink(**cold_part))


@given(st.floats(1.0, 50.0), st.floats(0.0, 50.0))
def test_more_current_never_allows_a_worse_sink(current: float, more: float) -> None:
    """Down to where none is good enough."""
    small = thermal.needed_heatsink(**SINK | {"current_a": current})
    large = thermal.needed_heatsink(**SINK | {"current_a": current + more})
    assert math.isnan(large) or large <= small


# Chain and limit -----------------------------------------------------------------------------------------


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_a_chain_is_never_better_than_its_worst_member(rthjc: float, rthcs: float, rthsa: float) -> None:
    """Resistances in series only add."""
    total = thermal.chain(rthjc_k_per_w=rthjc, rthcs_k_per_w=rthcs, rthsa_k_per_w=rthsa)
    assert total >= max(rthjc, rthcs, rthsa)


@pytest.mark.parametrize(("rated", "allowed"), [(125.0, 100.0), (150.0, 125.0), (175.0, 125.0), (200.0, 125.0)])
def test_the_junction_limit_is_the_lesser_of_derated_and_cap(rated: float, allowed: float) -> None:
    """25 K below the rating, and 125 °C at most: practice."""
    assert thermal.junction_limit(junction_max_degc=rated, derate_k=25.0, cap_degc=125.0) == allowed
