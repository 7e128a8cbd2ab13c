"""What an appraisal tells the people who must act: the mechanic, the advisor, the bookkeeper."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from estimator.appraisal import Appraisal
from estimator.errors import Finding
from estimator.limits.agreement import disagreements
from estimator.limits.driving import Standing
from estimator.limits.judging import Judged
from estimator.limits.verdict_words import CLOSE, COULD_NOT, COULD_NOT_CHECK, FAULT, NO_LIMIT, OUTSIDE
from estimator.money import money_text
from estimator.pricing.consent import consent_findings
from estimator.pricing.decisions import AGREED, DECLINED, DONE
from estimator.quantities import UNITS, to_si

MECHANIC, ADVISOR, BOOKKEEPER = "mechanic", "advisor", "bookkeeper"
# Units in which gauges read, by quantity: a number is easily typed as the gauge shows it.
READ_IN = {"pressure": ("psi", "bar", "kPa", "MPa"), "temperature": ("°C", "°F")}
WHO_ACTS = {
    "outside-limit": MECHANIC,
    "too-close-to-call": MECHANIC,
    "not-measured": MECHANIC,
    "not-measured-after-work": MECHANIC,
    "readings-disagree": MECHANIC,
    "gauge-overdue": MECHANIC,
    "gauge-too-coarse": MECHANIC,
    "became-good": MECHANIC,
    "safety-job-declined": ADVISOR,
    "fluid-mixed": ADVISOR,
    "over-consent": ADVISOR,
    "no-consent": ADVISOR,
    "price-missing": ADVISOR,
    "job-undecided": ADVISOR,
    "job-not-done": ADVISOR,
    "jobs-exclude-each-other": ADVISOR,
    "out-of-balance": BOOKKEEPER,
}


def appraisal_findings(appraisal: Appraisal) -> tuple[Finding, ...]:
    """Every finding of an appraisal, what concerns driving first."""
    found = [
        *_readings(appraisal),
        *_disagreements(appraisal),
        *_gauges(appraisal),
        *_jobs(appraisal),
        *_parts(appraisal),
        *_books(appraisal),
    ]
    rank = {"stop": 0, "warn": 1, "note": 2}
    return tuple(sorted(found, key=lambda finding: rank[finding.severity]))


def _readings(appraisal: Appraisal) -> Iterator[Finding]:
    limits = {item.ref: item for item in appraisal.limits}
    judged = {item.ref: item for item in appraisal.judged}
    for standing in appraisal.standings:
        if standing.asked == 0:
            continue
        phase = "after" if standing.made_after else "before"
        verdict = standing.verdict_after if standing.made_after else standing.verdict_before
        if standing.latest == "not measured after work":
            verdict = standing.latest
        key = f"reading.{standing.ref}.{phase}"
        source = ""
        expected = found = unit = ""
        if standing.ref in judged:
            item = judged[standing.ref]
            limit = limits[f"{item.row.check.id}.{item.row.place.id}"]
            source, unit = limit.source, item.unit
            expected = _window(item)
            value = item.phases[phase].judged
            found = "" if isinstance(value, str) else _shown(item, value) + _behind(item, phase, verdict)
        common = {
            "tab": "Inspection",
            "key": key,
            "expected": expected,
            "found": found or verdict,
            "unit": unit,
            "source": source,
        }
        hint = (
            _read_in_another_unit(judged[standing.ref], phase) if standing.ref in judged and verdict == OUTSIDE else ""
        )
        yield from _verdict(standing, verdict, hint, common)


def _verdict(standing: Standing, verdict: str, hint: str, common: dict[str, str]) -> Iterator[Finding]:
    safety = standing.safety == "yes"
    label = standing.label
    if verdict in (OUTSIDE, FAULT):
        stops = safety and standing.good == 0
        severity = "stop" if stops else "warn"
        drive = ": it isn't to be driven so" if stops else ""
        yield Finding(
            "outside-limit",
            severity,
            f"{label}: {verdict}{drive}",
            f"do the job that it calls for, then measure again{hint}",
            **common,
        )
    elif verdict == CLOSE:
        fix = "measure again or with a better gauge; until then it counts as a fault"
        yield Finding(
            "too-close-to-call", "warn", f"{label}: the limit lies within the uncertainty of the reading", fix, **common
        )
    elif verdict == "not measured after work":
        fix = "measure it again: a job done since makes the reading before work void"
        yield Finding("not-measured-after-work", "warn", f"{label}: not measured after work", fix, **common)
    elif verdict == NO_LIMIT:
        fix = "give the maker's limit for it in car.toml"
        yield Finding(
            "not-measured", "warn" if safety else "note", f"{label}: read, but no limit is known", fix, **common
        )
    elif verdict in (COULD_NOT, COULD_NOT_CHECK):
        fix = "make it measurable, or leave the car where it is"
        yield Finding(
            "not-measured", "warn" if safety else "note", f"{label}: {verdict} ({standing.why})", fix, **common
        )
    elif verdict in ("not measured", "not checked"):
        yield Finding("not-measured", "warn" if safety else "note", f"{label}: {verdict}", "measure it", **common)
    if standing.unexplained:
        fix = 'mark the job that was done, or choose "measured again" if a second reading explains it'
        what = f"{label}: was bad and is good, with no job done in between"
        yield Finding("became-good", "stop" if safety else "warn", what, fix, **common)


def _shown(item: Judged, si: float) -> str:
    """A number in the unit of its box, a digit finer than it is shown there."""
    text = f"{(si - item.offset) / item.factor:.{UNITS[item.unit].decimals + 1}f}"
    return text.rstrip("0").rstrip(".")


def _behind(item: Judged, phase: str, verdict: str) -> str:
    """What stands in brackets behind a figure: what it is where that isn't the reading, and how close the call is."""
    found, words = item.phases[phase], []
    if item.row.check.judged_as and not isinstance(found.si, str):
        words += [item.row.check.judged_as, f"read {_shown(item, found.si)} {item.unit}"]
    if verdict == CLOSE and not isinstance(found.chance, str):
        words.append(f"within limit with a probability of {found.chance:.0%}")
    return f" ({'; '.join(words)})" if words else ""


