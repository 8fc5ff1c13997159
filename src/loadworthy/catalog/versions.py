"""Writing to a catalogue: a new version is made beside it and takes its place when it is whole.

Whoever reads keeps the version that was opened; one writer is at work at a time. A writer that is stopped, however
hard, leaves the catalogue as it was, and the next one clears away what is left.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import shutil
import stat
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from loadworthy.alone import alone
from loadworthy.catalog.failures import failures_explained
from loadworthy.catalog.places import place_of
from loadworthy.catalog.sessions import attached
from loadworthy.catalog.store import Catalog
from loadworthy.errors import CatalogError

__all__ = ["renewed", "writable"]

#: A writer waits so long for another one: most are done by then, and nobody wants to stand before a silent program.
WAIT_S = 2.0


def writable(path: str | Path) -> Path:
    """Return the file of a catalogue that is to be written to.

    Raises
    ------
    CatalogError
        It is a folder or a set of Parquet files, or no catalogue.
    """
    place = place_of(path)
    with failures_explained(place):
        Catalog.refuse(place)
    return Path(place)


@contextmanager
def renewed(path: str | Path) -> Iterator[Catalog]:
    """Write to a catalogue: everything that is done within the block, or nothing of it.

    Readers see the catalogue as it was until the block is left, then the new version. Transactions within the
    block are the caller's. It must close what it reads by.

    Parameters
    ----------
    path
        The catalogue file; it is made where there is none, and stays absent where the block fails. Of a symbolic
        link, the file that it points to is renewed. A set of Parquet files is only read.

    Yields
    ------
    Catalog
        Open for writing, holding what the catalogue holds.

    Raises
    ------
    CatalogError
        It is a set or no catalogue, another one writes to it, the disk has no room for a second version, or it cannot
        be written to.
    """
    path = writable(path)
    with failures_explained(path):
        target = path.resolve()
        target.parent.mkdir(parents=True, exist_ok=True)
    with _alone(path, target):
        copy = _new_copy(target)
        try:
            with failures_explained(path):
                _remove(_copies(target))
                _copy(path, target, copy)
            catalog = Catalog.to_write(path, file=copy)
            with closing(catalog):
                try:
                    yield catalog
                except BaseException:
                    with suppress(Exception):  # what is thrown away need not be put in order first
                        catalog.connection.execute("PRAGMA disable_checkpoint_on_shutdown")
                    raise
                catalog.settle()
            with failures_explained(path):
                _put_in_place(path, copy, target)
        finally:
            _remove(_copies(target))


@contextmanager
def _alone(path: Path, target: Path) -> Iterator[None]:
    """Keep other writers out."""
    with ExitStack() as held:
        with failures_explained(path):
            place = target.with_name(target.name + ".lock")
            held.enter_context(alone(place, wait_s=WAIT_S, busy=lambda: _busy(path, target)))
        yield


def _busy(path: Path, target: Path) -> CatalogError:
    made = [match for copy in _copies(target) if (match := _copy_name(target).fullmatch(copy.name))]
    by = ""
    if made:
        last = max(made, key=lambda match: int(match["since"]))
        pid, since = int(last["pid"]), datetime.fromtimestamp(int(last["since"]))
        who = "this program itself" if pid == os.getpid() else f"process {pid}"
        by = f" by {who}, since {since:%Y-%m-%d %H:%M:%S}"
    return CatalogError(
        f"the catalogue is being written to{by}.",
        where=str(path),
        way_out="Wait until that has ended and try again; it can be read meanwhile.",
    )


def _new_copy(target: Path) -> Path:
    """Name a file that says who makes it, and since when."""
    return target.with_name(f"{target.name}.renewing-{os.getpid()}-{int(time.time())}-{secrets.token_hex(4)}")


def _copy_name(target: Path) -> re.Pattern[str]:
    """The names of copies, and of what the engine puts beside them."""
    return re.compile(re.escape(target.name) + r"\.renewing-(?P<pid>\d+)-(?P<since>\d+)-[0-9a-f]{8}(\..+)?")


def _copies(target: Path) -> list[Path]:
    """Find the copies that there are. To who holds the lock, they are all of dead writers."""
    name = _copy_name(target)
    return [one for one in target.parent.iterdir() if name.fullmatch(one.name)]


def _remove(copies: list[Path]) -> None:
    for one in copies:
        if one.is_dir():
            shutil.rmtree(one, ignore_errors=True)
        else:
            with suppress(OSError):  # what cannot be taken away now, the next writer finds
                one.unlink(missing_ok=True)


def _copy(path: Path, target: Path, copy: Path) -> None:
    """Copy the catalogue, if there is one. What the engine had not yet put into its file is put there first."""
    Catalog.refuse(target)
    logs = [one for one in target.parent.iterdir() if one.name.startswith(f"{target.name}.wal")]
    if not target.exists():
        _remove(logs)  # they belong to a file that is gone, and the engine would hold them to be the new one's
        return
    if logs:
        with Catalog.to_write(path, file=target) as unsettled:
            unsettled.settle()
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))
    with closing(attached(target)):  # nobody writes into it meanwhile
        there = target.stat()
        _check_room(path, there.st_size)
        os.close(os.open(copy, os.O_CREAT | os.O_EXCL | os.O_WRONLY, stat.S_IRUSR | stat.S_IWUSR))
        shutil.copyfile(target, copy)
        shutil.copymode(target, copy)
        if hasattr(os, "chown") and (there.st_uid, there.st_gid) != (os.geteuid(), os.getegid()):
            with suppress(OSError):  # only some may give files away
                os.chown(copy, there.st_uid, there.st_gid)


def _check_room(path: Path, needed: int) -> None:
    free = shutil.disk_usage(path.resolve().parent).free
    if free < needed:
        raise CatalogError(
            f"the disk has no room for a new version beside it: that takes {_megabytes(needed)} to begin with, "
            f"{_megabytes(free)} are free.",
            where=str(path),
            way_out="Free some space and try again; the catalogue is as it was.",
        )


def _megabytes(size: int) -> str:
    return f"{size / 1e6:,.1f} MB"


def _put_in_place(path: Path, copy: Path, target: Path) -> None:
    try:
        copy.replace(target)
    except PermissionError as error:
        raise CatalogError(
            "the new version could not take its place: another program holds the old one open.",
            where=str(path),
            way_out="Close what reads it and try again; the catalogue is as it was.",
        ) from error
    if os.name != "nt":
        with suppress(OSError):  # so that the new name outlives a power failure, where the file system can do that
            folder = os.open(target.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
