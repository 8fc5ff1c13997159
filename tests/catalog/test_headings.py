"""A heading says which figure its column holds, and under which conditions, in the trade's words and symbols.

Headings are common practice in English and German; symbols are those of IEC 60747-8. What a heading does not
say is not invented, and a heading that is not understood reads as nothing.
"""

from __future__ import annotations

import shutil
from itertools import permutations, product
from pathlib import Path

import pytest

from loadworthy import shipped
from loadworthy.catalog import families
from loadworthy.catalog.cells import read_cell
from loadworthy.catalog.headings import HeadingReading, read_heading

FAMILY = families.load("transistor")
SEPARATORS = [" ", ", ", "; ", " / ", "\n", " - ", " | "]


def heading(text: str) -> HeadingReading:
    """Read a heading of a transistor list."""
    return read_heading(text, FAMILY)


def scale(text: str, figure: str, unit: str | None) -> float | None:
    """Return what a bare number under a heading with this unit comes to: what the unit text is for."""
    got = read_cell(text, FAMILY.figure(figure), unit=unit)
    return got[0].value if isinstance(got, tuple) else None


@pytest.mark.parametrize(
    ("figure", "texts"),
    [
        (
            "rds_on",
            [
                "RDS(on)",
                "Rds(on)",
                "rds(on)",
                "RDS(ON) max",
                "R DS(on)",
                "R_DS(on)",
                "RDSon",
                "rds_on",
                "Rds on",
                "On-resistance",
                "ON RESISTANCE",
                "On resistance (mΩ)",
                "Drain-source on-resistance",
                "Drain–source on-state resistance, typ",
                "Static drain-to-source on-resistance",
                "Einschaltwiderstand",
                "Einschaltwiderstand (max.)",
                "Einschaltwiderstand RDS(on) max. bei UGS = 10 V",
                "On-Widerstand [mΩ]",
                "Durchlasswiderstand",
                "RDS(on) max, VGS = 4.5 V",
                "On-resistance max [mOhm] at 4,5 V",
                "Rds(on)max@4V5",
                "RDS(on) @ VGS=10V, ID=20A",
            ],
        ),
        (
            "vds",
            [
                "VDS",
                "Vds",
                "V DS",
                "V_DS",
                "VDSS",
                "VDSS (V)",
                "VDS max [V]",
                "V(BR)DSS",
                "V(BR)DSS min",
                "BVDSS",
                "UDS",
                "U_DS [V]",
                "Drain–source voltage [V]",
                "Drain-source voltage",
                "Voltage drain to source (VDSS)",
                "Drain source breakdown voltage",
                "Drain-Source-Spannung",
                "Drain-Source-Spannung UDS [V]",
                "Drain-Source-Durchbruchspannung",
                "Sperrspannung",
            ],
        ),
        (
            "vgs_max",
            [
                "VGS",
                "VGS max",
                "VGSS",
                "VGS (±V)",
                "Vgs max. (V)",
                "Gate–source voltage",
                "Gate-source voltage max [V]",
                "Gate to source voltage",
                "Gate-Source-Spannung",
                "Gate-Source-Spannung (max.)",
            ],
        ),
        (
            "vgs_th",
            [
                "VGS(th)",
                "VGS(th) max",
                "Vgs(th) min (V)",
                "VGSth",
                "V_GS(th)",
                "Vgs th",
                "Gate threshold voltage",
                "Gate threshold voltage VGS(th), typ",
                "Threshold voltage max @ 250 µA",
                "Gate-source threshold voltage",
                "Gate-Schwellenspannung (max.)",
                "Schwellenspannung",
                "VGS(th) @ ID = 1 mA",
            ],
        ),
        (
            "id",
            [
                "ID",
                "ID (A)",
                "I D",
                "I_D [A]",
                "ID max",
                "ID @ TC=25°C",
                "ID, TA = 25 °C",
                "Drain current",
                "Continuous drain current",
                "Continuous drain current ID (A)",
                "Drain current, continuous",
                "Dauer-Drainstrom\nTc = 25 °C",
                "Drainstrom [A]",
                "Dauerdrainstrom ID",
            ],
        ),
        (
            "id_pulse",
            [
                "IDM",
                "IDM (A)",
                "ID,pulse",
                "ID(pulse)",
                "Pulsed drain current",
                "Drain current, pulsed",
                "Pulsed drain current IDM [A]",
                "Drainstrom gepulst",
                "ID pulsed",
                "ID pulsed tp=10µs",
                "Peak drain current",
            ],
        ),
        (
            "pd",
            [
                "PD",
                "PD (W)",
                "Ptot",
                "P_tot [W]",
                "Power dissipation",
                "Total power dissipation, TC = 25 °C",
                "Verlustleistung",
                "Verlustleistung Ptot (W)",
            ],
        ),
        (
            "qg",
            [
                "Qg",
                "QG",
                "Q_g [nC]",
                "Qg typ @ 4.5 V",
                "Total gate charge",
                "Gate charge (nC)",
                "Gateladung",
                "Gate-Ladung Qg",
            ],
        ),
        (
            "qgd",
            [
                "Qgd",
                "QGD (nC)",
                "Gate-drain charge",
                "Gate to drain charge Qgd",
                "Miller charge",
                "Gate-Drain-Ladung",
            ],
        ),
        ("ciss", ["Ciss", "C iss (pF)", "Input capacitance", "Input capacitance Ciss", "Eingangskapazität"]),
        ("rise", ["tr", "tr (ns)", "Rise time", "Rise time tr [ns]", "Anstiegszeit"]),
        ("fall", ["tf", "t_f [ns]", "Fall time", "Abfallzeit"]),
        (
            "rthja",
            [
                "Rth(j-a)",
                "RthJA",
                "RthJA max",
                "RθJA",
                "RθJA (°C/W)",
                "θJA",
                "ΘJA",
                "Theta-JA",
                "Rth j-a [K/W]",
                "Thermal resistance junction-ambient",
                "Thermal resistance, junction to ambient",
                "Junction-to-ambient thermal resistance",
                "Wärmewiderstand Sperrschicht-Umgebung",
            ],
        ),
        (
            "rthjc",
            [
                "Rth(j-c)",
                "RthJC",
                "RthJC max",
                "RθJC",
                "RθJC [K/W]",
                "θJC",
                "Theta-JC",
                "Thermal resistance junction-case",
                "Junction to case thermal resistance",
                "Wärmewiderstand Sperrschicht-Gehäuse",
            ],
        ),
        (
            "tj",
            [
                "TJ",
                "Tj max",
                "TJ max [°C]",
                "Junction temperature",
                "Maximum junction temperature",
                "Sperrschichttemperatur",
            ],
        ),
        (
            "channel",
            ["Channel", "Channel type", "FET polarity", "Polarity", "Kanal", "Kanaltyp", "Polarität"],
        ),
        (
            "package",
            [
                "Package",
                "PACKAGE",
                "Case",
                "Outline",
                "Body",
                "Case style",
                "Package type",
                "Bauform",
                "Gehäuse",
            ],
        ),
        (
            "part_number",
            [
                "Part number",
                "Part no.",
                "Part No",
                "PART NUMBER",
                "MPN",
                "Type number",
                "Manufacturer part number",
            ],
        ),
        ("maker", ["Maker", "Manufacturer", "MANUFACTURER", "Mfr", "Hersteller"]),
        ("order_number", ["Order number", "Order code"]),
        (
            "price",
            [
                "Price",
                "Unit price",
                "Price (EUR)",
                "Price each [£]",
                "Preis",
                "Preise",
                "Stückpreis",
                "Price 100+",
            ],
        ),
        (
            "stock",
            ["Stock", "In stock", "Stock qty", "Quantity in stock", "Lager", "Lagerbestand", "Bestand"],
        ),
        ("least_quantity", ["Minimum order quantity", "MOQ", "Min. order qty", "Mindestbestellmenge"]),
    ],
)
def test_every_heading_names_its_figure(figure: str, texts: list[str]) -> None:
    """Symbols and words of the trade, in English and German, however they are punctuated."""
    assert {text: heading(text).reads for text in texts} == dict.fromkeys(texts, figure)


