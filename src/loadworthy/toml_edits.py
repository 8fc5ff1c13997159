"""A TOML text changed in one place, while all else in it stays as its owner wrote it, comments and blanks too."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from typing import Any

__all__ = ["edited"]

_MARK = "\ufeff"


def edited(text: str, change: Callable[[Any], None]) -> str | None:
    r"""Change a text.

    The change is made twice, in the text and in what the text says, and is taken only where both then say the same:
    no writer of TOML is trusted with somebody's file.

    Parameters
    ----------
    text
        A sound TOML text.
    change
        Changes the tables that it is given, with what dictionaries and lists can do.

    Returns
    -------
    str or None
        The new text, its lines ended as those of the old one; None where it cannot be written.

    Examples
    --------
    >>> edited("boards = 3   # one a bench\n", lambda tables: tables.update(boards=4))
    'boards = 4   # one a bench\n'
    """
    import tomlkit  # noqa: PLC0415 - slow to start, and few write into a file
    from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415 - as above

    plain = text.removeprefix(_MARK)
    said = tomllib.loads(plain)
    change(said)
    try:
        document = tomlkit.parse(plain)
        change(document)
        new = tomlkit.dumps(document)
        if "\r\n" in plain:
            new = re.sub(r"\r?\n", "\r\n", new)
        same = tomllib.loads(new) == said
    except (TOMLKitError, tomllib.TOMLDecodeError):
        return None
    return text[: len(text) - len(plain)] + new if same else None
