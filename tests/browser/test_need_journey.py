"""A need in a real browser: typed, answered as one types, sorted, compared, opened to its arithmetic, bookmarked."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeAlias

import pytest
from browsing import NEED, address

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]

PATH = "/need/transistor"
LIST = "Parts that fit"
#: What a figure opens to where its arithmetic stands: a law, and the law with the numbers put in.
WORKED = "#figure + dl.worked dt + dd"


def table(page: Any, called: str) -> Any:
    """Return the region of a table by what it is called."""
    return page.get_by_role("region", name=called, exact=True)


def column(page: Any, heading: str) -> list[str]:
    """Return the texts of a column of the list, from the top."""
    heads = [" ".join(one.split()) for one in table(page, LIST).locator("thead th").all_inner_texts()]
    place = next(number for number, one in enumerate(heads, 1) if one.startswith(heading))
    return list(table(page, LIST).locator(f"tbody tr > :nth-child({place})").all_inner_texts())


def numbers(texts: list[str]) -> list[float]:
    """Return texts as numbers, those that are none left out."""
    return [float(one) for one in texts if re.fullmatch(r"[\d.e+-]+", one)]


def held_back(page: Any, address: str) -> list[Any]:
    """Hold back what the page asks for by an address that matches, until it is let go on: what is held, as it comes."""
    held: list[Any] = []

    def hold(
        route: Any,
    ) -> None:  # a plain function: what stands behind a list's own method cannot be kept by the driver
        held.append(route)

    page.route(re.compile(address), hold)
    return held


def open_need(page: Any, site: str, **more: Any) -> None:
    """Open a need with its parts, and wait for all that follows."""
    page.goto(site + address(PATH, **NEED, **more))
    expect(page.locator("#answer svg.picture").first).to_be_visible()


def test_of_a_load_the_rest_follows_as_one_is_typed(new_page: NewPage, shared_site: str) -> None:
    """Resistance, power and current: Ohm's law and the definition of power; the one typed last counts."""
    page = new_page()
    page.goto(shared_site + PATH)
    ohms, watts, amperes = (page.get_by_label(name, exact=True) for name in ("resistance", "power", "current"))
    page.get_by_label("supply", exact=True).fill("12V")
    ohms.fill("1.6ohm")
    expect(amperes).to_have_attribute("placeholder", "7.5 A")
    expect(watts).to_have_attribute("placeholder", "90 W")
    amperes.fill("5A")
    expect(ohms).to_have_attribute("placeholder", "2.4 Ω")
    expect(watts).to_have_attribute("placeholder", "60 W")
    watts.fill("24W")
    expect(ohms).to_have_attribute("placeholder", "6 Ω")
    expect(amperes).to_have_attribute("placeholder", "2 A")
    assert [ohms.input_value(), amperes.input_value()] == ["", ""]


def test_list_picture_and_near_misses_follow_without_a_button(new_page: NewPage, shared_site: str) -> None:
    """Each letter changes the answer; it says how many fit to those who hear it; the address holds the need."""
    page = new_page()
    page.goto(shared_site + PATH)
    expect(page.get_by_text("Say the supply and one of")).to_be_visible()
    for name, words in NEED.items():
        page.get_by_label(name, exact=True).fill(words)
    expect(page.locator("#parts")).to_have_text("36 of 270 parts fit")
    expect(page.get_by_role("status").filter(has_text="36 of 270 parts fit")).to_have_count(1)
    expect(table(page, LIST).locator("tbody tr")).to_have_count(20)
    expect(page.locator("#answer svg.picture").first).to_be_visible()
    expect(table(page, "One step short").locator("tbody tr")).to_have_count(5)
    expect(table(page, "What stopped the rest, each part counted once")).to_be_visible()
    was = column(page, "part number")
    assert was
    page.goto(page.url)
    assert column(page, "part number") == was
    assert page.get_by_label("resistance", exact=True).input_value() == "1.6ohm"


