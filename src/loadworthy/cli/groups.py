"""Groups whose commands load when they are called, and the one place where an error becomes a message."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from importlib import import_module
from typing import Any, Final, NoReturn

import click

from loadworthy.errors import LoadworthyError, fault_words
from loadworthy.report.text import clean

__all__ = ["Choosing", "LazyGroup", "Root"]

WRONG: Final = 2
INTERRUPTED: Final = 130
READER_GONE: Final = 141
"""What a shell shows for a program whose reader went away (128 + SIGPIPE)."""

_WAYS_OUT: Final = {
    errno.ENOSPC: "The disk is full: make room, or name a place elsewhere.",
    errno.EDQUOT: "The disk quota is used up: make room, or name a place elsewhere.",
    errno.EACCES: "You may not read or write there: change the rights, or name a place elsewhere.",
    errno.EPERM: "You may not read or write there: change the rights, or name a place elsewhere.",
    errno.EROFS: "That disk can only be read: name a place elsewhere.",
    errno.ENOENT: "Check the name.",
    errno.EISDIR: "Name a file in that folder.",
    errno.EADDRINUSE: "Another program listens there, perhaps this one in another window: name another with --port.",
}


class Choosing(click.Group):
    """A group that says what may follow, where a word follows that is none of its own."""

    member: str = "command"

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the member that is named."""
        if args[0].startswith("-") or self.get_command(ctx, args[0]):
            return super().resolve_command(ctx, args)
        from difflib import get_close_matches  # noqa: PLC0415 - only who errs waits for it

        names = self.list_commands(ctx)
        near = get_close_matches(args[0], names, n=2)
        way_out = f"Did you mean {' or '.join(near)}?" if near else f"One of these comes first: {', '.join(names)}."
        raise click.UsageError(f"{args[0]!r} is no {self.member}. {way_out}", ctx)


class LazyGroup(Choosing):
    """A group that knows its commands by name and imports one when it is called.

    Parameters
    ----------
    members
        Command → ("module:attribute", its line in the list of commands).
    """

    def __init__(self, *, members: Mapping[str, tuple[str, str]], **attributes: Any) -> None:  # noqa: ANN401
        super().__init__(**attributes)
        self.members = members

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the commands, in the order in which the work goes."""
        return list(self.members)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; None where the group has none of that name."""
        if cmd_name not in self.members:
            return None
        place, line = self.members[cmd_name]
        module, _, attribute = place.partition(":")
        command: click.Command = getattr(import_module(module), attribute)
        command.short_help = line
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in self.members.items()])


class _ReaderGoneError(Exception):
    """The program that reads our output has ended. It is no OSError, so that click leaves it to us."""


class Root(LazyGroup):
    """The whole command: whatever goes wrong under it ends in one message and an exit status.

    Status 0 found, 1 nothing fits, 2 wrong use or unreadable input, 130 interrupted, 141 reader gone.
    """

    def make_context(self, info_name: str | None, args: list[str], *rest: Any, **extra: Any) -> click.Context:  # noqa: ANN401
        """Read the options; ``--help`` and ``--version`` write here."""
        try:
            return super().make_context(info_name, args, *rest, **extra)
        except BrokenPipeError as error:
            raise _ReaderGoneError from error

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - click's own signature
        """Run the command; a reader that went away is told apart from other faults of the disk."""
        try:
            return super().invoke(ctx)
        except BrokenPipeError as error:
            raise _ReaderGoneError from error

    def main(self, args: Sequence[str] | None = None, prog_name: str | None = None, **extra: Any) -> NoReturn:  # type: ignore[override]  # noqa: ANN401
        """Run and exit."""
        extra.pop("standalone_mode", None)
        _let_every_letter_out()
        try:
            status = super().main(args, prog_name or self.name, standalone_mode=False, **extra)
            if sys.stdout is not None:  # a shell may have closed it
                sys.stdout.flush()
        except Exception as error:  # the last place: no traceback reaches a user
            sys.exit(_told(error))
        sys.exit(status if isinstance(status, int) else 0)


def _let_every_letter_out() -> None:
    """Let a terminal without an Ω show a question mark instead of stopping the program."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]


def _told(error: Exception) -> int:
    """Say on stderr what went wrong; return the exit status."""
    if isinstance(error, (_ReaderGoneError, BrokenPipeError)):
        _drop_what_is_left()
        return READER_GONE
    if isinstance(error, click.Abort) or (isinstance(error, RuntimeError) and "interrupted" in str(error).lower()):
        _say("stopped before the end.")
        return INTERRUPTED
    if isinstance(error, click.UsageError):
        error.show()
        return WRONG
    if isinstance(error, OSError):
        _drop_what_is_left()
    _say(_message(error))
    return WRONG


def _message(error: Exception) -> str:
    if isinstance(error, click.ClickException):
        return error.format_message()
    if isinstance(error, LoadworthyError):
        return str(error)
    if isinstance(error, OSError):
        place = f"{error.filename}: " if error.filename else ""
        return f"{place}{error.strerror or error}. {_WAYS_OUT.get(error.errno or 0, '')}".strip()
    if isinstance(error, MemoryError):
        return "there is not enough memory for this. Take in fewer or smaller lists at once."
    import traceback  # noqa: PLC0415 - only a fault of the program needs it
    from pathlib import Path  # noqa: PLC0415 - as above

    where = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(where.filename).name}, line {where.lineno}"
    return (
        f"{fault_words(error, place)} "
        "Please report this line, the command you gave, and if you may the list it was about."
    )


def _say(message: str) -> None:
    with suppress(OSError):
        click.echo(f"loadworthy: {clean(message)}", err=True)


def _drop_what_is_left() -> None:
    """Send what is still buffered nowhere, or Python would try once more at the end and complain."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
