"""``loadworthy serve`` from the outside: its address, its neighbours, its end."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from click.testing import CliRunner

from loadworthy.cli import main

pytest.importorskip("flask", reason="the pages need the extra loadworthy[web]")


@contextmanager
def _served(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Run the command in a process of its own; give the address that it prints."""
    command = [sys.executable, "-u", "-c", "from loadworthy.cli import main; main()", "serve", "--port", "0"]
    with subprocess.Popen(  # noqa: S603 - our own words
        [*command, "--catalog", str(folder / "none.duckdb")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(folder)},
    ) as process:
        try:
            assert process.stdout is not None
            line = process.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:\d+/", line)
            assert found, line
            yield found.group(), process
        finally:
            process.kill()


def _drop(address: str) -> None:
    """Send a list as the Catalogue page does."""
    form = (
        '--edge\r\nContent-Disposition: form-data; name="file"; filename="list.csv"\r\n\r\n'
        "Part number,VDS (V)\r\nFP-1,30\r\n\r\n--edge--\r\n"
    )
    headers = {"Content-Type": "multipart/form-data; boundary=edge", "Origin": address.rstrip("/")}
    with urlopen(Request(f"{address}catalog/look", form.encode(), headers)) as reply:  # noqa: S310 - our own address
        assert "list.csv" in reply.read().decode()


@pytest.mark.parametrize(
    "word", [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
)
def test_it_says_where_it_is_answers_there_and_stops_at_a_word(tmp_path: Path, word: signal.Signals) -> None:
    """The address that is printed answers; Ctrl-C ends it without a traceback, and nothing that was dropped is left."""
    with _served(tmp_path) as (address, process):
        with urlopen(f"{address}need") as reply:  # noqa: S310 - our own address
            assert "What must the transistor carry?" in reply.read().decode()
        with pytest.raises(HTTPError, match="403"):
            urlopen(Request(address, headers={"Host": "evil.example"}))  # noqa: S310 - as above
        _drop(address)
        assert any(path.name.startswith("loadworthy-dropped-") for path in tmp_path.iterdir())
        process.send_signal(word)
        _, said = process.communicate(timeout=20)
        assert process.returncode == 0
        assert "Traceback" not in said
    assert list(tmp_path.iterdir()) == []


def _call(*words: str) -> Any:
    return CliRunner().invoke(main, ["serve", *words])


def test_a_port_in_use_is_said_with_the_way_out() -> None:
    """Two at one port: the second one says so."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        result = _call("--port", str(other.getsockname()[1]))
    assert result.exit_code == 2
    assert "--port" in result.stderr
    assert "Traceback" not in result.output


def test_the_network_is_let_in_by_a_name_only() -> None:
    """To listen elsewhere than on this computer is to be told, and to name it."""
    result = _call("--listen", "0.0.0.0", "--port", "0")  # noqa: S104 - it is refused
    assert result.exit_code == 2
    assert "--known-as" in result.stderr
    assert "no password" in " ".join(result.stderr.split())


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """The rest of the program does not need a server."""
    monkeypatch.setitem(sys.modules, "waitress.server", None)
    result = _call("--port", "0")
    assert result.exit_code == 2
    assert "loadworthy[web]" in result.stderr


def test_open_opens_the_page_that_is_served(monkeypatch: pytest.MonkeyPatch) -> None:
    """The browser is sent to the address that it listens on."""
    from loadworthy.cli import serve as module

    class Server:
        effective_port = 4711
        run: Callable[[], None] = staticmethod(lambda: None)
        close: Callable[[], None] = staticmethod(lambda: None)

    opened: list[str] = []
    monkeypatch.setattr(module, "bound", lambda *_: Server())
    monkeypatch.setattr("signal.signal", lambda *_: None)
    monkeypatch.setattr("webbrowser.open", opened.append)
    assert _call("--open").exit_code == 0
    assert opened == ["http://127.0.0.1:4711/"]
