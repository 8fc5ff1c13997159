"""Lists of connectors: what a heading and a cell of them say, in the trade's words, and two lists taken in.

Headings and cells are common practice in English and German.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadworthy.catalog import families
from loadworthy.catalog.cells import Refused, read_cell
from loadworthy.catalog.headings import HeadingReading, read_heading
from loadworthy.catalog.intake import intake
from loadworthy.catalog.outputs import outputs_of
from loadworthy.catalog.store import Catalog
from loadworthy.needs import ConnectorNeed
from loadworthy.selection import choose

FAMILY = families.load("connector")

READ: dict[str, tuple[str, ...]] = {
    "rated_current": (
        "Rated current", "Nominal current [A]", "Current rating (A)", "Max. current per contact",
        "Current per pole [A]",
        "Rated current UL (A)", "Nennstrom", "Bemessungsstrom IEC", "Nennstrom UL [A]", "Strombelastbarkeit",
        "rated_current_a", "Derating curve", "Operating current, max", "Base curve", "Dauerstrom [A]",
    ),
    "rated_voltage": (
        "Rated voltage (V)", "Nominal voltage", "Voltage rating [V]", "Bemessungsspannung IEC", "Nennspannung [V]",
        "Rated voltage III/2 [V]", "Rated voltage UL use group B (V)", "Rated insulation voltage",
        "Rated voltage AC [V]",
    ),
    "pitch": (
        "Pitch (mm)", "Pitch [in]", "Pole pitch", "Contact spacing mm", "Centre to centre (mm)", "Rastermaß",
        "Raster in mm", "RM [mm]", "Polabstand", "PITCH (MM)",
    ),
    "poles": (
        "Poles", "No. of poles", "Number of positions", "Positions", "Ways", "Pins", "Number of contacts", "Pin count",
        "Polzahl", "Anzahl Pole", "Pole",
    ),
    "loaded_poles": ("Poles loaded", "Number of loaded poles", "Belastete Pole"),
    "wire": (
        "Wire range (AWG)", "Wire size", "Conductor cross-section [mm²]", "Wire gauge", "Leiterquerschnitt",
        "Anschlussquerschnitt mm²", "Klemmbereich", "AWG", "AWG max", "Wire AWG", "Solid conductor cross section (mm²)",
    ),
    "contact_resistance": (
        "Contact resistance max (mΩ)", "Contact resistance", "Durchgangswiderstand [mOhm]", "Kontaktwiderstand",
        "Übergangswiderstand max.",
    ),
    "temperature_limit": (
        "Temperature range (°C)", "Operating temperature", "Max. temperature", "Limiting temperature",
        "Upper limit temperature [°C]", "Grenztemperatur max.", "Obere Grenztemperatur", "Betriebstemperatur",
    ),
    "torque": ("Tightening torque (N·m)", "Torque (lb-in)", "Screw torque", "Anzugsdrehmoment [Nm]", "Drehmoment"),
    "strip_length": ("Strip length (mm)", "Stripping length", "Wire strip length", "Abisolierlänge [mm]"),
    "series": ("Series", "Product family", "Baureihe", "Serie"),
    "mates_with": ("Mates with", "Mating part number", "Mating connector", "Gegenstück", "Passt zu"),
    "gender": ("Gender", "Plug or socket", "Stecker oder Buchse"),
    "construction": ("Pluggable", "Pluggable or fixed", "Steckbar", "Ausführung"),
    "mount": ("Mounting", "Mounting type", "Montageart", "Befestigung"),
    "maker": ("Maker", "Hersteller"),
    "part_number": ("Part number", "Typ"),
}  # fmt: skip

#: Headings that name what a connector list prints and nobody keeps, or nothing at all.
UNREAD = (
    "Rated surge voltage [kV]", "Bemessungsstoßspannung", "Test voltage", "Withstand voltage (V)",
    "Insulation resistance (MΩ)", "Short-time current (A)", "Test current [A]", "Ambient temperature (°C)",
    "Storage temperature",
    "Soldering temperature", "Temperature rise (K)", "Flammability UL94", "UL file number", "Approvals", "Orientation",
    "Housing material", "Package", "Colour", "Farbe", "Height (mm)", "Pin length (mm)", "Wire diameter (mm)",
    "Row pitch (mm)", "Number of rows", "Wires per pole", "Screw thread", "Mating cycles", "Contact plating",
    "Connection type", "Pollution degree", "VDS (V)", "RDS(on)",
)  # fmt: skip


def heading(text: str) -> HeadingReading:
    """Read a heading of a connector list."""
    return read_heading(text, FAMILY)


def kept(figure: str, text: str, *, decimal: Any = ".", **said: Any) -> dict[str, Any] | None:
    """Return the columns that a cell fills, or None where it is refused."""
    readings = read_cell(text, FAMILY.figure(figure), decimal=decimal, **said)
    assert readings is not None
    found = readings if isinstance(readings, Refused) else outputs_of(FAMILY.figure(figure), readings)
    return None if isinstance(found, Refused) else found


class TestHeadings:
    """Which figure a column holds."""

    @pytest.mark.parametrize(("figure", "text"), [(name, text) for name, texts in READ.items() for text in texts])
    def test_a_heading_reads_as_its_figure(self, figure: str, text: str) -> None:
        """Whatever the language, the order and the unit."""
        assert heading(text).reads == figure

    @pytest.mark.parametrize("text", UNREAD)
    def test_what_is_not_kept_is_not_taken_for_something_else(self, text: str) -> None:
        """A surge voltage is no rated voltage, a pin's length no strip length."""
        assert heading(text).reads is None

    @pytest.mark.parametrize("text", ["Pos.", "Position", "Row", "Weight (g)"])
    def test_a_row_number_is_no_number_of_poles(self, text: str) -> None:
        """It describes, and nothing is chosen by it."""
        assert heading(text).reads == "description"

    @pytest.mark.parametrize(
        ("text", "place", "statistic"),
        [
            ("Rated current UL (A)", "ul", None),
            ("Rated current, UL/CSA [A]", "ul", None),
            ("Rated current (use group B) A", "ul", None),
            ("Bemessungsstrom nach IEC", "iec", None),
            ("Rated current (A)", None, None),
            ("Leiterquerschnitt eindrähtig", "solid", None),
            ("Conductor cross-section, fine-stranded min (mm²)", "stranded", "min"),
            ("Leiterquerschnitt feindrähtig ohne Aderendhülse", "stranded", None),
            ("Leiterquerschnitt feindrähtig mit Aderendhülse max. [mm²]", "ferrule", "max"),
            ("Wire size, stranded with ferrule (mm²)", "ferrule", None),
        ],
    )
    def test_basis_and_kind_of_wire_are_kept_with_it(self, text: str, place: str | None, statistic: str | None) -> None:
        """UL is not IEC, and solid is not stranded."""
        assert (heading(text).place, heading(text).statistic) == (place, statistic)

    @pytest.mark.parametrize("text", ["Current at 40 °C (A)", "Rated current @ 40°C", "Nennstrom bei 40 °C [A]"])
    def test_a_current_at_a_temperature_is_a_point_of_the_curve(self, text: str) -> None:
        """The heading gives the temperature, the cell the current."""
        read = heading(text)
        assert (read.reads, read.degc) == ("rated_current", 40.0)
        assert kept("rated_current", "9.95", unit="A", degc=40.0) == {"derating": [{"degc": 40.0, "value": 9.95}]}


