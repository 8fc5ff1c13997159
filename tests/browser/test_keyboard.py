"""The pages by keyboard alone: where one is can be seen, and is not lost when an answer takes another's place."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeAlias

import pytest
from browsing import BOARD, NEED, ORDER, address, seen

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]

#: Where one is: the name by which it is heard, or what stands on it; and whether that can be seen.
_HERE = """() => {
    const one = document.activeElement;
    if (!one || one === document.body) return ["", false];
    const label = one.labels?.[0]?.textContent ?? "";
    const style = getComputedStyle(one), box = one.getBoundingClientRect();
    const ring = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    const shown = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
    return [(one.getAttribute("aria-label") ?? (label || one.textContent)).trim().replace(/\\s+/g, " "), ring && shown];
}"""


def here(page: Any) -> str:
    """Return where one is; it has to be seen."""
    name, seen = page.evaluate(_HERE)
    assert seen, f"it cannot be seen that one is at {name!r}"
    return str(name)


def go(page: Any, name: str, *, key: str = "Tab", most: int = 150) -> None:
    """Go on by Tab until one is there; each stop on the way has to be seen."""
    for _ in range(most):
        page.keyboard.press(key)
        if re.fullmatch(name, here(page)):
            return
    pytest.fail(f"{name!r} is not reached")


def write(page: Any, name: str, text: str) -> None:
    """Go to a field, and type into it in place of what stands there."""
    go(page, name)
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(text)


def arrived(page: Any, heading: str) -> None:
    """Wait for a page by its heading, and for its style."""
    expect(page.get_by_role("heading", level=1)).to_contain_text(heading)
    page.wait_for_load_state()


def test_a_need_from_its_first_letter_to_the_order(new_page: NewPage, shared_site: str) -> None:
    """Typed, answered, sorted, pinned, opened and closed, ordered."""
    page = new_page(height=700)
    page.goto(f"{shared_site}/need/transistor")
    page.keyboard.press("Tab")
    assert here(page) == "To the content"
    page.keyboard.press("Enter")
    for name, text in NEED.items():
        write(page, name, text)
    expect(page.locator("#parts")).to_have_text("36 of 270 parts fit")
    assert here(page) == "package"  # the answer came, and one is still where one typed
    go(page, "VDS ?▾?")
    page.keyboard.press("Enter")
    expect(page.locator("th[aria-sort]")).to_contain_text("VDS")
    assert re.fullmatch("VDS ?▾?", here(page))
    go(page, "Pin .* for comparison")
    page.keyboard.press("Enter")
    side = page.get_by_role("region", name="Pinned parts side by side")
    expect(side).to_be_visible()
    assert re.fullmatch("Take .* out of the comparison", here(page))  # the same place, which now undoes
    row = page.get_by_role("region", name="Parts that fit", exact=True).locator("tbody tr.pinned")
    number = row.locator("th").inner_text()
    go(page, re.escape(number))
    page.keyboard.press("Enter")
    sheet = page.get_by_role("dialog", name="Details")
    expect(sheet.locator("h2")).to_have_text(number)
    assert here(page) == "Close"
    for _ in range(6):  # within the sheet, or the browser's own controls; the page beneath is not reached
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement === document.body || !!document.activeElement.closest('dialog')")
    page.keyboard.press("Escape")
    expect(sheet).to_be_hidden()
    assert here(page) == number
    go(page, f"Add {number} to the order", key="Shift+Tab")
    page.keyboard.press("Space")
    expect(page.locator(".lines .who b")).to_have_text([number])


def test_a_part_is_taken_out_of_a_comparison_and_one_is_not_lost(new_page: NewPage, shared_site: str) -> None:
    """The one that stood beside it is where one then is, or the list."""
    page = new_page()
    page.goto(shared_site + address("/need/transistor", **NEED))
    for _ in range(2):
        page.get_by_role("link", name=re.compile("^Pin ")).first.click()
        expect(page.locator("#answer")).not_to_have_attribute("aria-busy", "true")
    side = page.get_by_role("region", name="Pinned parts side by side")
    expect(side.locator("thead th")).to_have_count(3)
    for left in (2, 1):
        side.get_by_role("link", name=re.compile("^Take ")).last.focus()
        page.keyboard.press("Enter")
        expect(page.locator(".side thead th")).to_have_count(left if left > 1 else 0)
        assert page.evaluate("document.activeElement !== document.body")


def test_a_board_is_edited(new_page: NewPage, shared_site: str) -> None:
    """A figure of a link is changed, a link moved, and a part put in its place."""
    page = new_page(height=700)
    page.goto(shared_site + address("/board", board=BOARD))
    go(page, "Edit Q1")
    page.keyboard.press("Enter")
    arrived(page, "Q1")
    write(page, "measured on resistance", "21mohm")
    page.keyboard.press("Enter")
    arrived(page, "Propagation bench controller")
    go(page, "Move Q1 towards the supply")
    page.keyboard.press("Space")
    steps = page.get_by_role("list", name="Path of mat A, from the supply to the load").locator("> li")
    expect(steps.nth(4)).to_contain_text("Q1")
    page.wait_for_load_state()
    go(page, "Choose a part for inlet terminal")
    page.keyboard.press("Enter")
    arrived(page, "A part for")
    go(page, "Put .* in its place")
    page.keyboard.press("Enter")
    expect(steps.nth(1).locator(".verdict")).to_have_text("carries")


def test_a_count_of_the_order_is_raised_and_one_stays_there(new_page: NewPage, shared_site: str) -> None:
    """Each press loads the page anew; the next press does the same again."""
    page = new_page(height=700)
    page.goto(shared_site + address("/order", order=ORDER))
    go(page, "One more: pieces of VYZ30564-20U for one board")
    field = page.get_by_label("pieces of VYZ30564-20U for one board", exact=True)
    for count in ("2", "3"):
        page.keyboard.press("Enter")
        expect(field).to_have_value(count)
        expect(page.get_by_role("button", name="One more: pieces of VYZ30564-20U for one board")).to_be_focused()


@pytest.mark.parametrize("path", ["/bench/transistor?part=BRQ33324-40L&drop=48.35mV&current=6.001A", "/catalog"])
def test_every_stop_can_be_seen(new_page: NewPage, shared_site: str, path: str) -> None:
    """From the first to the last, and none twice."""
    page = new_page(height=700)
    seen(page, shared_site + path)
    wanted = page.evaluate(
        """[...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex="0"]')].filter(
            one => one.checkVisibility() && !one.disabled && one.type !== 'hidden' && one.tabIndex >= 0).length"""
    )
    reached = []
    for _ in range(wanted):
        page.keyboard.press("Tab")
        reached.append(here(page))
    assert len(reached) == wanted
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement === document.body || document.activeElement.className === 'skip'")
