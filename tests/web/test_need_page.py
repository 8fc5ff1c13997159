"""The page of a need: its form, the answer as one types, pins, sorting, the arithmetic behind a figure."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.needs import NEEDS, TransistorNeed
from loadworthy.selection import choose

_NEED = {"supply": "12V", "resistance": "1.6ohm"}
_PART = {"headers": {"Loadworthy-Part": "answer"}}


def _asked(client: Any, family: str = "transistor", *, part: bool = False, **words: Any) -> str:
    reply = client.get(f"/need/{family}?{urlencode(words, doseq=True)}", **(_PART if part else {}))
    assert reply.status_code == 200, reply.text
    return unescape(reply.text)


def _numbers(text: str) -> list[str]:
    """Name the parts of the ranked table in the order in which they stand."""
    table = text.split('aria-label="Parts that fit"')[1].split("</table>", maxsplit=1)[0]
    return re.findall(r'<th scope="row"><a data-sheet href="[^"]*">([^<]+)</a>', table)


def test_the_front_leads_to_a_need(client: Any) -> None:
    """The front leads to a need."""
    assert client.get("/").location == "/need"
    assert client.get("/need?supply=12V").location == "/need/transistor?supply=12V"


@pytest.mark.parametrize("family", list(NEEDS))
def test_every_family_has_a_form_with_all_that_its_need_asks(client: Any, family: str) -> None:
    """Every family has a form with all that its need asks."""
    from dataclasses import fields

    text = _asked(client, family)
    for field in fields(NEEDS[family]):
        assert f'name="{field.name}"' in text
        assert f'for="f-{field.name}"' in text or f'id="f-{field.name}"' in text


def test_the_list_is_that_of_the_command(client: Any, stocked: Path) -> None:
    """The list is that of the command."""
    with Catalog.open(stocked) as catalog:
        chosen = choose(catalog, TransistorNeed(**_NEED), top=20)
    text = _asked(client, **_NEED)
    assert _numbers(text) == [row["part_number"] for row in chosen.ranked]
    assert chosen.counts is not None
    assert f"{chosen.counts.fit} of {chosen.counts.considered} parts fit" in text
    for miss in chosen.near_misses:
        assert miss["part_number"] in text
    for caution in TransistorNeed(**_NEED).cautions():
        assert caution in text


def test_the_other_readings_of_the_load_follow(client: Any) -> None:
    """Of 1.6 Ω on 12 V: 7.5 A by Ohm's law, 90 W by the definition of power."""
    text = _asked(client, part=True, **_NEED)
    assert re.search(r'<output[^>]*data-for="f-current"[^>]*>7.5 A</output>', text)
    assert re.search(r'<output[^>]*data-for="f-power"[^>]*>90 W</output>', text)


def test_the_script_is_given_the_answer_alone(client: Any) -> None:
    """The script is given the answer alone."""
    text = _asked(client, part=True, **_NEED)
    assert "<html" not in text
    assert "<form action=" not in text
    assert _numbers(text)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"supply": "12 apples", "current": "2A"}, "supply"),
        ({"supply": "12V"}, "load"),
        ({"supply": "12V", "current": "2 mm"}, "current"),
        ({"supply": "12V", "current": "2A", "package": "TO-2222"}, "TO-2222"),
        ({"current": "2A"}, "supply"),
        ({"supply": "12V", "current": "2A", "accept": "drvie"}, "drvie"),
        ({"supply": "12V", "current": "2A", "supplier": "Nobody"}, "nobody"),
    ],
)
def test_what_is_wrong_is_said_while_one_types(client: Any, words: dict[str, str], said: str) -> None:
    """What is wrong is said while one types."""
    text = _asked(client, part=True, **words)
    alert = text.split('role="alert"')[1].split("</div>")[0]
    assert said in alert
    assert "--" not in alert


def test_the_field_that_is_wrong_is_marked(client: Any) -> None:
    """The field that is wrong is marked."""
    assert re.search(r'id="f-ambient"[^>]*aria-invalid="true"', _asked(client, **_NEED, ambient="warm"))


def test_an_unknown_family_is_an_error_with_a_way_out(client: Any) -> None:
    """An unknown family is an error with a way out."""
    reply = client.get("/need/valve")
    assert reply.status_code == 400
    assert "It is one of transistor" in reply.text


def test_several_packages_are_one_field(client: Any, stocked: Path) -> None:
    """Several packages are one field."""
    with Catalog.open(stocked) as catalog:
        chosen = choose(catalog, TransistorNeed(**_NEED, package=("TO-220", "TO-252")), top=20)
    assert _numbers(_asked(client, **_NEED, package="TO-220, TO-252")) == [row["part_number"] for row in chosen.ranked]


def test_a_tick_is_given_or_not(client: Any) -> None:
    """A tick is given or not."""
    text = _asked(client, **_NEED, in_stock="yes")
    assert re.search(r'name="in_stock"[^>]*checked', text)
    assert not re.search(r'name="prefer_measured"[^>]*checked', text)


