"""A board file is read whole, or everything that is wrong with it is said with line, key and way out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from loadworthy import shipped
from loadworthy.boards import Board, audit, read_board, read_text
from loadworthy.boards.model import Connector, Fuse, Trace, Transistor, Wire
from loadworthy.boards.schema import KINDS, TABLES, described, field_of
from loadworthy.errors import BoardError

MakeBoard = Callable[..., Board]
MakeText = Callable[..., str]

OUTPUT = '[[output]]\nname = "mat"\n[output.load]\nkind = "resistive"\nresistance = "1.6ohm"\n[[output.link]]\n'
PLAIN = 'kind = "plain"\nrated_current = "10A"\n'


def refused(text: str) -> BoardError:
    """Return the error that a text raises."""
    with pytest.raises(BoardError) as caught:
        read_text(text, name="bench.toml")
    return caught.value


class TestWhatIsRead:
    """Every figure in SI, under the name that the model gives it."""

    def test_the_shipped_board(self) -> None:
        """The demo's board is sound."""
        board = read_board(shipped.catalog_dir() / "greenhouse" / "board.toml")
        assert board.supply.voltage_v == 12.0
        assert board.outputs

    def test_every_kind_of_link(self, board_of: MakeBoard) -> None:
        """Units, gauges, ounces and curves."""
        board = board_of(
            OUTPUT
            + 'kind = "trace"\nwidth = "200mil"\ncopper = "2oz"\nlength = "60mm"\nlayer = "inner"\nrise = "10K"\n'
            '[[output.link]]\nkind = "wire"\ngauge = "2/0AWG"\nlength = "3m"\n'
            '[[output.link]]\nkind = "connector"\nderating = [["20degC", "11.1A"], ["60degC", "8.6A"]]\n'
            '[[output.link]]\nkind = "transistor"\non_resistance = "R008"\npackage = "to220ab"\n'
            '[[output.link]]\nkind = "fuse"\ntype = "Resettable"\nhold = "5A"\nresistance = "50mohm"\n'
        )
        trace, wire, connector, transistor, fuse = board.outputs[0].links
        assert isinstance(trace, Trace)
        assert (trace.width_m, trace.rise_k, trace.where) == (pytest.approx(5.08e-3), 10.0, "output[1].link[1]")
        assert trace.thickness_m == pytest.approx(69.6e-6)  # 1 oz is 1.37 mil, 34.8 µm: trade figure
        assert isinstance(wire, Wire)
        assert (wire.gauge, wire.name) == (-1.0, "wire 2")
        assert isinstance(connector, Connector)
        assert connector.derating == ((20.0, 11.1), (60.0, 8.6))
        assert isinstance(transistor, Transistor)
        assert (transistor.on_resistance_ohm, transistor.package) == (0.008, "TO-220")
        assert isinstance(fuse, Fuse)
        assert fuse.type == "resettable"

    @pytest.mark.parametrize(("text", "henries"), [("3mH", 3e-3), ("0.5 H", 0.5), ("470µH", 470e-6)])
    def test_inductance(self, board_of: MakeBoard, text: str, henries: float) -> None:
        """In henry with its prefixes."""
        load = f'[[output]]\nname = "a"\n[output.load]\nkind = "inductive"\ncurrent = "1A"\ninductance = "{text}"\n'
        board = board_of(load + "[[output.link]]\n" + PLAIN)
        assert board.outputs[0].load.inductance_h == pytest.approx(henries)

    def test_what_feeds_a_path_comes_first(self, board_of: MakeBoard) -> None:
        """From the supply through every section to the load."""
        sections = "".join(
            f'[[section]]\nname = "{name}"\n{fed}[[section.link]]\n{PLAIN}'
            for name, fed in (("rail", 'fed_by = "inlet"\n'), ("inlet", ""))
        )
        board = board_of(sections + OUTPUT.replace('"mat"', '"mat"\nfed_by = "rail"') + PLAIN)
        assert [link.where for link in board.path(board.outputs[0])] == [
            "section[2].link[1]",
            "section[1].link[1]",
            "output[1].link[1]",
        ]