@pytest.mark.parametrize("figure", ["vgs_drive"])
def test_the_gate_voltages_of_a_drive_column(figure: str) -> None:
    """A column that lists where the on-resistance is specified is neither a rating nor a threshold."""
    texts = ["Drive voltage", "Gate drive voltage [V]", "Ansteuerspannung"]
    assert {text: heading(text).reads for text in texts} == dict.fromkeys(texts, figure)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "xyzzy",
        "???",
        "§§§",
        "Height (mm)",
        # other quantities of the same data sheet, one letter away from a figure that is kept
        "Qgs",
        "Gate-source charge",
        "Qrr",
        "Reverse recovery charge",
        "trr",
        "Reverse recovery time",
        "td(on)",
        "Turn-on delay time",
        "Coss",
        "Crss",
        "Output capacitance",
        "Reverse transfer capacitance",
        "IDSS",
        "IGSS",
        "Drain leakage current",
        "IS",
        "Qoss",
        "Qg(th)",
        "Threshold gate charge",
        "Case temperature",
        "Gehäusetemperatur",
        "td(off)",
        "VSD",
        "Diode forward voltage",
        "EAS",
        "Avalanche energy",
        "gfs",
        "RG",
        "Gate resistance",
        "Tstg",
        "Storage temperature",
        "Lagertemperatur",
    ],
)
def test_what_is_not_kept_reads_as_nothing(text: str) -> None:
    """Nonsense, and data-sheet quantities that are easily taken for a kept figure."""
    assert heading(text).reads is None


