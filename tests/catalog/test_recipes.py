"""A recipe settles how a table is read, and says at once where it makes no sense."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from loadworthy.catalog.reports import IntakeReport
from loadworthy.errors import RecipeError

if TYPE_CHECKING:
    from conftest import Shelf

ODD = (
    ("Maker", "Part number", "Package", "VGS max (V)", "Volts", "On-state", "Amps", "Weight"),
    [("Mossbank", f"MB{n}", "TO-220", "20", f"{20 + n}", f"{8 + n},5", "12", f"{n}") for n in range(1, 6)],
)
"""A table whose headings leave doubts."""


def odd(shelf: Shelf, recipe: str = "", **said: Any) -> IntakeReport:
    """Take the odd table in, with a recipe."""
    if recipe:
        said["recipe"] = shelf.write(recipe, "recipe.toml")
    return shelf.take_in(shelf.text(ODD[1], ODD[0], delimiter=";"), **said)


def column(heading: str, **said: str | int) -> str:
    """Write a column's entry."""
    entries = {"heading": heading, **said}
    return "[[column]]\n" + "".join(f"{key} = {value!r}\n" for key, value in entries.items())


VOLTS = column("Volts", reads="vds", unit="V")
ON_STATE = column("On-state", reads="rds_on", unit="mΩ", statistic="max", gate_v="4.5V")


class TestRoundTrip:
    """The recipe that a report gives reads the table as it was read."""

    def test_the_saved_recipe_gives_the_same_parts(self, shelf: Shelf, plain: Shelf) -> None:
        """It is sound TOML with an entry for each column."""
        first = plain.take_in(plain.text(), dry_run=True)
        assert [one["heading"] for one in tomllib.loads(first.recipe_text())["column"]] == list(shelf.HEADINGS)
        again = shelf.take_in(shelf.text(), recipe=shelf.write(first.recipe_text(), "saved.toml"))
        assert (again.supplier, again.supplier_from, again.cells_refused) == ("list", "recipe", 0)
        assert shelf.parts() == plain.parts()

    @pytest.mark.parametrize("name", ["cells", "companion", "two rows"])
    def test_conditions_in_cells_and_companion_columns_survive(self, shelf: Shelf, name: str) -> None:
        """So do headings of several rows, a preamble, typical figures and temperatures."""
        texts = {
            "cells": "Reed list\n\nPart number;VDS;RDS(on);Preis\n"
            + "".join(f"MB{n};{20 + n},5 V;{n} mOhm typ, {n + 1} mOhm max @ 10 V;0,{n}5 EUR\n" for n in range(1, 6)),
            "companion": "Part number,VDS (V),RDS(on) max (mΩ),Drive voltage (V),ID @ TC=100°C (A)\n"
            + "".join(f"MB{n},{20 + n},{n}.5,4.5,{n}\n" for n in range(1, 6)),
            "two rows": "Part number,VDS,RDS(on) max at VGS=4.5V,RDS(on) typ at VGS=10V\n,V,mΩ,mΩ\n"
            + "".join(f"MB{n},{20 + n},{n}.5,{n}\n" for n in range(1, 6)),
        }
        first = shelf.take_in(texts[name])
        other = shelf.another()
        other.take_in(texts[name], recipe=other.write(first.recipe_text(), "saved.toml"))
        assert len(shelf.parts()) == 5
        assert other.parts() == shelf.parts()

    def test_a_recipe_makes_another_list_of_the_same_file(self, shelf: Shelf) -> None:
        """Read in another way it is taken in anew, and the earlier reading goes."""
        odd(shelf, VOLTS)
        report = odd(shelf, VOLTS + ON_STATE)
        assert report.outcome == "replaced"
        assert len(shelf.rows("SELECT * FROM lists")) == 1


