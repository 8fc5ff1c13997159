"""What one works on, in the address: a board's or an order's text, packed to be short."""

from __future__ import annotations

import base64
import binascii
import zlib
from typing import Final

from loadworthy.errors import UsageError

__all__ = ["MOST_LETTERS", "pack", "unpack"]

#: Letters of a text that an address can carry: a board of some two hundred links.
MOST_LETTERS: Final = 60_000


def pack(text: str) -> str:
    """Pack a text so that it can stand in an address.

    Raises
    ------
    UsageError
        It is too long for one.

    Examples
    --------
    >>> unpack(pack("title = 'Bench 2 – 12 V'"))
    "title = 'Bench 2 – 12 V'"
    """
    if len(text) > MOST_LETTERS:
        raise UsageError(
            f"{len(text)} letters are more than an address can carry.",
            way_out=f"Up to {MOST_LETTERS} can; leave comments out, or use the command line for it.",
        )
    return base64.urlsafe_b64encode(zlib.compress(text.encode("utf-8"), 9)).decode("ascii").rstrip("=")


def unpack(packed: str) -> str:
    """Read back what :func:`pack` made.

    Raises
    ------
    UsageError
        It is something else, or was cut short.
    """
    try:
        squeezed = base64.b64decode(packed + "=" * (-len(packed) % 4), altchars=b"-_", validate=True)
        reader = zlib.decompressobj()
        # A letter takes four bytes at most; more than that was not packed here.
        text = reader.decompress(squeezed, 4 * MOST_LETTERS).decode("utf-8")
    except (ValueError, binascii.Error, zlib.error) as error:
        raise _broken() from error
    if not reader.eof:
        raise _broken()
    return text


def _broken() -> UsageError:
    return UsageError(
        "the address does not hold a whole board or order; it was cut short somewhere.",
        way_out="Open the page from a bookmark that holds all of it, or begin anew.",
    )
