"""What the readings' gauges and dates tell the mechanic."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.errors import Finding
from estimator.records import kind_of


def wrong_gauges(appraisal: Appraisal) -> Iterator[Finding]:
    """Readings whose gauge measures another quantity."""
    gauges = {row.ref: row for row in appraisal.gauges}
    for item in appraisal.judged:
        for phase, found in item.phases.items():
            gauge = gauges.get(appraisal.readings[item.ref].gauge(phase).casefold())
            kind = kind_of(item.row.check.quantity)
            if gauge and item.row.check.measured and gauge.kind != kind and not isinstance(found.si, str):
                what = f"{item.label}: gauge {gauge.ref} measures {gauge.kind}, not {kind}: not measured"
                key = keys.gauge(item.ref, phase)
                yield Finding("wrong-gauge", "warn", what, "choose the gauge that was used", tab="Inspection", key=key)


def overdue_gauges(appraisal: Appraisal) -> Iterator[Finding]:
    """Gauges that were not in calibration when they gave a reading, with all that rests on it."""
    rested = {ref: item.label for item in appraisal.judged for ref in item.row.rests_on}
    rows = {row.ref: row for row in appraisal.gauges}
    used: dict[tuple[str, str], list[str]] = {}
    for item in appraisal.judged:
        for phase, found in item.phases.items():
            gauge = appraisal.readings[item.ref].gauge(phase).casefold()
            if not isinstance(found.si, str) and found.in_date == 0:
                of = f"{item.label} (on which {rested[item.ref]} rests)" if item.ref in rested else item.label
                used.setdefault((gauge, phase), []).append(of)
    fix = "remeasure with a gauge in calibration; these readings cannot clear a DO NOT DRIVE"
    for (gauge, phase), labels in used.items():
        row, of = rows[gauge], f"{phase} work; used for {', '.join(labels)}"
        if row.early(phase):
            what = f"gauge {row.ref} was calibrated on {row.calibrated}, after the readings {of}"
            yield Finding("calibrated-after-use", "warn", what, fix, tab="Inspection")
        else:
            what = f"gauge {row.ref} was overdue for calibration (due {row.due}) {of}"
            yield Finding("gauge-overdue", "warn", what, fix, tab="Inspection")


def out_of_order(appraisal: Appraisal) -> Iterator[Finding]:
    """Readings after work that are dated before those before it."""
    before, after = appraisal.visits
    if not after.in_order:
        made = [item.label for item in appraisal.standings if item.made_after]
        what = f"the readings after work are dated {after.date}, before those before work ({before.date})"
        what += f": {', '.join(made)}" if made else ""
        fix = "correct the date that is wrong; until then the readings after work cannot clear a DO NOT DRIVE"
        yield Finding("after-before", "warn", what, fix, tab="Inspection", key=keys.key("visit", "after", "date"))


def gauges_too_coarse(appraisal: Appraisal) -> Iterator[Finding]:
    """At drafting: windows that the usual gauge can't judge, because 2U fills them."""
    by_id = {gauge.ref: gauge for gauge in appraisal.gauges}
    for item in appraisal.judged:
        low, high = item.values["service_low"], item.values["service_high"]
        gauge = by_id.get(appraisal.readings[item.ref].gauge_before)
        if gauge is None or isinstance(low, str) or isinstance(high, str):
            continue
        if 4 * gauge.u_si >= high - low:
            what = (
                f"{item.label}: gauge {gauge.ref} reads to ±{2 * gauge.u_si / item.factor:.3g} {item.unit}, and the window "
                f"is {(high - low) / item.factor:.3g} {item.unit} wide: no reading can be within limits for certain"
            )
            key = keys.gauge(item.ref, "before")
            yield Finding("gauge-too-coarse", "note", what, "use a more accurate gauge", tab="Inspection", key=key)
