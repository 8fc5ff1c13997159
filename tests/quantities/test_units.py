"""Units: each spelling against pint, what people type, and what is written for them read back."""

from __future__ import annotations

import math
import re
from typing import Any

import pint
import pytest
import quantiphy
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.errors import QuantityError
from loadworthy.quantities import show, si
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import DIMENSIONS, SPELLINGS, dimension_of, gauges_as_areas, scale

REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry()

#: A dimension's name here → its unit in pint.
PINT_NAMES = {
    "ohm": "ohm", "V": "volt", "A": "ampere", "W": "watt", "C": "coulomb", "F": "farad", "s": "second",
    "Hz": "hertz", "J": "joule", "m": "meter", "m2": "meter**2", "degC": "delta_degC", "K": "kelvin",
    "K/W": "kelvin/watt", "1": "dimensionless", "H": "henry", "kg": "kilogram", "N·m": "newton*meter",
    "ohm/m": "ohm/meter", "m/s": "meter/second",
}  # fmt: skip

_CAPITALS = "pint's names are in small letters"
_DIRECT = "d.c. is said of the quantity and is no part of the unit"
_DEGREE = "pint's degC is a point on a scale; a difference is delta_degC"
_GERMAN = "German"
#: Spellings that pint does not know or takes for something else → its own name, and why.
MAPPED: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("Ohm", "Ohms", "OHM", "OHMS"), ("ohm", _CAPITALS)),
    "R": ("ohm", "the letter of IEC 60062; pint has the gas constant there"),
    **dict.fromkeys(("Volt", "Volts", "VOLT", "VOLTS"), ("volt", _CAPITALS)),
    **dict.fromkeys(("VDC", "Vdc", "V DC", "V dc"), ("volt", _DIRECT)),
    **dict.fromkeys(("Ampere", "Amp", "Amps", "AMP", "AMPS"), ("ampere", _CAPITALS)),
    "amps": ("ampere", "the plural"),
    **dict.fromkeys(("ADC", "Adc", "A DC"), ("ampere", _DIRECT)),
    **dict.fromkeys(("Watt", "Watts", "WATT", "WATTS"), ("watt", _CAPITALS)),
    **{
        word: (name.lower(), _CAPITALS)
        for word, name in zip(
            ("Coulomb", "Farad", "Hertz", "Joule", "Kelvin"), ("coulomb", "farad", "hertz", "joule", "kelvin"),
            strict=True,
        )
    },
    "As": ("ampere*second", "written together"),
    "Sek": ("second", _GERMAN),
    '"': ("inch", "the inch mark"),
    "mil": ("thou", "a thousandth of an inch"),
    "mils": ("thou", "a thousandth of an inch"),
    "mm2": ("mm**2", "the exponent written plainly"),
    "cm2": ("cm**2", "the exponent written plainly"),
    "m2": ("m**2", "the exponent written plainly"),
    "in2": ("inch**2", "the exponent written plainly"),
    **dict.fromkeys(
        ("°C", "° C", "degC", "deg C", "deg. C", "C", "celsius", "Celsius", "degree C", "degrees C", "Grad C", "°"),
        ("delta_degC", _DEGREE),
    ),
    **dict.fromkeys(("C/W", "deg C/W", "°C/Watt"), ("delta_degC/watt", _DEGREE)),
    "K/Watt": ("kelvin/watt", _CAPITALS),
    "K W-1": ("kelvin/watt", "a negative power; pint takes one away"),
    "Prozent": ("percent", _GERMAN),
    "qmm": ("mm**2", _GERMAN),
    "Henry": ("henry", _CAPITALS),
    "Nm": ("newton*meter", "written together; pint has the textile unit there"),
    "Ncm": ("newton*centimeter", "written together"),
    **dict.fromkeys(("lbf-in", "lb-in", "lb·in", "in-lb", "lbin"), ("lbf*inch", "pound-force, as torque is given")),
    "Ohm/m": ("ohm/meter", _CAPITALS),
    "Ohm/km": ("ohm/kilometer", _CAPITALS),
    **dict.fromkeys(("fpm", "LFM", "lfm"), ("foot/minute", "linear feet a minute")),
}  # fmt: skip

