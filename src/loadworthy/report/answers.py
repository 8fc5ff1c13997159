"""The answers to many needs as a file, and what became of the needs in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from loadworthy.report.delimited import csv_lines, csv_text

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["FORMS", "counts_text", "write_answers", "write_unanswered"]

_ROWS: Final = 5_000


def write_answers(tables: Iterable[pa.Table], schema: pa.Schema, path: Path) -> None:
    """Write tables of one schema as one file: it is there as a whole or not at all.

    Parameters
    ----------
    tables
        The tables, one after the other.
    schema
        Their columns.
    path
        The file; its ending says how it is written, one of :data:`FORMS`.
    """
    beside = path.with_name(f".{path.name}.new")
    try:
        FORMS[path.suffix.lower()](tables, schema, beside)
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def write_unanswered(rows: Sequence[Mapping[str, Any]], path: Path) -> None:
    """Write down the needs that have no answer; a file of an earlier run goes where there are none."""
    if not rows:
        path.unlink(missing_ok=True)
        return
    beside = path.with_name(f".{path.name}.new")
    beside.write_text(csv_text(rows), encoding="utf-8")
    beside.replace(path)


def _as_parquet(tables: Iterable[pa.Table], schema: pa.Schema, path: Path) -> None:
    import pyarrow.parquet as pq  # noqa: PLC0415 - only who asks for Parquet loads it

    with pq.ParquetWriter(path, schema) as writer:
        for table in tables:
            writer.write_table(table)


def _as_csv(tables: Iterable[pa.Table], schema: pa.Schema, path: Path) -> None:
    names = schema.names
    with path.open("w", encoding="utf-8", newline="") as stream:
        stream.write(csv_lines([dict(zip(names, names, strict=True))], names))
        for table in tables:
            for batch in table.to_batches(max_chunksize=_ROWS):
                stream.write(csv_lines(batch.to_pylist(), names))


#: Ending of a result's name → how it is written.
FORMS: Final[dict[str, Callable[[Iterable[pa.Table], pa.Schema, Path], None]]] = {
    ".parquet": _as_parquet,
    ".csv": _as_csv,
}


def counts_text(counts: Mapping[str, int]) -> str:
    """Say what became of the needs.

    Examples
    --------
    >>> counts_text({"needs": 1200, "answered": 1100, "nothing_fits": 97, "refused": 3})
    '1,200 needs: 1,100 answered, 97 that nothing fits, 3 refused.'
    """
    needs = "1 need" if counts["needs"] == 1 else f"{counts['needs']:,} needs"
    said = [f"{counts['answered']:,} answered"]
    said += [f"{counts['nothing_fits']:,} that nothing fits"] if counts["nothing_fits"] else []
    said += [f"{counts['refused']:,} refused"] if counts["refused"] else []
    return f"{needs}: {', '.join(said)}."
