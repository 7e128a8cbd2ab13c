"""The loss of the hold check as rows: the settled pressure brought to the temperature at the end, less what is left.

Heat looks like a leak: a tight system loses 1 MPa as it cools by 20 K. Each part of the uncertainty has its row: the
slope of the loss for one reading times the standard uncertainty of that reading.
"""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.expanded import expanded, part_names
from estimator.limits.working import Scope

# fmt: off
LOSS = (
    Row("read-$phase", "p read $phase", "settled pressure as read $phase work, absolute",
        "{$start}+{constant.atmosphere}", "pressure", "si-brochure"),
    Row("settled-$phase", "p settled $phase", "settled pressure $phase work, absolute",
        'IF(AND({read-$phase}>=0,{read-$phase}<={constant.gas-highest}),{read-$phase},"not known")',
        "pressure", "span-2000", "to 18 MPa", guarded="read-$phase"),
    Row("t-start-$phase", "T start $phase", "temperature at the start, $phase work", "{$t_start}+0", "temperature"),
    Row("t-end-$phase", "T end $phase", "temperature at the end, $phase work", "{$t_end}+0", "temperature"),
    Row("cooler-$phase", "T cooler $phase", "the cooler of both temperatures, $phase work",
        "MIN({t-start-$phase},{t-end-$phase})", "temperature", guarded="t-start-$phase t-end-$phase"),
    Row("warmer-$phase", "T warmer $phase", "the warmer of both temperatures, $phase work",
        "MAX({t-start-$phase},{t-end-$phase})", "temperature", guarded="t-start-$phase t-end-$phase"),
    Row("warming-$phase", "T ratio $phase", "temperature at the end over that at the start, $phase work",
        "IF(AND({cooler-$phase}>={constant.gas-coldest},{warmer-$phase}<={constant.gas-hottest}),"
        '{t-end-$phase}/{t-start-$phase},"not known")',
        "1", "span-2000", "both between 0 and 110 °C"),
    Row("added-$phase", "nitrogen $phase", "share that real nitrogen adds to the gas law, $phase work",
        "{constant.heating}*{settled-$phase}/{constant.gas-p-ref}*({$t_end}-{$t_start})/100",
        "1", "span-2000", guarded="warming-$phase"),
    Row("tight-$phase", "p tight $phase", "pressure at the end of a system without a leak, $phase work, absolute",
        "{settled-$phase}*{warming-$phase}*(1+{added-$phase})", "pressure", "span-2000",
        "gas settled at both ends; the change by heat 9% below to 19% above that of real nitrogen"),
    Row("left-$phase", "p left $phase", "pressure 30 min later, $phase work, absolute",
        'IF({$end}+{constant.atmosphere}>=0,{$end}+{constant.atmosphere},"not known")',
        "pressure", "si-brochure", guarded="$end"),
    Row("loss-$phase", "p loss $phase",
        "pressure lost in 30 min, $phase work, at the temperature of the end: what is judged",
        "{tight-$phase}-{left-$phase}", "pressure", "span-2000", "other circuits isolated, pedal untouched"),
    Row("slope-$phase", "slope of nitrogen $phase",
        "change of p tight for each kelvin that real nitrogen adds to the gas law, $phase work (in Pa)",
        "{constant.heating}*{settled-$phase}*{settled-$phase}*{warming-$phase}/{constant.gas-p-ref}/100",
        "pressure", "span-2000"),
    Row("u-start-$phase", "u of p start $phase",
        "part of the gauge at the start: u (p tight/p settled + T end/T start nitrogen), $phase work",
        "{$u_start}*({tight-$phase}/{settled-$phase}+{warming-$phase}*{added-$phase})",
        "pressure", "jcgm-100", guarded="$u_start"),
    Row("u-end-$phase", "u of p end $phase", "part of the gauge at the end, $phase work",
        "{$u_end}", "pressure", "jcgm-100", guarded="$u_end"),
    Row("u-t-start-$phase", "u of T start $phase",
        "part of the thermometer at the start: u (p tight/T start + slope), $phase work",
        "{$u_t_start}*({tight-$phase}/{$t_start}+{slope-$phase})",
        "pressure", "jcgm-100", guarded="$u_t_start $t_start"),
    Row("u-t-end-$phase", "u of T end $phase",
        "part of the thermometer at the end: u (p tight/T end + slope), $phase work",
        "{$u_t_end}*({tight-$phase}/{$t_end}+{slope-$phase})",
        "pressure", "jcgm-100", guarded="$u_t_end $t_end"),
    Row("u-heat-$phase", "u of heat $phase", "part of the formula for heat: 19% of the change, rectangular, $phase work",
        "{constant.heating-doubt}*ABS({tight-$phase}-{settled-$phase})/SQRT({constant.three})", "pressure", "jcgm-100"),
)
# fmt: on
READINGS = {
    "start": "hold-start",
    "end": "hold",
    "t_start": "hold-start-temperature",
    "t_end": "hold-end-temperature",
}


def hold_rows(rows: Scope, place: str, phase: str) -> None:
    """`loss-<phase>` and `u-loss-<phase>` in the scope of a system."""
    read = {key: f"judging.{check}.{place}.si_{phase}" for key, check in READINGS.items()}
    u = {f"u_{key}": f"judging.{check}.{place}.gauge_u_{phase}" for key, check in READINGS.items()}
    rows.add(LOSS, phase=phase, **read, **u)
    parts = part_names(phase, "start", "end", "t-start", "t-end", "heat")
    expanded(rows, f"u-loss-{phase}", f"U loss {phase}", f"U of that loss, {phase} work", parts)
