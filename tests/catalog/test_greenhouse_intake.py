"""The demo lists come in exactly as their makers meant them."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from generator import greenhouse_truth

from loadworthy import shipped
from loadworthy.catalog.intake import intake
from loadworthy.catalog.reports import IntakeReport
from loadworthy.catalog.store import Catalog

if TYPE_CHECKING:
    from conftest import Shelf

TRUTH: dict[str, Any] = greenhouse_truth()
LEVELS = {"1v8": 1.8, "2v5": 2.5, "2v7": 2.7, "3v3": 3.3, "4v0": 4.0, "4v5": 4.5, "5v0": 5.0, "6v0": 6.0, "8v0": 8.0,
          "10v0": 10.0, "12v0": 12.0}  # fmt: skip
#: The list whose headings say neither whether an on-resistance is a maximum nor what a current holds for.
SILENT = "tidemill.xlsx"
WORSE_HIGHER = (
    "vgs_th_typ_v",
    "vgs_th_max_v",
    "rthjc_k_per_w",
    "rthja_k_per_w",
    "qg_c",
    "qgd_c",
    "ciss_f",
    "rise_s",
    "fall_s",
)
WORSE_LOWER = ("vds_v", "vgs_max_v", "vgs_th_min_v", "id_case_a", "id_case_hot_a", "id_ambient_a", "id_pulse_a",
               "pd_case_w", "junction_max_degc")  # fmt: skip
FIGURES = WORSE_HIGHER + WORSE_LOWER


def at_levels(resistances: dict[float, float], stem: str) -> dict[str, float | None]:
    """Return what stands in each level's columns: the figure of the greatest gate voltage not above it."""
    columns: dict[str, float | None] = {}
    for label, level in LEVELS.items():
        volts = max((volts for volts in resistances if volts <= level), default=None)
        columns[f"{stem}_{label}_ohm"] = None if volts is None else resistances[volts]
        if stem == "rds":
            columns[f"{stem}_{label}_at_v"] = volts
    return columns


@pytest.fixture(scope="module")
def folder() -> Path:
    """Return where the demo lists are."""
    return shipped.catalog_dir() / "greenhouse"


@pytest.fixture(scope="module", params=TRUTH)
def one(request: pytest.FixtureRequest, shelves: Shelf, folder: Path) -> tuple[str, Shelf, IntakeReport]:
    """Take one list in, into a catalogue of its own."""
    shelf = shelves.another()
    (report,) = intake(shelf.path, [folder / request.param])
    return request.param, shelf, report


@pytest.fixture(scope="module")
def every(shelves: Shelf, folder: Path) -> Shelf:
    """Take all lists in."""
    shelf = shelves.another()
    intake(shelf.path, [folder / name for name in TRUTH])
    return shelf


