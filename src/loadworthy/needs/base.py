"""What every need is made of: options that describe themselves, and the wishes that all families share."""

from __future__ import annotations

import difflib
import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields
from functools import cached_property
from typing import Any, ClassVar, SupportsFloat

from loadworthy import criteria, quantities
from loadworthy.catalog.currencies import currency_of
from loadworthy.errors import QuantityError, UsageError
from loadworthy.quantities import Measure
from loadworthy.quantities.numbers import decimal_mark_of
from loadworthy.statements import Parameter

__all__ = ["Need", "accepted", "maybe", "measured", "offer_wishes", "option", "outlines", "several", "twelve"]


def option(
    words: str,
    *,
    default: Any = MISSING,  # noqa: ANN401 - each field has its own type
    unit: str | None = None,
    choices: Sequence[str] | None = None,
    example: str | None = None,
) -> Any:  # noqa: ANN401 - as dataclasses.field
    """Make a field of a need that says what a face needs to ask for it.

    Parameters
    ----------
    words
        What it means, in a sentence.
    default
        Its default; a tuple makes it repeatable.
    unit
        The SI unit of its quantity, named as in :func:`loadworthy.quantities.si`.
    choices
        The texts it can be.
    example
        How one writes it.
    """
    metadata = {
        "help": words,
        "unit": unit,
        "choices": tuple(choices) if choices else None,
        "repeatable": isinstance(default, tuple),
        "example": example,
    }
    return field(default=default, metadata=metadata)


@dataclass(frozen=True, kw_only=True)
class Need(ABC):
    """What a part is needed for; each family has its own.

    What all families are asked alike stands here: whose offer, at which price, and which unknowns may pass.
    """

    family: ClassVar[str]
    #: By what the parts that fit are ranked, in words.
    ranked_by: ClassVar[str]
    #: Needs as they are typed, to show in help: the options behind ``loadworthy choose FAMILY``.
    examples: ClassVar[tuple[str, ...]]

    supplier: tuple[str, ...] = option("Only what this supplier offers.", default=(), example="NAME")
    in_stock: bool = option("Only what a supplier has in stock.", default=False)
    max_price: str | None = option("Most that one may cost, with currency.", default=None, example="2.50 EUR")
    prefer_measured: bool = option(
        "Put parts first of which all that was measured and kept is within what they claim.", default=False
    )
    bar_measured_outside: bool = option(
        "Pass over a part of which a kept measurement is outside what it claims.", default=False
    )
    accept: tuple[str, ...] = option(
        "Criterion that may be unknown; the part is then marked.", default=(), example="NAME"
    )

    def __post_init__(self) -> None:
        """Read everything at once, so that a mistake shows where it is made."""
        for one in fields(self):
            choices, given = one.metadata.get("choices"), getattr(self, one.name)
            for word in given if isinstance(given, tuple) else [given]:
                if choices and word is not None and word not in choices:
                    raise UsageError(
                        f"{word!r} is none of {', '.join(choices)}.",
                        where="--" + one.name.replace("_", "-"),
                        way_out=f"Write {' or '.join(choices)}.",
                    )
        self.parameters()

    @property
    @abstractmethod
    def _read(self) -> Mapping[str, float | None]:
        """The need's quantities in SI units, None where one was not given."""

    @property
    @abstractmethod
    def _parameters(self) -> Mapping[str, Parameter]:
        """Every value that the family's query is bound to, in SI units."""

    def parameters(self) -> dict[str, Parameter]:
        """Return every value that the family's query is bound to, in SI units."""
        return dict(self._parameters)

    def _figure(self, name: str) -> float:
        value = self._read[name]
        if value is None:
            raise QuantityError(f"{name} is not given.", way_out="Give it.")
        return value

    def _in_order(self, names: Collection[str]) -> tuple[str, ...]:
        """Put criteria in the order in which the family lists them."""
        return tuple(criterion.name for criterion in self.rules.criteria if criterion.name in names)

    @abstractmethod
    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""

    @abstractmethod
    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""

    @abstractmethod
    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""

    @abstractmethod
    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""

    @abstractmethod
    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""

    @abstractmethod
    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the part."""

    def floor_limit(self, bound: float) -> float:
        """Return the ranking's floor figure above which no part can rank at `bound` or better."""
        del bound
        return math.inf

    def remedy(self, row: Mapping[str, Any]) -> dict[str, float]:
        """Return what would make a near miss fit, by name with its unit; empty where nothing is known.

        ``row["criterion"]`` names what stops the part; nothing else does, but for criteria in the same remedy.
        """
        del row
        return {}

    @property
    def remedied(self) -> frozenset[str]:
        """The criteria for which one and the same remedy may be known."""
        return frozenset()

    @cached_property
    def shared_parameters(self) -> dict[str, Parameter]:
        """The values that every family's query is bound to: the offer asked for, and what may be unknown."""
        return {
            "family": self.family,
            **accepted(self.accept, self.rules),
            **offer_wishes(supplier=self.supplier, in_stock=self.in_stock, max_price=self.max_price),
            "offer_asked": self.asks_for_offer,
        }

    @property
    def asks_for_offer(self) -> bool:
        """Whether supplier, stock or price is asked for."""
        return bool(self.supplier or self.in_stock or self.max_price)

    def shared_json(self) -> dict[str, Any]:
        """Return what all families are asked alike, as plain values."""
        return {
            "supplier": list(self.supplier),
            "in_stock": self.in_stock,
            "max_price": self.max_price,
            "prefer_measured": self.prefer_measured,
            "bar_measured_outside": self.bar_measured_outside,
            "accept": list(self.accept),
        }

    @property
    def rules(self) -> criteria.Rules:
        """What the family's parts are judged on."""
        return criteria.load(self.family)


