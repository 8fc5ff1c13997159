"""A need reads quantities as people write them, and says what is wrong with those it cannot use."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pint
import pytest

from loadworthy import criteria
from loadworthy.catalog import families
from loadworthy.errors import FamilyError, LoadworthyError, QuantityError, UsageError
from loadworthy.needs import NEEDS, TransistorNeed


@pytest.mark.parametrize(
    ("asked", "amperes"),
    [
        ({"resistance": "1R6"}, 7.5),
        ({"power": "90W"}, 7.5),
        ({"current": "7500mA"}, 7.5),
        ({"resistance": "1.6ohm", "tolerance": "5%"}, 7.89473684211),
        ({"power": "90W", "tolerance": "5%"}, 7.89473684211),
    ],
)
def test_current_comes_from_whichever_is_given(asked: dict[str, str], amperes: float) -> None:
    """I = V/R, P/V or as given; with a tolerance the load is at its low end."""
    assert TransistorNeed(supply="12V", **asked).as_json()["current_a"] == pytest.approx(amperes, rel=1e-11)


def test_quantities_of_pint_are_taken() -> None:
    """A quantity with its unit is as good as a text."""
    unit = pint.UnitRegistry()
    need = TransistorNeed(supply=12 * unit.volt, current=2500 * unit.milliampere)
    assert (need.as_json()["supply_v"], need.as_json()["current_a"]) == (12.0, 2.5)


def test_rms_current_follows_the_duty() -> None:
    """8 A for a quarter of the time is 4 A root mean square."""
    assert TransistorNeed(supply="12V", current="8A", duty="25%", pwm="1kHz").as_json()[
        "rms_current_a"
    ] == pytest.approx(4.0)


def test_limits_follow_the_profile_and_each_margin_overrides_it() -> None:
    """Workshop: 1.5 × supply, 1.25 × current; MIL-DTL-917: voltage at 0.5, drain current at 0.6."""
    load = {"supply": "12V", "current": "6A"}
    workshop = TransistorNeed(**load).parameters()
    assert (workshop["vds_least_v"], workshop["id_least_a"], workshop["vgs_least_v"]) == (18.0, 7.5, 6.25)
    published = TransistorNeed(**load, profile="MIL-DTL-917")
    assert (published.parameters()["vds_least_v"], published.parameters()["id_least_a"]) == (
        12.0 / 0.5,
        6.0 / 0.6,
    )
    assert "MIL-DTL-917" in published.limit_sources()["voltage"]
    own = TransistorNeed(**load, profile="MIL-DTL-917", voltage_margin="3")
    assert own.parameters()["vds_least_v"] == 36.0
    assert "--voltage-margin" in own.limit_sources()["voltage"]


def test_packages_go_by_their_canonical_names() -> None:
    """Aliases of one outline are one."""
    assert TransistorNeed(supply="12V", current="1A", package=("to220ab", "TO-220", "dpak")).as_json()["package"] == [
        "TO-220",
        "TO-252",
    ]


@pytest.mark.parametrize(
    ("asked", "where", "words"),
    [
        ({}, "--current, --resistance, --power", "is not given"),
        ({"current": "1A", "power": "3W"}, "--current, --resistance, --power", "current and power"),
        ({"current": "0A"}, "--current", "above 0"),
        ({"current": "1V"}, "--current", "'V'"),
        ({"current": "1"}, "--current", "no unit"),
        ({"current": 1.0}, "--current", "without a unit"),
        ({"current": "1A", "supply": "230V"}, "--supply", "at most 120 V"),
        ({"current": "1A", "drive": "0V"}, "--drive", "above 0"),
        ({"current": "1A", "duty": "120%"}, "--duty", "at most 1"),
        ({"current": "1A", "duty": "0"}, "--duty", "above 0"),
        ({"current": "1A", "ambient": "130degC"}, "--ambient", "at most 100 °C"),
        ({"current": "1A", "tolerance": "5%"}, "--tolerance", "not to a current"),
        ({"current": "1A", "unclamped": True}, "--unclamped", "inductive"),
        ({"current": "1A", "load": "lamp"}, "--load", "resistive, inductive"),
        ({"current": "1A", "channel": "x"}, "--channel", "n, p"),
        ({"current": "1A", "package": ("TO-2200",)}, "--package", "Did you mean TO-220"),
        ({"current": "1A", "package": "TO-220"}, "--package", "several"),
        ({"current": "1A", "accept": ("gatee",)}, "--accept", "Did you mean gate"),
        ({"current": "1A", "profile": "brave"}, "--profile", "workshop"),
        ({"current": "1A", "max_price": "2.50"}, "--max-price", "currency"),
        ({"current": "1A", "max_price": "cheap EUR"}, "--max-price", "currency"),
        ({"current": "1A", "gate_margin": "-1"}, "--gate-margin", "at least 1"),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(asked: dict[str, Any], where: str, words: str) -> None:
    """The error names the option and what would do, as soon as the need is made."""
    with pytest.raises(LoadworthyError) as caught:
        TransistorNeed(**{"supply": "12V", **asked})
    assert caught.value.where == where
    assert caught.value.way_out
    assert words in str(caught.value)


def test_every_field_says_what_a_face_needs_to_ask_for_it() -> None:
    """Help, and a unit or choices where the field is a quantity or a word of few."""
    for need in NEEDS.values():
        for field in fields(need):
            assert field.metadata["help"].endswith("."), field.name
            assert field.metadata["repeatable"] == isinstance(field.default, tuple)


def test_profiles_that_can_be_asked_for_are_those_described() -> None:
    """The option's choices and the family's profiles agree, and every margin has a source."""
    rules = criteria.load("transistor")
    choices = next(field for field in fields(TransistorNeed) if field.name == "profile").metadata["choices"]
    assert tuple(rules.profiles) == choices
    assert all(margin.source for profile in rules.profiles.values() for margin in profile.margin.values())


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({}, "independent thermal cut-off"),
        ({}, "extra-low voltage"),
        ({"load": "inductive"}, "freewheel diode"),
        ({"supply": "72V"}, "insulate"),
    ],
)
def test_cautions_fit_the_need(asked: dict[str, Any], words: str) -> None:
    """What can hurt is said where it matters."""
    said = TransistorNeed(**{"supply": "12V", "current": "1A", **asked}).cautions()
    assert any(words in line for line in said)


def test_freewheel_diodes_are_not_preached_to_heaters() -> None:
    """A caution that does not apply is left out."""
    assert not any("freewheel" in line for line in TransistorNeed(supply="12V", current="1A").cautions())


def test_symbols_are_those_of_the_familys_figures() -> None:
    """A symbol that no figure has would never be found in a list."""
    known = {figure.symbol for figure in families.load("transistor").figures}
    need = TransistorNeed(supply="12V", resistance="1R6", cold_resistance="1ohm", pwm="1kHz")
    sunk = TransistorNeed(supply="12V", resistance="1R6", heatsink="15K/W")
    assert need.symbols() | sunk.symbols() <= known


def test_a_family_that_is_not_described_is_refused() -> None:
    """Rules are read from the family's own file."""
    with pytest.raises(FamilyError, match="no family"):
        criteria.load("no_such_family")


