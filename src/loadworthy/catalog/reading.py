"""Any supplier's file read as a table of text in which nothing is lost.

Reading knows nothing of headings, units or parts. It finds the encoding, the delimiter and the sheet, hands
over the first records to look at, and then loads the records: the text of each field as it stands in the file.
"""

from __future__ import annotations

import gzip
import io
import os
import stat
import tempfile
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import BinaryIO

from loadworthy.catalog import bulk, encodings, spreadsheets, stepwise
from loadworthy.catalog.dialects import find_delimiter, records
from loadworthy.catalog.stepwise import Layout
from loadworthy.catalog.surveying import Surveying, digest
from loadworthy.catalog.texts import Texts, TextsNotKeptError
from loadworthy.errors import UnreadableFile, UsageError

__all__ = ["Source", "load_rows", "open_source"]

_HEAD = 200
_EXAMPLES = 3
_SAMPLE = 1 << 20
_CHUNK = 1 << 20
_GZIP = b"\x1f\x8b"
_NO_TEXT = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"%PDF": "a PDF document",
    b"{\\rtf": "a word processor's document",
}
_TEXT_CONTROLS = "\t\n\r\f\v\x1a\x1c\x1d\x1e\x1f"
_EXPORT = "Export the table as CSV, .xlsx or .ods."


@dataclass(frozen=True, kw_only=True)
class Source:
    """A file that can be loaded, and what was found out about it.

    Attributes
    ----------
    path
        The file as the user gave it.
    sheet, sheets
        The sheet that is read and all sheets of the workbook; ``None`` and empty for text.
    encoding
        Encoding of the text (``utf-8`` for workbooks).
    delimiter
        What separates the fields (``,`` for workbooks).
    head
        The first 200 records, those before the table as well; a blank line or row is ``()``.
    text
        Where the table lies as UTF-8 text: the file itself or a copy in the scratch folder.
    survey
        What the bytes of ``text`` say, on its way.
    stamp
        Size and time of change when it was opened.
    called
        How its owner calls the file, where it stands under another name.
    """

    path: Path
    sheet: str | None
    sheets: tuple[str, ...]
    encoding: str
    delimiter: str
    head: tuple[tuple[str, ...], ...]
    text: Path
    survey: Surveying
    stamp: tuple[int, int]
    called: str = ""
    _digested: Future[str]

    @property
    def digest(self) -> str:
        """BLAKE2b of the file's bytes, waited for: the same file gives the same digits."""
        with _trouble_told(self.path):
            return self._digested.result()

    def close(self) -> None:
        """End what still reads it beside."""
        self.survey.stop()

    @property
    def name(self) -> str:
        """How the file is called, in the catalogue and to people."""
        return self.called or self.path.name

    def examples(self, first_record: int, width: int) -> tuple[tuple[str, ...], ...]:
        """Return a few texts of each column, from near the top of the table."""
        rows = self.head[first_record - 1 :]
        columns = ((row[index].strip() for row in rows if index < len(row)) for index in range(width))
        return tuple(tuple(islice(dict.fromkeys(filter(None, texts)), _EXAMPLES)) for texts in columns)


def open_source(
    path: Path,
    *,
    scratch: Path,
    encoding: str | None = None,
    delimiter: str | None = None,
    sheet: str | None = None,
) -> Source:
    """Look at a supplier's file and find out how to read it.

    Parameters
    ----------
    path
        Delimited text (also packed by gzip) or a workbook (.xlsx, .xls, .ods). Its bytes say which.
    scratch
        Folder for an unpacked or recoded copy, which stays there until the caller removes the folder.
    encoding
        Encoding of the text, if it shall not be detected.
    delimiter
        Delimiter, if it shall not be detected: one character.
    sheet
        Sheet of a workbook; else the visible sheet with the most filled cells.

    Raises
    ------
    UnreadableFile
        When there is no such file, or it is empty, damaged, or holds no table.
    UsageError
        When there is no such encoding or sheet, or the delimiter is not one character.
    """
    path = Path(path)
    if encoding is not None:
        encoding = encodings.checked(encoding)
    _check_delimiter(delimiter)
    with _trouble_told(path):
        stamp = _stamp(path)
        digested = _beside(digest, path)
        with path.open("rb") as stream:
            start = stream.read(8)
        sheets: tuple[str, ...] = ()
        if spreadsheets.looks_like_workbook(start):
            text, encoding, delimiter = _scratch_file(scratch), "utf-8", spreadsheets.DELIMITER
        else:
            text, encoding = _as_text(path, start, scratch, encoding, sheet)
        with _removed_on_error(text, original=path):
            if spreadsheets.looks_like_workbook(start):
                sheet, sheets = spreadsheets.write_sheet(path, text, sheet=sheet)
            delimiter = delimiter or find_delimiter(_sample_text(path, text))
            return Source(
                path=path,
                sheet=sheet,
                sheets=sheets,
                encoding=encoding,
                delimiter=delimiter,
                head=_head(path, text, delimiter),
                text=text,
                survey=Surveying(text, delimiter),
                stamp=stamp,
                _digested=digested,
            )


