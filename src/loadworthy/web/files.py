"""Files that a page gives: what they are called, and what they are."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from flask import Response

__all__ = ["attached", "file_name"]

_TYPES: Final = {
    ".html": "text/html; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".md": "text/markdown; charset=utf-8",
    ".json": "application/json",
    ".toml": "application/toml",
}


def file_name(title: str, usual: str) -> str:
    """Make the name of a file from a title: letters, digits and hyphens, which every system takes.

    Parameters
    ----------
    title
        Anything.
    usual
        The name where nothing of the title is left.

    Examples
    --------
    >>> file_name("Gewächshaus: Frühjahr", "order"), file_name("../../", "order")
    ('gewachshaus-fruhjahr', 'order')
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-") or usual


def attached(data: bytes, *, title: str, usual: str, ending: str) -> Response:
    """Answer with a file to be kept."""
    head = {"Content-Disposition": f'attachment; filename="{file_name(title, usual)}{ending}"'}
    return Response(data, headers=head, content_type=_TYPES[ending])
