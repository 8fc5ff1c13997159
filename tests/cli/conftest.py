"""The command as a user calls it, on the greenhouse's catalogue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import CliRunner, Result

from loadworthy import shipped
from loadworthy.cli import main

Call: TypeAlias = Callable[..., Result]


def _call(catalog: Path) -> Call:
    def call(*words: str | Path) -> Result:
        environment = {"LOADWORTHY_CATALOG": str(catalog), "COLUMNS": "80"}
        return CliRunner(env=environment).invoke(main, [str(word) for word in words])

    return call


@pytest.fixture(scope="session")
def lists() -> list[Path]:
    """Return the greenhouse's lists."""
    folder = shipped.catalog_dir() / "greenhouse"
    return sorted(path for path in folder.iterdir() if path.suffix in {".csv", ".tsv", ".txt", ".xlsx"})


@pytest.fixture(scope="session")
def greenhouse(stocked: Path) -> Call:
    """Return the command on a catalogue that holds the greenhouse's lists; to be read only."""
    return _call(stocked)


@pytest.fixture
def fresh(tmp_path: Path) -> Call:
    """Return the command on a catalogue that is not there yet: ``tmp_path / "fresh.duckdb"``."""
    return _call(tmp_path / "fresh.duckdb")
