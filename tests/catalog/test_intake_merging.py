"""Several lists of one part: each offer stands, the worse figure counts, and lists replace one another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from loadworthy.catalog import assembly, families, laying, merging, settling
from loadworthy.catalog.intake import intake

if TYPE_CHECKING:
    from conftest import Shelf

LEVELS = {"1v8": 1.8, "2v5": 2.5, "2v7": 2.7, "3v3": 3.3, "4v0": 4.0, "4v5": 4.5, "5v0": 5.0, "6v0": 6.0, "8v0": 8.0,
          "10v0": 10.0, "12v0": 12.0}  # fmt: skip

# Column of the catalogue → heading, factor of the heading's unit, whether the lower value is the worse.
FIGURES = {
    "vds_v": ("VDS max (V)", 1.0, True), "vgs_max_v": ("VGS max (V)", 1.0, True),
    "vgs_th_min_v": ("VGS(th) min (V)", 1.0, True), "vgs_th_max_v": ("VGS(th) max (V)", 1.0, False),
    "id_case_a": ("ID at Tc = 25 °C (A)", 1.0, True), "id_ambient_a": ("ID at Ta = 25 °C (A)", 1.0, True),
    "id_pulse_a": ("IDM (A)", 1.0, True), "pd_case_w": ("PD at Tc = 25 °C (W)", 1.0, True),
    "qg_c": ("Qg max (nC)", 1e-9, False), "qgd_c": ("Qgd max (nC)", 1e-9, False),
    "ciss_f": ("Ciss max (pF)", 1e-12, False), "rthjc_k_per_w": ("RthJC (K/W)", 1.0, False),
    "rthja_k_per_w": ("RthJA (K/W)", 1.0, False), "junction_max_degc": ("TJ max (°C)", 1.0, True),
}  # fmt: skip
VALUES = {"vds_v": (40, 30), "vgs_max_v": (20, 12), "vgs_th_min_v": (1.2, 0.8), "vgs_th_max_v": (2, 2.8),
          "id_case_a": (50, 38), "id_ambient_a": (12, 9), "id_pulse_a": (200, 150), "pd_case_w": (60, 45),
          "qg_c": (20, 30), "qgd_c": (5, 8), "ciss_f": (900, 1200), "rthjc_k_per_w": (1.5, 2.5),
          "rthja_k_per_w": (50, 62), "junction_max_degc": (175, 150)}  # fmt: skip


def resistance_heading(statistic: str, volts: float) -> str:
    """Head a column of on-resistances."""
    return f"RDS(on) {statistic} at VGS = {volts:g} V (mΩ)"


def listed(shelf: Shelf, parts: Iterable[Mapping[str, Any]]) -> str:
    """Write claims, given by their headings, as a list with just the columns that they need."""
    rows = list(parts)
    headings = list(dict.fromkeys(heading for row in rows for heading in row))
    texts = [[f"{row.get(heading, '')}" for heading in headings] for row in rows]
    return shelf.text(texts, headings)


def fern(**cells: Any) -> dict[str, Any]:
    """Claim something of the part FP-12."""
    return {"Maker": "Fernhill Power", "Part number": "FP-12", "Package": "TO-220", "Channel": "N"} | cells


class TestOnePart:
    """Two suppliers, one part."""

    @pytest.mark.parametrize("better_first", [True, False])
    def test_the_worse_figure_counts_and_is_named(self, shelf: Shelf, better_first: bool) -> None:
        """Ratings at their least, resistances, charges and thresholds at their greatest, in whatever order."""
        for place in (0, 1) if better_first else (1, 0):
            cells = {FIGURES[name][0]: pair[place] for name, pair in VALUES.items()}
            shelf.take_in(listed(shelf, [fern(**cells)]), name=f"supplier{place}.csv")
        part = shelf.parts()["FP-12"]
        worse = {name: pair[1] * FIGURES[name][1] for name, pair in VALUES.items()}
        assert {name: part[name] for name in worse} == pytest.approx(worse)
        symbols = {figure.symbol for figure in families.load("transistor").figures
                   if {kept.column for kept in figure.store} & worse.keys()}  # fmt: skip
        assert set(part["differs"].split(", ")) == symbols
        assert part["claims"] == 2

    @pytest.mark.parametrize("silent", [0, 1, 2])
    def test_a_list_without_the_figure_hides_no_difference(self, shelf: Shelf, silent: int) -> None:
        """Two lists differ about the on-resistance, a third does not tell it."""
        ohms = [15, 12]
        for number in range(3):
            told = {} if number == silent else {resistance_heading("max", 10): ohms.pop()}
            shelf.take_in(listed(shelf, [fern(**{"VDS max (V)": 30, **told})]), name=f"supplier{number}.csv")
        part = shelf.parts()["FP-12"]
        assert (part["rds_10v0_ohm"], part["differs"]) == (pytest.approx(0.015), "RDS(on)")

    def test_figures_that_agree_do_not_differ(self, shelf: Shelf) -> None:
        """Two lists that say the same."""
        for name in ("reed.csv", "rush.csv"):
            shelf.take_in(listed(shelf, [fern(**{"VDS max (V)": 30, resistance_heading("max", 10): 8.2})]), name=name)
        part = shelf.parts()["FP-12"]
        assert (part["claims"], part["differs"]) == (2, None)

    def test_makers_are_one_in_spite_of_case_blanks_and_punctuation(self, shelf: Shelf) -> None:
        """One part with an offer of each supplier, at the supplier's price."""
        spellings = ["Fernhill Power", "FERNHILL POWER", "Fernhill-Power", " fernhill  power.", "FernhillPower"]
        for number, spelling in enumerate(spellings):
            text = listed(
                shelf, [fern(**{"Maker": spelling, "VDS max (V)": 30, "Price each (EUR)": 0.5 + number / 10})]
            )
            shelf.take_in(text, name=f"supplier{number}.csv")
        assert list(shelf.parts()) == ["FP-12"]
        prices = shelf.rows(
            "SELECT supplier, unit_price FROM offers JOIN parts_transistor USING (part_key) ORDER BY ALL"
        )
        assert [(one["supplier"], one["unit_price"]) for one in prices] == [
            (f"supplier{number}", pytest.approx(0.5 + number / 10)) for number in range(len(spellings))
        ]

    def test_the_same_number_of_two_makers_is_two_parts(self, shelf: Shelf) -> None:
        """A second source's part is a part of its own."""
        shelf.take_in(listed(shelf, [fern(**{"VDS max (V)": 30}), fern(**{"Maker": "Mossbank", "VDS max (V)": 40})]))
        assert sorted(one["vds_v"] for one in shelf.rows("SELECT vds_v FROM parts_transistor")) == [30.0, 40.0]

    def test_what_only_one_list_tells_is_joined_and_goes_with_it(self, shelf: Shelf) -> None:
        """A list that is taken out, by a newer one without the part, leaves the other list's figures."""
        ours = {"VDS max (V)": 40, resistance_heading("max", 10): 8, resistance_heading("typ", 10): 6.5}
        shelf.take_in(listed(shelf, [fern(**ours)]), name="reed.csv")
        alone = shelf.parts()["FP-12"]
        theirs = {"VDS max (V)": 30, "ID at Tc = 25 °C (A)": 50, resistance_heading("max", 4.5): 12,
                  resistance_heading("max", 10): 9}  # fmt: skip
        other = fern(**{"Part number": "FP-99", "VDS max (V)": 55})
        shelf.take_in(listed(shelf, [fern(**theirs), other]), supplier="Rush")
        both = shelf.parts()["FP-12"]
        assert (both["vds_v"], both["id_case_a"], both["rds_4v5_ohm"]) == (30, 50, pytest.approx(0.012))
        assert (both["rds_10v0_ohm"], both["rds_typ_10v0_ohm"]) == (pytest.approx(0.009), pytest.approx(0.0065))
        shelf.take_in(listed(shelf, [other]), supplier="Rush")
        assert shelf.parts()["FP-12"] == alone

    def test_of_two_gate_voltages_the_greater_not_above_the_level_counts(self, shelf: Shelf) -> None:
        """7 V of one list and 7.5 V of another, between the levels; each comes back when the other list goes."""
        shelf.take_in(listed(shelf, [fern(**{"VDS max (V)": 30, resistance_heading("max", 7): 12})]), name="reed.csv")
        other = fern(**{"Part number": "FP-99", "VDS max (V)": 55})
        at_7v5 = fern(**{"VDS max (V)": 30, resistance_heading("max", 7.5): 14})
        shelf.take_in(listed(shelf, [at_7v5, other]), supplier="Rush")
        part = shelf.parts()["FP-12"]
        assert (part["rds_6v0_ohm"], part["rds_8v0_at_v"], part["rds_from_v"]) == (None, 7.5, 7.0)
        assert part["rds_8v0_ohm"] == pytest.approx(0.014)
        shelf.take_in(listed(shelf, [other]), supplier="Rush")
        part = shelf.parts()["FP-12"]
        assert (part["rds_8v0_ohm"], part["rds_8v0_at_v"]) == (pytest.approx(0.012), 7.0)

    def test_a_typical_figure_that_is_the_same_at_two_voltages_is_kept_for_both(self, shelf: Shelf) -> None:
        """A second list's lower figure does not take its place, whichever list came first."""
        flat = {"VDS max (V)": 30, resistance_heading("typ", 4.5): 10, resistance_heading("typ", 10): 10}
        lower = {"VDS max (V)": 30, resistance_heading("typ", 10): 8}
        for first, second in ((flat, lower), (lower, flat)):
            here = shelf.another()
            here.take_in(listed(shelf, [fern(**first)]), name="reed.csv")
            here.take_in(listed(shelf, [fern(**second)]), name="rush.csv")
            assert here.parts()["FP-12"]["rds_typ_10v0_ohm"] == pytest.approx(0.010)

    def test_of_two_claims_the_first_names_the_part(self, shelf: Shelf) -> None:
        """The earlier list, and within a list the earlier record, says how the maker and the number are written."""
        number = len(shelf.ROWS)
        rows = [*shelf.ROWS[1:], *(shelf.row(Maker=maker) for maker in ("FernHill power", "fernhill Power"))]
        shelf.take_in(shelf.text(rows), supplier="Reed")
        assert shelf.parts()["FP-12"]["maker"] == "FernHill power"
        shelf.take_in(shelf.text(), supplier="Rush")
        assert shelf.parts()["FP-12"]["maker"] == "FernHill power"
        assert len(shelf.parts()) == number

    def test_a_part_twice_in_one_list_is_two_offers_and_one_claim(self, shelf: Shelf) -> None:
        """Each row keeps its price; the worse row's rating counts."""
        report = shelf.take_in(listed(shelf, [fern(**{"VDS max (V)": volts}) for volts in (40, 30)]))
        assert (report.offers, report.parts) == (2, 1)
        part = shelf.parts()["FP-12"]
        assert (part["vds_v"], part["claims"], part["differs"]) == (30, 1, "VDS")


