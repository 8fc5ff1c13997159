"""An order's text changed by forms, and parts that join it."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy import shipped
from loadworthy.errors import OrderError
from loadworthy.shopping import joined, read_order_text
from loadworthy.shopping.editing import line_changed, new_order, table_changed, without_line
from loadworthy.toml_blocks import edited, in_document

_TEXT = (
    '# mine\ncurrency = "EUR"  # as always\n\n# the first\n[[line]]\npart = "X1"   # the old one\nquantity = 2\n\n'
    '[[line]]\nname = "Q4"\nquantity = 1\n[line.need]\nfamily = "transistor"\nsupply = "12V"\ncurrent = "3A"\n\n'
    '[terms.thistledown]\nhandling = "1.00"  # by letter\n'
)


def _order() -> str:
    return (shipped.catalog_dir() / "greenhouse" / "order.toml").read_text("utf-8")


class TestJoining:
    """A list that grows from what is chosen."""

    def test_a_new_order_begins_with_the_first_part(self) -> None:
        """It can be read, and is for one board."""
        text, place = joined("", [{"part": "X1", "maker": "Brackmere", "family": "fuse", "quantity": 2}])
        order = read_order_text(text)
        assert (place, order.boards, [(one.part, one.maker, one.pieces) for one in order.lines]) == (
            0, 1, [("X1", "Brackmere", 2)]
        )  # fmt: skip

    def test_more_of_a_part_raises_its_quantity(self) -> None:
        """However it is written, and with its comment."""
        text, place = joined(_TEXT, [{"part": "x1", "family": "fuse", "quantity": 3}])
        assert place == 0
        assert 'part = "X1"   # the old one\nquantity = 5\n' in text
        assert len(tomllib.loads(text)["line"]) == 2

    @pytest.mark.parametrize(
        "row",
        [
            'part = "X1"\nmaker = "Other"\nquantity = 2\n',
            'part = "X1"\nquantity = "two"\n',
            'part = "X1"\n',
            'quantity = 2\n[line.need]\nfamily = "fuse"\n',
        ],
    )
    def test_a_line_of_another_part_or_one_that_cannot_be_counted_is_left_alone(self, row: str) -> None:
        """The part gets a line of its own."""
        text, place = joined(f"[[line]]\n{row}", [{"part": "X1", "maker": "Brackmere", "quantity": 1}])
        assert place == 1
        assert tomllib.loads(text)["line"][0] == tomllib.loads(row.replace("[line.need]", "[need]"))

    def test_lines_that_are_no_tables_are_an_error_with_a_place(self) -> None:
        """And no traceback."""
        for text in ("line = 3\n", "line = [1, 2]\n", "title = \n"):
            with pytest.raises(OrderError, match="line 1"):
                joined(text, [{"part": "X", "quantity": 1}])


class TestChanging:
    """One thing changes, and all else stays."""

    def test_a_key_of_a_line(self) -> None:
        """Its comment stays; None takes a key away."""
        text = line_changed(_TEXT, 0, {"quantity": 7, "spares": "10%"})
        assert 'part = "X1"   # the old one\nquantity = 7\nspares = "10%"\n' in text
        assert line_changed(text, 0, {"quantity": 2, "spares": None}) == _TEXT

    def test_a_line_is_taken_away(self) -> None:
        """With its need; the terms below stay."""
        text = without_line(_TEXT, 1)
        assert (len(tomllib.loads(text)["line"]), "handling = " in text, "transistor" in text) == (1, True, False)
        assert "line" not in tomllib.loads(without_line(text, 0))

    @pytest.mark.parametrize("place", [-1, 2, 10**9])
    def test_a_line_that_is_not_there(self, place: int) -> None:
        """Said, and nothing is changed."""
        for change in (lambda: without_line(_TEXT, place), lambda: line_changed(_TEXT, place, {"quantity": 1})):
            with pytest.raises(OrderError, match="has no line"):
                change()

    def test_terms_are_made_changed_and_taken_away(self) -> None:
        """A table that is left empty goes."""
        keys = {"shipping": [["0", "4.90"], ["50", "0"]], "packaging": {"reel": "7.00"}}
        text = table_changed(_TEXT, ("terms", 'Parts "R" us'), keys)
        assert text.startswith(_TEXT.rstrip("\n"))
        order = read_order_text(text)
        terms = order.terms_of('parts "r" us')
        assert terms is not None
        assert len(terms.shipping) == 2
        gone = table_changed(text, ("terms", 'Parts "R" us'), dict.fromkeys(keys))
        assert tomllib.loads(gone) == tomllib.loads(_TEXT)
        assert "terms" not in tomllib.loads(table_changed(_TEXT, ("terms", "thistledown"), {"handling": None}))

    def test_terms_in_a_file_make_room_for_terms_here(self) -> None:
        """The name of the file is no table."""
        text = table_changed('terms = "terms.toml"\n', ("terms", "a"), {"handling": "1"})
        assert tomllib.loads(text) == {"terms": {"a": {"handling": "1"}}}

    def test_line_endings_and_the_mark_at_the_beginning_stay(self) -> None:
        """As an editor on another system writes them."""
        text = "\ufeff" + _TEXT.replace("\n", "\r\n")
        new = table_changed(text, (), {"boards": 4})
        assert new.startswith("\ufeff# mine\r\n")
        assert new.count("\n") == new.count("\r\n")
        assert "boards = 4" in new

    def test_a_change_that_a_text_would_not_say_is_not_taken(self) -> None:
        """The change is made in the text and in what it says; where they differ there is no new text."""

        def change(tables: Any) -> None:
            tables.update(a=float("nan"))  # which equals nothing, not even itself

        with pytest.raises(ValueError, match="cannot be written"):
            edited("a = 1\n", change, in_document(change))

    @given(
        st.lists(
            st.one_of(
                st.tuples(st.just("add"), st.text(min_size=1, max_size=8), st.integers(1, 9)),
                st.tuples(st.just("set"), st.integers(0, 3), st.text(max_size=8)),
                st.tuples(st.just("take"), st.integers(0, 3), st.none()),
                st.tuples(st.just("top"), st.sampled_from(["title", "wait", "x y"]), st.text(max_size=8) | st.none()),
                st.tuples(st.just("terms"), st.text(max_size=6), st.sampled_from(["1", None])),
            ),
            max_size=8,
        )
    )
    def test_whatever_is_done_the_text_says_it_and_keeps_its_comments(self, deeds: list[Any]) -> None:
        """Beside plain tables that the same is done to."""
        text, said = _order(), tomllib.loads(_order())
        for deed, first, second in deeds:
            rows = said.get("line", [])
            if deed == "add":
                line = {"part": first, "quantity": second}
                text = table_changed(text, (), {}) if not first.strip() else joined(text, [line])[0]
                same = [row for row in rows if row.get("part", "").casefold() == first.casefold()]
                if first.strip() and same:
                    same[0]["quantity"] += second
                elif first.strip():
                    said.setdefault("line", []).append(line)
            elif deed in ("set", "take") and first < len(rows):
                if deed == "set":
                    text = line_changed(text, first, {"name": second})
                    rows[first]["name"] = second
                else:
                    text = without_line(text, first)
                    del rows[first]
                    if not rows:
                        del said["line"]
            elif deed == "top":
                text = table_changed(text, (), {first: second})
                said.pop(first, None) if second is None else said.__setitem__(first, second)
            elif deed == "terms":
                text = table_changed(text, ("terms", first), {"handling": second})
                own = said.setdefault("terms", {}).setdefault(first, {})
                own.pop("handling", None) if second is None else own.__setitem__("handling", second)
                if not own:
                    del said["terms"][first]
        assert tomllib.loads(text) == said
        assert text.startswith("# What the greenhouse buys")
        assert "never guessed" in text


def test_a_text_may_not_name_a_file_of_terms() -> None:
    """Whoever wrote it may not be who may read this computer's files."""
    with pytest.raises(OrderError, match="not read here"):
        read_order_text('terms = "/etc/hostname"\n[[line]]\npart = "X"\nquantity = 1\n')


def test_a_new_order_is_a_sound_beginning() -> None:
    """Its title may hold anything."""
    assert tomllib.loads(new_order('A "b"\nc'))["title"] == 'A "b"\nc'
