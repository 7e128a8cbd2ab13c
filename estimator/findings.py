"""What an appraisal tells the people who must act: the mechanic, the advisor, the bookkeeper."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.car_history.changes import changed_readings
from estimator.errors import Finding, Severity
from estimator.money import money_text
from estimator.pricing.calls import because
from estimator.pricing.consent import consent_findings
from estimator.pricing.decisions import AGREED, DECLINED, UNTOUCHED
from estimator.pricing.disposal import drained_liters
from estimator.pricing.extra_lines import ExtraWork, SubletLine
from estimator.pricing.first_entries import asked_lines
from estimator.pricing.room import FREE_OFFERS
from estimator.pricing.totals import AnyPart
from estimator.reading_findings import reading_findings
from estimator.records.units import UNIT_CODES

MECHANIC, ADVISOR, BOOKKEEPER = "mechanic", "advisor", "bookkeeper"
WHO_ACTS = {
    "outside-limit": MECHANIC,
    "too-close-to-call": MECHANIC,
    "not-measured": MECHANIC,
    "no-limit": MECHANIC,
    "not-measured-after-work": MECHANIC,
    "not-believable": MECHANIC,
    "wrong-gauge": MECHANIC,
    "limit-conflict": MECHANIC,
    "precharge-conditions": MECHANIC,
    "certificate": MECHANIC,
    "readings-disagree": MECHANIC,
    "gauge-overdue": MECHANIC,
    "calibrated-after-use": MECHANIC,
    "after-before": MECHANIC,
    "date-in-future": MECHANIC,
    "reading-cleared": MECHANIC,
    "changed-since": MECHANIC,
    "touched-missing": ADVISOR,
    "gauge-too-coarse": MECHANIC,
    "became-good": MECHANIC,
    "safety-job-declined": ADVISOR,
    "fluid-mixed": ADVISOR,
    "over-consent": ADVISOR,
    "no-consent": ADVISOR,
    "price-missing": ADVISOR,
    "entries-changed": ADVISOR,
    "unit-unknown": ADVISOR,
    "job-undecided": ADVISOR,
    "row-folded": ADVISOR,
    "job-not-done": ADVISOR,
    "jobs-exclude-each-other": ADVISOR,
    "disposal-not-entered": ADVISOR,
    "out-of-balance": BOOKKEEPER,
}


def appraisal_findings(appraisal: Appraisal) -> tuple[Finding, ...]:
    """Every finding of an appraisal, what concerns driving first."""
    found = [
        *reading_findings(appraisal),
        *changed_readings(appraisal),
        *_jobs(appraisal),
        *_parts(appraisal),
        *_spare_lines(appraisal),
        *_short(appraisal),
        *_books(appraisal),
    ]
    rank = {"stop": 0, "warn": 1, "note": 2}
    return tuple(sorted(found, key=lambda finding: rank[finding.severity]))


def _jobs(appraisal: Appraisal) -> Iterator[Finding]:
    declined = any(item.declines for item in appraisal.consents)
    for line in appraisal.labor.lines:
        item = line.decided
        key = keys.decision(line.ref)
        title = line.line.title
        if (
            item.decision == DECLINED
            and not item.settled
            and line.line.job.safety == "yes"
            and (item.recommended_by or item.line.asked)
        ):
            why = f"recommended {because(item.recommended_by)}" if item.recommended_by else "requested"
            fix = "" if declined else 'record it among the authorizations as "safety work declined", with date and name'
            severity: Severity = "note" if declined else "warn"
            yield Finding("safety-job-declined", severity, f"{title}: declined ({why})", fix, tab="Work", key=key)
        if item.decision == AGREED and not item.done and line.agreed:
            yield Finding(
                "job-not-done",
                "note",
                f"{title}: authorized, not marked done",
                "mark it when completed",
                tab="Work",
                key=key,
            )
        if line.proposed and not line.agreed:
            fix = "record the customer's decision"
            yield Finding(
                "job-undecided", "note", f"{title}: recommended, awaiting a decision", fix, tab="Work", key=key
            )
    agreed = {line.ref for line in appraisal.labor.lines if line.agreed}
    for first, second in appraisal.plan.alternatives:
        if first.ref in agreed and second.ref in agreed:
            what = f"{first.title} and {second.title} are alternatives and both are authorized"
            key = keys.decision(first.ref)
            yield Finding("jobs-exclude-each-other", "warn", what, "decline one of them", tab="Work", key=key)


def _mixed(appraisal: Appraisal) -> Iterator[tuple[AnyPart, str]]:
    """The parts of another fluid family than the car's, and the box that says so."""
    yield from ((part, part.key("substitute_family")) for part in appraisal.parts if part.mixed)
    yield from ((part, part.key("family")) for part in appraisal.extra_parts if part.mixed)


