"""The pressure at which each system's lamp has to light: enough strokes must still come, cold and hot."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import bearing, once, published
from estimator.limits.rows.methods import Context, Found
from estimator.limits.rows.secondary_rows import STROKES, secondary_rows, stroke_rows
from estimator.limits.rows.usable_rows import exponent_row, usable_rows
from estimator.places import Place

WHY = (
    "with this car's data no lamp pressure leaves the applications to come: look at precharge, volume, bores and cut-out "
    "in the car file, and whether its temperatures lie between 0 and 110 °C"
)

# fmt: off
# Several accumulators count as one.
FOR_STROKES = (
    Row("drawn-at-lamp", "ΔV at lamp",
        "fluid drawn when the lamp comes on, the applications to come ending at p secondary; not known where they cannot",
        'IF({fast-secondary}>{$strokes}*{application},{fast-secondary}-{$strokes}*{application},"not known")',
        "volume", "un-r13", "-40 to 110 °C", guarded="fast-secondary application"),
    Row("gas-at-lamp", "V gas at lamp", "gas volume then", "{charged}+{drawn-at-lamp}", "volume", "span-2000"),
    Row("lamp-estimate", "p lamp estimate", "pressure then with the exponent to p secondary, absolute",
        "{cut-out-abs}*POWER({charged}/{gas-at-lamp},{n-secondary})", "pressure", "span-2000"),
)
NEEDED = (
    Row("lamp-strokes", "p lamp applications",
        "pressure at which the lamp must come on for the applications to come, cold, absolute",
        "{cut-out-abs}*POWER({charged}/{gas-at-lamp},{n-lamp-needed})",
        "pressure", "un-r13 span-2000", "accumulators of one precharge; of several, on the safe side"),
    Row("held-share", "share held", "share of the accumulators that the applications to come fill: applications v/(0.95 V0)",
        "{$strokes}*{application}/({constant.emptying}*{volume})", "1", "span-2000"),
    Row("lamp-hot", "p lamp hot",
        "pressure below which hot accumulators no longer hold the applications to come, absolute",
        'IF({held-share}<1,{hot}/(1-{held-share}),"not known")',
        "pressure", "span-2000", "0 to 110 °C, to 2,400 psi", guarded="held-share"),
    Row("lamp-needed", "p lamp needed",
        "lowest pressure at which the lamp may light, gauge: the greater of both",
        "MAX({lamp-strokes},{lamp-hot})-{constant.atmosphere}", "pressure", "un-r13 span-2000",
        "-40 to 110 °C; the applications end at 98.8% of p secondary or more with real nitrogen",
        guarded="lamp-strokes lamp-hot"),
)
HALF = (
    Row("lamp-half", "p half", "one half of normal, beside it: share of cut-out, gauge ($bearing)",
        "{$share}*{cut-out}", "pressure", "cfr-571-135"),
)
# fmt: on


def lamp_pressure(context: Context, check: Check, place: Place) -> Found:
    """The greater of what secondary braking needs with the strokes to come, cold, and what they need hot."""
    lamp_rows(context, place.id)
    need = f"{place.id}.lamp-needed"
    return Found({"service_low": need, "danger_low": need}, reason=WHY)


@once
def lamp_rows(context: Context, system_id: str) -> None:
    secondary_rows(context, system_id)
    stroke_rows(context)
    usable_rows(context, system_id, "secondary", "secondary")
    rows = context.workings.scope(system_id)
    rows.add(FOR_STROKES, strokes=STROKES)
    exponent_row(context, system_id, "n-lamp-needed", "n lamp needed", "lamp-estimate", "cut-out-abs")
    rows.add(NEEDED, strokes=STROKES)
    share = published(context, "lamp-share-of-normal", "share of normal", "%")
    rows.add(HALF, share=share, bearing=bearing(context, share))
