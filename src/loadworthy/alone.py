"""One at a time: a lock that lies beside a file, and is free when its holder ends, in whatever way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from loadworthy.errors import LoadworthyError

__all__ = ["alone"]


@contextmanager
def alone(place: Path, *, wait_s: float, busy: Callable[[], LoadworthyError]) -> Iterator[None]:
    """Keep others out of what is done within the block.

    Parameters
    ----------
    place
        The lock's own file; it goes away with the block.
    wait_s
        How long to wait for who holds it, in seconds.
    busy
        What to raise where it is not free by then.

    Raises
    ------
    LoadworthyError
        Another one holds it.
    OSError
        The file cannot be made.
    """
    lock = FileLock(place, thread_local=False)
    try:
        lock.acquire(timeout=wait_s, poll_interval=0.05)
    except Timeout:
        raise busy() from None
    try:
        yield
    finally:
        # Taken away while it is held: who waits for it sees that it is gone and makes another. Where an open file
        # cannot be taken away, it stays, which does no harm.
        with suppress(OSError):
            place.unlink()
        lock.release()
