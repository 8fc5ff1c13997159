"""Where dropped files wait until they are taken in or discarded: a folder of this process, gone with it.

Files stand there under names that mean nothing. What a browser called them is a label, and never part of a path.
"""

from __future__ import annotations

import re
import secrets
import shutil
import tempfile
import threading
import time
import weakref
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any, Final, Generic, TypeVar

from loadworthy.errors import UsageError
from loadworthy.report.text import clean

__all__ = ["Dropped", "Entry", "NotThere", "Spool", "label"]

#: Entries that wait at once, their bytes, and how long one waits that nobody looks at.
MOST_ENTRIES: Final = 16
MOST_BYTES: Final = 1 << 30
LONGEST_S: Final = 3600.0
#: Files that come in one drop.
MOST_FILES: Final = 20
#: At the end of the process, what is going on has so long to come to its own end.
_LAST_S: Final = 3.0
_LONGEST_LABEL: Final = 120
_CHUNK: Final = 1 << 20
_TOKEN: Final = re.compile(r"[A-Za-z0-9_-]{22}")

_Kept = TypeVar("_Kept")


class NotThere(UsageError):  # noqa: N818 - it names what became of it
    """What was dropped is no longer there, or never was."""


@dataclass(frozen=True, kw_only=True)
class Dropped:
    """A file as it was dropped: where it stands, and what it was called."""

    path: Path
    name: str
    size: int


@dataclass(eq=False, kw_only=True)
class Entry(Generic[_Kept]):
    """What came in one drop, and what is kept of the work on it."""

    token: str
    folder: Path
    files: tuple[Dropped, ...]
    kept: _Kept
    touched: float
    busy: int = 0
    gone: bool = False

    @property
    def size(self) -> int:
        """Bytes on the disk."""
        return sum(one.size for one in self.files)


@dataclass(eq=False)
class _Place:
    """The folder and who waits in it; outlives the spool until the folder is gone."""

    entries: dict[str, Entry[Any]] = field(default_factory=dict)
    folder: Path | None = None
    closed: threading.Event = field(default_factory=threading.Event)


class Spool(Generic[_Kept]):
    """Files that wait, each drop under a token that nobody can guess.

    Parameters
    ----------
    fresh
        Makes what is kept beside a drop.
    clock
        Seconds that only grow.
    """

    def __init__(self, fresh: Callable[[], _Kept], *, clock: Callable[[], float] = time.monotonic) -> None:
        self._fresh = fresh
        self._clock = clock
        self._lock = threading.RLock()
        self._place = _Place()
        self._end = weakref.finalize(self, _clear, self._place)

    def put(self, uploads: Iterable[tuple[str, IO[bytes]]]) -> Entry[_Kept]:
        """Write files into the spool; the oldest drops make room where there is none.

        Parameters
        ----------
        uploads
            What each is called, and its bytes.

        Raises
        ------
        UsageError
            There is no file, there are too many, or all that waits is at work.
        """
        token = secrets.token_urlsafe(16)
        folder = self._root() / secrets.token_hex(8)
        folder.mkdir(mode=0o700)
        try:
            files = tuple(_written(folder, uploads))
            entry = Entry(token=token, folder=folder, files=files, kept=self._fresh(), touched=self._clock())
            with self._lock:
                self._make_room(entry.size)
                self._entries[token] = entry
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        return entry

    def find(self, token: str) -> Entry[_Kept]:
        """Return a drop.

        Raises
        ------
        NotThere
            It is none, or it waited too long.
        """
        with self._lock:
            self.expire()
            entry = self._entries.get(token) if _TOKEN.fullmatch(token) else None
            if entry is None:
                raise NotThere(
                    "the file that was dropped there does not wait any longer; what was confirmed is in the catalogue.",
                    way_out="Drop it again on the page of the catalogue.",
                )
            entry.touched = self._clock()
            return entry

    def expire(self) -> None:
        """Let go of what nobody has looked at for an hour."""
        with self._lock:
            for entry in list(self._entries.values()):
                if not entry.busy and self._clock() - entry.touched >= LONGEST_S:
                    self.discard(entry)

    def discard(self, entry: Entry[_Kept]) -> None:
        """Let go of a drop; work that is going on over it finds its end."""
        with self._lock:
            entry.gone = True
            self._entries.pop(entry.token, None)
            if not entry.busy:
                shutil.rmtree(entry.folder, ignore_errors=True)

    def empty(self, entry: Entry[_Kept]) -> None:
        """Remove a drop's files, and keep what is kept beside them."""
        with self._lock:
            shutil.rmtree(entry.folder, ignore_errors=True)
            entry.files = ()

    @contextmanager
    def at_work(self, entry: Entry[_Kept]) -> Iterator[None]:
        """Keep a drop's files in place while something is done with them."""
        with self._lock:
            entry.busy += 1
        try:
            yield
        finally:
            with self._lock:
                entry.busy -= 1
                entry.touched = self._clock()
                if entry.gone and not entry.busy:
                    shutil.rmtree(entry.folder, ignore_errors=True)

    def close(self) -> None:
        """Let go of everything and remove the folder."""
        self._end()

    @property
    def folder(self) -> Path | None:
        """The folder, once there is one."""
        return self._place.folder

    @property
    def _entries(self) -> dict[str, Entry[_Kept]]:
        return self._place.entries

    def _root(self) -> Path:
        with self._lock:
            if self._place.closed.is_set():
                raise NotThere("the program is ending.", way_out="Start it again with: loadworthy serve")
            if self._place.folder is None:
                self._place.folder = Path(tempfile.mkdtemp(prefix="loadworthy-dropped-"))
                threading.Thread(target=_watch, args=(weakref.ref(self), self._place.closed), daemon=True).start()
            return self._place.folder

    def _make_room(self, size: int) -> None:
        self.expire()
        idle = sorted((one for one in self._entries.values() if not one.busy), key=lambda one: one.touched)
        while len(self._entries) >= MOST_ENTRIES or sum(one.size for one in self._entries.values()) + size > MOST_BYTES:
            if not idle:
                raise UsageError(
                    "too many lists are being read at once.", way_out="Wait until some of them are done and try again."
                )
            self.discard(idle.pop(0))


