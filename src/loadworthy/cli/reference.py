"""The reference of all commands, made from click itself: ``python -m loadworthy.cli.reference``."""

from __future__ import annotations

from collections.abc import Iterator
from inspect import cleandoc
from pathlib import Path

import click

from loadworthy.cli import main
from loadworthy.errors import UsageError

__all__ = ["BEGIN", "END", "commands", "reference", "spliced"]

BEGIN = "<!-- reference -->"
END = "<!-- /reference -->"


def commands(command: click.Command = main, path: str = "loadworthy") -> Iterator[tuple[str, click.Command]]:
    """Walk all commands, a group before its members.

    Yields
    ------
    tuple
        The words that call it, and the command.
    """
    yield path, command
    if isinstance(command, click.Group):
        context = click.Context(command, info_name=path)
        for name in command.list_commands(context):
            member = command.get_command(context, name)
            if member is not None:
                yield from commands(member, f"{path} {name}")


def reference() -> str:
    """Write the reference of all commands in Markdown."""
    return "\n".join(_section(path, command) for path, command in commands())


def _section(path: str, command: click.Command) -> str:
    context = click.Context(command, info_name=path)
    usage = " ".join([path, *command.collect_usage_pieces(context)])
    parts = [f"### `{path}`", _prose(command.help or ""), f"```text\n{usage}\n```"]
    given = [param for param in command.params if isinstance(param, click.Option)]
    options = [record for record in (param.get_help_record(context) for param in given) if record]
    if options:
        parts.append("\n".join(["| option | what it says |", "| --- | --- |", *(_row(*record) for record in options)]))
    parts.append(_prose(command.epilog or ""))
    return "\n\n".join(part for part in parts if part) + "\n"


def _row(names: str, words: str) -> str:
    shown = " ".join(words.split()).replace("|", "\\|").replace("<", "\\<")
    return f"| `{names.replace('|', chr(92) + '|')}` | {shown} |"


def _prose(text: str) -> str:
    """Turn click's paragraphs into Markdown: what click must not fold becomes a block of code."""
    paragraphs = cleandoc(text).split("\n\n")
    return "\n\n".join(_block(paragraph) for paragraph in paragraphs if paragraph)


def _block(paragraph: str) -> str:
    if paragraph.startswith("\b\n"):
        return "```sh\n" + cleandoc(paragraph.removeprefix("\b\n")) + "\n```"
    return paragraph


def spliced(text: str) -> str:
    """Put the reference between the two markers of a text.

    Raises
    ------
    UsageError
        The markers are missing, or not one of each in this order.
    """
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise UsageError(f"the text has no {BEGIN} … {END}.", way_out="Put both lines where the reference belongs.")
    return f"{before}{BEGIN}\n\n{reference()}\n{END}{after}"


@click.command()
@click.option("--write", type=click.Path(path_type=Path, exists=True), metavar="FILE", help="Put it into this file.")
def _run(write: Path | None) -> None:
    """Print the reference, or put it between the markers of a file."""
    if write is None:
        click.echo(reference(), nl=False)
    else:
        write.write_text(spliced(write.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    _run()
