"""Many needs at once: the rows that single choices give, whatever is asked."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest
from engine_checks import needs_of

import loadworthy
from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog
from loadworthy.errors import UsageError
from loadworthy.many import answering, choose_many, searching
from loadworthy.many.session import Session
from loadworthy.many.spread import Spread
from loadworthy.needs import NEEDS, DiodeNeed, Need, TransistorNeed
from loadworthy.selection import choose

Make = Callable[..., Any]
Rows = list[dict[str, Any]]

SUPPLIERS = ("Thistledown", "Tidemill", "Rabenmoos")


def shuffled_parts(part: Make, *, count: int, seed: int) -> Rows:
    """Parts with holes in their figures and many ties, in several packages and both channels."""
    dice = random.Random(seed)  # noqa: S311 - a population, no secret

    def maybe(share: float, *values: Any) -> Any:
        return dice.choice(values) if dice.random() < share else None

    made = []
    for number in range(count):
        volts = dice.sample((1.8, 2.5, 2.7, 3.0, 4.5, 4.7, 5.0, 10.0), dice.randint(0, 3))
        ohms = dice.choice((0.003, 0.004, 0.005, 0.008, 0.02, 0.05))
        made.append(
            part(
                f"P{number:04}",
                maker=dice.choice(("Alder", "Birch", "Yew")),
                channel=maybe(0.97, "n", "n", "n", "p"),
                package=maybe(0.95, "TO-220", "TO-252", "SO-8", "SOT-23"),
                vds_v=maybe(0.97, 18.0, 20.0, 30.0, 40.0, 60.0, 100.0),
                vgs_max_v=maybe(0.9, 8.0, 12.0, 20.0),
                vgs_th_max_v=maybe(0.85, 1.2, 2.5, 4.0),
                id_case_a=maybe(0.7, 4.0, 9.375, 40.0),
                id_case_hot_a=maybe(0.3, 8.0, 30.0),
                id_ambient_a=maybe(0.4, 3.0, 12.0),
                id_pulse_a=maybe(0.5, 20.0, 120.0),
                junction_max_degc=maybe(0.9, 125.0, 150.0, 175.0),
                hot_exponent=maybe(0.4, 0.8, 1.2, 1.8, 4.6),
                rthja_k_per_w=maybe(0.6, 40.0, 62.0, 100.0),
                rthjc_k_per_w=maybe(0.5, 1.0, 3.0),
                qgd_c=maybe(0.4, 5e-9, 20e-9),
                qg_c=maybe(0.6, 20e-9, 60e-9),
                rise_s=maybe(0.5, 20e-9),
                fall_s=maybe(0.5, 15e-9),
                typical=maybe(0.3, "RDS(on), ID", "Qg"),
                rds={volt: round(ohms * (5.0 / volt) ** 0.3, 6) for volt in volts},
                rds_typ={dice.choice((2.5, 4.5)): ohms * 0.8} if dice.random() < 0.5 else {},
            )
        )
    return made


def shuffled_offers(parts: Rows, *, seed: int) -> Rows:
    """None to three offers a part, some without a price or a stock."""
    dice = random.Random(seed)  # noqa: S311 - as above
    return [
        {
            "part_key": one["part_key"],
            "supplier": supplier,
            "currency": dice.choice(("EUR", "GBP", None)),
            "unit_price": dice.choice((0.5, 0.5, 0.8, 1.2, None)),
            "stock": dice.choice((0, 40, None)),
            "order_number": f"{supplier[:2]}{one['part_number']}",
        }
        for one in parts
        for supplier in dice.sample(SUPPLIERS, dice.randint(0, 3))
    ]


def shuffled_needs(*, count: int, seed: int) -> list[Need]:
    """Needs that use every option that bears on the choice."""
    dice = random.Random(seed)  # noqa: S311 - as above
    asked: list[Need] = []
    while len(asked) < count:
        given: dict[str, Any] = {"supply": dice.choice(("5V", "12V", "24V")), "ambient": dice.choice(
            ("40degC", "25degC", "10degC", "-20degC", "70degC")
        )}  # fmt: skip
        given[dice.choice(("current", "current", "power"))] = "."
        if "power" in given:
            given["power"] = dice.choice(("6W", "60W"))
        else:
            given["current"] = dice.choice(("0.2A", "1A", "3A", "7.5A", "20A"))
        given["drive"] = dice.choice(("5V", "3.3V", "4.5V", "10V", "4.8V", "2.6V", "13V", "1.5V"))
        options: dict[str, Sequence[Any]] = {
            "package": (("TO-220",), ("TO-220", "DPAK"), ("SOT-23",), ("TO-247",)),
            "channel": ("p",),
            "pwm": ("2kHz",),
            "heatsink": ("10K/W", "40K/W"),
            "max_loss": ("0.3W", "2W"),
            "supplier": (("thistledown",), ("Tidemill", "Rabenmoos")),
            "in_stock": (True,),
            "max_price": ("0.60 EUR", "1 GBP"),
            "accept": (("heat",), ("drive", "gate"), ("loss", "heat", "drive", "current"), ("channel", "package"),
                       ("threshold", "voltage", "offer")),
            "profile": ("MIL-DTL-917",),
            "gate_pulldown": ("10kohm",),
            "gate_series": ("1kohm",),
            "bar_measured_outside": (True,),
            "prefer_measured": (True,),
            "junction_derating": ("60K",),
        }  # fmt: skip
        for name, values in options.items():
            if dice.random() < 0.15:
                given[name] = dice.choice(values)
        if "power" not in given and "accept" in given and dice.random() < 0.3:
            given.pop("current")
            given |= {"resistance": "4ohm", "cold_resistance": "1ohm"}
        asked.append(TransistorNeed(**given))
    return asked


def grouped(table: pa.Table, count: int) -> list[Rows]:
    """Split the answers by their need."""
    found: list[Rows] = [[] for _ in range(count)]
    for row in table.to_pylist():
        found[row.pop("id")].append(row)
    return found


def assert_as_single(catalog: Any, needs: Sequence[Need], table: pa.Table, top: int) -> None:
    """Every row of every need is that of a choice of its own."""
    for need, rows in zip(needs, grouped(table, len(needs)), strict=True):
        assert rows == list(choose(catalog, need, top=top, near=0, counting=False).ranked), need


@pytest.fixture
def mixed(catalog_of: Make, part: Make) -> Any:
    """A catalogue with everything in it that makes a choice hard, and two parts that were measured."""
    parts = shuffled_parts(part, count=1500, seed=29)
    catalog = catalog_of(*parts, offers=shuffled_offers(parts, seed=31))
    fitting = choose(catalog, TransistorNeed(supply="12V", current="3A"), top=6).ranked
    for piece, (row, verdict) in enumerate([(fitting[0], "outside"), (fitting[4], "within"), (fitting[5], "within")]):
        catalog.connection.execute(
            "INSERT INTO measured "
            "(session, piece, family, part_key, maker, part_number, supplier, measured_on, verdict) "
            "VALUES (1, ?, 'transistor', ?, ?, ?, 'Tidemill', '2025-03-14', ?)",
            [piece, row["part_key"], row["maker"], row["part_number"], verdict],
        )
    return catalog


@pytest.mark.parametrize("top", [1, 5])
def test_many_answers_are_the_single_ones_row_for_row(mixed: Any, top: int) -> None:
    """Same parts, order, ranks, figures, assumptions, remarks and offers."""
    needs = shuffled_needs(count=60, seed=top)
    table = choose_many(mixed, needs, top=top)
    assert 15 < len(set(table.column("id").to_pylist())) < 60  # some find parts, some do not
    assert_as_single(mixed, needs, table, top)


def test_a_need_that_would_look_at_too_much_is_asked_alone(mixed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the tiers leave over gives the same rows."""
    needs = shuffled_needs(count=20, seed=7)
    whole = choose_many(mixed, needs, top=4)
    monkeypatch.setattr(searching, "_PAIRS_OF_ONE", 8)
    monkeypatch.setattr(searching, "_SLICE", 7)
    monkeypatch.setattr(searching, "_CLASSES", 2)
    monkeypatch.setattr(searching, "_MOST_ROWS", 50)
    monkeypatch.setattr(searching, "_MOST_PAIRS", 30)
    assert choose_many(mixed, needs, top=4).to_pylist() == whole.to_pylist()