def measured(
    name: str,
    measure: Measure | float | None,
    unit: str,
    *,
    above: float = -math.inf,
    least: float = -math.inf,
    most: float = math.inf,
) -> float:
    """Read one quantity of a need and hold it against what it can be.

    Raises
    ------
    QuantityError
        It is no such quantity, or cannot be.
    """
    where = "--" + name.replace("_", "-")
    if isinstance(measure, float) or measure is None:
        raise QuantityError("a number without a unit.", where=where, way_out="Give it as text with its unit.")
    try:
        value = quantities.si(measure, unit)
    except QuantityError as error:
        raise QuantityError(error.message, where=where, way_out=error.way_out) from error
    bounds: list[tuple[bool, Callable[[], str]]] = [
        (value > above, lambda: f"must be above {quantities.show(above, unit)}"),
        (value >= least, lambda: f"must be at least {quantities.show(least, unit)}"),
        (value <= most, lambda: f"must be at most {quantities.show(most, unit)}"),
    ]
    for kept, rule in bounds:
        if not kept:
            raise QuantityError(
                f"{quantities.show(value, unit)} cannot be: it {rule()}.",
                where=where,
                way_out="Check it and its unit.",
            )
    return value


def maybe(name: str, measure: Measure | None, unit: str, **bounds: float) -> float | None:
    """Read a quantity that may be left out, as :func:`measured` reads one that may not."""
    return None if measure is None else measured(name, measure, unit, **bounds)


def twelve(value: SupportsFloat) -> float:
    """Round to twelve significant digits, so that 1.1 × 3 V asks for 3.3 V and not for a hair more.

    Examples
    --------
    >>> 1.1 * 3.0, twelve(1.1 * 3.0)
    (3.3000000000000003, 3.3)
    """
    return float(f"{float(value):.12g}")


def outlines(texts: Sequence[str]) -> tuple[str, ...]:
    """Find the outlines that the texts mean.

    Raises
    ------
    UsageError
        One means none; the error names those that look like it.
    """
    found: list[str] = []
    for text in several("package", texts):
        from loadworthy.catalog import packages  # noqa: PLC0415 - only where a package is asked for

        name = packages.canonical(text)
        if name is None:
            near = packages.near_names(text)
            raise UsageError(
                f"{text!r} is no package that Loadworthy knows.",
                where="--package",
                way_out=f"Did you mean {' or '.join(near)}?" if near else "Name an outline such as TO-220.",
            )
        found.append(name)
    return tuple(dict.fromkeys(found))


def several(name: str, texts: Sequence[str]) -> Sequence[str]:
    """Return the texts of an option that may stand several times.

    Raises
    ------
    UsageError
        It is one text, whose letters would else be taken for the texts.
    """
    if isinstance(texts, str):
        raise UsageError(
            f"{texts!r} is one text where several may stand.",
            where="--" + name.replace("_", "-"),
            way_out=f"Write ({texts!r},).",
        )
    return texts


def offer_wishes(*, supplier: Sequence[str], in_stock: bool, max_price: str | None) -> dict[str, Parameter]:
    """Return the parameters that say what one and the same offer must meet.

    Raises
    ------
    UsageError
        The price has no currency, or is none.
    """
    price, currency = _price(max_price)
    suppliers = tuple(name.strip().lower() for name in several("supplier", supplier))
    return {
        "supplier": suppliers,
        "supplier_count": len(suppliers),
        "in_stock": bool(in_stock),
        "max_price": price,
        "currency": currency,
    }


def _price(text: str | None) -> tuple[float | None, str | None]:
    if text is None:
        return None, None
    from loadworthy.catalog.offers import Prices, read_price  # noqa: PLC0415 - only where a price is asked for

    currency = currency_of(text)
    read = read_price(text, decimal=decimal_mark_of("".join(c for c in text if c in "0123456789.,")) or ".")
    if currency is None or not isinstance(read, Prices) or len(read.breaks) != 1:
        raise UsageError(
            f"{text!r} is no price with its currency.",
            where="--max-price",
            way_out="Write it like 2.50 EUR.",
        )
    return read.breaks[0][1], currency


def accepted(names: Sequence[str], rules: criteria.Rules) -> dict[str, Parameter]:
    """Return one parameter a criterion: whether its unknown may pass.

    Raises
    ------
    UsageError
        There is no such criterion.
    """
    known = [criterion.name for criterion in rules.criteria]
    for name in several("accept", names):
        if name not in known:
            near = difflib.get_close_matches(name, known, n=2)
            raise UsageError(
                f"{name!r} is no criterion.",
                where="--accept",
                way_out=f"Did you mean {' or '.join(near)}?" if near else f"It is one of {', '.join(known)}.",
            )
    return {f"let_{name}": name in names for name in known}
