"""Lists of diodes: how their headings and cells are read, and two whole lists from file to choice.

Headings are common practice in English and German; symbols are those of IEC 60747-2. Makers, suppliers and part
numbers are invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from path_lists import recipe_that_reads_the_same

from loadworthy import Catalog, DiodeNeed, choose, intake
from loadworthy.catalog import families
from loadworthy.catalog.cells import Refused, read_cell
from loadworthy.catalog.headings import read_heading
from loadworthy.catalog.outputs import outputs_of
from loadworthy.quantities.numbers import DecimalMark

FAMILY = families.load("diode")


@pytest.mark.parametrize(
    ("figure", "texts"),
    [
        (
            "vrrm",
            [
                "VRRM (V)", "VRRM max", "V_RRM [V]", "VR", "VR max (V)", "URRM", "PIV", "Reverse voltage (V)",
                "Repetitive peak reverse voltage", "Peak inverse voltage (V)", "Blocking voltage",
                "Sperrspannung [V]",
                "Spitzensperrspannung (V)", "Reverse voltage VR (V)",
            ],
        ),
        (
            "if_av",
            [
                "IF(AV) (A)", "IF(AV)", "I_F(AV) [A]", "IFAV", "IO (A)", "IF [A]", "Forward current (A)",
                "Mean forward current (A)", "Average forward current", "Average rectified current [A]",
                "Mean forward current IF(AV) at TL = 75 °C (A)", "Durchlassstrom IF [A]", "Dauergrenzstrom (A)",
                "if_av_a",
            ],
        ),
        (
            "ifsm",
            [
                "IFSM (A)", "I_FSM", "Surge current (A)", "Surge current 8.3 ms (A)", "Peak forward surge current",
                "Non-repetitive peak forward surge current IFSM (A)", "Stoßstrom (A)", "Stoßdurchlassstrom [A]",
            ],
        ),
        (
            "vf",
            [
                "VF (V)", "VF max (V)", "Vf(max)", "V_F [V]", "UF [V]", "Forward voltage (V)",
                "Forward voltage drop max (V)",
                "Flussspannung [V]", "Durchlassspannung (V)", "VF @ 3 A (V)", "VF (V) @ IF (A)", "VF max at IF = 3 A",
            ],
        ),
        ("vf_current", ["@ IF (A)", "at IF", "bei IF [A]", "IF test (A)", "Test current (A)", "Prüfstrom [A]"]),
        ("trr", ["trr (ns)", "t_rr max [ns]", "Reverse recovery time (ns)", "Recovery time",
        "Sperrverzögerungszeit [ns]"]),
        ("kind", ["Kind of diode", "Diode type", "Kind", "Diodentyp", "Diodenart", "Speed class"]),
        ("rthja", ["RthJA (K/W)", "Rth j-a", "RθJA", "Wärmewiderstand Sperrschicht-Umgebung [K/W]"]),
        ("rthjc", ["RthJC (K/W)", "RthJL [K/W]", "Thermal resistance junction to lead", "RθJC"]),
        ("tj", ["TJ max (°C)", "Junction temperature max", "Operating temperature (°C)",
        "Sperrschichttemperatur [°C]"]),
        ("pd", ["PD (W)", "Ptot", "Verlustleistung [W]"]),
        ("part_number", ["Part number", "Type", "Typ", "Bezeichnung"]),
        ("package", ["Package", "Gehäuse", "Outline"]),
    ],
)  # fmt: skip
def test_what_a_heading_reads_as(figure: str, texts: list[str]) -> None:
    """In either language, with symbols or words, with a unit or without."""
    assert {text: read_heading(text, FAMILY).reads for text in texts} == dict.fromkeys(texts, figure)
    assert all(read_heading(text, FAMILY).certain for text in texts)


@pytest.mark.parametrize(
    ("text", "amps"),
    [
        ("VF @ 3 A (V)", 3.0), ("VF at 3A [V]", 3.0), ("VF max at IF = 3 A", 3.0),
        ("Forward voltage VF at IF=500 mA (V)", 0.5),
        ("Durchlassspannung UF bei 3 A (V)", 3.0), ("VF max (V)", None), ("VF (V) @ IF (A)", None),
    ],
)  # fmt: skip
def test_at_which_current_a_heading_gives_the_forward_voltage(text: str, amps: float | None) -> None:
    """Where it names one."""
    assert read_heading(text, FAMILY).amps == amps


@pytest.mark.parametrize(
    "text",
    [
        "VRMS (V)", "VRSM (V)", "RMS voltage (V)", "Zener voltage VZ (V)", "Clamping voltage", "IFRM (A)", "IF(RMS)",
        "Repetitive peak forward current (A)", "IR (µA)", "Reverse current (mA)", "Leckstrom", "Sperrstrom [µA]",
        "Cj (pF)",
        "Junction capacitance", "Qrr (nC)", "Reverse recovery charge (nC)", "Configuration", "Tstg (°C)",
        "Storage temperature", "Datasheet", "RDS(on) (mΩ)",
    ],
)  # fmt: skip
def test_what_is_no_figure_that_is_kept(text: str) -> None:
    """Printed beside the others, and taken for none of them."""
    assert read_heading(text, FAMILY).reads in (None, "description")


@pytest.mark.parametrize("text", ["Voltage (V)", "Spannung", "Current (A)", "Strom [A]"])
def test_a_word_that_could_be_several_figures_is_a_guess(text: str) -> None:
    """The reverse voltage, the mean current, for want of a better word."""
    reading = read_heading(text, FAMILY)
    assert reading.reads in ("vrrm", "if_av")
    assert not reading.certain


def kept(figure: str, text: str, *, decimal: DecimalMark = ".", **said: Any) -> Any:
    """Return the columns that a cell fills, or why it is refused."""
    found = FAMILY.figure(figure)
    readings = read_cell(text, found, decimal=decimal, **said)
    if readings is None:
        return None
    outputs = readings if isinstance(readings, Refused) else outputs_of(found, readings)
    return "refused" if isinstance(outputs, Refused) else outputs


@pytest.mark.parametrize(
    ("text", "volts", "amps"),
    [
        ("0.55", 0.55, None), ("550 mV", 0.55, None), ("VF = 0.55 V", 0.55, None), ("0.55 V @ 3 A", 0.55, 3.0),
        ("0.55 V @ IF=3 A", 0.55, 3.0), ("0.55V/3A", 0.55, 3.0), ("IF = 3 A: 0.55 V", 0.55, 3.0),
        ("1.1 V (3 A, 25 °C)", 1.1, 3.0),
        # The greatest of several, with its own current.
        ("0.45 V @ 1 A; 0.55 V @ 3 A", 0.55, 3.0),
        ("0.5 typ 0.55 max", 0.55, None),
    ],
)  # fmt: skip
def test_cells_of_forward_voltage(text: str, volts: float, amps: float | None) -> None:
    """With the current that it is given at, where there is one."""
    assert kept("vf", text, unit="V") == {"vf_v": pytest.approx(volts), "vf_at_a": amps}


def test_the_current_of_the_heading_holds_where_the_cell_names_none() -> None:
    """The cell's own counts before it."""
    assert kept("vf", "0,55", unit="V", amps=3.0, decimal=",") == {"vf_v": 0.55, "vf_at_a": 3.0}
    assert kept("vf", "0.45 V @ 1 A", amps=3.0) == {"vf_v": 0.45, "vf_at_a": 1.0}


