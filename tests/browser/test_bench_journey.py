"""A measurement in a real browser: the verdict and the band as one types, into the board, and kept."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from browsing import BOARD, GREENHOUSE, address, dropped

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]
Site: TypeAlias = Callable[[Path], str]

PART = "BRQ33324-40L"


def fill(page: Any, **words: str) -> None:
    """Fill in fields by their labels."""
    for name, text in words.items():
        page.get_by_label(name.replace("_", " "), exact=True).fill(text)


def measure(page: Any, drop: str) -> None:
    """Type what the meter shows."""
    fill(page, part_number=PART, current="6.001A", gate="4.503V", pulse="300us", drop=drop)
    page.get_by_label("four wires").check()


def test_the_verdict_and_its_band_follow_as_one_types(new_page: NewPage, shared_site: str) -> None:
    """R = U/I by Ohm's law: outside what is claimed, then within, as the drop is typed anew; the address holds it."""
    page = new_page()
    page.goto(f"{shared_site}/bench")
    measure(page, "48.35mV")
    found = page.get_by_role("region", name=f"Measured: {PART}")
    expect(page.locator("#answer h2")).to_contain_text("outside")
    # 48.35 mV / 6.001 A = 8.057 mΩ; the part is a little warmer than 25 °C claims, or cooler: within 2 %.
    told = found.locator("tbody tr").first.locator("td").nth(1).inner_text()
    assert float(told.split()[0]) == pytest.approx(48.35 / 6.001, rel=0.02)
    expect(page.locator("#answer svg.picture")).to_be_visible()
    fill(page, drop="38.0mV")
    expect(page.locator("#answer h2")).to_contain_text("within")
    expect(page.get_by_role("status").filter(has_text=PART)).to_have_count(1)
    told = found.locator("tbody tr").first.locator("td").nth(1).inner_text()
    page.reload()
    expect(page.locator("#answer h2")).to_contain_text("within")
    assert found.locator("tbody tr").first.locator("td").nth(1).inner_text() == told


def test_a_reading_without_its_unit_is_said_while_one_types(new_page: NewPage, shared_site: str) -> None:
    """And no longer once it is right."""
    page = new_page()
    page.goto(f"{shared_site}/bench")
    measure(page, "48.35")
    expect(page.locator("#answer").get_by_role("alert")).to_be_visible()
    fill(page, drop="48.35mV")
    expect(page.locator("#answer").get_by_role("alert")).to_have_count(0)
    expect(page.locator("#answer h2")).to_contain_text("outside")


def test_what_was_measured_goes_into_the_board(new_page: NewPage, shared_site: str) -> None:
    """The board is then judged by it."""
    page = new_page()
    page.goto(shared_site + address("/board", board=BOARD))
    page.get_by_role("link", name="Bench", exact=True).click()
    measure(page, "48.35mV")
    page.get_by_label("which transistor it is").select_option("mat B: Q2")
    page.get_by_role("button", name="into the board").click()
    expect(page.get_by_text("The board now says that mat B: Q2 measures")).to_be_visible()
    page.get_by_role("link", name="See what that does to it").click()
    page.locator("summary", has_text="mat B").click()
    page.get_by_role("button", name="Edit Q2", exact=True).click()
    expect(page.get_by_label("measured on resistance", exact=True)).to_have_value(re.compile(r"8\.4\d*mohm"))


def test_what_was_measured_is_kept_in_the_catalogue(new_page: NewPage, site: Site, own: Path) -> None:
    """By a button, once; the Catalogue page lists it."""
    page = new_page()
    page.goto(f"{site(own)}/bench")
    measure(page, "48.35mV")
    page.get_by_label("who sold it").fill("ninefold")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("kept in the catalogue")).to_be_visible()
    page.get_by_role("link", name="Catalogue", exact=True).click()
    expect(page.get_by_role("region", name="Samples that were measured, by part and supplier")).to_contain_text(PART)


def test_several_samples_are_dropped_as_a_table(new_page: NewPage, shared_site: str) -> None:
    """Each has its verdict; how they lie together is drawn."""
    page = new_page()
    page.goto(f"{shared_site}/bench")
    fill(page, part_number=PART)
    dropped(page, "[data-drop]", [GREENHOUSE / "received" / "samples.csv"])
    expect(page.get_by_text("This result is of a file that was sent.")).to_be_visible()
    expect(page.locator("#answer svg.picture").first).to_be_visible()


def test_what_a_load_draws_follows(new_page: NewPage, shared_site: str) -> None:
    """12 V over it at 7.5 A, by four wires, are 1.6 Ω: Ohm's law."""
    page = new_page()
    page.goto(f"{shared_site}/bench/load")
    page.get_by_label("four wires").check()
    fill(page, drop="12.00V", current="7.50A", marked="1.6ohm")
    expect(page.locator("#answer h2")).to_contain_text("within")
    told = page.get_by_role("region", name="Measured: a load").locator("tbody td").nth(1)
    assert float(told.inner_text().split()[0]) == pytest.approx(1.6, rel=0.005)
