"""What the accumulators of a system give between cut-out and a lower pressure, as rows: fast, and slow.

Fast is a settled charge at the coldest, used up faster than heat flows in: the end of the band that decides.
"""

from __future__ import annotations

import math

from estimator.hydraulics import accumulator, gas
from estimator.limits.common_rows import cite, once, total
from estimator.limits.methods import Context
from estimator.limits.system_rows import accumulators_of, system_rows
from estimator.limits.working import CANNOT, Scope

FITTED = (
    "0 to 110 °C, 1,100 to 2,400 psi, precharge 300 to 1,400 psi: 6.4 % below to 0.7 % above real nitrogen; -40 to 0 °C: "
    "13.9 % below to 0.7 % above"
)
LOST = "nothing when the precharge is lost (two atmospheres or less) or isn't below cut-out"


def exponent_row(context: Context, system_id: str, name: str, symbol: str, lower: str, upper: str) -> None:
    """The exponent of a fast discharge between two absolute pressures of a system, named as rows."""
    context.workings.scope(system_id).row(
        name,
        symbol,
        "exponent of the fast discharge",
        f"IF({{{lower}}}<={{{upper}}},{{fast-base}}+{{fast-slope}}*SQRT({{{lower}}}*{{{upper}}})/{{constant.gas-p-ref}},"
        f'"{CANNOT}")',
        lambda low, high, temperature, *_parts: gas.fast_exponent(low, high, temperature),
        lower,
        upper,
        "fast-temperature",
        "fast-base",
        "fast-slope",
        unit="1",
        source=cite("span-2000"),
        valid="the lower pressure first; -40 to 110 °C, to 18 MPa",
    )


@once
def usable_rows(context: Context, system_id: str, lower: str, lower_words: str) -> None:
    """The fast usable volume from cut-out to a pressure of the system, named as a row (absolute): `fast-<lower>`."""
    system_rows(context, system_id)
    exponent_row(context, system_id, f"n-{lower}", f"n {lower_words}", f"{lower}-abs", "cut-out-abs")
    names = []
    for item in accumulators_of(context, system_id):
        _fast(context, system_id, item.id, lower, lower_words)
        names.append(f"{item.id}:fast-{lower}")
    context.workings.scope(system_id).row(
        f"fast-{lower}",
        f"ΔV {lower_words}",
        f"fluid from cut-out to {lower_words}, fast and cold, all accumulators",
        total(names),
        lambda *parts: sum(parts, 0.0),
        *names,
        unit="volume",
        source=cite("span-2000"),
        valid=FITTED,
    )


def _fast(context: Context, system_id: str, accumulator_id: str, lower: str, words: str) -> None:
    rows = context.workings.scope(accumulator_id)
    upper, low, exponent = (f"{system_id}:{name}" for name in ("cut-out-abs", f"{lower}-abs", f"n-{lower}"))
    rows.row(
        f"gas-{lower}",
        f"V gas {words}",
        f"gas volume at {words} after a fast discharge, at most V emptied",
        f"MIN({{charged}}*POWER({{{upper}}}/{{{low}}},1/{{{exponent}}}),{{emptied}})",
        lambda charged, high, under, n, emptied: min(charged * (high / under) ** (1.0 / n), emptied),
        "charged",
        upper,
        low,
        exponent,
        "emptied",
        unit="volume",
        source=cite("span-2000"),
    )
    rows.row(
        f"fast-{lower}",
        f"ΔV {words}",
        f"fluid from cut-out to {words}, fast and cold; {LOST}",
        f"IF(AND({{cold}}>{{constant.gas-lost}},{{cold}}<{{{upper}}}),{{gas-{lower}}}-{{charged}},0)",
        lambda volume, cold, under, high, t, _gas: accumulator.fast_usable_volume(volume, cold, under, high, t),
        "volume",
        "cold",
        low,
        upper,
        f"{system_id}:fast-temperature",
        f"gas-{lower}",
        unit="volume",
        source=cite("span-2000"),
        valid=FITTED,
        guarded=("cold", f"gas-{lower}"),
    )


