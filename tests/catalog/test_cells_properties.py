"""Whatever number is written in whatever spelling reads back the same, and no text makes a reader fail.

Two things from outside stand on the other side: the `quantiphy` library, which writes and reads numbers in SI
notation, and the letter codes of IEC 60062.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from quantiphy import Quantity

from loadworthy.catalog import families
from loadworthy.catalog.cells import Refused, read_cell
from loadworthy.catalog.headings import read_heading
from loadworthy.catalog.offers import Prices, Stock, read_price, read_stock
from loadworthy.quantities import letter_code

FAMILY = families.load("transistor")

Mark = Literal[".", ","]
POINT_AND_COMMA: tuple[Mark, Mark] = (".", ",")
MARKS = st.sampled_from(POINT_AND_COMMA)

MICRO = ("\u00b5", "\u03bc", "u")
OHMS = ("\u2126", "\u03a9", "Ohm", "ohm", "Ohms", "ohms")
SPACES = ("", " ", "\u00a0", "\u2009", "\u202f", "  ")


@dataclass(frozen=True, kw_only=True)
class Notation:
    """The sensible range of a figure, and how lists spell its unit at each power of ten."""

    low: str
    high: str
    units: dict[int, tuple[str, ...]]


def joined(prefixes: tuple[str, ...], units: tuple[str, ...]) -> tuple[str, ...]:
    """Every prefix with every unit word."""
    return tuple(prefix + unit for prefix in prefixes for unit in units)


KELVIN_PER_WATT = ("K/W", "°C/W", "\u2103/W", "\u00baC/W", "℃ / W")
CELSIUS = ("°C", "\u2103", "\u00baC", "degC")

NOTATIONS = {
    "rds_on": Notation(
        low="2e-4",
        high="900",
        units={0: OHMS, -3: (*joined(("m",), OHMS), "milliohm", "mR"), -6: joined(MICRO, OHMS)},
    ),
    "vds": Notation(low="6", high="2900", units={0: ("V", "VDC", "Volt", "volts"), -3: ("mV",), 3: ("kV",)}),
    "vgs_th": Notation(low="0.3", high="7", units={0: ("V", "Volt"), -3: ("mV",)}),
    "id": Notation(low="0.02", high="1900", units={0: ("A", "Amp", "Amps", "Ampere"), -3: ("mA",)}),
    "pd": Notation(low="0.06", high="4900", units={0: ("W", "Watt", "watts"), -3: ("mW",)}),
    "qg": Notation(low="2e-11", high="9e-6", units={-9: ("nC", "nAs"), -12: ("pC",), -6: joined(MICRO, ("C",))}),
    "ciss": Notation(low="2e-12", high="1.9e-7", units={-12: ("pF",), -9: ("nF",), -6: joined(MICRO, ("F",))}),
    "rise": Notation(low="2e-10", high="9e-5", units={-9: ("ns",), -6: joined(MICRO, ("s",)), -12: ("ps",)}),
    "rthja": Notation(low="4", high="900", units={0: KELVIN_PER_WATT}),
    "rthjc": Notation(low="0.03", high="90", units={0: KELVIN_PER_WATT}),
    "tj": Notation(low="80", high="350", units={0: CELSIUS}),
}


@dataclass(frozen=True)
class Written:
    """A value, and one way in which a list may print it."""

    value: float
    text: str
    decimal: Mark


@st.composite
def values(draw: st.DrawFn, notation: Notation) -> Decimal:
    """Draw a decimal number of up to five digits within the sensible range."""
    low, high = Decimal(notation.low), Decimal(notation.high)
    decade = draw(st.integers(low.adjusted(), high.adjusted()))
    step = Decimal(1).scaleb(decade - draw(st.integers(0, 4)))
    least, most = max(low, Decimal(1).scaleb(decade)), min(high, Decimal(1).scaleb(decade + 1))
    return draw(st.integers(math.ceil(least / step), math.floor(most / step))) * step


@st.composite
def spellings(draw: st.DrawFn, figure: str) -> Written:
    """Draw a value of the figure, and a spelling: prefix, unit word, decimal mark, blank, exponent."""
    notation = NOTATIONS[figure]
    value = draw(values(notation))
    power = draw(st.sampled_from(sorted(notation.units)))
    scaled = value.scaleb(-power)
    number = format(scaled, draw(st.sampled_from(["f", "e", "E"])))
    decimal = draw(MARKS)
    text = number.replace(".", decimal) + draw(st.sampled_from(SPACES)) + draw(st.sampled_from(notation.units[power]))
    return Written(float(value), text, decimal)


@pytest.mark.parametrize("figure", NOTATIONS)
@given(data=st.data())
def test_any_number_in_any_spelling_reads_back(figure: str, data: st.DataObject) -> None:
    """Prefix, unit word, decimal mark, blanks, exponent and Unicode twin do not change the value."""
    written = data.draw(spellings(figure))
    got = read_cell(written.text, FAMILY.figure(figure), decimal=written.decimal)
    assert isinstance(got, tuple), (written, got)
    assert [r.value for r in got] == [pytest.approx(written.value, rel=1e-9)]


@given(
    written=spellings("rds_on"),
    gate=st.sampled_from(["1.8", "2.5", "2.7", "3.3", "4.5", "5", "6", "10", "12"]),
    at=st.sampled_from([" @ {} V", "@{}V", " at {} V", " (VGS = {} V)", ", Vgs={}V", " bei {} V", " (UGS={}V)"]),
    word=st.sampled_from(
        [
            ("", None),
            (" max", "max"),
            (" typ.", "typ"),
            (" (max.)", "max"),
            (" typisch", "typ"),
            (" maximum", "max"),
        ]
    ),
)
def test_conditions_change_no_value(written: Written, gate: str, at: str, word: tuple[str, str | None]) -> None:
    """Statistic and gate voltage are read beside any resistance, in any spelling of it."""
    text = written.text + word[0] + at.format(gate.replace(".", written.decimal))
    got = read_cell(text, FAMILY.figure("rds_on"), decimal=written.decimal)
    assert isinstance(got, tuple), (text, got)
    assert [r.value for r in got] == [pytest.approx(written.value, rel=1e-9)]
    assert [(r.statistic, r.gate_v) for r in got] == [(word[1], float(gate))]


@given(
    typical=st.integers(10, 900),
    margin=st.integers(1, 90),
    pattern=st.sampled_from(
        [
            "{typ} typ, {max} max mΩ",
            "max {max} mΩ, typ {typ} mΩ",
            "{typ} mΩ (typ) / {max} mΩ (max)",
            "{max}mΩ max; {typ}mΩ typ",
        ]
    ),
)
def test_typical_and_maximum_are_never_swapped(typical: int, margin: int, pattern: str) -> None:
    """Whatever the two numbers and their order, each keeps its own word."""
    text = pattern.format(typ=typical / 10, max=(typical + margin) / 10)
    got = read_cell(text, FAMILY.figure("rds_on"))
    assert isinstance(got, tuple), (text, got)
    assert {r.statistic: r.value for r in got} == {
        "typ": pytest.approx(typical * 1e-4),
        "max": pytest.approx((typical + margin) * 1e-4),
    }


# --- no text at all makes a reader fail ----------------------------------------------------------------

SCRAPS = st.sampled_from(
    [
        *"0123456789.,;:/@()[]±+-−–…~≤<>= \n\t'\"%°ºΩµ℃²",
        *(
            "mΩ",
            "V",
            "A",
            "nC",
            "K/W",
            "typ",
            "max",
            "min",
            "bis",
            "ab",
            "VGS",
            "Tc",
            "Ta",
            "Si",
            "pkg",
            "R",
            "k",
            "M",
        ),
        *(
            "4V5",
            "0R012",
            "E-3",
            "€",
            "£",
            "Stk",
            "pcs",
            "N/A",
            "bei",
            "cm²",
            "1+",
            "...",
            "\u00a0",
            "\u0000",
            "\u202e",
        ),
    ]
)
ANY_TEXT = st.text() | st.lists(SCRAPS, max_size=12).map("".join) | st.lists(SCRAPS, max_size=8).map(" ".join)
FIGURES = st.sampled_from([*NOTATIONS, "vgs_max", "vgs_drive", "rds_hot", "id_pulse", "qgd", "fall"])


@given(text=ANY_TEXT, name=FIGURES, decimal=MARKS, unit=st.none() | st.sampled_from(["mΩ", "V", "", "furlong"]))
@example(text="9" * 5000, name="rds_on", decimal=".", unit="mΩ")
@example(text="1e" + "9" * 400, name="rds_on", decimal=".", unit="mΩ")
@example(text="٣ mΩ", name="rds_on", decimal=".", unit=None)
@example(text="½ mΩ", name="rds_on", decimal=".", unit=None)
@example(text="²", name="rds_on", decimal=".", unit="mΩ")
def test_no_cell_makes_the_reader_fail(text: str, name: str, decimal: Mark, unit: str | None) -> None:
    """Any text is missing, refused with a reason, or read as finite numbers with known conditions."""
    got: Any = read_cell(text, FAMILY.figure(name), decimal=decimal, unit=unit)
    if got is None:
        return
    if isinstance(got, Refused):
        assert got.reason.strip()
        return
    assert isinstance(got, tuple)
    assert got
    for reading in got:
        assert math.isfinite(reading.value)
        assert reading.statistic in {None, "min", "typ", "max"}
        assert reading.place in {None, "case", "ambient", "chip"}
        conditions = (reading.gate_v, reading.degc, reading.amps)
        assert all(number is None or math.isfinite(number) for number in conditions)


@given(text=ANY_TEXT, name=st.sampled_from(["rds_on", "id", "pd", "qg", "rthja"]), decimal=MARKS)
def test_no_text_gives_a_size_that_is_nought_or_negative(text: str, name: str, decimal: Mark) -> None:
    """Resistance, current, power, charge and thermal resistance are positive, or the cell is refused."""
    got = read_cell(text, FAMILY.figure(name), decimal=decimal)
    assert not isinstance(got, tuple) or all(reading.value > 0 for reading in got)


@given(text=ANY_TEXT, decimal=MARKS)
@example(text="9" * 5000, decimal=".")
@example(text="1e400", decimal=".")
@example(text="1+ ²", decimal=".")
def test_no_price_makes_the_reader_fail(text: str, decimal: Mark) -> None:
    """A price that is read is finite and positive, from a quantity of at least one."""
    got = read_price(text, decimal=decimal)
    if isinstance(got, Prices):
        assert all(quantity >= 1 and 0 < price < math.inf for quantity, price in got.breaks)


@given(text=ANY_TEXT, decimal=MARKS)
@example(text="1e400", decimal=".")
@example(text="9" * 5000, decimal=".")
@example(text="³", decimal=".")
def test_no_stock_makes_the_reader_fail(text: str, decimal: Mark) -> None:
    """A stock that is read is a whole number of pieces, nought or more."""
    got = read_stock(text, decimal=decimal)
    if isinstance(got, Stock):
        assert isinstance(got.quantity, int)
        assert got.quantity >= 0


@given(text=ANY_TEXT)
@example(text="(" * 2000)
@example(text="Price " + "9" * 5000 + "+")
def test_no_heading_makes_the_reader_fail(text: str) -> None:
    """A heading is read as something or as nothing."""
    got = read_heading(text, FAMILY)
    assert got.reads is None or isinstance(got.reads, str)
    assert got.statistic in {None, "min", "typ", "max"}


# --- prices and stock ----------------------------------------------------------------------------------


@given(
    breaks=st.dictionaries(st.integers(1, 99_999), st.integers(1, 999_999), min_size=1, max_size=6),
    decimal=MARKS,
    pattern=st.sampled_from(["{q}+ {p}", "{q}: {p} €", "{q}+: {p}", "ab {q} Stk {p} €", "{q} pcs: {p} EUR"]),
    between=st.sampled_from(["; ", " | ", "\n", " / "]),
)
def test_any_price_breaks_read_back(breaks: dict[int, int], decimal: Mark, pattern: str, between: str) -> None:
    """Any quantities with any prices to the cent, in the layouts that lists use."""
    text = between.join(
        pattern.format(q=quantity, p=f"{cents // 100}{decimal}{cents % 100:02d}") for quantity, cents in breaks.items()
    )
    got = read_price(text, decimal=decimal)
    assert isinstance(got, Prices), (text, got)
    assert dict(got.breaks) == {quantity: pytest.approx(cents / 100) for quantity, cents in breaks.items()}
    assert [quantity for quantity, _ in got.breaks] == sorted(breaks)


@given(
    quantity=st.integers(0, 9_999_999),
    grouping=st.sampled_from(["", "mark", "\u00a0", "\u2009", "'"]),
    decimal=MARKS,
)
def test_any_stock_reads_back(quantity: int, grouping: str, decimal: Mark) -> None:
    """Any number of pieces, with any grouping of thousands that the list's decimal mark leaves free."""
    mark = {".": ",", ",": "."}[decimal] if grouping == "mark" else grouping
    got = read_stock(f"{quantity:,}".replace(",", mark), decimal=decimal)
    assert isinstance(got, Stock)
    assert (got.quantity, got.at_least) == (quantity, False)


