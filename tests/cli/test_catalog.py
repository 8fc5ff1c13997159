"""What the catalogue holds, as seen from the command."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result

from loadworthy import shipped
from loadworthy.catalog import families
from loadworthy.catalog.versions import renewed

Call: TypeAlias = Callable[..., Result]


@pytest.mark.parametrize("words", [(), ("--lists",), ("--refused",), ("--parts", "transistor")])
def test_a_missing_catalogue_says_how_to_fill_one(fresh: Call, words: tuple[str, ...], tmp_path: Path) -> None:
    """Status 2, where it was looked for, and the command that fills it."""
    result = fresh("catalog", *words)
    assert result.exit_code == 2
    assert str(tmp_path / "fresh.duckdb") in result.stderr
    assert "loadworthy intake" in result.stderr


def test_the_summary_names_families_lists_and_completeness(greenhouse: Call, lists: list[Path]) -> None:
    """One screen: what is there, how much of it is known, where it came from."""
    text = greenhouse("catalog").stdout
    assert "transistor" in text
    assert "%" in text
    assert all(path.name in text for path in lists)


def test_the_counts_are_the_same_in_every_format(greenhouse: Call) -> None:
    """Parts and offers in the table, in JSON and in CSV."""
    families = json.loads(greenhouse("catalog", "--format", "json").stdout)["families"]
    rows = list(csv.DictReader(io.StringIO(greenhouse("catalog", "--format", "csv").stdout)))
    lines = [line.split() for line in greenhouse("catalog").stdout.splitlines()]
    assert [family["family"] for family in families] == [row["family"] for row in rows]
    assert {"connector", "fuse", "transistor"} < {row["family"] for row in rows}
    for family, row in zip(families, rows, strict=True):
        assert (row["parts"], row["offers"]) == (str(family["parts"]), str(family["offers"]))
        assert [row["family"], row["parts"], row["offers"]] in lines


def test_refused_cells_name_list_row_column_text_and_reason(greenhouse: Call) -> None:
    """Enough to find the cell in the supplier's file."""
    rows = list(csv.DictReader(io.StringIO(greenhouse("catalog", "--refused", "--format", "csv").stdout)))
    assert rows
    assert all(row["file"] and row["record"] and row["reason"] for row in rows)
    text = " ".join(greenhouse("catalog", "--refused").stdout.split())
    assert all(" ".join(row["text"].split()) in text for row in rows)


@pytest.mark.parametrize(("family", "figure"), [("transistor", "vds_v"), ("connector", "pitch_m"), ("fuse", "trip_a")])
def test_parts_come_out_whole(family: str, figure: str, greenhouse: Call) -> None:
    """As many lines as parts, SI figures that read back as numbers, within what the family's description allows."""
    held = json.loads(greenhouse("catalog", "--format", "json").stdout)["families"]
    rows = list(csv.DictReader(io.StringIO(greenhouse("catalog", "--parts", family, "--format", "csv").stdout)))
    assert len(rows) == next(one["parts"] for one in held if one["family"] == family)
    figures = families.load(family).figures
    low, high = next(one.plausible for one in figures if figure in {kept.column for kept in one.store})
    given = [float(row[figure]) for row in rows if row[figure]]
    assert given
    assert all(low <= value <= high for value in given)


def test_an_unknown_family_is_wrong_use(greenhouse: Call) -> None:
    """Status 2, and which there are."""
    result = greenhouse("catalog", "--parts", "teapot")
    assert result.exit_code == 2
    assert "teapot" in result.stderr
    assert "transistor" in result.stderr


def test_two_questions_at_once_are_wrong_use(greenhouse: Call) -> None:
    """They exclude one another."""
    assert greenhouse("catalog", "--lists", "--refused").exit_code == 2


