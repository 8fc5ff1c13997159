"""A board's text changed in one place: it says what it should, and the rest stands as it was written."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy import shipped
from loadworthy.boards import audit, editing, read_text
from loadworthy.boards.choosing import mend
from loadworthy.boards.shelf import CatalogShelf
from loadworthy.catalog.store import Catalog
from loadworthy.errors import BoardError, LoadworthyError
from loadworthy.toml_positions import path_of, written

GREENHOUSE = (shipped.catalog_dir() / "greenhouse" / "board.toml").read_text("utf-8")
ON_ONE_LINE = """title = "b"   # mine
supply.voltage = "12V"
surroundings = {ambient = "40degC"}
output = [{name = "m", load = {kind = "lamp", power = "9W"}, link = [{kind = "plain", rated_current = "1A"}]}]
"""
#: However a board is written, each change comes out.
TEXTS = {
    "greenhouse": GREENHOUSE,
    "windows": GREENHOUSE.replace("\n", "\r\n"),
    "marked": "\ufeff" + GREENHOUSE,
    "no end of line": GREENHOUSE.rstrip("\n"),
    "on one line": ON_ONE_LINE,
}


def _lines(text: str) -> list[str]:
    return text.splitlines()


def _said(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix("\ufeff"))


class TestPlace:
    """A place is written as errors write it."""

    @given(
        st.lists(
            st.tuples(st.sampled_from(["output", "link", "load"]), st.lists(st.integers(0, 99), max_size=1)), max_size=4
        )
    )
    def test_reading_undoes_writing(self, steps: list[tuple[str, list[int]]]) -> None:
        """Whatever the path."""
        path = tuple(step for name, numbers in steps for step in (name, *numbers))
        assert path_of(written(path)) == path

    @pytest.mark.parametrize(
        "where", ["output[0]", "output[1", "..", "output[x]", "a b", "output[-1]", "output[9999999999]"]
    )
    def test_what_is_no_place_is_refused(self, where: str) -> None:
        """Not taken for another."""
        with pytest.raises(LoadworthyError, match="no place"):
            path_of(where)


class TestKeys:
    """Keys set and taken away."""

    def test_comments_stay_and_one_line_changes(self) -> None:
        """Of the greenhouse's board."""
        new = editing.put(GREENHOUSE, "output[1].link[2]", {"on_resistance": "7mohm"})
        changed = [(old, now) for old, now in zip(_lines(GREENHOUSE), _lines(new), strict=True) if old != now]
        assert [now for _, now in changed] == ['on_resistance = "7mohm"            # what its data sheet says at 5 V']

    def test_a_new_key_stands_in_its_own_table(self) -> None:
        """Above the comment that belongs to the next one."""
        new = editing.put(GREENHOUSE, "section[1].link[3]", {"rise": "10K"})
        at = _lines(new).index('rise = "10K"')
        assert _lines(new)[at - 1] == 'layer = "outer"'
        assert _lines(new)[at + 2].startswith("# The heat mats")

    @pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
    def test_however_it_is_written(self, text: str) -> None:
        """The tables say it, and nothing else differs."""
        new = editing.put(
            text, "output[1].link[1]", {"kind": None, "name": 'a "b"', "more": True, "points": [["1", "2"]]}
        )
        expected = _said(text)
        link = expected["output"][0]["link"][0]
        del link["kind"]
        link.update({"name": 'a "b"', "more": True, "points": [["1", "2"]]})
        assert _said(new) == expected
        assert ("\r\n" in text) == ("\r\n" in new)
        assert text.startswith("\ufeff") == new.startswith("\ufeff")

    def test_a_table_that_is_not_there_is_made(self) -> None:
        """Behind the load, where one looks for it; what feeds the board stands at the top."""
        new = editing.put(GREENHOUSE, "output[1].freewheel", {"current": "3A"})
        assert _said(new)["output"][0]["freewheel"] == {"current": "3A"}
        assert new.index("[output.load]") < new.index("[output.freewheel]") < new.index("mat A copper")
        begun = editing.put('title = "b"\n\n[[output]]\nname = "m"\n', "supply", {"voltage": "12V"})
        assert begun.index("[supply]") < begun.index("[[output]]")

    def test_what_a_section_feeds_goes_along_with_its_name(self) -> None:
        """Else a new name would cut the outputs off."""
        new = _said(editing.put(GREENHOUSE, "section[1]", {"name": "feed"}))
        assert {output["fed_by"] for output in new["output"]} == {"feed"}

    @pytest.mark.parametrize("where", ["output[9]", "output[1].link[9]", "output[1].name.x", "output", "nothing[1]"])
    def test_there_must_be_such_a_place(self, where: str) -> None:
        """With a word on it."""
        with pytest.raises(BoardError, match="the board has no"):
            editing.put(GREENHOUSE, where, {"name": "x"})

    def test_what_is_no_toml_is_refused(self) -> None:
        """As everywhere."""
        with pytest.raises(BoardError, match="no TOML"):
            editing.put("title = ", "", {"title": "x"})


