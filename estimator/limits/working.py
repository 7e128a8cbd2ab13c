"""Workings: each computed figure as a row that a person with a calculator can redo.

A row holds its symbol, what it is, its one computation as an expression over other rows, and the value that this gives.
The Limits tab turns the expression into a live formula, `estimator limits` into symbols and numbers. In an expression,
`{name}` is a row of the same scope, `{scope:name}` a row of another, `{datum.ref}` a datum of the car on Basis,
`{fact.id}` a published number on Basis, and a full key (`{judging.precharge.accumulator-1.si_before}`) any other cell.

A datum that car.toml doesn't give stands as a row that holds words, and so does every row that names it: each knows
what it needs.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from estimator.limits.constants import CONSTANTS
from estimator.limits.expressions import parse
from estimator.limits.needs import Need
from estimator.limits.row_table import CANNOT, Row, dispensable, written
from estimator.limits.sheet_functions import SheetError
from estimator.quantities import UNITS, Quantity, from_si
from estimator.records import JobRecord

_NAME = re.compile(r"\{([^{}]+)\}")
Si = float | str
_CONSTANTS = {f"constant.{item.ref}.value": item.value for item in CONSTANTS}


@dataclass(frozen=True)
class Datum:
    """One datum of the car as Basis shows it: as written, with the way to SI."""

    ref: str
    label: str
    quantity: Quantity
    source: str

    @property
    def value(self) -> float:
        return self.quantity.value

    @property
    def unit(self) -> str:
        return self.quantity.unit

    @property
    def factor(self) -> float:
        return self.quantity.factor

    @property
    def offset(self) -> float:
        return self.quantity.offset

    @property
    def si(self) -> float:
        return self.quantity.si


@dataclass(frozen=True)
class Missing:
    """A datum that car.toml doesn't give, as Basis shows it: words in place of a number, and where it would stand."""

    ref: str
    label: str
    need: Need
    si: str = CANNOT


@dataclass(frozen=True)
class WorkingRow:
    """A named figure. `si` is a number, or words where it can't be had; `shown` is the same in the shop's unit. `needs`
    are the data for want of which it can't be had, unless a reading takes the place of one; no reading changes them."""

    scope: str
    name: str
    symbol: str
    title: str
    si: Si
    expression: str
    bare: str
    unit: str
    source: str
    status: str
    valid: str
    needs: frozenset[Need] = frozenset()

    @property
    def ref(self) -> str:
        return f"{self.scope}.{self.name}"

    @property
    def label(self) -> str:
        place = self.scope.replace("-", " ")
        return f"{self.symbol}, {place}"

    @property
    def given(self) -> bool:
        """Whether it is a datum, a published number or a constant as it stands elsewhere."""
        return _NAME.fullmatch(self.bare) is not None

    def in_symbols(self, symbols: Mapping[str, str]) -> str:
        """The computation with a symbol in place of each key; one of this row's own scope needs no place beside it."""
        place = self.scope.replace("-", " ")

        def symbol(match: re.Match[str]) -> str:
            text = symbols.get(match[1], match[1])
            return text.removesuffix(f" [{place}]").removesuffix(f", {place}").replace(f", {place}, ", ", ")

        return _NAME.sub(symbol, self.bare)

    @property
    def factor(self) -> float:
        return UNITS[self.unit].factor

    @property
    def offset(self) -> float:
        return UNITS[self.unit].offset

    @property
    def shown(self) -> Si:
        return from_si(self.si, self.unit) if isinstance(self.si, int | float) else self.si


@dataclass
class Workings:
    """All working rows of a record, and the data and facts that they rest on, in the order in which they arose."""

    record: JobRecord
    data: dict[str, Datum] = field(default_factory=dict)
    missing: dict[str, Missing] = field(default_factory=dict)
    rows: dict[str, WorkingRow] = field(default_factory=dict)
    readings: dict[str, Si] = field(default_factory=dict)
    built: set[tuple[str, ...]] = field(default_factory=set)

    def scope(self, name: str) -> Scope:
        return Scope(self, name)

    def si(self, ref: str) -> Si:
        return self.rows[ref].si

    def at(self, key: str) -> Si:
        """The SI value of a key that an expression names. Raises KeyError where there is none."""
        block, _, ref = key.partition(".")
        if block == "working":
            return self.rows[ref.removesuffix(".si")].si
        if block == "datum":
            return self.data[ref.removesuffix(".si")].si
        if block == "missing":
            return self.missing[ref.removesuffix(".si")].si
        if block == "fact":
            return self.record.fact(ref.removesuffix(".si")).si
        return _CONSTANTS[key] if block == "constant" else self.readings[key]

    def needs(self, key: str) -> frozenset[Need]:
        """The data for want of which a key of an expression holds words."""
        row = self.rows.get(key.removeprefix("working.").removesuffix(".si"))
        return row.needs if row is not None else frozenset()

    @property
    def symbols(self) -> dict[str, str]:
        """What stands for each key in words and formulas that people read: symbol and, in brackets, place."""
        found = {f"working.{ref}.si": f"{row.symbol} [{row.scope.replace('-', ' ')}]" for ref, row in self.rows.items()}
        found |= {key: _reading_words(key) for key in self.readings}
        found |= {f"datum.{ref}.si": datum.label for ref, datum in self.data.items()}
        found |= {f"missing.{ref}.si": datum.label for ref, datum in self.missing.items()}
        found |= {f"fact.{fact.id}.si": fact.id for fact in self.record.facts}
        found |= {f"constant.{item.ref}.value": f"{item.value:.10g}" for item in CONSTANTS}
        return found


