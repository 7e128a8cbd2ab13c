"""The precharge read, brought to the accumulator's reference temperature, as rows; with its uncertainty."""

from __future__ import annotations

from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.row_table import Row
from estimator.limits.rows.accumulator_rows import accumulator_data
from estimator.limits.rows.common_rows import once
from estimator.limits.rows.expanded import expanded, part_names
from estimator.limits.rows.methods import Context

# fmt: off
AT_REFERENCE = (
    Row("read-$phase", "p0 read $phase", "precharge read $phase work, absolute",
        'IF({$pressure}+{constant.atmosphere}>=0,{$pressure}+{constant.atmosphere},"not known")',
        "pressure", "si-brochure", guarded="$pressure"),
    Row("ratio-$phase", "T ratio $phase", "reference temperature over that of the gas, $phase work",
        'IF({$temperature}>0,{reference}/{$temperature},"not known")',
        "1", "precharge-page", guarded="$temperature"),
    Row("reference-$phase", "p0 at T0 $phase",
        "precharge read $phase work, corrected to T0, gauge: what is judged",
        "{read-$phase}*{ratio-$phase}-{constant.atmosphere}", "pressure", "precharge-page",
        "fluid side at zero and open, gas settled; 0 to 40 °C: within 2% of real nitrogen"),
    Row("u-pressure-$phase", "u of p0 $phase", "part of the pressure gauge, $phase work: u T0/T",
        "{$u_pressure}*{ratio-$phase}", "pressure", "jcgm-100", guarded="$u_pressure"),
    Row("u-temperature-$phase", "u of T $phase", "part of the thermometer, $phase work: p0 u T0/T²",
        "{read-$phase}*{$u_temperature}*{ratio-$phase}/{$temperature}",
        "pressure", "jcgm-100", guarded="$u_temperature"),
)
# fmt: on


@once
def read_at_reference(context: Context, accumulator_id: str) -> None:
    """`reference-<phase>` and `u-reference-<phase>` in the scope of an accumulator."""
    accumulator_data(context, accumulator_id)
    rows, pressure, temperature = (
        context.workings.scope(accumulator_id),
        f"judging.precharge.{accumulator_id}",
        f"judging.gas-temperature.{accumulator_id}",
    )
    for phase in PHASES:
        rows.add(
            AT_REFERENCE,
            phase=phase,
            pressure=f"{pressure}.si_{phase}",
            temperature=f"{temperature}.si_{phase}",
            u_pressure=f"{pressure}.gauge_u_{phase}",
            u_temperature=f"{temperature}.gauge_u_{phase}",
        )
        parts = part_names(phase, "pressure", "temperature")
        expanded(rows, f"u-reference-{phase}", f"U {phase}", f"U of that, {phase} work", parts)
