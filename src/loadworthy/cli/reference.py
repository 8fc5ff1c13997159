"""The reference of all commands, made from click itself: ``python -m loadworthy.cli.reference``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from inspect import cleandoc
from itertools import groupby
from pathlib import Path
from typing import Final

import click

from loadworthy.boards.schema import described
from loadworthy.catalog import families
from loadworthy.cli import main
from loadworthy.errors import UsageError
from loadworthy.needs import NEEDS

__all__ = ["MADE", "commands", "families_table", "reference", "spliced"]


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


def families_table() -> str:
    """Write the table of part families in Markdown: what each is, and by what its parts are ranked."""
    rows = [f"| `{name}` | {families.load(name).title} | {need.ranked_by} |" for name, need in NEEDS.items()]
    return "\n".join(["| family | parts | ranked by |", "| --- | --- | --- |", *rows]) + "\n"


def board_table() -> str:
    """Write the tables of a board file's keys in Markdown, one a table of the file."""
    lines: list[str] = []
    for title, keys in groupby(described(), key=lambda row: row["table"]):
        lines += [f"**`{title}`**", "", "| key | meaning | example |", "| --- | --- | --- |"]
        lines += [
            f"| `{key['key']}`{' (required)' if key['required'] else ''} | {key['meaning']} | `{key['example']}` |"
            for key in keys
        ]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


#: What of a text is made: its markers are ``<!-- NAME -->`` and ``<!-- /NAME -->``.
MADE: Final[dict[str, Callable[[], str]]] = {"families": families_table, "board": board_table, "reference": reference}


def _section(path: str, command: click.Command) -> str:
    context = click.Context(command, info_name=path)
    usage = " ".join([path, *command.collect_usage_pieces(context)])
    parts = [f"### `{path}`", _prose(command.help or ""), f"```text\n{usage}\n```"]
    given = [param for param in command.params if isinstance(param, click.Option)]
    like = path.replace(" explain ", " choose ").replace(" report ", " choose ")
    if like != path:  # the need is the same; to list its options twice would only hide what differs
        known = {param.name for name, other in commands() if name == like for param in other.params}
        given = [param for param in given if param.name not in known]
        parts.append(f"The need is given as to `{like}`; besides:")
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
    """Put what is made of a text between its markers.

    Raises
    ------
    UsageError
        Markers are missing, or not one of each in this order.
    """
    for name, make in MADE.items():
        first, last = f"<!-- {name} -->", f"<!-- /{name} -->"
        before, begin, rest = text.partition(first)
        _, end, after = rest.partition(last)
        if not begin or not end:
            raise UsageError(f"the text has no {first} … {last}.", way_out="Put both lines where it belongs.")
        text = f"{before}{first}\n\n{make()}\n{last}{after}"
    return text


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
