"""A part of the catalogue as a link: its figures by the model's names, and what the board's file says before them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from board_parts import blade, catalog_of, diode, lead, mosfet, resettable, terminal
from path_catalogs import catalog_with, points, the_row

from loadworthy import FuseNeed
from loadworthy.boards import Board, audit, read_text
from loadworthy.boards.laws.fuse import opening
from loadworthy.boards.model import Fuse
from loadworthy.boards.shelf import CatalogShelf
from loadworthy.errors import BoardError

MakeText = Callable[..., str]

#: Connector data sheet, base curve, 5 poles, limit 125 °C.
BASE_CURVE = {20.0: 11.1, 40.0: 9.95, 60.0: 8.6, 80.0: 7.05, 100.0: 5.15, 120.0: 2.1}
DATA_SHEET = {2.5: 0.020, 4.5: 0.008, 10.0: 0.005}


@pytest.fixture(scope="module")
def shelf() -> Iterator[CatalogShelf]:
    """Return a shelf with a part or two of each family."""
    catalog = catalog_of(
        connector=[
            terminal("T-16", 16.0),
            terminal("T-5P", 11.1, derating=points(BASE_CURVE), limit_degc=125.0, poles=5.0),
        ],
        fuse=[
            blade("B-10", 10.0),
            resettable("R-5", 5.0),
            blade("CUT-10", 10.0, type="other", package="axial"),
            blade(
                "G-10",
                10.0,
                package="5x20",
                voltage_dc_v=None,
                voltage_v=250.0,
                voltage_unmarked=True,
                breaking_unmarked=True,
            ),
        ],
        wire=[lead("W-2", 2.5), lead("W-14", 2.0, area_m2=2.0809e-6, strand="stranded")],
        transistor=[
            mosfet("M-1", DATA_SHEET),
            mosfet("M-2", {10.0: 0.004}),
            mosfet("M-1", DATA_SHEET, maker="Steinlach"),
            mosfet("M-3", DATA_SHEET),
        ],
        diode=[diode("D-5", 5.0)],
    )
    yield CatalogShelf(catalog)
    catalog.connection.close()


def figures(shelf: CatalogShelf, kind: str, part: str, **known: Any) -> dict[str, Any]:
    """Return what a part gives, which the shelf must know."""
    found = shelf.figures(kind, part, None, known)
    assert found is not None
    return found


class TestFigures:
    """One row of the catalogue, one link."""

    def test_a_connector(self, shelf: CatalogShelf) -> None:
        """Both ratings, the limit, the contact, and how it fits."""
        found = figures(shelf, "connector", "T-16")
        assert (found["rated_current_ul_a"], found["rated_current_iec_a"]) == (16.0, 16.0)
        assert (found["limit_degc"], found["contact_resistance_ohm"]) == (105.0, 1e-3)
        assert (found["poles"], found["pitch_m"], found["mount"]) == (2, 5.08e-3, "board")
        assert isinstance(found["poles"], int)

    def test_a_connector_s_curve(self, shelf: CatalogShelf) -> None:
        """Every point of the published base curve, coldest first."""
        assert figures(shelf, "connector", "T-5P")["derating"] == tuple(BASE_CURVE.items())

    def test_a_fuse_that_melts(self, shelf: CatalogShelf) -> None:
        """Its table is the maker's; the size makes it a blade fuse."""
        found = figures(shelf, "fuse", "B-10")
        assert (found["type"], found["standard"], found["rating_a"]) == ("one-shot", "blade", 10.0)
        assert dict(found["by_temperature"])[65.0] == 8.0
        assert (found["rated_voltage_v"], found["breaking_capacity_a"]) == (32.0, 1000.0)
        assert found["resistance_ohm"] == 0.0075

    def test_a_fuse_that_resets(self, shelf: CatalogShelf) -> None:
        """Hold, trip, and the hold current against the air."""
        found = figures(shelf, "fuse", "R-5")
        assert (found["type"], found["hold_a"], found["trip_a"]) == ("resettable", 5.0, 10.0)
        assert dict(found["hold_by_temperature"])[60.0] == pytest.approx(3.4)
        assert (found["most_current_a"], found["rated_voltage_v"]) == (40.0, 30.0)
        assert "by_temperature" not in found

    def test_a_voltage_that_is_not_marked_as_direct_is_not_taken_for_it(self, shelf: CatalogShelf) -> None:
        """250 V on a glass fuse are alternating as a rule; the audit then says that it was not checked."""
        assert {"rated_voltage_v", "breaking_capacity_a"}.isdisjoint(figures(shelf, "fuse", "G-10"))

    def test_what_is_no_fuse_is_refused(self, shelf: CatalogShelf) -> None:
        """A thermal cut-off beside the fuses of a list."""
        with pytest.raises(BoardError, match="something else than a fuse"):
            shelf.figures("fuse", "CUT-10", None, {})

    def test_a_threshold_is_no_plateau(self, shelf: CatalogShelf) -> None:
        """It would make the switching times too short without a word."""
        assert "plateau_v" not in figures(shelf, "transistor", "M-2", drive_v=10.0)

    def test_a_wire(self, shelf: CatalogShelf) -> None:
        """A fine-stranded one is class 5 (IEC 60228)."""
        found = figures(shelf, "wire", "W-2")
        assert (found["strand"], found["insulation_limit_degc"]) == ("class 5", 70.0)
        assert found["area_m2"] == pytest.approx(2.5e-6)

    def test_a_stranded_wire_of_an_american_gauge_is_judged_by_its_gauge(
        self, shelf: CatalogShelf, text_of: MakeText
    ) -> None:
        """14 AWG has 8.28 Ω/km (published table); IEC 60228 has no row for its 2.08 mm²."""
        text = text_of(output('kind = "wire"\npart = "W-14"\nlength = "1000m"', "1mA"), air='ambient = "20degC"')
        (line,) = audit(read_text(text, name="b", shelf=shelf)).lines
        assert line.resistance_ohm == pytest.approx(8.28, rel=1e-3)
        assert line.usable_a is not None

    def test_a_freewheel_diode(self, shelf: CatalogShelf) -> None:
        """Mean forward current and reverse voltage."""
        assert figures(shelf, "diode", "D-5") == {"current_a": 5.0, "voltage_v": 40.0}

    def test_what_the_row_does_not_say_is_left_out(self, shelf: CatalogShelf) -> None:
        """No figure is made up, and none is None."""
        found = figures(shelf, "transistor", "M-3", drive_v=5.0)
        assert "rthja_k_per_w" not in found
        assert None not in found.values()

    @pytest.mark.parametrize(
        ("drive_v", "ohms"), [(2.5, 0.020), (4.4, 0.020), (4.5, 0.008), (5.0, 0.008), (12.0, 0.005)]
    )
    def test_the_drive_picks_the_on_resistance(self, shelf: CatalogShelf, drive_v: float, ohms: float) -> None:
        """The one at the greatest gate voltage that is not above the drive: never between, never beyond."""
        assert figures(shelf, "transistor", "M-3", drive_v=drive_v)["on_resistance_ohm"] == ohms

    @pytest.mark.parametrize("part", ["M-2", "M-3"])
    def test_below_every_specified_drive_there_is_none(self, shelf: CatalogShelf, part: str) -> None:
        """On-resistance at 10 V says nothing at 2 V."""
        assert "on_resistance_ohm" not in figures(shelf, "transistor", part, drive_v=2.0)

    def test_a_transistor_s_other_figures(self, shelf: CatalogShelf) -> None:
        """Voltage, currents, junction, package."""
        found = figures(shelf, "transistor", "M-3", drive_v=5.0)
        assert (found["vds_v"], found["package"], found["junction_max_degc"]) == (40.0, "TO-220", 175.0)
        assert (found["current_rating_a"], found["pulse_rating_a"], found["hot_exponent"]) == (80.0, 300.0, 1.65)

    def test_without_a_drive_none_is_made_up(self, shelf: CatalogShelf) -> None:
        """Which on-resistance counts hangs on it; who gives the on-resistance needs none."""
        with pytest.raises(BoardError, match="not given") as caught:
            shelf.figures("transistor", "M-3", None, {})
        assert "drive" in (caught.value.way_out or "")
        assert "on_resistance_ohm" not in figures(shelf, "transistor", "M-3", measured_on_resistance_ohm=0.009)


