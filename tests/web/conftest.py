"""The page as a browser asks for it, on the greenhouse's catalogue."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest

testing = pytest.importorskip("flask.testing", reason="the pages need the extra loadworthy[web]")

PORT = 8137
OWN = f"http://127.0.0.1:{PORT}"

Client: TypeAlias = Any
Open: TypeAlias = Callable[[Path], Client]


class _Browser(testing.FlaskClient):  # type: ignore[misc]
    """A client that names its host and its origin, as a browser does."""

    def open(self, *args: Any, **kwargs: Any) -> Any:
        kwargs.setdefault("base_url", OWN)
        headers = dict(kwargs.pop("headers", None) or {})
        if kwargs.get("method", "GET") not in ("GET", "HEAD"):
            headers.setdefault("Origin", OWN)
        return super().open(*args, headers={k: v for k, v in headers.items() if v is not None}, **kwargs)


@pytest.fixture(scope="session")
def opened() -> Open:
    """Return what makes a client over a catalogue's file."""

    def make(place: Path) -> Client:
        from loadworthy.web.app import make_app

        app = make_app(catalog=place, port=PORT)
        app.test_client_class = _Browser
        return app.test_client()

    return make


@pytest.fixture(scope="session")
def client(stocked: Path, opened: Open) -> Client:
    """Return a client over the greenhouse's catalogue; to be read only."""
    return opened(stocked)


@pytest.fixture
def own(stocked: Path, tmp_path: Path, opened: Open) -> Client:
    """Return a client over a copy of the greenhouse's catalogue that may be written to."""
    return opened(Path(shutil.copy(stocked, tmp_path / "own.duckdb")))


@pytest.fixture
def empty(tmp_path: Path, opened: Open) -> Client:
    """Return a client over a catalogue that is not there yet."""
    return opened(tmp_path / "empty.duckdb")