class TestTables:
    """Tables added, moved and taken away."""

    @pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
    @pytest.mark.parametrize("at", [None, 0])
    def test_a_link_is_added(self, text: str, at: int | None) -> None:
        """At the end of its path, or before another."""
        link = {"kind": "fuse", "type": "one-shot", "by_temperature": [["20degC", "5A"], ["60degC", "4A"]]}
        new = editing.add(text, "output[1].link", link, at=at)
        expected = _said(text)
        listed = expected["output"][0]["link"]
        listed.insert(len(listed) if at is None else at, link)
        assert _said(new) == expected

    @pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
    def test_an_output_is_added_with_what_is_below_it(self, text: str) -> None:
        """Its load and its links."""
        output = {"name": "fan", "load": {"kind": "inductive", "power": "3W"}, "link": [{"kind": "plain"}]}
        new = editing.add(text, "output", output)
        assert _said(new)["output"][-1] == output
        assert _said(new)["output"][:-1] == _said(text)["output"]

    def test_the_first_section_stands_above_the_outputs(self) -> None:
        """Where a reader looks for it."""
        new = editing.add('title = "b"\n[supply]\nvoltage = "1V"\n\n[[output]]\nname = "m"\n', "section", {"name": "s"})
        assert new.index("[supply]") < new.index("[[section]]") < new.index("[[output]]")

    @pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
    @pytest.mark.parametrize("where", ["output[1].link[1]", "output[1].load", "output[1]"])
    def test_what_is_taken_away_is_gone_alone(self, text: str, where: str) -> None:
        """A list that has nothing left is not written."""
        expected = _said(text)
        holder = expected
        path = path_of(where)
        for step in path[:-1]:
            holder = holder[step]  # type: ignore[index]
        del holder[path[-1]]  # type: ignore[arg-type]
        if path[-1] == 0 and not holder:
            group = expected["output"][0] if len(path) > 2 else expected
            del group[path[-2]]  # type: ignore[arg-type]
        assert _said(editing.remove(text, where)) == expected

    def test_what_a_section_fed_is_fed_by_what_fed_it(self) -> None:
        """Taking a section away cuts nothing off."""
        inner = editing.add(GREENHOUSE, "section", {"name": "inner", "fed_by": "inlet"})
        inner = editing.put(inner, "output[1]", {"fed_by": "inner"})
        assert _said(editing.remove(inner, "section[2]"))["output"][0]["fed_by"] == "inlet"
        bare = _said(editing.remove(inner, "section[1]"))
        assert "fed_by" not in bare["section"][0]
        assert "fed_by" not in bare["output"][1]

    @pytest.mark.parametrize("text", [TEXTS["greenhouse"], TEXTS["windows"], TEXTS["no end of line"]])
    @pytest.mark.parametrize("where", ["output[4].link[2]", "section[1].link[1]", "output[3]"])
    def test_a_move_down_and_up_leaves_the_text_as_it_was(self, text: str, where: str) -> None:
        """Not a letter differs, but for an end of the last line."""
        down = editing.move(text, where, +1)
        place = path_of(where)
        below = written((*place[:-1], int(place[-1]) + 1))
        assert down != text
        assert editing.move(down, below, -1).rstrip() == text.rstrip()
        assert sorted(_lines(down)) == sorted(_lines(text))

    @pytest.mark.parametrize(("where", "by"), [("output[1]", -1), ("output[4]", 1), ("section[1]", 1)])
    def test_nothing_moves_past_an_end(self, where: str, by: int) -> None:
        """It says so."""
        with pytest.raises(BoardError, match="cannot go further"):
            editing.move(GREENHOUSE, where, by)

    @pytest.mark.parametrize("where", ["", "output[9]", "section[1].link[9]", "supply.voltage"])
    def test_nothing_is_taken_moved_or_replaced_where_nothing_is(self, where: str) -> None:
        """With a word on it, and no fault."""
        for change in (
            editing.remove,
            lambda text, at: editing.move(text, at, 1),
            lambda text, at: editing.with_part(text, at, "X"),
        ):
            with pytest.raises(BoardError):
                change(GREENHOUSE, where)
        for place in ("", "output[1]", "output[9].link", "title"):
            with pytest.raises(BoardError):
                editing.add(GREENHOUSE, place, {"name": "x"})

    def test_a_board_begun_can_be_built_up(self) -> None:
        """From nothing to an audit."""
        text = editing.begun(title="Bench", supply={"voltage": "12V"}, surroundings={"ambient": "40degC"})
        text = editing.add(text, "output", {"name": "m", "load": {"kind": "resistive", "power": "12W"}})
        text = editing.add(text, "output[1].link", {"kind": "plain", "rated_current": "3A"})
        assert audit(read_text(text, name="x")).outputs[0].alone.current_a == pytest.approx(3.0)


