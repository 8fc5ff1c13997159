"""The ranked list, the counts and the near misses of a selection."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest
from engine_checks import needs_of
from oracle import as_ranked, sorted_out

from loadworthy import asking, selection
from loadworthy.catalog.store import Catalog
from loadworthy.errors import CatalogError, UsageError
from loadworthy.explanation import explain
from loadworthy.judging import of_offers
from loadworthy.needs import NEEDS, TransistorNeed
from loadworthy.selection import choose

Make = Callable[..., Any]
LOAD = {"supply": "12V", "resistance": "1R6"}


def numbers(chosen: Any) -> list[str]:
    """Return the part numbers in ranked order."""
    return [row["part_number"] for row in chosen.ranked]


def test_least_conduction_loss_comes_first_whatever_the_part_costs(catalog_of: Make, part: Make) -> None:
    """Ranking is by conduction loss at the target current; price only breaks ties."""
    parts = [
        part("worst", rds={4.5: 0.009}),
        part("best", rds={4.5: 0.003}),
        part("middle", rds={4.5: 0.005}),
    ]
    offers = [{"part_key": "Alder|worst", "supplier": "S", "currency": "EUR", "unit_price": 0.1}]
    assert numbers(choose(catalog_of(*parts, offers=offers), TransistorNeed(**LOAD))) == [
        "best",
        "middle",
        "worst",
    ]


def test_ties_are_broken_by_price_then_maker_then_number(catalog_of: Make, part: Make) -> None:
    """Parts of equal loss: the cheaper first, then those without a price by maker and number."""
    parts = [
        part("B2", maker="Birch"), part("B1", maker="Birch"), part("A9", maker="Alder"),
        part("cheap", maker="Yew"), part("dear", maker="Alder"), part("foreign", maker="Zelkova"),
    ]  # fmt: skip
    offers = [
        {"part_key": "Yew|cheap", "supplier": "S", "currency": "EUR", "unit_price": 0.5},
        {"part_key": "Alder|dear", "supplier": "S", "currency": "EUR", "unit_price": 0.9},
        {"part_key": "Zelkova|foreign", "supplier": "T", "currency": "USD", "unit_price": 0.1},
    ]
    chosen = choose(catalog_of(*parts, offers=offers), TransistorNeed(**LOAD))
    assert numbers(chosen) == ["cheap", "dear", "A9", "B1", "B2", "foreign"]


def test_total_loss_breaks_ties_of_conduction_loss_before_price(catalog_of: Make, part: Make) -> None:
    """Same on-resistance hot, more charge: the part that switches and drives with less loss comes first."""
    parts = [
        part("A", rise_s=0.0, fall_s=0.0, qgd_c=0.0, qg_c=90e-9),
        part("B", rise_s=0.0, fall_s=0.0, qgd_c=0.0, qg_c=9e-9),
    ]
    chosen = choose(catalog_of(*parts), TransistorNeed(**LOAD, pwm="20kHz"))
    assert numbers(chosen) == ["B", "A"]
    first, second = chosen.ranked
    assert first["conduction_loss_w"] == second["conduction_loss_w"]
    assert second["total_loss_w"] - first["total_loss_w"] == pytest.approx(5.0 * 81e-9 * 20e3)


def test_every_tie_at_the_end_of_the_list_is_looked_at(catalog_of: Make, part: Make) -> None:
    """Forty parts tie for two places: those with the cheapest offers get them."""
    parts = [part(f"T{number:02}") for number in range(40)]
    offers = [
        {
            "part_key": f"Alder|T{number:02}",
            "supplier": "S",
            "currency": "EUR",
            "unit_price": 5.0 - number / 10,
        }
        for number in range(40)
    ]
    chosen = choose(catalog_of(*parts, offers=offers), TransistorNeed(**LOAD), top=2)
    assert numbers(chosen) == ["T39", "T38"]


def test_counts_close_and_follow_the_order_of_the_need(catalog_of: Make, part: Make) -> None:
    """A part counts under the first criterion it fails; one that fails none and is not known counts apart."""
    parts = [
        part("fits"),
        part("two", rds={6.0: 0.005}, vds_v=15.0),
        part("one", vds_v=15.0),
        part("unknown", vgs_max_v=None),
        part("unknown and failing", vgs_max_v=None, id_case_a=1.0),
    ]
    counts = choose(catalog_of(*parts), TransistorNeed(**LOAD)).as_json()["counts"]
    assert counts["fit"] == 1
    assert {name: number for name, number in counts["stopped"].items() if number} == {
        "drive": 1,
        "voltage": 1,
        "current": 1,
    }
    assert list(counts["stopped"]) == [
        "channel",
        "drive",
        "threshold",
        "gate",
        "voltage",
        "current",
        "loss",
        "heat",
    ]
    assert counts["unknown"] == {"gate": 1}
    assert counts["considered"] == 5


def test_near_misses_fall_short_in_one_thing_the_nearest_first(catalog_of: Make, part: Make) -> None:
    """Part short in two things, or in something that is no number, is no near miss."""
    parts = [
        part("15 V", vds_v=15.0),
        part("17 V", vds_v=17.0),
        part("8 A", id_case_a=8.0),
        part("two", vds_v=17.0, id_case_a=8.0),
        part("channel", channel="p"),
        part("unknown too", vds_v=17.5, vgs_max_v=None),
    ]
    misses = choose(catalog_of(*parts), TransistorNeed(**LOAD)).near_misses
    assert [(miss["part_number"], miss["criterion"], miss["has"], miss["needs"], miss["unit"]) for miss in misses] == [
        ("17 V", "voltage", 17.0, 18.0, "V"),
        ("8 A", "current", 8.0, 9.375, "A"),
        ("15 V", "voltage", 15.0, 18.0, "V"),
    ]


def test_a_part_specified_above_the_drive_is_a_near_miss_with_that_voltage(catalog_of: Make, part: Make) -> None:
    """Its heat is not known at this drive, which does not count as a second step."""
    (miss,) = choose(catalog_of(part("A", rds={6.0: 0.005})), TransistorNeed(**LOAD)).near_misses
    assert (miss["criterion"], miss["has"], miss["needs"]) == ("drive", 6.0, 5.0)


def test_a_part_stopped_by_heat_alone_says_which_sink_would_do(catalog_of: Make, part: Make) -> None:
    """With the sink that the near miss names the part fits; with one worse by a tenth it does not."""
    catalog = catalog_of(part("A", rds={4.5: 0.03}))
    (miss,) = choose(catalog, TransistorNeed(**LOAD)).near_misses
    sink = miss["heatsink_needed_k_per_w"]
    assert miss["criterion"] == "heat"
    assert choose(catalog, TransistorNeed(**LOAD, heatsink=f"{sink * 0.999} K/W")).ranked
    assert not choose(catalog, TransistorNeed(**LOAD, heatsink=f"{sink * 1.1} K/W")).ranked


def test_thermal_runaway_is_named(catalog_of: Make, part: Make) -> None:
    """No junction temperature is given where there is none."""
    (miss,) = choose(catalog_of(part("A", rds={4.5: 0.2})), TransistorNeed(**LOAD)).near_misses
    assert miss["has"] is None
    assert miss["note"] == "thermal runaway"


def test_a_part_that_runs_away_is_a_near_miss_among_many_that_fit(catalog_of: Make, part: Make) -> None:
    """It has no shortfall to be ordered by, and comes before every part that is no miss at all."""
    parts = [part(f"F{number}") for number in range(40)]
    catalog = catalog_of(*parts, part("A", rds={4.5: 0.2}))
    (miss,) = choose(catalog, TransistorNeed(**LOAD), near=1).near_misses
    assert miss["part_number"] == "A"


def test_p_channel_parts_are_chosen_for_the_high_side(catalog_of: Make, part: Make) -> None:
    """The channel is a need like another."""
    catalog = catalog_of(part("N"), part("P", channel="p"))
    assert numbers(choose(catalog, TransistorNeed(**LOAD, channel="p"))) == ["P"]


def test_a_users_words_are_bound_and_never_part_of_a_statement(catalog_of: Make, part: Make) -> None:
    """A supplier or a part that looks like SQL is looked for, and nothing else happens."""
    nasty = "'; DROP TABLE parts_transistor; --"
    catalog = catalog_of(part(nasty))
    with pytest.raises(UsageError, match="no supplier"):
        choose(catalog, TransistorNeed(**LOAD, supplier=(nasty,)))
    offers = [{"part_key": "Alder|other", "supplier": nasty, "currency": "EUR", "unit_price": 1.0}]
    catalog = catalog_of(part(nasty), offers=offers)
    chosen = choose(catalog, TransistorNeed(**LOAD, supplier=(nasty,)))
    assert chosen.counts.stopped["offer"] == 1
    assert all(nasty.lower() not in statement.sql.lower() for statement in chosen.statements)
    assert any(nasty.lower() in statement.parameters.values() for statement in chosen.statements)
    assert numbers(choose(catalog, TransistorNeed(**LOAD))) == [nasty]


def test_offers_are_read_only_where_the_need_asks_or_a_row_is_shown(catalog_of: Make, part: Make) -> None:
    """A need that asks nothing of offers scans none of them."""
    chosen = choose(catalog_of(part("A")), TransistorNeed(**LOAD))
    assert [one.name for one in chosen.statements if "offers" in one.sql] == ["offers"]
    asking = choose(catalog_of(part("A")), TransistorNeed(**LOAD, in_stock=True))
    assert {one.name for one in asking.statements if "FROM offers" in one.sql} >= {
        "ranked",
        "stopped",
        "near",
    }


def test_json_holds_plain_values_without_nan(catalog_of: Make, part: Make) -> None:
    """Everything goes through strict JSON, offers and runaway parts too."""
    offers = [{"part_key": "Alder|A", "supplier": "S", "currency": "EUR", "unit_price": float("nan")}]
    chosen = choose(catalog_of(part("A"), part("B", rds={4.5: 0.2}), offers=offers), TransistorNeed(**LOAD))
    answer = json.loads(json.dumps(chosen.as_json(), allow_nan=False))
    assert list(answer) == ["need", "counts", "ranked", "near_misses", "cautions"]
    row = answer["ranked"][0]
    assert row["offers"][0]["unit_price"] is None
    expected = {"rank", "maker", "part_number", "package", "rds_on_ohm", "rds_on_vgs_v", "conduction_loss_w",
                "total_loss_w", "junction_degc", "assumed", "offers"}  # fmt: skip
    assert expected <= set(row)


def test_frames_hold_the_ranked_rows(catalog_of: Make, part: Make) -> None:
    """The pandas frame and the Arrow table have one row a ranked part."""
    chosen = choose(catalog_of(part("A"), part("B")), TransistorNeed(**LOAD))
    assert list(chosen.to_pandas()["part_number"]) == ["A", "B"]
    assert chosen.to_arrow().column("rank").to_pylist() == [1, 2]


def test_counts_and_near_misses_cost_nothing_where_they_are_not_shown(catalog_of: Make, part: Make) -> None:
    """Only the ranked list is asked for: no statement looks at what stopped the rest."""
    chosen = choose(catalog_of(part("A"), part("B", vds_v=15.0)), TransistorNeed(**LOAD), near=0, counting=False)
    assert numbers(chosen) == ["A"]
    assert chosen.as_json()["counts"] is None
    assert {one.name for one in chosen.statements} == {"size", "ranked", "offers"}


def test_an_empty_catalogue_gives_an_empty_selection(catalog_of: Make) -> None:
    """Nothing to choose from is no error."""
    chosen = choose(catalog_of(), TransistorNeed(**LOAD))
    assert (chosen.ranked, chosen.near_misses, chosen.counts.considered) == ((), (), 0)


def test_a_catalogue_without_the_family_says_what_to_do() -> None:
    """Nothing was taken in yet: the error names the command."""
    with duckdb.connect(":memory:") as connection:
        empty = SimpleNamespace(connection=connection)
        with pytest.raises(CatalogError, match="loadworthy intake"):
            choose(empty, TransistorNeed(**LOAD))
        with pytest.raises(CatalogError, match="loadworthy intake"):
            explain(empty, "A", TransistorNeed(**LOAD))


def test_impossible_row_counts_are_refused(catalog_of: Make) -> None:
    """The error names the option."""
    with pytest.raises(UsageError, match="--top"):
        choose(catalog_of(), TransistorNeed(**LOAD), top=0)


def test_every_need_names_its_family() -> None:
    """The registry and the classes agree."""
    assert {name: need.family for name, need in NEEDS.items()} == {name: name for name in NEEDS}


# Brute force: the same judgement, part by part, in plain Python on the physics


def random_parts(part: Make, *, count: int, seed: int) -> list[dict[str, Any]]:
    """Make parts on both sides of every limit, with gaps, and many ties."""
    dice = random.Random(seed)  # noqa: S311 - test data

    def maybe(share: float, *values: Any) -> Any:
        return dice.choice(values) if dice.random() < share else None

    made = []
    for number in range(count):
        base = dice.choice((0.002, 0.004, 0.008, 0.015, 0.03, 0.1))
        volts = sorted(dice.sample((2.5, 4.5, 4.7, 6.0, 10.0), dice.choice((0, 1, 1, 2, 2))))
        made.append(
            part(
                f"R{number:05}",
                maker=dice.choice(("Alder", "Birch", "Yew")),
                channel=maybe(0.98, "n", "n", "n", "p"),
                package=maybe(0.95, "TO-220", "TO-263", "SO-8"),
                vds_v=maybe(0.97, 15.0, 18.0, 30.0, 100.0, 200.0),
                vgs_max_v=maybe(0.9, 6.0, 12.0, 20.0),
                vgs_th_max_v=maybe(0.9, 1.5, 2.5, 4.0),
                id_case_a=maybe(0.8, 5.0, 9.375, 40.0),
                id_case_hot_a=maybe(0.3, 8.0, 30.0),
                id_ambient_a=maybe(0.3, 3.0, 12.0),
                junction_max_degc=maybe(0.9, 125.0, 150.0, 175.0),
                hot_exponent=maybe(0.3, 1.2, 1.8),
                rthja_k_per_w=maybe(0.5, 40.0, 62.0, 100.0),
                rthjc_k_per_w=maybe(0.5, 1.0, 3.0),
                qgd_c=maybe(0.4, 5e-9, 20e-9),
                qg_c=maybe(0.6, 20e-9, 60e-9),
                rise_s=maybe(0.5, 20e-9),
                fall_s=maybe(0.5, 15e-9),
                rds={volt: base * 5.0 / volt for volt in volts},
                rds_typ={dice.choice((2.5, 4.5)): base * 0.8} if dice.random() < 0.5 else {},
            )
        )
    return made


def ask_no_floor(need: TransistorNeed) -> bool:
    """Of one package, or in cold air, every part is looked at at once."""
    return "package" in need.asked() or need.as_json()["ambient_degc"] < 25.0


NEEDS_TRIED: list[dict[str, Any]] = [
    {},
    {"package": ("TO-220", "SOIC-8"), "ambient": "10degC"},
    {"accept": ("gate", "current", "drive")},
    {"pwm": "2kHz", "load": "inductive", "duty": "60%", "gate_series": "220ohm"},
    {"heatsink": "15K/W", "max_loss": "2W", "drive": "10V", "profile": "MIL-DTL-917"},
]


@pytest.mark.parametrize("asked", NEEDS_TRIED)
@pytest.mark.parametrize("great", [False, True])
def test_selection_is_what_brute_force_finds(
    catalog_of: Make, part: Make, monkeypatch: pytest.MonkeyPatch, asked: dict[str, Any], great: bool
) -> None:
    """The ranked list and every count equal a part-by-part judgement, on the way for many parts too."""
    if great:
        monkeypatch.setattr(asking, "_MANY_PARTS", 1)
        monkeypatch.setattr(selection, "_HEAD", 25)
    parts = random_parts(part, count=2500, seed=917)
    need = TransistorNeed(**{**LOAD, "current": None, **asked})
    chosen = choose(catalog_of(*parts), need, top=12, near=0)
    assert ("floor" in [one.name for one in chosen.statements]) == (great and not ask_no_floor(need))
    fitting, stopped, unknown = sorted_out(parts, need)
    assert len(fitting) > 12
    assert dict(chosen.counts.stopped) == stopped
    assert dict(chosen.counts.unknown) == unknown
    assert chosen.counts.fit == len(fitting)
    assert as_ranked(chosen) == fitting[:12]


@pytest.mark.parametrize("family", list(NEEDS))
def test_standings_kept_for_many_parts_answer_as_those_worked_out_anew(
    stocked: Path, monkeypatch: pytest.MonkeyPatch, family: str
) -> None:
    """What asks something of offers works out once how they stand, by the rows of the parts; nothing else changes."""
    wishes: list[dict[str, Any]] = [
        {},
        {"in_stock": True},
        {"max_price": "0.6EUR"},
        {"supplier": ("tidemill", "ninefold")},
    ]
    need = next(needs_of(family))
    needs = [replace(need, **wish) for wish in wishes]
    with Catalog.open(stocked) as catalog:
        plainly = [choose(catalog, need) for need in needs]
        monkeypatch.setattr(asking, "_FEW_PARTS", 0)
        kept = [choose(catalog, need) for need in needs]
    assert [one.as_json() for one in kept] == [one.as_json() for one in plainly]
    assert [["standings" in (ran.name for ran in one.statements)] for one in kept] == [
        [of_offers(need)] for need in needs
    ]


def test_the_price_shown_first_is_of_an_offer_that_was_asked_for(catalog_of: Make, part: Make) -> None:
    """A cheaper offer of another supplier stands behind those that meet the wish."""
    offers = [
        {"part_key": "Alder|A", "supplier": "Elsewhere", "currency": "GBP", "unit_price": 0.84, "stock": 9},
        {"part_key": "Alder|A", "supplier": "Wanted", "currency": "EUR", "unit_price": 0.9, "stock": 9},
    ]
    chosen = choose(catalog_of(part("A"), offers=offers), TransistorNeed(**LOAD, supplier=("wanted",)))
    assert [offer["supplier"] for offer in chosen.ranked[0]["offers"]] == ["Wanted", "Elsewhere"]


def test_what_is_sold_out_is_shown_last(catalog_of: Make, part: Make) -> None:
    """However cheap it would be; where the stock is not said, it may be there."""
    offers = [
        {"part_key": "Alder|A", "supplier": "Sold out", "currency": "EUR", "unit_price": 0.2, "stock": 0},
        {"part_key": "Alder|A", "supplier": "Silent", "currency": "EUR", "unit_price": 0.3, "stock": None},
        {"part_key": "Alder|A", "supplier": "Stocked", "currency": "EUR", "unit_price": 0.4, "stock": 5},
    ]
    catalog = catalog_of(part("A"), offers=offers)
    for asked, expected in (
        ({}, ["Silent", "Stocked", "Sold out"]),
        ({"supplier": ("sold out", "stocked")}, ["Stocked", "Sold out", "Silent"]),
    ):
        chosen = choose(catalog, TransistorNeed(**LOAD, **asked))
        assert [offer["supplier"] for offer in chosen.ranked[0]["offers"]] == expected


def test_a_sink_as_printed_does_and_never_makes_a_part_hotter(catalog_of: Make, part: Make) -> None:
    """The way out is rounded down, stays below the bare part's own resistance, and is for tabs that stand free."""
    tired = part("A", rds={4.5: 0.0335}, rthja_k_per_w=62.0, rthjc_k_per_w=1.0)
    need = TransistorNeed(**LOAD)
    (miss,) = choose(catalog_of(tired), need).near_misses
    sink = miss["heatsink_needed_k_per_w"]
    assert sink + 1.0 + 0.5 <= 62.0
    fitted = choose(catalog_of(tired), TransistorNeed(**LOAD, heatsink=f"{sink}K/W"))
    assert numbers(fitted) == ["A"]
    flat = part("B", package="TO-252", rds={4.5: 0.05}, rthja_k_per_w=62.0, rthjc_k_per_w=1.0)
    assert all("heatsink_needed_k_per_w" not in miss for miss in choose(catalog_of(flat), need).near_misses)
