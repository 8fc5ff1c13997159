"""What all functions of the physics do alike: scalars and arrays, unknown inputs, impossible inputs."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from loadworthy.errors import UsageError
from loadworthy.physics import (
    conduction,
    conductors,
    contacts,
    convection,
    curves,
    fuses,
    loads,
    paths,
    switching,
    thermal,
    traces,
)

MODULES = (conduction, conductors, contacts, convection, curves, fuses, loads, paths, switching, thermal, traces)
WIRE = {"ohm_per_m_20": 0.0195, "outer_diameter_m": 2.4e-3, "ambient_degc": 40.0, "film_w_per_m2_k": 10.0}
CURVE = {"curve_degc": (20.0, 40.0, 60.0), "curve_a": (11.1, 9.95, 8.6)}
TRACE = {"width_m": 2e-3, "thickness_m": 35e-6}
BOX = {"width_m": 0.04, "height_m": 0.05, "depth_m": 0.06, "rise_k": 60.0, "air_degc": 40.0}

# One good call of each function.
CALLS: dict[Callable[..., Any], dict[str, Any]] = {
    loads.load_current: {"supply_v": 12.0, "resistance_ohm": 1.6},
    loads.power_current: {"supply_v": 12.0, "power_w": 90.0},
    loads.worst_case_current: {"supply_v": 12.0, "resistance_ohm": 1.6, "tolerance": 0.05},
    loads.rms_current: {"current_a": 7.5, "duty": 0.5},
    conduction.default_hot_exponent: {"vds_v": 100.0},
    conduction.hot_exponent: {"ratio": 1.9, "hot_degc": 175.0},
    conduction.hot_coefficients: {"exponent": 1.65},
    conduction.least_growth: {"exponent": 1.65, "coldest_degc": -20.0},
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
    thermal.sink_for_loss: {
        "loss_w": 3.0,
        "rthjc_k_per_w": 1.87,
        "rthcs_k_per_w": 0.5,
        "ambient_degc": 40.0,
        "junction_limit_degc": 125.0,
    },
    switching.freewheel_current: {"current_a": 3.0, "duty": 0.6},
    switching.freewheel_loss: {"forward_v": 0.55, "current_a": 3.0, "duty": 0.6},
    loads.tungsten_cold_resistance: {"hot_ohm": 2.4},
    switching.inductive_energy: {"inductance_h": 0.5, "current_a": 0.4},
    conductors.awg_diameter: {"gauge": 18},
    conductors.awg_area: {"gauge": 18},
    conductors.copper_factor: {"degc": 70.0},
    conductors.solid_resistance_per_m: {"area_m2": 1e-6},
    conductors.stranded_resistance_per_m: {"area_m2": 1e-6, "conductor_class": 5},
    conductors.conductor_resistance: {"ohm_per_m_20": 0.0133, "length_m": 4.0, "degc": 60.0},
    conductors.voltage_drop: {"current_a": 7.5, "resistance_ohm": 0.06},
    conductors.wire_temperature: {"current_a": 7.5, **WIRE},
    conductors.wire_current: {"limit_degc": 70.0, **WIRE},
    contacts.curve_current: {"degc": 50.0, **CURVE},
    contacts.root_law_current: {"rated_a": 11.1, "rated_degc": 20.0, "limit_degc": 125.0, "ambient_degc": 60.0},
    contacts.usable_current: {"base_a": 9.95},
    contacts.contact_temperature: {"current_a": 5.0, "rated_a": 10.0, "rated_rise_k": 30.0, "ambient_degc": 40.0},
    contacts.contact_loss: {"current_a": 7.5, "contact_ohm": 0.005, "contacts": 2.0},
    contacts.pitch_offset: {"pitch_a_m": 5.0e-3, "pitch_b_m": 5.08e-3, "poles": 12.0},
    convection.air_properties: {"air_degc": 40.0},
    convection.plate_film: {"flow_length_m": 0.05, "rise_k": 60.0, "air_degc": 40.0},
    convection.radiation_film: {"emissivity": 0.9, "rise_k": 60.0, "air_degc": 40.0},
    convection.fin_spacing: {"flow_length_m": 0.05, "rise_k": 60.0, "air_degc": 40.0},
    convection.natural_convection_bound: BOX,
    curves.along_curve: {"degc": 50.0, **CURVE},
    fuses.continuous_current: {"rating_a": 10.0, "share": 0.75},
    fuses.sure_opening_current: {"rating_a": 10.0, "factor": 1.35},
    fuses.sure_opening_time: {"current_a": 25.0, "rating_a": 10.0, "opens": fuses.UL_248_14_OPENS},
    fuses.hold_current: {"degc": 50.0, **CURVE},
    fuses.trip_current: {"trip_a": 10.0, "hold_at_degc_a": 7.25, "hold_at_rating_a": 5.0},
    fuses.fault_current: {"supply_v": 12.0, "loop_ohm": 0.25},
    fuses.fuse_drop: {"current_a": 5.0, "resistance_ohm": 0.05},
    paths.runaway_current: {
        "resistance_ohm": 0.013,
        "reference_degc": 25.0,
        "linear_per_k": 5.5e-3,
        "square_per_k2": 6e-6,
        "rth_k_per_w": 62.0,
        "ambient_degc": 40.0,
        "other_loss_w": 0.2,
    },
    traces.trace_area: TRACE,
    traces.trace_resistance: {**TRACE, "length_m": 0.1, "degc": 60.0},
    traces.trace_current: {**TRACE, "rise_k": 20.0, "layer_k": traces.OUTER_K},
    traces.trace_rise: {**TRACE, "current_a": 5.0, "layer_k": traces.OUTER_K},
    traces.trace_width: {"current_a": 5.0, "rise_k": 20.0, "thickness_m": 35e-6, "layer_k": traces.OUTER_K},
    traces.needed_parallel_area: {"total_a": 15.0, "trace_a": 5.0, "trace_ohm": 0.025, "length_m": 0.1},
}
# Answers in words, and a whole path: no rows of numbers. Their own tests have them.
NO_ARRAYS = {traces.trace_problem, paths.settle}
# What is no figure that could be a little less, or stands in a table: not one value a part.
WHOLE = {"inductive", "conductor_class", "curve_degc", "curve_a", "opens"}
STEPPED = {"gauge", "layer_k", *WHOLE}
INPUTS = [
    pytest.param(function, argument, id=f"{function.__name__}-{argument}")
    for function, call in CALLS.items()
    for argument in call
    if argument not in WHOLE
]
SCALED = [
    pytest.param(function, argument, id=f"{function.__name__}-{argument}")
    for function, call in CALLS.items()
    for argument in call
    if argument not in STEPPED and function is not conductors.stranded_resistance_per_m
]
NOT_ZERO = [
    (loads.load_current, "resistance_ohm"),
    (loads.power_current, "supply_v"),
    (loads.worst_case_current, "resistance_ohm"),
    (conduction.default_hot_exponent, "vds_v"),
    (conduction.hot_exponent, "ratio"),
    (switching.gate_divider, "pulldown_ohm"),
    (switching.transition_times, "plateau_v"),
    (thermal.power_rating, "rthjc_k_per_w"),
    (thermal.case_current_rating, "hot_resistance_ohm"),
    (loads.tungsten_cold_resistance, "hot_ohm"),
    (conductors.solid_resistance_per_m, "area_m2"),
    (conductors.wire_temperature, "outer_diameter_m"),
    (conductors.wire_temperature, "film_w_per_m2_k"),
    (conductors.wire_current, "ohm_per_m_20"),
    (contacts.contact_temperature, "rated_a"),
    (convection.plate_film, "flow_length_m"),
    (convection.fin_spacing, "rise_k"),
    (convection.natural_convection_bound, "depth_m"),
    (fuses.sure_opening_time, "rating_a"),
    (fuses.trip_current, "hold_at_rating_a"),
    (fuses.fault_current, "loop_ohm"),
    (traces.trace_width, "rise_k"),
    (traces.trace_rise, "width_m"),
    (traces.needed_parallel_area, "trace_a"),
    (traces.needed_parallel_area, "trace_ohm"),
]
OUT_OF_RANGE = [
    (loads.worst_case_current, "tolerance", 1.0),
    (loads.rms_current, "duty", 1.01),
    (conduction.junction_temperature, "duty", 1.5),
    (conduction.hot_exponent, "ratio", 0.99),
    (conduction.hot_exponent, "hot_degc", 25.0),
    (conduction.resistance_at, "junction_degc", -273.15),
    (conductors.awg_diameter, "gauge", 41),
    (conductors.awg_area, "gauge", -4),
    (conductors.awg_area, "gauge", 17.5),
    (conductors.copper_factor, "degc", -201.0),
    (conductors.stranded_resistance_per_m, "area_m2", 1.02e-6),
    (conductors.stranded_resistance_per_m, "conductor_class", 3),
    (contacts.root_law_current, "limit_degc", 20.0),
    (contacts.pitch_offset, "poles", 0.5),
    (convection.radiation_film, "emissivity", 1.1),
    (fuses.continuous_current, "share", 1.1),
    (fuses.sure_opening_time, "opens", ((2.0, 120.0), (1.35, 3600.0))),
    (traces.trace_current, "layer_k", 0.036),
]


def values(result: Any) -> tuple[Any, ...]:
    """Give the values of a function that returns one or several."""
    return result if isinstance(result, tuple) else (result,)


def test_every_public_function_is_called_here() -> None:
    """A new function gets its row above."""
    public = {
        getattr(module, name)
        for module in MODULES
        for name in module.__all__
        if inspect.isfunction(getattr(module, name))
    }
    assert set(CALLS) | NO_ARRAYS == public


@pytest.mark.parametrize(("function", "argument"), SCALED)
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
    empty = {
        name: value if name in WHOLE - {"inductive"} else np.array([], dtype=type(value))
        for name, value in CALLS[function].items()
    }
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
    below = -300.0 if argument.endswith("degc") else -4.0
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
        loads.rms_current(current_a=1.0, duty=np.array([0.5, 1.2, 2.0]))


def test_a_text_is_refused_as_no_number() -> None:
    """A clear error in place of numpy's."""
    text: Any = "twelve"
    with pytest.raises(UsageError, match="supply_v: 'twelve' is no number"):
        loads.load_current(supply_v=text, resistance_ohm=1.0)
