"""Claims that say what their part's row says: marked, and read back as their lists made them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from loadworthy.catalog import families
from loadworthy.catalog.concurring import compared
from loadworthy.catalog.schema import claim_columns

if TYPE_CHECKING:
    from conftest import Shelf

VDS, ID, QG, VGS_TH = "VDS max (V)", "ID at Tc = 25 °C (A)", "Qg max (nC)", "VGS(th) max (V)"
Cells = Mapping[str, Any]


def at(volts: float) -> str:
    """Head a column of on-resistances."""
    return f"RDS(on) max at VGS = {volts:g} V (mΩ)"


def fern(**cells: Any) -> dict[str, Any]:
    """Claim something of the part FP-12."""
    return {"Maker": "Fernhill Power", "Part number": "FP-12", "Package": "TO-220", "Channel": "N"} | cells


def take_in(shelf: Shelf, supplier: str, rows: Sequence[Cells]) -> None:
    """Take in a list with just the columns that its rows need."""
    headings = list(dict.fromkeys(heading for row in rows for heading in row))
    shelf.take_in(
        shelf.text([[f"{row.get(one, '')}" for one in headings] for row in rows], headings), supplier=supplier
    )


def counts(shelf: Shelf) -> tuple[int, int]:
    """Say how many claims are marked, and how many are written out."""
    row = shelf.rows(
        "SELECT (SELECT count(*) FROM concurring_transistor) AS marked, "
        "(SELECT count(*) FROM disputed_transistor) AS written"
    )[0]
    return row["marked"], row["written"]


def said(rows: Iterable[Cells]) -> list[dict[str, Any]]:
    """Leave out of rows what they do not say, and which list says it."""
    kept = [{name: told for name, told in row.items() if told is not None and name != "list_id"} for row in rows]
    return sorted(kept, key=repr)


def claims(shelf: Shelf) -> list[dict[str, Any]]:
    """Return what lists say of the parts that several of them name."""
    rows = shelf.rows("SELECT * FROM claims_transistor")
    for row in rows:  # the key ends in the number as it is mostly written
        row["part_number"] = row["part_number"] or row["part_key"].partition("|")[2]
    return said(rows)


def alone(shelf: Shelf, rows: Sequence[Cells]) -> list[dict[str, Any]]:
    """Return what a list says that is the only one: each row is one claim, and stands twice to be shown as one."""
    here = shelf.another()
    take_in(here, "One", [*rows, *rows])
    first = {}
    for claim in claims(here):
        if claim["record"] < 2 + len(rows):
            first[claim["record"]] = claim
    return [first[record] for record in sorted(first)]


class TestMarked:
    """What is marked, and what is written out."""

    def test_a_claim_that_says_the_same_is_not_written_out(self, shelf: Shelf) -> None:
        """Nor is one that says less, or words the maker in its own way; each is read back as it was made."""
        ours = fern(**{VDS: 40, ID: 50, at(4.5): 12, at(10): 8})
        others = [ours, {**ours, "Maker": "FERNHILL-POWER"}, fern(**{VDS: 40, at(10): 8})]
        for number, row in enumerate([ours, *others]):
            take_in(shelf, f"Supplier {number}", [row])
        assert counts(shelf) == (3, 0)
        assert claims(shelf) == said([*alone(shelf, [ours]), *(one for row in others for one in alone(shelf, [row]))])
        part = shelf.parts()["FP-12"]
        assert (part["claims"], part["differs"], part["maker"]) == (4, None, "Fernhill Power")

    @pytest.mark.parametrize(
        ("more", "expected"),
        [
            ({QG: 20}, {"qg_c": 20e-9, "rds_4v5_ohm": None, "rds_from_v": 10}),
            ({QG: 20, at(4.5): 12}, {"qg_c": 20e-9, "rds_4v5_ohm": 0.012, "rds_from_v": 4.5}),
        ],
    )
    def test_what_a_claim_says_more_comes_into_the_row_and_not_into_the_others(
        self, shelf: Shelf, more: dict[str, Any], expected: dict[str, Any]
    ) -> None:
        """A figure, or one for another gate voltage, that the first list does not give."""
        first, second = fern(**{VDS: 40, at(10): 8}), fern(**{VDS: 40, at(10): 8}, **more)
        take_in(shelf, "Reed", [first])
        take_in(shelf, "Rush", [second])
        assert counts(shelf) == (2, 0)
        assert shelf.apart(shelf.parts()["FP-12"], {**expected, "differs": None, "claims": 2}) == {}
        assert claims(shelf) == said([*alone(shelf, [first]), *alone(shelf, [second])])

    @pytest.mark.parametrize("other", [{VDS: 30}, {at(10): 8.005}, {"Package": "TO-252"}])
    def test_a_claim_that_says_something_else_is_written_out_with_all_others(
        self, shelf: Shelf, other: dict[str, Any]
    ) -> None:
        """However little it is: the row must not depend on which list came first."""
        ours = fern(**{VDS: 40, at(10): 8})
        for supplier, row in (("Reed", ours), ("Rush", ours), ("Sedge", ours | other)):
            take_in(shelf, supplier, [row])
        assert counts(shelf) == (0, 3)
        take_in(shelf, "Sedge", [ours])
        assert counts(shelf) == (2, 0)

    def test_two_gate_voltages_of_one_level_are_no_agreement(self, shelf: Shelf) -> None:
        """7 V and 7.5 V stand in one level; the least gate voltage is that of both lists."""
        take_in(shelf, "Reed", [fern(**{VDS: 40, at(7): 10, at(7.5): 10})])
        take_in(shelf, "Rush", [fern(**{VDS: 40, at(7.5): 10})])
        take_in(shelf, "Sedge", [fern(**{VDS: 40, at(4.5): 12})])
        part = shelf.parts()["FP-12"]
        assert (part["rds_from_v"], part["rds_8v0_at_v"], part["rds_4v5_ohm"]) == pytest.approx((4.5, 7.5, 0.012))
        told = {row["list_id"]: row["rds_from_v"] for row in shelf.rows("SELECT * FROM claims_transistor")}
        assert told == {1: 7.0, 2: 7.5, 3: 4.5}

    def test_a_part_twice_in_a_list_is_never_marked(self, shelf: Shelf) -> None:
        """Each of its rows is a claim, and the list counts once."""
        row = fern(**{VDS: 40})
        take_in(shelf, "Reed", [row])
        take_in(shelf, "Rush", [row, row])
        assert counts(shelf) == (0, 3)
        assert shelf.parts()["FP-12"]["claims"] == 2

    @pytest.mark.parametrize(
        ("family", "ours", "more", "else_"),
        [
            ("diode", {"Type": "Schottky", "VRRM (V)": 40, "IF(AV) (A)": 3}, {"trr (ns)": 35}, {"VRRM (V)": 60}),
            ("fuse", {"Rated current (A)": 5, "Rated voltage DC (V)": 32}, {"Breaking capacity (A)": 1000},
             {"Rated voltage DC (V)": 58}),
            ("connector", {"Poles": 2, "Pitch (mm)": 5.08, "Rated current (A)": 12}, {"Contact resistance max (mΩ)": 5},
             {"Rated current (A)": 10}),
            ("heatsink", {"RthSA (K/W)": 12, "Width (mm)": 20}, {"Height (mm)": 30}, {"RthSA (K/W)": 14}),
            ("wire", {"Cross section (mm²)": 1.5, "Rated voltage (V)": 300}, {"Temperature max (°C)": 105},
             {"Rated voltage (V)": 450}),
        ],
    )  # fmt: skip
    def test_parts_of_every_family_agree_are_extended_and_differ(
        self, shelf: Shelf, family: str, ours: dict[str, Any], more: dict[str, Any], else_: dict[str, Any]
    ) -> None:
        """Whatever their figures are called."""
        named = {"Maker": "Mossbank", "Part number": "M-1"}
        for supplier, row in (("Reed", ours), ("Rush", ours), ("Sedge", ours | more), ("Lark", ours | else_)):
            headings = [*named, *row]
            text = shelf.text([[str(told) for told in (*named.values(), *row.values())]], headings)
            report = shelf.take_in(text, supplier=supplier, family=family)
            assert (report.rows_parts, report.cells_refused) == (1, 0)
            (part,) = shelf.rows(f"SELECT claims, differs FROM parts_{family}")
            assert (part["differs"] is not None) == (supplier == "Lark")
        assert part["claims"] == 4
        assert len(shelf.rows(f"SELECT * FROM disputed_{family}")) == 4
        assert shelf.rows(f"SELECT * FROM concurring_{family}") == []

    @pytest.mark.parametrize(("first", "again"), [("FP-1", "fp-1"), ("FP-1L", "FP-1 L")])
    def test_a_number_that_the_remaining_list_writes_otherwise_is_written_so(
        self, shelf: Shelf, first: str, again: str
    ) -> None:
        """The list that wrote it as the key does comes again without the part."""
        other = fern(**{"Part number": "FP-2", VDS: 40})
        take_in(shelf, "Reed", [fern(**{"Part number": first, VDS: 40}), other])
        take_in(shelf, "Rush", [fern(**{"Part number": again, VDS: 40})])
        take_in(shelf, "Reed", [other])
        assert set(shelf.parts()) == {again, "FP-2"}

    @pytest.mark.parametrize("name", families.names())
    def test_there_are_marks_for_all_that_a_claim_can_say(self, name: str) -> None:
        """They are bits of a signed number of 64; two things that may be said apart have different ones."""
        family = families.load(name)
        columns = [column for column, _ in claim_columns(family)]
        marks = [
            int(text) for text in compared(family, columns, columns).says.replace("(", " ").split() if text.isdigit()
        ]
        used = [mark for mark in marks if mark]
        assert len(used) == len(set(used))
        assert max(used) < 2**62


class TestReplacing:
    """A list that replaces another, among lists that say the same."""

    def test_the_same_parts_again_change_nothing_but_the_offers(self, shelf: Shelf) -> None:
        """A newer price list: its claims stand where the older ones stood."""
        rows = [fern(**{"Part number": f"P-{number}", VDS: 20 + number, "Price (EUR)": 0.5}) for number in range(6)]
        take_in(shelf, "Reed", rows)
        take_in(shelf, "Rush", rows[:4])
        before = {name: {**part, "list_id": 0, "record": 0} for name, part in shelf.parts().items()}
        take_in(shelf, "Reed", [row | {"Price (EUR)": 0.75} for row in reversed(rows)])
        assert {name: {**part, "list_id": 0, "record": 0} for name, part in shelf.parts().items()} == before
        assert counts(shelf) == (4, 0)
        offers = shelf.rows("SELECT part_key, supplier, unit_price FROM offers ORDER BY ALL")
        assert [(one["part_key"][-3:], one["supplier"], one["unit_price"]) for one in offers] == [
            (f"P-{number}", supplier, price)
            for number in range(6)
            for supplier, price in (("Reed", 0.75), ("Rush", 0.5))[: 2 if number < 4 else 1]
        ]

    @pytest.mark.parametrize(
        ("again", "kept"),
        [({}, (2, 0)), ({"Maker": "FERNHILL POWER"}, (1, 0)), ({VDS: 30}, (0, 2)), ({ID: 50}, (1, 0))],
    )
    def test_the_same_part_again_of_which_another_list_says_more(
        self, shelf: Shelf, again: dict[str, Any], kept: tuple[int, int]
    ) -> None:
        """The newer claim stands for what the older one said, and the row says still what only the other list does."""
        first, more = fern(**{VDS: 40}), fern(**{VDS: 40, ID: 50})
        other = fern(**{"Part number": "FP-99", VDS: 55})
        take_in(shelf, "Reed", [first])
        take_in(shelf, "Rush", [more, other])
        take_in(shelf, "Reed", [other, first | again])
        marked, written = counts(shelf)
        assert (marked - 1, written) == kept  # FP-99 is marked once
        part = shelf.parts()["FP-12"]
        assert (part["claims"], part["id_case_a"]) == (2, 50)
        told = [{**claim, "record": 0} for claim in claims(shelf) if claim["part_key"].endswith("FP-12")]
        wanted = [{**claim, "record": 0} for row in (more, first | again) for claim in alone(shelf, [row])]
        assert said(told) == said(wanted)

    def test_the_first_of_the_remaining_lists_says_what_is_typical(self, shelf: Shelf) -> None:
        """A list that comes again is the last one."""
        reed = {"Part number": "P-1", VDS: 40, "Qg typ (nC)": 20, "Ciss max (pF)": 900}
        rush = {"Part number": "P-1", VDS: 40, "Qg max (nC)": 20, "Ciss typ (pF)": 900}
        other = {"Part number": "P-2", VDS: 40}
        for supplier, rows in (("Reed", [reed]), ("Rush", [rush]), ("Reed", [reed, other])):
            take_in(shelf, supplier, [fern(**row) for row in rows])
        assert shelf.parts()["P-1"]["typical"] == "Ciss"

    def test_what_only_the_dropped_list_said_goes_with_it(self, shelf: Shelf) -> None:
        """Also where its claim was marked, and where it was the row's own."""
        plain, more = fern(**{VDS: 40}), fern(**{VDS: 40, QG: 20})
        other = fern(**{"Part number": "FP-99", VDS: 55})
        for first, second, third in (("Reed", "Rush", "Sedge"), ("Rush", "Reed", "Sedge")):
            here = shelf.another()
            for supplier, row in ((first, plain), (second, more), (third, plain)):
                take_in(here, supplier, [row])
            assert here.parts()["FP-12"]["qg_c"] == pytest.approx(20e-9)
            take_in(here, second, [other])
            part = here.parts()["FP-12"]
            assert (part["qg_c"], part["claims"]) == (None, 2)
            take_in(here, first, [other])
            assert here.parts()["FP-12"]["claims"] == 1
            assert here.rows("SELECT supplier FROM offers WHERE part_key LIKE '%FP-12'") == [{"supplier": third}]

    def test_the_only_list_replaced_begins_anew(self, shelf: Shelf) -> None:
        """Nothing of the older one stays, neither columns nor claims."""
        take_in(shelf, "Reed", [fern(**{VDS: 40, QG: 20}), fern(**{VDS: 30, QG: 20})])
        assert counts(shelf) == (0, 2)
        take_in(shelf, "Reed", [fern(**{VDS: 40})])
        assert counts(shelf) == (0, 0)
        part = shelf.parts()["FP-12"]
        assert (part["vds_v"], part["qg_c"], part["claims"], part["differs"]) == (40, None, 1, None)