EVERY_SPELLING = [(dimension, spelling) for dimension, spellings in SPELLINGS.items() for spelling in spellings]


def by_pint(dimension: str, spelling: str) -> float:
    """Let pint say how many of the dimension's SI unit one of the written unit is."""
    mapped = MAPPED.get(spelling)
    if spelling == "C" and dimension == "C":
        mapped = None
    name = mapped[0] if mapped else spelling
    return float(REGISTRY.Quantity(1.0, name).to(PINT_NAMES[dimension]).magnitude)


@pytest.mark.parametrize(("dimension", "spelling"), EVERY_SPELLING)
def test_every_spelling_has_the_factor_that_pint_gives(dimension: str, spelling: str) -> None:
    """A library made by others says the same of each unit."""
    found = scale(spelling, dimension)
    assert found is not None
    assert found.factor == pytest.approx(by_pint(dimension, spelling), rel=1e-12)


@pytest.mark.parametrize("spelling", sorted(MAPPED.keys() - {"C"}))
def test_only_what_pint_does_not_read_alike_is_mapped(spelling: str) -> None:
    """A mapping hides nothing: pint does not know the spelling, or takes it for another unit."""
    (dimension,) = {name for name, spellings in SPELLINGS.items() if spelling in spellings} - {"K"} or {"K"}
    try:
        alike = REGISTRY.Quantity(1.0, spelling).to(PINT_NAMES[dimension]).magnitude
    except (pint.PintError, ValueError, TypeError, AssertionError):  # what pint makes of them
        return
    assert alike != by_pint(dimension, spelling)


@pytest.mark.parametrize(("dimension", "spelling"), EVERY_SPELLING)
def test_every_spelling_survives_tidying(dimension: str, spelling: str) -> None:
    """Texts are tidied before their unit is looked up, so a spelling must be its own tidy form."""
    assert scale(tidy(spelling), dimension) == scale(spelling, dimension)


PREFIXED = [
    (dimension, prefix + unit)
    for dimension, unit in (("ohm", "ohm"), ("V", "V"), ("A", "A"), ("W", "W"), ("C", "C"), ("F", "F"), ("s", "s"),
                            ("Hz", "Hz"), ("J", "J"), ("ohm", "Ω"))
    for prefix in ("p", "n", "u", "µ", "m", "k", "M", "G")
]  # fmt: skip


@pytest.mark.parametrize(("dimension", "unit"), PREFIXED)
def test_prefixes_are_pints(dimension: str, unit: str) -> None:
    """Small and capital letters make a factor of 10⁹ between mΩ and MΩ."""
    found = scale(unit, dimension)
    assert found is not None
    assert found.factor == pytest.approx(REGISTRY.Quantity(1.0, unit).to(PINT_NAMES[dimension]).magnitude, rel=1e-12)


@pytest.mark.parametrize(("text", "kelvin"), [("0 °C", 273.15), ("25 °C", 298.15), ("-55 °C", 218.15)])
def test_a_temperature_in_kelvin_is_moved_to_the_celsius_scale(text: str, kelvin: float) -> None:
    """Degrees Celsius count from 273.15 K (the definition in the SI brochure)."""
    assert si(f"{kelvin} K", "degC") == pytest.approx(si(text, "degC"))


def test_fahrenheit_is_pints() -> None:
    """A temperature in Fahrenheit is a point on another scale."""
    assert si("212 °F", "degC") == pytest.approx(REGISTRY.Quantity(212, "degF").to("degC").magnitude)


