"""A board in a real browser: begun, opened, its path edited, its weakest link replaced, and the next one seen."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from browsing import BOARD, GREENHOUSE, address, dropped

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]


def button(page: Any, name: str) -> Any:
    """Return a button by all of its name."""
    return page.get_by_role("button", name=name, exact=True)


def fill(page: Any, **words: str) -> None:
    """Fill in fields by their labels."""
    for name, text in words.items():
        page.get_by_label(name.replace("_", " "), exact=True).first.fill(text)


def path(page: Any, output: str) -> Any:
    """Return the picture of an output's path."""
    return page.get_by_role("list", name=f"Path of {output}, from the supply to the load")


def expect_links(page: Any, output: str, *names: str) -> None:
    """Wait until the path has these links, in the order in which the current meets them."""
    steps = path(page, output).locator("> li:not(.end) .who")
    expect(steps).to_have_text([re.compile(rf"^\s*{re.escape(name)}\s+\w+(,|\s*$)") for name in names])


def name_of(step: Any) -> str:
    """Return a link's name as it stands in the picture, without what it is; styles may still be on their way."""
    return str(step.evaluate("step => step.firstChild.textContent.trim()"))


def saved(page: Any, folder: Path) -> dict[str, Any]:
    """Save the board's file, and read it."""
    with page.expect_download() as coming:
        button(page, "Save its file").click()
    place = folder / "saved.toml"
    coming.value.save_as(place)
    return tomllib.loads(place.read_text("utf-8"))


def test_a_board_is_built_from_nothing(new_page: NewPage, shared_site: str, tmp_path: Path) -> None:
    """Supply, an output with its path begun, figures for the links, parts from the catalogue; then its file."""
    page = new_page()
    page.goto(f"{shared_site}/board")
    fill(page, title="Seedling table", voltage="12V", ambient="40degC")
    button(page, "Begin").click()
    expect(page.get_by_text("It has no output yet")).to_be_visible()
    button(page, "Add an output").first.click()
    fill(page, name="heater", power="60W", length_of_its_lead="4m")
    page.get_by_label("kind", exact=True).select_option("resistive")
    button(page, "Put it in").click()
    missing = page.get_by_role("note").filter(has_text="Still to be said, or chosen")
    expect(missing).to_be_visible()
    # 60 W on 12 V are 5 A: the definition of power.
    expect(path(page, "heater").locator("li.end").last).to_contain_text("5 A at worst")
    for left in ("heater fuse", "heater switch", "heater terminal", "heater lead"):
        expect(missing).to_contain_text(left)
        button(page, f"Choose {left} from the catalogue").click()
        page.get_by_role("button", name=re.compile("^Put .* in its place$")).first.click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Seedling table")
        expect(page.locator("#answer")).not_to_contain_text(f"{left} fill it in")
    expect(missing).to_have_count(0)
    expect(path(page, "heater").locator(".verdict-carries")).to_have_count(4)
    kept = saved(page, tmp_path)
    assert kept["title"] == "Seedling table"
    assert [one["kind"] for one in kept["output"][0]["link"]] == ["fuse", "transistor", "connector", "wire"]
    assert all(one["part"] for one in kept["output"][0]["link"])


@pytest.mark.parametrize("how", ["dropped", "chosen"])
def test_a_board_file_is_opened(new_page: NewPage, shared_site: str, tmp_path: Path, how: str) -> None:
    """Its weakest link and the limits of its outputs are there; saved again, it is as it was."""
    page = new_page()
    page.goto(f"{shared_site}/board")
    if how == "dropped":
        dropped(page, "[data-drop]", [GREENHOUSE / "board.toml"])
    else:
        page.locator("#file").set_input_files(GREENHOUSE / "board.toml")
    expect(page.get_by_role("heading", level=1)).to_have_text("Propagation bench controller")
    expect(path(page, "mat A").locator(".weakest .who")).to_contain_text("inlet terminal")
    limits = page.get_by_role("region", name="Limits of every output")
    expect(limits.locator("tbody th")).to_have_text(["mat A", "mat B", "pump", "LED strips"])
    assert saved(page, tmp_path) == tomllib.loads(BOARD)


def test_the_weakest_link_is_replaced_and_the_next_one_shows(new_page: NewPage, shared_site: str) -> None:
    """Link by link from its picture, until the output carries; Back undoes each."""
    page = new_page()
    page.goto(shared_site + address("/board", board=BOARD))
    weakest = path(page, "mat A").locator(".weakest .who")
    seen = []
    for _ in range(3):
        seen.append(name_of(weakest))
        # Of copper, what helps is no part of a list.
        what = re.compile(rf"^(Choose a part for|What helps) {re.escape(seen[-1])}$")
        page.get_by_role("button", name=what).click()
        page.get_by_role("button", name=re.compile("^(Put .* in its place|Do that)$")).first.click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Propagation bench controller")
        expect(weakest).not_to_contain_text(seen[-1])
    assert seen[:2] == ["inlet terminal", "Q1"]
    assert len(set(seen)) == 3
    page.go_back()
    page.go_back()
    expect(weakest).to_contain_text(seen[-1])


