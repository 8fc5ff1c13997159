"""One cell of a supplier's list gives values in SI, each with the conditions that the cell states.

The spellings are common practice: what lists of the trade print, in English and German. Where a spelling
can be understood in two ways, the test asks for the careful way: a refusal, or the worse of the two values.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import pytest

from loadworthy.catalog import families
from loadworthy.catalog.cells import Reading, Refused, read_cell

FAMILY = families.load("transistor")


@dataclass(frozen=True, kw_only=True)
class Says:
    """What a careful reader takes from a cell; a condition that is None must not be invented."""

    value: float
    statistic: str | None = None
    gate_v: float | None = None
    degc: float | None = None
    place: str | None = None
    amps: float | None = None
    board: str | None = None


def says(value: float, **conditions: Any) -> Says:
    """Shorten the tables below: the value first, then its conditions by name."""
    return Says(value=value, **conditions)


def order(one: Reading | Says) -> tuple[float, float, float]:
    """Return a key to sort by: the readings of one cell come in no promised order."""
    return one.value, one.gate_v or 0.0, one.degc or 0.0


def read(text: str, figure: str, **said: Any) -> tuple[Reading, ...]:
    """Read the cell, and insist on a reading."""
    got = read_cell(text, FAMILY.figure(figure), **said)
    assert isinstance(got, tuple), f"{text!r} is not read: {got}"
    assert got, "no reading must be None, not an empty tuple"
    return got


def assert_reads(text: str, figure: str, expected: tuple[Says, ...], **said: Any) -> None:
    """Assert that the cell says exactly what is expected of it: no more, no less."""
    got = sorted(read(text, figure, **said), key=order)
    wanted = sorted(expected, key=order)
    assert len(got) == len(wanted), got
    for reading, want in zip(got, wanted, strict=True):
        assert reading.value == pytest.approx(want.value, rel=1e-9)
        assert reading.statistic == want.statistic
        assert reading.gate_v == (None if want.gate_v is None else pytest.approx(want.gate_v))
        assert reading.degc == (None if want.degc is None else pytest.approx(want.degc))
        assert reading.place == want.place
        assert reading.amps == (None if want.amps is None else pytest.approx(want.amps))
        assert reading.board == want.board


# --- plain spellings of one value ----------------------------------------------------------------------

TWELVE_MILLIOHM = [
    "12m\u2126",  # the ohm sign
    "12m\u03a9",  # the Greek capital letter
    "12 mΩ",
    "12\u00a0mΩ",
    "12\u2009mΩ",
    "12\u202fmΩ",
    " 12 mΩ ",
    "12 mohms",
    "12 mohm",
    "12mOhm",
    "12 m Ohm",
    "12 MilliOhm",
    "12 milliohms",
    "12E-3 ohm",
    "12e-3Ω",
    "1.2e-2 Ω",
    "1.2·10^-2 Ω",
    "12000 \u00b5Ω",  # the micro sign
    "12000 \u03bcΩ",  # the Greek small letter
    "12000 uOhm",
    "12000 microohm",
    "12,000 µΩ",
    "12\u2009000 µΩ",
    "12'000 µΩ",
    "0.012 Ohm",
    "0.012Ω",
    ".012 Ω",
    "0.0120 ohms",
    "0.012R",
    "0.012 R",
    "0R012",
    "R012",
    "12mR",
    "12 mR",
    "12L0",  # IEC 60062 as CHECKS reads 5L0: L stands at the decimal mark and counts milliohms
    "12.0 mΩ",
    "RDS(on) 12 mΩ",
    "RDS(on) = 12 mΩ",
    "0.000012 kΩ",
]


@pytest.mark.parametrize("text", TWELVE_MILLIOHM)
def test_every_spelling_of_twelve_milliohm_is_the_same_resistance(text: str) -> None:
    """Prefixes, unit words, Unicode twins, letter codes and exponents do not change the value."""
    assert_reads(text, "rds_on", (says(0.012),))


@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        ("0,012 Ohm", 0.012),
        ("12,5 mΩ", 0.0125),
        ("12,0mOhm", 0.012),
        ("1,25E-2 Ω", 0.0125),
        ("12.000 µΩ", 0.012),
        ("12 000 µΩ", 0.012),
        ("12.500,5 µΩ", 0.0125005),
        ("0R012", 0.012),
    ],
)
def test_decimal_comma_lists(text: str, ohm: float) -> None:
    """In a list with decimal commas the comma is the decimal mark, and a point groups thousands."""
    assert_reads(text, "rds_on", (says(ohm),), decimal=",")


@pytest.mark.parametrize(
    ("text", "figure", "value"),
    [
        ("30V", "vds", 30),
        ("30 VDC", "vds", 30),
        ("30Vdc", "vds", 30),
        ("30 V DC", "vds", 30),
        ("30 Volt", "vds", 30),
        ("30 volts", "vds", 30),
        ("0.03 kV", "vds", 30),
        ("30000 mV", "vds", 30),
        ("1.2kV", "vds", 1200),
        ("1,200 V", "vds", 1200),
        ("30.0", "vds", 30),
        ("+30 V", "vds", 30),
        ("VDS 30 V", "vds", 30),
        ("VDSS = 30V", "vds", 30),
        ("\u221230V", "vds", 30),  # minus sign
        ("\u201330 V", "vds", 30),  # en dash
        ("\u201130 V", "vds", 30),  # non-breaking hyphen
        ("-30 V", "vds", 30),
        ("- 30 V", "vds", 30),
        ("\u00b120V", "vgs_max", 20),
        ("±20", "vgs_max", 20),
        ("± 20 V", "vgs_max", 20),
        ("+/-20 V", "vgs_max", 20),
        ("+/\u221220 V", "vgs_max", 20),
        ("+-20V", "vgs_max", 20),
        ("20 V", "vgs_max", 20),
        ("2V5", "vgs_th", 2.5),
        ("0V9", "vgs_th", 0.9),
        ("-1.5 V", "vgs_th", 1.5),
        ("1500 mV", "vgs_th", 1.5),
        ("40A", "id", 40),
        ("40 A", "id", 40),
        ("40000 mA", "id", 40),
        ("40,000mA", "id", 40),
        ("0.04 kA", "id", 40),
        ("40 Amp", "id", 40),
        ("40 Amps", "id", 40),
        ("40 Ampere", "id", 40),
        ("40 A DC", "id", 40),
        ("40ADC", "id", 40),
        ("-40 A", "id", 40),
        ("40", "id", 40),
        ("6A8", "id", 6.8),
        ("160 A", "id_pulse", 160),
        ("-160A", "id_pulse", 160),
        ("62.5 W", "pd", 62.5),
        ("62500 mW", "pd", 62.5),
        ("62.5 Watt", "pd", 62.5),
        ("350mW", "pd", 0.35),
        ("0.35 watts", "pd", 0.35),
        ("22nC", "qg", 22e-9),
        ("22 nAs", "qg", 22e-9),
        ("0.022 µC", "qg", 22e-9),
        ("0.022uC", "qg", 22e-9),
        ("22000 pC", "qg", 22e-9),
        ("22e-9 C", "qg", 22e-9),
        ("4.1 nC", "qgd", 4.1e-9),
        ("1200pF", "ciss", 1.2e-9),
        ("1,200 pF", "ciss", 1.2e-9),
        ("1.2 nF", "ciss", 1.2e-9),
        ("1n2", "ciss", 1.2e-9),
        ("0.0012 µF", "ciss", 1.2e-9),
        ("15ns", "rise", 15e-9),
        ("15 ns", "fall", 15e-9),
        ("0.015 µs", "fall", 15e-9),
        ("62 \u2103/W", "rthja", 62),
        ("62 K/W", "rthja", 62),
        ("62K/W", "rthja", 62),
        ("62 °C/W", "rthja", 62),
        ("62\u00baC/W", "rthja", 62),  # the ordinal sign in place of the degree sign
        ("62 °C / W", "rthja", 62),
        ("62 degC/W", "rthja", 62),
        ("62 deg C/W", "rthja", 62),
        ("62 C/W", "rthja", 62),
        ("62", "rthja", 62),
        ("0.5 K/W", "rthjc", 0.5),
        ("500 mK/W", "rthjc", 0.5),
        ("175°C", "tj", 175),
        ("175 \u2103", "tj", 175),
        ("175\u00baC", "tj", 175),
        ("+175 °C", "tj", 175),
        ("175 degC", "tj", 175),
        ("175", "tj", 175),
    ],
)
def test_one_value_in_many_spellings(text: str, figure: str, value: float) -> None:
    """A single figure with no conditions reads as its SI size."""
    assert_reads(text, figure, (says(value),))


@pytest.mark.parametrize(
    ("text", "figure", "value"),
    [
        ("1,2 kV", "vds", 1200),
        ("1.200 V", "vds", 1200),
        ("40,5 A", "id", 40.5),
        ("62,5 W", "pd", 62.5),
        ("62,5 K/W", "rthja", 62.5),
        ("1,4 °C/W", "rthjc", 1.4),
        ("1.200 pF", "ciss", 1.2e-9),
        ("4,1nC", "qgd", 4.1e-9),
        ("1,7 V", "vgs_th", 1.7),
    ],
)
def test_one_value_in_decimal_comma_lists(text: str, figure: str, value: float) -> None:
    """The same in lists with decimal commas."""
    assert_reads(text, figure, (says(value),), decimal=",")


# --- minimum, typical, maximum -------------------------------------------------------------------------

STATISTIC_WORDS = [
    ("typ", "typ"),
    ("typ.", "typ"),
    ("TYP", "typ"),
    ("Typ.", "typ"),
    ("(typ)", "typ"),
    ("[typ.]", "typ"),
    ("typical", "typ"),
    ("typisch", "typ"),
    ("max", "max"),
    ("max.", "max"),
    ("MAX", "max"),
    ("Max.", "max"),
    ("(max)", "max"),
    ("(max.)", "max"),
    ("maximum", "max"),
    ("maximal", "max"),
    ("min", "min"),
    ("min.", "min"),
    ("(min)", "min"),
    ("minimum", "min"),
]


@pytest.mark.parametrize(("word", "statistic"), STATISTIC_WORDS)
@pytest.mark.parametrize("pattern", ["12 mΩ {}", "{} 12 mΩ", "12mΩ, {}", "{}: 12 mΩ", "12 {} mΩ"])
def test_typical_and_maximum_are_never_confused(word: str, statistic: str, pattern: str) -> None:
    """The word counts wherever it stands, in either language, in any case."""
    assert_reads(pattern.format(word), "rds_on", (says(0.012, statistic=statistic),))


@pytest.mark.parametrize(
    ("text", "statistic"),
    [
        ("≤12 mΩ", "max"),
        ("≤ 12 mΩ", "max"),
        ("<= 12 mΩ", "max"),
        ("<12 mΩ", "max"),
        ("⩽12 mΩ", "max"),
        ("≥12 mΩ", "min"),
        (">12 mΩ", "min"),
        ("up to 12 mΩ", "max"),
        ("bis 12 mΩ", "max"),
        ("höchstens 12 mΩ", "max"),
        ("mindestens 12 mΩ", "min"),
    ],
)
def test_limit_signs_and_words(text: str, statistic: str) -> None:
    """A limit sign says on which side the figure bounds."""
    assert_reads(text, "rds_on", (says(0.012, statistic=statistic),))


@pytest.mark.parametrize("text", ["~12 mΩ", "ca. 12 mΩ", "approx. 12 mΩ", "≈12 mΩ", "about 12 mΩ", "etwa 12 mΩ"])
def test_an_approximate_figure_is_no_maximum(text: str) -> None:
    """Ambiguous, so the careful outcome: "about 12" is typical at best, and never counts as a maximum."""
    got = read_cell(text, FAMILY.figure("rds_on"))
    assert isinstance(got, Refused) or (got is not None and [r.statistic for r in got] == ["typ"])


@pytest.mark.parametrize(
    "text",
    [
        "9.5 typ, 12 max mΩ",
        "9.5 typ / 12 max mΩ",
        "9.5 mΩ typ, 12 mΩ max",
        "9.5 mΩ (typ.), 12 mΩ (max.)",
        "typ. 9.5 mΩ / max. 12 mΩ",
        "typ 9.5, max 12 mΩ",
        "9.5mΩ typ.; 12mΩ max.",
        "9.5mΩ typ\n12mΩ max",
        "max. 12 mΩ, typ. 9.5 mΩ",
        "12 mΩ (max), 9.5 mΩ (typ)",
        "9.5/12 mΩ (typ/max)",
        "typ/max: 9.5/12 mΩ",
    ],
)
def test_typical_and_maximum_in_one_cell(text: str) -> None:
    """Each word belongs to the number that it stands with."""
    assert_reads(text, "rds_on", (says(9.5e-3, statistic="typ"), says(0.012, statistic="max")))


# --- on-resistance with its gate voltage, current and temperature --------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12 mΩ @ VGS=4.5 V, ID=20 A", says(0.012, gate_v=4.5, amps=20)),
        ("12 mΩ @ 20A, 4.5V", says(0.012, gate_v=4.5, amps=20)),
        ("12mΩ@4.5V,20A", says(0.012, gate_v=4.5, amps=20)),
        ("12mΩ @ ID = 20 A, VGS = 4.5 V", says(0.012, gate_v=4.5, amps=20)),
        ("VGS=4.5V, ID=20A: 12 mΩ", says(0.012, gate_v=4.5, amps=20)),
        ("12 mΩ (VGS = 4.5 V; ID = 20 A)", says(0.012, gate_v=4.5, amps=20)),
        ("12mΩ(4V5, 20A)", says(0.012, gate_v=4.5, amps=20)),
        ("12 mΩ / 4.5 V", says(0.012, gate_v=4.5)),
        ("12mΩ@4.5", says(0.012, gate_v=4.5)),
        ("12 mΩ max @ 4.5 V", says(0.012, statistic="max", gate_v=4.5)),
        ("12 mΩ @ 4.5 V max", says(0.012, statistic="max", gate_v=4.5)),
        ("max. 12 mΩ @ VGS = 4.5 V", says(0.012, statistic="max", gate_v=4.5)),
        ("12 mΩ (max, VGS=4.5V)", says(0.012, statistic="max", gate_v=4.5)),
        ("typ. 12 mΩ, VGS 4.5 V", says(0.012, statistic="typ", gate_v=4.5)),
        ("11mΩ(4V5)", says(0.011, gate_v=4.5)),
        ("11mΩ (4.5V)", says(0.011, gate_v=4.5)),
        ("11mΩ@4V5", says(0.011, gate_v=4.5)),
        ("11mΩ @10V", says(0.011, gate_v=10)),
        ("11 mΩ at 10 V", says(0.011, gate_v=10)),
        ("11 mΩ at VGS 10 V", says(0.011, gate_v=10)),
        ("11 mΩ, Vgs=10V", says(0.011, gate_v=10)),
        ("10V: 11mΩ", says(0.011, gate_v=10)),
        ("@10V 11mΩ", says(0.011, gate_v=10)),
        ("11 mΩ @ VGS = -10 V", says(0.011, gate_v=10)),
        ("11mΩ@\u22124.5V", says(0.011, gate_v=4.5)),
        ("11 mΩ (VGS=10V, Tj=25°C)", says(0.011, gate_v=10, degc=25)),
        ("11mΩ@10V,25°C", says(0.011, gate_v=10, degc=25)),
        ("19 mΩ @ 10 V, 125 ºC", says(0.019, gate_v=10, degc=125)),
        ("19 mΩ (125 ℃)", says(0.019, degc=125)),
        ("19 mΩ, TJ = 125 °C", says(0.019, degc=125)),
    ],
)
def test_on_resistance_keeps_its_conditions(text: str, expected: Says) -> None:
    """Gate voltage, current and temperature go with the figure; a P channel's gate voltage keeps its size."""
    assert_reads(text, "rds_on", (expected,))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12 mΩ bei 4,5 V", says(0.012, gate_v=4.5)),
        ("12 mΩ bei UGS = 4,5 V", says(0.012, gate_v=4.5)),
        ("12,5 mΩ bei VGS = 4,5 V, ID = 20 A", says(0.0125, gate_v=4.5, amps=20)),
        ("max. 12 mΩ bei 4,5 V", says(0.012, statistic="max", gate_v=4.5)),
        ("12 mΩ (max.) bei 4,5 V", says(0.012, statistic="max", gate_v=4.5)),
        ("typisch 9,5 mΩ bei 10 V", says(9.5e-3, statistic="typ", gate_v=10)),
        ("19 mΩ bei Tj = 125 °C", says(0.019, degc=125)),
        ("12mΩ@4,5V;20A", says(0.012, gate_v=4.5, amps=20)),
        ("12 mΩ (4,5 V)", says(0.012, gate_v=4.5)),
    ],
)
def test_on_resistance_conditions_in_german(text: str, expected: Says) -> None:
    """The same in German lists with decimal commas."""
    assert_reads(text, "rds_on", (expected,), decimal=",")