class TestFinding:
    """By number, and by maker where that is not enough."""

    def test_several_makers(self, shelf: CatalogShelf) -> None:
        """Both are named, and the way out; with the maker it is found, whatever the case."""
        with pytest.raises(BoardError, match=r"Kupferau, Steinlach") as caught:
            shelf.figures("transistor", "M-1", None, {"drive_v": 5.0})
        assert "maker" in (caught.value.way_out or "")
        assert shelf.figures("transistor", " m-1", "STEINLACH", {"drive_v": 5.0}) is not None

    @pytest.mark.parametrize(("kind", "part"), [("fuse", "T-16"), ("connector", "T-99"), ("trace", "T-16")])
    def test_unknown(self, shelf: CatalogShelf, kind: str, part: str) -> None:
        """None: of another family, of no family, of no list."""
        assert shelf.figures(kind, part, None, {}) is None

    def test_a_catalogue_without_the_family(self) -> None:
        """It holds no such part: no error of the engine."""
        assert CatalogShelf(catalog_of(wire=[lead("W", 1.0)])).figures("fuse", "B-10", None, {}) is None


def output(link: str, amperes: str = "1A") -> str:
    """Write an output with one link."""
    return (
        f'[[output]]\nname = "mat"\n[output.load]\nkind = "resistive"\ncurrent = "{amperes}"\n[[output.link]]\n{link}\n'
    )


