"""The tables of a catalogue file, laid out from the families' descriptions."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cache

from loadworthy.catalog.families import Family, Levels
from loadworthy.errors import CatalogError

__all__ = [
    "CLAIM",
    "CURVE",
    "LISTED_OF_OFFERS",
    "NUMBER_IN_KEY",
    "OFFERED",
    "SCHEMA_VERSION",
    "STORED_NUMBER",
    "Column",
    "check_schema",
    "claim_columns",
    "exact_columns",
    "family_columns",
    "fixed_tables",
    "level_columns",
    "listed_offers_view",
    "number_text",
    "of_row",
    "offers_of_rows",
    "offers_view",
    "part_columns",
    "placed_offers",
    "view_text",
    "viewed_columns",
]

#: The points of a curve: a temperature in °C, and the figure's value there in SI.
CURVE = "STRUCT(degc DOUBLE, value DOUBLE)[]"

#: Raised whenever a table changes; a file of another version is refused, never guessed at.
SCHEMA_VERSION = 6


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column: its SQL type, which of two claims is the worse, and what to call it in a result."""

    name: str
    kind: str
    worse: str
    title: str = ""


def level_columns(levels: Levels, *, typical: bool) -> list[tuple[float, str]]:
    """Return (level, column of its value) in rising order: ``…_ohm``, and ``…_at_v``."""
    stem = f"{levels.stem}_typ" if typical else levels.stem
    return [(level, f"{stem}_{levels.label(level)}") for level in levels.values]


@cache
def exact_columns(levels: Levels) -> tuple[tuple[str, str], ...]:
    """Return (value, gate voltage) of what a list gives for each level itself, maxima first, then typical figures."""
    return tuple(
        (f"exact_{kind}{levels.label(level)}", f"exact_{kind}{levels.label(level)}_at")
        for kind in ("", "typ_")
        for level in levels.values
    )


def family_columns(family: Family) -> Iterator[Column]:
    """Yield the columns that hold a family's figures."""
    for figure in family.figures:
        for kept in figure.store:
            kind = "VARCHAR" if figure.text else "DOUBLE"
            yield Column(name=kept.column, kind=kind, worse=kept.worse, title=figure.symbol or figure.title)
            for column in kept.beside.values():
                yield Column(name=column, kind="DOUBLE", worse="first")
        if figure.curve:
            yield Column(name=figure.curve, kind=CURVE, worse="first", title=f"{figure.symbol or figure.title}, curve")
        if figure.levels:
            yield Column(name=f"{figure.levels.stem}_from_v", kind="DOUBLE", worse="lower")
            yield Column(name=f"{figure.levels.stem}_guessed", kind="BOOLEAN", worse="either")
            yield Column(name=f"{figure.levels.stem}_unmarked", kind="BOOLEAN", worse="either")
            yield Column(name="hot_exponent", kind="DOUBLE", worse="higher", title="hot exponent")
        if figure.unmarked_place:
            yield Column(name=f"{figure.name}_unmarked", kind="BOOLEAN", worse="either")
    yield Column(name="typical", kind="VARCHAR", worse="first")


_IDENTITY = (
    Column(name="maker", kind="VARCHAR", worse="first"),
    Column(name="part_number", kind="VARCHAR", worse="first"),
    Column(name="package", kind="VARCHAR", worse="first", title="package"),
    Column(name="leaded", kind="BOOLEAN", worse="first"),
    Column(name="package_rthja_k_per_w", kind="DOUBLE", worse="first"),
    Column(name="package_rthjc_k_per_w", kind="DOUBLE", worse="first"),
    Column(name="package_rthcs_k_per_w", kind="DOUBLE", worse="first"),
)


#: What says whose claim it is: of which part, by which list, in which record.
CLAIM = (("part_key", "VARCHAR"), ("list_id", "INTEGER"), ("record", "BIGINT"))


def claim_columns(family: Family) -> list[tuple[str, str]]:
    """Return (name, type) of what one list says of one part."""
    exact = [
        name for figure in family.figures if figure.levels for pair in exact_columns(figure.levels) for name in pair
    ]
    return [
        *CLAIM,
        *((column.name, column.kind) for column in part_columns(family)),
        *((name, "DOUBLE") for name in exact),
    ]


def part_columns(family: Family) -> tuple[Column, ...]:
    """Return the columns that are merged one by one; levels are merged in pairs and stand apart."""
    return (*_IDENTITY, *family_columns(family))


#: What every part has beside its figures: which list and record gave it, how many claims there are, where they differ.
_ROW = (
    *CLAIM,
    ("claims", "INTEGER"),
    ("differs", "VARCHAR"),
)


def number_text(stored: Collection[str]) -> str:
    """Write the part number as its list has it, over a table of parts: it is stored where no key ends in it.

    Parameters
    ----------
    stored
        The names of the table's columns.
    """
    of_key = "substr(part_key, strpos(part_key, '|') + 1)"
    return f"coalesce(part_number, {of_key})" if "part_number" in stored else of_key


