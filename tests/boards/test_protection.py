"""What a fault meets: fuses that surely open before a link is past its limit, or not."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loadworthy.boards import Board, audit
from loadworthy.boards.protection import Protection

MakeBoard = Callable[..., Board]

STIFF = 'voltage = "12V"\nmost_current = "100A"'


def path(board_of: MakeBoard, links: list[str], *, supply: str = STIFF, air: str = 'ambient = "25degC"') -> Board:
    """Make a board of one output with these links."""
    text = '[[output]]\nname = "mat"\n[output.load]\nkind = "resistive"\ncurrent = "1A"\n'
    return board_of(text + "".join(f"[[output.link]]\n{link}\n" for link in links), supply=supply, air=air)


def protected(board: Board) -> Protection:
    """Return what protects its only output."""
    (one,) = audit(board).protection
    return one


def fuse(more: str, name: str = "F") -> str:
    """Write a fuse."""
    return f'kind = "fuse"\nname = "{name}"\n{more}'


def plain(name: str, amperes: float) -> str:
    """Write a link that stands its rating and no more."""
    return f'kind = "plain"\nname = "{name}"\nrated_current = "{amperes}A"'


UL = 'type = "one-shot"\nrating = "10A"\nstandard = "UL"\n'
POLY = 'type = "resettable"\nhold = "5A"\ntrip = "10A"\n'
HOLD = 'hold_by_temperature = [["-40degC", "7.25A"], ["0degC", "5.75A"], ["20degC", "5A"], ["40degC", "4.15A"]]\n'


class TestOpening:
    """When a fuse is sure to open."""

    @pytest.mark.parametrize(
        ("more", "amperes", "seconds"),
        [
            (UL, 13.5, 3600.0),  # UL 248-14: 135 % within an hour
            (UL.replace("UL", "blade"), 13.5, 600.0),  # ISO 8820-3, from memory
            (UL.replace("UL", "IEC"), 21.0, 1800.0),  # IEC 60127, the longest of its sheets, from memory
        ],
    )
    def test_a_fuse_that_melts(self, board_of: MakeBoard, more: str, amperes: float, seconds: float) -> None:
        """UL 248-14 opens at 135 % within 1 h; what is from memory says so in the result."""
        (line,) = protected(path(board_of, [fuse(more), plain("x", 50)])).fuses
        assert (line.opens_a, line.within_s) == (pytest.approx(amperes), seconds)
        assert bool(line.assumed) == ("UL" not in more)

    def test_without_a_standard_the_greatest_multiple_is_taken(self, board_of: MakeBoard) -> None:
        """Careful: it lets most through."""
        (line,) = protected(path(board_of, [fuse('type = "one-shot"\nrating = "10A"'), plain("x", 50)])).fuses
        assert line.opens_a is not None
        assert line.opens_a >= 21.0
        assert line.assumed

    @pytest.mark.parametrize(("degc", "amperes"), [(-40, 14.5), (0, 11.5), (20, 10.0)])
    def test_a_resettable_fuse_trips_later_in_the_cold(self, board_of: MakeBoard, degc: int, amperes: float) -> None:
        """Maker's data sheet, 30 V part: hold 7.25, 5.75 and 5.00 A; trip 10 A scales with it (practice)."""
        air = f'ambient = "25degC"\ncoldest = "{degc}degC"'
        (line,) = protected(path(board_of, [fuse(POLY + HOLD), plain("x", 50)], air=air)).fuses
        assert line.opens_a == pytest.approx(amperes)

    def test_without_its_table_the_cold_is_said_to_be_left_out(self, board_of: MakeBoard) -> None:
        """The trip current stands, with the remark."""
        (line,) = protected(path(board_of, [fuse(POLY), plain("x", 50)])).fuses
        assert line.opens_a == 10.0
        assert any("cold" in remark for remark in line.assumed)


