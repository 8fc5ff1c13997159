"""``loadworthy serve``: the whole job as a page in the browser, on this computer."""

from __future__ import annotations

import logging
import os
import signal
import socket
import sys
from pathlib import Path
from typing import Any, Final

import click

from loadworthy.cli.common import catalog_place, common_parameters, say, talk
from loadworthy.errors import UsageError

__all__ = ["bound", "serve"]

_PORT: Final = 8137
_LOOPBACK: Final = frozenset({"127.0.0.1", "localhost", "::1"})
_THREADS: Final = 8


@click.command(
    params=[one for one in common_parameters() if one.name == "catalog_path"],
    epilog="""Examples:

    \b
      loadworthy serve --open
      loadworthy serve --catalog greenhouse/greenhouse.duckdb --port 8200""",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=_PORT,
    show_default=True,
    metavar="PORT",
    help="Where it listens; 0 takes a free one.",
)
@click.option("--open", "opening", is_flag=True, help="Open the page in your browser.")
@click.option(
    "--listen",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="Address it listens on. Any other than this computer's own lets others in your network use the page.",
)
@click.option(
    "--known-as",
    "names",
    multiple=True,
    metavar="NAME",
    help="A name by which others may ask for this computer, with --listen. Repeatable.",
)
def serve(*, port: int, opening: bool, listen: str, names: tuple[str, ...], catalog_path: Path | str | None) -> None:
    """Show the whole job as a page in your browser: needs, boards, orders, measurements, the catalogue.

    It listens on this computer alone and writes nothing but the catalogue, and nothing at all where that is an
    exported one. Stop it with Ctrl-C.
    """
    if listen not in _LOOPBACK:
        talk(
            f"Mind: on {listen} everybody in that network can use this page and change the catalogue. There is no "
            "password, and nothing is encrypted."
        )
        if not names:
            raise UsageError(
                "by which name will others ask for it?",
                where="--listen",
                way_out="Give it with --known-as, such as --known-as bench.local; requests by other names are refused.",
            )
    server = bound(catalog_place(catalog_path), listen, port, names)
    address = f"http://{_shown(listen)}:{server.effective_port}/"
    # A word to end, or a terminal that is closed, is an end like Ctrl-C: what lies in the spool goes.
    for word in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, word):
            signal.signal(getattr(signal, word), lambda *_: sys.exit(0))
    say(f"Loadworthy is at {address} – stop it with Ctrl-C.")
    if opening:
        import webbrowser  # noqa: PLC0415 - only who asks for it

        webbrowser.open(address)
    try:
        server.run()
    finally:
        server.close()


def _shown(listen: str) -> str:
    return "[::1]" if listen == "::1" else "127.0.0.1" if listen in ("localhost", "0.0.0.0", "::") else listen  # noqa: S104 - compared, not listened on


def bound(catalog: Path | str, listen: str, port: int, names: tuple[str, ...]) -> Any:  # noqa: ANN401 - waitress is untyped
    """Make the server of the pages, bound to its address."""
    try:
        from waitress.server import create_server  # noqa: PLC0415 - an extra; only who serves needs it

        from loadworthy.web.app import MOST_UPLOAD, make_app  # noqa: PLC0415
    except ImportError as error:
        raise UsageError(
            f"the pages need what is not installed here ({error.name}).",
            way_out="Install it with: pip install 'loadworthy[web]'",
        ) from error
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a long queue is no news to a user
    # Requests must name the port that it really listens on, so it is bound before the pages are made.
    place = _listening(listen, port)
    try:
        app = make_app(catalog=catalog, port=place.getsockname()[1], names=names)
        return create_server(
            app,
            sockets=[place],
            threads=_THREADS,
            ident=None,
            max_request_body_size=MOST_UPLOAD + 1_048_576,
            max_request_header_size=262_144,
            channel_timeout=600,
        )
    except BaseException:
        place.close()
        raise


def _listening(listen: str, port: int) -> socket.socket:
    family, kind, protocol, _, address = socket.getaddrinfo(
        listen, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
    )[0]
    place = socket.socket(family, kind, protocol)
    try:
        if os.name == "posix":  # else a port stays taken for a while after its program has ended
            place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        place.bind(address)
    except BaseException:
        place.close()
        raise
    return place
