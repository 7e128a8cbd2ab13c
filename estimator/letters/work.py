"""The work, job by job: why it is here, what declining it means, what it costs, its parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.letters.formats import grouped, listing, number
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import CLOSE, COULD_NOT, COULD_NOT_CHECK, FAULT, OUTSIDE
from estimator.money import ZERO
from estimator.pricing.calls import POINTED
from estimator.pricing.decisions import AGREED, DECLINED, DONE
from estimator.pricing.extra_lines import ExtraPart, SubletLine
from estimator.pricing.job_lines import JobLine
from estimator.pricing.offers import Declined, either_or
from estimator.pricing.offers import Extra as Numbered
from estimator.pricing.part_lines import PartLine
from estimator.workbook.tabs.declined import NOT_CALLED
from estimator.workbook.tabs.offers import customer_words

OPEN = "awaiting your decision"
# Verdicts that call for work.
_CALLING = (OUTSIDE, CLOSE, FAULT, COULD_NOT, COULD_NOT_CHECK)


@dataclass(frozen=True)
class Part:
    """A part as the customer pays it. `in_place_of`, `compared` and `approved_by` tell of a substitute."""

    quantity: str
    description: str
    condition: str
    amount: Decimal
    core: Decimal
    in_place_of: str = ""
    compared: str = ""
    approved_by: str = ""


@dataclass(frozen=True)
class Item:
    """A recommended job. `why` and `declining` are sentences; `grounds`: declined, it leaves a fault with which the car must
    not be driven; `done` says whether it is done already."""

    number: int
    title: str
    decision: str
    why: str
    declining: str
    grounds: bool
    instead: tuple[str, ...]
    alone: Decimal
    labor: Decimal
    saves: Decimal
    parts: tuple[Part, ...]
    done: bool

    @property
    def open(self) -> bool:
        return self.decision == OPEN

    @property
    def parts_amount(self) -> Decimal:
        return sum((part.amount for part in self.parts), ZERO)

    @property
    def core_amount(self) -> Decimal:
        return sum((part.core for part in self.parts), ZERO)


@dataclass(frozen=True)
class Extra:
    """Work, a part or sublet work beside the jobs."""

    number: int
    label: str
    description: str
    detail: str
    decision: str
    amount: Decimal
    core: Decimal
    supplier: str = ""

    @property
    def open(self) -> bool:
        return self.decision == OPEN


@dataclass(frozen=True)
class Refused:
    """What was declined. `left` says what stays as it was found."""

    title: str
    safety: bool
    why: str
    left: str


def items(appraisal: Appraisal) -> tuple[Item, ...]:
    """Every proposed job, numbered as on the Estimate tab."""
    calls = reasons(appraisal)
    proposed = [line for line in appraisal.labor.lines if line.proposed]
    others = either_or(appraisal.plan, appraisal.labor.lines)
    mine = grouped((part.line, part) for part in appraisal.parts if part.proposed and (part.amount or part.core))
    return tuple(
        Item(
            line.rank,
            line.line.title,
            _decision(line),
            _why(line, calls.get(line.label, NO_REASON)),
            "" if line.decided.done else _declining(line),
            line.line.job.safety == "yes" and any(item.concern for item in calls.get(line.label, NO_REASON).findings),
            others.get(line.ref, ()),
            line.amount_alone,
            line.amount_proposed,
            line.saves_labor,
            tuple(_part(part) for part in mine.get(line.label, ())),
            bool(line.decided.done),
        )
        for line in proposed
    )


def refused(appraisal: Appraisal) -> tuple[Refused, ...]:
    """What was declined, as on the Estimate tab."""
    calls = reasons(appraisal)

    def of(item: Declined) -> Refused:
        if item.job is None:
            return Refused(item.title, False, "", NOT_CALLED)
        reason = calls.get(item.job.label, NO_REASON)
        return Refused(item.job.line.title, item.job.line.job.safety == "yes", _why(item.job, reason), _left(reason))

    return tuple(map(of, appraisal.declined))


def extras(appraisal: Appraisal) -> tuple[Extra, ...]:
    """Proposed lines beside the jobs: further work, further parts, sublet work."""
    return tuple(map(_extra, (extra for extra in appraisal.extras if extra.rank)))


def _extra(extra: Numbered) -> Extra:
    line = extra.line
    detail = supplier = ""
    core = ZERO
    if isinstance(line, ExtraPart):
        typed, core = line.boxes, line.core_proposed
        if isinstance(typed.quantity, float):
            detail = ", ".join(
                part for part in (_quantity(typed.quantity, typed.unit).strip(" ()"), typed.condition) if part
            )
    elif isinstance(line, SubletLine):
        detail, supplier = "sublet to another shop", line.boxes.supplier
    elif isinstance(line.boxes.hours, float):
        detail = f"{number(line.boxes.hours)} hr of labor"
    decision = AGREED if line.agreed else OPEN
    return Extra(extra.rank, line.label, line.boxes.description, detail, decision, line.amount_proposed, core, supplier)


@dataclass(frozen=True)
class Reason:
    """What calls for a job: causes with the checks that point to each, and verdicts with the checks that have them."""

    causes: tuple[tuple[str, tuple[Standing, ...]], ...] = ()
    verdicts: tuple[tuple[str, Standing], ...] = ()

    @property
    def findings(self) -> tuple[Standing, ...]:
        pointing = (item for _, items in self.causes for item in items)
        return (*pointing, *(item for _, item in self.verdicts))


NO_REASON = Reason()


def reasons(appraisal: Appraisal) -> Mapping[str, Reason]:
    """The reason of each line by its label; a line that was decided on keeps what called for it."""
    active = grouped((call.line, call) for call in appraisal.calls if call.active)
    found = {}
    for line in appraisal.labor.lines:
        of_line, causes, verdicts = active.get(line.label, ()), [], []
        for call in of_line:
            items = tuple(map(appraisal.standing_of.__getitem__, call.findings))
            if call.caller is not None:
                causes.append((call.caller.cause.pointed_to, items))
            else:
                verdicts += [(call.said, item) for item in items]
        decided = line.decided.decision in (AGREED, DECLINED) or line.decided.done
        if decided and not line.line.asked and not causes:
            was = (appraisal.standing_of[ref] for ref in appraisal.past.get(line.label, ()))
            verdicts += [
                (item.before.verdict if item.before.verdict in _CALLING else item.after.verdict, item) for item in was
            ]
        pointing = {item.ref for _, items in causes for item in items}
        own = dict.fromkeys((said, item) for said, item in verdicts if item.ref not in pointing)
        found[line.label] = Reason(tuple(causes), tuple(own))
    return found


def _decision(line: JobLine) -> str:
    if line.decided.done:
        return f"{AGREED} and {DONE}" if line.agreed else DONE
    return AGREED if line.agreed else OPEN


def _why(line: JobLine, reason: Reason) -> str:
    reasons = ["you requested it"] if line.line.asked else []
    reasons += [f"the {POINTED} {cause}" for cause, _ in reason.causes]
    reasons += _told(reason.verdicts)
    if not reasons:
        return "Recommended by the shop."
    return f"Reason: {'; '.join(reasons)}."


def _told(found: Iterable[tuple[str, Standing]]) -> list[str]:
    """What is wrong with checks in the words of the Estimate, each with all of its places."""
    told = []
    for verdict, checks in grouped(found).items():
        for check, items in grouped((item.row.check, item) for item in checks).items():
            places = listing(item.row.place.title for item in items if item.row.place.kind != "car")
            where = f", {places}" if places else ""
            told.append(customer_words(check.title + where, verdict, (check.told or check.title) + where))
    return told


def _declining(line: JobLine) -> str:
    return "Safety work." if line.line.job.safety == "yes" else "Not safety work."


def _left(reason: Reason) -> str:
    """What a declined job leaves in the car, and whether that keeps it off the road."""
    off = [item for item in reason.findings if item.concern]
    rest = [item for item in reason.findings if not (item.good and item.made_after)]
    if not reason.findings:
        return NOT_CALLED
    said = "; ".join(_told((item.latest, item) for item in off or rest))
    if off:
        return f"Left as found, and the car must not be driven: {said}."
    return f"Left as found: {said}." if rest else "The checks behind it were repeated and are good."


def _part(line: PartLine) -> Part:
    row, typed = line.listed, line.boxes
    quantity = _quantity(typed.quantity, row.unit) if isinstance(typed.quantity, float) else ""
    return Part(
        quantity,
        line.title,
        row.condition,
        line.amount_proposed,
        line.core_proposed,
        row.description if typed.substitute else "",
        typed.compared if typed.substitute else "",
        typed.approved_by if typed.substitute else "",
    )


def _quantity(value: float, unit: str) -> str:
    """How many, in brackets behind what it is; nothing for one piece.

    >>> _quantity(2.0, "each"), _quantity(2.0, "kit"), _quantity(4.5, "L"), _quantity(1.0, "each")
    (' (2)', ' (2\\xa0kits)', ' (4.5\\xa0L)', '')
    """
    if unit in ("each", ""):
        return "" if value == 1 else f" ({number(value)})"
    return f" ({number(value)}\u00a0{unit}{'s' if unit in ('kit', 'set') and value != 1 else ''})"
