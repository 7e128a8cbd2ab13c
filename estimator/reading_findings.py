"""What the readings of an appraisal tell the mechanic: verdicts, limits, readings that disagree."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import inf

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import CheckRef, check_ref
from estimator.errors import Finding, Severity
from estimator.gauge_findings import out_of_order, overdue_gauges, wrong_gauges
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.reading_conflicts import disagreements
from estimator.limits.judging.standing import UNMADE, VOID, Standing
from estimator.limits.judging.stated import CERTIFICATE, NOT_AT_THE_VALVE
from estimator.limits.judging.verdict_words import (
    BAD,
    CLOSE,
    COULD_NOT,
    COULD_NOT_CHECK,
    FAULT,
    GOOD,
    NO_LIMIT,
    NOT_BELIEVABLE,
    NOT_CHECKED,
    NOT_MEASURED,
    OUTSIDE,
)
from estimator.limits.rows.methods import SIDE_WORDS
from estimator.quantities import inward, limits_in_words, printed, to_si

# Units in which gauges read, by quantity: a number is easily typed as the gauge shows it.
READ_IN = {"pressure": ("psi", "bar", "kPa", "MPa"), "temperature": ("°C", "°F")}


def reading_findings(appraisal: Appraisal) -> Iterator[Finding]:
    """What the mechanic should know of the readings: their verdicts, those that disagree, gauges past their date."""
    yield from _verdicts(appraisal)
    yield from limit_conflicts(appraisal)
    yield from _ways_of_precharge(appraisal)
    yield from wrong_gauges(appraisal)
    yield from _disagreements(appraisal)
    yield from _earlier(appraisal)
    yield from overdue_gauges(appraisal)
    yield from out_of_order(appraisal)


def kept_off_the_road(appraisal: Appraisal) -> Iterator[str]:
    """What is behind DO NOT DRIVE: each check with its latest word, what was judged, and its do-not-drive limit; and each
    authorized part for another fluid."""
    judged = {item.ref: item for item in appraisal.judged}
    for standing in appraisal.concerns:
        said = [
            f"{standing.label}: {'readings contradict each other' if standing.contested and standing.good else standing.latest}"
        ]
        if standing.ref in judged:
            item = judged[standing.ref]
            value = item.phases[standing.decides].judged
            said += [] if isinstance(value, str) else [_with_unit(_shown(item, value), item)]
            limits = _window(item, "danger")
            said += [f"do-not-drive limit {_with_unit(limits, item)}"] if limits else []
        yield ", ".join(said)
    for part in appraisal.mixed:
        yield f"{part.title}: for {part.family} fluid"


def _verdicts(appraisal: Appraisal) -> Iterator[Finding]:
    limits = {item.ref: item for item in appraisal.limits}
    judged = {item.ref: item for item in appraisal.judged}
    for standing in appraisal.standings:
        if standing.asked == 0:
            continue
        phase = standing.decides
        verdict = VOID if standing.latest == VOID and not standing.failed else standing.found(phase).verdict
        place = _Place(keys.reading(standing.ref, phase), verdict)
        hint = ""
        if standing.ref in judged:
            item = judged[standing.ref]
            limit = limits[check_ref(item.row.check.id, item.row.place.id)]
            value = item.phases[phase].judged
            found = "" if isinstance(value, str) else _shown(item, value) + _behind(item, phase, verdict)
            place = _Place(place.key, found or verdict, _window(item), item.unit, limit.source)
            hint = _read_in_another_unit(item, phase) if verdict == OUTSIDE else ""
            hint = _why_not_believed(item, phase, judged) if verdict == NOT_BELIEVABLE else hint
            hint = f": {limit.reason}" if limit.needs else hint
        yield from _verdict(standing, verdict, hint, place)


@dataclass(frozen=True)
class _Place:
    """The box that a finding is about, and what is held against its limits."""

    key: str
    found: str
    expected: str = ""
    unit: str = ""
    source: str = ""

    def finding(self, rule: str, severity: Severity, what: str, fix: str) -> Finding:
        return Finding(
            rule,
            severity,
            what,
            fix,
            tab="Inspection",
            key=self.key,
            expected=self.expected,
            found=self.found,
            unit=self.unit,
            source=self.source,
        )


def _verdict(standing: Standing, verdict: str, hint: str, place: _Place) -> Iterator[Finding]:
    safety, label = standing.safety == "yes", standing.label
    unmade: Severity = "warn" if safety else "note"
    if verdict in (OUTSIDE, FAULT):
        stops = standing.concern == 1
        drive = ", DO NOT DRIVE" if stops else ""
        fix = f"do the recommended job, then remeasure{hint}"
        yield place.finding("outside-limit", "stop" if stops else "warn", f"{label}: {verdict}{drive}", fix)
    elif verdict == CLOSE:
        what = f"{label}: {CLOSE}, counts as a fault"
        fix = "remeasure, with a more accurate gauge if you have one; until then it counts as a fault"
        yield place.finding("too-close-to-call", "warn", what, fix)
    elif verdict == VOID:
        fix = "remeasure: work done since voids the earlier reading"
        yield place.finding("not-measured-after-work", "warn", f"{label}: {VOID}", fix)
    elif verdict == NO_LIMIT:
        fix = "give the manufacturer's limit for it in the car file, or what estimator limits lists as missing"
        yield place.finding("no-limit", unmade, f"{label}: measured, {NO_LIMIT}{hint}", fix)
    elif verdict == NOT_BELIEVABLE:
        fix = "remeasure, with another gauge if you have one; until then it counts as not measured"
        yield place.finding("not-believable", "warn", f"{label}: {NOT_BELIEVABLE}{hint}", fix)
    elif verdict in (COULD_NOT, COULD_NOT_CHECK):
        fix = "get access and measure; until then the car stays DO NOT DRIVE" if safety else "get access and measure"
        yield place.finding("not-measured", unmade, f"{label}: {verdict} ({standing.why})", fix)
    elif verdict in (NOT_MEASURED, NOT_CHECKED):
        yield place.finding(
            "not-measured", unmade, f"{label}: {verdict}", "measure it" if verdict == NOT_MEASURED else "check it"
        )
    became_good = standing.before.verdict in BAD and standing.after.verdict in GOOD and standing.cures == 0
    if standing.unexplained or (became_good and not standing.confirmed):
        fix = (
            "mark the job that corrected it, or enter a repeat reading with another gauge (what is inspected: by another "
            "person)"
        )
        what = f"{label}: was bad, now good, and no job that corrects it is marked done"
        yield place.finding("became-good", "stop" if standing.concern else "warn", what, fix)


def _shown(item: Judged, si: float) -> str:
    """A number in the unit of its box."""
    return printed((si - item.offset) / item.factor, item.unit)


def _with_unit(text: str, item: Judged) -> str:
    return text if item.unit in ("count", "1") else f"{text} {item.unit}"


def _behind(item: Judged, phase: str, verdict: str) -> str:
    """What is in brackets behind a figure: what it is where that isn't the reading, and how close it is to the limit."""
    found, words = item.phases[phase], []
    if item.row.check.judged_as and not isinstance(found.si, str):
        read, judged = (_shown(item, si) for si in (found.si, found.judged) if not isinstance(si, str))
        words += [item.row.check.judged_as] + ([] if read == judged else [f"read {_with_unit(read, item)}"])
    if verdict == CLOSE and not isinstance(found.chance, str):
        words.append(f"within limits with {found.chance:.0%} probability")
    return f" ({'; '.join(words)})" if words else ""


