"""Who may speak to the page, and what its answers allow a browser to do."""

from __future__ import annotations

from typing import Any

import pytest

from loadworthy.web.safety import own_hosts

_PAGES = ("/need/transistor", "/need/fuse?supply=12V&current=3A", "/board", "/order", "/bench", "/catalog", "/nothing")


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8137", "127.0.0.1:9999", "127.0.0.1.evil.example:8137", ""]
)
def test_a_request_by_another_name_is_refused(client: Any, host: str) -> None:
    """A page elsewhere whose name was made to point to this computer is not answered."""
    reply = client.get("/need/transistor", headers={"Host": host})
    assert reply.status_code == 403
    assert "own address" in reply.text


@pytest.mark.parametrize("host", ["127.0.0.1:8137", "localhost:8137", "LOCALHOST:8137", "[::1]:8137"])
def test_a_request_by_this_computers_own_names_is_answered(client: Any, host: str) -> None:
    """A request by this computers own names is answered."""
    assert client.get("/need/transistor", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", "http://127.0.0.1:9", "https://localhost.evil.example:8137"]
)
@pytest.mark.parametrize("path", ["/order/add", "/catalog/look", "/bench/keep", "/nothing"])
def test_nothing_is_changed_on_the_word_of_another_page(client: Any, path: str, origin: str | None) -> None:
    """Nothing is changed on the word of another page."""
    reply = client.post(path, data={"family": "transistor"}, headers={"Origin": origin})
    assert reply.status_code == 403
    assert "another page" in reply.text


def test_a_form_of_another_site_is_told_by_the_browsers_own_word(client: Any) -> None:
    """A form of another site is told by the browsers own word."""
    reply = client.post("/order/add", data={}, headers={"Sec-Fetch-Site": "cross-site"})
    assert reply.status_code == 403


@pytest.mark.parametrize("path", _PAGES)
def test_no_script_but_the_pages_own_may_run(client: Any, path: str) -> None:
    """No script but the pages own may run."""
    policy = client.get(path).headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize("path", _PAGES)
def test_pages_have_nothing_inline(client: Any, path: str) -> None:
    """What the policy would block is not there: scripts, styles and handlers inside the page."""
    text = client.get(path).text
    assert "<style" not in text
    assert " style=" not in text
    assert " onclick" not in text
    assert all("src=" in tag for tag in text.split("<script")[1:])


@pytest.mark.parametrize("path", _PAGES)
def test_answers_are_kept_by_nobody_and_framed_by_nobody(client: Any, path: str) -> None:
    """Answers are kept by nobody and framed by nobody."""
    headers = client.get(path).headers
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_a_page_that_is_not_there_says_where_to_go_on(client: Any) -> None:
    """A page that is not there says where to go on."""
    reply = client.get("/nothing")
    assert reply.status_code == 404
    assert "no such page" in reply.text


def test_a_link_cannot_change_anything(client: Any) -> None:
    """A link cannot change anything."""
    reply = client.get("/order/add?part=X")
    assert reply.status_code == 405
    assert "following a link" in reply.text


def test_a_fault_of_the_program_shows_no_traceback(client: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program shows no traceback."""
    from loadworthy.web import need_page

    def broken(*_: Any) -> None:
        raise RuntimeError("of the tests")

    monkeypatch.setattr(need_page, "_answered", broken)
    reply = client.get("/need/transistor?supply=12V&current=2A")
    assert reply.status_code == 500
    assert "A fault of the program" in reply.text
    assert "Traceback" not in reply.text


def test_the_port_belongs_to_the_name() -> None:
    """The port belongs to the name."""
    assert own_hosts(80, ["bench.local"]) >= {"bench.local", "bench.local:80", "127.0.0.1"}
    assert "127.0.0.1" not in own_hosts(8137)


@pytest.mark.parametrize(
    ("name", "kind"), [("desk.css", "text/css"), ("desk.js", "text/javascript"), ("mark.svg", "image/svg+xml")]
)
def test_what_the_pages_need_is_handed_out_and_nothing_else(client: Any, name: str, kind: str) -> None:
    """Named as what it is; a browser that has it is told that it is still the same."""
    reply = client.get(f"/static/{name}")
    assert (reply.status_code, reply.mimetype) == (200, kind)
    assert len(reply.data) > 100
    assert client.get(f"/static/{name}", headers={"If-None-Match": reply.headers["ETag"]}).status_code == 304
    assert client.get(f"/static/%2e%2e/{name}").status_code == 404
    assert client.get("/static/app.py").status_code == 404