def test_what_is_wrong_is_said_while_one_types_and_goes_when_it_is_right(new_page: NewPage, shared_site: str) -> None:
    """The field keeps what was typed."""
    page = new_page()
    page.goto(shared_site + PATH)
    supply = page.get_by_label("supply", exact=True)
    supply.fill("12")
    page.get_by_label("resistance", exact=True).fill("1.6ohm")
    expect(page.get_by_role("alert")).to_contain_text("12")
    assert supply.input_value() == "12"
    supply.fill("12V")
    expect(page.get_by_role("alert")).to_have_count(0)
    expect(page.locator("#parts")).to_contain_text("parts fit")


def test_the_list_is_sorted_by_its_headings(new_page: NewPage, shared_site: str) -> None:
    """The best first; by rank again; Back undoes; the address holds it."""
    page = new_page()
    open_need(page, shared_site)
    ranked = column(page, "part number")
    table(page, LIST).get_by_role("link", name="VDS", exact=True).click()
    expect(table(page, LIST).locator("th[aria-sort]")).to_contain_text("VDS")
    volts = numbers(column(page, "VDS"))
    assert volts == sorted(volts)
    assert column(page, "part number") != ranked
    assert sorted(column(page, "part number")) == sorted(ranked)
    page.reload()
    assert numbers(column(page, "VDS")) == volts
    table(page, LIST).get_by_role("link", name="rank").click()
    expect(table(page, LIST).locator("th[aria-sort]")).to_have_count(0)
    assert column(page, "part number") == ranked
    page.go_back()
    expect(table(page, LIST).locator("th[aria-sort]")).to_contain_text("VDS")


def test_two_or_three_parts_stand_side_by_side(new_page: NewPage, shared_site: str) -> None:
    """No fourth; they stay while the need changes; one is taken out; Back brings it again."""
    page = new_page()
    open_need(page, shared_site)
    first = column(page, "part number")[:3]
    side = table(page, "Pinned parts side by side")
    for number, part in enumerate(first, 1):
        page.get_by_role("link", name=f"Pin {part} for comparison").click()
        expect(side.locator("thead th")).to_have_count(number + 1)
    assert page.get_by_role("link", name=re.compile("^Pin ")).count() == 0
    heads = side.locator("thead th").all_inner_texts()[1:]
    assert [one.split()[0] for one in heads] == first
    losses = numbers(side.locator("tr", has_text="loss when on").locator("td").all_inner_texts())
    assert losses == numbers(column(page, "loss when on"))[:3]
    page.get_by_label("ambient", exact=True).fill("60degC")
    expect(page.locator("#answer")).to_contain_text("ambient 60 °C")
    expect(side.locator("thead th")).to_have_count(4)
    side.get_by_role("link", name=f"Take {first[1]} out of the comparison").click()
    expect(side.locator("thead th")).to_have_count(3)
    page.go_back()
    expect(side.locator("thead th")).to_have_count(4)


def test_every_figure_of_a_part_opens(new_page: NewPage, shared_site: str) -> None:
    """To what it is of that part; those that are worked out to the law with the numbers put in, and its source."""
    page = new_page()
    open_need(page, shared_site)
    row = table(page, LIST).locator("tbody tr").first
    number = column(page, "part number")[0]
    sheet = page.get_by_role("dialog", name="Details")
    worked = 0
    for place in range(row.locator("a.figure-link").count()):
        row.locator("a.figure-link").nth(place).click()
        expect(sheet.locator("h2")).to_have_text(number)
        expect(sheet.locator("#figure")).to_be_visible()
        if sheet.locator(WORKED).count():
            worked += 1
            assert sheet.locator(f"{WORKED} + dd.soft").first.inner_text()
        sheet.get_by_role("button", name="Close").click()
        expect(sheet).to_be_hidden()
    assert worked >= 4


def test_the_heat_of_every_part_is_that_of_joules_law(new_page: NewPage, shared_site: str) -> None:
    """P = I²·R at the junction's temperature, from the figures of the table: to what three digits leave open."""
    page = new_page()
    open_need(page, shared_site)
    watts, milliohms = numbers(column(page, "loss when on")), numbers(column(page, "RDS(on) hot"))
    assert len(watts) == len(milliohms) == 20
    assert watts == pytest.approx([7.5**2 * one / 1000 for one in milliohms], rel=0.006)


