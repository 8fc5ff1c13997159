"""Every command and option explains itself, and the README says the same as the commands."""

from __future__ import annotations

import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest

from loadworthy.cli import main
from loadworthy.cli.reference import MADE, commands, families_table, reference, spliced
from loadworthy.errors import UsageError

_ALL = dict(commands())
_MARKED = "".join(f"<!-- {name} -->\nstale words\n<!-- /{name} -->\n" for name in MADE)
_README = Path(__file__).parents[2] / "README.md"


def _examples(command: click.Command) -> list[str]:
    return [line.strip() for line in (command.epilog or "").splitlines() if line.strip().startswith("loadworthy ")]


def test_the_walk_finds_all_commands() -> None:
    """The job's commands, and a member of each group for the transistor family."""
    named = {"demo", "intake", "catalog", "choose", "choose transistor", "explain", "explain transistor"}
    assert {f"loadworthy {name}" for name in named} <= set(_ALL)


@pytest.mark.parametrize("path", _ALL)
def test_a_command_says_what_it_does_and_gives_an_example(path: str) -> None:
    """Help, and an epilog with at least one line that calls this very command."""
    command = _ALL[path]
    assert command.help
    assert any(example.startswith(path) for example in _examples(command))


@pytest.mark.parametrize("path", _ALL)
def test_every_option_says_what_it_is(path: str) -> None:
    """No option without words."""
    silent = [param.name for param in _ALL[path].params if isinstance(param, click.Option) and not param.help]
    assert silent == []


@pytest.mark.parametrize("path", _ALL)
def test_every_example_is_a_call_that_the_command_accepts(path: str) -> None:
    """The words of each example are parsed by the command they call (nothing is run)."""
    for example in _examples(_ALL[path]):
        words = shlex.split(example)[1:]
        command: click.Command = main
        while isinstance(command, click.Group) and words and not words[0].startswith("-"):
            _, found, words = command.resolve_command(click.Context(command), words)
            assert found is not None, example
            command = found
        # resilient_parsing stops click from running callbacks; wrong options and values still raise.
        command.make_context("example", words) if "--help" not in words else None


def test_the_reference_names_every_command_and_option() -> None:
    """Made from click, so that nothing can be forgotten."""
    text = reference()
    for path, command in _ALL.items():
        assert f"### `{path}`" in text
        for param in command.params:
            assert all(name in text for name in param.opts if name.startswith("--"))


def test_the_reference_is_put_between_the_markers_and_only_there() -> None:
    """What stands around the markers stays, and doing it twice changes nothing."""
    once = spliced(f"before\n{_MARKED}after\n")
    assert once.startswith("before\n")
    assert once.endswith("\nafter\n")
    assert "stale words" not in once
    assert spliced(once) == once


def test_a_text_without_markers_is_refused() -> None:
    """Better than a README that silently goes stale."""
    with pytest.raises(UsageError, match="<!-- families -->"):
        spliced("nothing here")


def test_write_puts_it_into_the_file_that_is_named(tmp_path: Path) -> None:
    """Run as a program, as the way out of the next test says."""
    readme = tmp_path / "README.md"
    readme.write_text(f"# Top\n{_MARKED}", encoding="utf-8")
    command = [sys.executable, "-m", "loadworthy.cli.reference", "--write", str(readme)]
    subprocess.run(command, check=True)  # noqa: S603
    text = readme.read_text(encoding="utf-8")
    assert text == spliced(f"# Top\n{_MARKED}")
    assert reference() in text
    assert families_table() in text


def test_the_readme_says_what_the_commands_say() -> None:
    """``python -m loadworthy.cli.reference --write README.md`` brings it up to date."""
    text = _README.read_text(encoding="utf-8")
    assert spliced(text) == text
