"""Lists of heat sinks: how their headings and cells are read, and two whole lists from file to choice.

Headings are common practice in English and German. Makers, suppliers and part numbers are invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from path_lists import recipe_that_reads_the_same

from loadworthy import Catalog, HeatsinkNeed, choose, intake
from loadworthy.catalog import families
from loadworthy.catalog.cells import Refused, read_cell
from loadworthy.catalog.headings import read_heading
from loadworthy.catalog.outputs import outputs_of
from loadworthy.quantities.numbers import DecimalMark

FAMILY = families.load("heatsink")


@pytest.mark.parametrize(
    ("figure", "texts"),
    [
        (
            "theta",
            [
                "RthSA", "Rth(s-a) [K/W]", "Rth_SA", "θSA (K/W)", "RθSA", "Thermal resistance (°C/W)",
                "THERMAL RESISTANCE",
                "Thermal resistance sink to ambient [K/W]", "Sink-to-ambient resistance (K/W)",
                "Wärmewiderstand [K/W]",
                "Wärmewiderstand RthK", "Thermischer Widerstand (K/W)",
            ],
        ),
        ("width", ["Width (mm)", "W (mm)", "B [mm]", "Breite [mm]", "Overall width", "Gesamtbreite (mm)"]),
        ("height", ["Height (mm)", "H [mm]", "Höhe [mm]", "HÖHE", "Bauhöhe mm"]),
        ("depth", ["Depth (mm)", "Length (mm)", "L (mm)", "Länge [mm]", "Tiefe (mm)", "Profillänge [mm]"]),
        ("mass", ["Mass (g)", "Weight (g)", "Gewicht [g]", "Masse", "Net weight [g]"]),
        ("fixing", ["Fixing", "Mounting", "Attachment", "Befestigung", "Montageart", "Fastening"]),
        ("fits", ["Fits", "Suitable for", "Passend für", "Für Transistor"]),
        ("package", ["Package", "For package", "Gehäuse", "Für Bauform", "Outline"]),
    ],
)  # fmt: skip
def test_what_a_heading_reads_as(figure: str, texts: list[str]) -> None:
    """In either language, with symbols or words, with a unit or without."""
    assert {text: read_heading(text, FAMILY).reads for text in texts} == dict.fromkeys(texts, figure)
    assert all(read_heading(text, FAMILY).certain for text in texts)


@pytest.mark.parametrize(
    ("text", "place", "flow"),
    [
        ("Rth natural convection (K/W)", "natural", None),
        ("Thermal resistance, free convection [K/W]", "natural", None),
        ("Wärmewiderstand (natürliche Konvektion) [K/W]", "natural", None),
        ("Rth forced air (K/W)", "forced", None),
        ("Rth at 2 m/s (K/W)", None, 2.0),
        ("Thermal resistance with fan, 3 m/s (K/W)", "forced", 3.0),
        ("Wärmewiderstand bei 1,5 m/s [K/W]", None, 1.5),
        # 200 ft/min are 1.016 m/s.
        ("Thermal resistance at 200 LFM (°C/W)", None, pytest.approx(1.016)),
    ],
)
def test_what_a_heading_says_of_the_air(text: str, place: str | None, flow: float | None) -> None:
    """Still or moving, and how fast."""
    reading = read_heading(text, FAMILY)
    assert (reading.reads, reading.place, reading.flow) == ("theta", place, flow)


@pytest.mark.parametrize(
    "text",
    [
        "RthJC (K/W)", "Thermal resistance case to sink (K/W)", "Thermal resistance junction to case",
        "Power dissipation (W)",
        "Temperature rise (K)", "Verlustleistung [W]", "Fin thickness (mm)", "Hole spacing (mm)", "Pin length (mm)",
        "Rippenhöhe [mm]", "Diameter (mm)", "Dimensions", "Material", "Finish", "Oberfläche", "Air speed (m/s)",
        "Pressure drop", "Datasheet", "VDS (V)",
    ],
)  # fmt: skip
def test_what_is_no_figure_of_a_sink(text: str) -> None:
    """Printed beside the others, and taken for none of them."""
    assert read_heading(text, FAMILY).reads in (None, "description")


def kept(figure: str, text: str, *, decimal: DecimalMark = ".", **said: Any) -> Any:
    """Return the columns that a cell fills, or why it is refused."""
    found = FAMILY.figure(figure)
    readings = read_cell(text, found, decimal=decimal, **said)
    if readings is None:
        return None
    outputs = readings if isinstance(readings, Refused) else outputs_of(found, readings)
    return "refused" if isinstance(outputs, Refused) else outputs


@pytest.mark.parametrize(
    ("text", "columns"),
    [
        ("21", {"theta_natural_k_per_w": 21.0, "theta_unmarked": True}),
        ("21.5 °C/W", {"theta_natural_k_per_w": 21.5, "theta_unmarked": True}),
        ("12 K/W natural", {"theta_natural_k_per_w": 12.0}),
        ("5.2 K/W still air", {"theta_natural_k_per_w": 5.2}),
        ("4.1 K/W @ 2 m/s", {"theta_forced_k_per_w": 4.1, "forced_flow_m_per_s": 2.0}),
        ("4.1 (2 m/s)", {"theta_forced_k_per_w": 4.1, "forced_flow_m_per_s": 2.0}),
        ("4.1 K/W forced", {"theta_forced_k_per_w": 4.1, "forced_flow_m_per_s": None}),
        (
            "11.2 K/W natural; 4.1 K/W @ 2 m/s",
            {"theta_natural_k_per_w": 11.2, "theta_forced_k_per_w": 4.1, "forced_flow_m_per_s": 2.0},
        ),
        # Of two speeds the slower one counts, whose figure is the worse.
        ("5 K/W @ 1 m/s; 3.5 K/W @ 2 m/s", {"theta_forced_k_per_w": 5.0, "forced_flow_m_per_s": 1.0}),
        ("n/a", None),
        ("25 W", "refused"),
        ("0", "refused"),
        ("-5", "refused"),
    ],
)
def test_cells_of_thermal_resistance(text: str, columns: Any) -> None:
    """Still air where nothing else is said, and that is marked; moving air with its speed."""
    assert kept("theta", text, unit="K/W") == columns


def test_a_speed_in_the_heading_makes_the_cells_those_of_moving_air() -> None:
    """Although no word says so."""
    assert kept("theta", "4,1", unit="K/W", flow=2.0, decimal=",") == {
        "theta_forced_k_per_w": 4.1,
        "forced_flow_m_per_s": 2.0,
    }


@pytest.mark.parametrize(
    ("figure", "text", "value"),
    [
        ("width", "25.4", 0.0254), ("width", "1 in", 0.0254), ("height", "2.5 cm", 0.025), ("depth", "0.5 m", 0.5),
        ("mass", "12", 0.012), ("mass", "0.05 kg", 0.05),
        ("width", "25 x 10 mm", "refused"), ("width", "5 kg", "refused"), ("mass", "5 mm", "refused"),
    ],
)  # fmt: skip
def test_cells_of_size_and_mass(figure: str, text: str, value: Any) -> None:
    """The heading says mm and g; a cell may say otherwise."""
    found = kept(figure, text, unit="g" if figure == "mass" else "mm")
    column = "mass_kg" if figure == "mass" else f"{figure}_m"
    assert found == (value if value == "refused" else {column: pytest.approx(value)})


@pytest.mark.parametrize(
    ("text", "fixing"),
    [
        ("clip", "clip"), ("Clip-on", "clip"), ("Federklammer", "clip"), ("aufsteckbar", "clip"), ("screw M3",
        "screw"),
        ("Schraubmontage", "screw"), ("solder pins", "solder"), ("Lötstift", "solder"), ("thermal tape", "adhesive"),
        ("selbstklebend", "adhesive"), ("clip and solder pins", "refused"), ("magic", "refused"),
    ],
)  # fmt: skip
def test_cells_of_fixing(text: str, fixing: str) -> None:
    """One of four ways, or refused."""
    assert kept("fixing", text) == ("refused" if fixing == "refused" else {"fixing": fixing})


ENGLISH = """\
Heat sinks,,,,,,,,,,,
Part,Maker,For package,Width,Depth,Height,Fixing,Rth natural convection,Rth at 2 m/s,Mass,Each,Stock
,,,mm,mm,mm,,K/W,K/W,g,EUR,
HS-19,Finmoor,TO-220,19,10,19,clip,21.5,,5.4,0.35,100
HS-35,Finmoor,TO-220/TO-247,35,12,50,screw,11.2,4.1,20,0.95,12
HS-247,Finmoor,TO-247,35,12,50,solder pins,11.0,4.0,20,0.50,7
HS-WONDER,Airlees,TO-220,19,10,19,clip,4.5,,5,0.20,900
"""
GERMAN = """\
Bezeichnung;Hersteller;Gehäuse;Breite [mm];Länge [mm];Höhe [mm];Befestigung;RthK [K/W];Gewicht [g];Preis;Bestand
KR 13;Kaltrippe;TO-220;13;9;19;Federklammer;28,5;2,1;0,22 €;50
KR 30;Kaltrippe;TO-220AB;30;16;38;Schraube;9,8;16,4;0,78 €;31
KR 31;Kaltrippe;TO-220;30,5;16;38;Schraube;k. A.;16,4;0,10 €;31
"""


@pytest.fixture
def catalog_path(tmp_path: Path) -> Path:
    """Take in two lists written in two ways, of which neither says what it is a list of but by its words."""
    for name, text in (("first.csv", ENGLISH), ("second.csv", GERMAN)):
        (tmp_path / name).write_text(text, encoding="utf-8")
        (report,) = intake(tmp_path / "parts.duckdb", [tmp_path / name], supplier=name)
        assert (report.rows_parts, report.rows_refused, report.cells_refused) == (
            text.count("\n") - (3 if name == "first.csv" else 1),
            0,
            0,
        )
    return tmp_path / "parts.duckdb"


def test_two_lists_from_file_to_choice(catalog_path: Path) -> None:
    """A row of units or a decimal comma, one family: the cheapest sink that will do comes first."""
    with Catalog.open(catalog_path) as catalog:
        held = {row["part_number"]: row for row in catalog.parts("heatsink").to_pylist()}
        chosen = choose(catalog, HeatsinkNeed(loss="3W", rthjc="1.5K/W", rthcs="0.5K/W", package=("TO-220",)))
        blown = choose(
            catalog, HeatsinkNeed(loss="9W", rthjc="1.5K/W", rthcs="0.5K/W", package=("TO-220",), flow="2m/s")
        )
    assert held["HS-35"]["theta_forced_k_per_w"] == 4.1
    assert held["HS-35"]["forced_flow_m_per_s"] == 2.0
    assert held["HS-35"]["package"] == "TO-220/TO-247"
    assert (held["KR 13"]["width_m"], held["KR 13"]["mass_kg"], held["KR 13"]["fixing"]) == (0.013, 0.0021, "clip")
    assert [row["part_number"] for row in chosen.ranked] == ["HS-19", "KR 30", "HS-35"]
    assert chosen.counts is not None
    assert chosen.counts.stopped | {"package": 1, "theta": 1, "plausible": 1} == chosen.counts.stopped
    assert chosen.counts.unknown == {"theta": 1}
    # 85 K for 9 W less 2 K/W leave 7.4 K/W: only moving air does that.
    assert [row["part_number"] for row in blown.ranked] == ["HS-35"]


def test_the_saved_recipe_reads_the_list_as_it_was_read(tmp_path: Path) -> None:
    """With the air's speed that a heading names."""
    assert 'air_speed = "2m/s"' in recipe_that_reads_the_same(tmp_path, "heatsink", ENGLISH)