class TestReplacing:
    """Which lists a new one takes the place of."""

    @staticmethod
    def held(shelf: Shelf) -> list[tuple[str, str]]:
        """Return the lists' files and the part numbers that they offer."""
        told = shelf.rows("SELECT l.file, p.part_number FROM lists l JOIN offers o USING (list_id) "
                          "JOIN parts_transistor p USING (part_key) ORDER BY ALL")  # fmt: skip
        return [(one["file"], one["part_number"]) for one in told]

    @staticmethod
    def of(shelf: Shelf, number: str) -> str:
        """Write a list of one part."""
        return listed(shelf, [fern(**{"Part number": number, "VDS max (V)": 30, "Stock": 5})])

    def test_the_same_file_twice_changes_nothing(self, shelf: Shelf) -> None:
        """Not even the time at which it was taken in."""
        shelf.take_in(shelf.text())
        before = shelf.tables()
        report = shelf.take_in(shelf.text())
        assert (report.outcome, report.rows_parts) == ("same", 3)
        assert shelf.tables() == before

    def test_a_newer_list_replaces_the_suppliers_and_no_other(self, shelf: Shelf) -> None:
        """Offers and claims of its earlier list are gone."""
        shelf.take_in(self.of(shelf, "OLD-1"), name="a.csv", supplier="Reed")
        shelf.take_in(self.of(shelf, "RUSH-1"), name="b.csv", supplier="Rush")
        assert shelf.take_in(self.of(shelf, "NEW-1"), name="c.csv", supplier="Reed").outcome == "replaced"
        assert self.held(shelf) == [("b.csv", "RUSH-1"), ("c.csv", "NEW-1")]
        assert set(shelf.parts()) == {"RUSH-1", "NEW-1"}

    def test_earlier_lists_are_kept_where_that_is_asked(self, shelf: Shelf) -> None:
        """A price list that comes in several files."""
        shelf.take_in(self.of(shelf, "OLD-1"), name="a.csv", supplier="Reed")
        report = shelf.take_in(self.of(shelf, "NEW-1"), name="b.csv", supplier="Reed", keep_earlier=True)
        assert report.outcome == "new"
        assert self.held(shelf) == [("a.csv", "OLD-1"), ("b.csv", "NEW-1")]

    def test_files_of_one_call_stand_together(self, shelf: Shelf) -> None:
        """They replace what was there before, and not one another; also where one of them was there before."""
        shelf.take_in(self.of(shelf, "OLD-1"), name="a.csv", supplier="Reed")
        shelf.take_in(self.of(shelf, "OLD-2"), name="b.csv", supplier="Reed", keep_earlier=True)
        files = [shelf.write(self.of(shelf, number), f"{number}.csv") for number in ("OLD-1", "NEW-1", "NEW-2")]
        reports = intake(shelf.path, files, supplier="Reed")
        assert [report.outcome for report in reports] == ["same", "replaced", "new"]
        assert [number for _, number in self.held(shelf)] == ["NEW-1", "NEW-2", "OLD-1"]

    def test_what_was_refused_goes_with_its_list(self, shelf: Shelf) -> None:
        """A mended list leaves no refusals behind."""
        shelf.take_in(shelf.text([shelf.row(VDS="plenty"), *shelf.ROWS[1:]]))
        assert len(shelf.refused()) == 1
        shelf.take_in(shelf.text())
        assert shelf.refused() == []


