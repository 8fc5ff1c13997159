"""One quick pass over a text file's bytes, ahead of a quick reader: what that could take amiss."""

from __future__ import annotations

import codecs
import hashlib
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

__all__ = ["Survey", "Surveying", "digest"]

_CHUNK = 1 << 18  # larger ones leave the processor's cache, and take half as long again
_LISTED = 50  # blank lines, at most
_LF, _CR, _QUOTE, _SPACE = b'\n\r" '


@dataclass(frozen=True, kw_only=True)
class Survey:
    r"""What the bytes of a text file say about its lines and quotation marks.

    Attributes
    ----------
    records
        Lines that end outside quotation marks, up to the last that is not blank.
    blanks
        Numbers of the blank lines that are followed by others; ``None`` where they are too many to list.
    nul_at
        Place of the first NUL byte; ``None`` where there is none.
    line_end
        ``\n`` or ``\r\n`` where all lines end so, and no carriage return stands elsewhere; else ``None``.
    loose_quotes
        Whether a quotation mark opens elsewhere than at a field's start, or a space follows one that closes.
        Readers disagree on what that means.
    broken_fields
        Whether a line ends inside quotation marks.
    """

    records: int = 0
    blanks: tuple[int, ...] | None = ()
    nul_at: int | None = None
    line_end: str | None = None
    loose_quotes: bool = False
    broken_fields: bool = False