#: What a part's key says of its number: lists write it in small letters or capitals, with blanks or without.
NUMBER_IN_KEY = "upper(replace(part_number, ' ', ''))"
#: The reverse of :func:`number_text`, of a claim.
STORED_NUMBER = f"CASE WHEN part_number <> {NUMBER_IN_KEY} THEN part_number END"


#: What an offer may say. A column is stored once a list fills it.
OFFERED = (
    ("supplier", "VARCHAR"),
    ("order_number", "VARCHAR"),
    ("currency", "VARCHAR"),
    ("unit_price", "DOUBLE"),
    ("breaks", "STRUCT(quantity BIGINT, price DOUBLE)[]"),
    ("least_quantity", "BIGINT"),
    ("multiple", "BIGINT"),
    ("stock", "BIGINT"),
    ("stock_at_least", "BOOLEAN"),
    ("stock_note", "VARCHAR"),
    ("packaging", "VARCHAR"),
    ("life_cycle", "VARCHAR"),
    ("lead_time", "VARCHAR"),
)
_ONE_BREAK = (
    "CASE WHEN offered.unit_price IS NOT NULL THEN [struct_pack(quantity := 1, price := offered.unit_price)] END"
)


def listed_offers_view(stored: Collection[str]) -> str:
    """Write the view ``listed_offers``: what lists offer, by list and record.

    The family is the list's, and so is the supplier where the row names none. Where no breaks are stored the unit price
    holds from one piece on.

    Parameters
    ----------
    stored
        The names of the columns of ``offer_rows``.
    """
    said = {name: f"offered.{name}" if name in stored else f"CAST(NULL AS {kind})" for name, kind in OFFERED}
    said["supplier"] = f"coalesce({said['supplier']}, lists.supplier)"
    if "unit_price" in stored:
        said["breaks"] = f"coalesce(offered.breaks, {_ONE_BREAK})" if "breaks" in stored else _ONE_BREAK
    columns = ", ".join(f"{text} AS {name}" for name, text in said.items())
    return (
        f"SELECT lists.family, offered.list_id, offered.record, {columns} "
        "FROM offer_rows AS offered INNER JOIN lists ON lists.list_id = offered.list_id"
    )


#: The same where the offers have their parts' keys already, as in a set of Parquet files.
LISTED_OF_OFFERS = f"SELECT family, list_id, record, {', '.join(name for name, _ in OFFERED)} FROM offers"


def offers_view(held: Collection[str]) -> str:
    """Write the view ``offers``: what lists offer, with the keys of the parts.

    An offer has the list and the record that it comes from, and so has the claim of the same row: the row of a part
    carries that of one claim, others are noted beside it or stand in the table of disputed claims.

    Parameters
    ----------
    held
        The families of which there are parts.
    """
    # A filter of the view on keys goes into what is read once, and not into the rows twice.
    rows = ", ".join(
        f"rows_{family} AS MATERIALIZED "
        f"(SELECT part_key, list_id, record FROM stored_{family} WHERE list_id IS NOT NULL)"
        for family in sorted(held)
    )
    owners = " UNION ALL ".join(
        f"SELECT '{family}' AS family, part_key, list_id, record FROM {claims}"
        for family in sorted(held)
        for claims in (f"rows_{family}", f"disputed_{family}", f"({_noted(family, f'rows_{family}')})")
    )
    nobody = "SELECT '' AS family, '' AS part_key, 0 AS list_id, 0 AS record WHERE FALSE"
    return (
        f"{f'WITH {rows} ' if rows else ''}"
        f"SELECT owners.part_key, offered.* FROM listed_offers AS offered INNER JOIN ({owners or nobody}) AS owners "
        "ON owners.family = offered.family AND owners.list_id = offered.list_id AND owners.record = offered.record"
    )


def of_row(noted: str) -> str:
    """Write the condition that a claim that is noted beside a row is the one whose list and record the row carries."""
    return f"({noted}.list_id = {noted}.row_list AND {noted}.record = {noted}.row_record)"


def _noted(family: str, rows: str, which: str = "part_key") -> str:
    """Ask for the claims that are noted beside rows, which have list_id, record and what says ``which`` part it is."""
    return (
        f"SELECT part.{which}, noted.list_id, noted.record FROM concurring_{family} AS noted "
        f"INNER JOIN {rows} AS part ON part.list_id = noted.row_list AND part.record = noted.row_record "
        f"WHERE NOT {of_row('noted')}"
    )


def offers_of_rows(family: str, rows: str) -> str:
    """Write what stands for the offers of some parts whose rows are at hand, in a catalogue file.

    Parameters
    ----------
    family
        The family.
    rows
        A relation of them: part_key, list_id, record. Those that carry no list are found by ``$part_key``.
    """
    return (
        f"(WITH asked AS ({rows}) SELECT owners.part_key, offered.* FROM listed_offers AS offered INNER JOIN ("
        f"SELECT part_key, list_id, record FROM asked UNION ALL {_noted(family, 'asked')} "
        f"UNION ALL SELECT part_key, list_id, record FROM disputed_{family} WHERE part_key IN ($part_key)"
        ") AS owners ON owners.list_id = offered.list_id AND owners.record = offered.record) AS offers"
    )


