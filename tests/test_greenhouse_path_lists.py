"""The demo lists of terminals, fuses, sinks, wire and diodes: made anew the same, taken in whole."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import openpyxl
import pytest

from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog

HERE = Path(__file__).resolve().parent
GREENHOUSE = HERE.parent / "catalog" / "greenhouse"
LISTS = ("thistledown-terminals.csv", "rabenmoos-klemmen.csv", "sparrowgate-fuses.txt", "tidemill-path.xlsx")


@pytest.fixture(scope="module")
def makers_of_lists() -> Iterator[ModuleType]:
    """Bring in the generator, which stands beside the benchmarks."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(HERE / "benchmarks"))
        yield importlib.import_module("path_parts")


@pytest.fixture(scope="module")
def rows(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, dict[str, Any]]]:
    """Take the shipped lists in; return each family's parts by number."""
    place = tmp_path_factory.mktemp("path") / "path.duckdb"
    reports = intake(place, [GREENHOUSE / name for name in LISTS])
    assert all(report.cells_refused == report.rows_refused == 0 for report in reports)
    with Catalog.open(place) as catalog:
        return {
            family: {row["part_number"]: row for row in catalog.parts(family).to_pylist()}
            for family in ("connector", "fuse", "heatsink", "wire", "diode")
        }


@pytest.mark.parametrize("name", [name for name in LISTS if not name.endswith("xlsx")])
def test_a_text_list_is_made_again_byte_for_byte(name: str, makers_of_lists: ModuleType, tmp_path: Path) -> None:
    """The shipped list is what the generator writes."""
    makers_of_lists.write_path_lists(tmp_path)
    assert (tmp_path / name).read_bytes() == (GREENHOUSE / name).read_bytes()


def test_the_workbook_is_made_again_cell_for_cell(makers_of_lists: ModuleType, tmp_path: Path) -> None:
    """Its bytes may differ with the writing library; its cells may not."""
    makers_of_lists.write_path_lists(tmp_path)
    made, shipped = (
        [list(sheet.iter_rows(values_only=True)) for sheet in openpyxl.load_workbook(folder / LISTS[3])]
        for folder in (tmp_path, GREENHOUSE)
    )
    assert made == shipped


def test_every_part_is_in_its_family(makers_of_lists: ModuleType, rows: dict[str, Any]) -> None:
    """Recognised by headings alone, none lost and none made up."""
    for family, made in makers_of_lists.path_lists().items():
        assert set(rows[family]) == {row["part"] for row in made}, family


def test_terminals_keep_both_ratings_and_their_curve(makers_of_lists: ModuleType, rows: dict[str, Any]) -> None:
    """UL and IEC apart; the points of the curve in rising order, from columns and from one cell alike."""
    for made in makers_of_lists.path_lists()["connector"]:
        row = rows["connector"][made["part"]]
        assert row["pitch_m"] == pytest.approx(made["pitch"] * 1e-3, abs=1e-9)
        assert row["poles"] == made["poles"]
        assert (row["rated_ul_a"], row["rated_iec_a"]) == (
            made["ul"] if made["maker"] != "Anschlusswerk Dornau" else None,
            made["iec"],
        )
        assert {point["degc"]: point["value"] for point in row["derating"] or []} == made["curve"]


def test_fuses_keep_what_they_hold_by_temperature(makers_of_lists: ModuleType, rows: dict[str, Any]) -> None:
    """Hold, trip, greatest fault current and resistances of the resettable ones; the table of the blade fuses."""
    for made in makers_of_lists.path_lists()["fuse"]:
        row = rows["fuse"][made["part"]]
        curve = row["hold_curve"] if made["type"] == "resettable" else row["rating_curve"]
        assert {point["degc"]: point["value"] for point in curve} == made.get("hold", made.get("rating"))
        assert row["trip_a"] == made.get("trip")
        assert row["r1_max_ohm"] == pytest.approx(made["r1"], rel=1e-6)
        assert row["type"] == ("resettable" if made["type"] == "resettable" else "one-shot")


def test_sinks_wire_and_diodes_keep_their_figures(makers_of_lists: ModuleType, rows: dict[str, Any]) -> None:
    """Millimetres, grams, gauges, ohms a kilometre and nanoseconds become SI."""
    made = makers_of_lists.path_lists()
    for sink in made["heatsink"]:
        row = rows["heatsink"][sink["part"]]
        assert [row[name] for name in ("width_m", "depth_m", "height_m")] == pytest.approx(
            [x / 1e3 for x in sink["box"]]
        )
        assert (row["theta_natural_k_per_w"], row["theta_forced_k_per_w"]) == (sink["theta"], sink["forced"])
        assert row["forced_flow_m_per_s"] == (2.0 if sink["forced"] else None)
    for wire in made["wire"]:
        row = rows["wire"][wire["part"]]
        number, unit = wire["size"].split()
        area = (
            float(number) * 1e-6
            if unit == "mm²"
            else 0.127e-3**2 * 92 ** ((36 - float(number)) / 19.5) * 3.14159265 / 4
        )
        assert row["area_m2"] == pytest.approx(area, rel=1e-6)
        assert row["strand"] == ("solid" if wire["strand"] == "solid" else "fine")
    for diode in made["diode"]:
        row = rows["diode"][diode["part"]]
        assert (row["vf_v"], row["vf_at_a"]) == diode["forward"]
        assert row["trr_s"] == (None if diode["recovery"] is None else pytest.approx(diode["recovery"] * 1e-9))