class TestSettling:
    """Each thing that a recipe can say."""

    def test_a_column_a_unit_a_statistic_and_a_gate_voltage(self, shelf: Shelf) -> None:
        """The column is what the recipe says, and surely so."""
        report = odd(shelf, VOLTS + ON_STATE)
        part = shelf.parts()["MB1"]
        assert (part["vds_v"], part["rds_4v5_ohm"]) == (21.0, pytest.approx(0.0095))
        assert part["rds_4v0_ohm"] is None
        assert not part["rds_unmarked"]
        settled = [one for one in report.columns if one.heading in ("Volts", "On-state")]
        assert {one.certainty for one in settled} == {"sure"}
        assert all("recipe.toml" in one.why for one in settled)

    def test_a_named_unit_counts(self, shelf: Shelf) -> None:
        """Ohms instead of milliohms."""
        odd(shelf, VOLTS + ON_STATE.replace("mΩ", "Ω"))
        assert shelf.parts()["MB1"]["rds_4v5_ohm"] == pytest.approx(9.5)

    def test_a_place_and_a_temperature(self, shelf: Shelf) -> None:
        """A current in still air."""
        odd(shelf, VOLTS + column("Amps", reads="id", unit="A", place="ambient", temperature="25degC"))
        part = shelf.parts()["MB1"]
        assert (part["id_ambient_a"], part["id_case_a"]) == (12.0, None)
        assert not part["id_unmarked"]

    def test_nothing_leaves_a_column_out(self, shelf: Shelf) -> None:
        """Sure headings can be overruled."""
        recipe = shelf.write(column("VDS max (V)", reads="nothing"), "recipe.toml")
        shelf.take_in(shelf.text(), recipe=recipe)
        assert {part["vds_v"] for part in shelf.parts().values()} == {None}
        assert {part["vgs_max_v"] for part in shelf.parts().values()} == {20.0, 16.0}

    def test_a_position_tells_columns_of_one_heading_apart(self, shelf: Shelf) -> None:
        """By position alone, or with the heading."""
        headings = ("Maker", "Part number", "VGS max (V)", "Value", "Value")
        text = shelf.text([("Mossbank", f"MB{n}", "20", f"{20 + n}", f"{n}") for n in range(1, 6)], headings)
        second = "[[column]]\nposition = 5\nreads = 'id'\nunit = 'A'\n"
        recipe = column("Value", position=4, reads="vds", unit="V") + second
        shelf.take_in(text, recipe=shelf.write(recipe, "recipe.toml"))
        part = shelf.parts()["MB3"]
        assert (part["vds_v"], part["id_case_a"]) == (23.0, 3.0)

    def test_the_decimal_mark(self, shelf: Shelf) -> None:
        """1,500 is one and a half or fifteen hundred: the recipe's word counts."""
        text = "Part number;VDS (V);ID (A)\n" + "".join(f"MB{n};30;1,500\n" for n in range(1, 6))
        for mark, amperes in ((",", 1.5), (".", 1500.0)):
            shelf.take_in(text, recipe=shelf.write(f'decimal = "{mark}"\n', "recipe.toml"))
            assert shelf.parts()["MB1"]["id_case_a"] == amperes

    def test_the_heading_rows(self, shelf: Shelf) -> None:
        """The table begins where the recipe says; what stands above is not read."""
        text = shelf.text() + "\n" + shelf.text([shelf.row(Part="SECOND-1"), shelf.row(Part="SECOND-2")])
        report = shelf.take_in(text, recipe=shelf.write("heading_rows = [6, 6]\n", "recipe.toml"))
        assert set(shelf.parts()) == {"SECOND-1", "SECOND-2"}
        assert report.rows_read == 2

    def test_a_table_whose_headings_say_nothing(self, shelf: Shelf) -> None:
        """The recipe says where they stand and what each column is."""
        text = "Nr;A;B\n" + "".join(f"MB{n};{20 + n};{n}\n" for n in range(1, 6))
        recipe = "heading_rows = [1, 1]\n" + column("Nr", reads="part_number") + column("A", reads="vds", unit="V")
        shelf.take_in(text, recipe=shelf.write(recipe, "recipe.toml"))
        assert {number: part["vds_v"] for number, part in shelf.parts().items()} == {
            f"MB{n}": 20.0 + n for n in range(1, 6)
        }

    def test_supplier_currency_encoding_and_delimiter(self, shelf: Shelf) -> None:
        """What the file does not say itself."""
        text = "Part number|VDS (V)|Price\n" + "".join(f"MÖ{n}|30|0.{n}5\n" for n in range(1, 6))
        recipe = 'supplier = "Reed"\ncurrency = "SEK"\nencoding = "cp1252"\ndelimiter = "|"\nfamily = "transistor"\n'
        report = shelf.take_in(text.encode("cp1252"), recipe=shelf.write(recipe, "recipe.toml"))
        assert (report.supplier, report.supplier_from, report.delimiter) == ("Reed", "recipe", "|")
        assert "MÖ1" in shelf.parts()
        told = shelf.rows("SELECT DISTINCT supplier, currency FROM offers")
        assert told == [{"supplier": "Reed", "currency": "SEK"}]


