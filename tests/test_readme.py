"""The README's tour is what the program prints. ``python tests/test_readme.py`` writes it anew."""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

from click.testing import CliRunner

README = Path(__file__).parents[1] / "README.md"
TOUR = {
    "audit": "audit greenhouse/board.toml --format markdown",
    "mend": "audit greenhouse/board.toml --choose --format markdown",
    "choose": (
        "choose transistor --supply 12V --resistance 1.6ohm --drive 5V --ambient 40degC --package TO-220 "
        "--top 5 --near 3"
    ),
    "explain": "explain transistor HQL30681-20L --supply 12V --resistance 1.6ohm --drive 5V --ambient 40degC",
    "bench": (
        "bench transistor VYZ30564-20U --samples greenhouse/samples.csv --pulse 300us --kelvin --format markdown"
    ),
    "limits": "limits --supply 12V --supply-tolerance 5% --current 8A --tolerance 5% --share 80%",
}


def section(name: str, folder: Path) -> str:
    """Run a command of the tour; return its section of the README."""
    from loadworthy.cli import main

    words = [word.replace("greenhouse/", f"{folder}/") for word in TOUR[name].split()]
    asks_catalog = name != "limits"
    done = CliRunner().invoke(
        main, [*words, *(["--catalog", str(folder / "greenhouse.duckdb")] if asks_catalog else [])]
    )
    assert done.exit_code == (1 if name in ("audit", "bench") else 0), (
        done.output
    )  # the board as it is, a sample: not fit
    shown = f"loadworthy {TOUR[name]}" + (" \\\n      --catalog greenhouse/greenhouse.duckdb" if asks_catalog else "")
    shown = shown.replace(" --package", " \\\n      --package")
    if "markdown" in words:
        return f"<!-- tour {name} -->\n```sh\n{shown}\n```\n\n{done.stdout.rstrip()}\n<!-- /tour -->"
    return f"<!-- tour {name} -->\n```text\n$ {shown}\n\n{done.stdout.rstrip()}\n```\n<!-- /tour -->"


def with_tour(text: str) -> str:
    """Return the README with every section of the tour as the program prints it now."""
    from loadworthy.cli import main

    with tempfile.TemporaryDirectory() as folder:
        done = CliRunner().invoke(main, ["demo", "--into", folder])
        assert done.exit_code == 0, done.output
        for name in TOUR:
            made = section(name, Path(folder))
            text = re.sub(rf"<!-- tour {name} -->.*?<!-- /tour -->", lambda _, made=made: made, text, flags=re.S)
    return text


def test_the_tour_is_what_the_program_prints() -> None:
    """A reader who types the commands of the tour sees what the README shows."""
    text = README.read_text(encoding="utf-8")
    assert text.count("<!-- tour ") == len(TOUR)
    assert with_tour(text) == text


def test_the_two_commands_come_first() -> None:
    """Job, then one command that does it, then one that passes the tests: each a block of its own."""
    text = README.read_text(encoding="utf-8")
    blocks = re.findall(r"```sh\n(.*?)```", text, re.S)
    assert "loadworthy demo" in blocks[0]
    assert "pytest" in blocks[1]
    assert text.index(blocks[0]) < 2500


if __name__ == "__main__":
    README.write_text(with_tour(README.read_text(encoding="utf-8")), encoding="utf-8")
    sys.stdout.write("README.md is written anew\n")