def test_a_typical_forward_voltage_is_marked() -> None:
    """It is no limit."""
    assert kept("vf", "0.5 V typ @ 3 A") == {"vf_v": 0.5, "vf_at_a": 3.0, "typical": "VF"}


@pytest.mark.parametrize(
    ("figure", "text", "columns"),
    [
        ("vrrm", "40", {"vrrm_v": 40.0}), ("vrrm", "-40 V", {"vrrm_v": 40.0}), ("vrrm", "1 kV", {"vrrm_v": 1000.0}),
        ("vrrm", "28 Vrms", "refused"), ("vrrm", "3 A", "refused"), ("vrrm", "0.5 V", "refused"),
        ("if_av", "3 A @ TL = 95 °C", {"if_av_a": 3.0}), ("if_av", "IF(AV) = 3 A", {"if_av_a": 3.0}),
        ("if_av", "200 mA", {"if_av_a": 0.2}), ("if_av", "3 A typ", "refused"), ("if_av", "2 x 5 A", "refused"),
        ("ifsm", "90 A", {"ifsm_a": 90.0}), ("ifsm", "80 A (8.3 ms)", {"ifsm_a": 80.0}), ("ifsm",
        "90 A @ 10 ms", {"ifsm_a": 90.0}),
        ("trr", "35", {"trr_s": 35e-9}), ("trr", "2 µs", {"trr_s": 2e-6}), ("trr", "<50 ns", {"trr_s": 50e-9}),
        ("trr", "35 ns @ IF = 0.5 A", {"trr_s": 35e-9}), ("trr", "35 V", "refused"),
        ("tj", "-65…150 °C", {"junction_max_degc": 150.0}), ("tj", "125", {"junction_max_degc": 125.0}),
    ],
)  # fmt: skip
def test_cells_of_ratings(figure: str, text: str, columns: Any) -> None:
    """A surge is given for a moment, and counts all the same; a typical rating is none."""
    unit = {"vrrm": "V", "trr": "ns", "tj": "°C"}.get(figure, "A")
    found = kept(figure, text, unit=unit)
    assert found == (
        columns if columns == "refused" else {name: pytest.approx(value) for name, value in columns.items()}
    )


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Schottky", "schottky"), ("Schottkydiode", "schottky"), ("ultrafast", "ultrafast"),
        ("Ultra fast recovery", "ultrafast"),
        ("fast recovery", "fast"), ("schnell", "fast"), ("standard", "standard"), ("General purpose", "standard"),
        ("Gleichrichter", "standard"),
        # What is no freewheel diode is kept as such, whatever else it is called.
        ("Zener", "other"), ("TVS", "other"), ("Schottky bridge", "other"), ("Brückengleichrichter", "other"),
        ("LED", "other"),
        ("Schottky / fast", "refused"), ("blue", "refused"),
    ],
)  # fmt: skip
def test_cells_of_the_kind(text: str, kind: str) -> None:
    """One of four kinds, none of them, or not told."""
    assert kept("kind", text) == ("refused" if kind == "refused" else {"kind": kind})


