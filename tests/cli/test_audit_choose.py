"""``audit --choose`` as seen from the command."""

from __future__ import annotations

import csv
import io
import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result
from rich.cells import cell_len

from loadworthy import shipped

Call: TypeAlias = Callable[..., Result]

GREENHOUSE = shipped.catalog_dir() / "greenhouse"
BOARD = GREENHOUSE / "board.toml"
ROD = """\
title = "one rod"
[supply]
voltage = "12V"
most_current = "40A"
[surroundings]
ambient = "30degC"
[[output]]
name = "rod"
[output.load]
kind = "resistive"
resistance = "{ohms}ohm"
[[output.link]]
kind = "fuse"
name = "F1"
type = "one-shot"
rating = "7.5A"
standard = "IEC"
rated_voltage = "32V"
breaking_capacity = "100A"
[[output.link]]
{link}
"""
RELAY = 'kind = "plain"\nname = "relay"\nrated_current = "30A"'
TERMINAL = 'kind = "connector"\nname = "X1"\nunmarked = true'


def file(folder: Path, link: str, ohms: str = "6") -> Path:
    """Write a board of a fuse and one more link."""
    path = folder / "bench.toml"
    path.write_text(ROD.format(link=link, ohms=ohms), encoding="utf-8")
    return path


def test_the_text_keeps_to_its_width_and_names_every_part(greenhouse: Call) -> None:
    """80 columns; what JSON says was chosen stands in it, and what else is to be done."""
    shown = greenhouse("audit", BOARD, "--choose")
    told = json.loads(greenhouse("audit", BOARD, "--choose", "--format", "json").stdout)
    assert max(map(cell_len, shown.stdout.splitlines())) <= 80
    text = " ".join(shown.stdout.split())
    for one in told["mended"]["replacements"]:
        assert one["chosen"] is None or one["chosen"]["part_number"] in text
        assert all(" ".join(said.split()) in text for said in one["advice"])
    assert "Now the weakest: " in text
    assert all(caution in text for caution in told["cautions"])


def test_json_holds_both_audits(greenhouse: Call) -> None:
    """As it is at the top, as without --choose; under mended what is done, and the audit after it."""
    told = json.loads(greenhouse("audit", BOARD, "--choose", "--format", "json").stdout)
    plain = json.loads(greenhouse("audit", BOARD, "--format", "json").stdout)
    assert {name: value for name, value in told.items() if name != "mended"} == plain
    assert (told["verdict"], told["mended"]["audit"]["verdict"]) == ("falls short", "carries")


def test_every_question_shown_can_be_asked_again(greenhouse: Call) -> None:
    """The command that is shown under a replacement gives the part that was chosen first."""
    shown = greenhouse("audit", BOARD, "--choose").stdout
    told = json.loads(greenhouse("audit", BOARD, "--choose", "--format", "json").stdout)["mended"]["replacements"]
    asked = [one for one in told if one["asked"]]
    commands: list[str] = []
    for line in shown.partition("With that in place")[0].splitlines():
        if line.startswith("   $ loadworthy "):
            commands.append(line.removeprefix("   $ loadworthy "))
        elif commands and line.startswith("       "):
            commands[-1] += " " + line.strip()
    assert len(commands) == len(asked)
    for command, one in zip(commands, asked, strict=True):
        answer = greenhouse(*shlex.split(command), "--format", "json")
        ranked = json.loads(answer.stdout)["ranked"]
        chosen = one["chosen"] and one["chosen"]["part_number"]
        assert (ranked[0]["part_number"] if ranked else None) == chosen


