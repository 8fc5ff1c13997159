"""The whole way in a real browser: from suppliers' lists dropped on an empty catalogue to a plan in the hand."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from browsing import GREENHOUSE, NEED, address, dropped

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]
Site: TypeAlias = Callable[[Path], str]

#: Of these one has columns that are guessed, and one has cells that are refused.
LISTS = [GREENHOUSE / name for name in ("thistledown-terminals.csv", "rabenmoos.csv", "tidemill.xlsx")]
#: What stands in each line of a plan's table and of its files alike.
ALIKE = ("pieces", "part number", "order number", "maker", "each", "comes to")
COLUMNS = ("pieces", "part_number", "order_number", "maker", "unit_price", "amount")


def rows(region: Any) -> list[dict[str, str]]:
    """Return a table's rows by its headings."""
    heads = [" ".join(one.split()) for one in region.locator("thead th").all_inner_texts()]
    return [
        dict(zip(heads, (one.strip() for one in line.locator("th, td").all_inner_texts()), strict=True))
        for line in region.locator("tbody tr").all()
    ]


def pull(page: Any, name: str, folder: Path) -> Path:
    """Click on a file of the plan, and keep it."""
    with page.expect_download() as coming:
        page.get_by_role("link", name=name, exact=True).click()
    place = folder / str(coming.value.suggested_filename)
    coming.value.save_as(place)
    return place


def take_in(page: Any, address: str) -> None:
    """Drop the lists, correct a column, see what is refused, and confirm."""
    page.goto(f"{address}/catalog")
    expect(page.get_by_text("There is no catalogue yet.")).to_be_visible()
    dropped(page, "[data-drop]", LISTS)
    expect(page.get_by_role("heading", level=1)).to_have_text("What was found in these lists")
    found = page.get_by_role("region", name="Lists that were dropped")
    expect(found.locator("tbody tr")).to_have_count(3)
    # What was guessed is shown first; one of its columns is read as something else than it holds.
    expect(page.get_by_role("heading", level=2)).to_have_text("thistledown-terminals.csv")
    guessed = page.locator(".column.how-guessed")
    expect(guessed).to_have_count(5)
    first = guessed.first
    expect(first.locator("h4")).to_have_text("Current at 20 °C (A)")
    first.locator("select").first.select_option("nothing")
    page.get_by_role("button", name="Read it again so").last.click()
    expect(page.get_by_role("status").filter(has_text="What your correction changed")).to_contain_text(
        "Current at 20 °C (A): rated current, 20 °C, A → not read"
    )
    expect(page.locator(".column.how-said-by-you h4")).to_have_text("Current at 20 °C (A)")
    # Cells that are refused say why; the corrected list is still the one that was corrected.
    found.get_by_role("link", name="tidemill.xlsx").click()
    refused = page.get_by_role("region", name="Refused cells and rows, and lines beside the table")
    assert len(rows(refused)) == 2
    assert all(row["why it was refused"] for row in rows(refused))
    page.get_by_role("button", name="Take them in").first.click()
    expect(page.get_by_text("It is in.")).to_be_visible()
    page.wait_for_load_state()
    lists = page.get_by_role("region", name="Lists", exact=True)
    assert sorted(row["list"] for row in rows(lists)) == [
        "rabenmoos.csv",
        "thistledown-terminals.csv",
        "tidemill.xlsx, Power MOSFETs",
    ]


