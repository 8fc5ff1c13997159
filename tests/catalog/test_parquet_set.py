"""A catalogue written as Parquet files, and read from them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pyarrow.parquet
import pytest

from loadworthy.catalog import exporting
from loadworthy.catalog.exporting import export
from loadworthy.catalog.intake import intake
from loadworthy.catalog.places import MANIFEST
from loadworthy.catalog.schema import SCHEMA_VERSION
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed
from loadworthy.errors import CatalogError, LoadworthyError


def everything(catalog: Catalog) -> dict[str, list[str]]:
    """Return every row of every table and view, as text; claims as the view writes them out."""
    names = catalog.rows("SELECT table_name AS n FROM information_schema.tables ORDER BY n")
    return {
        row["n"]: sorted(map(repr, catalog.rows(f'SELECT * FROM "{row["n"]}"')))
        for row in names
        if row["n"] not in ("about", "laid", "offer_rows")  # which version wrote it, and how its file is laid
        and not row["n"].startswith(("disputed_", "concurring_"))
    }


@pytest.fixture(scope="module")
def written(stocked: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the greenhouse's catalogue as Parquet files; to be read only."""
    folder = tmp_path_factory.mktemp("exported") / "set"
    with Catalog.open(stocked) as catalog:
        export(catalog, folder)
    return folder


@pytest.fixture
def copied(written: Path, tmp_path: Path) -> Path:
    """Return a copy to be spoilt."""
    return Path(shutil.copytree(written, tmp_path / "copy"))


@pytest.fixture
def from_file(stocked: Path) -> Iterator[Catalog]:
    """Open the file."""
    with Catalog.open(stocked) as catalog:
        yield catalog


def test_a_set_holds_every_table_and_view_of_the_file(from_file: Catalog, written: Path) -> None:
    """Nothing is lost, changed or added: parts, claims, offers, lists, refusals, measurements."""
    with Catalog.open(written) as catalog:
        assert everything(catalog) == everything(from_file)
        assert {**catalog.summary().as_json(), "path": ""} == {**from_file.summary().as_json(), "path": ""}
        assert catalog.holds("transistor")
        assert catalog.parts("fuse").equals(from_file.parts("fuse"))
        schema, ours = catalog.rows("SELECT * FROM about")[0].values()
    assert (schema, ours.split()[0]) == (SCHEMA_VERSION, "loadworthy")


def test_parts_stand_by_family_channel_and_package_and_offers_by_family(written: Path) -> None:
    """Each file holds one kind, and says in itself what its folder's name says; another reader finds the same."""
    files = sorted((written / "parts" / "family=transistor").rglob("*.parquet"))
    assert len(files) > 10
    for file in files:
        channel, package = (part.partition("=")[2] for part in file.relative_to(written).parts[2:4])
        table = pyarrow.parquet.ParquetFile(file).read()
        assert set(table["channel"].to_pylist()) == {channel}
        assert {name.replace(" ", "%20") for name in table["package"].to_pylist()} == {package}
    assert {file.parent.name for file in (written / "offers").rglob("*.parquet")} >= {"family=fuse", "family=wire"}


def test_parquet_read_by_another_library_says_what_the_catalogue_says(from_file: Catalog, written: Path) -> None:
    """Arrow's own reader, which is not DuckDB's, finds the same figures, texts and curves."""
    for table in ("stored_connector", "offers", "lists"):
        paths = json.loads((written / MANIFEST).read_text("utf-8"))["tables"][table]["files"]
        read = [row for one in paths for row in pyarrow.parquet.ParquetFile(written / one["path"]).read().to_pylist()]
        assert sorted(map(repr, read)) == sorted(map(repr, from_file.rows(f'SELECT * FROM "{table}"')))