def digest(path: Path) -> str:
    """Return the BLAKE2b digest (16 bytes, as hexadecimal digits) of a file's bytes."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, lambda: hashlib.blake2b(digest_size=16)).hexdigest()


class Surveying:
    """A survey that goes on in a thread of its own, ahead of whoever reads the file.

    Parameters
    ----------
    path, delimiter
        A file of UTF-8 text, and what separates its fields.
    """

    def __init__(self, path: Path, delimiter: str) -> None:
        self._path, self._tally = path, _Tally(delimiter)
        self._moved = threading.Condition()
        self._stopped = False
        self._whole: Survey | None = None
        self._failure: BaseException | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            with self._path.open("rb", buffering=0) as stream:
                mark = stream.read(len(codecs.BOM_UTF8))
                self._tally.begin(len(mark) if mark == codecs.BOM_UTF8 else 0)
                stream.seek(self._tally.size)
                while not self._stopped and (chunk := stream.read(_CHUNK)):
                    with self._moved:
                        self._tally.add(chunk)
                        self._moved.notify_all()
            whole = self._tally.close()
        except BaseException as error:
            self._failure = error
        with self._moved:
            self._whole = whole if self._failure is None else Survey()
            self._moved.notify_all()

    def upto(self, place: int) -> Survey:
        """Wait until so many bytes are surveyed, or all; return what they say. Line ends are judged at the end only."""
        with self._moved:
            self._moved.wait_for(lambda: self._whole is not None or self._tally.size >= place)
            return self._known() if self._whole is not None else self._tally.so_far()

    def whole(self) -> Survey:
        """Wait for the end; return what all bytes say.

        Raises
        ------
        OSError
            The file could not be read.
        """
        with self._moved:
            self._moved.wait_for(lambda: self._whole is not None)
            return self._known()

    def _known(self) -> Survey:
        if self._failure is not None:
            raise self._failure
        return self._whole or Survey()

    def stop(self) -> None:
        """Let it end early, and wait until it has; nobody asks any more."""
        self._stopped = True
        self._thread.join()


class _Tally:
    """The running counts of a survey; chunks may cut lines and quoted fields anywhere."""

    def __init__(self, delimiter: str) -> None:
        self.may_open = np.zeros(256, dtype=bool)
        self.may_open[[_LF, _CR, _QUOTE, *delimiter.encode("utf-8")]] = True
        self.size = 0
        self.before = b"\n"  # the byte before the chunk
        self.open_quote = False
        self.lines = 0  # that ended outside quotation marks
        self.line_start = 0
        self.returns = 0
        self.paired_returns = 0  # those before a line feed
        self.crlf_lines = 0
        self.last_filled = 0
        self.blanks: list[int] | None = []
        self.blanks_at_end: list[int] = []
        self.nul_at: int | None = None
        self.loose_quotes = False
        self.broken_fields = False

    def begin(self, place: int) -> None:
        """Begin behind the byte order mark."""
        self.size = self.line_start = place

    def add(self, chunk: bytes) -> None:
        """Count another piece."""
        if self.nul_at is None and (place := chunk.find(b"\0")) >= 0:
            self.nul_at = self.size + place
        codes = np.frombuffer(self.before + chunk, dtype=np.uint8)
        self.returns += chunk.count(b"\r")
        feeds = np.flatnonzero(codes[1:] == _LF)
        after_return = codes[feeds] == _CR
        self.paired_returns += int(after_return.sum())
        outside = self._outside(codes, feeds)
        self.broken_fields |= not outside.all()
        self._count_lines(feeds[outside] + self.size, after_return[outside])
        self.before = chunk[-1:]
        self.size += len(chunk)

    def _outside(self, codes: npt.NDArray[np.uint8], feeds: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_]:
        """Which line feeds have an even number of quotation marks before them; look at the marks as well.

        As long as each mark that opens stands at a field's start, or right after the mark that has just
        closed, the even and the odd ones are those that open and close for every reader.
        """
        quotes = np.flatnonzero(codes[1:] == _QUOTE)
        opening, closing = quotes[self.open_quote :: 2], quotes[not self.open_quote :: 2]
        spaced = codes[1:][(closing + 1)[closing < len(codes) - 2]] == _SPACE
        spaced_before = self.before == b'"' and not self.open_quote and codes[1] == _SPACE
        self.loose_quotes |= bool(spaced.any() or spaced_before or not self.may_open[codes[opening]].all())
        before = np.searchsorted(quotes, feeds) + self.open_quote
        self.open_quote = bool((len(quotes) + self.open_quote) % 2)
        return np.asarray(before % 2 == 0)

    def _count_lines(self, ends: npt.NDArray[np.intp], after_return: npt.NDArray[np.bool_]) -> None:
        if not len(ends):
            return
        self.crlf_lines += int(after_return.sum())
        starts = np.empty_like(ends)
        starts[0], starts[1:] = self.line_start, ends[:-1] + 1
        blank = ends - starts - after_return == 0
        numbers = np.arange(self.lines + 1, self.lines + 1 + len(ends))
        if not blank.all():
            self._filled(int(numbers[~blank][-1]), numbers[blank])
        self.blanks_at_end += numbers[blank & (numbers > self.last_filled)].tolist()[: _LISTED + 1]
        self.lines += len(ends)
        self.line_start = int(ends[-1]) + 1

    def _filled(self, number: int, blanks: npt.NDArray[np.intp]) -> None:
        """Line ``number`` is not blank: blank lines before it lie inside the table."""
        self.last_filled = number
        if self.blanks is not None:
            self.blanks += [*self.blanks_at_end, *blanks[blanks < number].tolist()]
            if len(self.blanks) > _LISTED:
                self.blanks = None
        self.blanks_at_end = []

    def close(self) -> Survey:
        """Count what has no line end behind it; return what all bytes say."""
        if self.size > self.line_start:
            self.lines += 1
            self._filled(self.lines, np.empty(0, dtype=np.intp))
            unended = 1
        else:
            unended = 0
        self.loose_quotes |= self.open_quote
        return replace(self.so_far(), line_end=self._line_end(self.lines - unended), blanks=self._listed(()))

    def so_far(self) -> Survey:
        """What the bytes up to here say; blank lines at their end may still lie inside the table."""
        return Survey(
            records=self.last_filled,
            blanks=self._listed(self.blanks_at_end),
            nul_at=self.nul_at,
            loose_quotes=self.loose_quotes,
            broken_fields=self.broken_fields,
        )

    def _listed(self, more: Sequence[int]) -> tuple[int, ...] | None:
        return None if self.blanks is None else (*self.blanks, *more)

    def _line_end(self, ended: int) -> str | None:
        if self.returns == 0:
            return "\n"
        if self.returns == self.paired_returns and self.crlf_lines == ended:
            return "\r\n"
        return None