def test_from_dropped_lists_to_a_downloaded_plan(new_page: NewPage, site: Site, tmp_path: Path) -> None:
    """Nothing enters before it is confirmed; two needs; the order; its plan on the page, as CSV, as xlsx, as print."""
    import openpyxl

    page = new_page()
    place = tmp_path / "catalog.duckdb"
    start = site(place)
    take_in(page, start)
    chosen = []
    for family, need in (("transistor", NEED), ("connector", {"supply": "12V", "current": "8A", "pitch": "5.08mm"})):
        page.get_by_role("link", name="Need", exact=True).click()
        page.get_by_role("navigation", name="Kinds of part").get_by_role("link", name=family).click()
        for name, words in need.items():
            page.get_by_label(name, exact=True).fill(words)
        expect(page.locator("#parts")).to_contain_text("parts fit")
        expect(page.locator("#answer")).not_to_have_class(re.compile("busy"))
        add = page.get_by_role("button", name=re.compile("^Add .* to the order$")).first
        chosen.append(add.get_attribute("aria-label").split()[1])
        add.click()
        expect(page.locator(".lines > li")).to_have_count(len(chosen))
    expect(page.locator(".lines .who b")).to_have_text(chosen)
    page.get_by_role("button", name="One more: boards to be built").click()
    expect(page.get_by_label("boards to be built", exact=True)).to_have_value("2")
    page.get_by_role("button", name=f"One more: pieces of {chosen[1]} for one board").click()
    expect(page.locator(".lines .all")).to_have_text(["2 in all", "4 in all"])
    tables = page.get_by_role("region", name=re.compile("^To buy from "))
    expect(tables.first).to_be_visible()
    page.wait_for_load_state()
    told = [row for one in tables.all() for row in rows(one)]
    assert {row["part number"]: float(row["pieces"]) for row in told} == {chosen[0]: 2, chosen[1]: 4}
    for row in told:  # a sum is the pieces times the price of one, to half a cent
        assert float(row["comes to"]) == pytest.approx(float(row["pieces"]) * float(row["each"]), abs=0.005)
    lead = page.locator("#plan .lead").inner_text()
    total = sum(float(row["comes to"]) for row in told)
    assert float(re.search(r"([\d.]+) EUR in all", lead)[1]) == pytest.approx(total, abs=0.011)  # type: ignore[index]

    said = [[row[one] for one in ALIKE] for row in told]
    with pull(page, "CSV", tmp_path).open(encoding="utf-8-sig", newline="") as file:
        listed = [[row[one] for one in COLUMNS] for row in csv.DictReader(file)]
    assert _as_numbers(listed) == _as_numbers(said)
    book = openpyxl.load_workbook(pull(page, "xlsx", tmp_path), read_only=True)
    head, *lines = book["buy"].iter_rows(values_only=True)
    book.close()
    assert _as_numbers([[line[head.index(one)] for one in COLUMNS] for line in lines]) == _as_numbers(said)
    printed = page.pdf(prefer_css_page_size=True)
    assert printed.startswith(b"%PDF")
    assert "window.print" not in page.content()
    page.goto(page.url)  # the address holds all of it
    expect(page.locator(".lines .who b")).to_have_text(chosen)


def _as_numbers(lines: list[list[Any]]) -> list[list[Any]]:
    """Return lines in an order of their own, prices as numbers to what three digits say."""
    return sorted(
        [
            int(line[0]),
            *(str(one or "–") for one in line[1:4]),
            *(pytest.approx(float(one), rel=5e-3) for one in line[4:]),
        ]
        for line in lines
    )


@pytest.mark.parametrize("script", [True, False])
def test_a_page_that_waits_asks_again_until_it_is_read(
    new_page: NewPage, site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: bool
) -> None:
    """At first, and after a correction, which leads to a place within the page."""
    monkeypatch.setattr("loadworthy.web.catalog_page._PATIENCE_S", 0.0)
    page = new_page(script=script)
    page.goto(f"{site(tmp_path / 'catalog.duckdb')}/catalog")
    page.locator("#file").set_input_files(LISTS[0])
    if not script:
        page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("is being read")
    expect(page.get_by_role("heading", level=1)).to_have_text(f"What was found in {LISTS[0].name}")
    page.locator(".column.how-guessed select").first.select_option("nothing")
    page.get_by_role("button", name="Read it again so").last.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("is being read")
    expect(page.get_by_text("What your correction changed")).to_be_in_viewport()


def test_the_print_button_prints(new_page: NewPage, shared_site: str) -> None:
    """It is there where a script runs, and calls for the browser's own."""
    page = new_page()
    page.add_init_script("window.print = () => { document.title = 'printed' }")
    page.goto(shared_site + address("/board/card", board=(GREENHOUSE / "board.toml").read_text("utf-8")))
    page.get_by_role("button", name="Print it").click()
    expect(page).to_have_title("printed")


def test_what_is_discarded_never_enters(new_page: NewPage, site: Site, tmp_path: Path) -> None:
    """The file's place stays empty."""
    page = new_page()
    place = tmp_path / "catalog.duckdb"
    page.goto(f"{site(place)}/catalog")
    page.locator("#file").set_input_files(LISTS[0])
    expect(page.get_by_text("Nothing of it is in the catalogue yet.")).to_be_visible()
    page.get_by_role("button", name="Discard").click()
    expect(page.get_by_text("There is no catalogue yet.")).to_be_visible()
    assert not place.exists()


def test_a_file_that_is_dropped_beside_its_place_does_not_replace_the_page(new_page: NewPage, shared_site: str) -> None:
    """It goes nowhere."""
    page = new_page()
    page.goto(f"{shared_site}/catalog")
    stopped = page.locator("h1").evaluate(
        """one => {
            const carried = new DataTransfer();
            carried.items.add(new File(["a"], "a.csv"));
            const drop = new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: carried });
            return !one.dispatchEvent(drop);
        }"""
    )
    assert stopped
