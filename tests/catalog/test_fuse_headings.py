"""Lists of fuses: what their headings and cells say, in English and German, and what they must not be taken for.

Headings are common practice; symbols are those of data sheets and standards.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from path_lists import heading, kept

from loadworthy import FuseNeed, choose
from loadworthy.boards.shelf import CatalogShelf
from loadworthy.catalog import families
from loadworthy.catalog.cells import read_cell
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog

if TYPE_CHECKING:
    from conftest import Shelf


@pytest.mark.parametrize(
    ("figure", "texts"),
    [
        ("hold", ["Ihold (A)", "I hold [A]", "I(hold)", "IH (A)", "Hold current", "Holding current (mA)",
                  "HOLD CURRENT", "hold_current_a", "Haltestrom", "Haltestrom Ih [A]"]),
        ("trip", ["Itrip (A)", "I trip", "I(trip) [A]", "Trip current", "Tripping current (A)", "Auslösestrom [A]",
                  "Ansprechstrom"]),
        ("rating", ["Rated current (A)", "Current rating", "In [A]", "Nominal current", "Nennstrom", "Nennstrom In [A]",
                    "Bemessungsstrom", "Ampere rating", "Amperage", "Rating (A)"]),
        ("continuous", ["Continuous current at 65 °C (A)", "Continuous current", "Dauerstrom bei 85 °C [A]",
                        "Zulässiger Dauerstrom", "Permissible continuous current (A)"]),
        ("voltage", ["Vmax (V)", "V max", "Umax [V]", "Rated voltage", "Voltage rating (V)", "Nennspannung [V]",
                     "Un (V)", "Rated voltage AC", "Voltage (VAC)", "Nennspannung AC [V]", "Max. voltage"]),
        ("voltage_dc", ["Rated voltage DC (V)", "Voltage rating - DC", "DC voltage", "Nennspannung DC",
                        "Gleichspannung [V]", "Max voltage DC"]),
        ("most_fault", ["Imax (A)", "I max", "Maximum current (A)", "Max. fault current", "Fehlerstrom",
                        "Maximaler Strom"]),
        ("breaking", ["Breaking capacity", "Breaking capacity (kA)", "Interrupting rating (A)", "Interrupting capacity",
                      "Ausschaltvermögen [A]", "Schaltvermögen", "Icn"]),
        ("r_min", ["Rmin (Ω)", "R min", "Resistance min (Ω)", "Minimum resistance [mOhm]", "Widerstand min."]),
        ("r1_max", ["R1max (Ω)", "R1 max", "R1 (Ω)", "Rmax [Ω]", "Resistance max (ohm)", "Post-trip resistance",
                    "Widerstand nach Auslösung [Ω]"]),
        ("cold", ["Cold resistance", "Cold resistance (mΩ)", "DCR (mΩ)", "Kaltwiderstand [mΩ]", "Innenwiderstand",
                  "Initial resistance", "Resistance", "Cold R (mOhm)", "R kalt [mΩ]"]),
        ("trip_time", ["Time to trip (s)", "Max. time to trip", "Trip time", "Auslösezeit [s]", "Ansprechzeit"]),
        ("limit_temperature", ["Operating temperature", "Temperature range (°C)", "Betriebstemperatur"]),
        ("type", ["Fuse type", "Type of fuse", "Sicherungstyp", "Resettable", "Art der Sicherung"]),
        ("class", ["Characteristic", "Opening time", "Time-current characteristic", "Charakteristik", "Speed"]),
        ("standard", ["Standard", "Norm", "Fuse standard", "Prüfnorm"]),
        ("size", ["Size", "Size (mm)", "Baugröße", "Abmessungen", "Fuse size"]),
        ("mounting", ["Mounting", "Montage", "Holder needed", "Montageart"]),
        (None, ["I²t (A²s)", "Melting I2t", "Voltage drop (mV)", "Power dissipation (W)", "Farbe", "Approvals",
                "Storage temperature"]),
    ],
)  # fmt: skip
def test_headings_are_read_as_what_they_name(figure: str | None, texts: list[str]) -> None:
    """Many ways of writing each, by words of the trade and letter symbols."""
    assert {text: heading("fuse", text).reads for text in texts} == dict.fromkeys(texts, figure)


@pytest.mark.parametrize(
    ("text", "degc"),
    [("Ihold at 60°C", 60.0), ("Hold current @ -20 °C (A)", -20.0), ("Dauerstrom bei 85 °C [A]", 85.0)],
)
def test_a_heading_may_name_a_temperature(text: str, degc: float) -> None:
    """Its cells are points of a curve."""
    assert heading("fuse", text).degc == degc


@pytest.mark.parametrize(
    ("under", "cell", "told"),
    [
        ("Hold current (A)", "5.00", {"hold_a": 5.0}),
        ("Hold current", "500 mA", {"hold_a": 0.5}),
        ("Hold current at 60 °C (A)", "3.4", {"hold_curve": [{"degc": 60.0, "value": 3.4}]}),
        ("Hold current", "5 A @ 20 °C; 3.4 A @ 60 °C",
         {"hold_curve": [{"degc": 20.0, "value": 5.0}, {"degc": 60.0, "value": 3.4}]}),
        ("Continuous current at 65 °C (A)", "8", {"continuous_curve": [{"degc": 65.0, "value": 8.0}]}),
        ("Rated current (A)", "7.5", {"rating_a": 7.5}),
        ("Rated voltage (V)", "32", {"voltage_v": 32.0, "voltage_unmarked": True}),
        ("Rated voltage", "250 VAC", {"voltage_ac_v": 250.0}),
        ("Rated voltage", "250 V AC / 60 V DC", {"voltage_ac_v": 250.0, "voltage_v": 60.0}),
        ("Rated voltage AC (V)", "250", {"voltage_ac_v": 250.0}),
        ("Rated voltage DC (V)", "32", {"voltage_dc_v": 32.0}),
        ("Breaking capacity", "35 A @ 250 V AC", {"breaking_ac_a": 35.0}),
        ("Breaking capacity", "1 kA", {"breaking_a": 1000.0, "breaking_unmarked": True}),
        ("Breaking capacity (kA)", "1.5", {"breaking_a": 1500.0, "breaking_unmarked": True}),
        ("R1max (Ω)", "0.050", {"r1_max_ohm": 0.05}),
        ("Cold resistance (mΩ)", "7.5", {"cold_ohm": 0.0075}),
        ("Time to trip (s)", "5.0 s @ 25 A", {"trip_time_s": 5.0, "trip_time_at_a": 25.0}),
        ("Operating temperature", "-40 … 85 °C", {"limit_degc": 85.0}),
        ("Fuse type", "PPTC", {"type": "resettable"}),
        ("Sicherungstyp", "selbstrückstellend", {"type": "resettable"}),
        ("Fuse type", "Glass cartridge", {"type": "one-shot"}),
        ("Fuse type", "non-resettable", {"type": "one-shot"}),
        ("Characteristic", "T", {"class": "slow"}),
        ("Characteristic", "Fast-acting", {"class": "fast"}),
        ("Charakteristik", "träge", {"class": "slow"}),
        ("Charakteristik", "mittelträge", {"class": "slow"}),
        ("Standard", "UL 248-14", {"standard": "UL"}),
        ("Norm", "IEC 60127-2", {"standard": "IEC"}),
        ("Fuse type", "circuit breaker", {"type": "other"}),
        ("Fuse type", "thermal cut-off", {"type": "other"}),
        ("Sicherungstyp", "Sicherungshalter", {"type": "other"}),
        ("Norm", "ISO 8820-3", {"standard": "blade"}),
        ("Mounting", "through-hole", {"mounting": "wired"}),
        ("Mounting", "SMD", {"mounting": "surface"}),
        ("Holder needed", "yes", {"mounting": "holder"}),
    ],
)  # fmt: skip
def test_cells_fill_the_columns_of_what_they_say(under: str, cell: str, told: dict[str, Any]) -> None:
    """With and without units, with conditions, alternating apart from steady."""
    assert kept("fuse", under, cell) == told


@pytest.mark.parametrize(
    ("under", "cell", "why"),
    [
        ("Hold current (A)", "5 V", "no number"),
        ("Rated current (A)", "5000", "outside what rated current can be"),
        ("Standard", "UL 248-14, IEC 60127-2", "more than one"),
        ("Rated voltage (V)", "-12", "negative"),
        ("Cold resistance", "7.5", "unit"),
    ],
)
def test_cells_that_say_something_else_are_refused(under: str, cell: str, why: str) -> None:
    """A figure half understood is worse than none."""
    found = kept("fuse", under, cell)
    assert isinstance(found, str)
    assert why in found


RESETTABLE = """\
Maker,Part number,Type,Size,Hold current (A),Hold current at 0 °C (A),Hold current at 60 °C (A),Trip current (A),\
Vmax (V),Imax (A),Rmin (Ω),R1max (Ω),Time to trip (s),Operating temperature,Price each (EUR),Stock
Hollowmere,HR-500,resettable,radial 5.1 mm,5.0,5.75,3.4,10,30,40,0.010,0.050,5.0 s @ 25 A,-40 … 85 °C,0.42,300
Hollowmere,HR-900,resettable,radial 10 mm,9,10.4,6.1,18,16,100,0.005,0.020,10 s @ 40 A,-40 … 85 °C,0.66,120
"""
MELTING = """\
Sicherungen – Preisliste Weidengrund;;;;;;;;;;;
Hersteller;Typ;Baugröße;Norm;Charakteristik;Nennstrom;Dauerstrom bei 20 °C;Dauerstrom bei 65 °C;\
Nennspannung DC;Ausschaltvermögen;Kaltwiderstand;Preis
;;;;;A;A;A;V;A;mΩ;EUR
Weidengrund;WF-7,5;Mini-Flachsicherung;ISO 8820-3;;7,5;7;5,5;32;1000;9,8;0,18
Weidengrund;WF-10;Mini-Flachsicherung;ISO 8820-3;;10;10;8;32;1000;7,5;0,18
Weidengrund;WG-10T;5 x 20 mm;IEC 60127-2;träge;10;;;60;100;8,2;0,31
"""


def test_two_lists_written_differently_come_in_and_are_chosen_from(shelf: Shelf) -> None:
    """One in English with points and commas between, one in German with a row of units; then one need."""
    for name, text in (("resettable.csv", RESETTABLE), ("sicherungen.csv", MELTING)):
        report = shelf.take_in(text, name=name)
        assert (report.family, report.cells_refused) == ("fuse", 0)
    with Catalog.open(shelf.path) as catalog:
        parts = {row["part_number"]: row for row in catalog.parts("fuse").to_pylist()}
        assert set(parts) == {"HR-500", "HR-900", "WF-7,5", "WF-10", "WG-10T"}
        assert parts["HR-500"]["hold_curve"] == [{"degc": 0.0, "value": 5.75}, {"degc": 60.0, "value": 3.4}]
        assert parts["WF-10"]["continuous_curve"] == [{"degc": 20.0, "value": 10.0}, {"degc": 65.0, "value": 8.0}]
        assert parts["WG-10T"]["continuous_curve"] is None
        chosen = choose(catalog, FuseNeed(supply="12V", current="7.5A", weakest="14A", fault="80A"))
    assert [row["part_number"] for row in chosen.ranked] == ["WF-10"]
    row = chosen.ranked[0]
    assert row["carries_a"] == pytest.approx(10.0 + (8.0 - 10.0) * 20.0 / 45.0)
    assert row["conduction_loss_w"] == pytest.approx(7.5**2 * 0.0075)
    assert row["offers"][0]["unit_price"] == 0.18
    assert chosen.counts is not None
    # HR-500 and the 7.5 A blade carry too little; HR-900 trips, and the IEC fuse opens, above 14 A.
    assert {name: number for name, number in chosen.counts.stopped.items() if number} == {"carries": 2, "opens": 2}


COLD_FIRST = """\
Hersteller;Artikelnummer;Haltestrom bei;;;Auslösestrom;Nennspannung DC
;;-20 °C;20 °C;60 °C;A;V
Weidengrund;WR-500;6,5;5;3,4;10;30
"""


def test_a_row_of_temperatures_may_begin_below_zero(shelf: Shelf) -> None:
    """What a resettable fuse holds at −20 °C must never be taken for what it holds in a warm box."""
    shelf.take_in(COLD_FIRST, name="kalt.csv")
    with Catalog.open(shelf.path) as catalog:
        (row,) = catalog.parts("fuse").to_pylist()
    assert row["hold_a"] is None
    assert row["hold_curve"] == [
        {"degc": -20.0, "value": 6.5}, {"degc": 20.0, "value": 5.0}, {"degc": 60.0, "value": 3.4},
    ]  # fmt: skip


@pytest.mark.parametrize("number", ["MPN", "Part number", "Manufacturer part no."])
def test_a_column_type_beside_a_part_number_says_what_the_fuse_is(shelf: Shelf, number: str) -> None:
    """A thermal cut-off opens by temperature: its column must be read, or it would stand among the fuses."""
    report = shelf.take_in(
        f"Maker,{number},Type,Rated current (A),Rated voltage DC (V)\n"
        "Hollowmere,HF-10,one-shot,10,32\nHollowmere,HF-R5,resettable,5,32\nHollowmere,HF-T,thermal cut-off,10,32\n",
        name="fuses.csv",
    )
    assert report.columns[2].reads == "type"
    assert report.columns[2].certainty == "guessed"
    with Catalog.open(shelf.path) as catalog:
        rows = {row["part_number"]: row["type"] for row in catalog.parts("fuse").to_pylist()}
        ranked = choose(catalog, FuseNeed(supply="12V", current="3A")).ranked
    assert rows == {"HF-10": "one-shot", "HF-R5": "resettable", "HF-T": "other"}
    assert "HF-T" not in [row["part_number"] for row in ranked]


def test_a_column_typ_alone_still_names_the_part(shelf: Shelf) -> None:
    """In German lists the type is the maker's number, also beside the supplier's own."""
    report = shelf.take_in(
        "Art.-Nr.;Hersteller;Typ;Nennstrom (A);Nennspannung DC (V)\n1001;Weidengrund;WF-10;10;32\n", name="fuses.csv"
    )
    assert [column.reads for column in report.columns[:3]] == ["order_number", "maker", "part_number"]


@pytest.mark.parametrize("family", ["fuse", "wire"])
def test_every_phrase_speaks_for_its_own_figure(family: str) -> None:
    """No heading made of one of a figure's own phrases is read as another figure."""
    known = families.load(family)
    wrong = {
        (phrase, figure.name): found
        for figure in known.figures
        for phrase in figure.phrases
        if (found := heading(family, phrase).reads) != (None if figure.kind == "other" else figure.name)
    }
    assert not wrong


