"""Commands over needs: one member a part family, its options made from the fields of the family's need."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import MISSING, Field, fields
from typing import TYPE_CHECKING, Any

import click

from loadworthy.cli.groups import Choosing

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["FamilyGroup", "need_from", "need_options", "shown_examples", "typed_words"]


class FamilyGroup(Choosing):
    """A group with one command a part family that has a need.

    Parameters
    ----------
    make
        Family name, need class → the command.
    line
        A member's line in the list of commands; ``{family}`` stands for its name.
    """

    member = "family of parts"

    def __init__(
        self,
        *,
        make: Callable[[str, type[Need]], click.Command],
        line: str,
        **attributes: Any,  # noqa: ANN401
    ) -> None:
        super().__init__(**attributes)
        self.make = make
        self.line = line

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the families that a question can be asked about."""
        from loadworthy.needs import NEEDS  # noqa: PLC0415 - only who asks about a family loads the needs

        return list(NEEDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Make the command of one family."""
        from loadworthy.needs import NEEDS  # noqa: PLC0415 - as above

        if cmd_name not in NEEDS:
            return None
        command = self.make(cmd_name, NEEDS[cmd_name])
        command.short_help = self.line.format(family=cmd_name)
        return command


def need_options(need: type[Need]) -> Iterator[click.Option]:
    """Make one option a field of a need: its own first, then what all families are asked alike."""
    from loadworthy.needs.base import Need  # noqa: PLC0415 - only who asks about a family loads the needs

    shared = {field.name for field in fields(Need)}
    for field in sorted(fields(need), key=lambda field: field.name in shared):
        yield _option(field)


def shown_examples(command: str, examples: Iterable[str]) -> str:
    """Write examples as the end of a help text."""
    return "Examples:\n\n\b\n" + "\n".join(f"  loadworthy {command} {options}" for options in examples)


def _option(field: Field[Any]) -> click.Option:
    name = "--" + field.name.replace("_", "-")
    words = str(field.metadata.get("help", ""))
    if field.default is False:
        return click.Option([name, field.name], is_flag=True, help=words)
    choices = field.metadata.get("choices")
    several = isinstance(field.default, tuple)
    required = field.default is MISSING and field.default_factory is MISSING
    # What is not given must stay not given: an explicit default of None would count as given.
    usual: dict[str, Any] = {}
    if not required and not several and field.default is not None:
        usual = {"default": str(field.default), "show_default": True}
    return click.Option(
        [name, field.name],
        help=words + (" Repeatable." if several else ""),
        multiple=several,
        required=required,
        type=click.Choice(tuple(choices)) if choices else str,
        metavar=None if choices else shlex.quote(str(field.metadata.get("example") or "TEXT")),
        **usual,
    )


def need_from(need: type[Need], given: Mapping[str, Any]) -> Need:
    """Make the need from the options given; what is not given keeps the need's own default."""
    names = {field.name for field in fields(need)}
    return need(**{name: value for name, value in given.items() if name in names and value is not None})


def typed_words(need: Mapping[str, Any]) -> list[str]:
    """Write a need as the options one would type.

    Examples
    --------
    >>> typed_words({"supply": "12V", "package": ["TO-220"], "in_stock": True, "heatsink": "15 K/W"})
    ['--supply', '12V', '--package', 'TO-220', '--in-stock', '--heatsink', '15 K/W']
    """
    words: list[str] = []
    for name, value in need.items():
        option = "--" + name.replace("_", "-")
        if value is True:
            words.append(option)
        elif isinstance(value, (list, tuple)):
            words += [word for item in value for word in (option, str(item))]
        elif value is not None and value is not False:
            words += [option, str(value)]
    return words