def test_csv_has_a_row_a_replacement(greenhouse: Call) -> None:
    """In the order of the JSON; what must not be missed goes to stderr."""
    result = greenhouse("audit", BOARD, "--choose", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    told = json.loads(greenhouse("audit", BOARD, "--choose", "--format", "json").stdout)["mended"]["replacements"]
    assert [row["link"] for row in rows] == [one["link"] for one in told]
    assert [row["part_number"] for row in rows] == [(one["chosen"] or {}).get("part_number") or "" for one in told]
    assert "Transistors fail on" in result.stderr


def test_markdown_is_a_table_of_the_replacements(greenhouse: Call) -> None:
    """A line each, under a heading and a rule."""
    told = json.loads(greenhouse("audit", BOARD, "--choose", "--format", "json").stdout)["mended"]["replacements"]
    shown = greenhouse("audit", BOARD, "--choose", "--format", "markdown").stdout
    assert len(shown.splitlines()) == len(told) + 2


@pytest.mark.parametrize(
    ("link", "ohms", "status"),
    [
        (RELAY, "6", 0),  # 2 A: nothing falls short
        (TERMINAL, "2", 0),  # 6 A on an unmarked terminal: another does
        (RELAY.replace("30A", "3A"), "2", 1),  # no list has relays
    ],
)
def test_the_status_is_that_of_the_board_with_everything_in_place(
    greenhouse: Call, tmp_path: Path, link: str, ohms: str, status: int
) -> None:
    """0 all carry then, 1 something still falls short."""
    result = greenhouse("audit", file(tmp_path, link, ohms), "--choose")
    assert (result.exit_code, result.stderr) == (status, "")


def test_nothing_to_replace(greenhouse: Call, tmp_path: Path) -> None:
    """It says so."""
    assert "Nothing has to be replaced." in greenhouse("audit", file(tmp_path, RELAY), "--choose").stdout


def test_other_air_counts_for_the_choice(greenhouse: Call, tmp_path: Path) -> None:
    """The need is that of the air that is asked for."""
    words = ("audit", file(tmp_path, TERMINAL, "2"), "--choose", "--ambient", "55degC", "--format", "json")
    (one,) = json.loads(greenhouse(*words).stdout)["mended"]["replacements"]
    assert one["asked"]["ambient"] == "55degC"


def test_without_a_catalogue(fresh: Call, tmp_path: Path) -> None:
    """What is missing, and how to come by it; nothing half-printed."""
    result = fresh("audit", file(tmp_path, TERMINAL), "--choose")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "fresh.duckdb" in result.stderr
    assert "loadworthy intake" in result.stderr


def test_a_catalogue_that_lacks_a_family(fresh: Call, tmp_path: Path) -> None:
    """It is said at that link; the others are still chosen."""
    assert fresh("intake", GREENHOUSE / "thistledown.csv").exit_code == 0
    switch = 'kind = "transistor"\nname = "Q1"\non_resistance = "90mohm"\npackage = "TO-220"\ndrive = "5V"\nvds = "40V"'
    path = file(tmp_path, f"{TERMINAL}\n[[output.link]]\n{switch}", "2")
    result = fresh("audit", path, "--choose", "--format", "json")
    told = {one["kind"]: one for one in json.loads(result.stdout)["mended"]["replacements"]}
    assert told["transistor"]["chosen"] is not None
    assert told["connector"]["chosen"] is None
    assert "connector" in told["connector"]["advice"][0]
    assert result.exit_code == 1


def test_a_part_that_the_catalogue_lacks(greenhouse: Call, tmp_path: Path) -> None:
    """File, line, key and way out, and nothing on stdout."""
    path = file(tmp_path, 'kind = "connector"\npart = "NONESUCH-1"')
    result = greenhouse("audit", path, "--choose")
    assert (result.exit_code, result.stdout) == (2, "")
    said = " ".join(result.stderr.split())
    assert "bench.toml, line 22, key output[1].link[2].part" in said
    assert "NONESUCH-1" in said
    assert "take its list in" in said


def test_a_board_that_names_parts_of_the_catalogue(greenhouse: Call, tmp_path: Path) -> None:
    """A part chosen before is read back with its figures, and carries what it was chosen for."""
    first = greenhouse("audit", file(tmp_path, TERMINAL, "2"), "--choose", "--format", "json")
    (one,) = json.loads(first.stdout)["mended"]["replacements"]
    part = f'kind = "connector"\nname = "X1"\npart = "{one["chosen"]["part_number"]}"'
    again = json.loads(greenhouse("audit", file(tmp_path, part, "2"), "--format", "json").stdout)
    after = json.loads(first.stdout)["mended"]["audit"]
    usable = [{link["link"]: link["usable_a"] for link in told["links"]}["X1"] for told in (after, again)]
    assert usable[0] == usable[1]


def test_choosing_for_another_supply_is_refused(greenhouse: Call) -> None:
    """Parts are chosen for one supply: both options are named, and the way out."""
    result = greenhouse("audit", BOARD, "--choose", "--what-if", "24V")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--choose, --what-if" in result.stderr
    assert "board file" in result.stderr