def _read_in_another_unit(item: Judged, phase: str) -> str:
    """A unit in which the number as typed would lie within limits, in words; "" where there is none."""
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
            return f"; if {typed:,.6g} was read in {unit}, it is {right}: remeasure and enter that"
    return ""


def _why_not_believed(item: Judged, phase: str, judged: Mapping[CheckRef, Judged]) -> str:
    """What a reading that isn't believed is held against, in words that follow its verdict."""
    found = item.phases[phase]
    if not found.odd:
        rested = [judged[ref].label for ref in item.row.rests_on if judged[ref].phases[phase].odd]
        return f": it rests on {' and '.join(rested)}, not believable"
    if not isinstance(found.top, str) and not isinstance(found.si, str) and found.si > found.top:
        return f": its gauge ends at {_shown(item, found.top)} {item.unit}"
    ends = (("at least", found.believe_low), ("at most", found.believe_high))
    said = [f"{words} {_with_unit(_shown(item, si), item)}" for words, si in ends if not isinstance(si, str)]
    return f": believable is {', '.join(said)}"


def _window(item: Judged, kind: str = "service") -> str:
    return limits_in_words(item.values[f"{kind}_low"], item.values[f"{kind}_high"], item.unit)


def _disagreements(appraisal: Appraisal) -> Iterator[Finding]:
    fix = "remeasure one of them and enter it as a repeat reading, with its date and gauge"
    for item in disagreements(appraisal.record, appraisal.workings):
        of = [appraisal.standing_of[CheckRef(keys.check_of(key))] for key in item.keys]
        what = f"{item.what} ({', '.join(dict.fromkeys(standing.label for standing in of))})"
        severity: Severity = "stop" if any(standing.contradicted for standing in of) else "warn"
        yield Finding("readings-disagree", severity, what, fix, tab="Inspection", key=item.keys[0])


