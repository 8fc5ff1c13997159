"""Commands load what they use and nothing else."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result

Call: TypeAlias = Callable[..., Result]

HEAVY = {
    "duckdb",
    "pandas",
    "pint",
    "numpy",
    "rich",
    "pyarrow",
    "pyspark",
    "sqlglot",
    "scipy",
    "tomlkit",
    "python_calamine",
    "platformdirs",
}
_LOOK = (
    "import atexit, sys; atexit.register(lambda: print(*sys.modules, file=sys.stderr));"
    "from loadworthy.cli import main; main()"
)


def loaded(*words: str) -> set[str]:
    """Run a command in a fresh interpreter; return the top-level modules it ended with."""
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", _LOOK, *words], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return {name.partition(".")[0] for name in done.stderr.splitlines()[-1].split()}


@pytest.mark.parametrize("words", [["--help"], ["--version"]])
def test_help_and_version_bring_in_click_and_the_standard_library_only(words: list[str]) -> None:
    """Asking what there is starts at once."""
    names = loaded(*words)
    outside = names - set(sys.stdlib_module_names) - {"click", "loadworthy", "__main__"}
    assert "click" in names
    assert not names & HEAVY
    # What is left are helpers of the environment itself (a site's .pth files), not of ours.
    assert all(name.startswith(("_", "sitecustomize", "distutils")) for name in outside), outside


@pytest.mark.parametrize("command", ["intake", "catalog", "demo"])
def test_the_help_of_a_command_starts_at_once(command: str) -> None:
    """Reading help waits for nothing."""
    assert not loaded(command, "--help") & HEAVY


@pytest.mark.parametrize("command", ["choose", "explain"])
def test_the_help_of_a_need_opens_no_database(command: str) -> None:
    """Nor numpy, on which most of the physics stands."""
    assert not loaded(command, "transistor", "--help") & HEAVY


@pytest.mark.parametrize("form", ["table", "json", "csv"])
def test_a_choice_brings_in_no_more_than_it_uses(form: str, fresh: Call, tmp_path: Path, lists: list[Path]) -> None:
    """Neither numpy nor data frames nor a units registry: a small choice is over before they would have loaded.

    Parts are stopped by their heat alone, so that the heat sinks they need are worked out too.
    """
    assert fresh("intake", lists[0]).exit_code == 0
    catalog = str(tmp_path / "fresh.duckdb")
    asked = ("choose", "transistor", "--supply", "12V", "--resistance", "1.2ohm")
    missed = json.loads(fresh(*asked, "--format", "json").stdout)["near_misses"]
    assert any("heatsink_needed_k_per_w" in miss for miss in missed)
    words = (*asked[2:], "--catalog", catalog, "--format", form)
    names = loaded("choose", "transistor", *words)
    assert "duckdb" in names
    assert not names & (HEAVY - {"duckdb", "rich", "platformdirs"})