def test_a_set_says_its_schema_and_how_much_it_holds(from_file: Catalog, written: Path) -> None:
    """The counts in the manifest are the catalogue's; each file names its table and the schema too."""
    told = json.loads((written / MANIFEST).read_text("utf-8"))
    assert told["schema"] == SCHEMA_VERSION
    table = told["tables"]["stored_transistor"]
    stated = from_file.rows("SELECT count(*) AS rows, count(differs) AS stated FROM stored_transistor")[0]
    assert table["rows"] == stated["rows"] == sum(file["rows"] for file in table["files"])
    assert table["stated"]["differs"] == stated["stated"] < table["rows"]
    assert table["divided_by"] == ["channel", "package"]
    for file in table["files"]:
        path = written / file["path"]
        assert file["bytes"] == path.stat().st_size
        meta = pyarrow.parquet.ParquetFile(path).metadata
        assert meta.num_rows == file["rows"]
        assert meta.row_group(0).column(0).compression == "ZSTD"
        assert meta.metadata[b"loadworthy_table"] == b"stored_transistor"
        assert meta.metadata[b"loadworthy_schema"] == str(SCHEMA_VERSION).encode()


@pytest.mark.parametrize("name", ["a b", "it's [one] {two} *?", "Gewächshaus ½", "100%25"])
def test_a_folder_may_be_called_anything(from_file: Catalog, tmp_path: Path, name: str) -> None:
    """Quotes, and signs that mean a pattern elsewhere, stand for themselves."""
    export(from_file, tmp_path / name)
    with Catalog.open(str(tmp_path / name)) as catalog:
        assert everything(catalog) == everything(from_file)


def test_packages_of_any_spelling_come_back_as_they_were(shelf: Any, tmp_path: Path) -> None:
    """What looks like a number or a path, has other letters or is not said: the folder's name changes nothing."""
    packages = ("1206", "0603", "A/B", "Gehäuse ½", "a=b", "sot-23 X", "SOT-23 x", ".", "..", "%41", "", "it's")
    rows = [shelf.row(**{"Part number": f"P-{number}", "Package": text}) for number, text in enumerate(packages)]
    shelf.take_in(shelf.text(rows))
    with Catalog.open(shelf.path) as catalog:
        manifest = export(catalog, tmp_path / "set")
        told = everything(catalog)
    assert len(manifest.tables["stored_transistor"].files) > 5
    assert all((tmp_path / "set" / "parts") in path.parents for path in (tmp_path / "set").rglob("package=*"))
    with Catalog.open(tmp_path / "set") as catalog:
        assert everything(catalog) == told