ENGLISH = """\
Part,Maker,Kind of diode,VRRM,IF(AV),IFSM,VF max,@ IF,trr,RthJA,TJ max,Package,Each,Stock
,,,V,A,A,V,A,ns,K/W,°C,,EUR,
BD3-40,Brackmere,Schottky,40,3,90,0.55,3,,40,125,DO-201AD,0.20,10
TF3-200,Tarnfeld,ultrafast,200,3,90,0.95,3,35,40,150,DO-201AD,0.30,25
IG3-50,Ilsenau,standard,50,3,90,1.05,3,2000,40,150,DO-201AD,0.08,500
ZD-24,Ilsenau,Zener,24,3,90,0.9,3,35,40,150,DO-201AD,0.05,500
"""
GERMAN = """\
Bezeichnung;Hersteller;Diodentyp;Sperrspannung;Durchlassstrom [A];Stoßstrom;UF bei 5 A [V];Gehäuse;Preis;Bestand
SB 5-60;Tarnfeld;Schottky;60;5;150 A (8,3 ms);0,62;SMC;0,42 €;77
SB 5-15;Tarnfeld;Schottky;15;5;150;0,41;SMC;0,38 €;77
"""


@pytest.fixture
def catalog_path(tmp_path: Path) -> Path:
    """Take in two lists written in two ways, of which neither says what it is a list of but by its words."""
    for name, text, heads in (("first.csv", ENGLISH, 2), ("second.csv", GERMAN, 1)):
        (tmp_path / name).write_text(text, encoding="utf-8")
        (report,) = intake(tmp_path / "parts.duckdb", [tmp_path / name], supplier=name)
        assert (report.rows_parts, report.rows_refused, report.cells_refused) == (text.count("\n") - heads, 0, 0)
    return tmp_path / "parts.duckdb"


