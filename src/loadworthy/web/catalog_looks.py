"""Dropped lists on their way into the catalogue: read, corrected, read again, confirmed – beside the pages.

A reading never changes: a correction makes another one, and the address says which. So Back undoes, and two pages
that are open on the same list do not disturb one another.
"""

from __future__ import annotations

import logging
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from loadworthy.catalog.corrections import Corrections
from loadworthy.catalog.intake import Given, intake
from loadworthy.catalog.reports import IntakeReport
from loadworthy.errors import LoadworthyError, UsageError, fault_words
from loadworthy.web.spool import Dropped, Entry, NotThere, Spool

__all__ = ["Job", "Looks", "Reading", "Table", "Work"]

#: Lists that are read at once; each may take the whole machine for a while.
_READERS: Final = 2
#: Readings that are kept of one drop: as far as Back goes.
MOST_READINGS: Final = 40
_LOG: Final = logging.getLogger(__name__)

Tell = Callable[[str, float], None]


class _Left(Exception):  # noqa: N818 - it names what became of it
    """Nobody waits for it any more."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """One table of a drop: what is corrected of it, and what came of reading it so.

    ``error`` beside a ``report``: the last correction could not be applied, the report is the one before it.
    """

    file: Dropped
    corrections: Corrections = field(default_factory=Corrections)
    report: IntakeReport | None = None
    error: LoadworthyError | None = None

    @property
    def ready(self) -> bool:
        """Whether it can be taken in as it is."""
        return self.report is not None and self.error is None


@dataclass(eq=False)
class Job:
    """Something that goes on beside the pages: how far it is, and its end."""

    stage: str = "waiting for its turn"
    share: float = 0.0
    error: LoadworthyError | None = None
    ended: threading.Event = field(default_factory=threading.Event)

    @property
    def going(self) -> bool:
        """Whether it has not come to its end."""
        return not self.ended.is_set()


@dataclass(eq=False, kw_only=True)
class Reading:
    """The tables of a drop as they were read once."""

    number: int
    before: Reading | None = None
    changed: int | None = None
    tables: tuple[Table, ...] = ()
    job: Job = field(default_factory=Job)


@dataclass(eq=False)
class Work:
    """What is kept beside a drop."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    readings: dict[int, Reading] = field(default_factory=dict)
    taking: Job | None = None
    taken: tuple[IntakeReport, ...] | None = None


