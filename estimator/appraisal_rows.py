"""Rows that an appraisal gives to the tabs: plain data with the names of the columns."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimator.limits.driving import Standing
from estimator.limits.working import Si
from estimator.pricing.job_lines import JobLine
from estimator.pricing.totals import TaxShare
from estimator.records import EntryValue

OFFERS = 30
CONCERNS = 12
TAX_CLASSES = ("labor", "parts", "supplies", "disposal", "sublet", "core")


@dataclass(frozen=True)
class Bracket:
    ref: str
    label: str
    over: Decimal
    percent: Decimal
    floor: Decimal


@dataclass(frozen=True)
class TaxPartRow:
    """A jurisdiction's percentage and its part of the tax in both cases."""

    order: int
    label: str
    percent: Decimal
    agreed: TaxShare
    proposed: TaxShare

    @property
    def ref(self) -> str:
        return f"t{self.order}"


@dataclass(frozen=True)
class Offer:
    """A line of the estimate that the customer reads; beyond the last proposed one, an empty row."""

    number: int
    line: JobLine | None
    parts: Decimal | str
    core: Decimal | str
    rebuilt: int

    @property
    def condition(self) -> str:
        if self.rebuilt:
            return "some rebuilt"
        return "new" if isinstance(self.parts, Decimal) and self.parts > 0 else ""

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"item {self.number}"


@dataclass(frozen=True)
class Figure:
    """A named figure of the Summary."""

    ref: str
    label: str
    value: str | int | Decimal


@dataclass(frozen=True)
class Balance:
    debit: Decimal
    credit: Decimal

    ref = "all"
    label = "all lines"

    @property
    def out(self) -> Decimal:
        return self.debit - self.credit


@dataclass(frozen=True)
class Concern:
    """A check that keeps the car off the road, by its place among them."""

    number: int
    standing: Standing | None

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"concern {self.number}"


@dataclass(frozen=True)
class Reserve:
    """The gauge pressure of each system after a number of applications; its lamp and its secondary pressure."""

    number: int
    after: tuple[Si, ...]
    lamp: tuple[Si, ...]
    secondary: tuple[Si, ...]

    @property
    def ref(self) -> str:
        return f"after-{self.number}"

    @property
    def label(self) -> str:
        return f"after {self.number}" if self.number else "at cut-out"


@dataclass(frozen=True)
class Stopping:
    """A failure state: the deceleration reached and what is to spare over what the yardstick asks for."""

    scope: str
    road: Si
    spare: Si

    @property
    def ref(self) -> str:
        return self.scope

    @property
    def label(self) -> str:
        return self.scope.removeprefix("braking-").replace("-", " ")

    @property
    def figure(self) -> str:
        return self.scope.replace("-", " ")

    @property
    def asked(self) -> Si:
        return "" if isinstance(self.road, str) or isinstance(self.spare, str) else self.road - self.spare


@dataclass(frozen=True)
class TaxClassRow:
    label: str
    taxed: int

    @property
    def ref(self) -> str:
        return self.label


@dataclass(frozen=True)
class Visit:
    """When and by whom the readings of a phase were taken."""

    ref: str
    label: str
    date: EntryValue
    by: EntryValue
    day: int