def test_a_duty_alone_does_not_average_heat_over_minutes() -> None:
    """A thermostat's mat is on for minutes: the part must carry the whole load then."""
    with pytest.raises(UsageError, match="--pwm"):
        TransistorNeed(supply="12V", current="8A", duty="25%")
    with pytest.raises(QuantityError, match="--pwm"):
        TransistorNeed(supply="12V", current="8A", duty="25%", pwm="1Hz")


def test_a_p_channel_gate_must_stand_the_supply_that_a_level_shifter_pulls_it_through() -> None:
    """Unless the swing of the gate is given; and the caution speaks of a pull-up, not of a pull-down."""
    need = TransistorNeed(supply="24V", current="2A", channel="p", drive="10V")
    assert need.parameters()["vgs_least_v"] == 24.0
    given = TransistorNeed(supply="24V", current="2A", channel="p", drive="10V", gate_swing="11V")
    assert given.parameters()["vgs_least_v"] == 12.5
    assert any("pull-up" in caution for caution in need.cautions())
    assert not any("pull-down" in caution for caution in need.cautions())


def test_margins_below_the_profile_are_echoed_and_cautioned() -> None:
    """A saved choice says by which margins it was made."""
    need = TransistorNeed(supply="24V", current="1A", profile="MIL-DTL-917", voltage_margin="1.2")
    assert need.as_json()["voltage_margin"] == 1.2
    assert any("--voltage-margin" in caution for caution in need.cautions())
    assert not any("Less careful" in caution for caution in TransistorNeed(supply="24V", current="1A").cautions())


def test_the_cold_load_takes_the_tolerance_too() -> None:
    """12 V into 0.2 Ω less 10 % is 66.7 A; a cold resistance above the warm one is a slip."""
    need = TransistorNeed(supply="12V", resistance="1.6ohm", tolerance="10%", cold_resistance="0.2ohm")
    assert need.as_json()["inrush_a"] == pytest.approx(12 / 0.18)
    with pytest.raises(UsageError, match="cold"):
        TransistorNeed(supply="12V", resistance="2ohm", cold_resistance="3ohm")
