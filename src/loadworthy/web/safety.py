"""Who may speak to the page: programs on this computer, by its own names, from its own pages."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final
from urllib.parse import urlsplit

from flask import Flask, Request, Response, request

from loadworthy.errors import CatalogError, LoadworthyError

__all__ = ["RefusedRequest", "guard", "own_hosts", "status_of"]

_POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
_HEADERS: Final = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Forms name their origin only where the policy lets them; other sites learn nothing of an address.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_READING: Final = frozenset({"GET", "HEAD"})


class RefusedRequest(LoadworthyError):  # noqa: N818 - it names what became of it
    """A request that did not come from this computer's own page."""


def status_of(error: LoadworthyError | None) -> int:
    """Return what a page that says an error is sent with: whose fault it is, and whether to try again."""
    if error is None:
        return 200
    return 403 if isinstance(error, RefusedRequest) else 503 if isinstance(error, CatalogError) else 400


def own_hosts(port: int, names: Iterable[str] = ()) -> frozenset[str]:
    """Return the hosts by which the page may be asked for.

    Parameters
    ----------
    port
        Where it listens.
    names
        Other names that the user gave this computer.

    Examples
    --------
    >>> sorted(own_hosts(8137))
    ['127.0.0.1:8137', '[::1]:8137', 'localhost:8137']
    """
    known = ("127.0.0.1", "localhost", "[::1]", *names)
    hosts = {f"{name.lower()}:{port}" for name in known}
    return frozenset(hosts | ({name.lower() for name in known} if port == 80 else set()))


def guard(app: Flask, hosts: frozenset[str]) -> None:
    """Let only those requests through that name one of `hosts`, and changes only from a page of theirs."""

    @app.before_request
    def check() -> None:
        _check_host(request, hosts)
        if request.method not in _READING:
            _check_origin(request, hosts)

    @app.after_request
    def head(response: Response) -> Response:
        for name, value in _HEADERS.items():
            response.headers[name] = value
        response.headers.setdefault("Cache-Control", "no-store")
        return response


def _check_host(asked: Request, hosts: frozenset[str]) -> None:
    if asked.headers.get("Host", "").lower() not in hosts:
        raise RefusedRequest(
            "this page answers on this computer's own address only.",
            way_out=f"Ask for http://{min(hosts)}/.",
        )


def _check_origin(asked: Request, hosts: frozenset[str]) -> None:
    """A change must come from a page of ours: another site's form names that site as its origin."""
    origin = urlsplit(asked.headers.get("Origin", ""))
    same = origin.scheme in ("http", "https") and origin.netloc.lower() == asked.headers.get("Host", "").lower()
    if (
        not same
        or origin.netloc.lower() not in hosts
        or asked.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin"
    ):
        raise RefusedRequest(
            "nothing is changed on the word of another page.",
            way_out="Open the page anew and do it from there.",
        )
