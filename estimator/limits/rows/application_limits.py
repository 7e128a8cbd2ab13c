"""Applications from cut-out to each system's own lamp, and the pressure after each, without recharging."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once
from estimator.limits.rows.floor_rows import floor_rows
from estimator.limits.rows.methods import Context, Found
from estimator.limits.rows.secondary_rows import secondary_rows, stroke_rows
from estimator.limits.rows.usable_rows import count_rows, slow_rows
from estimator.places import Place

COUNTED = 12
WHY = (
    "the volume of an application or what the accumulators give cannot be computed: look at precharge, volume and bores "
    "in the car file, at cut-out (18 MPa at most), and whether its temperatures lie between 0 and 110 °C"
)

# fmt: off
APPLICATIONS = (
    Row("applications", "count least",
        "applications until lamp on, at least: count to lamp, never fewer than the applications to come; warm it gives more",
        "MAX({count-lamp},{yardsticks:strokes-to-come})",
        "count", "span-2000 un-r13", "gas settled at cut-out, at the coldest", guarded="count-lamp"),
    Row("count-slow", "count slow", "applications until lamp on when the gas has time to warm",
        "INT({slow-lamp}/{application})", "count", "span-2000"),
)
FLOOR = (
    Row("count-floor", "count floor",
        "share of the applications expected at the manufacturer's precharge, cut-out and lamp as set, cold, rounded up",
        "-INT(-{floors:applications}*{count-lamp})", "count", "trade", "ours; the shop may raise the share", "common-practice"),
    Row("count-lowest", "count lowest", "do-not-drive limit, applications: the greater of that and the applications to come",
        "MAX({count-floor},{yardsticks:strokes-to-come})", "count", "trade un-r13", guarded="count-floor"),
)
GAS_LIMIT = (
    Row("gas-limit", "V gas most",
        "gas volume at which the accumulators count as empty; 0 when the precharge is lost or not below cut-out",
        "IF(AND({cold}>{constant.gas-lost},{cold}<{cut-out-abs}),{charged}+{constant.emptying}*({volume}-{charged}),0)",
        "volume", "span-2000", guarded="cold"),
)
SETTLED = (
    Row("after-0", "p after 0", "pressure settled at cut-out, gauge", "{$system:cut-out}", "pressure"),
)
# The pressure after an application: an estimate with the exponent of the pressure before, then once more.
AFTER = (
    Row("gas-$number", "V gas $number", "gas volume after $number", "{$held}+{$system:application}", "volume"),
    Row("first-$number", "n first $number", "exponent to the pressure before",
        "{$system:fast-base}+{$system:fast-slope}*SQRT(({after-$before}+{constant.atmosphere})*{$system:cut-out-abs})"
        "/{constant.gas-p-ref}", "1", "span-2000"),
    Row("estimate-$number", "p estimate $number", "estimate of the pressure, absolute",
        "{$system:cut-out-abs}*POWER({$system:charged}/{gas-$number},{first-$number})", "pressure", "span-2000"),
    Row("n-$number", "n $number", "exponent to that estimate",
        "{$system:fast-base}+{$system:fast-slope}*SQRT({estimate-$number}*{$system:cut-out-abs})/{constant.gas-p-ref}",
        "1", "span-2000"),
    Row("after-$number", "p after $number",
        "pressure after $number, with which it acts, gauge; 0 once the accumulators are empty",
        "IF({gas-$number}>{$system:gas-limit},0,"
        "MAX(0,{$system:cut-out-abs}*({$system:charged}/{gas-$number})^{n-$number}-{constant.atmosphere}))",
        "pressure", "span-2000",
        "settled at the coldest, applied quickly, to 600 psi: 4.4% (below 0 °C 9.5%) below to 0.2% above real nitrogen",
        guarded="gas-$number n-$number $system:gas-limit"),
)
# fmt: on


def applications(context: Context, check: Check, place: Place) -> Found:
    """At least as many as the fast usable volume gives at the coldest; danger below a share of them, and below the
    strokes to come."""
    system = place.id
    count_rows(context, system, "lamp", "lamp")
    slow_rows(context, system, "lamp", "lamp")
    stroke_rows(context)
    floor_rows(context)
    rows = context.workings.scope(system)
    rows.add(APPLICATIONS)
    rows.add(FLOOR)
    return Found({"service_low": f"{system}.applications", "danger_low": f"{system}.count-lowest"}, reason=WHY)


@once
def application_information(context: Context, system_id: str) -> None:
    """Applications in a cycle of charging and to secondary braking; the pressure after each of the first."""
    secondary_rows(context, system_id)
    count_rows(context, system_id, "cut-in", "cut-in")
    count_rows(context, system_id, "secondary", "secondary")
    context.workings.scope(system_id).add(GAS_LIMIT)
    table = context.workings.scope(f"{system_id}-applications")
    table.add(SETTLED, system=system_id)
    for number in range(1, COUNTED + 1):
        held = f"gas-{number - 1}" if number > 1 else f"{system_id}:charged"
        table.add(AFTER, system=system_id, number=str(number), before=str(number - 1), held=held)