class TestOneList:
    """Each list for itself, held against what it was made from."""

    def test_every_row_is_a_part_and_only_the_slips_are_refused(self, one: tuple[str, Shelf, IntakeReport]) -> None:
        """The account closes, no column is guessed at."""
        name, shelf, report = one
        slips = {text for facts in TRUTH[name]["parts"].values() for text in facts["slips"].values()}
        assert report.rows_read == report.rows_parts + report.rows_headings + report.rows_notes + report.rows_refused
        assert report.rows_parts == report.parts == report.offers == len(TRUTH[name]["parts"])
        assert (report.rows_refused, report.cells_refused) == (0, len(slips))
        assert {refusal["text"] for refusal in shelf.refused() if refusal["kind"] == "cell"} == slips
        assert all(refusal["reason"] for refusal in shelf.refused())
        assert [column.heading for column in report.columns if column.certainty == "guessed"] == []

    def test_every_stated_figure_is_in_and_no_other(self, one: tuple[str, Shelf, IntakeReport]) -> None:
        """P channel parts by their sizes, in SI units, empty where the list is empty."""
        name, shelf, _ = one
        parts = shelf.parts()
        assert parts.keys() == TRUTH[name]["parts"].keys()
        for number, facts in TRUTH[name]["parts"].items():
            told = {figure: facts.get(figure) for figure in FIGURES}
            assert shelf.apart(parts[number], told) == {}, number

    def test_on_resistances_stand_at_their_levels(self, one: tuple[str, Shelf, IntakeReport]) -> None:
        """Maxima with their gate voltage, typical figures apart; flagged where the list does not say which."""
        name, shelf, _ = one
        parts = shelf.parts()
        for number, facts in TRUTH[name]["parts"].items():
            part = parts[number]
            assert shelf.apart(part, at_levels(facts.get("rds_max", {}), "rds")) == {}, number
            assert shelf.apart(part, at_levels(facts.get("rds_typ", {}), "rds_typ")) == {}, number
            assert part["rds_from_v"] == min(facts.get("rds_max", {}), default=None)
            assert bool(part["rds_unmarked"]) == (name == SILENT and bool(facts["rds_max"])), number
            assert bool(part["id_unmarked"]) == (name == SILENT and "id_case_a" in facts), number

    def test_the_hot_exponent_is_that_of_the_parts_own_hot_figure(self, one: tuple[str, Shelf, IntakeReport]) -> None:
        """N of R(T) = R25·(T/298.15 K)^n, from the maxima at 10 V, 25 °C and 125 °C; solved here by logarithms."""
        name, shelf, _ = one
        parts = shelf.parts()
        for number, facts in TRUTH[name]["parts"].items():
            hot = facts.get("rds_hot")
            if hot is None:
                assert parts[number]["hot_exponent"] is None
                continue
            n = math.log(hot / facts["rds_max"][10.0]) / math.log((125 + 273.15) / 298.15)
            assert parts[number]["hot_exponent"] == pytest.approx(n, rel=1e-6), number

    def test_identity_and_outline(self, one: tuple[str, Shelf, IntakeReport]) -> None:
        """Maker, channel, and the package under its one name."""
        name, shelf, _ = one
        for number, part in shelf.parts().items():
            facts = TRUTH[name]["parts"][number]
            assert (part["maker"], part["channel"]) == (facts["maker"], facts["channel"])
            assert part["package"] == facts["package"], number
            assert part["package_rthja_k_per_w"] > 0

    def test_offers(self, one: tuple[str, Shelf, IntakeReport]) -> None:
        """Prices at their quantities, currency, stock, least quantity, order number, life cycle and delivery."""
        name, shelf, _ = one
        offers = {row["part_number"]: row for row in shelf.rows(
            "SELECT o.*, p.part_number FROM offers o JOIN parts_transistor p USING (part_key)")}  # fmt: skip
        for number, facts in TRUTH[name]["parts"].items():
            offer = offers[number]
            breaks = [(one["quantity"], one["price"]) for one in offer["breaks"] or []]
            assert breaks == [(n, pytest.approx(price)) for n, price in facts["breaks"]], number
            assert offer["unit_price"] == (pytest.approx(facts["breaks"][0][1]) if breaks else None)
            assert offer["currency"] == (TRUTH[name]["currency"] if breaks else offer["currency"])
            assert (offer["stock"], bool(offer["stock_at_least"])) == (facts["stock"], bool(facts.get("stock_text")))
            for what in ("order_number", "least_quantity", "life_cycle"):
                assert offer[what] == facts.get(what), (number, what)
            if facts.get("lead_time"):  # a list may say "on request" where there is none
                assert offer["lead_time"] == facts["lead_time"], number


def test_the_two_slips_are_refused_with_their_reason(shelves: Shelf, folder: Path) -> None:
    """345 nF and 12 MΩ are not what such a part can have; the rest of their rows is in."""
    shelf = shelves.another()
    (report,) = intake(shelf.path, [folder / "tidemill.xlsx"])
    slips = [
        (number, text) for number, facts in TRUTH["tidemill.xlsx"]["parts"].items() for text in facts["slips"].values()
    ]
    refused = {refusal["text"]: refusal for refusal in shelf.refused() if refusal["kind"] == "cell"}
    assert refused.keys() == {text for _, text in slips} == {"345 nF", "12 MΩ"}
    records = {
        row["part_number"]: row["record"] for row in shelf.rows("SELECT part_number, record FROM parts_transistor")
    }
    for number, text in slips:
        assert refused[text]["record"] == records[number]
        assert "outside" in refused[text]["reason"]
    assert report.cells_refused == 2


def test_all_lists_together_count_the_worse_figures(every: Shelf) -> None:
    """One row a part with all its offers, merged here by the plainest means."""
    claims: dict[str, list[dict[str, Any]]] = {}
    for told in TRUTH.values():
        for number, facts in told["parts"].items():
            claims.setdefault(number, []).append(facts)
    parts = every.parts()
    assert parts.keys() == claims.keys()
    counts = every.rows(
        "SELECT part_number, count(*) AS n FROM offers JOIN parts_transistor USING (part_key) GROUP BY ALL"
    )
    assert {row["part_number"]: row["n"] for row in counts} == {number: len(told) for number, told in claims.items()}
    for number, told in claims.items():
        for names, worse in ((WORSE_LOWER, min), (WORSE_HIGHER, max)):
            for name in names:
                given = [facts[name] for facts in told if facts.get(name) is not None]
                assert parts[number][name] == (pytest.approx(worse(given)) if given else None), (number, name)
        maxima: dict[float, float] = {}
        for facts in told:
            for volts, ohms in facts.get("rds_max", {}).items():
                maxima[volts] = max(ohms, maxima.get(volts, 0.0))
        assert every.apart(parts[number], at_levels(maxima, "rds")) == {}, number
        assert parts[number]["claims"] == len(told)


def test_the_summary_names_the_five_suppliers(every: Shelf) -> None:
    """By the files' names: the lists themselves have no column for it."""
    with Catalog.open(every.path) as catalog:
        assert {one["file"] for one in catalog.summary().lists} == set(TRUTH)
        assert catalog.summary().families[0]["offers"] == sum(len(told["parts"]) for told in TRUTH.values())
