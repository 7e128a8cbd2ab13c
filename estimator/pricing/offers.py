"""The items of the estimate in the order in which the customer reads them: jobs, then lines that people filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes.keys import LineRef
from estimator.money import ZERO, add
from estimator.pricing.calls import Call
from estimator.pricing.decisions import AUTHORIZED, DECLINED
from estimator.pricing.extra_lines import ExtraLine, ExtraPart, ExtraWork
from estimator.pricing.job_lines import JobLine
from estimator.pricing.part_lines import PartLine
from estimator.pricing.plan import Plan
from estimator.pricing.rivals import rivals_of

# The boxes of a line that people filled in without which it doesn't count.
_FILLED = {"extra_work": ("hours",), "extra_part": ("quantity", "cost"), "sublet": ("charge",)}
# What parts one remark from another: programs drop a space at which the text of a cell begins.
BESIDE = "\u00a0· "
CHOOSE = " (choose one; the first counts)"


@dataclass(frozen=True)
class JobSum:
    """What the parts of a job line come to, taken or not; `odd` counts parts of another fluid family."""

    line: JobLine
    parts: Decimal
    taxed: Decimal
    tax: Decimal
    core: Decimal
    core_tax: Decimal
    odd: int
    rebuilt: int

    @property
    def ref(self) -> str:
        return self.line.ref


def could_be_instead(plan: Plan, lines: Sequence[JobLine]) -> dict[LineRef, tuple[str, ...]]:
    """Return, for each line that isn't authorized, the titles of the wanted jobs that could be done instead of it."""
    by_ref = {line.ref: line for line in lines}
    found = {}
    for ref, mine in rivals_of(plan).items():
        others = (by_ref[other.ref] for other in mine.apart)
        titles = tuple(other.line.short_title for other in others if 0 < other.decided.claim < AUTHORIZED)
        if titles and by_ref[ref].decided.claim < AUTHORIZED:
            found[ref] = titles
    return found


def either_or(plan: Plan, lines: Sequence[JobLine]) -> dict[LineRef, tuple[str, ...]]:
    """Return the same for the lines that count."""
    counted = {line.ref for line in lines if line.proposed}
    return {ref: titles for ref, titles in could_be_instead(plan, lines).items() if ref in counted}


def instead_words(titles: Sequence[str]) -> str:
    r"""Return titles as they stand behind a reason.

    >>> instead_words(["Reseal pump, system 1"])
    '\xa0· or Reseal pump, system 1'
    """
    return "".join(f"{BESIDE}or {title}" for title in titles)