def test_parts_that_stay_where_they_are_give_the_same(mixed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The way of an engine that splits the work, which looks parts up anew for each statement; here by DuckDB."""
    needs = shuffled_needs(count=25, seed=17)
    whole = choose_many(mixed, needs, top=4)
    monkeypatch.setattr(answering, "engine_of", lambda _: "another")
    monkeypatch.setattr(Spread, "_place_parts", Session._place_parts)
    assert choose_many(mixed, needs, top=4).to_pylist() == whole.to_pylist()
    assert len(whole)


def test_every_tie_at_the_end_is_looked_at(catalog_of: Make, part: Make) -> None:
    """Forty parts tie for two places: the cheapest get them, as in a choice of its own."""
    parts = [part(f"T{number:02}") for number in range(40)]
    offers = [
        {"part_key": f"Alder|T{number:02}", "supplier": "S", "currency": "EUR", "unit_price": 5.0 - number / 10}
        for number in range(40)
    ]
    catalog = catalog_of(*parts, offers=offers)
    table = choose_many(catalog, [TransistorNeed(supply="12V", current="3A")] * 2, top=2)
    assert table.column("part_number").to_pylist() == ["T39", "T38"] * 2


def test_parts_without_a_loss_come_last_where_all_that_hides_it_is_accepted(catalog_of: Make, part: Make) -> None:
    """With every unknown accepted a part of which nothing is known fits too, behind those that have a loss."""
    bare = {"rds": {}, "vgs_th_max_v": None, "rthja_k_per_w": None, "package_rthja_k_per_w": None, "rds_from_v": None}
    catalog = catalog_of(part("known"), part("unknown", **bare), part("other", **bare))
    need = TransistorNeed(supply="12V", current="3A", accept=("drive", "threshold", "loss", "heat"))
    table = choose_many(catalog, [need], top=3)
    assert table.column("part_number").to_pylist() == ["known", "other", "unknown"]
    assert_as_single(catalog, [need], table, 3)


def test_an_empty_family_and_no_needs(catalog_of: Make) -> None:
    """Nothing to choose from gives no rows, and no needs give no answers."""
    catalog = catalog_of()
    assert len(choose_many(catalog, [TransistorNeed(supply="12V", current="3A")])) == 0
    assert len(choose_many(catalog, [])) == 0


def test_names_of_needs_are_kept(catalog_of: Make, part: Make) -> None:
    """A dict names its needs; a list counts them."""
    catalog = catalog_of(part("A"))
    need = TransistorNeed(supply="12V", current="3A")
    assert choose_many(catalog, {"mat": need, "pump": need}).column("id").to_pylist() == ["mat", "pump"]
    assert choose_many(catalog, [need, need]).column("id").to_pylist() == [0, 1]


def test_what_cannot_be_asked_together_is_refused(catalog_of: Make, part: Make) -> None:
    """Needs of two families, a supplier that is not known, no rows."""
    catalog = catalog_of(part("A"))
    need = TransistorNeed(supply="12V", current="3A")
    with pytest.raises(UsageError, match="several families"):
        choose_many(catalog, [need, DiodeNeed(supply="12V", current="1A")])
    with pytest.raises(UsageError, match="no supplier"):
        choose_many(catalog, [TransistorNeed(supply="12V", current="3A", supplier=("Nobody",))])
    with pytest.raises(UsageError, match="0 rows"):
        choose_many(catalog, [need], top=0)


OTHERS = {
    "connector": ({"supply": "12V", "current": "8A", "poles": "2"}, {"supply": "12V", "current": "60A"}),
    "fuse": ({"supply": "12V", "current": "7.5A"}, {"supply": "24V", "current": "2A", "type": "one-shot"}),
    "wire": ({"supply": "12V", "current": "8A", "length": "3m"}, {"supply": "12V", "current": "2A", "length": "1m"}),
    "heatsink": ({"loss": "3W", "package": ("TO-220",)}, {"loss": "1W", "package": ("TO-220",)}),
    "diode": ({"supply": "12V", "current": "3A", "pwm": "500Hz"}, {"supply": "24V", "current": "1A", "pwm": "500Hz"}),
}


@pytest.fixture(scope="module")
def greenhouse(stocked: Path) -> Any:
    """The demo's lists, taken in."""
    with Catalog.open(stocked) as catalog:
        yield catalog


@pytest.mark.parametrize("together", [True, False])
@pytest.mark.parametrize("family", OTHERS)
def test_needs_of_every_other_family_are_answered_as_single_ones(
    greenhouse: Any, monkeypatch: pytest.MonkeyPatch, family: str, together: bool
) -> None:
    """Every part is held against many needs at once, or need by need where parts are many: the figures are the same.

    Asked are the examples of the family's help, needs that ask for an offer, and needs that accept each unknown.
    """
    if together:
        monkeypatch.setattr(answering, "choose", None)
        monkeypatch.setattr(searching, "_MOST_PAIRS", 500)
    else:
        monkeypatch.setattr(answering, "_MOST_PARTS", 0)
    make, first = NEEDS[family], OTHERS[family][0]
    needs = [*needs_of(family), *(make(**given) for given in OTHERS[family])]
    needs += [make(**first, **more) for more in ({"in_stock": True}, {"max_price": "0.60 EUR"}, {"max_price": "5 GBP"})]
    needs += [make(**first, accept=(one.name,)) for one in needs[0].rules.criteria]
    table = greenhouse.choose_many(needs, top=3)
    singles = [list(choose(greenhouse, need, top=3, near=0, counting=False).ranked) for need in needs]
    assert sum(map(bool, singles)) > len(needs) // 3
    shown = grouped(table, len(needs))
    for rows, wanted in zip(shown, singles, strict=True):
        known = [{name: value for name, value in row.items() if value is not None} for row in rows]
        assert known == [{name: value for name, value in row.items() if value is not None} for row in wanted]


def test_a_catalogue_that_was_taken_in_answers_many(greenhouse: Any) -> None:
    """Through the view over the stored table, with the demo's offers in two currencies."""
    needs = shuffled_needs(count=30, seed=11)
    needs = [need for need in needs if not need.supplier]
    assert_as_single(greenhouse, needs, greenhouse.choose_many(needs, top=5), 5)


def test_a_catalogue_in_parquet_files_answers_as_the_file_does(greenhouse: Any, tmp_path: Path) -> None:
    """Its parts have no numbers of their own; the answers are the same to the last figure."""
    export(greenhouse, tmp_path / "set")
    needs = [need for need in shuffled_needs(count=20, seed=19) if not need.supplier]
    with Catalog.open(tmp_path / "set") as catalog:
        table = catalog.choose_many(needs, top=5)
    assert len(table)
    assert table.to_pylist() == greenhouse.choose_many(needs, top=5).to_pylist()


def test_needs_are_read_from_a_file(tmp_path: Path, greenhouse: Any) -> None:
    """``read_needs`` gives needs that ``choose_many`` takes, by the names of their rows."""
    file = tmp_path / "needs.csv"
    file.write_text("id,supply,current\nmat,12V,7.5A\nodd,12,1A\n", encoding="utf-8")
    needs, refused = loadworthy.read_needs(file, "transistor")
    assert [(one.row, one.id, one.column) for one in refused] == [(3, "odd", "supply")]
    table = loadworthy.choose_many(greenhouse, needs, top=2)
    assert table.column("id").to_pylist() == ["mat", "mat"]
