"""The precharge read, brought to the accumulator's reference temperature, as rows; with its uncertainty."""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.hydraulics.domain import positive
from estimator.limits.accumulator_rows import accumulator_data
from estimator.limits.common_rows import cite, once
from estimator.limits.expanded import expanded, part_names
from estimator.limits.methods import Context
from estimator.limits.verdict_words import PHASES
from estimator.limits.working import CANNOT, Scope


@once
def read_at_reference(context: Context, accumulator_id: str) -> None:
    """The data of an accumulator, and its precharge as read in both phases."""
    accumulator_data(context, accumulator_id)
    for phase in PHASES:
        reference_rows(context.workings.scope(accumulator_id), accumulator_id, phase)


def reference_rows(rows: Scope, place: str, phase: str) -> None:
    """`reference-<phase>` and `u-reference-<phase>` in the scope of an accumulator."""
    pressure, temperature = (f"judging.{name}.{place}.si_{phase}" for name in ("precharge", "gas-temperature"))
    u_pressure, u_temperature = (f"judging.{name}.{place}.gauge_u_{phase}" for name in ("precharge", "gas-temperature"))
    rows.row(
        f"read-{phase}",
        f"p0 read {phase}",
        f"precharge read {phase} work, absolute",
        f'IF({{{pressure}}}+{{constant.atmosphere}}>=0,{{{pressure}}}+{{constant.atmosphere}},"{CANNOT}")',
        gas.absolute_pressure,
        pressure,
        unit="pressure",
        source=cite("si-brochure"),
        guarded=(pressure,),
    )
    rows.row(
        f"ratio-{phase}",
        f"T ratio {phase}",
        f"reference temperature over that of the gas, {phase} work",
        f'IF({{{temperature}}}>0,{{reference}}/{{{temperature}}},"{CANNOT}")',
        _ratio,
        "reference",
        temperature,
        unit="1",
        source=cite("precharge-page"),
        guarded=(temperature,),
    )
    rows.row(
        f"reference-{phase}",
        f"p0 at T0 {phase}",
        f"precharge read {phase} work, brought to T0, gauge: what is judged",
        f"{{read-{phase}}}*{{ratio-{phase}}}-{{constant.atmosphere}}",
        lambda read, t0, t, _ratio: gas.precharge_at_temperature(read, t, t0) - gas.ATMOSPHERE_PA,
        f"read-{phase}",
        "reference",
        temperature,
        f"ratio-{phase}",
        unit="pressure",
        source=cite("precharge-page"),
        valid="fluid side at zero and open, gas settled; 0 to 40 °C: within 2 % of real nitrogen",
    )
    rows.row(
        f"u-pressure-{phase}",
        f"u of p0 {phase}",
        f"part of the pressure gauge, {phase} work: u T0/T",
        f"{{{u_pressure}}}*{{ratio-{phase}}}",
        lambda u, ratio: u * ratio,
        u_pressure,
        f"ratio-{phase}",
        unit="pressure",
        source=cite("jcgm-100"),
        guarded=(u_pressure,),
    )
    rows.row(
        f"u-temperature-{phase}",
        f"u of T {phase}",
        f"part of the thermometer, {phase} work: p0 u T0/T²",
        f"{{read-{phase}}}*{{{u_temperature}}}*{{ratio-{phase}}}/{{{temperature}}}",
        lambda read, u, ratio, t: read * u * ratio / t,
        f"read-{phase}",
        u_temperature,
        f"ratio-{phase}",
        temperature,
        unit="pressure",
        source=cite("jcgm-100"),
        guarded=(u_temperature,),
    )
    expanded(
        rows,
        f"u-reference-{phase}",
        f"U {phase}",
        f"U of that, {phase} work",
        part_names(phase, "pressure", "temperature"),
    )


def _ratio(reference: float, temperature: float) -> float:
    positive(temperature_k=temperature)
    return reference / temperature