def job_sums(lines: Sequence[JobLine], parts: Sequence[PartLine]) -> tuple[JobSum, ...]:
    """Return the sums of the parts of each job line."""
    of_line: dict[str, list[PartLine]] = {}
    for part in parts:
        of_line.setdefault(part.line, []).append(part)
    found = []
    for line in lines:
        mine = of_line.get(line.label, [])
        found.append(
            JobSum(
                line,
                add(part.amount for part in mine),
                add(part.amount for part in mine if part.taxed),
                add(part.tax_each for part in mine),
                add(part.core for part in mine),
                add(part.core_tax_each for part in mine),
                sum(part.odd for part in mine),
                sum(part.listed.condition == "rebuilt" for part in mine),
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class Extra:
    """A line that people filled in, by its order among all of them; `rank` is its number on the estimate, 0 for none."""

    order: int
    line: ExtraLine
    rank: int

    @property
    def ref(self) -> str:
        return self.line.row

    @property
    def label(self) -> str:
        return self.line.label

    @property
    def title(self) -> str:
        return self.line.boxes.description

    @property
    def kind(self) -> str:
        return self.line.block

    @property
    def proposed(self) -> int:
        return self.line.proposed

    @property
    def agreed(self) -> int:
        return self.line.agreed

    @property
    def declined(self) -> int:
        boxes = self.line.boxes
        return int(
            boxes.decision == DECLINED and all(isinstance(getattr(boxes, of), float) for of in _FILLED[self.kind])
        )

    @property
    def tax_each(self) -> Decimal:
        """The tax on it, were it taken alone."""
        return self.line.tax.on(self.line.amount, self.line.tax_class)

    @property
    def others_tax(self) -> Decimal:
        """The tax on its core deposit, or on sublet work, alone."""
        return self.line.tax.on(self.core, "core") if self.kind == "extra_part" else self.tax_each

    @property
    def sublet(self) -> Decimal:
        return self.line.amount if self.kind == "sublet" else ZERO

    @property
    def labor(self) -> Decimal:
        return self.line.amount if isinstance(self.line, ExtraWork) else ZERO

    @property
    def parts(self) -> Decimal:
        return self.line.amount if isinstance(self.line, ExtraPart) else ZERO

    @property
    def core(self) -> Decimal:
        return self.line.core if isinstance(self.line, ExtraPart) else ZERO


def extras(lines: Sequence[JobLine], filled_in: Sequence[ExtraLine]) -> tuple[Extra, ...]:
    """Return the lines that people filled in, numbered on from the proposed jobs."""
    number = sum(line.proposed for line in lines)
    found = []
    for order, line in enumerate(filled_in, 1):
        number += line.proposed
        found.append(Extra(order, line, number * line.proposed))
    return tuple(found)


@dataclass(frozen=True)
class Item:
    """An item of the estimate; beyond the last one, an empty row. `line_at` and `extra_at` are its places, or ""."""

    number: int
    job: JobSum | None = None
    extra: Extra | None = None
    line_at: int | str = ""
    extra_at: int | str = ""

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"item {self.number}"

    @property
    def used(self) -> int:
        return int(self.job is not None or self.extra is not None)

    @property
    def title(self) -> str:
        return self.job.line.line.short_title if self.job else self.extra.title if self.extra else ""

    @property
    def call(self) -> Call | None:
        """What calls for it."""
        return self.job.line.decided.call if self.job else None

    @property
    def called_by(self) -> str:
        return self.call.check if self.call else ""

    @property
    def asked(self) -> str:
        return self.job.line.decided.asked if self.job else ""

    @property
    def safety(self) -> str:
        return self.job.line.line.job.safety if self.job else ""

    @property
    def labor(self) -> Decimal:
        return self.job.line.amount_proposed if self.job else self.extra.labor if self.extra else ZERO

    @property
    def parts(self) -> Decimal:
        return self.job.parts if self.job else self.extra.parts if self.extra else ZERO

    @property
    def sublet(self) -> Decimal:
        return self.extra.sublet if self.extra else ZERO

    @property
    def amount(self) -> Decimal:
        return self.labor + self.parts + self.sublet

    @property
    def core(self) -> Decimal:
        return self.job.core if self.job else self.extra.core if self.extra else ZERO

    @property
    def rebuilt(self) -> int:
        return self.job.rebuilt if self.job else 0

    @property
    def agreed(self) -> int:
        return self.job.line.agreed if self.job else self.extra.agreed if self.extra else 0

    @property
    def decision(self) -> str:
        """What was decided of it, as its box holds it."""
        return self.job.line.decided.decision if self.job else self.extra.line.boxes.decision if self.extra else ""


@dataclass(frozen=True)
class Declined:
    """A job or another line that the customer declined, by its place among them; beyond the last one, an empty row."""

    number: int
    job: JobLine | None = None
    extra: Extra | None = None

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"declined {self.number}"

    @property
    def line_at(self) -> int | str:
        return self.job.order if self.job else ""

    @property
    def extra_at(self) -> int | str:
        return self.extra.order if self.extra else ""

    @property
    def title(self) -> str:
        return self.job.line.short_title if self.job else self.extra.title if self.extra else ""

    @property
    def called_by(self) -> str:
        """What calls for it still."""
        return self.job.decided.called_by if self.job else ""


def declined_of(lines: Sequence[JobLine], others: Sequence[Extra], room: int = 0) -> tuple[Declined, ...]:
    """Return what was declined, jobs first; with `room`, so many rows, empty ones after the last."""
    found = [
        Declined(number, job=line) for number, line in enumerate((line for line in lines if line.decided.declined), 1)
    ]
    rest = (extra for extra in others if extra.declined)
    found += [Declined(number, extra=extra) for number, extra in enumerate(rest, len(found) + 1)]
    return (*found[: room or None], *map(Declined, range(len(found) + 1, room + 1)))


def items(sums: Sequence[JobSum], others: Sequence[Extra], room: int = 0) -> tuple[Item, ...]:
    """Return the proposed lines, numbered; with `room`, so many rows, empty ones after the last."""
    jobs = [(at, item) for at, item in enumerate(sums, 1) if item.line.proposed]
    found = [Item(number, job, line_at=at) for number, (at, job) in enumerate(jobs, 1)]
    found += [Item(extra.rank, extra=extra, extra_at=extra.order) for extra in others if extra.rank]
    if not room:
        return tuple(found)
    return (*found[:room], *map(Item, range(len(found) + 1, room + 1)))