WRONG = {
    "missing kind": (OUTPUT + 'rated_current = "1A"', "output[1].link[1].kind", "kind is missing"),
    "unknown kind": (OUTPUT + 'kind = "tracer"', "output[1].link[1].kind", "Did you mean trace?"),
    "unknown key": (OUTPUT + PLAIN + 'resistanse = "1ohm"', "output[1].link[1].resistanse", "Did you mean resistance?"),
    "zero": (OUTPUT + 'kind = "plain"\nrated_current = "0A"', "output[1].link[1].rated_current", "above 0 A"),
    "negative": (OUTPUT + PLAIN + 'resistance = "-1ohm"', "output[1].link[1].resistance", "at least 0"),
    "unknown unit": (
        OUTPUT + 'kind = "plain"\nrated_current = "9furlong"', "output[1].link[1].rated_current", "furlong",
    ),
    "absurd": (OUTPUT + 'kind = "plain"\nrated_current = "1e300A"', "output[1].link[1].rated_current", "no figure"),
    "absurd curve": (
        OUTPUT + 'kind = "connector"\nderating = [["20degC", "9A"], ["900degC", "8A"]]',
        "output[1].link[1].derating", "no point",
    ),
    "names are texts": (OUTPUT.replace('"mat"', "[]") + PLAIN, "output[1].name", "not a text"),
    "no unit": (OUTPUT + 'kind = "plain"\nrated_current = "9"', "output[1].link[1].rated_current", "no unit"),
    "bare number": (OUTPUT + 'kind = "plain"\nrated_current = 9', "output[1].link[1].rated_current", '"10A"'),
    "no outputs": ("", "output", "no output"),
    "no links": (OUTPUT.removesuffix("[[output.link]]\n"), "output[1].link", "no link"),
    "no load": ('[[output]]\nname = "a"\n[[output.link]]\n' + PLAIN, "output[1].load", "missing"),
    "load twice": (
        OUTPUT.replace('resistance = "1.6ohm"', 'resistance = "1.6ohm"\npower = "9W"') + PLAIN,
        "output[1].load.power",
        "exclude one another",
    ),
    "load not at all": (OUTPUT.replace('resistance = "1.6ohm"', "") + PLAIN, "output[1].load", "none of resistance"),
    "duty without pwm": (
        OUTPUT.replace("[[output.link]]\n", 'duty = "50%"\n[[output.link]]\n') + PLAIN, "output[1].load.duty", "pwm",
    ),
    "cold above warm": (
        OUTPUT.replace("[[output.link]]\n", 'cold_resistance = "2ohm"\n[[output.link]]\n') + PLAIN,
        "output[1].load.cold_resistance", "above the warm",
    ),
    "fed by nothing": (OUTPUT.replace('"mat"', '"mat"\nfed_by = "x"') + PLAIN, "output[1].fed_by", "no section 'x'"),
    "duplicate output": ((OUTPUT + PLAIN) * 2, "output[2].name", "two outputs are called 'mat'"),
    "duplicate link": (
        OUTPUT + PLAIN + 'name = "a"\n[[output.link]]\n' + PLAIN + 'name = "a"', "output[1].link[2].name", "two links",
    ),
    "loop": (
        '[[section]]\nname = "a"\nfed_by = "b"\n[[section]]\nname = "b"\nfed_by = "a"\n' + OUTPUT + PLAIN,
        "section[1].fed_by", "a ← b ← a",
    ),
    "itself": ('[[section]]\nname = "a"\nfed_by = "a"\n' + OUTPUT + PLAIN, "section[1].fed_by", "a ← a"),
    "part without catalogue": (
        OUTPUT + 'kind = "fuse"\ntype = "one-shot"\npart = "QX-1"',
        "output[1].link[1].part", "--catalog or the figures",
    ),
    "a gauge and an area": (
        OUTPUT + 'kind = "wire"\nlength = "1m"\ngauge = "18AWG"\narea = "4mm2"',
        "output[1].link[1].area", "exclude one another",
    ),
    "unmarked, and yet a rating": (
        OUTPUT + 'kind = "connector"\nunmarked = true\nrated_current_ul = "16A"',
        "output[1].link[1].rated_current_ul", "exclude one another",
    ),
    "unmarked above 10 A": (
        OUTPUT + 'kind = "connector"\nunmarked = true\nunmarked_current = "12A"',
        "output[1].link[1].unmarked_current", "at most 10 A",
    ),
    "curve out of order": (
        OUTPUT + 'kind = "connector"\nderating = [["60degC", "8A"], ["20degC", "9A"]]',
        "output[1].link[1].derating", "rise",
    ),
    "unknown package": (
        OUTPUT + 'kind = "transistor"\non_resistance = "8mohm"\npackage = "TO-2200"',
        "output[1].link[1].package", "Did you mean TO-220",
    ),
    "wrong word": (
        OUTPUT + 'kind = "fuse"\nrating = "5A"\ntype = "slow"', "output[1].link[1].type", "one-shot, resettable",
    ),
    "table for a list": (
        OUTPUT.replace("[[output.link]]\n", "[output.link]\n") + PLAIN, "output[1].link", "[[output.link]]",
    ),
    "list for a table": (
        OUTPUT.replace("[output.load]", "[[output.load]]") + PLAIN, "output[1].load", "no table",
    ),
    "no gauge": (OUTPUT + 'kind = "wire"\nlength = "1m"\ngauge = "thick"', "output[1].link[1].gauge", "14AWG"),
    "too fine": (OUTPUT + 'kind = "wire"\nlength = "1m"\ngauge = "41AWG"', "output[1].link[1].gauge", "40AWG"),
    "no whole number": (
        OUTPUT + 'kind = "connector"\nunmarked = true\ncontacts = "two"', "output[1].link[1].contacts", "whole number",
    ),
}  # fmt: skip