def _read_in_another_unit(item: Judged, phase: str) -> str:
    """A unit in which the number as typed would lie within limit, in words; "" where there is none."""
    si = item.phases[phase].si
    if isinstance(si, str) or item.row.check.judged == "hold-loss":
        return ""
    sides = [item.values[f"service_{side}"] for side in ("low", "high")]
    low, high = (default if isinstance(side, str) else side for side, default in zip(sides, (-inf, inf), strict=True))
    typed = (si - item.offset) / item.factor
    for unit in READ_IN.get(item.row.check.quantity, ()):
        meant = to_si(typed, unit)
        if unit != item.unit and low <= meant <= high:
            right = f"{_shown(item, meant)} {item.unit}"
            return f"; if {_shown(item, si)} was read in {unit}, it is {right}: read again and type that"
    return ""


def _window(item: Judged) -> str:
    sides = []
    for side, words in (("low", "at least"), ("high", "at most")):
        si = item.values[f"service_{side}"]
        if not isinstance(si, str):
            sides.append(f"{words} {_shown(item, si)}")
    return ", ".join(sides)


def _disagreements(appraisal: Appraisal) -> Iterator[Finding]:
    judged = {item.ref: item for item in appraisal.judged}
    for item in disagreements(appraisal.record, appraisal.workings, judged):
        fix = f"take both readings again, with another gauge if there is one ({item.keys[1]} is the other)"
        yield Finding("readings-disagree", "warn", item.what, fix, tab="Inspection", key=item.keys[0])


def _gauges(appraisal: Appraisal) -> Iterator[Finding]:
    used: dict[tuple[str, str], list[str]] = {}
    for item in appraisal.judged:
        for phase, judged in item.phases.items():
            gauge = appraisal.entries.get(f"reading.{item.ref}.gauge_{phase}", "")
            if not isinstance(judged.si, str) and judged.in_date == 0:
                used.setdefault((str(gauge), phase), []).append(item.label)
    due = {row.ref: row.due for row in appraisal.gauges}
    for (gauge, phase), labels in used.items():
        what = f"gauge {gauge} was past its date ({due[gauge.casefold()]}) {phase} work; used for {', '.join(labels)}"
        fix = "measure again with a gauge in date: these readings can't lift a do-not-drive"
        yield Finding("gauge-overdue", "warn", what, fix, tab="Inspection")