GATE_VOLTS = (1.8, 4.5, 7.0, 10.0)
OPTIONAL: dict[Any, st.SearchStrategy[Any]] = {
    **{name: st.sampled_from(VALUES[name]) for name in ("id_case_a", "vgs_th_max_v", "rthjc_k_per_w")},
    **{(kind, volts): st.sampled_from([8, 12, 15]) for kind in ("max", "typ") for volts in GATE_VOLTS},
}
REQUIRED: dict[Any, st.SearchStrategy[Any]] = {
    "maker": st.sampled_from(["Fernhill Power", "FERNHILL-POWER", "Mossbank"]),
    "number": st.sampled_from(["A1", "B2"]),
    "vds_v": st.sampled_from(VALUES["vds_v"]),
}
# A random claim: values far enough apart that no two of them count as the same.
CLAIMS = st.fixed_dictionaries(REQUIRED, optional=OPTIONAL)
SUPPLIERS = st.sampled_from(["Reed", "Rush", "Sedge"])
CALLS = st.lists(st.tuples(SUPPLIERS, st.lists(CLAIMS, min_size=1, max_size=4)), min_size=1, max_size=4)


@st.composite
def lists_that_mostly_agree(draw: st.DrawFn) -> list[tuple[str, list[dict[Any, Any]]]]:
    """Draw lists of what is true of two parts: each leaves something out, and seldom says something else."""
    truth = [
        draw(st.fixed_dictionaries({**REQUIRED, **OPTIONAL, "number": st.just(number)})) for number in ("A1", "B2")
    ]
    calls = []
    for supplier in draw(st.lists(SUPPLIERS, min_size=2, max_size=5)):
        silent = draw(st.sets(st.sampled_from(list(OPTIONAL)), max_size=3))
        claims = []
        for part in draw(st.sampled_from([truth, truth[:1], [*truth, truth[0]]])):
            claim = {name: told for name, told in part.items() if name not in silent}
            if draw(st.integers(0, 5)) == 0:
                name = draw(st.sampled_from([*OPTIONAL, "vds_v"]))
                claim[name] = draw(OPTIONAL.get(name, REQUIRED["vds_v"]))
            claims.append(claim)
        calls.append((supplier, claims))
    return calls