def test_a_heading_that_is_only_a_unit_is_read_as_the_rating_and_called_a_guess(shelf: Shelf) -> None:
    """Lists of fuses head their columns "Amps" and "Volts DC" (common practice); a column of kA is not the rating."""
    report = shelf.take_in(
        "MPN,Brand,Fuse type,Amps,Volts DC,Volts AC,Interrupt rating\nSF-5,Sandmarsh,blade,5,32,,1 kA\n"
        "SF-7.5,Sandmarsh,blade,7.5,32,,1 kA\nSF-G,Sandmarsh,glass,10,,250,\n",
        name="fuses.csv",
    )
    assert [column.reads for column in report.columns[3:6]] == ["rating", "voltage", "voltage"]
    assert {column.certainty for column in report.columns[3:6]} == {"guessed"}
    assert "1 cell shows a decimal point" in report.decimal_why
    with Catalog.open(shelf.path) as catalog:
        rows = {row["part_number"]: row for row in catalog.parts("fuse").to_pylist()}
    assert [rows[number]["rating_a"] for number in ("SF-5", "SF-7.5", "SF-G")] == [5.0, 7.5, 10.0]
    assert [rows["SF-5"][name] for name in ("voltage_v", "voltage_ac_v")] == [32.0, None]
    assert [rows["SF-G"][name] for name in ("voltage_v", "voltage_ac_v")] == [None, 250.0]