# --- outside the project -------------------------------------------------------------------------------

QUANTIPHY_UNITS = {
    "rds_on": "Ohm",
    "vds": "V",
    "vgs_th": "V",
    "id": "A",
    "pd": "W",
    "qg": "C",
    "ciss": "F",
    "rise": "s",
}


@pytest.mark.parametrize("figure", QUANTIPHY_UNITS)
@given(data=st.data())
def test_what_quantiphy_writes_reads_as_quantiphy_reads_it(figure: str, data: st.DataObject) -> None:
    """Source of truth: the quantiphy library, writing SI notation and reading its own text back."""
    value = float(data.draw(values(NOTATIONS[figure])))
    text = Quantity(value, QUANTIPHY_UNITS[figure]).render(prec="full")
    got = read_cell(text, FAMILY.figure(figure))
    assert isinstance(got, tuple), (text, got)
    assert [r.value for r in got] == [pytest.approx(Quantity(text).real, rel=1e-9)]


@pytest.mark.parametrize("figure", QUANTIPHY_UNITS)
@given(data=st.data())
def test_our_spellings_mean_what_quantiphy_takes_them_for(figure: str, data: st.DataObject) -> None:
    """Source of truth: the quantiphy library, reading a decimal number with a one-letter prefix."""
    notation = NOTATIONS[figure]
    value = data.draw(values(notation))
    power = data.draw(st.sampled_from(sorted(set(notation.units) & {-12, -9, -6, -3, 0, 3})))
    prefix = {-12: "p", -9: "n", -6: "u", -3: "m", 0: "", 3: "k"}[power]
    text = f"{value.scaleb(-power):f} {prefix}{QUANTIPHY_UNITS[figure]}"
    got = read_cell(text, FAMILY.figure(figure))
    assert isinstance(got, tuple), (text, got)
    assert [r.value for r in got] == [pytest.approx(Quantity(text).real, rel=1e-9)]