class TestBoardFile:
    """A file that names parts."""

    def board(self, text_of: MakeText, shelf: CatalogShelf, link: str) -> Board:
        """Read a board of one link."""
        return read_text(text_of(output(link)), name="bench.toml", shelf=shelf)

    def test_it_reads_the_part_s_figures(self, text_of: MakeText, shelf: CatalogShelf) -> None:
        """The published curve of the connector: 0.8 × 9.95 A at 40 °C, which its own derated curve rounds to 7.96 A."""
        (line,) = audit(self.board(text_of, shelf, 'kind = "connector"\npart = "T-5P"')).lines
        assert line.usable_a == pytest.approx(7.96, abs=0.005)

    def test_the_drive_of_the_file_counts(self, text_of: MakeText, shelf: CatalogShelf) -> None:
        """The same part is another at another pin."""
        for drive, ohms in (("3.3V", 0.020), ("5V", 0.008), ("10V", 0.005)):
            board = self.board(text_of, shelf, f'kind = "transistor"\npart = "M-3"\ndrive = "{drive}"')
            assert getattr(board.outputs[0].links[0], "on_resistance_ohm") == ohms  # noqa: B009 - of a transistor

    @pytest.mark.parametrize(
        ("link", "usable_a"),
        [
            ('kind = "connector"\npart = "T-5P"\nrated_current = "5A"\nrated_at = "40degC"', 0.8 * 5.0),
            ('kind = "fuse"\ntype = "one-shot"\npart = "B-10"\nrating = "6A"\nstandard = "IEC"', 6.0),
            (
                'kind = "fuse"\ntype = "resettable"\npart = "R-5"\n'
                'hold_by_temperature = [["0degC", "3A"], ["60degC", "3A"]]',
                3.0,
            ),
        ],
    )
    def test_figures_of_the_file_count_before_the_catalogue_s(
        self, text_of: MakeText, shelf: CatalogShelf, link: str, usable_a: float
    ) -> None:
        """Also where the catalogue says the same in another way, by a curve that would count before a rating."""
        (line,) = audit(self.board(text_of, shelf, link)).lines
        assert line.usable_a == pytest.approx(usable_a)

    def test_a_gauge_of_the_file_counts_before_the_catalogue_s_area(
        self, text_of: MakeText, shelf: CatalogShelf
    ) -> None:
        """24 AWG has 84.20 Ω/km (published table)."""
        text = text_of(
            output('kind = "wire"\npart = "W-2"\ngauge = "24AWG"\nlength = "1000m"', "1mA"), air='ambient = "20degC"'
        )
        (line,) = audit(read_text(text, name="b", shelf=shelf)).lines
        assert line.resistance_ohm == pytest.approx(84.20, rel=1e-3)

    @pytest.mark.parametrize(
        ("link", "said", "way_out"),
        [
            ('kind = "fuse"\ntype = "one-shot"\npart = "B-11"', "no fuse 'B-11'", "take its list in"),
            ('kind = "transistor"\ndrive = "5V"\npart = "M-1"', "Kupferau, Steinlach", "maker"),
            ('kind = "transistor"\npart = "M-3"', "gate", "drive"),
        ],
    )
    def test_a_part_that_cannot_be_read(
        self, text_of: MakeText, shelf: CatalogShelf, link: str, said: str, way_out: str
    ) -> None:
        """File, line and key of the part, what is wrong, and what to do."""
        text = text_of(output(link))
        with pytest.raises(BoardError) as caught:
            read_text(text, name="bench.toml", shelf=shelf)
        line = next(number for number, row in enumerate(text.splitlines(), 1) if row.startswith("part"))
        assert caught.value.where == f"bench.toml, line {line}, key output[1].link[1].part"
        assert said in caught.value.message
        assert way_out in (caught.value.way_out or "")


