"""The board at rest, held against linear algebra, SciPy and the balance of energy."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from loadworthy.boards import Board, audit

MakeBoard = Callable[..., Board]

_ohms = st.one_of(st.just(0.0), st.floats(1e-6, 0.2))


def shared(make: MakeBoard, shared_ohm: float, own: list[tuple[float, float]], link: str = "plain") -> Board:
    """Make a board of outputs behind one section, each a load and the resistance of its own link."""
    text = '[[section]]\nname = "s"\n[[section.link]]\nkind = "plain"\nrated_current = "99A"\n'
    text += f'resistance = "{shared_ohm!r}ohm"\n'
    for place, (load_ohm, link_ohm) in enumerate(own):
        text += f'[[output]]\nname = "o{place}"\nfed_by = "s"\n[output.load]\nkind = "resistive"\n'
        text += f'resistance = "{load_ohm!r}ohm"\n[[output.link]]\n'
        if link == "plain":
            text += f'kind = "plain"\nrated_current = "99A"\nresistance = "{link_ohm!r}ohm"\n'
        else:
            text += f'kind = "transistor"\non_resistance = "{link_ohm!r}ohm"\nhot_exponent = "1.65"\nrthja = "20K/W"\n'
    return make(text)


@settings(max_examples=50)
@given(shared_ohm=_ohms, own=st.lists(st.tuples(st.floats(1.0, 20.0), _ohms), min_size=1, max_size=3))
def test_without_warming_it_is_a_linear_circuit(
    board_of: MakeBoard, shared_ohm: float, own: list[tuple[float, float]]
) -> None:
    """Kirchhoff: Rs·ΣI + (Ri + RLi)·Ii = V for every output, solved by numpy."""
    matrix = np.full((len(own), len(own)), shared_ohm) + np.diag([load + link for load, link in own])
    currents = np.linalg.solve(matrix, np.full(len(own), 12.0))
    found = audit(shared(board_of, shared_ohm, own))
    assert [line.settled_a for line in found.outputs] == pytest.approx(list(currents))
    assert [line.load_v for line in found.outputs] == pytest.approx(
        [current * load for current, (load, _) in zip(currents, own, strict=True)]
    )


@settings(max_examples=50)
@given(
    shared_ohm=_ohms,
    own=st.lists(st.tuples(st.floats(2.0, 20.0), st.floats(1e-3, 0.02)), min_size=1, max_size=3),
)
def test_warming_transistors_settle_where_scipy_finds_it(
    board_of: MakeBoard, shared_ohm: float, own: list[tuple[float, float]]
) -> None:
    """Currents and junctions solved at once by fsolve, with the second-order law written out."""
    count = len(own)
    loads, links = (np.array(column) for column in zip(*own, strict=True))

    def hot(degc: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        delta = degc - 25.0
        factor = 1.0 + 1.65 / 298.15 * delta + 1.65 * 0.65 / (2.0 * 298.15**2) * delta**2
        return np.asarray(links * factor)

    def unbalanced(state: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        current, degc = state[:count], state[count:]
        volts = shared_ohm * current.sum() + (loads + hot(degc)) * current - 12.0
        return np.concatenate([volts, 40.0 + 20.0 * current**2 * hot(degc) - degc])

    state = fsolve(unbalanced, np.concatenate([12.0 / loads, np.full(count, 60.0)]), xtol=1e-12)
    found = audit(shared(board_of, shared_ohm, own, "transistor"))
    assert [line.settled_a for line in found.outputs] == pytest.approx(list(state[:count]), rel=1e-7)
    degc = {line.where: line.temperature_degc for line in found.lines}
    assert [degc[f"output[{place + 1}].link[1]"] for place in range(count)] == pytest.approx(
        list(state[count:]), rel=1e-6
    )


def test_what_the_supply_gives_is_what_loads_and_links_take(board_of: MakeBoard) -> None:
    """Energy: V·ΣI = Σ loads + Σ losses."""
    found = audit(shared(board_of, 0.05, [(1.6, 0.01), (3.0, 0.02)], "transistor"))
    given_w = 12.0 * sum(line.settled_a or 0.0 for line in found.outputs)
    taken_w = sum(line.load_w or 0.0 for line in found.outputs) + sum(line.loss_w or 0.0 for line in found.lines)
    assert given_w == pytest.approx(taken_w)


def test_the_low_end_of_the_supply_gives_the_load_less(board_of: MakeBoard) -> None:
    """A plain resistance through no resistance: power goes with the square of the voltage."""
    text = '[[output]]\nname = "a"\n[output.load]\nkind = "resistive"\nresistance = "4ohm"\n[[output.link]]\n'
    text += 'kind = "plain"\nrated_current = "9A"\nresistance = "0ohm"\n'
    line = audit(board_of(text, supply='voltage = "12V"\ntolerance = "10%"')).outputs[0]
    assert line.load_w == pytest.approx(36.0)
    assert line.low_load_w == pytest.approx(36.0 * 0.81)


def test_a_switched_load_warms_its_wire_by_its_duty(single: MakeBoard) -> None:
    """10 A for a quarter of the time warm a wire as 5 A do for good: I²·D is the same."""
    text = 'kind = "wire"\ngauge = "16AWG"\nlength = "1m"'
    switched = 'kind = "resistive"\ncurrent = "10A"\npwm = "1kHz"\nduty = "25%"'
    degc = [
        audit(single(text, load=load)).lines[0].temperature_degc
        for load in (switched, 'kind = "resistive"\ncurrent = "5A"')
    ]
    assert degc[0] == pytest.approx(degc[1])


def test_a_switched_load_warms_its_transistor_by_its_duty(single: MakeBoard) -> None:
    """D·I²·R: 10 A through 10 mΩ for a quarter of the time is 0.25 W, and 25 K at 100 K/W."""
    load = 'kind = "resistive"\ncurrent = "10A"\npwm = "1kHz"\nduty = "25%"'
    text = 'kind = "transistor"\non_resistance = "10mohm"\nhot_exponent = "0"\nrthja = "100K/W"'
    (line,) = audit(single(text, load=load)).lines
    assert line.loss_w == pytest.approx(0.25)
    assert line.temperature_degc == pytest.approx(65.0)
