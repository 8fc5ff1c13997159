"""The pages where no script runs: forms are sent, links are followed, and everything can be done."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from browsing import BOARD, GREENHOUSE, NEED, address

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]
Site: TypeAlias = Callable[[Path], str]


def button(page: Any, name: str) -> Any:
    """Return a button by all of its name."""
    return page.get_by_role("button", name=name, exact=True)


def test_a_need_is_sent_sorted_compared_and_opened(new_page: NewPage, shared_site: str) -> None:
    """By its button and its links; the picture is a link away."""
    page = new_page(script=False)
    page.goto(f"{shared_site}/need/transistor")
    for name, words in NEED.items():
        page.get_by_label(name, exact=True).fill(words)
    button(page, "Find parts").click()
    expect(page.locator("#parts")).to_have_text("36 of 270 parts fit")
    page.get_by_role("link", name="VDS", exact=True).click()
    expect(page.locator("th[aria-sort]")).to_contain_text("VDS")
    for _ in range(2):
        page.get_by_role("link", name=re.compile("^Pin ")).first.click()
    expect(page.locator(".side thead th")).to_have_count(3)
    button(page, "Find parts").click()  # what is pinned and sorted goes along
    expect(page.locator(".side thead th")).to_have_count(3)
    expect(page.locator("th[aria-sort]")).to_contain_text("VDS")
    page.locator("a.figure-link").first.click()
    expect(page.locator("#figure")).to_be_visible()
    page.go_back()
    page.get_by_role("link", name="The picture of the first of them").click()
    expect(page.locator("svg.picture").first).to_be_visible()


def test_a_board_is_opened_edited_and_mended(new_page: NewPage, shared_site: str) -> None:
    """And looked at on another supply."""
    page = new_page(script=False)
    page.goto(f"{shared_site}/board")
    page.locator("#file").set_input_files(GREENHOUSE / "board.toml")
    button(page, "Open it").click()
    button(page, "Edit Q1").click()
    page.get_by_label("measured on resistance", exact=True).fill("4mohm")
    button(page, "Keep it").click()
    steps = page.get_by_role("list", name="Path of mat A, from the supply to the load").locator("> li")
    expect(steps.filter(has_text="Q1").locator(".verdict")).to_have_text("carries")
    button(page, "Choose a part for inlet terminal").click()
    page.get_by_role("button", name=re.compile("^Put .* in its place$")).first.click()
    expect(steps.filter(has_text="inlet terminal").locator(".verdict")).to_have_text("carries")
    page.get_by_label("And on another supply?").fill("24V")
    button(page, "Look").click()
    expect(page.get_by_role("heading", name="On 24V")).to_be_visible()


def test_an_order_grows_and_is_planned(new_page: NewPage, shared_site: str, tmp_path: Path) -> None:
    """Its plan is a link away, and its files one more."""
    page = new_page(script=False)
    page.goto(shared_site + address("/need/transistor", **NEED))
    page.get_by_role("button", name=re.compile("^Add .* to the order$")).first.click()
    page.wait_for_load_state()
    number = page.locator(".lines .who b").inner_text()
    field = page.get_by_label(f"pieces of {number} for one board", exact=True)
    field.fill("4")
    field.press("Enter")
    expect(field).to_have_value("4")
    button(page, f"One less: pieces of {number} for one board").click()
    expect(field).to_have_value("3")
    page.get_by_role("link", name="Plan it").click()
    expect(page.get_by_role("region", name=re.compile("^To buy from "))).to_contain_text(number)
    with page.expect_download() as coming:
        page.get_by_role("link", name="CSV", exact=True).click()
    coming.value.save_as(tmp_path / "plan.csv")
    with (tmp_path / "plan.csv").open(encoding="utf-8-sig", newline="") as file:
        assert [(row["part_number"], row["pieces"]) for row in csv.DictReader(file)] == [(number, "3")]
    page.get_by_role("link", name="Back to the list").click()
    expect(field).to_have_value("3")


def test_a_measurement_is_sent(new_page: NewPage, shared_site: str) -> None:
    """By its button."""
    page = new_page(script=False)
    page.goto(shared_site + address("/bench", board=BOARD))
    for name, words in {"part number": "BRQ33324-40L", "drop": "48.35mV", "current": "6.001A", "gate": "4.5V"}.items():
        page.get_by_label(name, exact=True).fill(words)
    button(page, "See what it says").click()
    expect(page.locator("#answer .verdict").first).to_be_visible()
    page.get_by_role("link", name="Its picture").click()
    expect(page.locator("svg.picture")).to_be_visible()


def test_a_list_is_looked_at_and_taken_in(new_page: NewPage, site: Site, tmp_path: Path) -> None:
    """The page that waits asks again by itself."""
    page = new_page(script=False)
    page.goto(f"{site(tmp_path / 'catalog.duckdb')}/catalog")
    page.locator("#file").set_input_files(GREENHOUSE / "sparrowgate-fuses.txt")
    button(page, "Look at it").click()
    expect(page.get_by_text("Nothing of it is in the catalogue yet.")).to_be_visible()
    button(page, "Take it in").first.click()
    expect(page.get_by_text("It is in.")).to_be_visible()
    expect(page.get_by_role("region", name="Lists", exact=True)).to_contain_text("sparrowgate-fuses.txt")
