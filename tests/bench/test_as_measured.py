"""What a transistor carries as it was measured, and its way into a board's file."""

from __future__ import annotations

import math
import os
import stat
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from loadworthy import boards, shipped
from loadworthy.bench import AsMeasured, measure, put_measured
from loadworthy.errors import BoardError

GIVEN = {
    "drop": "240.0mV", "current": "6.000A", "gate": "5V", "temp": "25degC", "pulse": "300us", "volt_meter": "0.1%+1",
    "ammeter": "0.1%+1", "hot_exponent": "1.65",
}  # fmt: skip
BOARD = shipped.catalog_dir() / "greenhouse" / "board.toml"


def _carries(catalog: Any, **more: str) -> AsMeasured:
    found = measure("transistor", {**GIVEN, **more}, part="ALD-40", catalog=catalog, kelvin=True).as_measured
    assert found is not None
    return found


class TestCarries:
    """The audit's own law, with the measured on-resistance in it."""

    def test_the_upper_end_counts(self, catalog: Any) -> None:
        """40 mΩ and its uncertainty."""
        result = measure("transistor", GIVEN, part="ALD-40", catalog=catalog, kelvin=True)
        high = result.samples[0].findings[0].high
        assert result.as_measured is not None
        assert result.as_measured.resistance_ohm == high
        assert (high or 0.0) > 0.040

    def test_without_a_sink_one_watt_is_the_end_of_a_leaded_package(self, catalog: Any) -> None:
        """About 1 W (common practice): I = √(1 W/R(T)), R hot by the power law, T = 40 °C + 62.5 K."""
        found = _carries(catalog)
        hot = found.resistance_ohm * ((40.0 + 62.5 + 273.15) / 298.15) ** 1.65
        assert found.usable_a == pytest.approx(math.sqrt(1.0 / hot), rel=0.01)
        assert (found.loss_w, found.junction_degc) == (pytest.approx(1.0), pytest.approx(102.5))

    def test_with_a_sink_its_junction_is(self, catalog: Any) -> None:
        """The rating law of MIL-PRF-19500/557F with 125 °C, 40 °C and RθJC + RθCS + RθSA in it."""
        found = _carries(catalog, heatsink="10K/W", ambient="40degC")
        hot = found.resistance_ohm * (398.15 / 298.15) ** 1.65
        assert found.usable_a == pytest.approx(math.sqrt((125.0 - 40.0) / ((3.0 + 0.5 + 10.0) * hot)), rel=0.01)

    def test_the_load_must_not_have_less(self, catalog: Any) -> None:
        """Ohm's law; without a supply nothing is said."""
        found = _carries(catalog, supply="12V")
        assert found.least_load_ohm == pytest.approx(12.0 / (found.usable_a or math.nan))
        assert _carries(catalog).least_load_ohm is None

    def test_it_says_what_nobody_gave(self, catalog: Any) -> None:
        """Air and thermal resistance; and that the current rating is only what the marking claims."""
        found = _carries(catalog)
        assert any("40 °C" in text for text in found.assumed)
        assert any("RθJA" in text for text in found.assumed)
        assert any("marking claims" in text for text in found.notes)

    def test_without_a_word_on_its_package_it_is_not_known(self) -> None:
        """No thermal resistance follows from anything, and no current is made up."""
        found = measure("transistor", GIVEN, part="X", kelvin=True).as_measured
        assert found is not None
        assert (found.usable_a, found.loss_w) == (None, None)
        assert found.unknown

    def test_the_audit_of_the_same_part_carries_the_same(self, catalog: Any, tmp_path: Path) -> None:
        """Put into a board, it is judged as it was here."""
        text = (
            'title = "b"\n[supply]\nvoltage = "12V"\n[surroundings]\nambient = "40degC"\n[[output]]\nname = "mat"\n'
            '[output.load]\nkind = "resistive"\nresistance = "6ohm"\n[[output.link]]\nkind = "transistor"\n'
            'name = "Q1"\npackage = "TO-220"\nvds = "40V"\ncurrent_rating = "60A"\njunction_max = "175degC"\n'
            'hot_exponent = "1.65"\n'
        )
        board = tmp_path / "board.toml"
        board.write_text(text, encoding="utf-8")
        found = _carries(catalog, supply="12V")
        put_measured(board, "Q1", found.resistance_ohm)
        line = boards.audit(boards.read_board(board)).lines[0]
        assert line.usable_a == pytest.approx(found.usable_a, rel=1e-3)


