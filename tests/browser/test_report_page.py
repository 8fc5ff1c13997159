"""A report in a real browser: read without a script, on a phone, in the dark, by keyboard, and on paper."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from report_shop import DAY, ORDER, report_shop

from loadworthy import shipped
from loadworthy.bench import measure
from loadworthy.boards import read_board
from loadworthy.dossier import study_board, study_choice, study_order
from loadworthy.needs import ConnectorNeed, WireNeed
from loadworthy.report.pages import report_page
from loadworthy.shopping import read_order_text

NewPage: TypeAlias = Callable[..., Any]

#: A4 is 210 mm wide; at 96 px to the inch that is 794 px, and 688 px between margins of 14 mm.
A4_PX, BETWEEN_MARGINS_PX = 794, 688
#: PDF counts in points.
A4_PT = (595.0, 842.0)
HOSTILE = '"><img src=x onerror=alert(1)><script>alert(2)</script>'


@pytest.fixture(scope="session")
def report(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the address of a report with everything in it: board, order, measurement, and two needs."""
    shop = report_shop()
    given = {
        "drop": "96.0mV",
        "current": "6.00A",
        "gate": "4.5V",
        "vth": "1.90V",
        "ciss": "1.9nF",
        "marking": "differs",
    }
    sections = [
        ("board", study_board(read_board(shipped.catalog_dir() / "greenhouse" / "board.toml"), shop)),
        ("order", study_order(read_order_text(ORDER), shop, today=DAY)),
        ("bench", measure("transistor", given, part=HOSTILE, kelvin=True)),
        ("choice", study_choice(shop, ConnectorNeed(supply="12V", current="4A"), title="A connector")),
        ("choice", study_choice(shop, WireNeed(supply="12V", current="4A", length="3m"), title="A wire")),
    ]
    text = report_page([(kind, one.as_json()) for kind, one in sections], title=f"All {HOSTILE}", made_on=DAY)
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(text, encoding="utf-8")
    return path.as_uri()


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.2, the definition of relative luminance)."""
    parts = [int(one) / 255.0 for one in re.findall(r"\d+", colour)[:3]]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours (WCAG 2.2, the definition of contrast ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def wide(page: Any) -> list[int]:
    """Return how wide the page is, and the window."""
    found: list[int] = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    return found


def open_all(page: Any) -> None:
    """Open everything that is closed."""
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")


def test_it_reads_without_a_script(new_page: NewPage, report: str) -> None:
    """Texts, tables and pictures are there, and what is closed opens."""
    page = new_page(script=False)
    page.goto(report)
    for words in ("One step short", "Easily forgotten, to tick", "gives in first", "Parts that fit, the best first"):
        assert page.get_by_text(words).first.is_visible()
    pictures = page.locator("svg.picture")
    assert pictures.count() >= 5
    for number in range(pictures.count()):
        box = pictures.nth(number).bounding_box()
        assert box["width"] > 300
        assert box["height"] > 60
    first = page.locator("details").first
    assert not first.locator("table").is_visible()
    first.locator("summary").click()
    assert first.locator("table").is_visible()


@pytest.mark.parametrize("width", [320, 360])
def test_on_a_phone_the_page_does_not_scroll_sideways(new_page: NewPage, report: str, width: int) -> None:
    """Tables do so by themselves; all that is closed is open."""
    page = new_page(width=width)
    page.goto(report)
    open_all(page)
    assert wide(page) == [width, width]
    beyond = page.evaluate(
        """[...document.querySelectorAll('main *')].filter(one => !one.closest('.scroll') && !one.closest('svg')
            && one.getBoundingClientRect().right > innerWidth + 1).map(one => one.outerHTML.slice(0, 120))"""
    )
    assert beyond == []


def test_texts_stay_inside_their_picture_and_off_one_another(new_page: NewPage, report: str) -> None:
    """In the fonts that the browser has, which are not those that the pictures were measured with."""
    page = new_page(width=360)
    page.goto(report)
    open_all(page)
    found = page.evaluate(
        """[...document.querySelectorAll('svg.picture')].flatMap(svg => {
            const frame = svg.getBoundingClientRect();
            const texts = [...svg.querySelectorAll('text')].map(one => [one.textContent, one.getBoundingClientRect()]);
            const out = texts.filter(([, box]) => box.left < frame.left - 1 || box.right > frame.right + 1
                || box.top < frame.top - 1 || box.bottom > frame.bottom + 1).map(([text]) => 'outside: ' + text);
            const clash = texts.flatMap(([text, a], i) => texts.slice(i + 1).filter(([, b]) =>
                Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
                && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4
            ).map(([other]) => text + ' over ' + other));
            return [...out, ...clash];
        })"""
    )
    assert found == []


def test_texts_of_pictures_can_be_read_on_a_phone(new_page: NewPage, report: str) -> None:
    """No letter is smaller than 9 px of the screen."""
    page = new_page(width=360)
    page.goto(report)
    least = page.evaluate(
        """Math.min(...[...document.querySelectorAll('svg.picture')].flatMap(svg => {
            const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
            return [...svg.querySelectorAll('text')].map(one => scale * parseFloat(getComputedStyle(one).fontSize));
        }))"""
    )
    assert least >= 9.0


@pytest.mark.parametrize("dark", [False, True])
def test_colours_follow_the_readers_wish(new_page: NewPage, report: str, dark: bool) -> None:
    """Light text on dark, or dark on light; so in the pictures."""
    page = new_page(dark=dark)
    page.goto(report)
    ground, ink, paper, drawn = page.evaluate(
        """[getComputedStyle(document.documentElement).backgroundColor, getComputedStyle(document.body).color,
            getComputedStyle(document.querySelector('svg.picture')).backgroundColor,
            getComputedStyle(document.querySelector('svg.picture text')).fill]"""
    )
    assert (luminance(ground) < luminance(ink)) == dark
    assert (luminance(paper) < luminance(drawn)) == dark
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text.
    assert contrast(ground, ink) > 4.5
    assert contrast(paper, drawn) > 4.5


@pytest.mark.parametrize("dark", [False, True])
def test_lines_of_pictures_stand_out_from_their_paper(new_page: NewPage, report: str, dark: bool) -> None:
    """WCAG 2.2, success criterion 1.4.11: 3 to 1 for what has to be told apart."""
    page = new_page(dark=dark)
    page.goto(report)
    paper, *lines = page.evaluate(
        """['paper', 'line-1', 'line-2', 'line-3', 'line-4', 'line-5', 'fitted', 'limit'].map(name => {
            const one = document.body.appendChild(document.createElement('i'));
            one.style.color = `var(--${name})`;
            const found = getComputedStyle(one).color;
            one.remove();
            return found;
        })"""
    )
    assert all(contrast(paper, line) >= 3.0 for line in lines)


@pytest.mark.parametrize("dark", [False, True])
def test_nothing_grave_for_those_who_do_not_see_or_cannot_point(
    new_page: NewPage, report: str, grave: Callable[[Any], list[str]], dark: bool
) -> None:
    """axe-core finds nothing serious or critical, all that is closed open."""
    page = new_page(dark=dark)
    page.goto(report)
    open_all(page)
    assert grave(page) == []


def test_on_paper_nothing_is_wider_than_the_page_and_nothing_is_closed(new_page: NewPage, report: str) -> None:
    """Between the margins of A4; ways through the page are left out, and no figure is broken."""
    page = new_page(width=BETWEEN_MARGINS_PX)
    page.emulate_media(media="print")
    page.goto(report)
    assert wide(page) == [BETWEEN_MARGINS_PX] * 2
    shut = page.locator("details:not([open])")
    assert shut.count() > 0
    hidden = page.evaluate(
        """[...document.querySelectorAll('details:not([open]) > *')].filter(one => !one.checkVisibility()
            || one.getBoundingClientRect().height === 0).map(one => one.outerHTML.slice(0, 100))"""
    )
    assert hidden == []
    assert not page.locator("nav").is_visible()
    broken = page.evaluate(
        """[...document.querySelectorAll('td.right')].filter(one => {
            const range = document.createRange();
            range.selectNodeContents(one);
            return new Set([...range.getClientRects()].map(box => Math.round(box.top))).size > 1;
        }).map(one => one.textContent)"""
    )
    assert broken == []
    page.set_viewport_size({"width": A4_PX, "height": 1123})
    assert wide(page) == [A4_PX] * 2


def test_paper_is_white_whatever_the_screen_is(new_page: NewPage, report: str) -> None:
    """A dark screen wastes no ink."""
    page = new_page(dark=True)
    page.emulate_media(media="print", color_scheme="dark")
    page.goto(report)
    ground, ink = page.evaluate(
        "[getComputedStyle(document.documentElement).backgroundColor, getComputedStyle(document.body).color]"
    )
    assert luminance(ground) > 0.95
    assert luminance(ink) < 0.05


def test_it_prints_on_a4(new_page: NewPage, report: str) -> None:
    """Pages of that size, as the page itself asks for."""
    page = new_page()
    page.goto(report)
    printed = page.pdf(prefer_css_page_size=True)
    assert printed.startswith(b"%PDF")
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) > 3
    sizes = {
        tuple(round(float(one)) for one in found.split()[2:])
        for found in re.findall(rb"/MediaBox\s*\[([^\]]+)\]", printed)
    }
    assert len(sizes) == 1
    assert sizes.pop() == pytest.approx(A4_PT, abs=1.0)


def test_the_card_is_printed_in_one_piece(new_page: NewPage, report: str) -> None:
    """It is no higher than a page, and is not broken over two."""
    page = new_page(width=BETWEEN_MARGINS_PX)
    page.emulate_media(media="print")
    page.goto(report)
    cards = page.locator(".card")
    assert cards.count() == 2
    for number in range(2):
        card = cards.nth(number)
        assert card.bounding_box()["height"] < 900  # A4 between margins is 1017 px high
        assert card.evaluate("one => getComputedStyle(one).breakInside") == "avoid"


def test_the_keyboard_reaches_everything(new_page: NewPage, report: str) -> None:
    """Every way, everything that opens, every table that scrolls; where one is can be seen, and Enter opens."""
    page = new_page(width=360)
    page.goto(report)
    wanted = page.evaluate(
        """() => {
            const all = [...document.querySelectorAll('a[href], summary, [tabindex="0"]')];
            all.filter(one => one.checkVisibility()).forEach((one, number) => { one.dataset.stop = number });
            return all.filter(one => one.checkVisibility()).length;
        }"""
    )
    assert wanted > 10
    reached = set()
    for _ in range(wanted + 2):
        page.keyboard.press("Tab")
        stop, outline = page.evaluate(
            "[document.activeElement.dataset.stop, getComputedStyle(document.activeElement).outlineWidth]"
        )
        if stop is not None:
            reached.add(int(stop))
            assert outline != "0px"
    assert reached == set(range(wanted))
    page.locator("summary").first.focus()
    page.keyboard.press("Enter")
    assert page.locator("details").first.evaluate("one => one.open")


def test_the_ways_at_the_top_lead_where_they_say(new_page: NewPage, report: str) -> None:
    """To the card for the lid, for one."""
    page = new_page()
    page.goto(report)
    page.get_by_role("link", name="Card for the lid").click()
    assert abs(page.locator("#s1-card").evaluate("one => one.getBoundingClientRect().top")) < 40


def test_hostile_texts_do_nothing(new_page: NewPage, report: str) -> None:
    """They are read as they are written; a dialog or a picture that is asked for would fail the test."""
    page = new_page()
    page.goto(report)
    page.wait_for_load_state("networkidle")
    assert page.locator("h1").inner_text() == f"All {HOSTILE}"
    assert page.locator("script, img").count() == 0


def test_the_file_is_all_there_is(report: str) -> None:
    """One file, and nothing beside it."""
    path = Path(report.removeprefix("file://"))
    assert [one.name for one in path.parent.iterdir()] == [path.name]
