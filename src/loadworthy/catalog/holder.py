"""One catalogue held open for many readers in one process, always in its newest version."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb

from loadworthy.catalog.failures import failures_explained
from loadworthy.catalog.places import MANIFEST, is_set, place_of
from loadworthy.catalog.store import Catalog

__all__ = ["CatalogHolder"]


@dataclass(slots=True)
class _Version:
    """A version of the file that is open, and how many read it."""

    #: What tells one version of a file from another; None where nothing tells it.
    mark: tuple[int, ...] | None
    catalog: Catalog
    readings: int = 0


class CatalogHolder:
    """A catalogue that a process keeps open, for readings in any number of threads.

    Opening costs as much as a short question; a server pays for it once a version. A reading keeps the version that
    it began with; one that begins later has the newer one. A version is closed with its last reading once there is
    a newer one.

    Parameters
    ----------
    path
        The file, or the folder or address of a set of Parquet files; it may come later, or go. What lies at an
        address is read as it was when it was opened: nothing tells that it changed.
    keep_open
        Keep it open between readings. Where a file that is open cannot be replaced (Windows), that would keep
        every writer from its end.
    """

    def __init__(self, path: str | Path, *, keep_open: bool = os.name != "nt") -> None:
        self.path = place_of(path)
        self._keep_open = keep_open
        self._lock = threading.Lock()
        self._newest: _Version | None = None

    @property
    def there(self) -> bool:
        """Whether there is something to be read; of an address only opening it can tell."""
        return isinstance(self.path, str) or self.path.exists()

    @property
    def only_read(self) -> bool:
        """Whether nothing can be written to it: a set of Parquet files."""
        return is_set(self.path)

    @contextmanager
    def reading(self) -> Iterator[Catalog]:
        """Read the newest version, over a connection of one's own.

        Yields
        ------
        Catalog
            To be used by one thread at a time; it ends with the block.

        Raises
        ------
        CatalogError
            There is no catalogue, or it cannot be read. Once there is one, the next reading has it.
        """
        with self._lock:
            version = self._look()
            catalog = version.catalog.another()
            version.readings += 1
        try:
            with catalog:
                yield catalog
        except duckdb.Error:
            with failures_explained(self.path):
                raise
        finally:
            with self._lock:
                version.readings -= 1
                if version is self._newest and not self._keep_open:
                    self._retire()
                elif version is not self._newest:
                    _close_if_unread(version)

    def close(self) -> None:
        """Close it; readings that are going on end on what they have, and one that begins opens it anew."""
        with self._lock:
            self._retire()

    def _look(self) -> _Version:
        """Open the file where another version stands there than the one that is open."""
        # The mark is taken before: if the file changes in between, the next reading finds another mark and looks again.
        mark = self._mark()
        if self._newest is None or mark is None or mark != self._newest.mark:
            self._retire()
            self._newest = _Version(mark, Catalog.open(self.path))
        return self._newest

    def _mark(self) -> tuple[int, ...] | None:
        if isinstance(self.path, str):
            return ()
        try:
            told = (self.path / MANIFEST if self.path.is_dir() else self.path).stat()
        except OSError:
            return None
        return told.st_dev, told.st_ino, told.st_mtime_ns, told.st_size

    def _retire(self) -> None:
        version, self._newest = self._newest, None
        if version is not None:
            _close_if_unread(version)


def _close_if_unread(version: _Version) -> None:
    if not version.readings:
        version.catalog.close()
