"""Every main state of the pages: for those who do not see or cannot point, and on a phone 360 px wide."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any, TypeAlias

import pytest
from browsing import NEED, STATES, address, seen

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]

WIDTH = 360
#: WCAG 2.2, success criterion 2.5.8: 24 × 24 CSS px; what stands within a sentence need not.
LEAST_PX = 24
#: Success criterion 2.5.5, and what a hand with a soldering iron in the other one wants of what is pressed first.
MAIN_PX = 44

#: What stands beyond the edge, but in tables that scroll by themselves.
_BEYOND = """() => [...document.querySelectorAll('body *')].filter(one =>
    !one.closest('.scroll') && !one.closest('svg') && !one.closest('.unseen, .skip, dialog:not([open])')
    && one.checkVisibility() && (one.getBoundingClientRect().right > innerWidth + 1
    || one.getBoundingClientRect().left < -1)).map(one => one.outerHTML.slice(0, 150))"""
#: What has words that its own box cuts off.
_CLIPPED = """() => [...document.querySelectorAll('button, .button, label, p, h1, h2, h3, li, summary, legend, td, th')]
    .filter(one => one.checkVisibility() && !one.closest('.unseen')
    && ['hidden', 'clip'].includes(getComputedStyle(one).overflowX) && one.scrollWidth > one.clientWidth + 1)
    .map(one => one.outerHTML.slice(0, 150))"""
#: What can be pressed and how large it is; words within a sentence are left out, a tick has its label.
_TARGETS = """() => [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
    .filter(one => one.checkVisibility() && !one.closest('.unseen, .skip') && !one.matches('.unseen, .skip'))
    .filter(one => !(one.matches('a:not(.button)') && one.closest('p, li:not(.tabs li)')))
    .map(one => {
        const tick = one.matches('[type=checkbox], [type=radio]') ? one.closest('label') ?? one : one;
        const box = tick.getBoundingClientRect();
        const main = one.matches(
            '.first, .tabs a, input[type=text], select, button:not(.small, .close), .button:not(.small)');
        return [one.outerHTML.slice(0, 120), box.width, box.height, main];
    })"""


@pytest.mark.parametrize("state", STATES)
def test_a_state_is_read_out_and_fits_a_phone(
    new_page: NewPage, shared_site: str, grave: Callable[..., list[str]], state: str
) -> None:
    """All that is closed open: nothing grave in light and dark; at 360 px nothing is cut off, and all can be hit."""
    page = new_page()
    seen(page, shared_site + STATES[state])
    page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true })")
    _nothing_grave(page, grave)
    page.emulate_media(color_scheme="light")
    page.set_viewport_size({"width": WIDTH, "height": 740})
    _fits(page)


def _nothing_grave(page: Any, grave: Callable[..., list[str]]) -> None:
    """axe-core finds nothing serious or critical, in light and in dark; headings go down by one, ids stand once."""
    assert grave(page) == []
    page.emulate_media(color_scheme="dark")
    assert grave(page, "color-contrast") == []
    levels = page.evaluate(
        """[...document.querySelectorAll('main :is(h1, h2, h3, h4, h5)')].filter(one => one.checkVisibility())
            .map(one => Number(one.tagName[1]))"""
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(one => one.id)")
    assert len(ids) == len(set(ids))


def _fits(page: Any) -> None:
    """Only tables scroll, each by itself; all that can be pressed is large enough to be hit."""
    assert page.evaluate("document.documentElement.scrollWidth") == WIDTH
    assert page.evaluate(_BEYOND) == []
    assert page.evaluate(_CLIPPED) == []
    targets = page.evaluate(_TARGETS)
    assert targets
    assert [one for one in targets if min(one[1], one[2]) < LEAST_PX - 0.1] == []
    assert [one for one in targets if one[3] and one[2] < MAIN_PX - 0.1] == []


def test_letters_twice_as_large_are_read_as_well(new_page: NewPage, shared_site: str) -> None:
    """WCAG 2.2, success criteria 1.4.4 and 1.4.10: at 200 % of a window of 1280 px, and at 400 %, nothing is lost."""
    page = new_page(width=320, height=512)
    for state in ("a need with its parts", "a board", "an order with its plan"):
        seen(page, shared_site + STATES[state])
        assert page.evaluate("document.documentElement.scrollWidth") == 320
        assert page.evaluate(_BEYOND) == []


def test_the_sheet_over_a_need_is_heard(new_page: NewPage, shared_site: str, grave: Callable[..., list[str]]) -> None:
    """A dialog with a name; nothing grave in it."""
    page = new_page()
    page.goto(shared_site + address("/need/transistor", **NEED))
    page.locator("a.figure-link").first.click()
    expect(page.get_by_role("dialog", name="Details").get_by_text("Each criterion")).to_be_visible()
    assert grave(page) == []