def test_no_spelling_belongs_to_two_units_of_different_kind() -> None:
    """Only a degree stands for both a point and a difference of temperature, and C for a charge too."""
    shared = {
        spelling
        for dimension, spelling in EVERY_SPELLING
        if sum(spelling in spellings for spellings in SPELLINGS.values()) > 1
    }
    assert shared <= set(SPELLINGS["degC"])
    assert dimension_of("C") == "C"


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12V", "V", 12.0), ("1R6", "ohm", 1.6), ("1.6ohm", "ohm", 1.6), ("40degC", "degC", 40.0),
        ("15 K/W", "K/W", 15.0), ("20kHz", "Hz", 20e3), ("10%", "1", 0.1), ("0.5", "1", 0.5), ("5.08mm", "m", 5.08e-3),
        ("7.5 A", "A", 7.5), ("7,5 A", "A", 7.5), ("3V3", "V", 3.3), ("90 W", "W", 90.0), ("22nC", "C", 22e-9),
        ("1.2nF", "F", 1.2e-9), ("30 ns", "s", 30e-9), ("25K", "K", 25.0), ("−5 °C", "degC", -5.0),
        ("1.234,5 V", "V", 1234.5), ("12 mΩ", "ohm", 0.012), ("12 MΩ", "ohm", 12e6), ("12 m\u2126", "ohm", 0.012),
    ],
)  # fmt: skip
def test_quantities_are_read_as_people_write_them(text: str, unit: str, value: float) -> None:
    """The forms of the command line, with and without blanks, in German too."""
    assert si(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "value"),
    [("R47", 0.47), ("4R7", 4.7), ("0R22", 0.22), ("R015", 0.015), ("4K7", 4700.0), ("2M2", 2.2e6), ("5L0", 0.005)],
)
def test_letter_codes_of_iec_60062(text: str, value: float) -> None:
    """The worked codes of IEC 60062, with L for milliohms as resistor makers print it."""
    assert si(text, "ohm") == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["22mOhm", "1.5kOhm", "4.7 nF", "330 pF", "20 kHz", "100 ns", "12 V", "3.3 uF"])
def test_quantiphy_reads_the_same(text: str) -> None:
    """Another reader of quantities with prefixes agrees."""
    told = quantiphy.Quantity(text)
    unit = "ohm" if told.units == "Ohm" else told.units
    assert si(text, unit) == pytest.approx(told.real, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "pint_unit", "unit", "expected"),
    [(12, "V", "V", 12.0), (1600, "milliohm", "ohm", 1.6), (313.15, "kelvin", "degC", 40.0), (2, "inch", "m", 0.0508),
     (15, "kelvin/watt", "K/W", 15.0), (22, "nanocoulomb", "C", 22e-9), (10, "percent", "1", 0.1)],
)  # fmt: skip
def test_pint_quantities_come_in(value: float, pint_unit: str, unit: str, expected: float) -> None:
    """Those who compute with pint need no text."""
    assert si(REGISTRY.Quantity(value, pint_unit), unit) == pytest.approx(expected)


@pytest.mark.parametrize(("text", "unit", "value"), [("0.1 hp", "W", 74.56998715822702), ("100 thou", "m", 2.54e-3)])
def test_a_unit_that_the_table_does_not_hold_is_pints(text: str, unit: str, value: float) -> None:
    """A horsepower is 550 ft·lbf/s; a thou is a thousandth of an inch of 25.4 mm."""
    assert si(text, unit) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("measure", "unit", "named"),
    [
        ("12", "V", "12V"), ("", "V", "12V"), ("V", "V", "12V"), ("twelve volts", "V", "12V"), ("12V", "A", "7.5A"),
        ("12 furlong", "V", "12V"), ("1,500 V", "V", "1.500"), ("12 V 13", "V", "12V"), ("1..2 V", "V", "12V"),
        ("1e999 V", "V", ""), ("12V", "knots", "K/W"), (12.0, "V", "pint"), (None, "V", "pint"),
        (REGISTRY.Quantity(3, "meter"), "V", "12V"), ("12 __import__('os')", "V", "12V"), ("nan V", "V", "12V"),
        ("12 mC", "degC", "40degC"),
    ],
)  # fmt: skip
def test_what_is_no_such_quantity_is_an_error_that_shows_the_way_out(measure: Any, unit: str, named: str) -> None:
    """A bare number, another kind of unit, a number that reads in two ways: one error class, with an example."""
    with pytest.raises(QuantityError) as caught:
        si(measure, unit)
    assert caught.value.way_out
    assert named in caught.value.way_out