def expected_part(claims: list[tuple[str, dict[Any, Any]]]) -> dict[str, Any]:
    """Merge a part's claims by the plainest means."""
    part: dict[str, Any] = {"claims": len({supplier for supplier, _ in claims})}
    differs = set()
    for name, symbol in (("vds_v", "VDS"), ("id_case_a", "ID"), ("vgs_th_max_v", "VGS(th)"), ("rthjc_k_per_w", "RθJC")):
        told = [claim[name] for _, claim in claims if name in claim]
        part[name] = (min(told) if FIGURES[name][2] else max(told)) if told else None
        differs |= {symbol} if len(set(told)) > 1 else set()
    for kind, stem in (("max", "rds"), ("typ", "rds_typ")):
        at: dict[float, set[float]] = {}
        for _, claim in claims:
            for volts in GATE_VOLTS:
                if (kind, volts) in claim:
                    at.setdefault(volts, set()).add(claim[kind, volts])
        for label, level in LEVELS.items():
            below = [volts for volts in at if volts <= level]
            part[f"{stem}_{label}_ohm"] = max(at[max(below)]) / 1000 if below else None
            if kind == "max":
                part[f"{stem}_{label}_at_v"] = max(below, default=None)
        if kind == "max":
            part["rds_from_v"] = min(at, default=None)
            differs |= {"RDS(on)"} if any(len(told) > 1 for told in at.values()) else set()
    part["differs"] = ", ".join(sorted(differs))
    return part


