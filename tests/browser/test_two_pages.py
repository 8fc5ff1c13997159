"""Two pages open at once, and another program at work on the catalogue: none disturbs the other."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from browsing import BOARD, GREENHOUSE, NEED, address

playwright = pytest.importorskip("playwright.sync_api", reason="the tests in a browser need playwright")
expect = playwright.expect

NewPage: TypeAlias = Callable[..., Any]
Site: TypeAlias = Callable[[Path], str]

#: Another program that writes, until it is told to end.
_WRITER = """
import sys
from loadworthy.catalog.versions import renewed
with renewed(sys.argv[1]):
    print("writing", flush=True)
    sys.stdin.read()
"""


@contextmanager
def another_writer(place: Path) -> Iterator[None]:
    """Keep the catalogue busy in another process."""
    with subprocess.Popen(  # noqa: S603 - our own program
        [sys.executable, "-c", _WRITER, str(place)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == "writing\n"
        yield
        running.communicate("")
    assert running.returncode == 0


def shorter(name: str, folder: Path) -> Path:
    """Return one of the greenhouse's lists without its last line: a list that was not taken in yet."""
    made = folder / name
    made.write_bytes(b"".join((GREENHOUSE / name).read_bytes().splitlines(keepends=True)[:-1]))
    return made


def drop(page: Any, list_: Path) -> None:
    """Give the page a list, and wait for what is found in it."""
    page.locator("#file").set_input_files(list_)
    expect(page.get_by_text("Nothing of it is in the catalogue yet.")).to_be_visible()


def test_needs_are_answered_while_a_list_is_taken_in(new_page: NewPage, site: Site, own: Path, tmp_path: Path) -> None:
    """Each is answered, without an error, from the catalogue before or after; afterwards from the new one."""
    start = site(own)
    one, other = new_page(), new_page()
    other.goto(start + address("/need/transistor", **NEED))
    expect(other.locator("#parts")).to_have_text("36 of 270 parts fit")
    one.goto(f"{start}/catalog")
    drop(one, shorter("rabenmoos.csv", tmp_path))
    one.get_by_role("button", name="Take it in").first.click(no_wait_after=True)
    field = other.get_by_label("resistance", exact=True)
    for ohms in ("2ohm", "3ohm", "4ohm", "5ohm"):
        field.fill(ohms)
        expect(other.locator("#answer")).to_contain_text(f"resistance {ohms[0]} Ω")
        expect(other.locator("#parts")).to_contain_text("parts fit")
        expect(other.get_by_role("alert")).to_have_count(0)
    expect(one.get_by_text("took the place of the supplier's earlier list")).to_be_visible()
    field.fill("1.6ohm")
    expect(other.locator("#answer")).to_contain_text("resistance 1.6 Ω")
    expect(other.locator("#parts")).to_contain_text("parts fit")


def test_two_lists_are_confirmed_at_once(new_page: NewPage, site: Site, tmp_path: Path) -> None:
    """The second waits its turn; both are in."""
    place = tmp_path / "catalog.duckdb"
    start = site(place)
    pages = [new_page(), new_page()]
    for page, name in zip(pages, ("sparrowgate-fuses.txt", "thistledown-terminals.csv"), strict=True):
        page.goto(f"{start}/catalog")
        drop(page, GREENHOUSE / name)
    for page in pages:
        page.get_by_role("button", name="Take it in").first.click(no_wait_after=True)
    for page in pages:
        expect(page.get_by_text("It is in.")).to_be_visible()
    pages[0].reload()
    lists = pages[0].get_by_role("region", name="Lists", exact=True).locator("tbody th")
    expect(lists).to_have_count(2)
    assert sorted(lists.all_text_contents()) == ["sparrowgate-fuses.txt", "thistledown-terminals.csv"]


def test_two_boards_do_not_mix(new_page: NewPage, shared_site: str) -> None:
    """In two tabs of one window: what is changed in one stays there."""
    one = new_page()
    other = one.context.new_page()
    for page, title in ((one, "North bench"), (other, "South bench")):
        page.goto(shared_site + address("/board", board=BOARD.replace("Propagation bench controller", title)))
    for page, ohms in ((one, "5mohm"), (other, "6mohm")):
        page.get_by_role("button", name="Edit Q1", exact=True).click()
        page.get_by_label("measured on resistance", exact=True).fill(ohms)
    for page in (one, other):
        page.get_by_role("button", name="Keep it").click()
    for page, title, ohms in ((one, "North bench", "5mohm"), (other, "South bench", "6mohm")):
        expect(page.get_by_role("heading", level=1)).to_have_text(title)
        page.get_by_role("button", name="Edit Q1", exact=True).click()
        expect(page.get_by_label("measured on resistance", exact=True)).to_have_value(ohms)


def test_a_busy_catalogue_is_said_and_nothing_is_lost(new_page: NewPage, site: Site, own: Path, tmp_path: Path) -> None:
    """Another program writes: needs go on, the list waits, and goes in when that program has ended."""
    page = new_page(may_say="status of 503")
    start = site(own)
    page.goto(f"{start}/catalog")
    drop(page, shorter("sparrowgate-fuses.txt", tmp_path))
    with another_writer(own):
        page.get_by_role("button", name="Take it in").first.click()
        said = page.get_by_role("alert")
        expect(said).to_contain_text("is being written to by process")
        expect(said).to_contain_text("confirm it again then")
        beside = new_page()
        beside.goto(start + address("/need/transistor", **NEED))
        expect(beside.locator("#parts")).to_have_text("36 of 270 parts fit")
    page.get_by_role("button", name="Take it in").first.click()
    expect(page.get_by_text("It is in.")).to_be_visible()


def test_a_measurement_that_cannot_be_kept_now_is_said(new_page: NewPage, site: Site, own: Path) -> None:
    """With the way out; Back brings what was typed."""
    page = new_page(may_say="status of 503")
    read = {"part": "BRQ33324-40L", "drop": "48.35mV", "current": "6.001A", "gate": "4.503V", "pulse": "300us"}
    page.goto(site(own) + address("/bench/transistor", **read))
    page.get_by_label("who sold it").fill("ninefold")
    with another_writer(own):
        page.get_by_role("button", name="Keep it").click()
        expect(page.get_by_role("alert").first).to_contain_text("is being written to by process")
    page.go_back()
    expect(page.get_by_label("drop", exact=True)).to_have_value("48.35mV")
