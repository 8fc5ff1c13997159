"""Where a catalogue stands: a file, the folder of a set of Parquet files, or the address of one."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final
from urllib.parse import unquote, urlsplit

__all__ = ["MANIFEST", "is_set", "place_of", "within"]

#: The file at the top of a set, which says what stands in it.
MANIFEST: Final = "loadworthy-catalog.json"
_ADDRESS: Final = re.compile(r"([a-z][a-z0-9+.\-]+)://", re.IGNORECASE)


def place_of(path: str | Path) -> Path | str:
    """Return where a catalogue stands: a path, or an address such as ``s3://…`` as it is.

    Examples
    --------
    >>> place_of("s3://parts/greenhouse"), place_of("file:///var/parts").as_posix()
    ('s3://parts/greenhouse', '/var/parts')
    """
    scheme = _ADDRESS.match(path) if isinstance(path, str) else None
    if scheme is None:
        return Path(path)
    if scheme[1].lower() == "file":
        return Path(unquote(urlsplit(str(path)).path))
    return str(path).rstrip("/")


def is_set(place: Path | str) -> bool:
    """Say whether a set of Parquet files stands here; an address can only be one."""
    return isinstance(place, str) or (place / MANIFEST).is_file()


def within(place: Path | str, path: str) -> str:
    """Name a file of a set."""
    return f"{place}/{path}" if isinstance(place, str) else str(place.resolve() / path)
