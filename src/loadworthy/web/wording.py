"""Words of the command line as a page says them: an option is a field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

__all__ = ["as_fields", "field_called"]

_OPTION: Final = re.compile(r"(?<![\w-])--([a-z][a-z-]*[a-z])")
#: Options that are called otherwise on a page.
_CALLED: Final = {
    "kelvin": "four wires",
    "how": "How to measure it",
    "keep": "Keep it",
    "temp": "temperature before",
    "vth": "threshold",
    "reading": "resistance",
    "link": "which transistor it is",
}


def as_fields(told: Any) -> Any:  # noqa: ANN401 - whatever is told
    """Let every text say the names of fields in place of options.

    Parameters
    ----------
    told
        A text, or tables and lists of texts; what is no text stays.

    Examples
    --------
    >>> as_fields("Give --gate-capacitance or --kelvin.")
    'Give ‘gate capacitance’ or ‘four wires’.'
    """
    if isinstance(told, str):
        return _OPTION.sub(lambda match: f"‘{field_called(match.group(1))}’", told)
    if isinstance(told, Mapping):
        return {key: as_fields(value) for key, value in told.items()}
    if isinstance(told, (list, tuple)):
        return [as_fields(value) for value in told]
    return told


def field_called(option: str) -> str:
    """Return what a page calls the field of an option."""
    return _CALLED.get(option, option.replace("-", " ").replace("_", " "))