def test_the_list_is_sorted_by_a_figure_and_the_rank_stays(client: Any, stocked: Path) -> None:
    """The list is sorted by a figure and the rank stays."""
    with Catalog.open(stocked) as catalog:
        chosen = choose(catalog, TransistorNeed(**_NEED), top=20)
    text = _asked(client, **_NEED, by="vds_v")
    expected = [row["part_number"] for row in sorted(chosen.ranked, key=lambda row: row["vds_v"])]
    assert _numbers(text) == expected
    assert 'aria-sort="ascending"' in text


def test_pinned_parts_stand_side_by_side(client: Any) -> None:
    """Pinned parts stand side by side."""
    first, second = _numbers(_asked(client, **_NEED))[:2]
    text = _asked(client, **_NEED, pin=[f"{first} | ", f"{second} | "])
    side = text.split("Pinned parts side by side")[1].split("</table>")[0]
    assert first in side
    assert second in side
    assert "loss when on, W" in side
    assert re.search(rf'href="[^"]*part={first}[^"]*figure=conduction_loss_w">', side)


def test_a_near_miss_opens_to_what_stops_it(client: Any) -> None:
    """A near miss opens to what stops it."""
    text = _asked(client, **_NEED)
    missed = re.search(r'One step short.*?<th scope="row"[^>]*><a data-sheet href="([^"]+)">', text, re.DOTALL)
    assert missed is not None
    assert "does not fit" in client.get(missed[1], **_PART).text


def test_a_pin_stays_when_the_need_changes_and_says_why_the_part_does_not_fit(client: Any) -> None:
    """A pin stays when the need changes and says why the part does not fit."""
    first = _numbers(_asked(client, **_NEED))[0]
    text = _asked(client, supply="48V", current="2A", pin=f"{first} | ")
    side = text.split("Pinned parts side by side")[1].split("</table>")[0]
    assert "does not fit: it fails voltage" in side


def test_a_pin_of_a_part_that_is_gone_is_left_out(client: Any) -> None:
    """A pin of a part that is gone is left out."""
    assert "side by side" not in _asked(client, **_NEED, pin="GONE-1 | Nobody")


@pytest.mark.parametrize(
    ("figure", "law"),
    [("conduction_loss_w", "P = D·I²·R(TJ)"), ("rds_hot_ohm", "R(TJ) = R25"), ("junction_degc", "TJ")],
)
def test_a_figure_opens_to_its_formula_with_the_numbers_put_in(client: Any, figure: str, law: str) -> None:
    """A figure opens to its formula with the numbers put in."""
    first = _numbers(_asked(client, **_NEED))[0]
    text = unescape(
        client.get(f"/need/transistor/part?{urlencode({**_NEED, 'part': first, 'figure': figure})}", **_PART).text
    )
    own = text.split('id="figure"')[1].split("</dl>")[0]
    assert law in own
    assert re.search(r"\d (?:W|mW|mΩ|°C)", own)


def test_a_figure_as_listed_says_so(client: Any) -> None:
    """A figure as listed says so."""
    first = _numbers(_asked(client, **_NEED))[0]
    text = client.get(
        f"/need/transistor/part?{urlencode({**_NEED, 'part': first, 'figure': 'vgs_max_v'})}", **_PART
    ).text
    assert "As the lists give it" in text


def test_a_part_that_is_not_there_names_its_like(client: Any) -> None:
    """A part that is not there names its like."""
    first = _numbers(_asked(client, **_NEED))[0]
    reply = client.get(f"/need/transistor/part?{urlencode({**_NEED, 'part': first + '9'})}")
    assert reply.status_code == 400
    assert first in reply.text


def test_the_picture_names_the_first_parts(client: Any) -> None:
    """The picture names the first parts."""
    first = _numbers(_asked(client, **_NEED))[:3]
    text = client.get(f"/need/transistor/picture?{urlencode(_NEED)}", **_PART).text
    assert "<svg" in text
    assert all(number in text for number in first)


def test_the_work_goes_along_to_the_other_pages(client: Any) -> None:
    """The work goes along to the other pages."""
    text = _asked(client, **_NEED, order="abc", board="def")
    assert 'href="/bench?board=def&order=abc"' in text
    assert '<input type="hidden" name="order" value="abc">' in text


def test_texts_of_a_list_are_texts(opened: Any, tmp_path: Path) -> None:
    """A supplier's cell cannot become part of the page."""
    bad = '"><script>alert(1)</script>'
    (tmp_path / "bad.csv").write_text(
        "Part number,Manufacturer,Channel,Package,VDS (V),RDS(on) max @ VGS 4.5V (mOhm),ID (A),VGS max (V),"
        "VGS(th) max (V)\n"
        f'"X{bad.replace(chr(34), chr(34) * 2)}","M{{{{7*7}}}}<b>",N,TO-220,40,5,80,20,2\n',
        encoding="utf-8",
    )
    intake(tmp_path / "bad.duckdb", [tmp_path / "bad.csv"], family="transistor")
    text = opened(tmp_path / "bad.duckdb").get(f"/need/transistor?{urlencode(_NEED)}").text
    assert "1 of 1 parts fit" in text
    assert "<script>alert" not in text
    assert "<b>" not in text.split('aria-label="Parts that fit"')[1].split("</table>")[0]
    assert "{{7*7}}" in text


def test_without_a_catalogue_the_way_out_is_said(empty: Any) -> None:
    """Without a catalogue the way out is said."""
    text = _asked(empty, part=True, **_NEED)
    assert "no catalogue here yet" in text
