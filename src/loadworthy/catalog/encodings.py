"""Which encoding a file of text is in, and how its bytes become text without losing one."""

from __future__ import annotations

import codecs
from collections.abc import Iterable, Iterator

from loadworthy.errors import UsageError

__all__ = ["STRAY", "checked", "decoded", "detect", "settled"]

STRAY = "loadworthy-stray"
"""Name of the error handler that reads a byte its encoding does not know as CP1252, else as Latin-1."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16: its mark begins with the shorter one
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_WIDE = ("utf-16", "utf-32", "utf_16", "utf_32")


def _stray(error: UnicodeError) -> tuple[str, int]:
    """Read the bytes that stopped a decoder one by one as CP1252; its five gaps as Latin-1."""
    if not isinstance(error, UnicodeDecodeError):
        raise error
    stray = error.object[error.start : error.end]
    return "".join(_single(byte) for byte in stray), error.end


def _single(byte: int) -> str:
    try:
        return bytes((byte,)).decode("cp1252")
    except UnicodeDecodeError:
        return chr(byte)


codecs.register_error(STRAY, _stray)


def detect(sample: bytes) -> str:
    """Return the encoding that the first bytes of a file speak for.

    Parameters
    ----------
    sample
        The file's first bytes; a character may be cut at the end.

    Returns
    -------
    str
        ``utf-8``, ``utf-16-le``, ``utf-16-be``, ``utf-32-le``, ``utf-32-be`` or ``cp1252``. A byte order mark
        decides; else NUL in every other byte; else whether the bytes that are not ASCII form more valid UTF-8
        characters than stray bytes, so that one bad byte does not spoil a whole UTF-8 file.

    Examples
    --------
    >>> detect("15 mΩ;4,5 V".encode()), detect("±20 V; 4 µs".encode("cp1252"))
    ('utf-8', 'cp1252')
    """
    for mark, encoding in _MARKS:
        if sample.startswith(mark):
            return encoding
    return _unmarked_wide(sample) or ("utf-8" if _mostly_utf8(sample) else "cp1252")


def _unmarked_wide(sample: bytes) -> str | None:
    """UTF-16 without a mark: Latin text has NUL as every second byte, and hardly any other NUL."""
    half = len(sample) // 2
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if half and odd > 0.5 * half and even < 0.05 * half:
        return "utf-16-le"
    if half and even > 0.5 * half and odd < 0.05 * half:
        return "utf-16-be"
    return None


def _mostly_utf8(sample: bytes) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")(errors="replace")
    text = decoder.decode(sample)
    stray = text.count("\ufffd") - sample.count("\ufffd".encode())
    whole = sum(1 for letter in text if letter > "\x7f") - stray
    return stray == 0 or whole > stray


def checked(encoding: str) -> str:
    """Return the usual name of an encoding that the user asked for.

    Raises
    ------
    UsageError
        When Python knows no text encoding of that name.
    """
    try:
        "".encode(encoding)
        name = codecs.lookup(encoding).name
    except (LookupError, ValueError, UnicodeError) as error:
        raise UsageError(
            f"No text encoding is called {encoding!r}.",
            where="encoding",
            way_out="Use for instance utf-8, utf-16 or cp1252.",
        ) from error
    return "utf-8" if name == "utf-8-sig" else name


def settled(asked: str, sample: bytes) -> str:
    """Return the encoding with its order of bytes, where the user asked for UTF-16 or UTF-32 without one."""
    if asked not in {"utf-16", "utf-32"}:
        return asked
    found = detect(sample)
    return found if found.startswith(asked) else f"{asked}-le"


def decoded(chunks: Iterable[bytes], encoding: str) -> Iterator[str]:
    """Decode a stream of bytes, without its byte order mark.

    A byte that the encoding does not know is read as CP1252 (single-byte and UTF-8 text), or as U+FFFD
    (UTF-16 and UTF-32, where bytes do not stand for letters).
    """
    errors = "replace" if encoding.startswith(_WIDE) else STRAY
    decoder = codecs.getincrementaldecoder(encoding)(errors=errors)
    first = True
    for chunk in chunks:
        text = decoder.decode(chunk)
        if first and text:
            text, first = text.removeprefix("\ufeff"), False
        yield text
    yield decoder.decode(b"", final=True)