@pytest.mark.parametrize(
    ("text", "decimal"),
    [
        ("8,2 mΩ bei 10 V; 11,5 mΩ bei 4,5 V", ","),
        ("8,2 mΩ bei 10 V, 11,5 mΩ bei 4,5 V", ","),
        ("10 V: 8,2 mΩ / 4,5 V: 11,5 mΩ", ","),
        ("8,2mΩ@10V / 11,5mΩ@4,5V", ","),
        ("8.2mΩ@10V,11.5mΩ@4.5V", "."),
        ("8.2 mΩ @ VGS = 10 V, 11.5 mΩ @ VGS = 4.5 V", "."),
        ("8.2mΩ (10V), 11.5mΩ (4.5V)", "."),
        ("8.2mΩ(10V)/11.5mΩ(4V5)", "."),
        ("10V: 8.2mΩ, 4.5V: 11.5mΩ", "."),
        ("8.2 mΩ at 10 V and 11.5 mΩ at 4.5 V", "."),
        ("11.5mΩ@4.5V\n8.2mΩ@10V", "."),
        ("8.2 @ 10 V, 11.5 @ 4.5 V mΩ", "."),
        ("8.2 @ 10V; 11.5 @ 4.5V (mΩ)", "."),
    ],
)
def test_two_gate_voltages_in_one_cell(text: str, decimal: Literal[".", ","]) -> None:
    """Each resistance keeps its own gate voltage: swapped, a part would pass at 4.5 V that does not."""
    assert_reads(text, "rds_on", (says(8.2e-3, gate_v=10), says(11.5e-3, gate_v=4.5)), decimal=decimal)


