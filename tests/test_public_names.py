"""What ``import loadworthy`` offers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import loadworthy


def test_every_public_name_is_there_and_listed_in_order() -> None:
    """``__all__`` names what can be had, and nothing else is offered by accident."""
    for name in loadworthy.__all__:
        assert getattr(loadworthy, name) is not None
    assert set(loadworthy.__all__) <= set(dir(loadworthy))
    assert loadworthy.__version__


def test_importing_loads_nothing_else() -> None:
    """The package starts at once: its parts come when they are used."""
    heavy = ("duckdb", "numpy", "pandas", "pint", "pyarrow")
    code = f"import sys, loadworthy; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run(  # noqa: S603 - our own interpreter
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_name_that_is_not_there_is_an_attribute_error() -> None:
    """A slip of the pen is told as everywhere in Python."""
    with pytest.raises(AttributeError, match="no attribute 'chose'"):
        loadworthy.chose  # noqa: B018


def test_the_whole_job_from_python(tmp_path: Path) -> None:
    """Lists in, a need of texts or pint quantities, a selection out as rows, data frame and Arrow table."""
    import pint

    from loadworthy import shipped

    lists = sorted((shipped.catalog_dir() / "greenhouse").glob("*.[ct]s*"))
    reports = loadworthy.intake(tmp_path / "parts.duckdb", lists)
    assert [report.outcome for report in reports] == ["new"] * len(lists)
    unit = pint.UnitRegistry()
    typed = loadworthy.TransistorNeed(supply="12V", resistance="1R6", drive="5V", ambient="40degC")
    given = loadworthy.TransistorNeed(
        supply=12 * unit.volt, resistance=1600 * unit.milliohm, drive=5 * unit.volt, ambient=unit.Quantity(40, "degC")
    )
    with loadworthy.Catalog.open(tmp_path / "parts.duckdb") as catalog:
        one = loadworthy.choose(catalog, typed, top=5)
        other = loadworthy.choose(catalog, given, top=5)
        assert one.ranked == other.ranked
        assert len(one.ranked) == 5
        frame, table = one.to_pandas(), one.to_arrow()
        assert list(frame["part_number"]) == [row["part_number"] for row in one.ranked]
        assert table.column("conduction_loss_w").to_pylist() == sorted(row["conduction_loss_w"] for row in one.ranked)
        told = loadworthy.explain(catalog, one.ranked[0]["part_number"], typed)
        assert {line.verdict for line in told.criteria} == {"pass"}


def test_a_board_from_python(tmp_path: Path) -> None:
    """A board read, audited, mended from a catalogue, and held against another supply."""
    from loadworthy import shipped

    folder = shipped.catalog_dir() / "greenhouse"
    lists = [folder / "thistledown-terminals.csv", folder / "sparrowgate-fuses.txt", folder / "thistledown.csv"]
    loadworthy.intake(tmp_path / "parts.duckdb", lists)
    board = loadworthy.read_board(folder / "board.toml")
    assert not loadworthy.audit(board).carries
    with loadworthy.Catalog.open(tmp_path / "parts.duckdb") as catalog:
        mended = loadworthy.mend(board, catalog)
    assert mended.before.as_json() == loadworthy.audit(board).as_json()
    chosen = [one.chosen["part_number"] for one in mended.replacements if one.chosen is not None]
    assert chosen
    assert not loadworthy.what_if(board, 24.0).then.carries