def limit_conflicts(appraisal: Appraisal) -> Iterator[Finding]:
    """The manufacturer's limits that are laxer than a computed or published one, which decides then."""
    rows = {row.label: row for row in appraisal.workings.rows.values()}
    for limits in appraisal.limits:
        for item in limits.conflicts:
            maker, stricter = rows[item.maker], rows[item.stricter]
            unit = maker.unit if maker.unit != "count" else ""
            end = item.side.rpartition("_")[2]
            values = [
                row.si
                if isinstance(row.si, str)
                else f"{printed(inward(row.si, row.unit, end), row.unit)} {unit}".strip()
                for row in (maker, stricter)
            ]
            what = (
                f"{limits.label}, {SIDE_WORDS[item.side]}: manufacturer's {values[0]} is laxer than "
                f"{values[1]} ({stricter.symbol}), which applies"
            )
            fix = "check the manufacturer's figure and the car's data behind the other one"
            yield Finding("limit-conflict", "warn", what, fix, tab="Limits", source=stricter.source)


def _ways_of_precharge(appraisal: Appraisal) -> Iterator[Finding]:
    """Precharges that weren't read at a gas valve, and nobody said whether they were read as their way asks."""
    for standing in appraisal.standings:
        row = standing.row
        if row.check.id != "precharge":
            continue
        way = appraisal.entries.stated[row.ref].of(standing.decides)[0].casefold()
        told = appraisal.standing_of.get(check_ref("precharge-conditions", row.place.id))
        yield from _certificate(appraisal, standing, way)
        if way in NOT_AT_THE_VALVE and standing.entered and told is not None and told.latest in UNMADE:
            what = f"{standing.label}: read by {way}, and not said whether as that way asks"
            fix = "check its conditions and enter the check; read otherwise it is an indication that clears nothing"
            key = keys.reading(told.ref, standing.decides)
            yield Finding("precharge-conditions", "warn", what, fix, tab="Inspection", key=key)


def _certificate(appraisal: Appraisal, standing: Standing, way: str) -> Iterator[Finding]:
    """A precharge by a bench certificate that isn't in order, or with a system whose count and hold aren't both good."""
    if way != CERTIFICATE or not standing.entered:
        return
    place, phase = standing.row.place, standing.decides
    judged = next(item for item in appraisal.judged if item.ref == standing.ref)
    if wrong := judged.phases[phase].said.uncertified:
        what = f"{standing.label}: bench certificate not in order: {wrong}; the reading counts for nothing"
        fix = "enter serial, removal and date as the certificate has them, or measure the precharge"
        yield Finding(
            "certificate", "warn", what, fix, tab="Inspection", key=keys.certificate(standing.ref, phase, "serial")
        )
    system = next(item.system for item in appraisal.record.car.accumulators if item.id == place.id)
    needed = [appraisal.standing_of.get(check_ref(check, system)) for check in ("applications", "hold")]
    for item in needed:
        if item is not None and not item.good:
            what = f"{standing.label}: a bench certificate counts only with {item.label} good on the car"
            yield Finding(
                "certificate",
                "warn",
                what,
                "measure it on the car",
                tab="Inspection",
                key=keys.reading(item.ref, phase),
            )


def _earlier(appraisal: Appraisal) -> Iterator[Finding]:
    """Readings that are no longer in their boxes and still count: cleared, or overwritten while they contradicted."""
    for item in appraisal.record.earlier:
        standing = appraisal.standing_of.get(CheckRef(item.check))
        if standing is None:
            continue
        severity: Severity = "stop" if standing.safety == "yes" else "warn"
        read = f"{standing.label}: {item.value} {item.unit}".rstrip()
        key = keys.reading(standing.ref, "after" if item.phase == "after" else "before")
        if item.counts_as == "contradicts" and standing.thirds.read == 0:
            what = f"{read} contradicted other readings and was deleted; no repeat reading since"
            fix = "enter a repeat reading, with its date and gauge"
            yield Finding("readings-disagree", severity, what, fix, tab="Inspection", key=key)
        if item.phase != "again" and not standing.found(item.phase).entered:
            what = f"{read} ({item.verdict}) was cleared, {item.phase} work"
            fix = "measure it: the check is still requested"
            yield Finding("reading-cleared", severity, what, fix, tab="Inspection", key=key)
        elif item.counts_as == "called" and standing.found("before").verdict in GOOD and standing.cures == 0:
            what = f"{read} ({item.verdict}) was overwritten, and no job that corrects it is marked done"
            fix = "mark the job that corrected it, or enter what was read first"
            yield Finding("became-good", "warn", what, fix, tab="Inspection", key=key)