@pytest.mark.parametrize(
    "text",
    ["Notes", "Bemerkung", "Data sheet", "Datenblatt", "Image", "RoHS", "Weight (g)", "Country of origin"],
)
def test_remarks_are_never_a_figure(text: str) -> None:
    """They may be known as free text that describes the part; no figure is taken from them."""
    assert heading(text).reads in {None, "description"}


def test_a_bare_number_is_never_a_certain_heading() -> None:
    """It may be guessed to be a price break; it does not say so."""
    got = heading("42")
    assert got.reads in {None, "price"}
    assert got.certain is False


@pytest.mark.parametrize("text", ["Bestellnummer", "Bestell-Nr.", "Bestellnr."])
def test_a_german_order_number_names_the_part(text: str) -> None:
    """Ambiguous: the shop's number or the maker's, as the list has it; never a quantity, price or stock."""
    assert heading(text).reads in {"order_number", "part_number"}


@pytest.mark.parametrize(
    ("text", "statistic", "gate_v", "degc", "place"),
    [
        ("RDS(on) max, VGS = 4.5 V", "max", 4.5, None, None),
        ("On-resistance max [mOhm] at 4,5 V", "max", 4.5, None, None),
        ("Rds(on)max@4V5", "max", 4.5, None, None),
        ("RDS(on) (mΩ) max @ 10V", "max", 10, None, None),
        ("RDS(on) typ. VGS=10 V", "typ", 10, None, None),
        ("RDS(on) (typ.) @ 2.5 V", "typ", 2.5, None, None),
        ("RDS(on) @4.5V", None, 4.5, None, None),
        ("RDS(on) max. VGS = -4.5 V", "max", 4.5, None, None),
        ("Max. RDS(on) at VGS=10V, TJ=25°C", "max", 10, 25, None),
        ("RDSon_max_4.5V", "max", 4.5, None, None),
        ("rds_on_max_10v", "max", 10, None, None),
        ("Maximum on-resistance", "max", None, None, None),
        ("Typical on-resistance", "typ", None, None, None),
        ("Einschaltwiderstand (max.)", "max", None, None, None),
        ("Einschaltwiderstand typ. bei 4,5 V [mΩ]", "typ", 4.5, None, None),
        ("Einschaltwiderstand max. bei UGS = 10 V", "max", 10, None, None),
        ("V(BR)DSS min", "min", None, None, None),
        ("VGS(th) max", "max", None, None, None),
        ("VGS(th) min [V]", "min", None, None, None),
        ("Gate-Schwellenspannung (max.)", "max", None, None, None),
        ("ID @ TC=25°C", None, None, 25, "case"),
        ("ID (A), TC = 100 °C", None, None, 100, "case"),
        ("Dauer-Drainstrom\nTc = 25 °C", None, None, 25, "case"),
        ("ID, TA = 25 °C", None, None, 25, "ambient"),
        ("Continuous drain current (case)", None, None, None, "case"),
        ("Continuous drain current, ambient", None, None, None, "ambient"),
        ("Drainstrom Tu = 25 °C", None, None, 25, "ambient"),
        ("PD @ TA=25ºC", None, None, 25, "ambient"),
        ("Total power dissipation, TC = 25 °C", None, None, 25, "case"),
        ("Qg typ @ 4.5 V", "typ", 4.5, None, None),
        ("Gate charge max (nC) VGS=10V", "max", 10, None, None),
        ("RthJA max", "max", None, None, None),
    ],
)
def test_a_heading_keeps_its_conditions(
    text: str, statistic: str | None, gate_v: float | None, degc: float | None, place: str | None
) -> None:
    """Statistic, gate voltage, temperature and place are read; what is not said stays open."""
    got = heading(text)
    assert got.reads is not None
    assert got.statistic == statistic
    assert got.gate_v == (None if gate_v is None else pytest.approx(gate_v))
    assert got.degc == (None if degc is None else pytest.approx(degc))
    assert got.place == place