@pytest.mark.parametrize(
    ("recipe", "named"),
    [
        ("suplier = 'Reed'", "suplier"), ("supplier = 3", "supplier"), ("decimal = ';'", "decimal"),
        ("heading_rows = [1]", "heading_rows"), ("heading_rows = ['a', 'b']", "heading_rows"),
        ("heading_rows = [3, 2]", "heading_rows"), ("heading_rows = [900, 901]", "heading_rows"),
        ("heading_rows = [0, 0]", "heading_rows"), ("heading_rows = [-1, 1]", "heading_rows"),
        ("family = 'trasistor'", "trasistor"), ("encoding = 'utf-99'", "utf-99"), ("delimiter = '<>'", "<>"),
        ("currency = 'shells'", "shells"), ("column = 'Volts'", "column"), ("column = ['Volts']", "column"),
        ("not toml", "recipe"),
        (column("Volts", reeds="vds"), "entry 1"), (column("Volts", reads="vdss"), "vds"),
        (column("Volts", reads=3), "entry 1"), (column("Volts", reads="vds", unit="A"), "'A'"),
        (column("Volts", reads="vds", statistic="mean"), "mean"), (column("Amps", reads="id", place="shade"), "shade"),
        (column("On-state", reads="rds_on", gate_v="4.5"), "gate_v"),
        (column("On-state", reads="rds_on", gate_v="4.5A"), "gate_v"),
        (column("Amps", reads="id", temperature="25"), "temperature"),
        (column("On-state", reads="rds_on", gate_column=99), "99"),
        (column("Amps", reads="price", quantity=-5), "quantity"),
        (VOLTS + column("Height", reads="vds"), "entry 2"), ("[[column]]\nposition = 77\nreads = 'vds'", "77"),
        ("[[column]]\nposition = 0\nreads = 'vds'", "entry 1"),
        ("[[column]]\nposition = true\nreads = 'vds'", "entry 1"),
        ("[[column]]\nreads = 'vds'", "entry 1"), (VOLTS + VOLTS.replace("vds", "id"), "entry 2"),
    ],
)  # fmt: skip
def test_what_a_recipe_cannot_say_is_an_error_that_names_file_and_entry(shelf: Shelf, recipe: str, named: str) -> None:
    """And the way out; nothing is taken in."""
    with pytest.raises(RecipeError) as caught:
        odd(shelf, recipe)
    assert "recipe.toml" in str(caught.value)
    assert named in str(caught.value)
    assert caught.value.way_out
    assert not shelf.path.exists()


def test_a_recipe_that_is_not_there_is_an_error(shelf: Shelf) -> None:
    """It names the file that was asked for."""
    with pytest.raises(RecipeError, match=r"nowhere\.toml"):
        shelf.take_in(shelf.text(), recipe=shelf.folder / "nowhere.toml")