class TestBoardFile:
    """The file stays as its owner wrote it."""

    def test_a_key_that_is_there_changes_and_its_comment_stays(self, tmp_path: Path) -> None:
        """Of the greenhouse's board one line differs."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())
        said = put_measured(board, "q1", 0.0162)
        before, after = (path.read_text("utf-8").splitlines() for path in (BOARD, board))
        changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
        assert len(changed) == 1
        assert '"16.2mohm"' in changed[0][1]
        assert changed[0][0].partition("#")[2] == changed[0][1].partition("#")[2] != ""
        assert "output[1].link[2]" in said

    def test_a_key_that_is_not_stands_in_its_own_link(self, tmp_path: Path) -> None:
        """One line more, and the file reads as a board that is measured there and nowhere else."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())
        put_measured(board, "Q2", 0.0162)
        before, after = BOARD.read_text("utf-8").splitlines(), board.read_text("utf-8").splitlines()
        extra = [line for line in after if line not in before]
        assert len(after) == len(before) + len(extra) == len(before) + 1
        links = {link.name: link for link in boards.read_board(board).links()}
        assert getattr(links["Q2"], "measured_on_resistance_ohm") == pytest.approx(0.0162)  # noqa: B009
        assert getattr(links["Q3"], "measured_on_resistance_ohm") is None  # noqa: B009

    @pytest.mark.parametrize(
        "text",
        [
            '[[output]]\r\nname = "m"\r\n[[output.link]]\r\nkind = "transistor"\r\nname = "Q1"\r\n# the end',
            '\ufeff[[output]]\nname = "m"\n[[output.link]]\nname = "Q1" # first\nkind = "transistor"',
            '[[output]]\nname = "m"\nlink = [{kind = "transistor", name = "Q1"}, {kind = "plain"}]\n',
            '[[section]]\nname = "m"\n  [[section.link]]\n  kind = "transistor" # one\n  name = "Q1"\n\n# next\n[x]\n',
            '[[output]]\nname = "m"\n[[output.link]]\nkind = "plain"\n[[output.link]]\nkind = "transistor"\n',
        ],
    )
    def test_however_it_is_written(self, text: str, tmp_path: Path) -> None:
        """Line ends, byte order mark, tables on one line, indents, a link without a name: the rest stays."""
        board = tmp_path / "board.toml"
        board.write_bytes(text.encode())
        put_measured(board, "transistor 2" if "Q1" not in text else "Q1", 0.0162)
        after = board.read_bytes().decode()
        assert after.count("measured_on_resistance") == 1
        without = "\n".join(line for line in after.splitlines() if not line.strip().startswith("measured_on"))
        if "link = [" not in text:
            assert without == "\n".join(text.splitlines())
        assert ("\r\n" in text) == ("\r\n" in after)
        tables = tomllib.loads(after.removeprefix("\ufeff"))
        group = tables.get("output") or tables["section"]
        measured = [link for link in group[0]["link"] if "measured_on_resistance" in link]
        assert [link["kind"] for link in measured] == ["transistor"]

    def test_two_of_a_name_want_their_output_said(self, tmp_path: Path) -> None:
        """As an audit calls them."""
        one = '[[output]]\nname = "{}"\n[[output.link]]\nkind = "transistor"\nname = "Q1"\n'
        board = tmp_path / "board.toml"
        board.write_text(one.format("mat A") + one.format("mat B"), encoding="utf-8")
        with pytest.raises(BoardError, match=r"several.*mat A: Q1, mat B: Q1"):
            put_measured(board, "Q1", 0.0162)
        put_measured(board, "mat B: Q1", 0.0162)
        outputs = tomllib.loads(board.read_text("utf-8"))["output"]
        assert ["measured_on_resistance" in output["link"][0] for output in outputs] == [False, True]

    @pytest.mark.parametrize("link", ["Q9", "inlet terminal", ""])
    def test_what_is_no_transistor_there_is_refused(self, link: str, tmp_path: Path) -> None:
        """The error names those that are; the file is as it was."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())
        with pytest.raises(BoardError) as caught:
            put_measured(board, link, 0.0162)
        assert "mat A: Q1" in str(caught.value)
        assert board.read_bytes() == BOARD.read_bytes()

    def test_no_toml_and_no_file_are_refused(self, tmp_path: Path) -> None:
        """With the file's name."""
        board = tmp_path / "board.toml"
        for text in (None, "title = "):
            if text is not None:
                board.write_text(text, encoding="utf-8")
            with pytest.raises(BoardError) as caught:
                put_measured(board, "Q1", 0.0162)
            assert str(board) in str(caught.value)

    def test_a_link_to_the_file_and_its_rights_stay(self, tmp_path: Path) -> None:
        """The file itself is replaced, and nothing is left beside it."""
        real = tmp_path / "real.toml"
        real.write_bytes(BOARD.read_bytes())
        real.chmod(0o640)
        link = tmp_path / "link.toml"
        link.symlink_to(real)
        put_measured(link, "Q1", 0.0162)
        assert link.is_symlink()
        assert "16.2mohm" in real.read_text("utf-8")
        assert stat.S_IMODE(real.stat().st_mode) == 0o640
        assert sorted(path.name for path in tmp_path.iterdir()) == ["link.toml", "real.toml"]

    @pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="rights that nobody may pass by")
    def test_a_folder_that_may_not_be_written_leaves_it_as_it_was(self, tmp_path: Path) -> None:
        """The error says so."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())
        tmp_path.chmod(0o500)
        try:
            with pytest.raises(BoardError, match="cannot be written"):
                put_measured(board, "Q1", 0.0162)
        finally:
            tmp_path.chmod(0o700)
        assert board.read_bytes() == BOARD.read_bytes()

    def test_a_failed_write_leaves_it_as_it_was(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A full disk: one error, the old file, and nothing beside it."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())

        def full(*_: Any) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "replace", full)
        with pytest.raises(BoardError, match="No space left"):
            put_measured(board, "Q1", 0.0162)
        assert [path.name for path in tmp_path.iterdir()] == ["board.toml"]
        assert board.read_bytes() == BOARD.read_bytes()
