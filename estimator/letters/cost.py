"""What it costs: the totals, how fees and tax come about, until when it holds, and what was consented to."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.letters.formats import amount, capital, day, listing, number
from estimator.pricing.consents import Consent
from estimator.pricing.disposal import drained_liters
from estimator.pricing.money_lines import CASES, TAX_CLASSES

_TITLES = {
    "labor": "labor",
    "parts": "parts",
    "sublet": "sublet work",
    "supplies": "shop supplies",
    "disposal": "fluid disposal",
    "core": "core deposits",
    "discount_labor": "discount on labor",
    "discount_parts": "discount on parts",
    "net": "before tax",
    "tax": "tax",
    "total": "total",
}
_TAX = {"sales": "Sales tax", "vat": "VAT", "none": ""}
_ALWAYS = ("labor", "parts", "net", "tax", "total")
_CASE_WORDS = {"agreed": "authorized to date", "proposed": "all recommended work"}


@dataclass(frozen=True)
class Line:
    """A row of the totals, an amount for each case that is shown; `sub` for a part of the row above."""

    title: str
    amounts: tuple[Decimal, ...]
    ref: str
    sub: bool = False


@dataclass(frozen=True)
class Cost:
    cases: tuple[str, ...]
    lines: tuple[Line, ...]
    total: Decimal
    supplies: str
    disposal: str
    taxed: str
    tax_source: str
    valid_until: str
    valid_days: int


def cost(appraisal: Appraisal) -> Cost:
    """The totals that the customer reads: agreed and proposed side by side where they differ."""
    agreed, proposed = appraisal.agreed["total"], appraisal.proposed["total"]
    if dict(appraisal.agreed) == dict(appraisal.proposed):
        cases: tuple[str, ...] = ("agreed",)
    else:
        cases = CASES if agreed else ("proposed",)
    record = appraisal.record
    fees, tax, job, dates = record.shop.fees, record.shop.tax, record.job, record.shop.show.dates
    classes = [name for name in TAX_CLASSES if appraisal.tax.is_taxed(name)]
    percent = _percent(sum((part.percent for part in tax.parts), Decimal(0)))
    valid_days = record.shop.estimate.valid_days
    return Cost(
        tuple(_CASE_WORDS[case] if len(cases) > 1 or case == "proposed" else "authorized" for case in cases),
        tuple(_lines(appraisal, cases)),
        agreed if cases == ("agreed",) else proposed,
        _supplies(fees.supplies_percent_of_labor, fees.supplies_cap, record.shop.shop.currency)
        if fees.supplies_percent_of_labor
        else "",
        _disposal(appraisal) if fees.disposal_per_liter else "",
        f"{_TAX[tax.kind]} of {percent} applies to {listing(_class_words(name) for name in classes)}."
        if classes and tax.kind != "none"
        else "",
        f"{tax.source}, as in force from {day(tax.in_force_from, dates)}" if classes and tax.kind != "none" else "",
        day(job.date + dt.timedelta(days=valid_days), dates),
        valid_days,
    )


def _lines(appraisal: Appraisal, cases: tuple[str, ...]) -> list[Line]:
    found = []
    for row in appraisal.sums:
        amounts = tuple(getattr(row, case) for case in cases)
        if row.ref not in _ALWAYS and not any(amounts):
            continue
        if row.ref == "tax" and len(appraisal.tax_parts) > 1:
            for part in appraisal.tax_parts:
                shares = tuple(getattr(part, case).share for case in cases)
                found.append(Line(f"{part.label}, {_percent(part.percent)}", shares, part.ref, sub=True))
        found.append(Line(capital(_TITLES[row.ref]), amounts, row.ref))
    return found


def _percent(value: Decimal) -> str:
    return f"{number(float(value))}%"


def _supplies(percent: Decimal, cap: Decimal, currency: str) -> str:
    most = f", at most {amount(cap, currency)}" if cap else ""
    return f"Shop supplies are {_percent(percent)} of labor{most}."


def _disposal(appraisal: Appraisal) -> str:
    liters = appraisal.entries.disposal["drained"].liters
    if not isinstance(liters, float) or not appraisal.proposed["disposal"]:
        return ""
    shop = appraisal.record.shop
    estimated = drained_liters(appraisal.plan, appraisal.decisions.chosen("proposed"), appraisal.record.car)
    about = ", estimated," if liters == float(estimated) else ""
    charge = amount(shop.fees.disposal_per_liter, shop.shop.currency)
    return f"Fluid disposal: {number(liters)}\u00a0L{about} at {charge} per liter."


def _class_words(name: str) -> str:
    return {"supplies": "shop supplies", "sublet": "sublet work", "core": "core deposits"}.get(name, name)


@dataclass(frozen=True)
class Consents:
    """The log and what it leaves. `rule` says how far the bill may go beyond it without asking again."""

    given: tuple[Consent, ...]
    declined: tuple[Consent, ...]
    consented: Decimal
    compared: Decimal
    on: str
    over: Decimal
    further: Decimal
    excess: Decimal
    rule: str
    undecided: int


def consents(appraisal: Appraisal) -> Consents:
    told = [item for item in appraisal.consents if item.told]
    rule, found = appraisal.record.shop.consent, appraisal.consented
    undecided = sum(1 for row in appraisal.labor.lines if row.proposed and not row.agreed)
    undecided += sum(1 for line in appraisal.extra_lines if line.proposed and not line.agreed)
    return Consents(
        tuple(item for item in told if not item.declines),
        tuple(item for item in told if item.declines),
        found.consented,
        found.compared,
        rule.on,
        found.over,
        found.further,
        found.excess,
        f"{rule.source}, as in force from {day(rule.in_force_from, appraisal.record.shop.show.dates)}",
        undecided,
    )