TOLD = {VDS: (40, 30), ID: (50, 38), QG: (20, 30), VGS_TH: (2, 2.8), at(4.5): (12, 15), at(7): (10, 11),
        at(7.5): (10, 9), at(10): (8, 9), "Maker": ("Fernhill Power", "FERNHILL-POWER"),
        "Package": ("TO-220", "TO-252"), "Part number": ("FP-12 L", "FP-12L", "fp-12l")}  # fmt: skip


@st.composite
def a_list(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a claim that mostly says what is true, some of it not at all."""
    row = fern(**{name: values[0] for name, values in TOLD.items()})
    for name in draw(st.sets(st.sampled_from([name for name in TOLD if name not in fern()]), max_size=3)):
        del row[name]
    for name in draw(st.sets(st.sampled_from(list(TOLD)), max_size=1)):
        row[name] = draw(st.sampled_from(TOLD[name][1:]))
    return row


@given(calls=st.lists(st.tuples(st.sampled_from(["Reed", "Rush", "Sedge"]), a_list()), min_size=2, max_size=5))
@settings(max_examples=8, phases=[Phase.generate], suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_claims_are_read_back_as_their_lists_made_them(shelves: Shelf, calls: list[tuple[str, dict[str, Any]]]) -> None:
    """Whatever came before or after: each list's claim is what it is where no other list is in."""
    shelf = shelves.another()
    lists: dict[str, dict[str, Any]] = {}
    for supplier, row in calls:
        lists[supplier] = row
        take_in(shelf, supplier, [row])
    wanted = said(one for row in lists.values() for one in alone(shelves, [row]))
    assert claims(shelf) == (wanted if len(lists) > 1 else [])
    assert shelf.rows("SELECT claims FROM parts_transistor") == [{"claims": len(lists)}]