class TestWhatIsRefused:
    """File, line, key and the way out."""

    @pytest.mark.parametrize("case", WRONG)
    def test_a_wrong_thing_is_said_where_it_stands(self, text_of: MakeText, case: str) -> None:
        """The key by its path, counted as people count."""
        body, key, words = WRONG[case]
        text = text_of(body)
        error = refused(text)
        assert error.where is not None
        assert error.where.startswith("bench.toml, line ")
        assert error.where.endswith(f", key {key}")
        assert error.way_out
        assert words in str(error)

    def test_an_empty_list_of_outputs_is_none(self, text_of: MakeText) -> None:
        """An audit of nothing must not come out as a board that carries its loads."""
        error = refused("output = []\n" + text_of(""))
        assert "the board has no output" in str(error)

    def test_the_line_is_the_one_that_holds_the_key(self, text_of: MakeText) -> None:
        """So that an editor gets there at once."""
        text = text_of(OUTPUT + 'kind = "plain"\nrated_current = "0A"')
        line = int((refused(text).where or "").partition("line ")[2].partition(",")[0])
        assert text.splitlines()[line - 1].startswith("rated_current")

    def test_all_is_said_at_once_in_the_order_of_the_file(self, text_of: MakeText) -> None:
        """Nobody mends a file ten times over."""
        text = text_of(
            OUTPUT.replace("1.6ohm", "0ohm") + 'kind = "plain"\nrated_current = "1V"\n', supply='voltage = "0V"'
        )
        error = refused(text)
        keys = [(problem.where or "").rpartition("key ")[2] for problem in error.problems]
        assert keys == ["supply.voltage", "output[1].load.resistance", "output[1].link[1].rated_current"]
        assert len(str(error).splitlines()) == 1 + len(keys)

    def test_a_board_without_supply_and_air(self) -> None:
        """Both tables are asked for."""
        words = str(refused('title = "x"\n' + OUTPUT + PLAIN))
        assert "[supply]" in words
        assert "[surroundings]" in words

    @pytest.mark.parametrize("text", ["a = [", "= 1", "a = 1\na = 2", "[[[", "a = " + "[" * 5000, "a = " + "9" * 5000])
    def test_what_is_no_toml(self, text: str) -> None:
        """Said with the reader's own place in the text."""
        error = refused(text)
        assert error.where == "bench.toml"
        assert "no TOML" in error.message
        assert error.way_out

    def test_what_is_not_utf_8(self, tmp_path: Path) -> None:
        """With the line of the first bad byte."""
        path = tmp_path / "bench.toml"
        path.write_bytes(b'title = "x"\nname = "\xb5"\n')
        with pytest.raises(BoardError, match="UTF-8") as caught:
            read_board(path)
        assert caught.value.where == f"{path}, line 2"

    def test_a_file_that_is_not_there(self, tmp_path: Path) -> None:
        """Its name, and no traceback."""
        with pytest.raises(BoardError, match="No such file") as caught:
            read_board(tmp_path / "none.toml")
        assert caught.value.where == str(tmp_path / "none.toml")


class Shelf:
    """A shelf with one fuse on it."""

    def figures(self, kind: str, part: str, maker: str | None, known: Mapping[str, Any]) -> Mapping[str, Any] | None:
        """Return the fuse's rating."""
        return {"rating_a": 7.5, "standard": "UL"} if (kind, part) == ("fuse", "QX-1") else None


