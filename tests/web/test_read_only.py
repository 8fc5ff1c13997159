"""The pages over a catalogue that was exported: all of it can be asked, nothing can be written."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest

from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog


@pytest.fixture(scope="module")
def exported(stocked: Path, opened: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a client over the greenhouse's catalogue as Parquet files."""
    folder = tmp_path_factory.mktemp("exported") / "set"
    with Catalog.open(stocked) as catalog:
        export(catalog, folder)
    return opened(folder)


_NEED = {"supply": "12V", "current": "7.5A"}
_MEASURED = {"part": "BRQ33324-40L", "drop": "96.0mV", "current": "6.00A", "gate": "5V"}


@pytest.mark.parametrize("page", ["/need/transistor", "/need/connector", "/bench/transistor", "/catalog/refused"])
def test_a_page_answers_as_over_the_file(exported: Any, client: Any, page: str) -> None:
    """The same ranked list, the same claims, the same refusals, letter by letter."""
    asked = _MEASURED if page.startswith("/bench") else _NEED if page.startswith("/need") else {}
    ours, theirs = exported.get(page, query_string=asked), client.get(page, query_string=asked)
    assert ours.status_code == theirs.status_code == 200
    told = "is only read: open the catalogue file"
    form = theirs.text.partition("<h3>Keep it in the catalogue</h3>")
    if not form[1]:
        assert ours.text == theirs.text
        return
    assert ours.text.startswith(form[0])
    assert told in ours.text
    assert told not in theirs.text


def test_the_catalogue_page_says_that_it_is_only_read(exported: Any) -> None:
    """It shows what is in it, and offers nothing to drop a list on."""
    page = exported.get("/catalog").text
    assert "which is only read" in page
    assert "data-drop" not in page
    assert "Parts by family" in page


def test_what_would_be_written_is_refused_with_the_reason(exported: Any) -> None:
    """Whoever sends a list or a measurement all the same is told."""
    kept = exported.post("/bench/transistor/keep", data={**_MEASURED, "supplier": "Tidemill"})
    assert kept.status_code == 503
    assert "only read" in kept.text
    file = (io.BytesIO(b"Part,VDS (V),RDS(on) max (mOhm) @ 4.5V\nX1,30,5\nX2,30,6\n"), "list.csv")
    dropped = exported.post("/catalog/look", data={"file": file}, content_type="multipart/form-data")
    assert dropped.status_code == 503
    assert "only read" in dropped.text
