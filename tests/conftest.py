"""What all tests share."""

from __future__ import annotations

import os
from pathlib import Path

import hypothesis
import pytest

hypothesis.settings.register_profile("steady", derandomize=True, deadline=None)
hypothesis.settings.load_profile("steady")


@pytest.fixture(scope="session")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a catalogue that holds the greenhouse's lists; to be read only. Processes of one run share it."""
    from browsing import stocked as made
    from filelock import FileLock

    folder = tmp_path_factory.getbasetemp()
    place = (folder.parent if "PYTEST_XDIST_WORKER" in os.environ else folder) / "greenhouse.duckdb"
    with FileLock(f"{place}.made-lock"):
        return place if place.exists() else made(place)
