"""Whatever goes wrong, a user gets one message with the way out and an exit status, never a traceback."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from loadworthy.cli import main
from loadworthy.cli.groups import Root
from loadworthy.errors import CatalogError


def _ran(work: Callable[[], object]) -> Result:
    """Run a command that does ``work`` under the root of all commands."""
    root = Root(name="loadworthy", members={})
    command = click.Command("work", callback=work)
    root.get_command = lambda ctx, name: command  # type: ignore[method-assign]
    return CliRunner().invoke(root, ["work"])


def _raising(error: BaseException) -> Callable[[], object]:
    def work() -> None:
        raise error

    return work


@pytest.mark.parametrize(
    ("error", "status", "words"),
    [
        (CatalogError("is busy.", where="my.duckdb", way_out="Wait."), 2, ["my.duckdb: is busy. Wait."]),
        (OSError(errno.ENOSPC, "No space left on device", "my.duckdb"), 2, ["my.duckdb", "make room"]),
        (PermissionError(errno.EACCES, "Permission denied", "/x"), 2, ["/x", "rights"]),
        (KeyboardInterrupt(), 130, ["stopped"]),
        (MemoryError(), 2, ["not enough memory"]),
        (BrokenPipeError(errno.EPIPE, "Broken pipe"), 141, []),
        (click.ClickException("no such thing"), 2, ["no such thing"]),
        (click.UsageError("missing"), 2, ["missing"]),
        (
            ZeroDivisionError("division by zero"),
            2,
            ["ZeroDivisionError", "report this line", "test_faults.py, line"],
        ),
    ],
)
def test_every_fault_has_its_message_and_status(error: BaseException, status: int, words: list[str]) -> None:
    """0 found, 1 nothing fits, 2 wrong use or unreadable; interrupted and reader gone as shells show them."""
    result = _ran(_raising(error))
    assert result.exit_code == status
    assert all(word in result.stderr for word in words)
    assert "Traceback" not in result.output
    assert result.stdout == ""


def test_an_error_message_cannot_steer_the_terminal() -> None:
    """A file name or a cell in a message may hold escape sequences."""
    assert "\x1b" not in _ran(_raising(CatalogError("bad \x1b[2J cell"))).stderr


def test_a_command_can_answer_no() -> None:
    """Status 1 is the answer no, with nothing on stderr."""
    result = _ran(lambda: click.get_current_context().exit(1))
    assert (result.exit_code, result.stderr) == (1, "")


def _command(*words: str) -> list[str]:
    return [sys.executable, "-c", "from loadworthy.cli import main; main()", *words]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_told_once() -> None:
    """The interpreter's own complaint about an unflushed stream must not follow."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(_command("--help"), stdout=full, stderr=subprocess.PIPE, text=True, check=False)  # noqa: S603
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "full" in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="pipes end otherwise there")
def test_a_reader_that_goes_away_is_no_fault() -> None:
    """As in ``loadworthy catalog | head -1``: silence, and the status that shells know."""
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(_command("--version"), stdout=writing, stderr=subprocess.PIPE, check=False)  # noqa: S603
    os.close(writing)
    assert done.stderr == b""
    assert done.returncode == 141


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
def test_an_interrupt_from_the_keyboard_ends_it() -> None:
    """Status 130 (128 + SIGINT), one line."""
    code = (
        "import click, time; from loadworthy.cli.groups import Root; r = Root(name='loadworthy', members={});"
        "work = lambda: (print('up', flush=True), time.sleep(30));"
        "r.get_command = lambda c, n: click.Command('w', callback=work);"
        "r(['w'])"
    )
    with subprocess.Popen(  # noqa: S603
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as run:
        assert run.stdout is not None
        assert run.stdout.readline() == "up\n"
        time.sleep(0.05)
        run.send_signal(signal.SIGINT)
        _, words = run.communicate(timeout=20)
    assert run.returncode == 130
    assert "Traceback" not in words


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["explain", "FP-12", "--supply", "12V"],
            "'FP-12' is no family of parts. One of these comes first: transistor,",
        ),
        (["choose", "conector"], "'conector' is no family of parts. Did you mean connector?"),
        (["chose", "fuse"], "'chose' is no command. Did you mean choose?"),
        (["bench", "FP-12"], "'FP-12' is no command. One of these comes first: transistor, connector, fuse, load."),
    ],
)
def test_a_word_that_is_none_of_what_may_follow_says_what_may(words: list[str], said: str) -> None:
    """The kind of part comes before its number; a slip brings up what was meant."""
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