def test_two_lists_from_file_to_choice(catalog_path: Path) -> None:
    """A row of units or a decimal comma, one family: the coolest that will do comes first."""
    with Catalog.open(catalog_path) as catalog:
        held = {row["part_number"]: row for row in catalog.parts("diode").to_pylist()}
        fast = choose(catalog, DiodeNeed(supply="12V", current="3A", pwm="5kHz", duty="60%"))
        seldom = choose(catalog, DiodeNeed(supply="12V", current="3A", kind=("standard",)))
    assert (held["BD3-40"]["vf_v"], held["BD3-40"]["vf_current_a"]) == (0.55, 3.0)
    assert (held["SB 5-60"]["vf_v"], held["SB 5-60"]["vf_at_a"], held["SB 5-60"]["package"]) == (0.62, 5.0, "SMC")
    assert (held["TF3-200"]["trr_s"], held["SB 5-60"]["ifsm_a"]) == (pytest.approx(35e-9), 150.0)
    assert held["ZD-24"]["kind"] == "other"
    assert [row["part_number"] for row in fast.ranked] == ["BD3-40", "TF3-200"]
    # Of SB 5-60 the list gives neither RθJA nor TJ: by its outline's careful figure 0.62 V × 1.2 A make it too hot.
    assert fast.counts is not None
    assert {name: number for name, number in fast.counts.stopped.items() if number} == {
        "kind": 1, "voltage": 1, "recovery": 1, "heat": 1,
    }  # fmt: skip
    assert [row["part_number"] for row in seldom.ranked] == ["IG3-50"]


def test_the_saved_recipe_reads_the_list_as_it_was_read(tmp_path: Path) -> None:
    """With the current that a heading names."""
    assert 'current = "5A"' in recipe_that_reads_the_same(tmp_path, "diode", GERMAN)


def test_a_column_type_beside_a_part_number_bars_what_is_no_freewheel_diode(tmp_path: Path) -> None:
    """A Zener diode across a load conducts backwards: a bare "Type" must not pass for a second part number."""
    (tmp_path / "list.csv").write_text(
        "Manufacturer;MPN;Type;VRRM (V);IF(AV) (A)\nPillgrove;PZ-24;Zener;60;3\nPillgrove;PS-60;Schottky;60;3\n",
        encoding="utf-8",
    )
    (report,) = intake(tmp_path / "parts.duckdb", [tmp_path / "list.csv"], supplier="Reed")
    assert (report.columns[2].reads, report.columns[2].certainty) == ("kind", "guessed")
    with Catalog.open(tmp_path / "parts.duckdb") as catalog:
        held = {row["part_number"]: row["kind"] for row in catalog.parts("diode").to_pylist()}
        need = DiodeNeed(supply="12V", current="1A", accept=("surge", "heat", "recovery"))
        ranked = [row["part_number"] for row in choose(catalog, need).ranked]
    assert held == {"PZ-24": "other", "PS-60": "schottky"}
    assert ranked == ["PS-60"]


def test_a_row_of_units_may_name_the_unit_of_a_condition(tmp_path: Path) -> None:
    """``VF max`` over ``V @ A``: the row belongs to the heading, and the cells say at which current."""
    (tmp_path / "list.csv").write_text(
        "Hersteller\tTyp\tVRRM\tIF(AV)\tVF max\tPreis\n\t\tV\tA\tV @ A\tEUR\n"
        "Pillgrove\tPS-60\t60\t5\t0,67 V @ 5 A\t0,33\n",
        encoding="utf-8",
    )
    (report,) = intake(tmp_path / "parts.duckdb", [tmp_path / "list.csv"], family="diode", supplier="Reed")
    assert (report.rows_refused, report.columns[4].unit, report.columns[5].unit) == (0, "V", "EUR")
    with Catalog.open(tmp_path / "parts.duckdb") as catalog:
        (row,) = catalog.parts("diode").to_pylist()
    assert (row["vf_v"], row["vf_at_a"]) == (0.67, 5.0)
