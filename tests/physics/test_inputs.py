"""What all functions of the physics do alike: scalars and arrays, unknown inputs, impossible inputs."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from loadworthy.errors import UsageError
from loadworthy.physics import conduction, switching, thermal

# One good call of each function.
CALLS: dict[Callable[..., Any], dict[str, Any]] = {
    conduction.load_current: {"supply_v": 12.0, "resistance_ohm": 1.6},
    conduction.power_current: {"supply_v": 12.0, "power_w": 90.0},
    conduction.worst_case_current: {"supply_v": 12.0, "resistance_ohm": 1.6, "tolerance": 0.05},
    conduction.rms_current: {"current_a": 7.5, "duty": 0.5},
    conduction.default_hot_exponent: {"vds_v": 100.0},
    conduction.hot_exponent: {"ratio": 1.9, "hot_degc": 175.0},
    conduction.hot_coefficients: {"exponent": 1.65},
    conduction.resistance_at: {"rds25_ohm": 0.013, "exponent": 1.65, "junction_degc": 125.0},
    conduction.resistance_power_law: {"rds25_ohm": 0.013, "exponent": 1.65, "junction_degc": 125.0},
    conduction.conduction_loss: {"current_a": 7.5, "duty": 0.5, "resistance_ohm": 0.02},
    conduction.junction_temperature: {
        "current_a": 7.5,
        "duty": 0.8,
        "rds25_ohm": 0.013,
        "exponent": 1.65,
        "rth_k_per_w": 62.0,
        "ambient_degc": 40.0,
        "other_loss_w": 0.2,
    },
    switching.gate_divider: {"pin_v": 5.0, "series_ohm": 1e3, "pulldown_ohm": 1e4},
    switching.transition_times: {"qgd_c": 1e-8, "gate_ohm": 100.0, "drive_v": 5.0, "plateau_v": 3.0},
    switching.switching_loss: {
        "supply_v": 12.0,
        "current_a": 3.0,
        "rise_s": 4e-9,
        "fall_s": 6e-9,
        "pwm_hz": 2e6,
        "inductive": True,
    },
    switching.gate_loss: {"drive_v": 5.0, "qg_c": 4e-8, "pwm_hz": 2e4},
    thermal.power_rating: {"junction_max_degc": 150.0, "case_degc": 25.0, "rthjc_k_per_w": 5.0},
    thermal.case_current_rating: {
        "junction_max_degc": 150.0,
        "case_degc": 25.0,
        "rthjc_k_per_w": 5.0,
        "hot_resistance_ohm": 0.8,
    },
    thermal.chain: {"rthjc_k_per_w": 1.87, "rthcs_k_per_w": 0.5, "rthsa_k_per_w": 19.1},
    thermal.junction_limit: {"junction_max_degc": 150.0, "derate_k": 25.0, "cap_degc": 125.0},
    thermal.needed_heatsink: {
        "current_a": 20.0,
        "duty": 0.8,
        "rds25_ohm": 0.013,
        "exponent": 1.65,
        "rthjc_k_per_w": 1.87,
        "rthcs_k_per_w": 0.5,
        "ambient_degc": 40.0,
        "junction_limit_degc": 125.0,
        "other_loss_w": 0.5,
    },
}
INPUTS = [
    pytest.param(function, argument, id=f"{function.__name__}-{argument}")
    for function, call in CALLS.items()
    for argument in call
    if argument != "inductive"
]
NOT_ZERO = [
    (conduction.load_current, "resistance_ohm"),
    (conduction.power_current, "supply_v"),
    (conduction.worst_case_current, "resistance_ohm"),
    (conduction.default_hot_exponent, "vds_v"),
    (conduction.hot_exponent, "ratio"),
    (switching.gate_divider, "pulldown_ohm"),
    (switching.transition_times, "plateau_v"),
    (thermal.power_rating, "rthjc_k_per_w"),
    (thermal.case_current_rating, "hot_resistance_ohm"),
]
OUT_OF_RANGE = [
    (conduction.worst_case_current, "tolerance", 1.0),
    (conduction.rms_current, "duty", 1.01),
    (conduction.junction_temperature, "duty", 1.5),
    (conduction.hot_exponent, "ratio", 0.99),
    (conduction.hot_exponent, "hot_degc", 25.0),
    (conduction.resistance_at, "junction_degc", -273.15),
]


def values(result: Any) -> tuple[Any, ...]:
    """Give the values of a function that returns one or several."""
    return result if isinstance(result, tuple) else (result,)


def test_every_public_function_is_called_here() -> None:
    """A new function gets its row above."""
    public = {
        getattr(module, name)
        for module in (conduction, switching, thermal)
        for name in module.__all__
        if callable(getattr(module, name))
    }
    assert set(CALLS) == public


@pytest.mark.parametrize(("function", "argument"), INPUTS)
def test_scalars_give_the_floats_that_arrays_hold(function: Callable[..., Any], argument: str) -> None:
    """One argument at a time as a row of three, the rest broadcast to it."""
    row = CALLS[function][argument] * np.array([[0.9, 0.95, 1.0]])
    many = values(function(**CALLS[function] | {argument: row}))
    assert any(np.shape(value) == (1, 3) for value in many)
    for column in range(3):
        single = values(function(**CALLS[function] | {argument: float(row[0, column])}))
        for one, array in zip(single, many, strict=True):
            assert type(one) is float
            assert np.broadcast_to(array, (1, 3))[0, column] == pytest.approx(one, rel=1e-14)


@pytest.mark.parametrize("function", CALLS)
def test_arrays_of_no_values_give_no_values(function: Callable[..., Any]) -> None:
    """A selection that found nothing is no error."""
    empty = {name: np.array([], dtype=type(value)) for name, value in CALLS[function].items()}
    assert all(np.shape(value) == (0,) for value in values(function(**empty)))


@pytest.mark.parametrize(("function", "argument"), INPUTS)
def test_an_unknown_input_gives_an_unknown_result(function: Callable[..., Any], argument: str) -> None:
    """An input of nan, for each argument in turn; the rise time alone does not wait for all of them."""
    result = values(function(**CALLS[function] | {argument: math.nan}))
    assert math.isnan(result[0])


@pytest.mark.parametrize(("function", "argument"), INPUTS)
@pytest.mark.parametrize("infinite", [False, True], ids=["below", "infinite"])
def test_a_number_that_no_part_can_have_is_refused_with_the_way_out(
    function: Callable[..., Any], argument: str, infinite: bool
) -> None:
    """Negative, below absolute zero, or infinite; only a pull-down may be infinite: none is fitted."""
    below = -300.0 if argument.endswith("_degc") else -1.0
    call = CALLS[function] | {argument: math.inf if infinite else below}
    if infinite and argument == "pulldown_ohm":
        assert function(**call) == 5.0
        return
    with pytest.raises(UsageError) as caught:
        function(**call)
    assert caught.value.where
    assert caught.value.way_out


@pytest.mark.parametrize(("function", "argument"), NOT_ZERO)
def test_a_zero_that_would_divide_is_refused_by_name(function: Callable[..., Any], argument: str) -> None:
    """In place of infinity or a warning of numpy's."""
    with pytest.raises(UsageError, match=f"{argument}: 0 is impossible: it must be above zero"):
        function(**CALLS[function] | {argument: 0.0})


@pytest.mark.parametrize(("function", "argument", "value"), OUT_OF_RANGE)
def test_a_value_out_of_range_is_refused_by_name(function: Callable[..., Any], argument: str, value: float) -> None:
    """At or just past the edge of what each may be."""
    with pytest.raises(UsageError) as caught:
        function(**CALLS[function] | {argument: value})
    assert caught.value.where == argument
    assert caught.value.way_out


def test_the_refusal_says_which_value_of_an_array_is_impossible() -> None:
    """The first of them, counted from 1."""
    with pytest.raises(UsageError, match=r"duty, value 2 of 3: 1\.2 is impossible: it must lie from 0 to 1"):
        conduction.rms_current(current_a=1.0, duty=np.array([0.5, 1.2, 2.0]))


def test_a_text_is_refused_as_no_number() -> None:
    """A clear error in place of numpy's."""
    text: Any = "twelve"
    with pytest.raises(UsageError, match="supply_v: 'twelve' is no number"):
        conduction.load_current(supply_v=text, resistance_ohm=1.0)