class TestWordsAreNoPartNumbers:
    """``Art.-Nr. | Bezeichnung``: the second may be the maker's type, or only what the thing is called."""

    HEAD = "Art.-Nr.;Hersteller;Bezeichnung;Wärmewiderstand (K/W);Höhe (mm);Preis (€)\n"

    def taken(self, tmp_path: Path, rows: str) -> list[str]:
        """Take a list in; return its part numbers."""
        place = tmp_path / "sinks.csv"
        place.write_text(self.HEAD + rows, encoding="utf-8")
        intake(tmp_path / "parts.duckdb", [place], family="heatsink")
        with Catalog.open(tmp_path / "parts.duckdb") as catalog:
            return sorted(row["part_number"] for row in catalog.parts("heatsink").to_pylist())

    def test_words_leave_the_part_to_its_order_number(self, tmp_path: Path) -> None:
        """Else all heat sinks of a maker would be one."""
        rows = (
            "HK-1;Holler;Kühlkörper;20;19;0,29\nHK-2;Holler;Kühlkörper;12,5;25;0,85\n"
            "HK-3;Holler;Kühlkörper 2;9;35;1,2\n"
        )
        assert self.taken(tmp_path, rows) == ["HK-1", "HK-2", "HK-3"]

    def test_a_type_designation_stays_the_part_number(self, tmp_path: Path) -> None:
        """It holds a number."""
        rows = "4711;Holler;KS20-19;20;19;0,29\n4712;Holler;KS12-25;12,5;25;0,85\n"
        assert self.taken(tmp_path, rows) == ["KS12-25", "KS20-19"]
