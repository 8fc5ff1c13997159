"""The engine's failures, and the disk's, in words that name the file and the way out."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from loadworthy.errors import CatalogError

__all__ = ["failures_explained"]


@contextmanager
def failures_explained(path: Path | str) -> Iterator[None]:
    """Turn the engine's failures into errors that name the file and the way out."""
    try:
        yield
    except duckdb.Error as error:
        raise _explained(error, path) from error
    except PermissionError as error:
        raise CatalogError(
            "may not be read or written.",
            where=str(path),
            way_out="Check its permissions, or name another with --catalog.",
        ) from error
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise _no_space(path) from error
        raise CatalogError(
            f"cannot be used: {error.strerror or error}.",
            where=str(path),
            way_out="Free some space or name another with --catalog.",
        ) from error


def _no_space(path: Path | str) -> CatalogError:
    return CatalogError(
        "there is no space left on the disk; what was being written is not in the catalogue.",
        where=str(path),
        way_out="Free some space and try again.",
    )


def _explained(error: duckdb.Error, path: Path | str) -> CatalogError:
    text = str(error)
    low = text.lower()
    if "set lock" in low or "conflicting lock" in low or "being used by another" in low:
        return CatalogError(
            "the catalogue is held open by another process that writes to it.",
            where=str(path),
            way_out="Wait until that one has ended and try again.",
        )
    if "different configuration" in low:
        return CatalogError(
            "the catalogue is open in this program in another way.",
            where=str(path),
            way_out="Close it there first.",
        )
    if "no space" in low or "disk full" in low or "could not write" in low or "failed to write" in low:
        return _no_space(path)
    if (
        "not a valid duckdb" in low
        or "serializ" in low
        or "checksum" in low
        or "corrupt" in low
        or "version number" in low
    ):
        return CatalogError(
            "it is not a catalogue, or it is damaged.",
            where=str(path),
            way_out="Name another file with --catalog; a damaged one is made anew by taking the lists in again.",
        )
    if "cannot open" in low or "permission" in low or "is a directory" in low:
        return CatalogError(
            "the catalogue cannot be opened.",
            where=str(path),
            way_out="Check that it is a file that you may read and write.",
        )
    return CatalogError(
        f"the catalogue's engine failed: {text.splitlines()[0]}",
        where=str(path),
        way_out="Take the lists in again into a new file.",
    )