def placed_offers(family: str) -> str:
    """Write what stands for all offers of a family in a catalogue file, with the places of their parts' rows."""
    rows = f"(SELECT rowid AS place, part_key, list_id, record FROM stored_{family})"
    noted = _noted(family, rows, "place")
    return (
        f"(SELECT owners.place, offered.* FROM listed_offers AS offered INNER JOIN ("
        f"SELECT place, list_id, record FROM {rows} AS own WHERE list_id IS NOT NULL UNION ALL {noted} UNION ALL "
        f"SELECT part.place, written.list_id, written.record FROM disputed_{family} AS written "
        f"INNER JOIN {rows} AS part ON part.part_key = written.part_key"
        ") AS owners ON owners.list_id = offered.list_id AND owners.record = offered.record)"
    )


def viewed_columns(family: Family, stored: Collection[str]) -> list[tuple[str, str]]:
    """Return (expression, name) of every column of ``parts_FAMILY``, the view over what is stored.

    A column that no list fills is not stored: the view says NULL, or that each part has one claim. Nor is a level that
    no list gives a figure for: it is filled upwards, so the view names the level below.

    Parameters
    ----------
    family
        The family.
    stored
        The names of the columns of ``stored_FAMILY``.
    """
    plain = [*_ROW, *((column.name, column.kind) for column in part_columns(family))]
    viewed = [(f'"{name}"' if name in stored else f"CAST(NULL AS {kind})", name) for name, kind in plain]
    own = {"part_number": number_text(stored)} | ({} if "claims" in stored else {"claims": "CAST(1 AS INTEGER)"})
    viewed = [(own.get(name, expression), name) for expression, name in viewed]
    for levels in (figure.levels for figure in family.figures if figure.levels):
        for typical in (False, True):
            below = ""
            for _, stem in level_columns(levels, typical=typical):
                below = stem if f"{stem}_ohm" in stored else below
                for kind in ("ohm", "at_v"):
                    here = below and f"{below}_{kind}" in stored
                    viewed.append((f'"{below}_{kind}"' if here else "CAST(NULL AS DOUBLE)", f"{stem}_{kind}"))
    return viewed


def view_text(family: Family, stored: Collection[str], table: str) -> str:
    """Write the view over the stored parts of a family.

    Parameters
    ----------
    family, stored
        As for :func:`viewed_columns`.
    table
        What stores them.
    """
    columns = ", ".join(f'{text} AS "{name}"' for text, name in viewed_columns(family, stored))
    return f'SELECT {columns} FROM "{table}"'


def check_schema(version: int, where: str) -> None:
    """See to it that a catalogue's tables are laid as this Loadworthy lays them.

    Raises
    ------
    CatalogError
        Another one made it.
    """
    if version == SCHEMA_VERSION:
        return
    newer = version > SCHEMA_VERSION
    raise CatalogError(
        f"the catalogue was made by {'a newer' if newer else 'an older'} Loadworthy (schema {version}; this one "
        f"reads {SCHEMA_VERSION}).",
        where=where,
        way_out="Update Loadworthy." if newer else "Take the lists in again into a new file (--catalog).",
    )


def fixed_tables() -> tuple[str, ...]:
    """Return the statements that make the tables which all families share."""
    return (
        "CREATE TABLE about (loadworthy_schema INTEGER, made_by VARCHAR)",
        "CREATE SEQUENCE list_ids",
        """CREATE TABLE lists (
            list_id INTEGER PRIMARY KEY, file VARCHAR, sheet VARCHAR, supplier VARCHAR, family VARCHAR, digest VARCHAR,
            reading VARCHAR, stated_date DATE, taken_in TIMESTAMP, encoding VARCHAR, delimiter VARCHAR,
            decimal_mark VARCHAR,
            rows_read BIGINT, rows_parts BIGINT, rows_headings BIGINT, rows_notes BIGINT, rows_refused BIGINT,
            cells_refused BIGINT, parts BIGINT)""",
        "CREATE TABLE offer_rows (list_id INTEGER, record BIGINT)",
        f"CREATE VIEW listed_offers AS {listed_offers_view(())}",
        f"CREATE VIEW offers AS {offers_view(())}",
        """CREATE TABLE refused (
            list_id INTEGER, kind VARCHAR, record BIGINT, heading VARCHAR, text VARCHAR, reason VARCHAR)""",
        # How many parts of a family lie beside the sorted ones, and in how many sorted runs these.
        "CREATE TABLE laid (family VARCHAR, beside BIGINT, runs INTEGER)",
        # What was measured belongs to no list: a list that is replaced leaves it alone.
        "CREATE SEQUENCE measured_ids",
        """CREATE TABLE measured (
            session INTEGER, measured_on DATE, supplier VARCHAR, family VARCHAR, part_key VARCHAR, maker VARCHAR,
            part_number VARCHAR, piece INTEGER, sample VARCHAR, figure VARCHAR, unit VARCHAR, value DOUBLE, low DOUBLE,
            high DOUBLE, claimed_least DOUBLE, claimed_most DOUBLE, verdict VARCHAR)""",
    )