class TestCells:
    """What a cell fills."""

    @pytest.mark.parametrize(
        ("figure", "text", "columns"),
        [
            ("rated_current", "16 A", {"rated_a": 16.0, "rated_current_unmarked": True}),
            ("rated_current", "15 A (UL), 12 A (IEC)", {"rated_ul_a": 15.0, "rated_iec_a": 12.0}),
            ("rated_current", "UL: 15 A / IEC: 12 A", {"rated_ul_a": 15.0, "rated_iec_a": 12.0}),
            ("rated_current", "8.6 A @ 60 °C; 7 A @ 80 °C",
             {"derating": [{"degc": 60.0, "value": 8.6}, {"degc": 80.0, "value": 7.0}]}),
            ("rated_current", "80 °C: 7 A; 60 °C: 8.6 A",
             {"derating": [{"degc": 60.0, "value": 8.6}, {"degc": 80.0, "value": 7.0}]}),
            ("rated_voltage", "300 V", {"voltage_v": 300.0, "rated_voltage_unmarked": True}),
            ("rated_voltage", "300 V AC/DC", {"voltage_v": 300.0, "rated_voltage_unmarked": True}),
            ("rated_voltage", "250 VAC", {"voltage_ac_v": 250.0}),
            ("rated_voltage", "300 V (UL)", {"voltage_ul_v": 300.0}),
            ("pitch", "5.08 mm", {"pitch_m": 5.08e-3}),
            ("pitch", "0.2 in", {"pitch_m": 5.08e-3}),
            ("pitch", '0.2"', {"pitch_m": 5.08e-3}),
            ("pitch", "5.00 mm (0.197 in)", {"pitch_m": 5.0e-3}),
            ("poles", "12", {"poles": 12.0}),
            ("poles", "12-way", {"poles": 12.0}),
            ("poles", "2 pos.", {"poles": 2.0}),
            ("poles", "2-polig", {"poles": 2.0}),
            ("poles", "8P", {"poles": 8.0}),
            ("poles", "3 pins", {"poles": 3.0}),
            ("wire", "0.2-2.5 mm²", {"wire_min_m2": 0.2e-6, "wire_max_m2": 2.5e-6}),
            ("wire", "2.5 mm²", {"wire_max_m2": 2.5e-6}),
            ("contact_resistance", "≤ 5 mΩ", {"contact_ohm": 5e-3}),
            ("contact_resistance", "3 mΩ typ", {"contact_ohm": 3e-3, "typical": "Rc"}),
            ("temperature_limit", "-40…+105 °C", {"limit_degc": 105.0}),
            ("temperature_limit", "-40 to 120 °C", {"limit_degc": 120.0}),
            ("torque", "0.5 Nm", {"torque_min_n_m": 0.5}),
            ("torque", "0.5-0.6 Nm (4.4-5.3 lb-in)", {"torque_min_n_m": 0.5, "torque_max_n_m": 0.6}),
            ("strip_length", "7 mm", {"strip_m": 7e-3}),
            ("gender", "pin header", {"gender": "header"}),
            ("gender", "Buchsenleiste", {"gender": "socket"}),
            ("construction", "plug-in", {"construction": "pluggable"}),
            ("construction", "nicht steckbar", {"construction": "fixed"}),
            ("construction", "yes", {"construction": "pluggable"}),
            ("mount", "PCB, through-hole", {"mount": "board"}),
            ("mount", "Tragschiene", {"mount": "rail"}),
        ],
    )  # fmt: skip
    def test_a_cell_fills_its_columns(self, figure: str, text: str, columns: dict[str, Any]) -> None:
        """And no others."""
        assert kept(figure, text) == columns

    def test_gauges_are_cross_sections_that_run_backwards(self) -> None:
        """26 AWG is 0.129 mm², 12 AWG 3.31 mm² (ASTM B258); the thinner end is the least."""
        for text, said in (("26-12 AWG", {}), ("AWG 26-12", {}), ("26-12", {"unit": "AWG"})):
            found = kept("wire", text, **said)
            assert found is not None
            assert found["wire_min_m2"] == pytest.approx(0.1288e-6, rel=1e-3)
            assert found["wire_max_m2"] == pytest.approx(3.309e-6, rel=1e-3)

    def test_of_two_ranges_what_both_hold_counts(self) -> None:
        """Square millimetres and gauges in one cell."""
        assert kept("wire", "0.2-2.5 mm² (26-12 AWG)") == {"wire_min_m2": 0.2e-6, "wire_max_m2": 2.5e-6}

    @pytest.mark.parametrize("text", ["solid 0.2-4 mm², stranded 0.2-2.5 mm²", "0.2-4 mm² solid; 0.2-2.5 mm² flexible"])
    def test_both_ends_of_a_range_belong_to_its_kind_of_wire(self, text: str) -> None:
        """Whether the kind stands before or behind; what holds for every kind is kept beside."""
        assert kept("wire", text) == {
            "wire_solid_min_m2": 0.2e-6, "wire_solid_max_m2": 4e-6,
            "wire_stranded_min_m2": 0.2e-6, "wire_stranded_max_m2": 2.5e-6,
            "wire_min_m2": 0.2e-6, "wire_max_m2": 2.5e-6,
        }  # fmt: skip

    @pytest.mark.parametrize(
        ("figure", "text"),
        [
            ("pitch", "5.00/5.08 mm"), ("pitch", "5.08"), ("pitch", "508 mm"), ("poles", "2 … 24"), ("poles", "2x8"),
            ("rated_current", "10 A typ"), ("rated_current", "16 V"), ("rated_voltage", "4 kV surge"),
            ("temperature_limit", "V-0"), ("torque", "M3"), ("gender", "male"), ("mount", "wire to board"),
            ("wire", "2.5"), ("rated_current", "1500 A"),
        ],
    )  # fmt: skip
    def test_what_is_not_sure_is_refused(self, figure: str, text: str) -> None:
        """A guess at a figure is worse than none."""
        assert kept(figure, text) is None