@pytest.mark.parametrize("text", ["Rth(j-c)", "RthJC", "Junction to case thermal resistance", "RθJC [K/W]"])
def test_the_case_of_a_thermal_resistance_is_no_package(text: str) -> None:
    """The word "case" alone names the outline; junction to case is a thermal resistance."""
    assert heading(text).reads == "rthjc"
    assert heading("Case").reads == "package"


@pytest.mark.parametrize(
    "text",
    ["RDS(on) max @ 125 °C", "On-resistance at TJ = 125 °C, VGS = 10 V", "Einschaltwiderstand bei 125 °C"],
)
def test_a_hot_resistance_column_says_that_it_is_hot(text: str) -> None:
    """It may be a figure of its own, or the on-resistance with its temperature; never a 25 °C figure."""
    got = heading(text)
    assert got.reads in {"rds_on", "rds_hot"}
    assert got.degc == pytest.approx(125)


@pytest.mark.parametrize(
    ("text", "figure", "cell", "value"),
    [
        ("On-resistance max [mOhm] at 4,5 V", "rds_on", "12", 0.012),
        ("RDS(on) (mΩ)", "rds_on", "12", 0.012),
        ("RDS(on) in mΩ", "rds_on", "12", 0.012),
        ("RDS(on) / mΩ", "rds_on", "12", 0.012),
        ("RDS(on), mohm", "rds_on", "12", 0.012),
        ("RDSon_max_mOhm", "rds_on", "12", 0.012),
        ("Einschaltwiderstand max. [mΩ]", "rds_on", "12", 0.012),
        ("RDS(on) (Ω)", "rds_on", "0.012", 0.012),
        ("Drain–source voltage [V]", "vds", "30", 30),
        ("Qg (nC)", "qg", "22", 22e-9),
        ("Qg [nC] @ 10 V", "qg", "22", 22e-9),
        ("Ciss (pF)", "ciss", "1200", 1.2e-9),
        ("Ciss [nF]", "ciss", "1.2", 1.2e-9),
        ("tr (ns)", "rise", "15", 15e-9),
        ("PD [mW]", "pd", "350", 0.35),
        ("ID (mA)", "id", "200", 0.2),
        ("RθJA (°C/W)", "rthja", "62", 62),
    ],
)
def test_the_unit_of_a_heading_scales_bare_numbers(text: str, figure: str, cell: str, value: float) -> None:
    """The unit text of the heading is what a bare number under it is read with."""
    got = heading(text)
    assert got.reads == figure
    assert got.unit is not None
    assert scale(cell, figure, got.unit) == pytest.approx(value)


@pytest.mark.parametrize(
    "text", ["RDS(on) max", "VDS", "Qg", "Einschaltwiderstand (max.)", "Drain current at TC = 25 °C"]
)
def test_a_heading_without_a_unit_invents_none(text: str) -> None:
    """A condition's volts or degrees are not the unit of the figure."""
    assert heading(text).unit is None


@pytest.mark.parametrize("text", ["RDS(on) max @ 10 V", "On-resistance, VGS = 4.5 V"])
def test_the_volts_of_a_condition_are_not_the_unit_of_a_resistance(text: str) -> None:
    """The 10 V are where the resistance is specified."""
    assert heading(text).unit is None


@pytest.mark.parametrize(
    "text",
    [
        "RDS(on) max, VGS = 4.5 V",
        "Drain–source voltage [V]",
        "VGS(th) max",
        "Rth(j-a)",
        "Qgd (nC)",
        "Einschaltwiderstand (max.)",
        "Hersteller",
        "Part number",
    ],
)
def test_plain_headings_are_certain(text: str) -> None:
    """Where symbol or words say it outright, nobody need be asked."""
    assert heading(text).certain is True