class TestParts:
    """A catalogue number stands for the figures that the file leaves out."""

    def text(self, text_of: MakeText, more: str) -> str:
        """Write a board with a fuse."""
        return text_of(OUTPUT + 'kind = "fuse"\ntype = "one-shot"\n' + more)

    def test_figures_come_from_the_shelf(self, text_of: MakeText) -> None:
        """By the names of the model."""
        board = read_text(self.text(text_of, 'part = "QX-1"'), name="x", shelf=Shelf())
        fuse = board.outputs[0].links[0]
        assert isinstance(fuse, Fuse)
        assert (fuse.rating_a, fuse.standard) == (7.5, "UL")

    def test_what_the_file_says_counts_before_the_shelf(self, text_of: MakeText) -> None:
        """Whoever has the part in hand knows better."""
        board = read_text(self.text(text_of, 'part = "QX-1"\nrating = "5A"'), name="x", shelf=Shelf())
        assert board.outputs[0].links[0].rating_a == 5.0  # type: ignore[attr-defined]

    def test_a_part_that_the_shelf_lacks(self, text_of: MakeText) -> None:
        """Named, with its key."""
        with pytest.raises(BoardError, match="holds no fuse 'QX-2'") as caught:
            read_text(self.text(text_of, 'part = "QX-2"'), name="x", shelf=Shelf())
        assert (caught.value.where or "").endswith("output[1].link[1].part")

    def test_a_part_is_a_mere_label_where_the_figures_stand_beside_it(self, text_of: MakeText) -> None:
        """No catalogue is needed then."""
        board = read_text(self.text(text_of, 'part = "QX-2"\nrating = "5A"'), name="x")
        assert board.outputs[0].links[0].part == "QX-2"


class TestSchema:
    """The tables agree with the model, and explain themselves."""

    @pytest.mark.parametrize("kind", KINDS)
    def test_every_key_has_its_field(self, kind: str) -> None:
        """Named with its unit."""
        fields = set(KINDS[kind].__dataclass_fields__) | {"kind", "copper_m"}
        assert {field_of(key) for key in TABLES[kind].keys} <= fields

    def test_every_key_is_described_with_an_example(self) -> None:
        """As a sentence, for the documentation."""
        rows = list(described())
        assert len(rows) == sum(len(table.keys) for table in TABLES.values())
        assert all(row["meaning"].endswith(".") and row["example"] for row in rows)

    def test_every_example_can_be_read(self) -> None:
        """Whoever copies it gets what it says."""
        import tomllib

        from loadworthy.boards.values import read_value

        for name, table in TABLES.items():
            for key, row in zip(table.keys, (row for row in described() if row["table"] == table.title), strict=True):
                value = tomllib.loads(f"x = {row['example']}")["x"]
                assert read_value(key, value) is not None, f"{name}.{key.name}"


class TestUnfinished:
    """A board that is still being described is judged as far as it can be."""

    @pytest.mark.parametrize(
        ("link", "unknown"),
        [
            ('kind = "fuse"\ntype = "one-shot"', "no rating is given"),
            ('kind = "fuse"\ntype = "resettable"', "no hold current is given"),
            ('kind = "wire"\nlength = "1m"', "neither its gauge nor its area is given"),
            ('kind = "transistor"\npackage = "TO-220"', "no on-resistance is given, or none at this drive"),
            (
                'kind = "transistor"\non_resistance = "5mohm"',
                "no thermal resistance is given, and none follows from a package",
            ),
            ('kind = "plain"', "no rating is given"),
        ],
    )
    def test_a_link_without_its_figures_is_not_known(self, link: str, unknown: str, text_of: MakeText) -> None:
        """Nothing is made up for it, and nothing else is stopped by it; finished it must be said."""
        relay = '[[output.link]]\nkind = "plain"\nname = "relay"\nrated_current = "17A"'
        text = text_of(f"{OUTPUT}{link}\n{relay}")
        result = audit(read_text(text, name="bench.toml", unfinished=True))
        assert [line.unknown for line in result.lines if line.link.name != "relay"] == [unknown]
        assert result.outputs[0].alone.current_a == pytest.approx(17.0)
        assert refused(text)

    def test_an_output_without_links_is_taken(self, text_of: MakeText) -> None:
        """Its limit is not known, and no fuse protects it."""
        text = text_of(OUTPUT.removesuffix("[[output.link]]\n"))
        result = audit(read_text(text, name="bench.toml", unfinished=True))
        assert result.outputs[0].alone.current_a is None
        assert not result.protection[0].fuses
        assert refused(text)

    @pytest.mark.parametrize(
        "link", ['kind = "trace"', 'kind = "wire"', 'kind = "fuse"', 'kind = "plain"\nrated_current = "3"', "x = 1"]
    )
    def test_what_must_be_there_and_what_is_wrong_is_refused(self, link: str, text_of: MakeText) -> None:
        """All the same."""
        with pytest.raises(BoardError):
            read_text(text_of(OUTPUT + link), name="bench.toml", unfinished=True)
