"""Which version this is."""

from __future__ import annotations

import tomllib
from importlib import metadata

from loadworthy import shipped

__all__ = ["version"]


def version() -> str:
    """Return the version of the installed package, or of the checkout it runs from."""
    try:
        return metadata.version("loadworthy")
    except metadata.PackageNotFoundError:
        project = shipped.catalog_dir().parent / "pyproject.toml"
        return str(tomllib.loads(project.read_text(encoding="utf-8"))["project"]["version"])
