"""What is judged in place of a reading: precharge at its reference temperature, loss of the hold check; each with U.

Uncertainties are combined in quadrature; U is twice the standard uncertainty. Readings of one gauge are taken as if
their errors had nothing in common: that of its class is then counted in full in both, on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from estimator.facts.checks import Check
from estimator.hydraulics import gas
from estimator.hydraulics.domain import positive, within
from estimator.limits.constants import HEATING_DOUBT
from estimator.limits.judging import COVERAGE, PHASES, Derived
from estimator.limits.methods import Context
from estimator.limits.shared import cite
from estimator.limits.system_rows import accumulator_data, heating_share
from estimator.limits.working import CANNOT, Scope
from estimator.places import Place


def precharge_at_reference(context: Context, check: Check, place: Place) -> Derived:
    """p ref = (p + atmosphere) T0/T - atmosphere, from the gauge on the gas valve and the gas temperature."""
    accumulator_data(context, place.id)
    for phase in PHASES:
        _precharge(context.workings.scope(place.id), place.id, phase)
    return _labels(context, place, "reference", "u-reference")


def hold_loss(context: Context, check: Check, place: Place) -> Derived:
    """Loss = the settled pressure, brought to the temperature at the end, less the pressure at the end."""
    for phase in PHASES:
        _hold(context.workings.scope(place.id), place.id, phase)
    return _labels(context, place, "loss", "u-loss")


def _labels(context: Context, place: Place, value: str, u: str) -> Derived:
    def label(name: str, phase: str) -> str:
        return context.workings.rows[f"{place.id}.{name}-{phase}"].label

    return Derived(label(value, "before"), label(value, "after"), label(u, "before"), label(u, "after"))


def _precharge(rows: Scope, place: str, phase: str) -> None:
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
        f"T0/T {phase}",
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
    _expanded(
        rows,
        f"u-reference-{phase}",
        f"U {phase}",
        f"U of that, {phase} work",
        _names("u-", phase, "pressure", "temperature"),
    )


def _ratio(reference: float, temperature: float) -> float:
    positive(temperature_k=temperature)
    return reference / temperature


def _names(prefix: str, phase: str, *middle: str) -> list[str]:
    return [f"{prefix}{name}-{phase}" for name in middle]


def _expanded(rows: Scope, name: str, symbol: str, title: str, parts: Iterable[str]) -> None:
    parts = tuple(parts)
    rows.row(
        name,
        symbol,
        f"{title}: twice the root of the sum of squares",
        f"{{constant.two}}*SQRT(SUMSQ({','.join(f'{{{part}}}' for part in parts)}))",
        lambda *u: COVERAGE * math.sqrt(sum(one * one for one in u)),
        *parts,
        unit="pressure",
        source=cite("jcgm-100", "ilac-g8"),
        valid="k = 2; each reading's uncertainty in full",
        guarded=parts,
    )


def _hold(rows: Scope, place: str, phase: str) -> None:
    names = {"start": "hold-start", "end": "hold", "t-start": "hold-start-temperature", "t-end": "hold-end-temperature"}
    si = {key: f"judging.{name}.{place}.si_{phase}" for key, name in names.items()}
    u = {key: f"judging.{name}.{place}.gauge_u_{phase}" for key, name in names.items()}
    first, last = si["t-start"], si["t-end"]
    rows.row(
        f"settled-{phase}",
        f"p settled {phase}",
        f"settled pressure {phase} work, absolute",
        f"IF(AND({{{si['start']}}}+{{constant.atmosphere}}>=0,{{{si['start']}}}+{{constant.atmosphere}}<={{constant.gas-highest}}),"
        f'{{{si["start"]}}}+{{constant.atmosphere}},"{CANNOT}")',
        _settled,
        si["start"],
        unit="pressure",
        source=cite("si-brochure"),
        valid="to 18 MPa",
        guarded=(si["start"],),
    )
    rows.row(
        f"warming-{phase}",
        f"T end/T start {phase}",
        f"temperature at the end over that at the start, {phase} work",
        f"IF(AND(MIN({{{first}}},{{{last}}})>={{constant.gas-coldest}},MAX({{{first}}},{{{last}}})<={{constant.gas-hottest}}),"
        f'{{{last}}}/{{{first}}},"{CANNOT}")',
        _warming,
        first,
        last,
        unit="1",
        source=cite("span-2000"),
        valid="both between 0 and 110 °C",
        guarded=(first, last),
    )
    rows.row(
        f"added-{phase}",
        f"nitrogen {phase}",
        f"share that real nitrogen adds to the gas law, {phase} work",
        f"{{constant.heating}}*{{settled-{phase}}}/{{constant.gas-p-ref}}*({{{last}}}-{{{first}}})/100",
        heating_share,
        f"settled-{phase}",
        first,
        last,
        unit="1",
        source=cite("span-2000"),
        guarded=(f"warming-{phase}",),
    )
    rows.row(
        f"tight-{phase}",
        f"p tight {phase}",
        f"pressure at the end of a system without a leak, {phase} work, absolute",
        f"{{settled-{phase}}}*{{warming-{phase}}}*(1+{{added-{phase}}})",
        lambda settled, t1, t2, _warm, _added: gas.pressure_by_temperature_alone(settled, t1, t2),
        f"settled-{phase}",
        first,
        last,
        f"warming-{phase}",
        f"added-{phase}",
        unit="pressure",
        source=cite("span-2000"),
        valid="gas settled at both ends; the change by heat 9 % below to 19 % above that of real nitrogen",
    )
    rows.row(
        f"loss-{phase}",
        f"p loss {phase}",
        f"pressure lost in 30 min, {phase} work, at the temperature of the end: what is judged",
        f"{{tight-{phase}}}-{{{si['end']}}}-{{constant.atmosphere}}",
        lambda tight, end: tight - gas.absolute_pressure(end),
        f"tight-{phase}",
        si["end"],
        unit="pressure",
        source=cite("span-2000"),
        valid="other users isolated, pedal untouched",
        guarded=(si["end"],),
    )
    _hold_parts(rows, phase, si, u)


def _settled(gauge: float) -> float:
    absolute = gas.absolute_pressure(gauge)
    within(0.0, gas.HIGHEST_PRESSURE_PA, "the fits to real nitrogen", pressure_pa=absolute)
    return absolute


def _warming(first: float, last: float) -> float:
    heating_share(0.0, first, last)
    return last / first


def _hold_parts(rows: Scope, phase: str, si: dict[str, str], u: dict[str, str]) -> None:
    settled, warming, first = f"settled-{phase}", f"warming-{phase}", si["t-start"]
    tight = f"tight-{phase}"

    def part(name: str, symbol: str, title: str, expression: str, compute, *needs: str) -> None:
        rows.row(
            f"u-{name}-{phase}",
            f"{symbol} {phase}",
            f"{title}, {phase} work",
            expression,
            compute,
            *needs,
            unit="pressure",
            source=cite("jcgm-100"),
            guarded=tuple(need for need in needs if need.startswith("judging.")),
        )

    part(
        "start",
        "u of p start",
        "part of the gauge at the start: u T end/T start",
        f"{{{u['start']}}}*{{{warming}}}",
        lambda a, b: a * b,
        u["start"],
        warming,
    )
    part("end", "u of p end", "part of the gauge at the end", f"{{{u['end']}}}", lambda a: a, u["end"])
    part(
        "t-start",
        "u of T start",
        "part of the thermometer at the start: p T end u/T start²",
        f"{{{settled}}}*{{{warming}}}*{{{u['t-start']}}}/{{{first}}}",
        lambda p, r, a, t: p * r * a / t,
        settled,
        warming,
        u["t-start"],
        first,
    )
    part(
        "t-end",
        "u of T end",
        "part of the thermometer at the end: p u/T start",
        f"{{{settled}}}*{{{u['t-end']}}}/{{{first}}}",
        lambda p, a, t: p * a / t,
        settled,
        u["t-end"],
        first,
    )
    part(
        "heat",
        "u of heat",
        "part of the formula for heat: 19 % of the change, rectangular",
        f"{{constant.heating-doubt}}*ABS({{{tight}}}-{{{settled}}})/SQRT({{constant.three}})",
        lambda a, b: HEATING_DOUBT * abs(a - b) / math.sqrt(3.0),
        tight,
        settled,
    )
    _expanded(
        rows,
        f"u-loss-{phase}",
        f"U loss {phase}",
        f"U of that loss, {phase} work",
        _names("u-", phase, "start", "end", "t-start", "t-end", "heat"),
    )