def test_a_family_of_too_many_kinds_stays_whole(
    from_file: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hundreds of files of a few rows would cost more to open than they save."""
    monkeypatch.setattr(exporting, "_MOST_FILES", 5)
    table = export(from_file, tmp_path / "set").tables["stored_transistor"]
    assert len(table.files) == 1
    assert table.divided_by == ()
    with Catalog.open(tmp_path / "set") as catalog:
        assert everything(catalog) == everything(from_file)


def test_an_earlier_set_is_replaced_whole(from_file: Catalog, copied: Path) -> None:
    """Files of the earlier one do not stay behind, nor anything half-done beside it."""
    (copied / "parts" / "left.parquet").write_bytes(b"from before")
    export(from_file, copied)
    assert not (copied / "parts" / "left.parquet").exists()
    assert [path.name for path in copied.parent.iterdir()] == [copied.name]


def test_a_set_can_be_exported_again_even_onto_itself(written: Path, copied: Path) -> None:
    """It is a catalogue as any other."""
    with Catalog.open(copied) as catalog:
        export(catalog, copied)
    with Catalog.open(copied) as again, Catalog.open(written) as first:
        assert everything(again) == everything(first)


def test_a_failure_leaves_the_earlier_set_as_it_was(
    from_file: Catalog, copied: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever happens on the way, the old one stands and nothing new does."""
    before = {path: path.read_bytes() for path in copied.rglob("*") if path.is_file()}
    real, calls = exporting._write_table, iter(range(100))

    def failing(*given: Any) -> Any:
        if next(calls) == 4:
            raise OSError(28, "No space left on device")
        return real(*given)

    monkeypatch.setattr(exporting, "_write_table", failing)
    with pytest.raises(CatalogError, match="no space left"):
        export(from_file, copied)
    assert {path: path.read_bytes() for path in copied.rglob("*") if path.is_file()} == before
    assert [path.name for path in copied.parent.iterdir()] == [copied.name]


def test_a_folder_with_other_things_is_refused(from_file: Catalog, tmp_path: Path) -> None:
    """Nothing of the user's is written over."""
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(CatalogError, match="holds other things"):
        export(from_file, tmp_path)
    with pytest.raises(CatalogError, match="it is a file"):
        export(from_file, tmp_path / "notes.txt")
    assert (tmp_path / "notes.txt").read_text() == "mine"


def _without_a_file(folder: Path) -> None:
    next(folder.rglob("package=TO-220/*.parquet")).unlink()


def _cut_short(folder: Path) -> None:
    file = next((folder / "offers").rglob("*.parquet"))
    file.write_bytes(file.read_bytes()[:-50])


def _edited(folder: Path, **other: Any) -> None:
    told = json.loads((folder / MANIFEST).read_text("utf-8"))
    (folder / MANIFEST).write_text(json.dumps({**told, **other}), "utf-8")


def _leading_outside(folder: Path) -> None:
    told = json.loads((folder / MANIFEST).read_text("utf-8"))
    told["tables"]["lists"]["files"][0]["path"] = "../../lists.parquet"
    (folder / MANIFEST).write_text(json.dumps(told), "utf-8")


def _with_a_statement_for_a_name(folder: Path) -> None:
    told = json.loads((folder / MANIFEST).read_text("utf-8"))
    told["tables"]['x" AS SELECT 1; --'] = told["tables"].pop("lists")
    (folder / MANIFEST).write_text(json.dumps(told), "utf-8")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_without_a_file, "is not whole: parts/family=transistor.* is missing"),
        (_cut_short, "is not whole: offers/.* not as it was written"),
        (lambda folder: (folder / MANIFEST).write_text("{"), "damaged"),
        (lambda folder: (folder / MANIFEST).write_text("[]"), "damaged"),
        (lambda folder: _edited(folder, what="something else"), "not one of Loadworthy's"),
        (lambda folder: _edited(folder, schema=SCHEMA_VERSION - 1), "an older Loadworthy"),
        (lambda folder: _edited(folder, schema=SCHEMA_VERSION + 1), "a newer Loadworthy"),
        (lambda folder: (folder / MANIFEST).unlink(), "no set of Parquet files"),
        (_leading_outside, "damaged"),
        (_with_a_statement_for_a_name, "damaged"),
    ],
)
def test_a_set_that_is_not_sound_is_refused(copied: Path, spoil: Callable[[Path], object], said: str) -> None:
    """A part that is not there must not look like one that does not fit."""
    spoil(copied)
    with pytest.raises(CatalogError, match=said):
        Catalog.open(copied)


def test_a_set_is_not_written_to(written: Path, shelf: Any) -> None:
    """Lists go into a file, which is exported again."""
    before = {path: path.stat().st_mtime_ns for path in written.rglob("*")}
    with pytest.raises(CatalogError, match="only read"), renewed(written):
        pass
    with pytest.raises(LoadworthyError, match="only read"):
        intake(written, [shelf.write(shelf.text())])
    assert {path: path.stat().st_mtime_ns for path in written.rglob("*")} == before


def test_an_address_that_nothing_here_opens_is_told_with_the_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is fetched to read it: the user is told what to install, or to copy, or to ask Spark."""
    with pytest.raises(CatalogError, match=r"no hdfs:// address.*--engine spark"):
        Catalog.open("hdfs://barn/parts")
    real = duckdb.connect
    monkeypatch.setattr(duckdb, "connect", lambda *given, **put: _without_extensions(real(*given, **put)))
    with pytest.raises(CatalogError, match=r"httpfs, which is not installed here.*INSTALL httpfs"):
        Catalog.open("s3://barn/parts")


def _without_extensions(connection: duckdb.DuckDBPyConnection) -> duckdb.DuckDBPyConnection:
    """See to it that what the machine may have installed is not found."""
    connection.execute("SET extension_directory = '/nowhere/at/all'")
    return connection


def test_a_file_address_is_a_path(written: Path) -> None:
    """``file://`` names a folder as other programs write it."""
    with Catalog.open(written.as_uri()) as catalog:
        assert catalog.path == written
