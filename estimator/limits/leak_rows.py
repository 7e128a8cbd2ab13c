"""The leakage that a hold betrays, as rows: what each accumulator gave up while its pressure fell, over 30 min.

The fluid side of leakage.leakage_from_hold; what heat alone does to the pressure is taken off before.
"""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import slow_usable_volume
from estimator.limits.common_rows import chosen, cite, total
from estimator.limits.constants import HOLD_TIME_S
from estimator.limits.methods import Context
from estimator.limits.reference_rows import read_at_reference
from estimator.limits.system_rows import accumulators_of
from estimator.limits.usable_rows import LOST, slow_share


def leak_rows(context: Context, system_id: str, phase: str) -> None:
    """`leak-<phase>` in the scope of a system, from the rows that hold_rows left there."""
    rows = context.workings.scope(system_id)
    rows.row(
        f"left-or-tight-{phase}",
        f"p1 {phase}",
        f"the lower of p left and p tight, {phase} work: a pressure that rose betrays no leak",
        f"MIN({{left-{phase}}},{{tight-{phase}}})",
        min,
        f"left-{phase}",
        f"tight-{phase}",
        unit="pressure",
        guarded=(f"left-{phase}", f"tight-{phase}"),
    )
    names = []
    for item in accumulators_of(context, system_id):
        _given_up(context, system_id, item.id, phase)
        names.append(f"{item.id}:gave-{phase}")
    rows.row(
        f"leak-{phase}",
        f"Q {phase}",
        f"leakage that the hold betrays, {phase} work, mean of 30 min; a sound system's is Q leak",
        f"({total(names)})/{{constant.hold-time}}",
        lambda *parts: sum(parts) / HOLD_TIME_S,
        *names,
        unit="mL/s",
        source=cite("span-2000"),
        valid="gas settled, other users isolated; 1 to 5 % above real nitrogen, within 14 % if it cooled by 5 K",
    )


def _given_up(context: Context, system_id: str, accumulator_id: str, phase: str) -> None:
    read_at_reference(context, accumulator_id)
    rows = context.workings.scope(accumulator_id)
    low, tight, warm, ratio = (f"{system_id}:{name}-{phase}" for name in ("left-or-tight", "tight", "t-end", "warming"))
    read = f"reference-{phase}"
    rows.row(
        f"hold-gauge-{phase}",
        f"p0 in the hold {phase}",
        f"precharge at T0, gauge: as read {phase} work, else as car.toml gives it",
        f"IF(ISNUMBER({{{read}}}),{{{read}}},{{precharge}})",
        chosen(rows.value(read), rows.value("precharge")),
        unit="pressure",
    )
    rows.row(
        f"hold-p0-{phase}",
        f"p0 warm {phase}",
        f"that precharge at the temperature of the end, absolute, {phase} work",
        f"({{hold-gauge-{phase}}}+{{constant.atmosphere}})*{{{warm}}}/{{reference}}",
        lambda gauge, t0, t, _inside: gas.precharge_at_temperature(gas.absolute_pressure(gauge), t0, t),
        f"hold-gauge-{phase}",
        "reference",
        warm,
        ratio,
        unit="pressure",
        source=cite("precharge-page"),
        valid="within 2 % of real nitrogen from 0 to 40 °C",
        guarded=(ratio,),
    )
    p0 = f"hold-p0-{phase}"
    rows.row(
        f"hold-isothermal-{phase}",
        f"ΔV ideal {phase}",
        f"fluid given up between p tight and p1 by an ideal gas, {phase} work",
        f"MIN({{volume}},{{volume}}*{{{p0}}}/{{{low}}})-{{volume}}*{{{p0}}}/{{{tight}}}",
        lambda volume, cold, under, upper: min(volume, volume * cold / under) - volume * cold / upper,
        "volume",
        p0,
        low,
        tight,
        unit="volume",
        source=cite("closing-unit-worksheet"),
    )
    slow_share(
        rows,
        f"hold-less-{phase}",
        f"slow less {phase}",
        f"share that real nitrogen takes off it, {phase} work",
        (low, tight, p0),
    )
    ideal, less = f"hold-isothermal-{phase}", f"hold-less-{phase}"
    rows.row(
        f"gave-{phase}",
        f"ΔV gave {phase}",
        f"fluid given up in the hold, {phase} work; {LOST}",
        f"IF(AND({{{p0}}}>{{constant.gas-lost}},{{{p0}}}<{{{tight}}}),{{{ideal}}}*(1-{{{less}}}),0)",
        lambda volume, cold, under, upper, *_shown: slow_usable_volume(volume, cold, under, upper),
        "volume",
        p0,
        low,
        tight,
        ideal,
        less,
        unit="volume",
        source=cite("span-2000"),
        valid="0 to 110 °C",
        guarded=(ideal, less),
    )