@pytest.mark.parametrize(
    "text",
    [
        "VDS / VGS",
        "VDS, VGS(th)",
        "ID/IDM",
        "Qg / Qgd",
        "RthJA / RthJC",
        "tr/tf",
        "Maker / Part number",
        "VDS (V) / ID (A)",
    ],
)
def test_two_figures_in_one_heading_are_not_certain(text: str) -> None:
    """Ambiguous, so the careful outcome: nothing is read, or what is read is marked as a guess."""
    got = heading(text)
    assert got.reads is None or got.certain is False


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("Price 100+", 100),
        ("Price (100+)", 100),
        ("Price @ 100", 100),
        ("Unit price 1000+ [£]", 1000),
        ("Price 1,000+", 1000),
        ("Price from 10 pcs", 10),
        ("Preis ab 10 Stk", 10),
        ("Preis (EUR) ab 100 Stück", 100),
        ("Price 1+", 1),
        ("100+ price", 100),
        ("Price", None),
        ("Preise", None),
        ("Price (EUR)", None),
    ],
)
def test_a_price_heading_may_name_its_quantity(text: str, quantity: int | None) -> None:
    """One column a quantity break is a common layout."""
    got = heading(text)
    assert got.reads == "price"
    assert got.price_quantity == quantity


def test_a_net_price_by_the_piece_is_a_price_and_not_the_stock() -> None:
    """Common practice in German lists; "net" alone is a guess, and a net weight is none."""
    for text in ("Netto je Stk.", "Netto je Stück", "Net each [£]"):
        assert (heading(text).reads, heading(text).certain) == ("price", True)
    for text in ("Net", "Netto", "Netto (EUR)"):
        assert (heading(text).reads, heading(text).certain) == ("price", False)
    assert heading("Net weight (g)").reads != "price"
    assert heading("Stück ab Lager").reads == "stock"


def test_stock_code_and_storage_are_no_stock() -> None:
    """Words that hold "stock" or "Lager" and mean something else."""
    assert [heading(text).reads == "stock" for text in ["Stock code", "Lagertemperatur", "Storage temperature"]] == [
        False
    ] * 3


@pytest.mark.parametrize("text", ["Ciss @ VDS = 15 V", "Qg, VDS=15V", "Input capacitance at VDS 15 V"])
def test_the_drain_voltage_of_a_condition_is_no_gate_voltage(text: str) -> None:
    """The condition names its own voltage."""
    assert heading(text).reads in {"ciss", "qg"}
    assert heading(text).gate_v is None


@pytest.mark.parametrize("text", ["RDS(on) max @ 10 V / 4.5 V", "RDS(on) 10V 4.5V", "On-resistance at 4.5 V and 10 V"])
def test_two_gate_voltages_in_one_heading_are_not_certain(text: str) -> None:
    """Ambiguous: cells that hold two figures pair with them, a single one may be of either."""
    got = heading(text)
    assert got.reads == "rds_on"
    assert got.certain is False or got.gate_v in {None, 4.5}


@pytest.mark.parametrize("text", ["Price per 100", "Price/100", "Preis pro 100 Stück", "Preis / 100 Stk"])
def test_the_price_of_a_hundred_is_no_certain_price_of_one(text: str) -> None:
    """Ambiguous: the money for a hundred pieces, or for each of a hundred: out by a hundred if wrong."""
    got = heading(text)
    assert got.reads is None or got.certain is False


# --- any order of the parts ----------------------------------------------------------------------------

RESISTANCE = [
    ("RDS(on)", "max", "[mΩ]", "VGS = 4.5 V"),
    ("RDS(on)", "max.", "(mOhm)", "@ 4.5 V"),
    ("Rds(on)", "(max)", "[mohm]", "VGS=4V5"),
    ("On-resistance", "maximum", "[mΩ]", "at 4.5 V"),
    ("On-resistance", "Max.", "(mΩ)", "Vgs 4.5V"),
    ("Einschaltwiderstand", "max.", "[mΩ]", "bei 4,5 V"),
    ("Einschaltwiderstand", "(max.)", "(mOhm)", "UGS = 4,5 V"),
    ("R_DS(on)", "MAX", "[m\u2126]", "@4.5V"),
]


