"""The small sum, held against Ohm's law worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.boards.limits import limits
from loadworthy.errors import LoadworthyError, UsageError


def test_from_a_current_to_the_load_that_it_allows() -> None:
    """80 % of 10 A at 13.2 V: 1.65 Ω; with 5 % off 1.7368 Ω, of 144/1.7368 W."""
    found = limits(supply="12V", current="10A", share="80%", supply_tolerance="10%", tolerance="5%")
    assert found.value("usable_a") == pytest.approx(8.0)
    assert found.value("least_actual_ohm") == pytest.approx(1.65)
    assert found.value("least_resistance_ohm") == pytest.approx(1.65 / 0.95)
    assert found.value("greatest_power_w") == pytest.approx(144.0 * 0.95 / 1.65)


def test_from_a_load_to_what_the_path_must_carry() -> None:
    """1.6 Ω − 5 % at 13.2 V: 8.684 A; a path of which 80 % may be used is rated for 10.855 A."""
    given_ = {"supply": "12V", "supply_tolerance": "10%", "tolerance": "5%", "share": "80%"}
    for load in ({"resistance": "1R6"}, {"power": "90W"}):
        found = limits(**given_, **load)
        assert found.value("current_a") == pytest.approx(7.5)
        assert found.value("worst_case_a") == pytest.approx(13.2 / 1.52)
        assert found.value("rating_a") == pytest.approx(13.2 / 1.52 / 0.8)


def test_switching_on_cold() -> None:
    """12 V over 1.4 Ω; a lamp has a tenth of its resistance (common practice), and that is said."""
    assert limits(supply="12V", resistance="1.6ohm", cold_resistance="1.4ohm").value("inrush_a") == pytest.approx(
        12.0 / 1.4
    )
    lamp = limits(supply="12V", power="60W", lamp=True)
    assert lamp.value("inrush_a") == pytest.approx(50.0)
    assert any("tenth" in remark for remark in lamp.assumed)


@given(
    supply=st.floats(1.0, 60.0),
    current=st.floats(0.01, 100.0),
    tolerance=st.floats(0.0, 0.5),
    off=st.floats(0.0, 0.3),
    share=st.floats(0.1, 1.0),
)
def test_there_and_back(supply: float, current: float, tolerance: float, off: float, share: float) -> None:
    """The load that a current allows asks for that very current as rating."""
    same = {
        "supply": f"{supply!r}V",
        "tolerance": f"{tolerance:.6f}",
        "supply_tolerance": f"{off:.6f}",
        "share": f"{share:.6f}",
    }
    least = limits(current=f"{current!r}A", **same).value("least_resistance_ohm")
    assert limits(resistance=f"{least:.15g}ohm", **same).value("rating_a") == pytest.approx(current)


def test_every_step_shows_its_law_and_its_numbers() -> None:
    """And JSON has them all."""
    found = limits(supply="12V", resistance="1.6ohm", lamp=True).as_json()
    assert set(found["result"]) == {step["name"] for step in found["formulas"]}
    assert all(step["text"] and " = " in step["worked"] and step["source"] for step in found["formulas"])


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        ({}, "--current, --resistance, --power"),
        ({"current": "1A", "power": "9W"}, "--current, --resistance, --power"),
        ({"current": "0A"}, "--current"),
        ({"current": "1A", "share": "120%"}, "--share"),
        ({"current": "1A", "share": "0%"}, "--share"),
        ({"resistance": "1ohm", "tolerance": "95%"}, "--tolerance"),
        ({"resistance": "1ohm", "supply_tolerance": "-1%"}, "--supply-tolerance"),
        ({"resistance": "1ohm", "cold_resistance": "2ohm"}, "--cold-resistance"),
        ({"resistance": "1ohm", "cold_resistance": "0.5ohm", "lamp": True}, "--lamp, --cold-resistance"),
    ],
)
def test_what_cannot_be_is_refused_at_its_option(asked: dict[str, str], where: str) -> None:
    """With the way out."""
    with pytest.raises(LoadworthyError) as caught:
        limits(supply="12V", **asked)  # type: ignore[arg-type]
    assert caught.value.where == where
    assert caught.value.way_out


def test_a_step_that_is_not_there() -> None:
    """The error names those that are."""
    with pytest.raises(UsageError, match="usable_a"):
        limits(supply="12V", current="1A").value("nonsense")