def gauges_too_coarse(appraisal: Appraisal) -> Iterator[Finding]:
    """At drafting: windows that the usual gauge can't judge, because 2U fills them."""
    by_id = {gauge.ref: gauge for gauge in appraisal.gauges}
    for item in appraisal.judged:
        low, high = item.values["service_low"], item.values["service_high"]
        gauge = by_id.get(str(appraisal.entries.get(f"reading.{item.ref}.gauge_before", "")))
        if gauge is None or isinstance(low, str) or isinstance(high, str):
            continue
        if 4 * gauge.u_si >= high - low:
            what = (
                f"{item.label}: gauge {gauge.ref} reads to ±{2 * gauge.u_si / item.factor:.3g} {item.unit}, and the window "
                f"is {(high - low) / item.factor:.3g} {item.unit} wide: no reading can be within it for certain"
            )
            key = f"reading.{item.ref}.gauge_before"
            yield Finding("gauge-too-coarse", "note", what, "take a finer gauge", tab="Inspection", key=key)


def _jobs(appraisal: Appraisal) -> Iterator[Finding]:
    declined = any(item.declines for item in appraisal.consents)
    for line in appraisal.labor.lines:
        item = line.decided
        key = f"line.{line.ref}.decision"
        title = line.line.title
        if item.decision == DECLINED and line.line.job.safety == "yes" and (item.called_by or item.line.asked):
            why = f"called for by {item.called_by}" if item.called_by else "asked for"
            fix = "" if declined else 'record it in the consent log as "safety work declined", with date and name'
            severity = "note" if declined else "warn"
            yield Finding("safety-job-declined", severity, f"{title}: declined ({why})", fix, tab="Hours", key=key)
        if item.decision == AGREED and item.done_word != DONE and line.agreed:
            yield Finding(
                "job-not-done",
                "note",
                f"{title}: agreed, not marked done",
                "mark it once it is done",
                tab="Hours",
                key=key,
            )
        if line.proposed and not line.agreed:
            fix = "record the customer's decision"
            yield Finding("job-undecided", "note", f"{title}: proposed, not decided", fix, tab="Hours", key=key)
    agreed = {line.ref for line in appraisal.labor.lines if line.agreed}
    for first, second in appraisal.plan.alternatives:
        if first.ref in agreed and second.ref in agreed:
            what = f"{first.title} and {second.title} are both agreed, and only one of them makes sense"
            key = f"line.{first.ref}.decision"
            yield Finding("jobs-exclude-each-other", "warn", what, "decline one of them", tab="Hours", key=key)


def _parts(appraisal: Appraisal) -> Iterator[Finding]:
    family = appraisal.record.car.fluid.family
    for part in (*appraisal.parts, *appraisal.extra_parts):
        block = "part" if hasattr(part, "planned") else "extra_part"
        if part.mixed:
            what = f"{part.label}: a part for {part.family} fluid in a car on {family}: the families are never mixed"
            key = f"{block}.{part.ref}.{'substitute_family' if block == 'part' else 'family'}"
            yield Finding("fluid-mixed", "stop", what, "take a part of the car's family", tab="Parts", key=key)
    for part in appraisal.parts:
        if part.proposed and part.substitute and not (part.compared and part.approved_by):
            what = (
                f"{part.label}: {part.substitute} is taken in its place, without what was compared and who approved it"
            )
            yield Finding("price-missing", "warn", what, "fill in both", tab="Parts", key=f"part.{part.ref}.compared")
        if part.proposed and isinstance(part.quantity, str):
            what = f"{part.label}: no quantity"
            yield Finding(
                "price-missing",
                "warn",
                what,
                "type the quantity, 0 for none",
                tab="Parts",
                key=f"part.{part.ref}.quantity",
            )
    for extra in appraisal.extra_parts:
        if extra.description and not (isinstance(extra.quantity, float) and isinstance(extra.cost, float)):
            what = f"{extra.label} ({extra.description}): no quantity or no cost"
            yield Finding("price-missing", "warn", what, "type both", tab="Parts", key=f"extra_part.{extra.ref}.cost")
    for work in appraisal.extra_work:
        if (work.description or isinstance(work.hours, float)) and not (isinstance(work.hours, float) and work.rate):
            what = f"{work.label} ({work.description}): no hours or no kind of work"
            yield Finding("price-missing", "warn", what, "type both", tab="Hours", key=f"extra_work.{work.ref}.hours")
    for sublet in appraisal.sublet:
        if sublet.description and not isinstance(sublet.charge, float):
            what = f"{sublet.label} ({sublet.description}): no charge"
            yield Finding("price-missing", "warn", what, "type it", tab="Parts", key=f"sublet.{sublet.ref}.charge")


def _books(appraisal: Appraisal) -> Iterator[Finding]:
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
