"""What the page of a dropped list shows: each column with what it was read as, and the fields that correct it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from werkzeug.datastructures import MultiDict

from loadworthy.catalog import families
from loadworthy.catalog.columns import ColumnReading
from loadworthy.catalog.corrections import TABLE_KEYS, Corrections, keys_for, readable
from loadworthy.catalog.families import Family
from loadworthy.catalog.recipes import entry_of
from loadworthy.catalog.reports import IntakeReport, UnsettledTable
from loadworthy.errors import LoadworthyError, RecipeError
from loadworthy.report.intakes import cells_by, plain_text
from loadworthy.report.text import clean
from loadworthy.web.catalog_looks import Table

__all__ = ["ColumnView", "Field", "column_views", "corrected", "table_error", "table_fields"]

#: What can be chosen in a field: title of a group → its (value, text).
Groups: TypeAlias = "tuple[tuple[str, tuple[tuple[str, str], ...]], ...]"

#: Letters of a field that are taken.
_LONGEST: Final = 200
_SHARED: Final = "of every list"
_STATISTICS: Final = ("min", "typ", "max")
#: Key of a recipe's entry → what stands beside its field, and an example.
_COLUMN_FIELDS: Final = {
    "statistic": ("which limit", ""),
    "unit": ("unit", ""),
    "gate_v": ("at VGS", "4.5 V"),
    "gate_column": ("VGS from column", "6"),
    "temperature": ("at temperature", "25 °C"),
    "place": ("where", ""),
    "air_speed": ("air speed", "2 m/s"),
    "current": ("at current", "5 A"),
    "quantity": ("from how many", "10"),
    "per": ("for how many pieces", "100"),
}
_HOW: Final = {"sure": "sure", "guessed": "guessed", "unread": "not read"}
#: What must be looked at stands first.
_ORDER: Final = ("does not go", "guessed", "said by you", "sure", "not read")


@dataclass(frozen=True, kw_only=True)
class Field:
    """A field: groups of (value, text) to choose from, or a text where there is none."""

    name: str
    label: str
    value: str
    groups: Groups = ()
    example: str = ""
    help: str = ""


@dataclass(frozen=True, kw_only=True)
class ColumnView:
    """A column: what stands in it, what it was read as, how sure that is, and what corrects it."""

    position: int
    heading: str
    examples: tuple[str, ...]
    told: str
    why: str
    how: str
    wrong: LoadworthyError | None
    reads: Field
    more: tuple[Field, ...]

    @property
    def open(self) -> bool:
        """Whether its conditions stand open: it is to be looked at."""
        return self.how in _ORDER[:3]


def column_views(table: Table) -> list[ColumnView]:
    """Make a table's columns, those first that must be looked at."""
    family = _family(table)
    if family is None:
        return []
    columns, examples = _columns(table)
    wrong = table.error if isinstance(table.error, RecipeError) else None
    place = table.corrections.position(wrong.entry) if wrong is not None and wrong.entry else None
    views = [
        _view(column, texts, table.corrections, family, wrong if column.position == place else None)
        for column, texts in zip(columns, examples, strict=True)
    ]
    return sorted(views, key=lambda one: (_ORDER.index(one.how), one.position))


def table_error(table: Table) -> LoadworthyError | None:
    """Return what is wrong with a table as a whole: what is wrong with a column stands beside that."""
    error = table.error
    beside = isinstance(error, RecipeError) and error.entry and table.corrections.position(error.entry)
    return None if beside and _columns(table)[0] else error


def table_fields(table: Table) -> list[Field]:
    """Make the fields of what can be corrected of a table as a whole."""
    said, report = table.corrections.table, table.report
    shown = _shown_of_table(table)
    kinds = (("", tuple((name, f"{name} – {families.load(name).title}") for name in families.names())),)
    fields = [
        Field(
            name="family", label="what the parts are", value=shown["family"], groups=_with_blank(kinds, shown["family"])
        ),
        Field(
            name="supplier",
            label="supplier",
            value=shown["supplier"],
            help=_supplier_help(report),
            example="" if report else "by the file's name",
        ),
        Field(
            name="decimal",
            label="decimal mark",
            value=shown["decimal"],
            groups=_with_blank((("", ((".", "point: 1.5"), (",", "comma: 1,5"))),), shown["decimal"]),
        ),
        Field(
            name="currency",
            label="currency",
            value=said.get("currency", ""),
            example="EUR",
            help="If no price says it.",
        ),
        Field(
            name="heading_rows",
            label="rows of the headings",
            value=said.get("heading_rows", ""),
            example="4-5",
            help="If they were not found: the first and the last, counted from 1.",
        ),
    ]
    if report is None or report.sheet is None:
        parted = tuple((word, word) for word in ("comma", "semicolon", "tab", "bar"))
        if shown["delimiter"] not in ("", *(word for word, _ in parted)):
            parted += ((shown["delimiter"], shown["delimiter"]),)
        fields += [
            Field(
                name="delimiter",
                label="cells are parted by",
                value=shown["delimiter"],
                groups=_with_blank((("", parted),), shown["delimiter"]),
            ),
            Field(name="encoding", label="encoding of its letters", value=shown["encoding"], example="utf-8"),
        ]
    return fields


