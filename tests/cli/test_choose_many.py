"""A file of needs answered at once, as seen from the command."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from click.testing import Result
from filelock import FileLock

from loadworthy.catalog.store import Catalog
from loadworthy.many import Run
from loadworthy.many.needs_file import NeedsFile
from loadworthy.report.answers import write_answers

Call: TypeAlias = Callable[..., Result]

NEEDS = """id,supply,current,package,drive,in-stock
mat,12V,7.5A,TO-220,5V,yes
pump,24 V,2A,TO-220;DPAK,3.3V,
cable,12,1A,,,
lamp,12V,1A,TO-999,,
oven,60V,500A,,,no
"""


@pytest.fixture
def needs(tmp_path: Path) -> Path:
    """A file with two needs that are met, two that are none, and one that nothing meets."""
    file = tmp_path / "needs.csv"
    file.write_text(NEEDS, encoding="utf-8")
    return file


def single(greenhouse: Call, *words: str) -> list[dict[str, Any]]:
    """Return the ranked parts of a choice of its own."""
    result = greenhouse("choose", "transistor", *words, "--near", "0", "--format", "json")
    ranked: list[dict[str, Any]] = json.loads(result.stdout)["ranked"]
    return ranked


def of(table: pa.Table, name: str) -> list[dict[str, Any]]:
    """Return the rows of a need, without what says which need it is."""
    rows = [row for row in table.to_pylist() if row["id"] == name]
    return [{key: value for key, value in row.items() if key not in ("row", "id")} for row in rows]


def test_each_need_gets_the_rows_of_a_choice_of_its_own(greenhouse: Call, needs: Path, tmp_path: Path) -> None:
    """Parquet has every figure as JSON says it."""
    out = tmp_path / "out.parquet"
    result = greenhouse("choose", "transistor", "--needs", needs, "--top", "3", "-o", out)
    assert result.exit_code == 0, result.output
    assert "5 needs: 2 answered, 1 that nothing fits, 2 refused." in result.stdout
    table = pq.read_table(out)
    assert set(table.column("row").to_pylist()) == {2, 3}
    heater = ("--supply", "12V", "--current", "7.5A", "--package", "TO-220", "--drive", "5V", "--in-stock")
    assert of(table, "mat") == single(greenhouse, *heater, "--top", "3")
    pump = ("--supply", "24V", "--current", "2A", "--package", "TO-220", "--package", "DPAK", "--drive", "3.3V")
    assert of(table, "pump") == single(greenhouse, *pump, "--top", "3")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["needs.csv", "out.parquet", "out.unanswered.csv"]


def test_csv_has_the_same_rows(greenhouse: Call, needs: Path, tmp_path: Path) -> None:
    """As the CSV of a single choice has them."""
    out = tmp_path / "out.csv"
    assert greenhouse("choose", "transistor", "--needs", needs, "--top", "2", "-o", out).exit_code == 0
    with out.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    words = ("--supply", "12V", "--current", "7.5A", "--package", "TO-220", "--drive", "5V", "--in-stock")
    one = greenhouse("choose", "transistor", *words, "--top", "2", "--near", "0", "--format", "csv")
    wanted = list(csv.DictReader(one.stdout.splitlines()))
    mine = [{name: row[name] for name in wanted[0]} for row in rows if row["id"] == "mat"]
    assert mine == wanted


def test_a_bad_need_is_named_with_row_column_and_reason(greenhouse: Call, needs: Path, tmp_path: Path) -> None:
    """On stderr and in a file beside the answers; the others are answered."""
    result = greenhouse("choose", "transistor", "--needs", needs, "-o", tmp_path / "out.csv")
    told = " ".join(result.stderr.split())
    assert "Never fit a larger fuse to stop it blowing" in told  # the cautions of a single choice
    assert "needs.csv, row 4, supply: '12' has no unit." in told
    assert "needs.csv, row 5, package: 'TO-999' is no package" in told
    with (tmp_path / "out.unanswered.csv").open(encoding="utf-8") as stream:
        left = list(csv.DictReader(stream))
    assert [(row["row"], row["id"], row["column"]) for row in left] == [
        ("4", "cable", "supply"), ("5", "lamp", "package"), ("6", "oven", ""),
    ]  # fmt: skip
    assert "no part" in left[2]["reason"]


def test_no_answer_at_all_is_status_1(greenhouse: Call, tmp_path: Path) -> None:
    """And the result is there all the same, without a row."""
    file = tmp_path / "needs.csv"
    file.write_text("supply,current\n60V,500A\n12,1A\n", encoding="utf-8")
    result = greenhouse("choose", "transistor", "--needs", file, "-o", tmp_path / "out.csv", "--format", "json")
    assert result.exit_code == 1, result.output
    counts = json.loads(result.stdout)
    assert (counts["needs"], counts["answered"], counts["nothing_fits"], counts["refused"]) == (2, 0, 1, 1)
    assert (tmp_path / "out.csv").read_text(encoding="utf-8").startswith("row,id,rank")


def test_in_which_currency_prices_are_compared_is_said(greenhouse: Call, tmp_path: Path) -> None:
    """Of a family that is ranked by price; as a single choice says it."""
    file = tmp_path / "sinks.csv"
    file.write_text("id,loss,package\nmat,3W,TO-220\nlamp,1W,TO-220\n", encoding="utf-8")
    many = greenhouse("choose", "heatsink", "--needs", file, "-o", tmp_path / "out.csv", "--format", "json")
    one = greenhouse("choose", "heatsink", "--loss", "3W", "--package", "TO-220", "--format", "json")
    (said,) = (words for words in json.loads(one.stdout)["cautions"] if words.startswith("Prices are compared in EUR"))
    assert said in json.loads(many.stdout)["cautions"]


def test_options_typed_hold_for_every_row_that_does_not_give_them(greenhouse: Call, tmp_path: Path) -> None:
    """A row's own word counts for more."""
    file = tmp_path / "needs.csv"
    file.write_text("id;current;ambient\na;2A;\nb;2A;60degC\n", encoding="utf-8")
    out = tmp_path / "out.parquet"
    shared = ("--supply", "12V", "--ambient", "30degC")
    assert greenhouse("choose", "transistor", "--needs", file, "-o", out, *shared, "--top", "2").exit_code == 0
    table = pq.read_table(out)
    for name, air in (("a", "30degC"), ("b", "60degC")):
        words = ("--supply", "12V", "--current", "2A", "--ambient", air, "--top", "2")
        assert of(table, name) == single(greenhouse, *words)