@pytest.mark.parametrize("parts", RESISTANCE, ids=" ".join)
def test_the_parts_of_a_resistance_heading_stand_in_any_order(parts: tuple[str, ...]) -> None:
    """Quantity, statistic, unit and condition read alike in every order and with every mark between them."""
    misread = [
        text
        for separator, arrangement in product(SEPARATORS, permutations(parts))
        for text in [separator.join(arrangement)]
        for got in [heading(text)]
        if (got.reads, got.statistic, got.gate_v, scale("12", "rds_on", got.unit)) != ("rds_on", "max", 4.5, 0.012)
    ]
    assert misread == []


@pytest.mark.parametrize(
    ("parts", "reads", "statistic", "degc", "place"),
    [
        (("ID", "(A)", "TC = 25 °C"), "id", None, 25, "case"),
        (("ID", "max", "[A]", "TA=25°C"), "id", "max", 25, "ambient"),
        (("Continuous drain current", "(A)", "TC = 100 °C"), "id", None, 100, "case"),
        (("Dauer-Drainstrom", "[A]", "Tc = 25 °C"), "id", None, 25, "case"),
        (("PD", "[W]", "TA = 25 °C", "max."), "pd", "max", 25, "ambient"),
        (("Verlustleistung", "(W)", "TC = 25 ºC"), "pd", None, 25, "case"),
        (("IDM", "(A)", "TC = 25 °C"), "id_pulse", None, 25, "case"),
        (("RthJA", "[K/W]", "max"), "rthja", "max", None, None),
        (("RthJC", "(°C/W)", "typ."), "rthjc", "typ", None, None),
        (("VGS(th)", "[V]", "min"), "vgs_th", "min", None, None),
        (("VDS", "(V)", "max"), "vds", "max", None, None),
        (("VGS", "[V]", "max."), "vgs_max", "max", None, None),
    ],
)
def test_the_parts_of_other_headings_stand_in_any_order(
    parts: tuple[str, ...], reads: str, statistic: str | None, degc: float | None, place: str | None
) -> None:
    """Currents and powers keep their temperature and its place; near twins are not confused in any order."""
    expected = (reads, statistic, degc, place)
    misread = {
        text: (got.reads, got.statistic, got.degc, got.place)
        for separator, arrangement in product(SEPARATORS, permutations(parts))
        for text in [separator.join(arrangement)]
        for got in [heading(text)]
        if (got.reads, got.statistic, got.degc, got.place) != expected
    }
    assert misread == {}


@pytest.mark.parametrize(
    ("parts", "reads", "statistic", "gate_v"),
    [
        (("Qg", "typ", "[nC]", "VGS = 10 V"), "qg", "typ", 10),
        (("Qgd", "typ.", "(nC)", "@ 4.5 V"), "qgd", "typ", 4.5),
        (("Total gate charge", "max", "[nC]", "VGS=4.5V"), "qg", "max", 4.5),
    ],
)
def test_the_parts_of_a_charge_heading_stand_in_any_order(
    parts: tuple[str, ...], reads: str, statistic: str, gate_v: float
) -> None:
    """The VGS of the condition does not make a gate charge a gate voltage."""
    misread = {
        text: (got.reads, got.statistic, got.gate_v)
        for separator, arrangement in product(SEPARATORS, permutations(parts))
        for text in [separator.join(arrangement)]
        for got in [heading(text)]
        if (got.reads, got.statistic, got.gate_v) != (reads, statistic, gate_v)
    }
    assert misread == {}


def test_another_language_is_a_list_in_the_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A third list of words beside `en` and `de` is read without a line of code."""
    shutil.copytree(shipped.catalog_dir() / "families", tmp_path / "families")
    shutil.copy(shipped.catalog_dir() / "words.toml", tmp_path)
    file = tmp_path / "families" / "transistor.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("\nde = [", '\nxx = ["xundosk greln"]\nde = [', 1), encoding="utf-8")
    monkeypatch.setattr(shipped, "catalog_dir", lambda: tmp_path)
    fresh = families.load.__wrapped__("transistor")
    found = read_heading("Xundosk-Greln max [V]", fresh)
    assert (found.reads, found.statistic, found.unit) == (fresh.figures[0].name, "max", "V")
