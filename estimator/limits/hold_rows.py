"""The loss of the hold check as rows: the settled pressure brought to the temperature at the end, less what is left.

Heat looks like a leak: a tight system loses 1 MPa as it cools by 20 K. Each part of the uncertainty has its row.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from estimator.hydraulics import gas
from estimator.hydraulics.domain import within
from estimator.limits.accumulator_rows import heating_share
from estimator.limits.common_rows import cite
from estimator.limits.constants import HEATING_DOUBT
from estimator.limits.expanded import expanded, part_names
from estimator.limits.working import CANNOT, Scope


def hold_rows(rows: Scope, place: str, phase: str) -> None:
    """`loss-<phase>` and `u-loss-<phase>` in the scope of a system."""
    names = {"start": "hold-start", "end": "hold", "t-start": "hold-start-temperature", "t-end": "hold-end-temperature"}
    si = {key: f"judging.{name}.{place}.si_{phase}" for key, name in names.items()}
    u = {key: f"judging.{name}.{place}.gauge_u_{phase}" for key, name in names.items()}
    first, last = si["t-start"], si["t-end"]
    rows.row(
        f"read-{phase}",
        f"p read {phase}",
        f"settled pressure as read {phase} work, absolute",
        f"{{{si['start']}}}+{{constant.atmosphere}}",
        lambda gauge: gauge + gas.ATMOSPHERE_PA,
        si["start"],
        unit="pressure",
        source=cite("si-brochure"),
    )
    read = f"{{read-{phase}}}"
    rows.row(
        f"settled-{phase}",
        f"p settled {phase}",
        f"settled pressure {phase} work, absolute",
        f'IF(AND({read}>=0,{read}<={{constant.gas-highest}}),{read},"{CANNOT}")',
        _settled,
        f"read-{phase}",
        unit="pressure",
        source=cite("span-2000"),
        valid="to 18 MPa",
        guarded=(f"read-{phase}",),
    )
    for when, words in (("t-start", "start"), ("t-end", "end")):
        rows.row(
            f"{when}-{phase}",
            f"T {words} {phase}",
            f"temperature at the {words}, {phase} work",
            f"{{{si[when]}}}+0",
            lambda kelvin: kelvin,
            si[when],
            unit="temperature",
        )
    start, end = f"{{t-start-{phase}}}", f"{{t-end-{phase}}}"
    for name, words, function, compute in (("cooler", "cooler", "MIN", min), ("warmer", "warmer", "MAX", max)):
        rows.row(
            f"{name}-{phase}",
            f"T {words} {phase}",
            f"the {words} of both temperatures, {phase} work",
            f"{function}({start},{end})",
            compute,
            f"t-start-{phase}",
            f"t-end-{phase}",
            unit="temperature",
            guarded=(f"t-start-{phase}", f"t-end-{phase}"),
        )
    rows.row(
        f"warming-{phase}",
        f"T ratio {phase}",
        f"temperature at the end over that at the start, {phase} work",
        f"IF(AND({{cooler-{phase}}}>={{constant.gas-coldest}},{{warmer-{phase}}}<={{constant.gas-hottest}}),"
        f'{end}/{start},"{CANNOT}")',
        _warming,
        f"t-start-{phase}",
        f"t-end-{phase}",
        unit="1",
        source=cite("span-2000"),
        valid="both between 0 and 110 °C",
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
        f"left-{phase}",
        f"p left {phase}",
        f"pressure 30 min later, {phase} work, absolute",
        f'IF({{{si["end"]}}}+{{constant.atmosphere}}>=0,{{{si["end"]}}}+{{constant.atmosphere}},"{CANNOT}")',
        gas.absolute_pressure,
        si["end"],
        unit="pressure",
        source=cite("si-brochure"),
        guarded=(si["end"],),
    )
    rows.row(
        f"loss-{phase}",
        f"p loss {phase}",
        f"pressure lost in 30 min, {phase} work, at the temperature of the end: what is judged",
        f"{{tight-{phase}}}-{{left-{phase}}}",
        lambda tight, left: tight - left,
        f"tight-{phase}",
        f"left-{phase}",
        unit="pressure",
        source=cite("span-2000"),
        valid="other users isolated, pedal untouched",
    )
    _hold_parts(rows, phase, si, u)


def _settled(absolute: float) -> float:
    within(0.0, gas.HIGHEST_PRESSURE_PA, "the fits to real nitrogen", pressure_pa=absolute)
    return absolute


def _warming(first: float, last: float) -> float:
    heating_share(0.0, first, last)
    return last / first


def _hold_parts(rows: Scope, phase: str, si: dict[str, str], u: dict[str, str]) -> None:
    """Each part is the slope of the loss for one reading times the standard uncertainty of that reading."""
    settled, warming, added, tight = (f"{name}-{phase}" for name in ("settled", "warming", "added", "tight"))
    slope = f"slope-{phase}"
    rows.row(
        slope,
        f"slope of nitrogen {phase}",
        f"change of p tight for each kelvin that real nitrogen adds to the gas law, {phase} work (in Pa)",
        f"{{constant.heating}}*{{{settled}}}*{{{settled}}}*{{{warming}}}/{{constant.gas-p-ref}}/100",
        lambda p, ratio: gas.HEATING_CORRECTION * p * p * ratio / gas.REFERENCE_PRESSURE_PA / gas.REFERENCE_WARMING_K,
        settled,
        warming,
        unit="pressure",
        source=cite("span-2000"),
    )

    def part(name: str, symbol: str, title: str, expression: str, compute: Callable[..., float], *needs: str) -> None:
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
        "part of the gauge at the start: u (p tight/p settled + T end/T start nitrogen)",
        f"{{{u['start']}}}*({{{tight}}}/{{{settled}}}+{{{warming}}}*{{{added}}})",
        lambda one, after, before, ratio, share: one * (after / before + ratio * share),
        u["start"],
        tight,
        settled,
        warming,
        added,
    )
    part("end", "u of p end", "part of the gauge at the end", f"{{{u['end']}}}", lambda one: one, u["end"])
    for name, where in (("t-start", "start"), ("t-end", "end")):
        part(
            name,
            f"u of T {where}",
            f"part of the thermometer at the {where}: u (p tight/T {where} + slope)",
            f"{{{u[name]}}}*({{{tight}}}/{{{si[name]}}}+{{{slope}}})",
            lambda one, after, temperature, more: one * (after / temperature + more),
            u[name],
            tight,
            si[name],
            slope,
        )
    part(
        "heat",
        "u of heat",
        "part of the formula for heat: 19 % of the change, rectangular",
        f"{{constant.heating-doubt}}*ABS({{{tight}}}-{{{settled}}})/SQRT({{constant.three}})",
        lambda after, before: HEATING_DOUBT * abs(after - before) / math.sqrt(3.0),
        tight,
        settled,
    )
    expanded(
        rows,
        f"u-loss-{phase}",
        f"U loss {phase}",
        f"U of that loss, {phase} work",
        part_names(phase, "start", "end", "t-start", "t-end", "heat"),
    )