@pytest.mark.parametrize(
    "text",
    [
        "12 mΩ (25°), 19 mΩ (125°)",
        "12 mΩ (25 °C), 19 mΩ (125 °C)",
        "12mΩ@25ºC/19mΩ@125ºC",
        "12 mΩ at 25 °C; 19 mΩ at 125 °C",
        "25 °C: 12 mΩ, 125 °C: 19 mΩ",
        "12 mΩ (TJ = 25 °C), 19 mΩ (TJ = 125 °C)",
    ],
)
def test_cold_and_hot_in_one_cell(text: str) -> None:
    """Each resistance keeps its own temperature."""
    assert_reads(text, "rds_on", (says(0.012, degc=25), says(0.019, degc=125)))


def test_conditions_and_statistics_together() -> None:
    """A crowded cell, as a careful maker's own list prints it."""
    text = "9.5 mΩ typ, 12 mΩ max @ VGS = 10 V; 13 mΩ typ, 16 mΩ max @ VGS = 4.5 V"
    maxima = {r.gate_v: r.value for r in read(text, "rds_on") if r.statistic == "max"}
    assert maxima == {10: pytest.approx(0.012), 4.5: pytest.approx(0.016)}


def test_a_hot_figure_keeps_its_temperature() -> None:
    """A column of hot resistances says in the cell how hot."""
    assert_reads("19 mΩ @ 125 °C", "rds_hot", (says(0.019, degc=125),))