@pytest.mark.parametrize("text", ["A", "[A]", "mA", "kA", "Ohms", "mΩ"])
def test_a_bare_unit_that_is_no_word_names_nothing(text: str) -> None:
    """A is a dimension in a table of sizes, and mA and ohms may be of several figures."""
    assert heading("fuse", text).reads is None


def test_a_unit_alone_says_nothing_of_what_a_list_is_about(shelf: Shelf) -> None:
    """Amps and Volts stand in lists of every family: the words beside them decide."""
    report = shelf.take_in(
        "Part number,Amps,Volts,RDS(on) max (mOhm),VGS(th) max (V)\nX-1,30,40,8,2.5\n", name="list.csv"
    )
    assert report.family == "transistor"


@pytest.mark.parametrize(
    ("figure", "cell", "read"),
    [
        ("voltage", "32V DC", [(32.0, "dc")]),
        ("voltage", "58 Vdc max", [(58.0, "dc")]),
        ("voltage", "250VAC, 60VDC", [(250.0, "ac"), (60.0, "dc")]),
        ("voltage", "32V", [(32.0, None)]),
        ("breaking", "1 kA DC", [(1000.0, "dc")]),
        ("breaking", "10kA@125VDC", [(10_000.0, "dc")]),
        ("breaking", "35 A AC, 100 A DC", [(35.0, "ac"), (100.0, "dc")]),
        ("breaking", "1 kA", [(1000.0, None)]),
    ],
)
def test_a_cell_that_says_dc_is_told_from_one_that_says_nothing(
    figure: str, cell: str, read: list[tuple[float, str | None]]
) -> None:
    """A fuse that clears an arc of 250 V alternating may not clear one of 32 V steady: what a cell says is kept."""
    found = read_cell(cell, families.load("fuse").figure(figure))
    assert isinstance(found, tuple)
    assert [(one.value, one.place) for one in found] == read