class Looks:
    """Reads what was dropped and takes it in, each in a thread of its own.

    Parameters
    ----------
    catalog
        The catalogue's file; it is made where there is none.
    spool
        Where the files wait.
    """

    def __init__(self, catalog: Path | str, spool: Spool[Work]) -> None:
        self._catalog = catalog
        self._spool = spool
        self._readers = threading.Semaphore(_READERS)
        self._writer = threading.Semaphore(1)

    def begin(self, entry: Entry[Work]) -> Reading:
        """Read a drop for the first time."""
        reading = self._another(entry, None, None)

        def read(tell: Tell) -> None:
            found: list[Table] = []
            for number, file in enumerate(entry.files):
                found += _read(Table(file=file), entry.folder, _part_of(tell, number, len(entry.files)))
            reading.tables = tuple(found)

        self._start(entry, reading.job, self._readers, read)
        return reading

    def correct(self, entry: Entry[Work], before: Reading, place: int, corrections: Corrections) -> Reading:
        """Read one table of a drop again, as it was corrected; the others stay as they were read."""
        reading = self._another(entry, before, place)

        def read(tell: Tell) -> None:
            tables = list(before.tables)
            tables[place : place + 1] = _read(replace(tables[place], corrections=corrections), entry.folder, tell)
            reading.tables = tuple(tables)

        self._start(entry, reading.job, self._readers, read)
        return reading

    def take(self, entry: Entry[Work], reading: Reading, places: Sequence[int], *, keep_earlier: bool) -> Job:
        """Take tables of a drop in, as they were read. The files stay until they are in.

        Raises
        ------
        UsageError
            There is none among them that can be.
        """
        work = entry.kept
        wanted = [reading.tables[place] for place in places if place < len(reading.tables)]
        if not wanted or not all(one.ready for one in wanted):
            raise UsageError("there is no list among these that can be taken in.", way_out="Tick one that was read.")
        with work.lock:
            if work.taken is not None or (work.taking is not None and work.taking.going):
                return work.taking or Job()  # it was confirmed on another page already
            job = work.taking = Job(stage="waiting until another list is in")

        def take(tell: Tell) -> None:
            room = _room(entry.folder)
            try:
                given = _given(wanted, reading, room)
                taken = intake(self._catalog, given, keep_earlier=keep_earlier, progress=tell)
            finally:
                shutil.rmtree(room, ignore_errors=True)
            with work.lock:
                work.taken = taken
            self._spool.empty(entry)

        self._start(entry, job, self._writer, take)
        return job

    @staticmethod
    def reading(entry: Entry[Work], number: int) -> Reading:
        """Return one of the readings of a drop.

        Raises
        ------
        NotThere
            There is none of that number any more.
        """
        with entry.kept.lock:
            if number not in entry.kept.readings:
                raise NotThere("that reading of the list is not kept any longer.", way_out="Drop the file again.")
            return entry.kept.readings[number]

    def _another(self, entry: Entry[Work], before: Reading | None, changed: int | None) -> Reading:
        work = entry.kept
        with work.lock:
            number = max(work.readings, default=0) + 1
            reading = work.readings[number] = Reading(number=number, before=before, changed=changed)
            for old in [one for one in work.readings if one <= number - MOST_READINGS]:
                del work.readings[old]
            for one in work.readings.values():
                if one.before is not None and one.before.number not in work.readings:
                    one.before = None
        return reading

    def _start(self, entry: Entry[Work], job: Job, turn: threading.Semaphore, what: Callable[[Tell], None]) -> None:
        held = self._spool.at_work(entry)
        held.__enter__()  # before the thread begins: the entry must not be let go of in between

        def tell(stage: str, share: float) -> None:
            if entry.gone:
                raise _Left
            job.stage, job.share = stage, share

        def run() -> None:
            try:
                with _turn(turn, entry):
                    what(tell)
            except LoadworthyError as error:
                job.error = error
            except Exception as error:
                if isinstance(error, _Left) or entry.gone:  # also where its files went before it could be told
                    job.error = NotThere("it was discarded.", way_out="Drop the file again.")
                    return
                _LOG.exception("a fault of the program")
                job.error = LoadworthyError(
                    fault_words(error),
                    way_out="Please report this line, and what you did before it.",
                )
            finally:
                held.__exit__(None, None, None)
                job.ended.set()

        # A daemon: where the program is told to stop, it does not wait for a long list.
        threading.Thread(target=run, name="loadworthy-list", daemon=True).start()


@contextmanager
def _turn(turn: threading.Semaphore, entry: Entry[Work]) -> Iterator[None]:
    while not turn.acquire(timeout=0.2):
        if entry.gone:
            raise _Left
    try:
        yield
    finally:
        turn.release()


def _part_of(tell: Tell, number: int, count: int) -> Tell:
    return lambda stage, share: tell(stage, (number + share) / count)


def _room(folder: Path) -> Path:
    """Make a folder for the recipes of one job: several may be at work on the same drop."""
    return Path(tempfile.mkdtemp(dir=folder))


def _read(table: Table, folder: Path, tell: Tell) -> list[Table]:
    """Read a table, or all tables of a file; what cannot be read says so in its place."""
    room = _room(folder)
    try:
        given = _one(table, table.corrections, room, 1)
        reports = intake(room / "none", [given], dry_run=True, progress=tell)
    except LoadworthyError as error:
        return [replace(table, error=error)]
    finally:
        shutil.rmtree(room, ignore_errors=True)
    return [
        replace(
            table,
            report=report,
            error=None,
            # Corrections are those of one sheet.
            corrections=replace(table.corrections, sheet=report.sheet if len(report.sheets) > 1 else None),
        )
        for report in reports
    ]


def _one(table: Table, corrections: Corrections, room: Path, number: int) -> Given:
    if corrections.none:
        return Given(path=table.file.path, name=table.file.name)
    recipe = room / f"your-corrections-{number}.toml"
    recipe.write_text(corrections.recipe(), encoding="utf-8")
    return Given(path=table.file.path, name=table.file.name, recipe=recipe)


def _given(wanted: Sequence[Table], reading: Reading, room: Path) -> list[Given]:
    """Name the files for the intake: a workbook of which nothing was corrected once, else each of its sheets."""
    given: list[Given] = []
    whole: set[Path] = set()
    for number, table in enumerate(wanted, 1):
        same = [one for one in reading.tables if one.file == table.file]
        plain = all(one in wanted and replace(one.corrections, sheet=None).none for one in same)
        if not plain:
            given.append(_one(table, table.corrections, room, number))
        elif table.file.path not in whole:
            whole.add(table.file.path)
            given.append(Given(path=table.file.path, name=table.file.name))
    return given
