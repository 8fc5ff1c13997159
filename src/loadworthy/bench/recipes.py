"""How a measurement is taken, from ``catalog/bench.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from loadworthy import shipped
from loadworthy.errors import FamilyError

__all__ = ["How", "hows"]


@dataclass(frozen=True, kw_only=True)
class How:
    """One measurement, in words."""

    title: str
    circuit: tuple[str, ...]
    gate: str
    current: str
    pulse: str
    wires: str
    more: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(self).items()}


@cache
def hows() -> dict[str, How]:
    """Return how each kind of part is measured.

    Raises
    ------
    FamilyError
        The file is not sound.

    Examples
    --------
    >>> sorted(hows())
    ['connector', 'fuse', 'load', 'transistor']
    """
    path = shipped.catalog_dir() / "bench.toml"
    try:
        tables = tomllib.loads(path.read_text(encoding="utf-8"))
        return {name: _how(table) for name, table in tables.items()}
    except (tomllib.TOMLDecodeError, TypeError, AttributeError) as error:
        raise FamilyError(
            f"{error} in the measurements' recipes.", where=str(path), way_out="Compare it with a sound entry."
        ) from error


def _how(table: dict[str, Any]) -> How:
    fields: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in table.items()}
    return How(**fields)