def test_needs_may_come_as_parquet_with_lists(greenhouse: Call, tmp_path: Path) -> None:
    """Lists where an option is repeatable, flags as flags, names with a line or a dash."""
    file = tmp_path / "needs.parquet"
    rows = {
        "id": [7, 8],
        "supply": ["12V", "12V"],
        "current": ["2A", "2A"],
        "package": [["TO-220", "DPAK"], None],
        "in_stock": [True, False],
    }
    pq.write_table(pa.table(rows), file)
    out = tmp_path / "out.parquet"
    assert greenhouse("choose", "transistor", "--needs", file, "-o", out, "--top", "2").exit_code == 0
    words = (
        "--supply",
        "12V",
        "--current",
        "2A",
        "--package",
        "TO-220",
        "--package",
        "DPAK",
        "--in-stock",
        "--top",
        "2",
    )
    assert of(pq.read_table(out), "7") == single(greenhouse, *words)
    assert of(pq.read_table(out), "8") == single(greenhouse, "--supply", "12V", "--current", "2A", "--top", "2")


def test_a_need_without_a_name_goes_by_its_row(greenhouse: Call, tmp_path: Path) -> None:
    """As a spreadsheet counts them, in whatever encoding the file is."""
    file = tmp_path / "needs.csv"
    file.write_bytes("supply\tresistance\n12V\t4 Ω\n\n12V\t8 Ω\n".encode("utf-16"))
    out = tmp_path / "out.parquet"
    assert greenhouse("choose", "transistor", "--needs", file, "-o", out, "--top", "1").exit_code == 0
    assert pq.read_table(out).select(["row", "id"]).to_pylist() == [{"row": 2, "id": "2"}, {"row": 4, "id": "4"}]


@pytest.mark.parametrize(
    ("heading", "words", "told"),
    [
        ("supply,curent", (), "current"),
        ("supply,supply", (), "twice"),
        ("id", (), "no column"),
        ("supply,current", ("--near", "3"), "--near"),
        ("supply,current", ("--add", "order.toml"), "--add"),
    ],
)
def test_a_file_that_is_not_of_needs_is_wrong_use(
    greenhouse: Call, tmp_path: Path, heading: str, words: tuple[str, ...], told: str
) -> None:
    """Status 2, the column and near names; nothing is left behind."""
    file = tmp_path / "needs.csv"
    file.write_text(f"{heading}\n12V,1A\n", encoding="utf-8")
    result = greenhouse("choose", "transistor", "--needs", file, "-o", tmp_path / "out.csv", *words)
    assert result.exit_code == 2
    assert told in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["needs.csv"]


@pytest.mark.parametrize("out", [None, "out.txt", "nowhere/out.csv", "needs.csv"])
def test_a_result_that_cannot_be_written_is_said_at_once(greenhouse: Call, needs: Path, out: str | None) -> None:
    """No ending that says a format, no such folder, the needs themselves."""
    words = [] if out is None else ["-o", needs.parent / out]
    assert greenhouse("choose", "transistor", "--needs", needs, *words).exit_code == 2
    assert needs.read_text(encoding="utf-8") == NEEDS


def test_out_without_needs_is_wrong_use(greenhouse: Call, tmp_path: Path) -> None:
    """One need is answered on stdout."""
    result = greenhouse("choose", "transistor", "--supply", "12V", "--current", "1A", "-o", tmp_path / "out.csv")
    assert result.exit_code == 2
    assert "--needs" in result.stderr