@pytest.fixture(params=["sorted", "beside"])
def laid_how(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """All parts laid down anew each time, as where they are few; or those touched beside the others, few at once.

    Then words are not sorted as numbers either, as where they are many.
    """
    if request.param == "beside":
        monkeypatch.setattr(assembly, "_MOST_WORDS", 1)
        monkeypatch.setattr(laying, "FEW_PARTS", 0)
        monkeypatch.setattr(laying, "MOST_BESIDE", 100.0)
        monkeypatch.setattr(merging, "AT_ONCE", 1)
        monkeypatch.setattr(settling, "AT_ONCE", 1)
    return str(request.param)


@pytest.mark.usefixtures("laid_how")
@pytest.mark.parametrize("kind", ["max", "typ"])
@given(calls=CALLS | lists_that_mostly_agree())
@settings(max_examples=7, phases=[Phase.generate], suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_catalogue_holds_what_a_plain_merge_of_the_lists_gives(
    shelves: Shelf, kind: str, calls: list[tuple[str, list[dict[Any, Any]]]]
) -> None:
    """Whatever lists came in, whatever they replaced: each part is merged from the lists that are in now.

    Maxima and typical figures stand for themselves, so that the one does not hide the other.
    """
    other = "typ" if kind == "max" else "max"
    calls = [
        (supplier, [{key: told for key, told in claim.items() if key[0] != other} for claim in claims])
        for supplier, claims in calls
    ]
    shelf = shelves.another()
    lists: dict[str, list[dict[Any, Any]]] = {}
    for supplier, claims in calls:
        lists[supplier] = claims
        rows = [
            {
                "Maker": claim["maker"],
                "Part number": claim["number"],
                "Package": "TO-220",
                "Channel": "N",
                **{FIGURES[name][0]: claim[name] for name in FIGURES if name in claim},
                **{resistance_heading(*key): claim[key] for key in claim if isinstance(key, tuple)},
                "Stock": 7,
            }
            for claim in claims
        ]
        shelf.take_in(listed(shelf, rows), supplier=supplier)
    wanted: dict[tuple[str, str], list[tuple[str, dict[Any, Any]]]] = {}
    for supplier, claims in lists.items():
        for claim in claims:
            wanted.setdefault((claim["maker"][:3].upper(), claim["number"]), []).append((supplier, claim))
    rows_now = shelf.rows("SELECT * FROM parts_transistor")
    found = {(row["maker"][:3].upper(), row["part_number"]): row for row in rows_now}
    assert len(rows_now) == len(found)
    assert found.keys() == wanted.keys()
    for key, told in wanted.items():
        expected = expected_part(told)
        row = {**found[key], "differs": ", ".join(sorted((found[key]["differs"] or "").split(", ")))}
        assert shelf.apart(row, expected) == {}, key


def many(shelf: Shelf, numbers: Iterable[int], **cells: Any) -> str:
    """List parts by number, with a rating that hangs on it."""
    rows = ({"Part number": f"P-{number}", "VDS max (V)": 20 + number % 50, **cells} for number in numbers)
    return listed(shelf, [fern(**row) for row in rows])


class TestAShortListIntoALongOne:
    """What it does not touch stays where it lies, until many lie beside the sorted ones."""

    @staticmethod
    def order(shelf: Shelf) -> list[str]:
        """Name the parts as they lie in the table."""
        keys = shelf.rows("SELECT part_key FROM stored_transistor ORDER BY rowid")
        return [row["part_key"].partition("|")[2] for row in keys]

    @staticmethod
    def beside(shelf: Shelf) -> int:
        """Say how many lie beside the sorted ones."""
        return int(shelf.rows("SELECT beside FROM laid WHERE family = 'transistor'")[0]["beside"])

    @pytest.fixture(autouse=True)
    def _long_is_forty(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(laying, "FEW_PARTS", 40)

    def test_only_parts_of_which_it_says_something_new_are_moved(self, shelf: Shelf) -> None:
        """Ten of a hundred are laid beside, five of them new; of five it says what is known, and they stay."""
        shelf.take_in(many(shelf, range(100)), supplier="Reed")
        before = self.order(shelf)
        lesser = {"VDS max (V)": 15}
        known, said, new = range(85, 90), range(95, 100), range(100, 105)
        rows = [*({"Part number": f"P-{number}", "VDS max (V)": 20 + number % 50} for number in (*known, *new)),
                *({"Part number": f"P-{number}", **lesser} for number in said)]  # fmt: skip
        shelf.take_in(listed(shelf, [fern(**row) for row in rows]), supplier="Rush")
        named = {f"P-{number}" for number in (*said, *new)}
        after = self.order(shelf)
        assert after[:95] == [name for name in before if name not in named]
        assert set(after[95:]) == named
        assert self.beside(shelf) == 10
        assert {name: part["claims"] for name, part in shelf.parts().items() if part["claims"] > 1} == {
            f"P-{number}": 2 for number in (*known, *said)
        }

    def test_all_are_laid_down_anew_when_many_lie_beside(self, shelf: Shelf) -> None:
        """More than a quarter in all: then the table is in order again, by what it is sorted by."""
        shelf.take_in(many(shelf, range(100)), supplier="Reed")
        for turn in range(4):
            shelf.take_in(many(shelf, range(200 + 10 * turn, 210 + 10 * turn)), supplier=f"Rush {turn}")
        assert self.beside(shelf) == 0
        volts = [row["vds_v"] for row in shelf.rows("SELECT vds_v FROM stored_transistor ORDER BY rowid")]
        assert volts == sorted(volts)
        assert len(volts) == 140

    def test_long_lists_of_new_parts_lie_in_runs_until_there_are_many(
        self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Each is sorted for itself behind the others; a fifth has all of them laid in one."""
        monkeypatch.setattr(laying, "LONG_RUN", 50)
        for turn in range(4):
            shelf.take_in(many(shelf, range(100 * turn, 100 * turn + 60)), supplier=f"Rush {turn}")
            volts = [row["vds_v"] for row in shelf.rows("SELECT vds_v FROM stored_transistor ORDER BY rowid")]
            runs = [volts[place : place + 60] for place in range(0, len(volts), 60)]
            assert runs == [sorted(run) for run in runs]
            assert len(runs) == turn + 1
        assert self.beside(shelf) == 0
        assert runs[0][-1] > runs[1][0]
        shelf.take_in(many(shelf, range(400, 470)), supplier="Rush 4")
        volts = [row["vds_v"] for row in shelf.rows("SELECT vds_v FROM stored_transistor ORDER BY rowid")]
        assert volts == sorted(volts)
        assert len(volts) == 310

    def test_a_new_column_lays_all_down_anew(self, shelf: Shelf) -> None:
        """A level that no list gave before is filled up from those below it in every part."""
        shelf.take_in(many(shelf, range(100), **{resistance_heading("max", 4.5): 12}), supplier="Reed")
        shelf.take_in(many(shelf, [100], **{resistance_heading("max", 10): 8}), supplier="Rush")
        parts = shelf.parts()
        assert self.beside(shelf) == 0
        assert parts["P-7"]["rds_10v0_ohm"] == pytest.approx(0.012)
        assert (parts["P-100"]["rds_10v0_ohm"], parts["P-100"]["rds_4v5_ohm"]) == (pytest.approx(0.008), None)

    def test_a_part_with_a_low_level_alone_is_filled_up(self, shelf: Shelf) -> None:
        """It is laid beside; the levels that others give are filled up from its own."""
        both = {resistance_heading("max", 4.5): 12, resistance_heading("max", 10): 8}
        shelf.take_in(many(shelf, range(100), **both), supplier="Reed")
        shelf.take_in(many(shelf, [100], **{resistance_heading("max", 4.5): 9}), supplier="Rush")
        assert self.beside(shelf) == 1
        assert shelf.parts()["P-100"]["rds_10v0_ohm"] == pytest.approx(0.009)

    def test_a_list_that_is_replaced_takes_its_parts_along(self, shelf: Shelf) -> None:
        """Those that another list names too stay, as that list says."""
        shelf.take_in(many(shelf, range(100)), supplier="Reed")
        shelf.take_in(many(shelf, range(98, 102), **{"VGS max (V)": 12}), supplier="Rush")
        assert self.beside(shelf) == 2  # of the other two something is known now where they lie
        shelf.take_in(many(shelf, [300]), supplier="Rush")
        parts = shelf.parts()
        assert parts.keys() == {f"P-{number}" for number in (*range(100), 300)}
        assert [(parts[name]["claims"], parts[name]["vgs_max_v"]) for name in ("P-98", "P-99")] == [(1, None)] * 2
        assert self.beside(shelf) == 2 + 5
        assert shelf.rows("SELECT * FROM claims_transistor") == []