def test_a_part_opens_from_its_number_and_in_a_page_of_its_own(new_page: NewPage, shared_site: str) -> None:
    """The same, with an address of its own, for those who open it beside."""
    page = new_page()
    open_need(page, shared_site)
    number = column(page, "part number")[0]
    link = table(page, LIST).get_by_role("link", name=number, exact=True)
    link.click()
    expect(page.get_by_role("dialog", name="Details").get_by_text("Each criterion")).to_be_visible()
    told = page.locator(".sheet-body").inner_text()
    page.goto(shared_site + str(link.get_attribute("href")))
    assert page.get_by_role("heading", level=2).first.inner_text() == number
    assert " ".join(told.split()) in " ".join(page.locator("main").inner_text().split())


def test_a_part_goes_to_the_order(new_page: NewPage, shared_site: str) -> None:
    """With its family and maker; a second one joins it."""
    page = new_page()
    open_need(page, shared_site)
    numbers_ = column(page, "part number")[:2]
    page.get_by_role("button", name=f"Add {numbers_[0]} to the order").click()
    expect(page.locator(".lines > li")).to_have_count(1)
    page.get_by_role("link", name="Need", exact=True).click()
    for name, words in NEED.items():
        page.get_by_label(name, exact=True).fill(words)
    page.get_by_role("button", name=f"Add {numbers_[1]} to the order").click()
    expect(page.locator(".lines > li")).to_have_count(2)
    expect(page.locator(".lines .who b")).to_have_text(numbers_)


def test_a_way_within_the_page_does_not_load_it_anew(new_page: NewPage, shared_site: str) -> None:
    """Nor does the way back: what is typed into a form that was not sent stays."""
    page = new_page()
    open_need(page, shared_site)
    page.evaluate("window.still = 'there'")
    page.get_by_role("link", name="What to mind before you work on it").click()
    page.go_back()
    expect(page).not_to_have_url(re.compile("#"))
    assert page.evaluate("window.still") == "there"


def test_a_slow_answer_does_not_come_over_a_later_one(new_page: NewPage, shared_site: str) -> None:
    """What was typed last is what is shown, whichever answer comes first."""
    page = new_page()
    held = held_back(page, r"current=1A(&|$)")
    page.goto(shared_site + PATH)
    page.get_by_label("supply", exact=True).fill("12V")
    expect(page.locator("#answer")).not_to_have_attribute("aria-busy", "true")
    current = page.get_by_label("current", exact=True)
    with page.expect_request(re.compile(r"current=1A(&|$)")):
        current.fill("1A")
    expect(page.locator("#answer")).to_have_attribute("aria-busy", "true")
    current.fill("10A")
    expect(page.locator("#answer")).to_contain_text("current 10 A")
    assert len(held) == 1
    held[0].continue_()
    expect(page.locator("#answer svg.picture").first).to_be_visible()
    expect(page.locator("#answer")).to_contain_text("current 10 A")


def test_what_is_typed_before_the_page_is_ready_is_answered_too(new_page: NewPage, shared_site: str) -> None:
    """On a slow computer one types before the script runs."""
    page = new_page()
    held = held_back(page, r"desk\.js$")
    page.goto(shared_site + PATH, wait_until="commit")
    for name, words in NEED.items():
        page.get_by_label(name, exact=True).fill(words)
    assert len(held) == 1
    assert page.locator("#parts").count() == 0
    held[0].continue_()
    expect(page.locator("#parts")).to_have_text("36 of 270 parts fit")
    assert "resistance=1.6ohm" in page.url


def test_a_server_that_has_ended_is_said(new_page: NewPage, shared_site: str) -> None:
    """With how to start it again; nothing that was typed is lost."""
    page = new_page(may_say="ERR_CONNECTION_REFUSED")
    open_need(page, shared_site)
    page.route(re.compile(r"resistance=2ohm"), lambda route: route.abort("connectionrefused"))
    page.get_by_label("resistance", exact=True).fill("2ohm")
    expect(page.get_by_role("alert")).to_contain_text("does not answer")
    assert page.get_by_label("resistance", exact=True).input_value() == "2ohm"
