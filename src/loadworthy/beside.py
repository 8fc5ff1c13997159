"""A question asked beside another: planning a deep query keeps one core busy, and most machines have several."""

from __future__ import annotations

from collections.abc import Callable
from threading import Thread
from typing import Generic, TypeVar

__all__ = ["Beside"]

T = TypeVar("T")


class Beside(Generic[T]):
    """A call that runs while the caller goes on.

    Parameters
    ----------
    call
        What runs. It must not share a session with what the caller does meanwhile.

    Examples
    --------
    >>> Beside(lambda: 6 * 7).result()
    42
    """

    def __init__(self, call: Callable[[], T]) -> None:
        self._call = call
        self._found: list[T] = []
        self._error: BaseException | None = None
        self._thread = Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        try:
            self._found.append(self._call())
        except BaseException as error:  # raised again where the result is asked for
            self._error = error

    def wait(self) -> None:
        """Wait until it has ended, however it ends."""
        self._thread.join()

    def result(self) -> T:
        """Wait for what it gives; an error that it met is raised here."""
        self.wait()
        if self._error is not None:
            raise self._error
        return self._found[0]