@pytest.mark.parametrize("text", ["8.2/11.5 mΩ @ 10/4.5 V", "8.2 mΩ, 11.5 mΩ @ 10 V, 4.5 V"])
def test_values_and_gate_voltages_listed_apart_pair_in_order(text: str) -> None:
    """Ambiguous, so the careful outcome: paired in the order of the lists, or refused."""
    got = read_cell(text, FAMILY.figure("rds_on"))
    assert isinstance(got, Refused) or (
        got is not None and {r.gate_v: r.value for r in got} == {10.0: 8.2e-3, 4.5: 11.5e-3}
    )


# --- gate: greatest voltage, threshold, drive ----------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "+20/-12 V",
        "+20 V/\u221212 V",
        "+20V, -12V",
        "+20 V / -12 V",
        "-12 V, +20 V",
        "-12/+20V",
        "20 V, -12 V",
    ],
)
def test_an_unequal_gate_rating_keeps_both_signs(text: str) -> None:
    """The gate stands +20 V one way and −12 V the other: the drive direction chooses later."""
    assert sorted(r.value for r in read(text, "vgs_max")) == pytest.approx([-12, 20])


@pytest.mark.parametrize("text", ["-12…+20 V", "-12 to +20 V", "-12 V ... 20 V", "-12V ~ +20V"])
def test_a_gate_rating_given_as_a_range_keeps_both_signs(text: str) -> None:
    """The same rating, written as a range."""
    assert sorted(r.value for r in read(text, "vgs_max")) == pytest.approx([-12, 20])


MIN_AND_MAX = (says(1, statistic="min"), says(2.5, statistic="max"))


@pytest.mark.parametrize(
    "text",
    [
        "1…2.5 V",
        "1 … 2.5 V",
        "1...2.5 V",
        "1..2.5 V",
        "1-2.5V",
        "1 - 2.5 V",
        "1–2.5 V",
        "1~2.5V",
        "1V~2.5V",
        "1 V to 2.5 V",
        "1 to 2.5 V",
        "1 ÷ 2.5 V",
        "1V0…2V5",
        "min 1 V, max 2.5 V",
        "1 V (min), 2.5 V (max)",
        "1 V min/2.5 V max",
        "1 min / 2.5 max V",
        "min. 1 V; max. 2.5 V",
        "-1…-2.5 V",
        "-1 V to -2.5 V",
        "-2.5…-1 V",
    ],
)
def test_a_threshold_range_is_minimum_and_maximum(text: str) -> None:
    """A range bounds the figure; a P channel's range bounds its size."""
    assert_reads(text, "vgs_th", MIN_AND_MAX)


@pytest.mark.parametrize(
    "text", ["1 bis 2,5 V", "1,0…2,5 V", "1,0 V min., 2,5 V max.", "1–2,5 V", "min. 1,0 V / max. 2,5 V"]
)
def test_a_threshold_range_in_german(text: str) -> None:
    """The same in German lists with decimal commas."""
    assert_reads(text, "vgs_th", MIN_AND_MAX, decimal=",")