ENGLISH = """\
Maker,Part number,Series,Poles,Pitch (mm),Rated current UL (A),Rated current IEC (A),Current at 40 °C (A),\
Current at 60 °C (A),Rated voltage (V),Contact resistance max (mΩ),Wire range (AWG),Tightening torque (N·m),\
Pluggable,Mates with,Temperature range (°C),RoHS,Unit price (EUR),Stock
Holm Fixtures,HX508-02,HX508,2,5.08,15,16,13.8,12,300,1.2,26-12,0.5,no,,-40 to 105,yes,0.42,900
Holm Fixtures,HX508-12,HX508,12,5.08,15,16,13.8,12,300,1.2,26-12,0.5,no,,-40 to 105,yes,2.10,40
Holm Fixtures,HX500-12,HX500,12,5.00,15,16,13.8,12,300,1.2,26-12,0.5,no,,-40 to 105,yes,2.05,60
Dell & Rook,DRP508-02,DRP,2,5.08,10,12,,,300,2.4,26-14,,yes,DRH508-02,-40 to 105,yes,0.61,15
"""
GERMAN = """\
Preisliste Anschlussklemmen;;;;;;;;;;
Stand: 02.11.2026;;;;;;;;;;
Hersteller;Typ;Polzahl;Rastermaß;Bemessungsstrom IEC;Strombelastbarkeit;Leiterquerschnitt;;Bemessungsspannung;\
Grenztemperatur;Preis
;;;;;;feindrähtig;mit Aderendhülse;;;
;;;mm;A;;mm²;mm²;V;°C;€
Holm Fixtures;HX508-02;2-polig;5,08;16;13,5 A bei 40 °C; 0,2 … 2,5;0,25 … 1,5;250;105;0,45
Ottersand;OS5-02;2-polig;5,08;24;20 A bei 40 °C;0,2 … 4;0,25 … 2,5;400;k. A.;0,39
Ottersand;OS5-03;3-polig;5,08;24;20 A bei 40 °C;0,2 … 4;0,25 … 2,5;400;k. A.;0,55
"""


