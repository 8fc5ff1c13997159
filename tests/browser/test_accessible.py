"""The pages for those who do not see, or cannot point: checked by axe-core, and by what is heard."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any, TypeAlias

import pytest
from browsing import NEED, STATES, address, seen

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]


@pytest.mark.parametrize("state", STATES)
def test_nothing_grave_in_light_and_in_dark(
    new_page: NewPage, shared_site: str, grave: Callable[..., list[str]], state: str
) -> None:
    """axe-core finds nothing serious or critical, all that is closed open; headings go down by one, ids stand once."""
    page = new_page()
    seen(page, shared_site + STATES[state])
    page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true })")
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


def test_the_sheet_over_a_need_is_heard(new_page: NewPage, shared_site: str, grave: Callable[..., list[str]]) -> None:
    """A dialog with a name; nothing grave in it."""
    page = new_page()
    page.goto(shared_site + address("/need/transistor", **NEED))
    page.locator("a.figure-link").first.click()
    expect(page.get_by_role("dialog", name="Details").get_by_text("Each criterion")).to_be_visible()
    assert grave(page) == []
