"""Several samples from a table."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadworthy.bench import BenchResult, measure
from loadworthy.errors import LoadworthyError, UnreadableFile, UsageError

GIVEN = {"current": "6.000A", "gate": "5V", "temp": "25degC", "pulse": "300us", "hot_exponent": "0"}


def _measured(catalog: Any, folder: Path, text: str | bytes, **given: str) -> BenchResult:
    path = folder / "readings.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return measure("transistor", {**GIVEN, **given}, part="ALD-40", catalog=catalog, kelvin=True, samples=path)


class TestTable:
    """A row a sample; what it does not say is taken from the options."""

    @pytest.mark.parametrize(
        "text",
        [
            "sample,drop\nA,54.0mV\nB,48.0mV\n",
            "Sample;Voltage drop (mV)\nA;54,0\nB;48,0\n",
            "piece\tDrop [mV]\nA\t54.0\n\nB\t48.0\n",
            "# the second bag\nsample,colour,drop\nA,red,54.0mV\nB,,48.0mV\n",
            "Probe;Spannungsabfall (mV);Strom (A)\nA;54,0;6,000\nB;48,0;6,000\n",
            "\ufeffsample,drop mode,drop\r\nA,dc,54.0mV\r\nB,dc,48.0mV\r\n",
        ],
    )
    def test_is_read_however_it_is_written(self, catalog: Any, tmp_path: Path, text: str) -> None:
        """Delimiter, decimal mark, unit in heading or cell, comments, columns that say nothing."""
        result = _measured(catalog, tmp_path, text)
        assert [sample.name for sample in result.samples] == ["A", "B"]
        values = [sample.findings[0].value for sample in result.samples]
        assert values == [pytest.approx(9e-3, rel=1e-3), pytest.approx(8e-3, rel=1e-3)]

    def test_a_bad_row_is_refused_with_its_reason_and_the_others_are_answered(
        self, catalog: Any, tmp_path: Path
    ) -> None:
        """Row numbers are those of the file."""
        text = "sample,drop,leads\nA,54.0mV,\nB,many,\nC,48.0A,\nD,50.0mV,\nE,1mV,5mV,6\n"
        result = _measured(catalog, tmp_path, text)
        assert [sample.name for sample in result.samples] == ["A", "D"]
        assert [one.row for one in result.refused] == [3, 4, 6]
        assert all(
            word in one.reason for one, word in zip(result.refused, ("many", "48.0A", "more cells"), strict=True)
        )

    def test_german_headings(self, catalog: Any, tmp_path: Path) -> None:
        """What a bench book in German is headed with."""
        headings = "Stück;Abfall;Messstrom;Gate-Spannung;Temperatur;Pulsdauer;Schwellspannung"
        (sample,) = _measured(catalog, tmp_path, f"{headings}\nA;54,0mV;6,00A;5,0V;25°C;300µs;2V\n").samples
        assert [finding.name for finding in sample.findings] == ["on_resistance", "threshold"]
        assert sample.findings[0].value == pytest.approx(9e-3, rel=1e-3)

    def test_a_comma_in_three_digits_is_read_as_the_rest_of_the_table(self, catalog: Any, tmp_path: Path) -> None:
        """6,003 A is six amperes beside 54,0 mV; alone, or beside points, it stays in doubt."""
        assert _measured(catalog, tmp_path, "drop;current\n54,0mV;6,003A\n").samples[0].findings[0].value == (
            pytest.approx(54e-3 / 6.003, rel=1e-3)
        )
        for doubtful in ("drop;current\n54mV;6,003A\n", "drop;current\n54.0mV;6,003A\n"):
            with pytest.raises(UsageError, match="thousands"):
                _measured(catalog, tmp_path, doubtful)

    def test_a_row_says_more_than_the_options(self, catalog: Any, tmp_path: Path) -> None:
        """Its own current and gate count."""
        result = _measured(catalog, tmp_path, "drop,current,gate\n54.0mV,3.000A,10V\n")
        assert result.samples[0].findings[0].value == pytest.approx(18e-3, rel=1e-3)
        assert result.samples[0].name == "row 2"
        assert result.as_measured is not None
        assert result.as_measured.drive_v == 10.0

    def test_they_lie_together_as_numpy_has_it(self, catalog: Any, tmp_path: Path) -> None:
        """Mean and standard deviation of a sample."""
        drops = [54.0, 48.0, 51.0, 60.0]
        result = _measured(catalog, tmp_path, "drop\n" + "".join(f"{drop}mV\n" for drop in drops))
        ohms = np.array(drops) / 6e3
        (spread,) = result.spread
        assert spread.count == 4
        assert spread.mean == pytest.approx(ohms.mean(), rel=1e-3)
        assert spread.deviation == pytest.approx(ohms.std(ddof=1), rel=1e-3)

    def test_the_worst_one_counts_for_what_is_carried(self, catalog: Any, tmp_path: Path) -> None:
        """By its upper end."""
        result = _measured(catalog, tmp_path, "sample,drop\nA,54.0mV\nB,90.0mV\nC,48.0mV\n")
        assert result.as_measured is not None
        assert result.as_measured.sample == "B"
        assert result.as_measured.resistance_ohm == result.samples[1].findings[0].high
        assert result.counts == {"within": 2, "outside": 1, "not_decided": 0}


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("", UnreadableFile),
        ("colour,shape\nred,round\n", UnreadableFile),
        ("drop,voltage drop\n1mV,2mV\n", UnreadableFile),
        ("sample\nA\n", UnreadableFile),
        ("drop\n", UsageError),
        ("drop\nmany\n", UsageError),
        ('drop\n"1mV\n', UnreadableFile),
        (None, UnreadableFile),
    ],
)
def test_a_table_that_says_nothing_is_refused(tmp_path: Path, text: str | None, error: type[LoadworthyError]) -> None:
    """Nothing in it, no heading that is known, one twice, no row, none that can be taken; or no file."""
    path = tmp_path / "readings.csv"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    with pytest.raises(error) as caught:
        measure("transistor", GIVEN, part="X", samples=path)
    assert str(path) in str(caught.value)
    assert caught.value.way_out
