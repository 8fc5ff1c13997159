"""How soon a command answers, from a fresh interpreter."""

from __future__ import annotations

import json
import sys
from functools import partial
from pathlib import Path

from timing import Line, compared, costs_of_command, in_turn

__all__ = ["list_catalog", "measure_start"]

_PROGRAM = "from loadworthy.cli import main; main()"
_NEED = ("--supply", "12V", "--resistance", "1.6ohm", "--drive", "5V", "--ambient", "40degC")
_BARE_ANSWER = """
import json, sys, duckdb
with open(sys.argv[2]) as file:
    asked = json.load(file)
with duckdb.connect(sys.argv[1], read_only=True) as connection:
    print(connection.execute(asked["sql"], asked["parameters"]).fetchall())
"""


def list_catalog(rows: int, folder: Path) -> Path:
    """Take a list of so many rows into a catalogue."""
    from writers import write_bulk

    from loadworthy.catalog.intake import intake

    made = folder / f"taken-in-{rows}.duckdb"
    if not made.exists():
        file = folder / f"list-{rows}.csv"
        write_bulk(rows, 1, file)
        intake(made, [file], supplier="Measured Parts")
    return made


def _ranked_statement(catalog_file: Path, folder: Path) -> Path:
    """Write down the ranked list's statement as ``choose`` runs it, and what it binds."""
    from loadworthy.catalog.store import Catalog
    from loadworthy.needs import TransistorNeed
    from loadworthy.selection import choose

    need = TransistorNeed(supply="12V", resistance="1.6ohm", drive="5V", ambient="40degC")
    with Catalog.open(catalog_file) as catalog:
        ran = choose(catalog, need, near=0, counting=False).statements
    ranked = next(one for one in ran if one.name == "ranked")
    written = folder / "ranked.json"
    written.write_text(json.dumps({"sql": ranked.sql, "parameters": dict(ranked.parameters)}))
    return written


def measure_start(rows: int, folder: Path, *, rounds: int) -> list[Line]:
    """Measure help, and one answer from a catalogue of so many parts."""
    catalog_file = list_catalog(rows, folder)
    statement = _ranked_statement(catalog_file, folder)
    python = (sys.executable, "-c")
    choose = (*python, _PROGRAM, "choose", "transistor")
    click, engine = "Python, click", "Python, DuckDB, the ranked statement"
    asked = f"choose transistor, {rows:,} parts"
    commands = {
        "Python alone": (*python, "pass"),
        click: (*python, "import click"),
        "Python, DuckDB": (*python, "import duckdb"),
        engine: (*python, _BARE_ANSWER, str(catalog_file), str(statement)),
        "--help": (*python, _PROGRAM, "--help"),
        "choose transistor --help": (*choose, "--help"),
        asked: (*choose, *_NEED, "--catalog", str(catalog_file)),
        f"{asked}, JSON": (*choose, *_NEED, "--format", "json", "--catalog", str(catalog_file)),
    }
    costs = in_turn(
        {name: partial(costs_of_command, command) for name, command in commands.items()},
        rounds=rounds,
    )
    pairs = [
        ("--help", click), ("choose transistor --help", click), (asked, click), (asked, engine),
        (f"{asked}, JSON", engine), (engine, "Python, DuckDB"), (click, "Python alone"),
    ]  # fmt: skip
    return compared(costs, pairs)
