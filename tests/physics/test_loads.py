"""What a load draws: two ways to the same current, and its worst case."""

from __future__ import annotations

import math
import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.physics import loads


@given(st.floats(0.1, 60.0), st.floats(0.01, 1000.0))
def test_a_load_given_by_power_draws_what_its_resistance_draws(supply: float, ohm: float) -> None:
    """P = V²/R turned into a current either way."""
    by_resistance = loads.load_current(supply_v=supply, resistance_ohm=ohm)
    by_power = loads.power_current(supply_v=supply, power_w=supply * supply / ohm)
    assert by_power == pytest.approx(by_resistance, rel=1e-12)


@given(st.floats(0.1, 60.0), st.floats(0.01, 1000.0), st.floats(0.0, 0.9), st.floats(-1.0, 1.0))
def test_no_resistance_within_tolerance_draws_more_than_the_worst_case(
    supply: float, ohm: float, tolerance: float, place: float
) -> None:
    """Anywhere between the low and the high end."""
    worst = loads.worst_case_current(supply_v=supply, resistance_ohm=ohm, tolerance=tolerance)
    actual = loads.load_current(supply_v=supply, resistance_ohm=ohm * (1.0 + place * tolerance))
    assert actual <= worst * (1.0 + 1e-12)


def test_without_tolerance_the_worst_case_is_the_nominal_current() -> None:
    """12 V on 1.6 Ω."""
    assert loads.worst_case_current(supply_v=12.0, resistance_ohm=1.6, tolerance=0.0) == 7.5


def test_the_smallest_resistance_that_there_is_divides_all_the_same() -> None:
    """With its tolerance it would be none; no number is left to say the current with."""
    assert math.isinf(loads.worst_case_current(supply_v=12.0, resistance_ohm=5e-324, tolerance=0.9))


@given(st.floats(0.0, 1e3), st.floats(0.0, 1.0))
def test_one_number_and_an_array_of_one_agree_to_the_last_bit(current: float, duty: float) -> None:
    """The root is the one step that each takes its own way."""
    assert loads.rms_current(current_a=current, duty=duty) == loads.rms_current(
        current_a=current, duty=np.array([duty])
    )


@pytest.mark.parametrize("supply", [12, np.float64(12.0), np.float32(12.0), np.array(12.0)], ids=repr)
def test_any_single_number_gives_a_float(supply: Any) -> None:
    """Whatever it is written as."""
    current = loads.load_current(supply_v=supply, resistance_ohm=1.6)
    assert type(current) is float
    assert current == 7.5


def test_a_current_is_worked_out_without_numpy() -> None:
    """In a fresh interpreter, for this one has it."""
    program = (
        "import sys; from loadworthy.physics import loads;"
        "print(loads.worst_case_current(supply_v=12.0, resistance_ohm=1.6, tolerance=0.0), 'numpy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)  # noqa: S603
    assert done.stdout.split() == ["7.5", "False"]