def test_the_limit_of_refused_lines_is_told(greenhouse: Call) -> None:
    """Whoever sees the first ones learns that there may be more."""
    result = greenhouse("catalog", "--refused", "--limit", "1", "--format", "csv")
    assert len(list(csv.DictReader(io.StringIO(result.stdout)))) == 1
    assert "--limit" in result.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("catalog", "--parts", "transistor"),
        ("choose", "transistor", "--supply", "12V", "--current", "1A"),
        ("explain", "transistor", "GH-1", "--supply", "12V", "--current", "1A"),
    ],
)
def test_an_empty_catalogue_says_how_to_fill_it(fresh: Call, words: tuple[str, ...], tmp_path: Path) -> None:
    """A catalogue that was made and never filled: status 2 and the command that fills it."""
    with renewed(tmp_path / "fresh.duckdb"):
        pass
    result = fresh(*words)
    assert result.exit_code == 2
    assert "it holds no transistor" in result.stderr
    assert "loadworthy intake" in result.stderr


def test_the_summary_of_an_empty_catalogue_says_how_to_fill_it(fresh: Call, tmp_path: Path) -> None:
    """Looking is no mistake: status 0, and the command that fills it."""
    with renewed(tmp_path / "fresh.duckdb"):
        pass
    result = fresh("catalog")
    assert result.exit_code == 0
    assert "loadworthy intake" in result.stderr


def test_a_cut_off_catalogue_is_told_as_such(greenhouse: Call, tmp_path: Path, lists: list[Path]) -> None:
    """A file that lost its end, as after a broken copy: the message is about the file."""
    whole, cut = tmp_path / "whole.duckdb", tmp_path / "cut.duckdb"
    greenhouse("intake", lists[0], "--catalog", whole)
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 4])
    result = greenhouse("choose", "transistor", "--supply", "12V", "--current", "1A", "--catalog", cut)
    assert result.exit_code == 2
    assert "cut.duckdb" in result.stderr
    assert "fault of the program" not in result.stderr


def test_an_exported_catalogue_is_read_by_every_command(greenhouse: Call, tmp_path: Path) -> None:
    """What is asked of the folder is answered, letter by letter, as the file answers it."""
    folder, board = tmp_path / "as parquet", shipped.catalog_dir() / "greenhouse" / "board.toml"
    done = greenhouse("catalog", "--export", folder, "--format", "csv")
    assert done.exit_code == 0, done.output
    assert done.stdout.splitlines()[0] == "table,rows,files,bytes"
    assert f"--catalog {folder}" in " ".join(done.stderr.split())
    need = ("--supply", "12V", "--current", "5A")
    part = "VYZ30564-20U"
    for words in (
        ("catalog", "--lists", "--format", "csv"),
        ("catalog", "--refused", "--format", "csv"),
        ("choose", "transistor", *need, "--format", "json"),
        ("explain", "transistor", part, *need, "--format", "json"),
        ("audit", board, "--choose", "--format", "json"),
        ("shop", board.with_name("order.toml"), "--format", "json"),
        ("bench", "transistor", part, "--drop", "10mV", "--current", "5A", "--gate", "5V", "--format", "json"),
    ):
        file, exported = greenhouse(*words), greenhouse(*words, "--catalog", folder)
        assert (exported.exit_code, exported.stdout) == (file.exit_code, file.stdout), words
        assert file.stdout


def test_what_writes_refuses_an_exported_catalogue(greenhouse: Call, tmp_path: Path, lists: list[Path]) -> None:
    """Lists and measurements go into the file."""
    assert greenhouse("catalog", "--export", tmp_path / "set").exit_code == 0
    typed = ("--drop", "10mV", "--current", "5A", "--gate", "5V", "--keep", "--supplier", "Tidemill")
    for words in (("intake", lists[0]), ("bench", "transistor", "VYZ30564-20U", *typed)):
        done = greenhouse(*words, "--catalog", tmp_path / "set")
        assert done.exit_code == 2
        assert "only read" in done.stderr


def test_an_export_stands_alone(greenhouse: Call, tmp_path: Path) -> None:
    """It is no way to show something, and nothing of the user's is written over."""
    assert "exclude one another" in greenhouse("catalog", "--export", tmp_path / "set", "--lists").stderr
    (tmp_path / "mine.txt").write_text("mine")
    done = greenhouse("catalog", "--export", tmp_path)
    assert done.exit_code == 2
    assert "holds other things" in done.stderr
    told = greenhouse("catalog", "--export", tmp_path / "set", "--format", "json")
    assert json.loads(told.stdout)["tables"]["stored_transistor"]["divided_by"] == ["channel", "package"]
