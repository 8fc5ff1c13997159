"""The pages on a phone, 360 px wide: nothing is cut off, and everything is large enough to be hit."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

import pytest
from browsing import STATES, seen

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
def test_nothing_is_cut_off_and_everything_can_be_hit(new_page: NewPage, shared_site: str, state: str) -> None:
    """In every main state, all that is closed open: only tables scroll, each by itself."""
    page = new_page(width=WIDTH, height=740)
    seen(page, shared_site + STATES[state])
    page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true })")
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
