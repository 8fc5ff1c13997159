"""Lists of wire: what their headings and cells say, in English and German, and what they must not be taken for.

Headings are common practice; the wire gauge is that of ASTM B258.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from path_lists import heading, kept

from loadworthy import WireNeed, choose
from loadworthy.catalog import families
from loadworthy.catalog.headings import read_heading
from loadworthy.catalog.store import Catalog
from loadworthy.physics import conductors

if TYPE_CHECKING:
    from conftest import Shelf


@pytest.mark.parametrize(
    ("figure", "texts"),
    [
        ("area", ["AWG", "Wire gauge (AWG)", "Wire gauge", "Gauge", "Wire size AWG", "Cross-section (mm²)",
                  "Cross section [mm2]", "Conductor size", "Querschnitt [mm²]", "Nennquerschnitt",
                  "Leiterquerschnitt mm²", "A (mm²)", "mm²", "Conductor cross-sectional area"]),
        ("ohm_per_m", ["Conductor resistance (Ω/km)", "Resistance at 20 °C [Ω/km]", "Conductor resistance max (mΩ/m)",
                       "Leiterwiderstand [Ω/km]", "R20 (Ω/km)", "Resistance per metre", "Widerstand (Ω/km)"]),
        ("limit", ["Temperature rating", "Max. temperature (°C)", "Temperature range", "Grenztemperatur [°C]",
                   "Temperaturbereich", "Operating temperature"]),
        ("voltage", ["Rated voltage (V)", "Voltage rating", "Nennspannung", "Working voltage [V]"]),
        ("diameter", ["Outer diameter (mm)", "OD (mm)", "Außendurchmesser [mm]", "Diameter", "Overall diameter"]),
        ("strand", ["Strand", "Stranding", "Conductor type", "Leiteraufbau", "Aufbau"]),
        ("material", ["Material", "Conductor material", "Leitermaterial"]),
        ("reel", ["Reel length (m)", "Length (m)", "Rollenlänge [m]", "Länge", "Metres per reel"]),
        (None, ["Colour", "Farbe", "Insulation", "Isolierung", "Current rating (A)", "Conductor diameter (mm)",
                "Number of strands", "Strombelastbarkeit [A]", "Bend radius (mm)"]),
    ],
)  # fmt: skip
def test_headings_are_read_as_what_they_name(figure: str | None, texts: list[str]) -> None:
    """Many ways of writing each; a listed current holds for one way of laying only and is not kept."""
    assert {text: heading("wire", text).reads for text in texts} == dict.fromkeys(texts, figure)


@pytest.mark.parametrize(
    ("under", "cell", "told"),
    [
        ("Cross-section (mm²)", "1.5", {"area_m2": 1.5e-6}),
        ("Cross-section", "0.75 mm²", {"area_m2": 0.75e-6}),
        ("Conductor resistance (Ω/km)", "13.3", {"listed_ohm_per_m": 0.0133}),
        ("Conductor resistance", "13.3 Ω/km", {"listed_ohm_per_m": 0.0133}),
        ("Conductor resistance", "7.98 mΩ/m", {"listed_ohm_per_m": 0.00798}),
        ("Temperature rating", "105 °C", {"limit_degc": 105.0}),
        ("Temperature range", "-40 … 70 °C", {"limit_degc": 70.0}),
        ("Rated voltage", "300/500 V", {"voltage_v": 300.0}),
        ("Outer diameter (mm)", "2.4", {"outer_m": 0.0024}),
        ("Strand", "Solid core", {"strand": "solid"}),
        ("Stranding", "stranded", {"strand": "stranded"}),
        ("Stranding", "fine stranded", {"strand": "fine"}),
        ("Conductor type", "flexible, class 5", {"strand": "fine"}),
        ("Leiteraufbau", "feindrähtig", {"strand": "fine"}),
        ("Leiteraufbau", "eindrähtig", {"strand": "solid"}),
        ("Conductor material", "Tinned copper", {"material": "tinned"}),
        ("Conductor material", "bare copper", {"material": "copper"}),
        ("Conductor material", "Copper-clad aluminium (CCA)", {"material": "clad"}),
        ("Leitermaterial", "Kupfer, verzinnt", {"material": "tinned"}),
        ("Reel length (m)", "30", {"reel_m": 30.0}),
    ],
)
def test_cells_fill_the_columns_of_what_they_say(under: str, cell: str, told: dict[str, Any]) -> None:
    """With and without units; of names within names the longest counts."""
    found = kept("wire", under, cell)
    assert isinstance(found, dict)
    assert found == {name: pytest.approx(value) if isinstance(value, float) else value for name, value in told.items()}


@pytest.mark.parametrize("under", ["AWG", "Wire gauge (AWG)", "Gauge [AWG]"])
@pytest.mark.parametrize(("cell", "gauge"), [("18", 18), ("18 AWG", 18), ("AWG 18", 18), ("2/0", -1), ("#14", 14)])
def test_gauges_are_areas(under: str, cell: str, gauge: int) -> None:
    """However a gauge is written, its number is never taken for square millimetres."""
    found = kept("wire", under, cell)
    assert isinstance(found, dict)
    assert found["area_m2"] == pytest.approx(conductors.awg_area(gauge=gauge), rel=1e-9)


@pytest.mark.parametrize(
    ("under", "cell", "why"),
    [
        ("Cross-section (mm²)", "1.5 mm", "another kind"),
        ("Cross-section (mm²)", "1500", "outside what cross-section can be"),
        ("Conductor resistance (Ω/km)", "13.3 Ω", "Ω"),
        ("Conductor material", "steel", "not that of copper"),
        ("Conductor material", "copper or CCA", "more than one"),
        ("Strand", "solid or stranded", "more than one"),
        ("Outer diameter", "2.4", "unit"),
    ],
)
def test_cells_that_say_something_else_are_refused(under: str, cell: str, why: str) -> None:
    """A figure half understood is worse than none."""
    found = kept("wire", under, cell)
    assert isinstance(found, str)
    assert why in found


GAUGED = """\
Maker,Part number,AWG,Strand,Conductor material,Outer diameter (mm),Voltage rating (V),\
Temperature rating (°C),Reel length (m),Price each (EUR)
Copperhithe,CH-16,16,stranded,tinned copper,2.4,300,105,30,12.40
Copperhithe,CH-14,14,stranded,copper,2.9,300,105,30,17.10
Copperhithe,CH-12C,12,fine stranded,CCA,3.5,300,80,30,11.00
"""
METRIC = """\
Leitungen und Litzen;;;;;;;;;
Hersteller;Typ;Querschnitt;Leiteraufbau;Leiterwiderstand;Außendurchmesser;Nennspannung;Temperaturbereich;Länge;Preis
;;mm²;;Ω/km;mm;V;°C;m;EUR
Ahornfeld;AL-1,5;1,5;feindrähtig;13,3;3,0;300/500;-40 … 70;100;29,50
Ahornfeld;AL-2,5;2,5;feindrähtig;7,98;3,6;300/500;-40 … 70;100;46,00
Ahornfeld;AL-4;4;feindrähtig;;4,4;300/500;;50;39,00
"""


def test_two_lists_written_differently_come_in_and_are_chosen_from(shelf: Shelf) -> None:
    """One by gauge with points, one by area with commas and a row of units; then one need."""
    for name, text in (("wire.csv", GAUGED), ("leitungen.csv", METRIC)):
        report = shelf.take_in(text, name=name)
        assert (report.family, report.cells_refused) == ("wire", 0)
    with Catalog.open(shelf.path) as catalog:
        chosen = choose(catalog, WireNeed(supply="12V", current="8A", length="2m"))
    ranked = [row["part_number"] for row in chosen.ranked]
    assert ranked == ["CH-14", "AL-2,5", "CH-12C", "AL-4"]
    by_gauge = chosen.ranked[0]
    assert by_gauge["gauge"] == "14"
    assert by_gauge["ohm_per_m"] == pytest.approx(8.28e-3, rel=1.1e-3)  # published table, solid, 20 °C
    assert chosen.ranked[1]["ohm_per_m"] == pytest.approx(7.98e-3)  # as listed, which is IEC 60228's
    assert chosen.ranked[3]["ohm_per_m"] == pytest.approx(4.95e-3)  # IEC 60228, the list gives none
    assert {miss["part_number"]: miss["criterion"] for miss in chosen.near_misses} == {
        "CH-16": "drop",
        "AL-1,5": "drop",
    }


@pytest.mark.parametrize(
    "written", ["Price per 100 m (EUR)", "Preis pro Meter", "Preis/100 m", "Price/ft", "Preis je km"]
)
def test_the_price_of_a_length_is_not_taken_for_that_of_a_piece(written: str) -> None:
    """A plan would be wrong by a hundred times."""
    assert read_heading(written, families.load("wire")).reads is None


@pytest.mark.parametrize("written", ["Price per reel (EUR)", "Price per piece", "Preis/Stk", "Stückpreis in €"])
def test_the_price_of_a_piece_is_read(written: str) -> None:
    """A reel is a piece."""
    assert read_heading(written, families.load("wire")).reads == "price"