def test_three_bare_thresholds_keep_the_highest() -> None:
    """Ambiguous: in a data sheet's order they are min, typ, max (common practice), and nothing says so here.

    Read in that order or left unmarked, the highest is there to count; or the cell is refused.
    """
    got = read_cell("1/1.7/2.5 V", FAMILY.figure("vgs_th"))
    if not isinstance(got, Refused):
        assert got is not None
        assert {(r.statistic, r.value) for r in got} in (
            {("min", 1.0), ("typ", 1.7), ("max", 2.5)},
            {(None, 1.0), (None, 1.7), (None, 2.5)},
        )


@pytest.mark.parametrize("text", ["2.5…1 V", "2.5-1 V", "2.5 V to 1 V", "min 2.5 V, max 1 V"])
def test_a_minimum_is_never_above_its_maximum(text: str) -> None:
    """A range that runs downwards is put in order, or it is a mistake and refused."""
    got = read_cell(text, FAMILY.figure("vgs_th"))
    if not isinstance(got, Refused):
        assert got is not None
        assert {r.statistic: r.value for r in got} == {"min": 1.0, "max": 2.5}


@pytest.mark.parametrize(
    "text",
    [
        "1 V min/2.5 V max at 250 µA",
        "1…2.5 V @ 250 µA",
        "1V~2.5V@250uA",
        "1 to 2.5 V (ID = 250 µA)",
        "1-2.5V, ID=0.25mA",
    ],
)
def test_the_small_test_current_of_a_threshold_is_no_threshold(text: str) -> None:
    """250 µA is a condition. It may go with either bound; it is never a value of its own."""
    got = {r.statistic: r for r in read(text, "vgs_th")}
    assert set(got) == {"min", "max"}
    assert (got["min"].value, got["max"].value) == pytest.approx((1, 2.5))
    assert got["max"].amps == pytest.approx(250e-6)


@pytest.mark.parametrize(
    ("text", "amps"),
    [
        ("2.5V@250µA", 250e-6),
        ("2.5 V @ 1 mA", 1e-3),
        ("2.5 V (ID=250\u03bcA)", 250e-6),
        ("2.5 V @ VDS = VGS, ID = 250 µA", 250e-6),
        ("2.5V, VGS=VDS, ID=1mA", 1e-3),
    ],
)
def test_one_threshold_with_its_test_current(text: str, amps: float) -> None:
    """VDS = VGS names how the threshold is measured: no number, and no gate voltage."""
    assert_reads(text, "vgs_th", (says(2.5, amps=amps),))


@pytest.mark.parametrize(
    ("text", "decimal", "volts"),
    [
        ("1.8V,2.5V,4.5V", ".", [1.8, 2.5, 4.5]),
        ("1.8 V, 2.5 V, 4.5 V", ".", [1.8, 2.5, 4.5]),
        ("1.8/2.5/4.5 V", ".", [1.8, 2.5, 4.5]),
        ("1V8/2V5/4V5", ".", [1.8, 2.5, 4.5]),
        ("4.5 V, 10 V", ".", [4.5, 10]),
        ("4.5V;10V", ".", [4.5, 10]),
        ("4.5 V and 10 V", ".", [4.5, 10]),
        ("4.5, 10 V", ".", [4.5, 10]),
        ("10V/4.5V", ".", [4.5, 10]),
        ("-4.5 V, -10 V", ".", [4.5, 10]),
        ("10 V", ".", [10]),
        ("4,5 V, 10 V", ",", [4.5, 10]),
        ("4,5V/10V", ",", [4.5, 10]),
        ("1,8 V; 2,5 V; 4,5 V", ",", [1.8, 2.5, 4.5]),
        ("4,5 V und 10 V", ",", [4.5, 10]),
    ],
)
def test_a_list_of_drive_voltages(text: str, decimal: Literal[".", ","], volts: list[float]) -> None:
    """Each gate voltage at which the maker specifies the part is a reading of its own."""
    got = read(text, "vgs_drive", decimal=decimal)
    assert sorted(r.value for r in got) == pytest.approx(volts)


# --- current and power, at the case or in free air -----------------------------------------------------


@pytest.mark.parametrize(
    ("text", "figure", "expected"),
    [
        ("40 A, Tc=25 °C", "id", says(40, place="case", degc=25)),
        ("40 A @ TC = 25°C", "id", says(40, place="case", degc=25)),
        ("40A (Tc=25ºC)", "id", says(40, place="case", degc=25)),
        ("40 A bei Tc = 25 °C", "id", says(40, place="case", degc=25)),
        ("40 A (Tcase 25 °C)", "id", says(40, place="case", degc=25)),
        ("28 A, Tc=100 °C", "id", says(28, place="case", degc=100)),
        ("40A (Tc)", "id", says(40, place="case")),
        ("40A(Tc)", "id", says(40, place="case")),
        ("40 A [case]", "id", says(40, place="case")),
        ("40 A (Gehäuse)", "id", says(40, place="case")),
        ("9 A (Ta=25°C)", "id", says(9, place="ambient", degc=25)),
        ("9 A, TA = 70 °C", "id", says(9, place="ambient", degc=70)),
        ("9A (Tamb = 25 °C)", "id", says(9, place="ambient", degc=25)),
        ("9A (Ta)", "id", says(9, place="ambient")),
        ("9 A [amb]", "id", says(9, place="ambient")),
        ("9 A (Umgebung)", "id", says(9, place="ambient")),
        ("9 A bei Tu = 25 °C", "id", says(9, place="ambient", degc=25)),
        ("40A@100ºC", "id", says(40, degc=100)),
        ("40A @ 25 °C", "id", says(40, degc=25)),
        ("40 A (100 °C)", "id", says(40, degc=100)),
        ("95 A (silicon limited)", "id", says(95, place="chip")),
        ("95 A (Si)", "id", says(95, place="chip")),
        ("62.5W(Tc)", "pd", says(62.5, place="case")),
        ("62.5 W, TC = 25 °C", "pd", says(62.5, place="case", degc=25)),
        ("1.4W@Ta=25°C", "pd", says(1.4, place="ambient", degc=25)),
        ("1.4 W (TA)", "pd", says(1.4, place="ambient")),
    ],
)
def test_where_the_temperature_was_held(text: str, figure: str, expected: Says) -> None:
    """A figure for a cold case, for free air or for the bare chip are three different promises."""
    assert_reads(text, figure, (expected,))


