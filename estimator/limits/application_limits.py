"""Applications from cut-out to each system's own lamp, and the pressure after each, without recharging."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.hydraulics import applications as physics
from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.limits.common_rows import cite, once
from estimator.limits.methods import Context, Found
from estimator.limits.secondary_rows import secondary_rows, stroke_rows
from estimator.limits.usable_rows import count_rows, slow_rows
from estimator.limits.working import Scope
from estimator.places import Place

COUNTED = 12
WHY = (
    "the volume of an application or what the accumulators give can't be computed: look at precharge, volume and bores "
    "in car.toml, at cut-out (18 MPa at most), and whether its temperatures lie between 0 and 110 °C"
)


def applications(context: Context, check: Check, place: Place) -> Found:
    """At least as many as the fast usable volume gives at the coldest; never fewer than the low-energy yardstick."""
    system = place.id
    count_rows(context, system, "lamp", "lamp")
    slow_rows(context, system, "lamp", "lamp")
    stroke_rows(context)
    rows = context.workings.scope(system)
    rows.row(
        "applications",
        "count least",
        "applications to the lamp, at least: count to lamp, never fewer than the strokes to come; warm it gives more",
        "MAX({count-lamp},{yardsticks:strokes-to-come})",
        max,
        "count-lamp",
        "yardsticks:strokes-to-come",
        unit="count",
        source=cite("span-2000", "un-r13"),
        valid="gas settled at cut-out, at the coldest",
        guarded=("count-lamp",),
    )
    rows.row(
        "count-slow",
        "count slow",
        "applications to the lamp when the gas has time to warm",
        "INT({slow-lamp}/{application})",
        lambda slow, application: float(slow / application // 1.0),
        "slow-lamp",
        "application",
        unit="count",
        source=cite("span-2000"),
    )
    return Found({"service_low": f"{system}.applications", "danger_low": "yardsticks.strokes-to-come"}, reason=WHY)


@once
def application_information(context: Context, system_id: str) -> None:
    """Applications in a cycle of charging and to secondary braking; the pressure after each of the first."""
    secondary_rows(context, system_id)
    count_rows(context, system_id, "cut-in", "cut-in")
    count_rows(context, system_id, "secondary", "secondary")
    table = context.workings.scope(f"{system_id}-applications")
    _gas_limit(context, system_id)
    table.row(
        "after-0",
        "p after 0",
        "pressure settled at cut-out, gauge",
        f"{{{system_id}:cut-out}}",
        lambda pressure: pressure,
        f"{system_id}:cut-out",
        unit="pressure",
    )
    for number in range(1, COUNTED + 1):
        _after(table, system_id, number)


def _gas_limit(context: Context, system_id: str) -> None:
    context.workings.scope(system_id).row(
        "gas-limit",
        "V gas most",
        "gas volume at which the accumulators count as empty; 0 when the precharge is lost or not below cut-out",
        "IF(AND({cold}>{constant.gas-lost},{cold}<{cut-out-abs}),{charged}+{constant.emptying}*({volume}-{charged}),0)",
        lambda cold, upper, charged, volume: (
            charged + EMPTYING_SHARE * (volume - charged) if gas.LOST_PRECHARGE_PA < cold < upper else 0.0
        ),
        "cold",
        "cut-out-abs",
        "charged",
        "volume",
        unit="volume",
        source=cite("span-2000"),
        guarded=("cold",),
    )


def _after(rows: Scope, system: str, number: int) -> None:
    """As applications.pressures_after_applications: an estimate from the pressure before, then once more."""
    upper, charged, base, slope, temperature = (
        f"{system}:{name}" for name in ("cut-out-abs", "charged", "fast-base", "fast-slope", "fast-temperature")
    )
    before, volume = f"after-{number - 1}", f"gas-{number}"
    rows.row(
        volume,
        f"V gas {number}",
        f"gas volume after {number}",
        (f"{{{charged}}}" if number == 1 else f"{{gas-{number - 1}}}") + f"+{{{system}:application}}",
        lambda held, application: held + application,
        charged if number == 1 else f"gas-{number - 1}",
        f"{system}:application",
        unit="volume",
    )
    rows.row(
        f"first-{number}",
        f"n first {number}",
        "exponent to the pressure before",
        f"{{{base}}}+{{{slope}}}*SQRT(({{{before}}}+{{constant.atmosphere}})*{{{upper}}})/{{constant.gas-p-ref}}",
        lambda near, top, t, *_parts: gas.fast_exponent(near + gas.ATMOSPHERE_PA, top, t),
        before,
        upper,
        temperature,
        base,
        slope,
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        f"estimate-{number}",
        f"p estimate {number}",
        "estimate of the pressure, absolute",
        f"{{{upper}}}*POWER({{{charged}}}/{{{volume}}},{{first-{number}}})",
        lambda top, held, here, n: top * (held / here) ** n,
        upper,
        charged,
        volume,
        f"first-{number}",
        unit="pressure",
        source=cite("span-2000"),
    )
    rows.row(
        f"n-{number}",
        f"n {number}",
        "exponent to that estimate",
        f"{{{base}}}+{{{slope}}}*SQRT({{estimate-{number}}}*{{{upper}}})/{{constant.gas-p-ref}}",
        lambda estimate, top, t, *_parts: gas.fast_exponent(estimate, top, t),
        f"estimate-{number}",
        upper,
        temperature,
        base,
        slope,
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        f"after-{number}",
        f"p after {number}",
        f"pressure after {number}, with which it acts, gauge; 0 once the accumulators are empty",
        f"IF({{{volume}}}>{{{system}:gas-limit}},0,{{{upper}}}*POWER({{{charged}}}/{{{volume}}},{{n-{number}}})"
        "-{constant.atmosphere})",
        lambda volumes, cold, top, application, near, t, *_rest: (
            physics.pressure_after_volume(volumes, cold, top, number * application, near + gas.ATMOSPHERE_PA, t)
            - gas.ATMOSPHERE_PA
        ),
        f"{system}:volume",
        f"{system}:cold",
        upper,
        f"{system}:application",
        before,
        temperature,
        volume,
        f"n-{number}",
        f"{system}:gas-limit",
        unit="pressure",
        source=cite("span-2000"),
        valid="settled at the coldest, applied quickly, to 600 psi: 4.4 % (below 0 °C 9.5 %) below to 0.2 % above real nitrogen",
        guarded=(volume, f"n-{number}", f"{system}:gas-limit"),
    )
