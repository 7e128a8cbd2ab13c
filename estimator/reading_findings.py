"""What the readings of an appraisal tell the mechanic: verdicts, readings that disagree, gauges."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import check_ref
from estimator.errors import Finding, Severity
from estimator.limits.judging.driving import Standing
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.reading_conflicts import disagreements
from estimator.limits.judging.verdict_words import CLOSE, COULD_NOT, COULD_NOT_CHECK, FAULT, NO_LIMIT, OUTSIDE
from estimator.quantities import UNITS, to_si

# Units in which gauges read, by quantity: a number is easily typed as the gauge shows it.
READ_IN = {"pressure": ("psi", "bar", "kPa", "MPa"), "temperature": ("°C", "°F")}


def reading_findings(appraisal: Appraisal) -> Iterator[Finding]:
    """What the mechanic should know of the readings: their verdicts, those that disagree, gauges past their date."""
    yield from _verdicts(appraisal)
    yield from _disagreements(appraisal)
    yield from _gauges(appraisal)


def _verdicts(appraisal: Appraisal) -> Iterator[Finding]:
    limits = {item.ref: item for item in appraisal.limits}
    judged = {item.ref: item for item in appraisal.judged}
    for standing in appraisal.standings:
        if standing.asked == 0:
            continue
        phase = "after" if standing.made_after else "before"
        verdict = standing.found(phase).verdict
        if standing.latest == "not measured after work":
            verdict = standing.latest
        place = _Place(keys.reading(standing.ref, phase), verdict)
        hint = ""
        if standing.ref in judged:
            item = judged[standing.ref]
            limit = limits[check_ref(item.row.check.id, item.row.place.id)]
            value = item.phases[phase].judged
            found = "" if isinstance(value, str) else _shown(item, value) + _behind(item, phase, verdict)
            place = _Place(place.key, found or verdict, _window(item), item.unit, limit.source)
            hint = _read_in_another_unit(item, phase) if verdict == OUTSIDE else ""
            hint = f": it {limit.reason}" if limit.needs else hint
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
        stops = safety and standing.good == 0
        drive = ": it isn't to be driven so" if stops else ""
        fix = f"do the job that it calls for, then measure again{hint}"
        yield place.finding("outside-limit", "stop" if stops else "warn", f"{label}: {verdict}{drive}", fix)
    elif verdict == CLOSE:
        what = f"{label}: the limit lies within the uncertainty of the reading"
        fix = "measure again or with a better gauge; until then it counts as a fault"
        yield place.finding("too-close-to-call", "warn", what, fix)
    elif verdict == "not measured after work":
        fix = "measure it again: a job done since makes the reading before work void"
        yield place.finding("not-measured-after-work", "warn", f"{label}: not measured after work", fix)
    elif verdict == NO_LIMIT:
        fix = "give the maker's limit for it in car.toml, or what estimator limits lists as missing"
        yield place.finding("not-measured", unmade, f"{label}: read, but no limit is on file{hint}", fix)
    elif verdict in (COULD_NOT, COULD_NOT_CHECK):
        fix = "make it measurable, or leave the car where it is"
        yield place.finding("not-measured", unmade, f"{label}: {verdict} ({standing.why})", fix)
    elif verdict in ("not measured", "not checked"):
        yield place.finding("not-measured", unmade, f"{label}: {verdict}", "measure it")
    if standing.unexplained:
        fix = 'mark the job that was done, or choose "measured again" if a second reading explains it'
        what = f"{label}: was bad and is good, with no job done in between"
        yield place.finding("became-good", "stop" if safety else "warn", what, fix)


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
            gauge = appraisal.entries.readings[item.ref].gauge(phase)
            if not isinstance(judged.si, str) and judged.in_date == 0:
                used.setdefault((gauge, phase), []).append(item.label)
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
        gauge = by_id.get(appraisal.entries.readings[item.ref].gauge_before)
        if gauge is None or isinstance(low, str) or isinstance(high, str):
            continue
        if 4 * gauge.u_si >= high - low:
            what = (
                f"{item.label}: gauge {gauge.ref} reads to ±{2 * gauge.u_si / item.factor:.3g} {item.unit}, and the window "
                f"is {(high - low) / item.factor:.3g} {item.unit} wide: no reading can be within it for certain"
            )
            key = keys.gauge(item.ref, "before")
            yield Finding("gauge-too-coarse", "note", what, "take a finer gauge", tab="Inspection", key=key)