class TestParts:
    """Parts of the catalogue in the place of links."""

    def test_what_it_is_for_stays_and_its_figures_go(self) -> None:
        """A terminal keeps its name and its wire; a lead its length."""
        link = _said(editing.with_part(GREENHOUSE, "output[1].link[3]", "X-1", "Q"))["output"][0]["link"][2]
        assert link == {"kind": "connector", "name": "mat A terminal", "wire": "2.5mm2", "part": "X-1", "maker": "Q"}
        lead = _said(editing.with_part(GREENHOUSE, "output[1].link[4]", "W-1"))["output"][0]["link"][3]
        assert lead == {"kind": "wire", "name": "mat A lead", "length": "6m", "part": "W-1"}

    def test_a_trace_is_no_part(self) -> None:
        """No catalogue holds one."""
        with pytest.raises(BoardError, match="nothing that a part"):
            editing.with_part(GREENHOUSE, "output[1].link[1]", "X-1")


@pytest.fixture(scope="module")
def catalog(stocked: Path) -> Any:
    """Open the greenhouse's catalogue."""
    with Catalog.open(stocked) as opened:
        yield opened


class TestMended:
    """What was done to a board stands in its text."""

    @pytest.mark.parametrize(
        "more",
        [
            "",
            '\n[[output]]\nname = "fan"\n[output.load]\nkind = "inductive"\npower = "30W"\n'
            '[[output.link]]\nkind = "transistor"\non_resistance = "90mohm"\npackage = "TO-220"\n',
        ],
        ids=["greenhouse", "with a bare fan, its drive not said"],
    )
    def test_the_text_reads_as_the_board_that_was_mended(self, catalog: Any, more: str) -> None:
        """Link by link, to six digits, with the part's figures read from the catalogue."""
        text = GREENHOUSE + more
        shelf = CatalogShelf(catalog)
        mended = mend(read_text(text, name="x", shelf=shelf), catalog)
        new = editing.as_mended(text, mended.before.board, mended.after.board)
        again = audit(read_text(new, name="x", shelf=shelf))
        assert {line.label: line.usable_a for line in again.lines} == pytest.approx(
            {line.label: line.usable_a for line in mended.after.lines}, rel=1e-5
        )
        assert again.verdict == mended.after.verdict
        assert [one.freewheel for one in again.board.outputs] == [one.freewheel for one in mended.after.board.outputs]