@pytest.mark.parametrize(
    ("text", "figure", "expected"),
    [
        ("68 A [case]/9 A [amb]", "id", (says(68, place="case"), says(9, place="ambient"))),
        ("9 A (Ta), 68 A (Tc)", "id", (says(68, place="case"), says(9, place="ambient"))),
        ("68A(Tc)/9A(Ta)", "id", (says(68, place="case"), says(9, place="ambient"))),
        ("68A Tc, 9A Ta", "id", (says(68, place="case"), says(9, place="ambient"))),
        ("9A (Ta)\n68A (Tc)", "id", (says(68, place="case"), says(9, place="ambient"))),
        (
            "68 A (TC = 25 °C); 9 A (TA = 25 °C)",
            "id",
            (says(68, place="case", degc=25), says(9, place="ambient", degc=25)),
        ),
        ("40A@25°C, 28A@100°C", "id", (says(40, degc=25), says(28, degc=100))),
        ("40 A (25 °C) / 28 A (100 °C)", "id", (says(40, degc=25), says(28, degc=100))),
        ("40 A (pkg; Si 95 A)", "id", (says(40, place="case"), says(95, place="chip"))),
        ("95 A (Si), 40 A (pkg)", "id", (says(40, place="case"), says(95, place="chip"))),
        ("40 A package, 95 A silicon", "id", (says(40, place="case"), says(95, place="chip"))),
        ("1.4W (Ta), 62.5W (Tc)", "pd", (says(62.5, place="case"), says(1.4, place="ambient"))),
        ("62.5 W [case] / 1.4 W [ambient]", "pd", (says(62.5, place="case"), says(1.4, place="ambient"))),
    ],
)
def test_two_promises_in_one_cell(text: str, figure: str, expected: tuple[Says, ...]) -> None:
    """Each current or power keeps the place that its own part of the cell names."""
    assert_reads(text, figure, expected)


# --- charge, capacitance, thermal ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("22nC, VGS 4.5V", (says(22e-9, gate_v=4.5),)),
        ("22nC@4.5V", (says(22e-9, gate_v=4.5),)),
        ("22 nC (VGS = 10 V)", (says(22e-9, gate_v=10),)),
        ("22 nC (4V5)", (says(22e-9, gate_v=4.5),)),
        ("22 nC bei 10 V", (says(22e-9, gate_v=10),)),
        ("typ. 22 nC @ 10 V", (says(22e-9, statistic="typ", gate_v=10),)),
        ("22 nC max @ VGS=4.5V", (says(22e-9, statistic="max", gate_v=4.5),)),
        ("45nC@10V,22nC@4V5", (says(45e-9, gate_v=10), says(22e-9, gate_v=4.5))),
        ("45 nC (10 V) / 22 nC (4.5 V)", (says(45e-9, gate_v=10), says(22e-9, gate_v=4.5))),
        ("22 nC typ, 29 nC max", (says(22e-9, statistic="typ"), says(29e-9, statistic="max"))),
    ],
)
def test_gate_charge_keeps_its_gate_voltage(text: str, expected: tuple[Says, ...]) -> None:
    """A gate takes more charge at 10 V than at 4.5 V."""
    assert_reads(text, "qg", expected)


@pytest.mark.parametrize(
    "text", ["1200 pF @ 15 V", "1200pF (VDS=15V)", "1200 pF @ 1 MHz", "1200 pF, VDS = 15 V, f = 1 MHz"]
)
def test_the_test_conditions_of_a_capacitance_are_no_capacitance(text: str) -> None:
    """Drain voltage and frequency go with it, and only the capacitance is a value."""
    assert [r.value for r in read(text, "ciss")] == pytest.approx([1.2e-9])


@pytest.mark.parametrize(
    ("text", "figure", "expected"),
    [
        ("1.4\u00baC/W max", "rthjc", (says(1.4, statistic="max"),)),
        ("max. 1.4 K/W", "rthjc", (says(1.4, statistic="max"),)),
        ("62 °C/W (max.)", "rthja", (says(62, statistic="max"),)),
        ("≤ 62 K/W", "rthja", (says(62, statistic="max"),)),
        ("62 K/W typ", "rthja", (says(62, statistic="typ"),)),
        ("62 min pad, 40 on 6 cm²", "rthja", (says(62, board="min pad"), says(40, board="6 cm2"))),
        ("62 K/W (min pad), 40 K/W (6 cm²)", "rthja", (says(62, board="min pad"), says(40, board="6 cm2"))),
        ("62 K/W min pad", "rthja", (says(62, board="min pad"),)),
        ("40 K/W on 6 cm2", "rthja", (says(40, board="6 cm2"),)),
    ],
)
def test_thermal_resistance_keeps_its_board(text: str, figure: str, expected: tuple[Says, ...]) -> None:
    """The copper under the part goes with the figure; "min pad" means the least copper, no minimum figure."""
    assert_reads(text, figure, expected)


