"""The demo lists are what the generator makes of them, and hold what the demo needs.

The generator stands in ``tests/benchmarks`` and is no part of the package.
"""

from __future__ import annotations

import csv
import importlib
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import duckdb
import numpy as np
import openpyxl
import pytest
from scipy.optimize import brentq

HERE = Path(__file__).resolve().parent
GREENHOUSE = HERE.parent / "catalog" / "greenhouse"
LISTS = ("thistledown.csv", "rabenmoos.csv", "ninefold.tsv", "sparrowgate.txt", "tidemill.xlsx")


@pytest.fixture(scope="module")
def generator() -> Iterator[ModuleType]:
    """Bring in the generator, which stands beside the benchmarks."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(HERE / "benchmarks"))
        yield importlib.import_module("generator")


@pytest.fixture(scope="module")
def truth(generator: ModuleType) -> dict[str, Any]:
    """Tell what each list states, by the generator's account."""
    stated: dict[str, Any] = generator.greenhouse_truth()
    return stated


@pytest.fixture(scope="module")
def anew(generator: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the lists again, in a folder of their own."""
    folder = tmp_path_factory.mktemp("greenhouse")
    generator.write_greenhouse(folder)
    return folder


def workbook_cells(path: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Read a workbook's cells, sheet by sheet."""
    workbook = openpyxl.load_workbook(path, read_only=True)
    cells = {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in workbook}
    workbook.close()
    return cells


def junction_degc(amperes: float, ohm: float, k_per_w: float, ambient_degc: float) -> float:
    """Solve the junction temperature with SciPy from the power law; infinite where it runs away."""

    def excess(degc: float) -> float:
        hot_ohm = ohm * ((degc + 273.15) / 298.15) ** 1.65
        return float(ambient_degc + k_per_w * amperes**2 * hot_ohm - degc)

    return brentq(excess, ambient_degc, 175.0) if excess(175.0) < 0 else float("inf")


def at_pin(facts: dict[str, Any], pin_v: float = 5.0) -> float:
    """Return the maximum on-resistance at the greatest specified voltage not above the pin's."""
    below = [volts for volts in facts.get("rds_max", {}) if volts <= pin_v]
    return float(facts["rds_max"][max(below)]) if below else float("inf")


def everything(truth: dict[str, Any]) -> list[dict[str, Any]]:
    """Return what the lists state of their parts, each offer for itself."""
    return [facts for told in truth.values() for facts in told["parts"].values()]


@pytest.mark.parametrize("name", [name for name in LISTS if not name.endswith("xlsx")])
def test_a_text_list_is_made_again_byte_for_byte(name: str, anew: Path) -> None:
    """The shipped list is what the generator writes."""
    assert (anew / name).read_bytes() == (GREENHOUSE / name).read_bytes()


def test_the_workbook_is_made_again_cell_for_cell(anew: Path) -> None:
    """Its bytes may differ with the writing library; its cells may not."""
    assert workbook_cells(anew / "tidemill.xlsx") == workbook_cells(GREENHOUSE / "tidemill.xlsx")


def test_the_workbook_does_not_know_when_it_was_made(anew: Path, generator: ModuleType, tmp_path: Path) -> None:
    """Two runs write the same bytes."""
    generator.write_greenhouse(tmp_path)
    assert (tmp_path / "tidemill.xlsx").read_bytes() == (anew / "tidemill.xlsx").read_bytes()


def test_nothing_else_is_made(anew: Path) -> None:
    """The generator writes the five lists and no other file."""
    assert sorted(path.name for path in anew.iterdir()) == sorted(LISTS)


@pytest.mark.parametrize("name", LISTS)
def test_a_list_is_of_a_size_that_people_can_look_through(name: str, truth: dict[str, Any]) -> None:
    """Each list has 60 to 150 parts."""
    assert 60 <= len(truth[name]["parts"]) <= 150


def test_each_list_keeps_its_encoding() -> None:
    """UTF-8, CP1252 and UTF-16 with its mark, and two code points for the ohm."""
    assert (GREENHOUSE / "ninefold.tsv").read_bytes().startswith(b"\xff\xfe")
    assert "µ" not in (GREENHOUSE / "rabenmoos.csv").read_text("cp1252")
    with pytest.raises(UnicodeDecodeError):
        (GREENHOUSE / "rabenmoos.csv").read_text("utf-8")
    assert "\u2126" in (GREENHOUSE / "ninefold.tsv").read_text("utf-16")
    assert "mΩ" in (GREENHOUSE / "thistledown.csv").read_text("utf-8")


def test_part_numbers_that_look_like_numbers_stay_text(truth: dict[str, Any]) -> None:
    """A workbook cell with 22E1 holds a text."""
    told = {part_number for listed in truth.values() for part_number in listed["parts"]}
    assert {"22E1", "0R10", "004711", "1E05"} <= told
    rows = workbook_cells(GREENHOUSE / "tidemill.xlsx")["Power MOSFETs"][4:]
    assert all(isinstance(row[0], str) for row in rows)
    assert {row[0] for row in rows} == set(truth["tidemill.xlsx"]["parts"])


def test_lists_share_parts_and_disagree_about_some(truth: dict[str, Any]) -> None:
    """Parts have several offers, and every kind of figure differs somewhere."""
    figures = ("vds_v", "vgs_max_v", "id_case_a", "pd_case_w", "junction_max_degc", "rds_max")
    offers = Counter(part_number for told in truth.values() for part_number in told["parts"])
    assert sum(1 for count in offers.values() if count > 1) >= 60
    disagreed = set()
    for part_number in offers:
        claims = [told["parts"][part_number] for told in truth.values() if part_number in told["parts"]]
        for name in figures[:-1]:
            if len({claim[name] for claim in claims if name in claim}) > 1:
                disagreed.add((part_number, name))
        for volts in (10.0, 4.5):
            if len({claim["rds_max"][volts] for claim in claims if volts in claim["rds_max"]}) > 1:
                disagreed.add((part_number, "rds_max"))
    assert {name for _, name in disagreed} == set(figures)


def test_enough_parts_answer_the_greenhouse_question(truth: dict[str, Any]) -> None:
    """12 V through 1.6 Ω, a 5 V pin, 40 °C: TO-220 parts within 125 °C and 1 W in still air (62 K/W)."""
    fit = set()
    for told in truth.values():
        for part_number, facts in told["parts"].items():
            if facts["channel"] != "n" or facts["package"] != "TO-220" or facts["vds_v"] < 18:
                continue
            if facts.get("vgs_max_v", 0.0) < 1.25 * 5 or facts.get("id_case_a", 0.0) < 1.25 * 7.5:
                continue
            degc = junction_degc(7.5, at_pin(facts), 62.5, 40.0)
            if degc <= 125 and (degc - 40) / 62.5 <= 1:
                fit.add(part_number)
    assert len(fit) >= 10


@pytest.mark.parametrize(
    ("least", "seems_to_fit"),
    [
        pytest.param(5, lambda p: min(p["rds_max"], default=0) == 10 and p.get("vgs_th_max_v", 9) < 3.0,
                     id="specified at 10 V only, with a low threshold"),
        pytest.param(5, lambda p: set(p["rds_max"]) == {6.0, 10.0}, id="specified at 6 V and 10 V only"),
        pytest.param(3, lambda p: not p["rds_max"] and p.get("rds_typ"), id="typical figures only"),
        pytest.param(3, lambda p: p["vds_v"] in (15, 16) and at_pin(p) < 0.012, id="15 V or 16 V"),
        pytest.param(3, lambda p: p["vds_v"] == 20 and at_pin(p) < 0.012, id="20 V"),
        pytest.param(2, lambda p: p.get("vgs_max_v") == 6 and at_pin(p) < 0.012, id="gate rating 6 V"),
        pytest.param(5, lambda p: 0.0125 < at_pin(p) < 0.016, id="a little over 1 W"),
    ],
)  # fmt: skip
def test_the_lists_hold_near_misses(least: int, seems_to_fit: Any, truth: dict[str, Any]) -> None:
    """Parts that seem to fit and do not, each sort several times."""
    parts = [p for p in everything(truth) if p["channel"] == "n" and p["package"] == "TO-220"]
    assert sum(1 for part in parts if seems_to_fit(part)) >= least


def test_the_lists_hold_full_packs_and_p_channels(truth: dict[str, Any]) -> None:
    """A full-pack and a P channel are offered ten times or more."""
    kinds = Counter((facts["channel"], facts["package"]) for facts in everything(truth))
    assert kinds["n", "TO-220 full-pack"] >= 10
    assert kinds["p", "TO-220"] + kinds["p", "TO-220 full-pack"] >= 10


def test_the_workbook_misprints_two_units(truth: dict[str, Any]) -> None:
    """A capacitance and an on-resistance are wrong by powers of ten."""
    slips = [facts["slips"] for facts in truth["tidemill.xlsx"]["parts"].values() if facts["slips"]]
    assert sorted(slips, key=str) == [{"ciss_f": "345 nF"}, {"rds_max:4.5": "12 MΩ"}]


def test_what_a_list_states_stands_in_its_line(truth: dict[str, Any]) -> None:
    """On-resistances of two lists, read here by the plainest means, are those of the generator's account."""
    lines = (GREENHOUSE / "sparrowgate.txt").read_text("utf-8").splitlines()[1:]
    told = truth["sparrowgate.txt"]["parts"]
    assert [line.split(" | ")[0] for line in lines] == list(told)
    pattern = re.compile(r"(?:(\d*R\d+)|([\d.]+) mΩ) @ VGS=([\d.]+) V")
    for line in lines:
        cells = line.split(" | ")
        found = {float(v): float(r.replace("R", ".") or f"{m}e-3") for r, m, v in pattern.findall(cells[7])}
        assert found == told[cells[0]]["rds_max"]

    german = (GREENHOUSE / "rabenmoos.csv").read_text("cp1252")
    told = truth["rabenmoos.csv"]["parts"]
    cells_of = {row[1]: row for row in csv.reader(german.splitlines(), delimiter=";") if len(row) > 20}
    assert cells_of.keys() == {"Typ", *told}
    for part_number, facts in told.items():
        pairs = re.findall(r"([\d,]+) mOhm bei -?([\d,]+) V", cells_of[part_number][8])
        found = {float(v.replace(",", ".")): float(r.replace(",", ".") + "e-3") for r, v in pairs}
        assert found == facts["rds_max"] | facts["rds_typ"]


def test_the_population_keeps_the_relations_between_ratings(generator: ModuleType) -> None:
    """PD = (TJmax − TC)/RθJC and ID = √((TJmax − TC)/(RθJC·RDS(on)@TJmax)), as in MIL-PRF-19500/557F."""
    table = generator.make_catalog(4000, 7)
    part = {name: table.column(name).to_numpy() for name in table.column_names}
    rise = part["junction_max_degc"] - 25
    told = ~np.isnan(part["pd_case_w"])
    assert told.sum() > 1000
    np.testing.assert_allclose((part["pd_case_w"] * part["rthjc_k_per_w"])[told], rise[told], rtol=6e-3)
    hot = (part["rds_10v0_ohm"]) * ((part["junction_max_degc"] + 273.15) / 298.15) ** part["hot_exponent"]
    allowed = np.sqrt(rise / (part["rthjc_k_per_w"] * hot))
    told = ~np.isnan(allowed)
    assert (part["id_case_a"][told] <= allowed[told] * 1.06).all()  # two printed digits
    assert (part["id_case_a"][told] >= allowed[told] * 0.94).mean() > 0.5  # the others meet their leads' limit


def test_the_population_has_no_part_number_twice(generator: ModuleType) -> None:
    """Each part has a number of its own."""
    assert len(set(generator.make_catalog(5000, 3).column("part_number").to_pylist())) == 5000


def test_the_parts_table_is_sorted_and_filled_upwards(generator: ModuleType) -> None:
    """A level's figure is that of the greatest specified voltage not above it."""
    connection = duckdb.connect()
    generator.to_parts_table(connection, 3000, 5)
    keys = connection.execute("SELECT channel, package, vds_v FROM parts_transistor").fetchall()
    assert keys == sorted(keys)
    odd = connection.execute(
        "SELECT count(*) FROM parts_transistor WHERE rds_5v0_at_v > 5 OR rds_5v0_ohm > rds_4v5_ohm"
        " OR rds_12v0_ohm IS DISTINCT FROM rds_10v0_ohm OR rds_3v3_ohm IS DISTINCT FROM rds_2v5_ohm"
        " OR isnan(rds_5v0_ohm) OR (rds_from_v <= 5) IS DISTINCT FROM (rds_5v0_ohm IS NOT NULL)"
        " AND rds_from_v IS NOT NULL"
    ).fetchone()
    assert odd == (0,)