def test_all_that_falls_short_is_mended_at_once_and_goes_to_the_order(new_page: NewPage, shared_site: str) -> None:
    """What would be done is said first; nothing is changed until it is confirmed."""
    page = new_page()
    page.goto(shared_site + address("/board", board=BOARD))
    button(page, "Choose parts for what falls short").click()
    expect(page.get_by_text("Nothing is changed until you say so.")).to_be_visible()
    add = page.get_by_role("button", name=re.compile("^Add .* to the order$")).first
    number = re.fullmatch(r"Add (\S+) for .* to the order", add.get_attribute("aria-label"))
    add.click()
    expect(page.locator(".lines .who b")).to_have_text([number[1]] if number else [])
    page.get_by_role("link", name="Board", exact=True).click()
    expect(path(page, "mat A").locator(".verdict-falls-short").first).to_be_visible()
    button(page, "Choose parts for what falls short").click()
    button(page, "Put all of it into the board").click()
    expect(path(page, "mat A")).to_be_visible()
    expect(path(page, "mat A").locator(".verdict-falls-short")).to_have_count(0)


def test_the_path_is_edited_in_its_picture(new_page: NewPage, shared_site: str, tmp_path: Path) -> None:
    """A figure is changed, a link added, moved and taken away; the file says so; Back undoes."""
    page = new_page()
    page.goto(shared_site + address("/board", board=BOARD))
    shared = ["inlet terminal", "main fuse", "supply rail"]
    expect_links(page, "mat A", *shared, "mat A copper", "Q1", "mat A terminal", "mat A lead")
    button(page, "Edit Q1").click()
    fill(page, measured_on_resistance="4mohm")
    button(page, "Keep it").click()
    expect(path(page, "mat A").locator("li", has_text="Q1").locator(".verdict-carries")).to_be_visible()
    button(page, "Add a link after Q1").click()
    page.get_by_role("button", name=re.compile("fuse", re.IGNORECASE)).click()
    fill(page, name="mat A fuse", rating="10A")
    page.get_by_label("type", exact=True).select_option("one-shot")
    button(page, "Put it in").click()
    expect_links(page, "mat A", *shared, "mat A copper", "Q1", "mat A fuse", "mat A terminal", "mat A lead")
    button(page, "Move mat A fuse towards the supply").click()
    expect(path(page, "mat A").locator("> li").nth(5)).to_contain_text("mat A fuse")
    button(page, "Take mat A lead away").click()
    expect(path(page, "mat A")).not_to_contain_text("mat A lead")
    expect_links(page, "mat A", *shared, "mat A copper", "mat A fuse", "Q1", "mat A terminal")
    kept = saved(page, tmp_path)["output"][0]["link"]
    assert [one.get("name") for one in kept] == ["mat A copper", "mat A fuse", "Q1", "mat A terminal"]
    assert kept[2]["measured_on_resistance"] == "4mohm"
    page.go_back()
    expect(path(page, "mat A")).to_contain_text("mat A lead")


def test_another_supply_is_looked_at_as_one_types(new_page: NewPage, shared_site: str) -> None:
    """The board stays on its own; a voltage without a unit is said."""
    page = new_page()
    page.goto(shared_site + address("/board", board=BOARD))
    supply = page.get_by_label("And on another supply?")
    supply.fill("24")
    expect(page.get_by_role("alert")).to_be_visible()
    supply.fill("24V")
    expect(page.get_by_role("heading", name="On 24V")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    assert "supply=24V" in page.url
    supply.fill("")
    expect(page.get_by_role("heading", name="On 24V")).to_have_count(0)


def test_a_wrong_figure_is_said_at_its_field(new_page: NewPage, shared_site: str) -> None:
    """Nothing that was typed is lost; the way to the field stands in what is said."""
    page = new_page(may_say="status of 400")
    page.goto(shared_site + address("/board/edit", board=BOARD, where="output[1].link[2]"))
    fill(page, on_resistance="twenty", drive="3V3")
    button(page, "Keep it").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("It is not put in yet.")
    alert.get_by_role("link", name="on resistance").click()
    expect(page.get_by_label("on resistance", exact=True)).to_have_attribute("aria-invalid", "true")
    assert page.get_by_label("drive", exact=True).input_value() == "3V3"


def test_the_card_for_the_lid_is_printed_in_one_piece(new_page: NewPage, shared_site: str) -> None:
    """On one page of A4, without the ways through the pages."""
    page = new_page()
    page.goto(shared_site + address("/board/card", board=BOARD))
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    page.emulate_media(media="print")
    expect(page.locator(".card")).to_be_visible()
    expect(page.get_by_role("navigation", name="Pages")).to_be_hidden()