@pytest.mark.parametrize(("volts", "amperes", "said"), [("32V DC", "1 kA DC", True), ("32V", "1 kA", False)])
def test_what_a_list_says_of_direct_current_holds_in_the_choice_and_in_the_audit(
    tmp_path: Path, volts: str, amperes: str, said: bool
) -> None:
    """Said, it is checked by both; not said, the choice names it as assumed and the audit as not given."""
    listed = tmp_path / "fuses.csv"
    listed.write_text(
        f"Order No;Type;Rated current;Rated voltage;Breaking capacity\nF10;one-shot;10A;{volts};{amperes}\n"
    )
    intake(tmp_path / "c.duckdb", [listed], family="fuse")
    with Catalog.open(tmp_path / "c.duckdb") as catalog:
        chosen = choose(catalog, FuseNeed(supply="24V", current="4A", fault="100A")).ranked[0]
        link = CatalogShelf(catalog).figures("fuse", "F10", None, {})
    assert ("voltage rating taken as for direct current" in chosen["assumed"]) != said
    assert ("breaking capacity taken as for direct current" in chosen["assumed"]) != said
    assert link is not None
    read = tuple(link.get(name) for name in ("rated_voltage_v", "breaking_capacity_a"))
    assert read == ((32.0, 1000.0) if said else (None, None))