class TestBrokenOff:
    """A run that ends before its time."""

    @pytest.fixture
    def many(self, tmp_path: Path) -> Path:
        """Eleven needs, one of them refused."""
        file = tmp_path / "needs.csv"
        rows = [f"n{number},12V,{1 + number / 4}A" for number in range(10)]
        file.write_text("\n".join(["id,supply,current", *rows, "odd,12,1A"]) + "\n", encoding="utf-8")
        return file

    @pytest.fixture
    def catalog(self, greenhouse: Call) -> Any:
        """The greenhouse's catalogue, open."""
        path = json.loads(greenhouse("catalog", "--format", "json").stdout)["path"]
        with Catalog.open(path) as catalog:
            yield catalog

    @staticmethod
    def run(catalog: Catalog, needs: Path, *, stop: bool = False, top: int = 2) -> Run:
        """Run in pieces of three needs; stop where the second one begins."""

        def tell(share: float) -> None:
            if stop and share > 0.3:
                raise KeyboardInterrupt

        with NeedsFile(needs, "transistor") as file:
            run = Run(catalog, "transistor", file, top=top, folder=needs.with_name("out.parquet.part"), at_once=3)
            run.answer(tell)
        return run

    def test_it_is_taken_up_again_and_gives_the_same(self, catalog: Catalog, many: Path, tmp_path: Path) -> None:
        """What was done is not done again."""
        with pytest.raises(KeyboardInterrupt):
            self.run(catalog, many, stop=True)
        first = tmp_path / "out.parquet.part" / "000000.parquet"
        stamp = first.stat().st_mtime_ns
        again = self.run(catalog, many)
        assert (again.taken_up, again.begun_anew) == (3, False)
        assert first.stat().st_mtime_ns == stamp
        assert again.counts() == {"needs": 11, "answered": 10, "nothing_fits": 0, "refused": 1}
        assert [one.id for one in again.unanswered()] == ["odd"]
        whole = pa.concat_tables(again.tables()).to_pylist()
        again.forget()
        fresh = self.run(catalog, many)
        assert fresh.taken_up == 0
        assert pa.concat_tables(fresh.tables()).to_pylist() == whole
        assert [row["id"] for row in whole] == [f"n{number}" for number in range(10) for _ in range(2)]

    def test_other_needs_or_options_begin_anew_and_say_so(self, catalog: Catalog, many: Path) -> None:
        """Pieces of one question are no answer to another."""
        for change in (lambda: many.write_text(many.read_text("utf-8") + "more,12V,1A\n", "utf-8"), lambda: 0):
            with pytest.raises(KeyboardInterrupt):
                self.run(catalog, many, stop=True)
            changed = change() != 0
            again = self.run(catalog, many, top=2 if changed else 3)
            assert (again.taken_up, again.begun_anew) == (0, True)
            again.forget()

    def test_the_command_says_what_it_took_up(self, greenhouse: Call, needs: Path, tmp_path: Path) -> None:
        """A folder that another run left is thrown away, a folder of somebody else's is not touched."""
        folder = tmp_path / "out.csv.part"
        folder.mkdir()
        (folder / "run.json").write_text("another", encoding="utf-8")
        result = greenhouse("choose", "transistor", "--needs", needs, "-o", tmp_path / "out.csv")
        assert "thrown away" in result.stderr
        assert not folder.exists()
        folder.mkdir()
        (folder / "letter.txt").write_text("mine", encoding="utf-8")
        result = greenhouse("choose", "transistor", "--needs", needs, "-o", tmp_path / "out.csv")
        assert result.exit_code == 2
        assert (folder / "letter.txt").read_text(encoding="utf-8") == "mine"

    def test_one_run_at_a_time_answers_into_a_file(self, greenhouse: Call, needs: Path, tmp_path: Path) -> None:
        """A second one is told so at once; what the first keeps there stays. The lock goes with its holder."""
        out = tmp_path / "out.csv"
        (tmp_path / "out.csv.part").mkdir()
        words = ("choose", "transistor", "--needs", needs, "-o", out)
        with FileLock(tmp_path / "out.csv.lock"):
            result = greenhouse(*words)
            assert result.exit_code == 2
            assert "out.csv: another run answers needs into it. Wait until it has ended" in " ".join(
                result.stderr.split()
            )
            assert (tmp_path / "out.csv.part").is_dir()
            assert not out.exists()
        assert greenhouse(*words).exit_code == 0
        assert sorted(path.name for path in tmp_path.iterdir()) == ["needs.csv", "out.csv", "out.unanswered.csv"]

    def test_a_result_is_written_as_a_whole_or_not_at_all(self, tmp_path: Path) -> None:
        """What was there stays where writing fails."""
        out = tmp_path / "out.csv"
        out.write_text("earlier", encoding="utf-8")

        def tables() -> Any:
            yield pa.table({"a": [1]})
            raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            write_answers(tables(), pa.schema([("a", pa.int64())]), out)
        assert out.read_text(encoding="utf-8") == "earlier"
        assert [path.name for path in tmp_path.iterdir()] == ["out.csv"]
