"""The server of ``loadworthy serve`` in a thread of this process, for as long as a block takes."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from pathlib import Path

__all__ = ["served"]


@contextlib.contextmanager
def served(catalog: Path) -> Iterator[int]:
    """Run it over a catalogue, on a free port of the loopback; give the port."""
    from loadworthy.cli.serve import bound

    server = bound(catalog, "127.0.0.1", 0, ())
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield server.effective_port
    finally:
        # In the server's own thread, between two requests: it then has nothing left to wait for, and ends.
        server.trigger.pull_trigger(lambda: server.asyncore.close_all(server._map))
        thread.join(5)
        server.task_dispatcher.shutdown(timeout=1)
        server.close()
