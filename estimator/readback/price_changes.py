"""What changed in price between two appraisals of a document, line by line, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.money import ZERO, add
from estimator.pricing.calls import because
from estimator.pricing.decisions import DECLINED, UNDECIDED
from estimator.pricing.job_lines import JobLine
from estimator.pricing.part_lines import PartLine
from estimator.pricing.totals import AnyPart

_SHARED = "hours in this visit"


@dataclass(frozen=True)
class Priced:
    """A line of the quote: its amount, and what it rests on, in words by name. `there` says why it is in the quote."""

    title: str
    amount: Decimal
    rests_on: Mapping[str, str] = field(default_factory=dict)
    there: str = ""


@dataclass(frozen=True)
class PriceChange:
    title: str
    before: Decimal
    after: Decimal
    why: str

    @property
    def difference(self) -> Decimal:
        return self.after - self.before


def price_changes(before: Appraisal, after: Appraisal) -> tuple[PriceChange, ...]:
    """Every line of the quote (all that is proposed) whose amount differs; differences add up to that of the totals."""
    old, new = (dict(_priced(appraisal)) for appraisal in (before, after))
    found = []
    for ref in dict.fromkeys((*old, *new)):
        was, now = old.get(ref), new.get(ref)
        amounts = (was.amount if was else ZERO, now.amount if now else ZERO)
        if amounts[0] != amounts[1]:
            title = (now or was).title  # type: ignore[union-attr]
            why = _why(was, now) if now else _why_gone(ref, after)
            found.append(PriceChange(title, *amounts, why))
    return tuple(found)


def _why_gone(ref: str, after: Appraisal) -> str:
    """Why a line isn't in the quote any more."""
    if not keys.is_line(ref):
        return "its job is no longer on the estimate"
    decided = next((item for item in after.decisions.decided if keys.row("line", item.line.ref) == ref), None)
    if decided is None:
        return "the labor tables or the car no longer have this job"
    if decided.decision == DECLINED:
        return "declined"
    return "included in another job" if decided.included_proposed else "no longer requested or recommended"


def _why(was: Priced | None, now: Priced) -> str:
    if was is None:
        return f"new: {now.there}"
    differ = {
        name: f"{name} {was.rests_on.get(name, 'none')} → {now.rests_on.get(name, 'none')}"
        for name in dict.fromkeys((*was.rests_on, *now.rests_on))
        if was.rests_on.get(name) != now.rests_on.get(name)
    }
    if _SHARED in differ and len(differ) == 1:
        return f"{differ[_SHARED]}: shared steps"
    return "; ".join(differ.values()) or "result of the changes above"


def _priced(appraisal: Appraisal) -> Iterator[tuple[str, Priced]]:
    for line in appraisal.labor.lines:
        if line.proposed:
            yield keys.row("line", line.ref), _labor(appraisal, line)
    for work in appraisal.extra_work:
        typed = work.boxes
        rests = {"decision": typed.decision or UNDECIDED, "hours": f"{typed.hours}", "rate": f"{work.rate} an hour"}
        yield (
            work.row,
            Priced(work.title, work.amount_proposed, rests, "extra work"),
        )
    parts: tuple[AnyPart, ...] = (*appraisal.parts, *appraisal.extra_parts)
    for part in parts:
        if part.proposed:
            yield from _part(part)
    for sublet in appraisal.sublet:
        rests = {"decision": sublet.boxes.decision or UNDECIDED, "charge": f"{sublet.boxes.charge}"}
        yield sublet.row, Priced(sublet.title, sublet.amount_proposed, rests, "sublet work")
    yield from _fees(appraisal)


def _labor(appraisal: Appraisal, line: JobLine) -> Priced:
    rests = {"rate": f"{line.rate} an hour", "quoted on": f"{line.basis} hours"}
    for planned, step in appraisal.plan.uses:
        if planned.ref == line.ref:
            row = step.step
            where = f", {step.place.title}" if step.place.kind != "car" else ""
            rests[f'step "{row.title}"{where}'] = f"{row.hours_low:g}/{row.hours_likely:g}/{row.hours_high:g} hr"
    rests[_SHARED] = f"{line.share_proposed:.3f}"
    called = line.decided.called_by
    there = f"recommended {because(called)}" if called else "requested" if line.line.asked else "authorized"
    return Priced(line.line.title, line.amount_proposed, rests, there)


def _part(part: AnyPart) -> Iterator[tuple[str, Priced]]:
    cost, deposit, of_job = (
        (part.cost, f"{part.deposit_each}", f"for {part.planned.line.title}")
        if isinstance(part, PartLine)
        else (part.cost_counted, f"{part.boxes.deposit}", "extra part")
    )
    row, quantity = part.row, f"{part.quantity if isinstance(part, PartLine) else part.boxes.quantity}"
    rests = {"quantity": quantity, "cost": f"{cost}", "price": f"{part.price}"}
    yield row, Priced(part.title, part.amount_proposed, rests, of_job)
    rests = {"quantity": quantity, "core deposit": deposit}
    yield keys.row("core", row), Priced(f"core deposit, {part.title}", part.core_proposed, rests, of_job)


def _fees(appraisal: Appraisal) -> Iterator[tuple[str, Priced]]:
    shop, totals, entries = appraisal.record.shop, appraisal.proposed, appraisal.entries
    fees, tax = shop.fees, shop.tax
    rests: dict[str, dict[str, str]] = {
        "supplies": {"percent of labor": f"{fees.supplies_percent_of_labor}", "at most": f"{fees.supplies_cap}"},
        "disposal": {
            "a liter": f"{fees.disposal_per_liter}",
            "liters": f"{entries.disposal['drained'].liters or 0.0}",
        },
        "discount_labor": {"percent": f"{entries.discounts['labor'].percent or 0.0}"},
        "discount_parts": {"percent": f"{entries.discounts['parts'].percent or 0.0}"},
        "tax": {
            "rate": f"{add(part.percent for part in tax.parts)} %",
            "taxed": ", ".join(tax.taxed),
            "reckoned by": tax.scope,
        },
    }
    titles = {row.ref: row.title for row in appraisal.totals}
    for name, facts in rests.items():
        yield keys.row("total", name), Priced(titles[name], totals[name], facts)