@pytest.fixture
def taken_in(shelf: Any) -> Callable[[], Any]:
    """Take two differently written lists in, and return the shelf."""

    def take() -> Any:
        english = shelf.take_in(ENGLISH, name="brambleside.csv")
        german = shelf.take_in(GERMAN.encode("cp1252"), name="uferlos.csv")
        assert [report.family for report in (english, german)] == ["connector", "connector"]
        assert english.cells_refused == german.cells_refused == 0
        return shelf

    return take


class TestIntake:
    """Two lists in, a choice out."""

    def test_each_list_is_read_in_its_own_way(self, taken_in: Callable[[], Any]) -> None:
        """Decimal points and a column a temperature; decimal commas, a row of units and the curve in one cell."""
        shelf = taken_in()
        with Catalog.open(shelf.path) as catalog:
            parts = {row["part_number"]: row for row in catalog.parts("connector").to_pylist()}
        dell, otter, holm = parts["DRP508-02"], parts["OS5-02"], parts["HX508-02"]
        assert not shelf.apart(
            dell,
            {"series": "DRP", "poles": 2.0, "pitch_m": 5.08e-3, "rated_ul_a": 10.0, "rated_iec_a": 12.0,
             "derating": None, "voltage_v": 300.0, "contact_ohm": 2.4e-3, "construction": "pluggable",
             "mates_with": "DRH508-02", "limit_degc": 105.0, "torque_min_n_m": None, "rated_a": None},
        )  # fmt: skip
        assert not shelf.apart(
            otter,
            {"poles": 2.0, "pitch_m": 5.08e-3, "rated_iec_a": 24.0, "derating": [{"degc": 40.0, "value": 20.0}],
             "wire_stranded_max_m2": 4e-6, "wire_ferrule_min_m2": 0.25e-6, "wire_ferrule_max_m2": 2.5e-6,
             "wire_max_m2": 2.5e-6, "voltage_v": 400.0, "limit_degc": None},
        )  # fmt: skip
        # Both lists name this one: the worse figure of each counts.
        assert (holm["claims"], holm["rated_ul_a"], holm["voltage_v"]) == (2, 15.0, 250.0)
        assert "rated voltage" in holm["differs"]
        assert holm["differs"].count("wire range") == 1  # however many of its columns differ

    def test_the_terminals_that_carry_the_heater_are_found(self, taken_in: Callable[[], Any]) -> None:
        """8 A at 40 °C, two poles, 5.08 mm, a ferruled wire of 1.5 mm²."""
        shelf = taken_in()
        need = ConnectorNeed(
            supply="12V", current="8A", ambient="40degC", poles=2, pitch="5.08mm", wire="1.5mm2", wire_kind="ferruled"
        )
        with Catalog.open(shelf.path) as catalog:
            chosen = choose(catalog, need)
        assert [row["part_number"] for row in chosen.ranked] == ["HX508-02", "OS5-02"]
        assert chosen.ranked[0]["conduction_loss_w"] == pytest.approx(2 * 8.0**2 * 1.2e-3)
        assert chosen.ranked[1]["usable_a"] == pytest.approx(0.8 * 20.0)
        assert chosen.counts is not None
        # Of 12 A by IEC and 10 A by UL the lesser, at 40 °C: 10 A · √(65/85) · 0.8 = 7.0 A.
        assert dict(chosen.counts.stopped)["current"] == 1
        assert (chosen.near_misses[0]["part_number"], chosen.near_misses[0]["criterion"]) == ("DRP508-02", "current")

    def test_a_look_alike_pitch_is_told_apart(self, taken_in: Callable[[], Any]) -> None:
        """5.00 mm is no 5.08 mm: over twelve poles the last pin is 0.88 mm off."""
        shelf = taken_in()
        need = ConnectorNeed(supply="12V", current="8A", poles=12, pitch="5.08mm")
        with Catalog.open(shelf.path) as catalog:
            chosen = choose(catalog, need)
        assert [row["part_number"] for row in chosen.ranked] == ["HX508-12"]
        miss = next(miss for miss in chosen.near_misses if miss["part_number"] == "HX500-12")
        assert miss["criterion"] == "pitch"
        assert any("0.88 mm off over 12 poles" in remark for remark in miss["remarks"])

    def test_yes_means_pluggable_only_under_a_heading_that_asks(self, shelf: Any) -> None:
        """A column of "yes" under another heading is not taken for it."""
        shelf.take_in(ENGLISH.replace("Pluggable", "Lead free"), name="brambleside.csv")
        with Catalog.open(shelf.path) as catalog:
            assert set(catalog.parts("connector").column("construction").to_pylist()) == {None}

    def test_a_transistor_list_is_none_of_connectors(self, shelf: Any) -> None:
        """Its own family speaks louder."""
        assert shelf.take_in(shelf.text()).family == "transistor"