@pytest.mark.parametrize(
    "text",
    [
        "62 °C/W minimum footprint, 40 °C/W 1 in² copper",
        "62 K/W (minimum footprint); 40 K/W (1 in² Cu)",
        "62 K/W (min. footprint) / 40 K/W (1 sq in)",
    ],
)
def test_a_minimum_footprint_is_no_minimum_figure(text: str) -> None:
    """Both figures are kept, each with a remark, and neither becomes a "min"."""
    got = sorted(read(text, "rthja"), key=order)
    assert [r.value for r in got] == pytest.approx([40, 62])
    assert [r.statistic for r in got] == [None, None]
    assert all(r.board for r in got)


@pytest.mark.parametrize(
    ("text", "hottest"),
    [
        ("-55~175°C", 175),
        ("-55…175 °C", 175),
        ("-55...+150°C", 150),
        ("-55 to +175 °C", 175),
        ("-55°C ~ 175°C", 175),
        ("-55 °C to 150 °C", 150),
        ("\u221255…+175 °C", 175),
        ("-55 – 175 ℃", 175),
        ("-55/+175 °C", 175),
        ("-55 bis 175 °C", 175),
        ("-55 bis +150 ºC", 150),
        ("-55 - 175 °C", 175),
        ("-55°C ~ 175°C (TJ)", 175),
    ],
)
def test_a_temperature_range_gives_the_hottest_junction(text: str, hottest: float) -> None:
    """The upper end is the maximum and what counts; the lower end, where kept, is marked as the minimum."""
    got = {r.statistic: r.value for r in read(text, "tj")}
    assert got.pop("max") == pytest.approx(hottest)
    assert got in ({}, {"min": pytest.approx(-55)})


@pytest.mark.parametrize("text", ["62 K/W (t ≤ 10 s)", "62 K/W, t<10s", "62 K/W (t ≤ 10 s), 90 K/W (steady state)"])
def test_the_limit_sign_of_a_condition_is_no_statistic(text: str) -> None:
    """The sign in "t ≤ 10 s" bounds the time and not the figure. The cell may be refused."""
    got = read_cell(text, FAMILY.figure("rthja"))
    assert isinstance(got, Refused) or (got is not None and {r.statistic for r in got} == {None})


@pytest.mark.parametrize("text", ["40 A (60 V)", "60 V, 40 A", "40 A / 60 V"])
def test_a_drain_voltage_in_a_current_cell_is_no_gate_voltage(text: str) -> None:
    """No gate of a power MOSFET stands 60 V (common practice). The cell may be refused."""
    got = read_cell(text, FAMILY.figure("id"))
    assert isinstance(got, Refused) or (got is not None and [(r.value, r.gate_v) for r in got] == [(40, None)])


# --- what the heading said -----------------------------------------------------------------------------


def test_the_heading_fills_in_what_the_cell_leaves_out() -> None:
    """Unit, statistic and gate voltage of the heading go with a bare number."""
    expected = (says(0.012, statistic="max", gate_v=4.5),)
    assert_reads("12", "rds_on", expected, unit="mΩ", statistic="max", gate_v=4.5)


def test_the_heading_gives_the_place() -> None:
    """A heading that says "TA = 25 °C" makes a bare current a free-air current."""
    assert_reads("9.2", "id", (says(9.2, place="ambient"),), unit="A", place="ambient")


@pytest.mark.parametrize("text", ["0.012 Ω", "0.012 Ohm", "12 mΩ", "12000 µΩ", "0R012"])
def test_the_unit_in_the_cell_beats_the_unit_in_the_heading(text: str) -> None:
    """The nearer word counts: a heading in mΩ does not shrink a cell that is written in ohms."""
    assert_reads(text, "rds_on", (says(0.012),), unit="mΩ")


def test_the_gate_voltage_in_the_cell_beats_the_heading() -> None:
    """A cell that says 4.5 V under a heading that says 10 V was measured at 4.5 V."""
    assert_reads("12 mΩ @ 4.5 V", "rds_on", (says(0.012, gate_v=4.5),), gate_v=10)


def test_a_typical_cell_under_a_maximum_heading_stays_typical() -> None:
    """The cell's own word is nearer, and it is the careful one."""
    assert_reads("9.5 mΩ typ", "rds_on", (says(9.5e-3, statistic="typ"),), statistic="max")


@pytest.mark.parametrize(
    ("text", "figure", "unit", "value"),
    [
        ("12", "rds_on", "mohm", 0.012),
        ("12.0", "rds_on", "mOhm", 0.012),
        ("0.012", "rds_on", "Ω", 0.012),
        ("1200", "ciss", "pF", 1.2e-9),
        ("22", "qg", "nC", 22e-9),
        ("15", "rise", "ns", 15e-9),
        ("350", "pd", "mW", 0.35),
        ("62", "rthja", "°C/W", 62),
        ("175", "tj", "°C", 175),
        ("40000", "id", "mA", 40),
    ],
)
def test_bare_numbers_take_the_unit_of_the_heading(text: str, figure: str, unit: str, value: float) -> None:
    """The unit text is what the heading printed."""
    assert_reads(text, figure, (says(value),), unit=unit)


@pytest.mark.parametrize(("text", "ohm"), [("12", 12.0), ("0.012", 0.012)])
def test_a_resistance_without_any_unit_is_ohms_or_refused(text: str, ohm: float) -> None:
    """Ambiguous, so the careful outcome: never silently milliohms, a thousandfold flattery."""
    got = read_cell(text, FAMILY.figure("rds_on"))
    assert isinstance(got, Refused) or (got is not None and [r.value for r in got] == [pytest.approx(ohm)])


