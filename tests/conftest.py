"""What all tests share."""

from __future__ import annotations

from pathlib import Path

import hypothesis
import pytest

hypothesis.settings.register_profile("steady", derandomize=True, deadline=None)
hypothesis.settings.load_profile("steady")


@pytest.fixture(scope="session")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a catalogue that holds the greenhouse's lists; to be read only."""
    from loadworthy import shipped
    from loadworthy.catalog.intake import intake

    place = tmp_path_factory.mktemp("greenhouse") / "catalog.duckdb"
    folder = shipped.catalog_dir() / "greenhouse"
    lists = sorted(path for path in folder.iterdir() if path.suffix in {".csv", ".tsv", ".txt", ".xlsx"})
    intake(place, lists)
    return place