class TestFuseAsItsQuery:
    """The link and the query that chose it say the same of a fuse."""

    SIZES = ("blade, regular", "MINI BLADE", "Kfz-Flachsicherung", "Flachstecksicherung", "5 x 20 mm", None)

    @pytest.mark.parametrize("size", SIZES)
    @pytest.mark.parametrize("kind", ["one-shot", "resettable", None])
    def test_which_is_a_blade_fuse(self, size: str | None, kind: str | None) -> None:
        """By its size, in both languages; a resettable one never is."""
        part = blade("X", 10.0, package=size, type=kind)
        part |= {"hold_a": 5.0, "trip_a": 10.0} if kind == "resettable" else {}
        row = the_row(part, FuseNeed(supply="12V", current="1A"))
        found = figures(CatalogShelf(catalog_with("fuse", [part])), "fuse", "X")
        assert (found["type"], found.get("standard")) == (row["type"], row["standard"])
        assert (found.get("standard") == "blade") == (kind != "resettable" and size not in ("5 x 20 mm", None))

    @pytest.mark.parametrize("degc", [25, 40, 60])
    @pytest.mark.parametrize(
        "other",
        [
            {},
            {"package": "5 x 20 mm", "standard": "UL"},
            {"package": "5 x 20 mm", "standard": "IEC"},
            {"package": "5 x 20 mm"},
            {"rating_curve": None},
            {"rating_curve": points({65.0: 8.0, 85.0: 7.0})},
            {"rating_curve": None, "continuous_curve": points({20.0: 9.0, 65.0: 7.0})},
            {"rating_a": None},
            {
                "type": None,
                "rating_a": None,
                "rating_curve": None,
                "hold_curve": points({-10.0: 6.0, 60.0: 4.0}),
                "trip_a": 9.0,
            },
            {"type": "resettable", "hold_a": 5.0, "hold_curve": points({60.0: 3.4}), "trip_a": 9.0},
        ],
    )
    def test_what_it_carries(self, text_of: MakeText, other: dict[str, Any], degc: int) -> None:
        """A table of ratings takes the share of its standard, a blade fuse's and a continuous one do not."""
        part = blade("X", 10.0, **other)
        row = the_row(part, FuseNeed(supply="12V", current="1A", ambient=f"{degc}degC"))
        shelf = CatalogShelf(catalog_with("fuse", [part]))
        link = f'kind = "fuse"\ntype = "{row["type"]}"\npart = "X"'
        text = text_of(output(link), air=f'ambient = "{degc}degC"')
        (line,) = audit(read_text(text, name="b", shelf=shelf)).lines
        assert line.usable_a == pytest.approx(row["carries_a"], rel=1e-12)

    @pytest.mark.parametrize("standard", ["UL", "IEC", "blade", None])
    def test_when_it_opens(self, standard: str | None) -> None:
        """The multiple of the rating that surely opens it stands in the query and in the law of the link."""
        part = blade("X", 10.0, package="5 x 20 mm", standard=standard)
        row = the_row(part, FuseNeed(supply="12V", current="1A", weakest="30A"))
        link = Fuse(name="F", where="output[1].link[1]", type="one-shot", rating_a=10.0, standard=standard)
        opens = opening(link, 20.0)
        assert opens.current_a == pytest.approx(row["opens_a"], rel=1e-12)
        assert opens.within_s == row["opens_within_s"]
