"""What the readings of an appraisal tell the mechanic: verdicts, readings that disagree, gauges."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.errors import Finding
from estimator.limits.driving import Standing
from estimator.limits.judging import Judged
from estimator.limits.reading_conflicts import disagreements
from estimator.limits.verdict_words import CLOSE, COULD_NOT, COULD_NOT_CHECK, FAULT, NO_LIMIT, OUTSIDE
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
        verdict = standing.verdict_after if standing.made_after else standing.verdict_before
        if standing.latest == "not measured after work":
            verdict = standing.latest
        key = keys.reading(standing.ref, phase)
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
            gauge = appraisal.entries.get(keys.gauge(item.ref, phase), "")
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
        gauge = by_id.get(str(appraisal.entries.get(keys.gauge(item.ref, "before"), "")))
        if gauge is None or isinstance(low, str) or isinstance(high, str):
            continue
        if 4 * gauge.u_si >= high - low:
            what = (
                f"{item.label}: gauge {gauge.ref} reads to ±{2 * gauge.u_si / item.factor:.3g} {item.unit}, and the window "
                f"is {(high - low) / item.factor:.3g} {item.unit} wide: no reading can be within it for certain"
            )
            key = keys.gauge(item.ref, "before")
            yield Finding("gauge-too-coarse", "note", what, "take a finer gauge", tab="Inspection", key=key)