@once
def slow_rows(context: Context, system_id: str, lower: str, words: str) -> None:
    """The slow usable volume from cut-out to a pressure of the system: `slow-<lower>`, all accumulators."""
    system_rows(context, system_id)
    names = []
    for item in accumulators_of(context, system_id):
        _slow(context, system_id, item.id, lower, words)
        names.append(f"{item.id}:slow-{lower}")
    context.workings.scope(system_id).row(
        f"slow-{lower}",
        f"ΔV slow {words}",
        f"fluid from cut-out to {words}, slow and cold, all accumulators",
        total(names),
        lambda *parts: sum(parts, 0.0),
        *names,
        unit="volume",
        source=cite("span-2000"),
        valid="0 to 110 °C, 1,100 to 2,400 psi: 0.0 to 6.4 % above real nitrogen; -40 to 0 °C: 3.1 % below to 13.0 % above",
    )


def _slow(context: Context, system_id: str, accumulator_id: str, lower: str, words: str) -> None:
    rows = context.workings.scope(accumulator_id)
    upper, low = f"{system_id}:cut-out-abs", f"{system_id}:{lower}-abs"
    rows.row(
        f"isothermal-{lower}",
        f"ΔV isothermal {words}",
        f"fluid from cut-out to {words} at one temperature, ideal gas",
        f"MIN({{volume}},{{volume}}*{{cold}}/{{{low}}})-{{charged}}",
        lambda volume, cold, under, charged: min(volume, volume * cold / under) - charged,
        "volume",
        "cold",
        low,
        "charged",
        unit="volume",
        source=cite("closing-unit-worksheet"),
    )
    slow_share(
        rows,
        f"slow-less-{lower}",
        f"slow less {words}",
        "share that real nitrogen takes off it: 1.5 % for each 10 MPa of the mean pressure above the precharge",
        (low, upper, "cold"),
    )
    rows.row(
        f"slow-{lower}",
        f"ΔV slow {words}",
        f"fluid from cut-out to {words}, slow and cold; {LOST}",
        f"IF(AND({{cold}}>{{constant.gas-lost}},{{cold}}<{{{upper}}}),"
        f"{{isothermal-{lower}}}*(1-{{slow-less-{lower}}}),0)",
        accumulator.slow_usable_volume,
        "volume",
        "cold",
        low,
        upper,
        unit="volume",
        source=cite("span-2000"),
        valid="-40 to 110 °C",
        guarded=("cold", low),
    )


def slow_share(rows: Scope, name: str, symbol: str, title: str, pressures: tuple[str, str, str]) -> None:
    """What real nitrogen takes off a slow discharge, as a share; `pressures` names the lower, the upper and the precharge."""
    lower, upper, precharge = pressures
    rows.row(
        name,
        symbol,
        title,
        f"{{constant.slow}}*(SQRT({{{lower}}}*{{{upper}}})-{{{precharge}}})/{{constant.gas-p-ref}}",
        lambda under, high, p0: (
            accumulator.SLOW_CORRECTION * (math.sqrt(under * high) - p0) / gas.REFERENCE_PRESSURE_PA
        ),
        *pressures,
        unit="1",
        source=cite("span-2000"),
    )


@once
def count_rows(context: Context, system_id: str, lower: str, words: str) -> None:
    """How many applications the fast usable volume gives to a pressure: `count-<lower>`."""
    usable_rows(context, system_id, lower, words)
    context.workings.scope(system_id).row(
        f"count-{lower}",
        f"count to {words}",
        f"applications from cut-out to {words}, fast and cold, whole ones",
        f"INT({{fast-{lower}}}/{{application}})",
        lambda fast, application: float(math.floor(fast / application)),
        f"fast-{lower}",
        "application",
        unit="count",
        source=cite("span-2000"),
        valid="full applications without recharging",
    )