@given(st.text(max_size=30), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_finite_number_or_a_quantity_error(text: str, unit: str) -> None:
    """Nothing that is typed gives another exception."""
    try:
        value = si(text, unit)
    except QuantityError:
        return
    assert math.isfinite(value)


SIZES = st.floats(min_value=-12, max_value=9).map(lambda power: float(10.0**power))


@given(SIZES, st.sampled_from(["V", "A", "ohm", "W", "C", "F", "s", "Hz", "J", "m", "K/W", "K", "1", "m2"]),
       st.integers(min_value=1, max_value=8))  # fmt: skip
def test_what_is_shown_reads_back_within_the_shown_digits(value: float, unit: str, digits: int) -> None:
    """Half a unit of the last digit is the most that rounding takes away."""
    assert si(show(value, unit, digits), unit) == pytest.approx(value, rel=0.5 * 10.0 ** (1 - digits) * (1 + 1e-9))


@given(st.floats(min_value=-273, max_value=400), st.sampled_from(["degC", "V", "A"]))
def test_signs_read_back(value: float, unit: str) -> None:
    """A negative value keeps its sign and its size."""
    assert si(show(value, unit, 6), unit) == pytest.approx(value, rel=6e-6, abs=1e-13)


@given(SIZES, st.sampled_from(["V", "A", "ohm", "W", "F"]))
def test_engineering_notation_has_one_to_three_digits_before_the_point(value: float, unit: str) -> None:
    """1000 mΩ is written 1 Ω."""
    number = re.match(r"[\d.]+", show(value, unit))
    assert number
    assert 1 <= float(number[0]) < 1000 or value >= 1e9 or value < 1e-12


class TestWireGauges:
    """Cross-sections by gauge number (ASTM B258), whose numbers run backwards."""

    @pytest.mark.parametrize(
        ("written", "mm2"),
        [
            ("10AWG", 5.261),
            ("14 AWG", 2.081),
            ("AWG 18", 0.823),
            ("AWG24", 0.2047),
            ("4/0 AWG", 107.2),
            ("20 ga", 0.518),
        ],
    )
    def test_reads_a_gauge_as_the_area_of_the_tables(self, written: str, mm2: float) -> None:
        """Areas of the published table (ASTM B258), to the digits printed there; from memory."""
        assert si(written, "m2") * 1e6 == pytest.approx(mm2, rel=1e-3)

    @pytest.mark.parametrize("written", ["26-12 AWG", "AWG 26–12", "12…26 AWG", "26 AWG to 12 AWG", "#26-#12 AWG"])
    def test_a_range_stands_with_its_thinner_wire_first(self, written: str) -> None:
        """However the list writes it."""
        thin, thick = gauges_as_areas(tidy(written)).split(" - ")
        assert si(thin, "m2") == pytest.approx(si("26AWG", "m2"))
        assert si(thick, "m2") == pytest.approx(si("12AWG", "m2"))

    @pytest.mark.parametrize("text", ["16 A", "2.5 mm2", "0.2-2.5 mm2", "gauge unknown", "12"])
    def test_leaves_alone_what_is_no_gauge(self, text: str) -> None:
        """A bare number is one only under a heading that says so."""
        assert gauges_as_areas(text) == text

    def test_an_area_is_written_in_square_millimetres(self) -> None:
        """As wire is bought."""
        assert show(2.5e-6, "m2") == "2.5 mm²"
        assert show(0.0123, "kg") == "12.3 g"


def test_what_nobody_would_count_is_written_with_an_exponent() -> None:
    """A slip of hundreds of digits must not fill the screen; every figure of the trade stays plain."""
    assert len(show(1e308, "A")) < 20
    assert len(show(1e-300, "W")) < 20
    assert show(1e9, "ohm") == "1 GΩ"
    assert show(1e-12, "F") == "1 pF"