@dataclass(frozen=True)
class Scope:
    """The rows of one place (`accumulator-1`) or one subject (`braking`)."""

    workings: Workings
    name: str

    def show(self, kind: str) -> str:
        """The unit in which the shop shows a kind of quantity; a unit's own name stands for itself."""
        return kind if kind in UNITS else getattr(self.workings.record.shop.show, kind)

    def add(self, table: Iterable[Row], **given: str) -> None:
        """Add the rows of a table; `given` fills in each `$name` of their texts.

        Raises ValueError for a row that stands already, a name that no row, datum, fact or constant has, and a formula
        that doesn't parse or shows an error.
        """
        for row in table:
            self._add(row, given)

    def _add(self, row: Row, given: Mapping[str, str]) -> None:
        made = written(row, self.name, tuple(given.items()))
        lacking = [key for key in parse(made.expression).names if self.workings.needs(key)]
        firm, without = lacking, dispensable(row, self.name, given)
        if lacking:
            firm = [key for key in lacking if key not in without]
            made = written(row, self.name, tuple(given.items()), tuple(firm))
        none_left = without <= set(lacking)
        needs = [self.workings.needs(key) for key in (lacking if none_left else firm)]
        value = self._worked_out(made.name, made.expression)
        self._put(
            WorkingRow(
                scope=self.name,
                name=made.name,
                symbol=made.symbol,
                title=made.title,
                si=value,
                expression=made.expression,
                bare=made.bare,
                unit=self.show(made.unit),
                source=made.source,
                status=made.status,
                valid=made.valid,
                needs=frozenset().union(*needs),
            )
        )

    def _worked_out(self, name: str, expression: str) -> Si:
        parsed = parse(expression)
        values: dict[str, Si] = {}
        for key in parsed.names:
            try:
                values[key] = self.workings.at(key)
            except KeyError:
                raise ValueError(f"the working row {self.name}.{name} names {key}, which stands nowhere yet") from None
        try:
            value = parsed.value(values)
            return value if isinstance(value, str) else float(value)
        except SheetError as error:
            raise ValueError(f"the working row {self.name}.{name} shows an error: {error}") from None

    def _put(self, row: WorkingRow) -> None:
        if row.ref in self.workings.rows:
            raise ValueError(f"the working row {row.ref} stands twice")
        self.workings.rows[row.ref] = row

    def datum(
        self,
        name: str,
        symbol: str,
        title: str,
        quantity: Quantity | None,
        unit: str,
        source: str = "car file",
        status: str = "maker",
        key: str = "",
        where: str = "",
    ) -> None:
        """A datum of the car, put on Basis, as a row here.

        Should it be missing, `key` is its table and key in car.toml, and `where` its place, this scope if left out.
        """
        ref = f"{self.name}.{name}"
        label = f"{title}, {self.name.replace('-', ' ')}"
        if quantity is None:
            need = Need.of(key, where or self.name)
            self.workings.missing[ref] = Missing(ref, label, need)
            missing = f"{{missing.{ref}.si}}"
            self._shown(name, symbol, title, CANNOT, missing, unit, source, status, frozenset([need]))
            return
        self.workings.data[ref] = Datum(ref, label, quantity, source)
        self._shown(name, symbol, title, quantity.si, f"{{datum.{ref}.si}}", unit, source, status)

    def fact(self, fact_id: str, symbol: str, unit: str, name: str = "") -> None:
        """A published number as a row here."""
        fact = self.workings.record.fact(fact_id)
        source = f"{fact.source}, {fact.clause}" if fact.clause else fact.source
        title = f"{fact.title} ({fact.kind})" if fact.kind.startswith("reference value") else fact.title
        self._shown(name or fact_id, symbol, title, fact.si, f"{{fact.{fact_id}.si}}", unit, source, fact.status)

    def _shown(
        self,
        name: str,
        symbol: str,
        title: str,
        si: Si,
        key: str,
        unit: str,
        source: str,
        status: str,
        needs: frozenset[Need] = frozenset(),
    ) -> None:
        """A number that stands on Basis, again as a row."""
        shown = self.show(unit)
        self._put(WorkingRow(self.name, name, symbol, title, si, key, key, shown, source, status, "", needs))


def _reading_words(key: str) -> str:
    """A reading's key as people say it.

    >>> _reading_words("judging.hold-start.system-1.gauge_u_before")
    'u of the gauge [hold start, system 1, before]'
    """
    reference, _, column = key.removeprefix("judging.").rpartition(".")
    what, _, phase = column.rpartition("_")
    said = ", ".join(part.replace("-", " ") for part in reference.split("."))
    return f"{'reading' if what == 'si' else 'u of the gauge'} [{said}, {phase}]"


def names_in(expression: str) -> Iterator[str]:
    """The keys that an expression names, in order."""
    return (match[1] for match in _NAME.finditer(expression))
