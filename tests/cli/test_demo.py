"""The demo: the whole job on the greenhouse's lists."""

from __future__ import annotations

import csv
import io
import json
import re
import shlex
import tempfile
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from loadworthy import shipped
from loadworthy.cli import main

Call: TypeAlias = Callable[..., Result]


@pytest.fixture
def question() -> dict[str, object]:
    """Return the question that the demo asks."""
    return tomllib.loads((shipped.catalog_dir() / "greenhouse" / "question.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    """Run the demo once with --into; return the folder and what was said."""
    folder = tmp_path_factory.mktemp("demo") / "kept"
    return folder, CliRunner(env={"COLUMNS": "80"}).invoke(main, ["demo", "--into", str(folder)])


def test_the_demo_tells_the_whole_story(
    kept: tuple[Path, Result], lists: list[Path], question: dict[str, object]
) -> None:
    """Lists, question, ranked parts, what stopped the rest, near misses, arithmetic, cautions, what next."""
    _, result = kept
    assert result.exit_code == 0, result.stderr
    assert str(question["title"]) in result.stdout
    assert all(path.name in result.stdout for path in lists)
    parts = (
        "Every link as it is", "What is done about it", "With that in place", "Now the weakest", "When something fails",
        "parts fit", "What stopped the rest", "One step short", "The arithmetic", "Mind:", "Try next:",
    )  # fmt: skip
    assert all(part in result.stdout for part in parts)
    assert "fuse" in result.stdout
    assert max(map(cell_len, result.stdout.splitlines())) <= 80


def test_the_demo_leaves_nothing_behind(fresh: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither in the user's catalogue nor among temporary files; it says how to keep what it made."""
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    result = fresh("demo")
    assert "demo --into" in result.stdout
    assert list(scratch.iterdir()) == []
    assert not (tmp_path / "fresh.duckdb").exists()


def test_into_keeps_catalogue_and_results(kept: tuple[Path, Result]) -> None:
    """The ranked parts as CSV, the whole choice as JSON, and the catalogue they came from."""
    folder, _ = kept
    assert {path.name for path in folder.iterdir()} >= {
        "audit.json", "board.toml", "choice.json", "greenhouse.duckdb", "ranked.csv",
    }  # fmt: skip
    choice = json.loads((folder / "choice.json").read_text(encoding="utf-8"))
    rows = list(csv.DictReader(io.StringIO((folder / "ranked.csv").read_text(encoding="utf-8"))))
    assert choice["ranked"]
    assert [row["part_number"] for row in rows] == [part["part_number"] for part in choice["ranked"]]


def test_the_commands_it_names_work(fresh: Call, kept: tuple[Path, Result]) -> None:
    """Every command that the demo prints can be given as it stands."""
    folder, result = kept
    unfolded = re.sub(r"\n {6}", " ", result.stdout)
    unfolded = re.sub(r"^\$ .*(?:\n {4}\S.*)+", lambda told: re.sub(r"\n {4}", " ", told[0]), unfolded, flags=re.M)
    calls = re.findall(r"^(?:\$|  ) ?(loadworthy .*)$", unfolded, re.MULTILINE)
    assert len(calls) >= 3
    for call in calls:
        words = shlex.split(call)[1:]
        place = [] if "--catalog" in words else ["--catalog", folder / "greenhouse.duckdb"]
        answer = fresh(*words, *place)
        assert answer.exit_code in (0, 1), (call, answer.stderr)  # 1: nothing fits, or something falls short
        assert answer.stdout


def test_into_a_file_is_wrong_use(fresh: Call, tmp_path: Path) -> None:
    """Status 2."""
    place = tmp_path / "file"
    place.write_text("taken", encoding="utf-8")
    assert fresh("demo", "--into", place).exit_code == 2
    assert place.read_text(encoding="utf-8") == "taken"


def test_the_question_is_given_as_the_command_takes_it(question: dict[str, object]) -> None:
    """What the demo asks makes a need of its family."""
    from loadworthy.needs import NEEDS

    given = question["need"]
    assert isinstance(given, dict)
    values = {key: tuple(value) if isinstance(value, list) else value for key, value in given.items()}
    need = NEEDS[str(question["family"])](**values)
    assert need.as_json()["current_a"] == 7.5