def label(name: str) -> str:
    r"""Make a file's name as a browser gives it fit to be shown and kept: its last part, without what steers.

    Examples
    --------
    >>> label("../../etc/passwd"), label("C:\\lists\\Müller & Co.csv"), label("a\x1b[2J\n.csv"), label("..")
    ('passwd', 'Müller & Co.csv', 'a␛[2J .csv', 'list')
    """
    last = " ".join(clean(re.split(r"[/\\]", name)[-1]).split()).strip(". ")
    if len(last) > _LONGEST_LABEL:
        stem, dot, ending = last.rpartition(".")
        short = dot and len(ending) <= 8
        last = f"{stem[: _LONGEST_LABEL - 9]}….{ending}" if short else f"{last[: _LONGEST_LABEL - 1]}…"
    return last or "list"


def _written(folder: Path, uploads: Iterable[tuple[str, IO[bytes]]]) -> Iterator[Dropped]:
    number = 0
    for number, (name, stream) in enumerate(uploads, 1):
        if number > MOST_FILES:
            raise UsageError(f"these are more than {MOST_FILES} files.", way_out="Drop them in several turns.")
        path = folder / secrets.token_hex(8)
        with path.open("xb") as file:
            shutil.copyfileobj(stream, file, _CHUNK)
            size = file.tell()
        yield Dropped(path=path, name=label(name), size=size)
    if not number:
        raise UsageError("no file was chosen.", way_out="Choose one on the page of the catalogue, or drop it there.")


def _watch(spool: weakref.ref[Spool[Any]], closed: threading.Event) -> None:
    """Let go of what waited too long, also where nobody asks for a page any more."""
    while not closed.wait(60.0):
        there = spool()
        if there is None:
            return
        there.expire()
        del there


def _clear(place: _Place) -> None:
    """Remove the folder. What is at work is told to end and has a moment for it."""
    place.closed.set()
    entries = list(place.entries.values())
    for entry in entries:
        entry.gone = True
    end = time.monotonic() + _LAST_S
    while any(entry.busy for entry in entries) and time.monotonic() < end:
        time.sleep(0.02)
    place.entries.clear()
    if place.folder is not None:
        shutil.rmtree(place.folder, ignore_errors=True)