def load_rows(source: Source, *, first_record: int, width: int, folder: Path) -> Texts:
    """Load a file's records as texts.

    Parameters
    ----------
    source
        The file, from `open_source`.
    first_record
        Number of the first record to load. The file's first record is 1, blank ones count: the numbers are
        those of a spreadsheet's rows.
    width
        Number of fields that the table has.
    folder
        Where the texts are to lie, in a file that stays until the caller removes the folder.

    Returns
    -------
    Texts
        The records in the file's order. Blank ones are left out.

    Raises
    ------
    UnreadableFile
        When the file has changed since it was opened, or is not readable to its end.
    ValueError
        When ``first_record`` or ``width`` is less than 1.
    """
    if first_record < 1 or width < 1:
        raise ValueError("first_record and width count from 1")
    layout = Layout(text=source.text, delimiter=source.delimiter, first_record=first_record, width=width)
    with _trouble_told(source.path):
        _refuse_change(source)
        texts = bulk.load(layout, source.survey, source.head, folder=folder)
        _refuse_nul(source.path, source.survey.whole().nul_at)
        if texts is None:
            with _records(source.path, source.text, source.delimiter) as rows:
                texts = stepwise.load(rows, layout, folder=folder)
        _refuse_change(source)
        return texts


def _refuse_change(source: Source) -> None:
    if _stamp(source.path) != source.stamp:
        raise UnreadableFile(
            "The file has changed since it was opened.",
            where=source.path.name,
            way_out="Take it in again when nothing writes to it.",
        )


def _beside(work: Callable[[Path], str], path: Path) -> Future[str]:
    """Begin work in a thread of its own; it ends by itself."""
    pool = ThreadPoolExecutor(max_workers=1)
    begun = pool.submit(work, path)
    pool.shutdown(wait=False)
    return begun


def _check_delimiter(delimiter: str | None) -> None:
    if delimiter is not None and (len(delimiter) != 1 or delimiter in '"\r\n\0'):
        raise UsageError(
            f"{delimiter!r} cannot separate fields.",
            where="delimiter",
            way_out="Give one character: a comma, a semicolon, a tab or a bar.",
        )


