"""Results as JSON text."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

from loadworthy.report.text import STEERING

__all__ = ["json_text"]


def json_text(result: object, *, indent: int | None = 2) -> str:
    """Write a result as JSON, in the order given.

    Letters stay as they are (``Ω``), except those that would steer a terminal: they are escaped. A number
    that is not finite becomes ``null``, as JSON has no word for it.

    Parameters
    ----------
    result
        Dicts, lists, tuples, texts, numbers, booleans, None; anything else is written as its ``str``.
    indent
        Blanks a level; None for one line.

    Examples
    --------
    >>> print(json_text({"unit": "Ω", "junction_degc": float("nan"), "has": [15.0]}))
    {
      "unit": "Ω",
      "junction_degc": null,
      "has": [
        15.0
      ]
    }
    """
    text = json.dumps(_plain(result), ensure_ascii=False, allow_nan=False, indent=indent)
    # The layout's own line breaks stand outside the strings; inside them json has escaped theirs.
    return STEERING.sub(lambda found: "\n" if found.group() == "\n" else f"\\u{ord(found.group()):04x}", text)


def _plain(value: object) -> Any:  # noqa: ANN401 - whatever JSON can say
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [_plain(item) for item in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, (str, int)):
        return value
    return str(value)