def _parts(appraisal: Appraisal) -> Iterator[Finding]:
    family = appraisal.record.car.fluid.family
    for mixed, key in _mixed(appraisal):
        what = f"{mixed.label}: a part for {mixed.family} fluid in a car with {family} fluid: never mix the two"
        yield Finding("fluid-mixed", "stop", what, "use a part for the car's fluid family", tab="Work", key=key)
    for part in appraisal.parts:
        substitute = part.boxes.substitute
        if part.proposed and substitute and not (part.boxes.compared and part.boxes.approved_by):
            what = f"{part.label}: substitute {substitute}: comparison and approval missing"
            yield Finding("price-missing", "warn", what, "fill in both", tab="Work", key=part.key("compared"))
        if part.proposed and isinstance(part.quantity, str):
            what, fix = f"{part.label}: no quantity", "enter the quantity, 0 for none"
            yield Finding("price-missing", "warn", what, fix, tab="Work", key=part.key("quantity"))


def _short(appraisal: Appraisal) -> Iterator[Finding]:
    """More items than the printed pages of the estimate have room for."""
    more = len(appraisal.items) - (appraisal.record.room.offers - FREE_OFFERS)
    if more > 0:
        what = f"{more} more items than the printed pages of the estimate have room for"
        fix = "estimator redraft, before it is printed or signed: it makes room"
        yield Finding("estimate-short", "stop", what, fix, tab="Estimate", key="state.short.value")
    if (more := len(appraisal.declined) - appraisal.record.room.declined) > 0:
        what = f"{more} more declined items than the printed pages of the estimate have room for"
        fix = "estimator redraft, before it is printed or signed: it makes room"
        yield Finding("estimate-short", "stop", what, fix, tab="Estimate", key="state.declined.value")


def _spare_lines(appraisal: Appraisal) -> Iterator[Finding]:
    """Extra lines of which only a part is filled in, or that don't say what they touched."""
    touching: tuple[ExtraWork | SubletLine, ...] = (*appraisal.extra_work, *appraisal.sublet)
    for line in touching:
        if line.boxes.decision == AGREED and not line.boxes.touched:
            what = f"{line.title}: authorized, and what it touched on the brakes is missing"
            fix = f'choose the job whose checks must be repeated after it, or "{UNTOUCHED}"'
            yield Finding("touched-missing", "stop", what, fix, tab="Work", key=line.key("touched"))
    for extra in appraisal.extra_parts:
        typed = extra.boxes
        if typed.description and not (isinstance(typed.quantity, float) and isinstance(typed.cost, float)):
            what = f"{extra.label} ({typed.description}): no quantity or no cost"
            yield Finding("price-missing", "warn", what, "enter both", tab="Work", key=extra.key("cost"))
        if typed.description and extra.unit not in UNIT_CODES:
            what = f'{extra.label} ({typed.description}): "{extra.unit}" is not a unit of an invoice'
            fix = f"use one of {', '.join(UNIT_CODES)}"
            yield Finding("unit-unknown", "warn", what, fix, tab="Work", key=extra.key("unit"))
    for work in appraisal.extra_work:
        words, known = work.boxes.description, isinstance(work.boxes.hours, float)
        if (words or known) and not (known and work.rate):
            what = f"{work.label} ({words}): no hours or no kind of work"
            yield Finding("price-missing", "warn", what, "enter both", tab="Work", key=work.key("hours"))
    for sublet in appraisal.sublet:
        words = sublet.boxes.description
        if words and not isinstance(sublet.boxes.charge, float):
            what = f"{sublet.label} ({words}): no charge"
            yield Finding("price-missing", "warn", what, "enter it", tab="Work", key=sublet.key("charge"))


def _disposal(appraisal: Appraisal) -> Iterator[Finding]:
    """Disposal that is still as estimated at drafting, where no authorized job takes fluid."""
    liters, car = appraisal.entries.disposal["drained"].liters, appraisal.record.car
    estimated = drained_liters(appraisal.plan, asked_lines(appraisal.plan), car)
    if not appraisal.agreed["disposal"] or liters != float(estimated):
        return
    if not drained_liters(appraisal.plan, appraisal.decisions.chosen("agreed"), car):
        what = f"fluid disposal of {estimated} L is an estimate, and no authorized job takes fluid"
        key = keys.key("disposal", "drained", "liters")
        yield Finding("disposal-not-entered", "warn", what, "enter the liters drained, 0 for none", tab="Work", key=key)


def _books(appraisal: Appraisal) -> Iterator[Finding]:
    yield from _disposal(appraisal)
    rule = appraisal.record.shop.consent
    currency = appraisal.record.shop.shop.currency
    if appraisal.agreed["total"] > 0:
        amounts = [item.counted for item in appraisal.consents]
        for finding in consent_findings(appraisal.agreed, amounts, rule, currency):
            yield Finding(
                finding.rule,
                finding.severity,
                finding.what,
                finding.fix,
                tab="Estimate",
                key="consenting.over.value",
                expected=finding.expected,
                found=finding.found,
                source=rule.source,
            )
    if appraisal.balance.out != 0:
        out = money_text(appraisal.balance.out)
        yield Finding(
            "out-of-balance", "stop", f"the journal is out of balance by {out}", "report this fault", tab="Journal"
        )