def corrected(table: Table, filled: MultiDict[str, str]) -> Corrections:
    """Return a table's corrections with what was filled in; a field left as it was says nothing."""
    found = table.corrections
    shown = _shown_of_table(table)
    found = found.with_table(
        {key: text for key in TABLE_KEYS if (text := _text(filled, key)) is not None and text != shown[key]}
    )
    if any(
        found.table.get(key) != table.corrections.table.get(key) for key in ("heading_rows", "delimiter", "encoding")
    ):
        return Corrections(sheet=found.sheet, table=found.table)  # its columns may stand elsewhere now
    family = _family(table)
    for column in _columns(table)[0] if family else ():
        values = _shown_of_column(column, table.corrections)
        keys = ("reads", *keys_for(values["reads"], family)) if family else ()
        put = {
            key: text
            for key in keys
            if (text := _text(filled, f"c{column.position}.{key}")) is not None and text != values.get(key, "")
        }
        if put:
            found = found.with_column(column.position, put)
    return found


def _text(filled: MultiDict[str, str], name: str) -> str | None:
    text = filled.get(name)
    return None if text is None else clean(text).strip()[:_LONGEST]


def _family(table: Table) -> Family | None:
    if table.report is not None:
        return families.load(table.report.family)
    if isinstance(table.error, UnsettledTable) and table.error.family:
        return families.load(table.error.family)
    return None


def _columns(table: Table) -> tuple[Sequence[ColumnReading], Sequence[tuple[str, ...]]]:
    if table.report is not None:
        return table.report.columns, table.report.examples
    if isinstance(table.error, UnsettledTable):
        return table.error.columns, table.error.examples
    return (), ()


def _shown_of_table(table: Table) -> dict[str, str]:
    report, family = table.report, _family(table)
    read = {
        "family": family.name if family else "",
        "supplier": report.supplier if report else "",
        "decimal": report.decimal if report else "",
        "delimiter": cells_by(report) if report else "",
        "encoding": report.encoding if report else "",
    }
    return {key: table.corrections.table.get(key, read.get(key, "")) for key in TABLE_KEYS}


def _shown_of_column(column: ColumnReading, corrections: Corrections) -> dict[str, str]:
    said = corrections.columns.get(column.position, {})
    read = {key: str(value) for key, value in entry_of(column).items()}
    return {**({"reads": read["reads"]} if said.get("reads", read["reads"]) != read["reads"] else read), **said}


def _view(
    column: ColumnReading,
    examples: tuple[str, ...],
    corrections: Corrections,
    family: Family,
    wrong: LoadworthyError | None,
) -> ColumnView:
    values = _shown_of_column(column, corrections)
    settled = column.position in corrections.columns
    unheard = settled and values["reads"] != column.reads  # its cells do not read as what was said
    return ColumnView(
        position=column.position,
        heading=column.heading,
        examples=examples,
        told=plain_text(column),
        why="" if settled and not unheard else column.why,
        how="does not go" if wrong or unheard else "said by you" if settled else _HOW[column.certainty],
        wrong=wrong,
        reads=Field(
            name=f"c{column.position}.reads",
            label="read it as",
            value=values["reads"],
            groups=_readings(family, values["reads"], settled=settled),
        ),
        more=tuple(_condition(column.position, key, values, family) for key in keys_for(values["reads"], family)),
    )


def _readings(family: Family, value: str, *, settled: bool) -> Groups:
    own = tuple(
        (one.name, f"{one.title} ({one.symbol})" if one.symbol and one.symbol != one.title else one.title)
        for one in readable(family)
    )
    shared = tuple((one.name, one.title) for one in families.words().columns if one.name != "description")
    first = (("", "as its heading says"),) if settled else ()
    groups: Groups = (("", (*first, ("nothing", "nothing: leave it out"))), (family.title, own), (_SHARED, shared))
    if not any(value == name for _, choices in groups for name, _ in choices):
        known = {one.name: one.title for one in (*family.figures, *families.words().columns)}
        groups = (*groups, ("not kept", ((value, known.get(value, value)),)))
    return groups


def _condition(position: int, key: str, values: Mapping[str, str], family: Family) -> Field:
    label, example = _COLUMN_FIELDS[key]
    value = values.get(key, "")
    words: tuple[str, ...] = ()
    if key == "statistic":
        words = _STATISTICS
    elif key == "place":
        # What no word of a list names is what is not said.
        words = tuple(sorted(family.figure(values["reads"]).places & set(families.words().place.values())))
    elif key == "unit":
        label = "currency" if values["reads"] == "price" else label
        example = "EUR" if values["reads"] == "price" else family.figure(values["reads"]).unit
    choices = tuple((word, word) for word in dict.fromkeys(("", *words, value))) if words else ()
    return Field(
        name=f"c{position}.{key}",
        label=label,
        value=value,
        groups=(("", tuple((word, text or "not said") for word, text in choices)),) if words else (),
        example=example,
    )


def _with_blank(groups: Groups, value: str) -> Groups:
    return groups if value else (("", (("", ""),)), *groups)


def _supplier_help(report: IntakeReport | None) -> str:
    known = {
        "column": "A column names it row by row; this stands where it does not.",
        "file name": "Taken from the file's name: put in who sells it.",
    }
    return known.get(report.supplier_from, "") if report else ""
