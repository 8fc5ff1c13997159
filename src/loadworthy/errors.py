"""The errors a user can meet: each says what is wrong, where, and the way out."""

from __future__ import annotations

__all__ = [
    "BoardError",
    "CatalogError",
    "FamilyError",
    "LoadworthyError",
    "OrderError",
    "QuantityError",
    "RecipeError",
    "UnreadableFile",
    "UsageError",
    "fault_words",
]


def fault_words(error: BaseException, place: str = "") -> str:
    """Say that the program has a fault, and which: what is not raised on purpose is never the user's.

    Examples
    --------
    >>> fault_words(KeyError("x"), "store.py, line 7")
    "a fault of the program, not of yours, and we are sorry: KeyError: 'x' (store.py, line 7)."
    """
    where = f" ({place})" if place else ""
    return f"a fault of the program, not of yours, and we are sorry: {type(error).__name__}: {error}{where}."


class LoadworthyError(Exception):
    """Base of every error that Loadworthy raises on purpose.

    Parameters
    ----------
    message
        What is wrong, in one sentence.
    where
        The place: file, row, column or option.
    way_out
        What the user can do about it.
    """

    def __init__(self, message: str, *, where: str | None = None, way_out: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.way_out = way_out

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        way_out = f" {self.way_out}" if self.way_out else ""
        return f"{place}{self.message}{way_out}"


class UsageError(LoadworthyError):
    """The call does not say enough, or says things that exclude one another."""


class QuantityError(LoadworthyError):
    """A text is no quantity, or not one of the asked kind."""


class UnreadableFile(LoadworthyError):  # noqa: N818 - it names what the user has in hand
    """A file cannot be read as a table."""


class CatalogError(LoadworthyError):
    """The catalogue file cannot be used: busy, of another schema, or no catalogue."""


class FamilyError(LoadworthyError):
    """A part family is unknown, or its description is not sound."""


class RecipeError(LoadworthyError):
    """A recipe file is not sound, or does not fit the table.

    Attributes
    ----------
    entry
        Which of its column entries, from 1; None where it is none of them.
    """

    entry: int | None = None


class _FileError(LoadworthyError):
    """Something that a user wrote is not sound, perhaps in several places.

    Parameters
    ----------
    message, where, way_out
        As of every error.
    problems
        One error for each thing that is wrong, where there are several.
    """

    def __init__(
        self,
        message: str,
        *,
        where: str | None = None,
        way_out: str | None = None,
        problems: tuple[LoadworthyError, ...] = (),
    ) -> None:
        super().__init__(message, where=where, way_out=way_out)
        self.problems = problems


class BoardError(_FileError):
    """A board file is not sound."""


class OrderError(_FileError):
    """An order file is not sound, or asks for what the catalogue does not hold."""
