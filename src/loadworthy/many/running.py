"""Many needs from a file, answered piece by piece; what was done stays where the run is broken off."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from loadworthy import shipped, statements
from loadworthy.catalog.schema import SCHEMA_VERSION
from loadworthy.errors import LoadworthyError, UsageError
from loadworthy.many.answering import Answering, Tell
from loadworthy.many.needs_file import Asked, NeedsFile, Refused
from loadworthy.selection import check_suppliers, known_suppliers
from loadworthy.statements import HasConnection

__all__ = ["Run", "Stamped"]

_STATE: Final = "run.json"
_NOTHING_FITS: Final = "no part of the catalogue is shown to fit."


class Stamped(HasConnection, Protocol):
    """What is used of a catalogue; either engine's has it."""

    def stamp(self) -> object:
        """Return what tells its present state from another that is written later, as plain values."""
        ...


class Run:
    """A file of needs put to a catalogue, its answers kept in pieces until all are there.

    Parameters
    ----------
    catalog
        The catalogue, open.
    family
        The family.
    needs
        The file of needs.
    top
        How many parts each need is to have.
    folder
        Where pieces are kept. What an earlier run of the same needs, catalogue and options left there is used.
    at_once
        How many needs make a piece; where it is not said, as many as suits the family.

    Attributes
    ----------
    taken_up
        How many needs an earlier run has answered.
    begun_anew
        Whether what another run had left was thrown away.
    """

    def __init__(
        self, catalog: Stamped, family: str, needs: NeedsFile, *, top: int, folder: Path, at_once: int | None = None
    ) -> None:
        if top < 1:
            raise UsageError(f"{top} rows cannot be shown.", where="--top", way_out="Give 1 or more.")
        self.needs = needs
        self.folder = folder
        self._answering = Answering(catalog, family, top)
        self._at_once = at_once or self._answering.at_once
        self._suppliers = known_suppliers(_rows(catalog, statements.assemble("suppliers")))
        digest = _digest(
            needs.digest, sorted((name, str(value)) for name, value in needs.usual.items()), family, top,
            self._at_once, _identity(catalog, family),
        )  # fmt: skip
        self.begun_anew = self._settle(digest)
        self.taken_up = min(len(self._done()) * self._at_once, needs.rows)

    @property
    def pieces(self) -> int:
        """How many pieces there are."""
        return -(-self.needs.rows // self._at_once)

    def _settle(self, digest: str) -> bool:
        """Make the folder, or use the one that is there if it is of the same run."""
        state = self.folder / _STATE
        if self.folder.exists() and not state.is_file() and (not self.folder.is_dir() or any(self.folder.iterdir())):
            raise UsageError(
                "it is in the way: pieces of the result would be kept there.",
                where=str(self.folder),
                way_out="Move it, or name another result.",
            )
        other = state.is_file() and state.read_text(encoding="utf-8") != digest
        if other:
            shutil.rmtree(self.folder)
        if not state.is_file():
            self.folder.mkdir(parents=True, exist_ok=True)
            _put(state, digest.encode())
        return other

    def _done(self) -> list[Path]:
        """Return the pieces that are there, from the first on without a gap."""
        found = []
        for number in range(self.pieces):
            if not self._told(number).is_file():
                break
            found.append(self._piece(number))
        return found

    def _piece(self, number: int) -> Path:
        return self.folder / f"{number:06}.parquet"

    def _told(self, number: int) -> Path:
        return self.folder / f"{number:06}.json"

    def answer(self, tell: Tell) -> None:
        """Answer what is not answered yet; after every piece it may be broken off."""
        for number in range(len(self._done()), self.pieces):
            needs, refused = self.needs.read(number * self._at_once, self._at_once)
            sound: list[Asked] = []
            for asked in needs:
                try:
                    check_suppliers(asked.need, self._suppliers)
                except LoadworthyError as error:
                    refused.append(_refused(asked, "supplier", error.message, error.way_out or ""))
                else:
                    sound.append(asked)
            table = self._answering.answer([asked.need for asked in sound], _part_of(tell, number, self.pieces))
            answered = table.column("need").to_numpy()
            nothing = sorted(set(range(len(sound))) - set(answered.tolist()))
            unanswered = [_refused(sound[at], "", _NOTHING_FITS, "") for at in nothing]
            told = {
                "needs": len(sound) + len(refused),
                "refused": len(refused),
                "nothing_fits": len(nothing),
                "cautions": list(
                    dict.fromkeys(words for asked in sound for words in self._answering.cautions(asked.need))
                ),
                "unanswered": [one.as_json() for one in sorted([*refused, *unanswered], key=lambda one: one.row)],
            }
            _put_table(self._piece(number), _named(table, sound))
            _put(self._told(number), json.dumps(told).encode())
        tell(1.0)

    def unanswered(self) -> Iterator[Refused]:
        """Return the rows that have no answer, each with the reason."""
        for told in self._all_told():
            for one in told["unanswered"]:
                yield Refused(**one)

    def cautions(self) -> list[str]:
        """Return what to mind with the parts of all these needs, each once."""
        return list(dict.fromkeys(words for told in self._all_told() for words in told["cautions"]))

    def _all_told(self) -> Iterator[dict[str, Any]]:
        for number in range(self.pieces):
            yield json.loads(self._told(number).read_text(encoding="utf-8"))

    def counts(self) -> dict[str, int]:
        """Return how many needs there are, how many are answered, which nothing fits, and which are refused."""
        summed = dict.fromkeys(("needs", "refused", "nothing_fits"), 0)
        for told in self._all_told():
            summed = {name: number + told[name] for name, number in summed.items()}
        return {**summed, "answered": summed["needs"] - summed["refused"] - summed["nothing_fits"]}

    def schema(self) -> pa.Schema:
        """Return the columns of the whole result: a piece without an answer knows fewer."""
        schemas = [pq.read_schema(self._piece(number)) for number in range(self.pieces)]
        return pa.unify_schemas(schemas or [pa.schema([])], promote_options="permissive").remove_metadata()

    def tables(self) -> Iterator[pa.Table]:
        """Return the pieces, all with the same columns."""
        schema = self.schema()
        for number in range(self.pieces):
            table = pq.read_table(self._piece(number))
            columns = [
                table.column(field.name).cast(field.type)
                if field.name in table.column_names
                else pa.nulls(len(table), field.type)
                for field in schema
            ]
            yield pa.table(columns, schema=schema)

    def forget(self) -> None:
        """Throw the pieces away."""
        shutil.rmtree(self.folder)


def _part_of(tell: Tell, number: int, pieces: int) -> Tell:
    return lambda share: tell((number + share) / pieces)


def _named(table: pa.Table, needs: list[Asked]) -> pa.Table:
    """Put each need's row and id in the place of its number."""
    at = table.column("need").to_numpy()
    rows = np.array([asked.row for asked in needs], dtype=np.int64)
    ids = pa.array([asked.id for asked in needs], pa.string())
    table = table.set_column(0, "row", pa.array(rows[at])) if len(needs) else table.rename_columns(["row", "rank"])
    return table.add_column(1, "id", ids.take(pa.array(at)))


def _refused(asked: Asked, column: str, reason: str, way_out: str) -> Refused:
    return Refused(row=asked.row, id=asked.id, column=column, reason=reason, way_out=way_out)


def _put(path: Path, content: bytes) -> None:
    """Write a file as a whole or not at all."""
    beside = path.with_name(path.name + ".new")
    beside.write_bytes(content)
    beside.replace(path)


def _put_table(path: Path, table: pa.Table) -> None:
    beside = path.with_name(path.name + ".new")
    pq.write_table(table, beside)
    beside.replace(path)


def _identity(catalog: Stamped, family: str) -> list[Any]:
    """What the answers hang on besides the needs: lists, measurements, the file itself, and the family's rules."""
    lists = _rows(catalog, "SELECT list_id, digest, reading, taken_in FROM lists ORDER BY list_id")
    measured = _rows(catalog, "SELECT count(*) AS n, max(session) AS last FROM measured")
    rules = (shipped.catalog_dir() / "families" / f"{family}.toml").read_text(encoding="utf-8")
    return [SCHEMA_VERSION, lists, measured, catalog.stamp(), rules, shipped.query(family)]


def _rows(catalog: HasConnection, text: str) -> list[dict[str, Any]]:
    return statements.bind("known", text, {}).rows(catalog.connection.cursor())


def _digest(*told: object) -> str:
    return hashlib.blake2b(json.dumps(told, default=str).encode(), digest_size=20).hexdigest()
