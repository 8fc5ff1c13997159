"""Where the shipped data stands: part families, packages, the demo, and the queries."""

from __future__ import annotations

from functools import cache
from pathlib import Path

__all__ = ["catalog_dir", "queries_dir", "query"]


@cache
def _root() -> Path:
    """Inside a wheel the data travels in ``_shipped``; in a checkout it stands at the top."""
    here = Path(__file__).resolve().parent
    inside = here / "_shipped"
    return inside if inside.is_dir() else here.parents[1]


def catalog_dir() -> Path:
    """Return the folder with ``families/``, ``packages.toml`` and ``greenhouse/``."""
    return _root() / "catalog"


def queries_dir() -> Path:
    """Return the folder with the SQL files."""
    return _root() / "queries"


def query(name: str) -> str:
    """Return the text of the SQL file ``name`` (without its ending)."""
    return (queries_dir() / f"{name}.sql").read_text(encoding="utf-8")