class TestCover:
    """Which links a fuse protects."""

    def test_what_stands_the_opening_current_is_covered(self, board_of: MakeBoard) -> None:
        """13.5 A: a link of 14 A is, one of 13 A is not; it is named."""
        one = protected(path(board_of, [fuse(UL), plain("strong", 14), plain("weak", 13)]))
        assert one.fuses[0].covers == ("strong",)
        assert one.fuses[0].leaves == ("weak",)
        assert one.bare == ("weak",)
        assert any("does not protect weak" in warning for warning in one.warnings)

    def test_a_second_fuse_may_cover_what_the_first_leaves(self, board_of: MakeBoard) -> None:
        """6.75 A of a 5 A fuse behind the 10 A one."""
        small = fuse(UL.replace("10A", "5A"), "F2")
        one = protected(path(board_of, [fuse(UL), small, plain("weak", 8)]))
        assert one.bare == ()

    def test_what_stands_before_the_fuse_has_none(self, board_of: MakeBoard) -> None:
        """A fuse belongs at the supply."""
        one = protected(path(board_of, [plain("inlet", 50), fuse(UL), plain("x", 50)]))
        assert one.bare == ("inlet",)
        assert any("Ahead of the first fuse" in warning for warning in one.warnings)

    def test_a_link_of_unknown_limit_is_not_called_protected(self, board_of: MakeBoard) -> None:
        """Nor unprotected."""
        wide = 'kind = "trace"\nname = "wide"\nwidth = "20mm"\ncopper = "1oz"\nlength = "5cm"\nlayer = "outer"'
        one = protected(path(board_of, [fuse(UL), wide]))
        assert (one.bare, one.unknown) == ((), ("wide",))

    def test_a_supply_that_cannot_open_the_fuse(self, board_of: MakeBoard) -> None:
        """12 A never melt a fuse that takes 13.5 A: said, and what stands the 12 A is safe all the same."""
        supply = 'voltage = "12V"\nmost_current = "12A"'
        one = protected(path(board_of, [fuse(UL), plain("strong", 12.5), plain("weak", 11)], supply=supply))
        assert one.fuses[0].never
        assert one.bare == ("weak",)
        assert any("need not open at all" in warning for warning in one.warnings)

    def test_no_fuse_is_said_loudly(self, board_of: MakeBoard) -> None:
        """A transistor never protects: it fails on."""
        one = protected(path(board_of, ['kind = "transistor"\non_resistance = "8mohm"\nrthja = "62K/W"']))
        assert one.fuses == ()
        assert any("No fuse" in warning for warning in one.warnings)

    def test_tripped_is_not_isolated(self, board_of: MakeBoard) -> None:
        """A resettable fuse still passes current."""
        assert any("not an isolator" in said for said in protected(path(board_of, [fuse(POLY)])).warnings)


class TestWhatTheFuseItselfStands:
    """Voltage and fault current."""

    @pytest.mark.parametrize(
        ("more", "verdict"),
        [
            ('rated_voltage = "32V"\nbreaking_capacity = "1kA"', "carries"),
            ('rated_voltage = "9V"\nbreaking_capacity = "1kA"', "falls short"),
            ('rated_voltage = "32V"\nbreaking_capacity = "35A"', "falls short"),
        ],
    )
    def test_voltage_and_breaking_capacity(self, board_of: MakeBoard, more: str, verdict: str) -> None:
        """At least the supply's high end, and what the supply gives into a fault (100 A)."""
        (line,) = audit(path(board_of, [fuse(UL + more)])).lines
        assert line.verdict == verdict

    @pytest.mark.parametrize(("volts", "verdict"), [("12.7V", "carries"), ("12.5V", "falls short")])
    def test_the_high_end_of_the_supply_counts(self, board_of: MakeBoard, volts: str, verdict: str) -> None:
        """12 V + 5 % is 12.6 V."""
        supply = STIFF + '\ntolerance = "5%"'
        (line,) = audit(path(board_of, [fuse(UL + f'rated_voltage = "{volts}"')], supply=supply)).lines
        assert line.verdict == verdict
        assert [check.needs for check in line.checks] == [pytest.approx(12.6)]

    def test_what_is_not_given_is_said_not_to_be_checked(self, board_of: MakeBoard) -> None:
        """Both."""
        (line,) = audit(path(board_of, [fuse(UL)])).lines
        assert sum("not checked" in note for note in line.notes) == 2

    def test_a_resettable_fuse_has_its_greatest_fault_current(self, board_of: MakeBoard) -> None:
        """Imax 40 A of the data sheet's part is less than 100 A."""
        (line,) = audit(path(board_of, [fuse(POLY + 'rated_voltage = "30V"\nmost_current = "40A"')])).lines
        assert [check.name for check in line.checks if not check.ok] == ["fault"]

    def test_of_an_unknown_supply_the_path_s_resistance_tells(self, board_of: MakeBoard) -> None:
        """Ohm's law: 12 V over 0.25 Ω is 48 A, said to be assumed."""
        link = plain("x", 50) + '\nresistance = "0.25ohm"'
        one = protected(path(board_of, [link], supply='voltage = "12V"'))
        assert one.fault_a == pytest.approx(48.0)
        assert one.assumed

    def test_of_an_unknown_supply_and_path_nothing_is_known(self, board_of: MakeBoard) -> None:
        """And that is said."""
        one = protected(path(board_of, [plain("x", 50)], supply='voltage = "12V"'))
        assert one.fault_a is None
        assert any("not known" in remark for remark in one.assumed)
