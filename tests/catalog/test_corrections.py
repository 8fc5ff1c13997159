"""Corrections are written as a recipe that says only what was corrected."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import hypothesis.strategies as st
import pytest
from hypothesis import given

from loadworthy.catalog import families
from loadworthy.catalog.corrections import TABLE_KEYS, Corrections, keys_for, readable
from loadworthy.catalog.intake import Given, intake
from loadworthy.catalog.recipes import COLUMN_KEYS
from loadworthy.catalog.reports import UnsettledTable
from loadworthy.errors import RecipeError

if TYPE_CHECKING:
    from conftest import Shelf

TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=20)


class TestRecipe:
    """What is written."""

    @given(supplier=TEXTS, unit=TEXTS, position=st.integers(1, 500))
    def test_any_text_comes_back_as_it_was(self, supplier: str, unit: str, position: int) -> None:
        """Whatever signs it holds."""
        told = Corrections(table={"supplier": supplier}, columns={position: {"reads": "vds", "unit": unit}}).recipe()
        assert tomllib.loads(told) == {
            "supplier": supplier,
            "column": [{"position": position, "reads": "vds", "unit": unit}],
        }

    @pytest.mark.parametrize(
        ("text", "rows"), [("4", [4, 4]), ("4-5", [4, 5]), (" 4 – 5 ", [4, 5]), ("4 and 5", [4, 5])]
    )
    def test_heading_rows_are_written_as_people_do(self, text: str, rows: list[int]) -> None:
        """One of them, or the first and the last."""
        assert tomllib.loads(Corrections(table={"heading_rows": text}).recipe())["heading_rows"] == rows

    @pytest.mark.parametrize("text", ["first", "4-", "-4", "4-5-6", "٤"])
    def test_other_heading_rows_are_refused(self, text: str) -> None:
        """With the way to write them."""
        with pytest.raises(RecipeError, match="heading rows") as caught:
            Corrections(table={"heading_rows": text}).recipe()
        assert caught.value.way_out

    def test_a_number_that_is_none_names_its_column(self) -> None:
        """By the entry, and by the column that the entry is of."""
        made = Corrections(columns={9: {"quantity": "ten"}, 4: {"reads": "price"}})
        with pytest.raises(RecipeError, match="quantity: 'ten' is no whole number") as caught:
            made.recipe()
        assert caught.value.entry == 2
        assert made.position(2) == 9

    def test_the_engines_complaint_names_its_column_too(self, shelf: Shelf) -> None:
        """The entries stand in the order of the columns."""
        made = Corrections(columns={6: {"unit": "furlong"}, 5: {"unit": "V"}})
        with pytest.raises(RecipeError, match="furlong") as caught:
            shelf.take_in(shelf.text(), recipe=shelf.write(made.recipe(), "recipe.toml"))
        assert caught.value.entry is not None
        assert made.position(caught.value.entry) == 6


class TestKeeping:
    """One correction after another."""

    def test_other_reads_forget_the_conditions_of_the_first(self) -> None:
        """They were those of another figure."""
        made = Corrections().with_column(3, {"reads": "rds_on", "gate_v": "4.5V"})
        assert made.with_column(3, {"unit": "mΩ"}).columns[3] == {"reads": "rds_on", "gate_v": "4.5V", "unit": "mΩ"}
        assert made.with_column(3, {"reads": "vds"}).columns[3] == {"reads": "vds"}
        assert made.with_column(3, {"reads": ""}).none

    def test_an_empty_text_takes_back_what_was_said_of_the_table(self) -> None:
        """And leaves the rest."""
        made = Corrections().with_table({"supplier": "Reedham", "decimal": ","})
        assert made.with_table({"supplier": ""}).table == {"decimal": ","}

    def test_an_empty_text_takes_a_condition_away(self, shelf: Shelf) -> None:
        """That the heading said."""
        made = Corrections().with_column(8, {"gate_v": "", "statistic": ""})
        report = shelf.take_in(shelf.text(), recipe=shelf.write(made.recipe(), "recipe.toml"), dry_run=True)
        assert (report.columns[7].gate_v, report.columns[7].statistic) == (None, None)
        assert report.columns[8].gate_v == 4.5


class TestWhatCanBeSaid:
    """Of each figure of each family."""

    @pytest.mark.parametrize("name", families.names())
    def test_every_figure_has_its_conditions_and_they_are_the_recipes(self, name: str) -> None:
        """A recipe knows every key that is asked for."""
        family = families.load(name)
        assert readable(family)
        for figure in (*readable(family), *families.words().columns):
            assert set(keys_for(figure.name, family)) <= set(COLUMN_KEYS)
        assert len(set(TABLE_KEYS)) == len(TABLE_KEYS)


class TestFilesOfTheirOwn:
    """A file with a name and a recipe of its own."""

    def test_it_is_called_by_its_name_and_read_by_its_recipe(self, shelf: Shelf) -> None:
        """In the catalogue and in errors; others of the call are not touched by it."""
        file = shelf.write(shelf.text(), "9")
        recipe = shelf.write('supplier = "Reedham Parts"\n', "recipe.toml")
        reports = intake(shelf.path, [Given(path=file, name="Reed & Rush.csv"), Given(path=file, recipe=recipe)])
        assert [(one.file, one.supplier) for one in reports] == [
            ("Reed & Rush.csv", "Reed & Rush"),
            ("9", "Reedham Parts"),
        ]
        assert {one["file"] for one in shelf.rows("SELECT file FROM lists")} == {"Reed & Rush.csv", "9"}

    def test_errors_call_it_so_and_nothing_else_is_renamed(self, shelf: Shelf) -> None:
        """Row 1 stays row 1, though the file is called 1 on the disk."""
        headings = ("Package", "VDS (V)", "RDS(on) max at VGS=4.5V (mΩ)", "Our thing")
        file = shelf.write(shelf.text([("TO-220", "30", "9", "AB1")], headings), "1")
        with pytest.raises(UnsettledTable) as caught:
            intake(shelf.path, [Given(path=file, name="reed.csv")])
        assert caught.value.where == "reed.csv, row 1"
        assert [column.heading for column in caught.value.columns] == list(headings)
        assert caught.value.examples[3] == ("AB1",)
        assert caught.value.top[0] == headings
        with pytest.raises(UnsettledTable) as caught:
            intake(shelf.path, [Given(path=shelf.write("Dear reader,\nno table.\n", "1"), name="letter.txt")])
        assert caught.value.where == "letter.txt"
        assert caught.value.top == (("Dear reader", ""), ("no table.",))

    def test_a_report_shows_some_cells_of_each_column(self, shelf: Shelf) -> None:
        """Different ones, blanks left out."""
        report = shelf.take_in(shelf.text(), dry_run=True)
        assert report.examples[1] == ("FP-12", "FP-14", "MB7")
        assert report.examples[2] == ("TO-220", "SO-8")
        assert report.examples[8] == ("12.4", "19")
        assert len(report.examples) == len(report.columns)

    def test_the_recipe_keeps_the_currency_that_was_said(self, shelf: Shelf) -> None:
        """Else the next list would be read without it."""
        recipe = shelf.write('currency = "CHF"\n', "recipe.toml")
        report = shelf.take_in(shelf.text(), recipe=recipe, dry_run=True)
        assert tomllib.loads(report.recipe_text())["currency"] == "CHF"
