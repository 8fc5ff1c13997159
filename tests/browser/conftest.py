"""A real browser that may speak to nobody but this computer, and the real server that it speaks to."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from browsing import NAMES, executable, launched
from serving import served

NewPage: TypeAlias = Callable[..., Any]
Site: TypeAlias = Callable[[Path], str]

OWN = re.compile(r"(file|data|about|blob):|(http|ws)://(127\.0\.0\.1|localhost|\[::1\])(:\d+)?(/|$)")
#: No page of ours takes this long, on the slowest machine; the tests do not wait for it but where something is wrong.
PATIENCE_MS = 60_000


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Return a browser, one for each process of the tests; without one the test is skipped."""
    play = pytest.importorskip(
        "playwright.sync_api", reason="the tests in a browser need playwright (loadworthy[test])"
    )
    path = executable()
    if path is None:
        pytest.skip(f"no browser: none of {', '.join(NAMES)} is there, and LOADWORTHY_BROWSER names none")
    play.expect.set_options(timeout=PATIENCE_MS)
    with play.sync_playwright() as started:
        found = launched(started, path)
        yield found
        found.close()


@pytest.fixture
def new_page(browser: Any, site: Site) -> Iterator[NewPage]:
    """Return what opens pages, each with its own store, so that tests share nothing.

    ``new_page(width=360, height=800, dark=False, script=True, may_say="status of 503")`` gives one of Playwright's
    pages. At the end of the test all are closed, and it fails if any of them asked for something elsewhere, showed a
    dialog, had an error in its script, or one on its console that the test does not name: what breaks the page's own
    safety rules, and what the server refuses, stands there.
    """
    del site  # servers end after the pages that ask them
    contexts: list[Any] = []
    wrong: list[str] = []

    def make(
        *, width: int = 1000, height: int = 900, dark: bool = False, script: bool = True, may_say: str = r"(?!)"
    ) -> Any:
        def said(message: Any) -> None:
            if message.type in ("error", "warning") and not re.search(may_say, message.text):
                wrong.append(f"{message.type} on the console: {message.text} ({message.location.get('url')})")

        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            java_script_enabled=script,
            service_workers="block",
            reduced_motion="reduce",  # where one is led is where one is, at once
        )
        contexts.append(context)
        context.set_default_timeout(PATIENCE_MS)
        context.on("request", lambda asked: None if OWN.match(asked.url) else wrong.append(f"asked for {asked.url}"))
        context.on("weberror", lambda found: wrong.append(f"error in the page: {found.error}"))
        context.on("console", said)
        # Elsewhere is not reached even where a page asks for it.
        context.route(lambda url: not OWN.match(url), lambda route: route.abort())
        page = context.new_page()
        page.on("dialog", lambda dialog: (wrong.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        return page

    yield make
    for context in contexts:
        context.close()
    assert wrong == []


@pytest.fixture(scope="session")
def shared_site(stocked: Path) -> Iterator[str]:
    """Return the address of a server over the greenhouse's catalogue; to be read only."""
    with served(stocked) as port:
        yield f"http://127.0.0.1:{port}"


@pytest.fixture
def site() -> Iterator[Site]:
    """Return what starts a server over a catalogue's file, and gives its address."""
    with ExitStack() as running:
        yield lambda place: f"http://127.0.0.1:{running.enter_context(served(place))}"


@pytest.fixture
def own(stocked: Path, tmp_path: Path) -> Path:
    """Return a copy of the greenhouse's catalogue that may be written to."""
    return Path(shutil.copy(stocked, tmp_path / "own.duckdb"))


@pytest.fixture
def grave() -> Callable[..., list[str]]:
    """Return what checks a page for those who do not see or cannot point: its serious and critical findings.

    ``grave(page)`` holds it against all rules, ``grave(page, "color-contrast")`` against those.
    """
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="the check for accessibility needs axe")

    def check(page: Any, *rules: str) -> list[str]:
        # What passes is not told node by node: on long pages that takes longer than to check them.
        options: dict[str, Any] = {"resultTypes": ["violations"], "iframes": False}
        options |= {"runOnly": {"type": "rule", "values": list(rules)}} if rules else {}
        found = axe.Axe().run(page, options=options).response["violations"]
        return [
            f"{one['id']} ({one['impact']}): {node['html'][:200]}"
            for one in found
            if one["impact"] in ("serious", "critical")
            for node in one["nodes"]
        ]

    return check
