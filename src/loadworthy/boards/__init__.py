"""A board's file read, its path audited link by link, and what that leaves for its loads."""

from __future__ import annotations

from loadworthy.boards.audit import audit, with_ambient
from loadworthy.boards.model import Board
from loadworthy.boards.outcome import Audit, AuditLine, OutputLine
from loadworthy.boards.reading import PartsShelf, read_board, read_text
from loadworthy.boards.what_if import WhatIf, what_if

__all__ = [
    "Audit",
    "AuditLine",
    "Board",
    "OutputLine",
    "PartsShelf",
    "WhatIf",
    "audit",
    "read_board",
    "read_text",
    "what_if",
    "with_ambient",
]