@pytest.mark.parametrize("text", ["12 mΩ.", "12 m-ohm", "12 mΩ*", "12 mΩ 1)", "12 mΩ (1)", "12 mΩ (note 2)"])
def test_a_stray_mark_never_changes_the_value(text: str) -> None:
    """A full stop, a hyphen in the unit, a footnote: twelve milliohms or a refusal, no second figure."""
    got = read_cell(text, FAMILY.figure("rds_on"))
    assert isinstance(got, Refused) or (got is not None and [r.value for r in got] == [pytest.approx(0.012)])


# --- missing and refused -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "-",
        "\u2014",
        "\u2013",
        "\u2212",
        "--",
        "---",
        "N/A",
        "n/a",
        "n.a.",
        "NA",
        "k.A.",
        "k. A.",
        "",
        " ",
        "\u00a0",
        "\t\n",
    ],
)
@pytest.mark.parametrize("figure", ["rds_on", "vds", "id", "tj", "rthja"])
def test_an_empty_cell_is_missing_and_not_refused(text: str, figure: str) -> None:
    """A supplier who says nothing is not wrong."""
    assert read_cell(text, FAMILY.figure(figure)) is None


@pytest.mark.parametrize(
    "text",
    ["TBD", "see data sheet", "siehe Datenblatt", "on request", "?", "nan", "inf", "yes", "#REF!", "#N/A"],
)
def test_words_in_place_of_a_figure_give_no_reading(text: str) -> None:
    """Missing or refused, as the word may be; never a number."""
    got = read_cell(text, FAMILY.figure("rds_on"))
    assert got is None or isinstance(got, Refused)


@pytest.mark.parametrize(
    ("text", "figure"),
    [
        ("12 MΩ", "rds_on"),  # a slipped capital: 10^9 off
        ("12 Mohm", "rds_on"),
        ("12 kΩ", "rds_on"),
        ("12 mW", "rds_on"),
        ("12 V", "rds_on"),
        ("12 mA", "rds_on"),
        ("12 mΩ·cm²", "rds_on"),
        ("12 nΩ", "rds_on"),
        ("0 mΩ", "rds_on"),
        ("-12 mΩ", "rds_on"),
        ("1e400 Ω", "rds_on"),
        ("12..5 mΩ", "rds_on"),
        ("1.2.3 mΩ", "rds_on"),
        ("twelve", "rds_on"),
        ("12 furlongs", "rds_on"),
        ("30 A", "vds"),
        ("30 mΩ", "vds"),
        ("30 mV", "vds"),
        ("30 MV", "vds"),
        ("5 kV", "vds"),
        ("30 W", "vds"),
        ("0 V", "vds"),
        ("40 V", "id"),
        ("40 kA", "id"),
        ("40 Ah", "id"),
        ("40 nA", "id"),
        ("62 K/W", "pd"),
        ("62 °C", "pd"),
        ("62 W", "rthja"),
        ("62 °C", "rthja"),
        ("16 mW/K", "rthja"),  # a derating slope: the reciprocal
        ("22 nF", "qg"),
        ("22 C", "qg"),
        ("22 nH", "qg"),
        ("345 nF", "ciss"),  # meant as pF
        ("345 nC", "ciss"),
        ("15 Hz", "rise"),
        ("15 s", "rise"),
        ("15 A", "fall"),
        ("175 V", "tj"),
        ("1750 °C", "tj"),
    ],
)
def test_the_wrong_kind_and_the_implausible_are_refused(text: str, figure: str) -> None:
    """A figure of another kind, or one that no power MOSFET has, is refused with a reason for the user."""
    got = read_cell(text, FAMILY.figure(figure))
    assert isinstance(got, Refused)
    assert got.reason.strip()


def test_the_unit_of_the_heading_is_held_against_the_plausible_range_too() -> None:
    """345 under a heading in nF is as wrong as "345 nF" in the cell."""
    assert isinstance(read_cell("345", FAMILY.figure("ciss"), unit="nF"), Refused)


def test_fahrenheit_is_converted_or_refused_and_never_taken_for_celsius() -> None:
    """347 °F are 175 °C; as 347 °C the junction would be given twice the room it has."""
    got = read_cell("347 °F", FAMILY.figure("tj"))
    assert isinstance(got, Refused) or (got is not None and [r.value for r in got] == [pytest.approx(175)])


@pytest.mark.parametrize(
    ("text", "decimal", "ohm"),
    [
        ("12,5 mΩ", ".", 0.0125),
        ("0,012 Ω", ".", 0.012),
        ("12.5 mΩ", ",", 0.0125),
        ("0.012 Ω", ",", 0.012),
        ("1,25,3 mΩ", ".", None),
    ],
)
def test_a_decimal_mark_of_the_other_kind_is_mended_or_refused(
    text: str, decimal: Literal[".", ","], ohm: float | None
) -> None:
    """It groups no thousands there: a decimal mark or a mistake; never 125 mΩ, and never two figures."""
    got = read_cell(text, FAMILY.figure("rds_on"), decimal=decimal)
    assert isinstance(got, Refused) or (got is not None and [r.value for r in got] == [pytest.approx(ohm)])


@pytest.mark.parametrize(
    "text",
    ["40 A / 28 A", "40/28 A", "12 mΩ, 9 mΩ"],
)
def test_two_bare_values_never_leave_only_the_better_one(text: str) -> None:
    """Ambiguous: whose condition is whose is not said. Both are kept, or the cell is refused."""
    figure, worse = ("rds_on", 0.012) if "Ω" in text else ("id", 28.0)
    got = read_cell(text, FAMILY.figure(figure))
    assert isinstance(got, Refused) or (got is not None and pytest.approx(worse) in [r.value for r in got])


def test_a_range_of_currents_never_leaves_only_the_better_end() -> None:
    """A cell "28…40 A" promises no more than 28 A, unless both ends are kept as minimum and maximum."""
    got = read_cell("28…40 A", FAMILY.figure("id"))
    assert isinstance(got, Refused) or (got is not None and pytest.approx(28) in [r.value for r in got])