IEC_60062 = [
    ("R47", 0.47),
    ("4R7", 4.7),
    ("0R22", 0.22),
    ("R015", 0.015),
    ("4K7", 4700.0),
    ("2M2", 2.2e6),
    ("5L0", 0.005),
]


@pytest.mark.parametrize(("code", "ohm"), IEC_60062)
def test_letter_codes_of_iec_60062(code: str, ohm: float) -> None:
    """Source: IEC 60062, marking codes for resistors: the letter stands at the decimal mark."""
    assert letter_code(code, "ohm") == pytest.approx(ohm, rel=1e-12)


@pytest.mark.parametrize(("code", "ohm"), [pair for pair in IEC_60062 if pair[1] < 1000])
def test_letter_codes_stand_in_cells(code: str, ohm: float) -> None:
    """Source: IEC 60062. A list may print an on-resistance in letter code."""
    got = read_cell(code, FAMILY.figure("rds_on"))
    assert isinstance(got, tuple)
    assert [r.value for r in got] == [pytest.approx(ohm, rel=1e-12)]


@pytest.mark.parametrize("code", ["4K7", "2M2"])
def test_letter_codes_of_kiloohms_are_no_on_resistance(code: str) -> None:
    """Source: IEC 60062 for the value; no power MOSFET has it (common practice), so the cell is refused."""
    assert isinstance(read_cell(code, FAMILY.figure("rds_on")), Refused)


@given(digits=st.integers(1, 999), places=st.integers(1, 3))
def test_any_letter_code_is_the_number_with_a_decimal_mark(digits: int, places: int) -> None:
    """Source: IEC 60062. Putting R in the place of the decimal mark changes nothing."""
    number = format(Decimal(digits).scaleb(-places), "f")
    assert letter_code(number.replace(".", "R"), "ohm") == pytest.approx(float(number), rel=1e-12)


@pytest.mark.parametrize(("code", "ohm"), [("47R", 47.0), ("100R", 100.0), ("2R", 2.0)])
def test_a_letter_at_the_end_is_read_in_cells(code: str, ohm: float) -> None:
    """Source: IEC 60062, from memory: the decimal mark may stand last."""
    got = read_cell(code, FAMILY.figure("rds_on"))
    assert isinstance(got, tuple)
    assert [r.value for r in got] == [pytest.approx(ohm, rel=1e-12)]
