"""The leakage that a hold betrays, as rows: what each accumulator gave up while its pressure fell, over 30 min.

What heat alone does to the pressure is taken off before.
"""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import total
from estimator.limits.rows.methods import Context
from estimator.limits.rows.reference_rows import read_at_reference
from estimator.limits.rows.system_rows import accumulators_of
from estimator.limits.rows.usable_rows import LOST, slow_share

# fmt: off
LOWER = (
    Row("left-or-tight-$phase", "p1 $phase",
        "the lower of p left and p tight, $phase work: a pressure that rose betrays no leak",
        "MIN({left-$phase},{tight-$phase})", "pressure", guarded="left-$phase tight-$phase"),
)
PRECHARGE = (
    Row("hold-gauge-$phase", "p0 in the hold $phase",
        "precharge at T0, gauge: as read $phase work, else as the car file gives it",
        "IF(ISNUMBER({reference-$phase}),{reference-$phase},{precharge})", "pressure", plain=True,
        without="reference-$phase precharge"),
    Row("hold-p0-$phase", "p0 warm $phase",
        "that precharge at the temperature of the end, absolute, $phase work",
        "({hold-gauge-$phase}+{constant.atmosphere})*{$system:t-end-$phase}/{reference}",
        "pressure", "precharge-page", "within 2% of real nitrogen from 0 to 40 °C", guarded="$system:warming-$phase"),
    Row("hold-isothermal-$phase", "ΔV ideal $phase",
        "fluid given up between p tight and p1 by an ideal gas, $phase work",
        "MIN({volume},{volume}*{hold-p0-$phase}/{$system:left-or-tight-$phase})"
        "-{volume}*{hold-p0-$phase}/{$system:tight-$phase}", "volume", "closing-unit-worksheet"),
)
GAVE = (
    Row("gave-$phase", "ΔV gave $phase", f"fluid given up in the hold, $phase work; {LOST}",
        "IF(AND({hold-p0-$phase}>{constant.gas-lost},{hold-p0-$phase}<{$system:tight-$phase}),"
        "{hold-isothermal-$phase}*(1-{hold-less-$phase}),0)",
        "volume", "span-2000", "0 to 110 °C", guarded="hold-isothermal-$phase hold-less-$phase"),
)
LEAK = (
    Row("leak-$phase", "Q $phase",
        "leakage that the hold betrays, $phase work, mean of 30 min; a sound system's is Q leak",
        "($gave)/{constant.hold-time}", "mL/s", "span-2000",
        "gas settled, other circuits isolated; 1 to 5% above real nitrogen, within 14% if it cooled by 5 K"),
)
# fmt: on


def leak_rows(context: Context, system_id: str, phase: str) -> None:
    """`leak-<phase>` in the scope of a system, from the rows that hold_rows left there."""
    system = context.workings.scope(system_id)
    system.add(LOWER, phase=phase)
    ids = [item.id for item in accumulators_of(context, system_id)]
    for one in ids:
        read_at_reference(context, one)
        rows = context.workings.scope(one)
        rows.add(PRECHARGE, system=system_id, phase=phase)
        slow_share(
            rows,
            f"hold-less-{phase}",
            f"slow less {phase}",
            f"share that real nitrogen takes off it, {phase} work",
            (f"{system_id}:left-or-tight-{phase}", f"{system_id}:tight-{phase}", f"hold-p0-{phase}"),
        )
        rows.add(GAVE, system=system_id, phase=phase)
    system.add(LEAK, phase=phase, gave=total(f"{one}:gave-{phase}" for one in ids))