class TestOneListOfTwoFamilies:
    """A list is taken in as one family, whole; where rows name another one's parts, that is said."""

    ROWS = (
        "MPN,Maker,Description,Rated current,Rated voltage,Contact resistance,Pitch,Poles\n"
        "OD-1,Oddmoor,Terminal block,10 A,300 V,2 mOhm,5.08 mm,2\n"
        "OD-2,Oddmoor,Terminal block,10 A,300 V,2 mOhm,5.08 mm,3\n"
    )

    def test_rows_that_name_fuses_are_said(self, tmp_path: Path) -> None:
        """With the first row, and the way out."""
        mixed = tmp_path / "mixed.csv"
        mixed.write_text(self.ROWS + "OD-F1,Oddmoor,Blade fuse,10 A,32 V,,,\nOD-F2,Oddmoor,Blade fuse,20 A,32 V,,,\n")
        (report,) = intake(tmp_path / "parts.duckdb", [mixed])
        assert report.family == "connector"
        (note,) = [note for note in report.notes if "fuses" in note]
        assert "2 rows" in note
        assert "row 4" in note
        assert "--family fuse" in note

    def test_a_pure_list_is_left_in_peace(self, tmp_path: Path) -> None:
        """No note."""
        pure = tmp_path / "terminals.csv"
        pure.write_text(self.ROWS)
        (report,) = intake(tmp_path / "parts.duckdb", [pure])
        assert not report.notes