@contextmanager
def _trouble_told(path: Path) -> Iterator[None]:
    """Turn what the operating system and the unpacker say into an error that names the file."""
    try:
        yield
    except FileNotFoundError as error:
        raise UnreadableFile("There is no such file.", where=str(path), way_out="Check the name.") from error
    except PermissionError as error:
        raise UnreadableFile(
            "The file may not be read.", where=str(path), way_out="Ask for the right to read it."
        ) from error
    except (EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise UnreadableFile(
            f"The packed file is damaged or cut short ({error}).",
            where=path.name,
            way_out="Fetch it again, or unpack it with another program.",
        ) from error
    except TextsNotKeptError as error:
        raise UnreadableFile(
            f"Its texts cannot be put down in {Path(str(error.filename)).parent}, where temporary files go "
            f"({error.strerror}).",
            where=path.name,
            way_out="Free some space there, or name another folder by the environment variable TMPDIR.",
        ) from error
    except OSError as error:
        raise UnreadableFile(
            f"The file cannot be read ({error.strerror or error}).",
            where=path.name,
            way_out="Check the file and the space left on the disk.",
        ) from error


def _stamp(path: Path) -> tuple[int, int]:
    try:
        status = path.stat()
    except ValueError as error:
        raise UnreadableFile("No file can have such a name.", where=repr(str(path))) from error
    if stat.S_ISDIR(status.st_mode):
        raise UnreadableFile("This is a folder.", where=str(path), way_out="Name the files in it.")
    if not stat.S_ISREG(status.st_mode):
        raise UnreadableFile("This is no regular file.", where=str(path), way_out="Save it as a file first.")
    return status.st_size, status.st_mtime_ns


def _as_text(path: Path, start: bytes, scratch: Path, encoding: str | None, sheet: str | None) -> tuple[Path, str]:
    """Return the file itself if it is UTF-8, else a copy in UTF-8; and the encoding it was in."""
    if sheet is not None:
        raise UsageError("This is text and has no sheets.", where=path.name, way_out="Leave the sheet out.")
    with _unpacked(path, start) as stream:
        sample = stream.read(_SAMPLE)
    for mark, kind in _NO_TEXT.items():
        if sample.startswith(mark):
            raise UnreadableFile(f"This is {kind}, not a table.", where=path.name, way_out=_EXPORT)
    encoding = encodings.settled(encoding, sample) if encoding else encodings.detect(sample)
    if encoding == "utf-8" and not start.startswith(_GZIP):
        return path, encoding
    text = _scratch_file(scratch)
    with _removed_on_error(text, original=path), _unpacked(path, start) as stream, text.open("wb") as copy:
        chunks = iter(lambda: stream.read(_CHUNK), b"")
        if encoding == "utf-8":
            copy.writelines(chunks)
        else:
            copy.writelines(part.encode("utf-8", "replace") for part in encodings.decoded(chunks, encoding))
    return text, encoding


@contextmanager
def _unpacked(path: Path, start: bytes) -> Iterator[BinaryIO]:
    with path.open("rb") as stream:
        if start.startswith(_GZIP):
            with gzip.GzipFile(fileobj=stream) as unpacked:
                yield io.BufferedReader(unpacked)
        else:
            yield stream


def _scratch_file(scratch: Path) -> Path:
    handle, name = tempfile.mkstemp(dir=scratch, prefix="table-", suffix=".txt")
    os.close(handle)
    return Path(name)


@contextmanager
def _removed_on_error(text: Path, *, original: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        if text != original:
            text.unlink(missing_ok=True)
        raise


def _sample_text(path: Path, text: Path) -> str:
    """Return the first lines as text, without one that is cut."""
    with text.open("rb") as stream:
        sample = stream.read(_SAMPLE)
        whole = not stream.read(1)
    _refuse_nul(path, None if (nul := sample.find(b"\0")) < 0 else nul)
    letters = "".join(encodings.decoded([sample], "utf-8"))
    controls = sum(1 for letter in letters if letter < " " and letter not in _TEXT_CONTROLS)
    if controls > 0.1 * len(letters):
        raise UnreadableFile("This is no text.", where=path.name, way_out=_EXPORT)
    return letters if whole else letters[: letters.rfind("\n") + 1] or letters


def _refuse_nul(path: Path, place: int | None) -> None:
    if place is not None:
        raise UnreadableFile(
            f"This is no text: byte {place + 1} is NUL.",
            where=path.name,
            way_out=f"{_EXPORT} If it is UTF-16, say so.",
        )


def _head(path: Path, text: Path, delimiter: str) -> tuple[tuple[str, ...], ...]:
    """Return the first records; an error where the whole file has no letter to read."""
    with _records(path, text, delimiter) as rows:
        head = tuple(tuple(row) for row in islice(rows, _HEAD))
        if not any(field.strip() for row in head for field in row) and not any(
            field.strip() for row in rows for field in row
        ):
            raise UnreadableFile("The file is empty.", where=path.name, way_out="Give one that holds a table.")
    return head


@contextmanager
def _records(path: Path, text: Path, delimiter: str) -> Iterator[Iterator[list[str]]]:
    with text.open(encoding="utf-8-sig", errors=encodings.STRAY, newline="") as stream:
        yield records(stream, delimiter, where=path.name)
