"""What the accumulators of a system give between cut-out and a lower pressure, as rows: fast, and slow.

Fast is a settled charge at the coldest, used up faster than heat flows in: the end of the band that decides.
"""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once, total
from estimator.limits.rows.methods import Context
from estimator.limits.rows.system_rows import accumulators_of, system_rows
from estimator.limits.working import Scope

FITTED = (
    "0 to 110 °C, 1,100 to 2,400 psi, precharge 300 to 1,400 psi: 6.4% below to 0.7% above real nitrogen; -40 to 0 °C: "
    "13.9% below to 0.7% above"
)
LOST = "nothing when the precharge is lost (two atmospheres or less) or is not below cut-out"

# fmt: off
EXPONENT = (
    Row("$name", "$symbol", "exponent of the fast discharge",
        "IF({$lower}<={$upper},{fast-base$suffix}+{fast-slope$suffix}*SQRT({$lower}*{$upper})/{constant.gas-p-ref},"
        '"not known")', "1", "span-2000", "the lower pressure first; -40 to 110 °C, to 18 MPa"),
)
FAST = (
    Row("gas-$lower", "V gas $words", "gas volume at $words after a fast discharge, at most V emptied",
        "MIN({charged}*POWER({$system:cut-out-abs}/{$system:$lower-abs},1/{$system:n-$lower}),{emptied})",
        "volume", "span-2000"),
    Row("fast-$lower", "ΔV $words", f"fluid from cut-out to $words, fast and cold; {LOST}",
        "IF(AND({cold}>{constant.gas-lost},{cold}<{$system:cut-out-abs}),{gas-$lower}-{charged},0)",
        "volume", "span-2000", FITTED, guarded="cold gas-$lower"),
)
FAST_ALL = (
    Row("fast-$lower", "ΔV $words", "fluid from cut-out to $words, fast and cold, all accumulators",
        "$all", "volume", "span-2000", FITTED),
)
SHARE = (
    Row("$name", "$symbol", "$title", "{constant.slow}*(SQRT({$lower}*{$upper})-{$precharge})/{constant.gas-p-ref}",
        "1", "span-2000"),
)
ISOTHERMAL = (
    Row("isothermal-$lower", "ΔV isothermal $words", "fluid from cut-out to $words at one temperature, ideal gas",
        "MIN({volume},{volume}*{cold}/{$system:$lower-abs})-{charged}", "volume", "closing-unit-worksheet"),
)
SLOW = (
    Row("slow-$lower", "ΔV slow $words", f"fluid from cut-out to $words, slow and cold; {LOST}",
        "IF(AND({cold}>{constant.gas-lost},{cold}<{$system:cut-out-abs}),{isothermal-$lower}*(1-{slow-less-$lower}),0)",
        "volume", "span-2000", "-40 to 110 °C", guarded="cold $system:$lower-abs"),
)
SLOW_ALL = (
    Row("slow-$lower", "ΔV slow $words", "fluid from cut-out to $words, slow and cold, all accumulators",
        "$all", "volume", "span-2000",
        "0 to 110 °C, 1,100 to 2,400 psi: 0.0 to 6.4% above real nitrogen; -40 to 0 °C: 3.1% below to 13.0% above"),
)
COUNT = (
    Row("count-$lower", "count to $words", "applications from cut-out to $words, fast and cold, whole ones",
        "INT({fast-$lower}/{application})", "count", "span-2000", "full applications without recharging"),
)
# fmt: on


def exponent_row(
    context: Context, system_id: str, name: str, symbol: str, lower: str, upper: str, suffix: str = ""
) -> None:
    """The exponent of a fast discharge between two absolute pressures of a system, named as rows; at its coldest in use,
    or with the suffix `-now` at the coldest that was read."""
    rows = context.workings.scope(system_id)
    rows.add(EXPONENT, name=name, symbol=symbol, lower=lower, upper=upper, suffix=suffix)


@once
def usable_rows(context: Context, system_id: str, lower: str, words: str) -> None:
    """The fast usable volume from cut-out to a pressure of the system, named as a row (absolute): `fast-<lower>`."""
    system_rows(context, system_id)
    exponent_row(context, system_id, f"n-{lower}", f"n {words}", f"{lower}-abs", "cut-out-abs")
    ids = [item.id for item in accumulators_of(context, system_id)]
    for one in ids:
        context.workings.scope(one).add(FAST, system=system_id, lower=lower, words=words)
    everyone = total(f"{one}:fast-{lower}" for one in ids)
    context.workings.scope(system_id).add(FAST_ALL, lower=lower, words=words, all=everyone)


@once
def slow_rows(context: Context, system_id: str, lower: str, words: str) -> None:
    """The slow usable volume from cut-out to a pressure of the system: `slow-<lower>`, all accumulators."""
    system_rows(context, system_id)
    ids = [item.id for item in accumulators_of(context, system_id)]
    for one in ids:
        rows = context.workings.scope(one)
        rows.add(ISOTHERMAL, system=system_id, lower=lower, words=words)
        slow_share(
            rows,
            f"slow-less-{lower}",
            f"slow less {words}",
            "share that real nitrogen takes off it: 1.5% for each 10 MPa of the mean pressure above the precharge",
            (f"{system_id}:{lower}-abs", f"{system_id}:cut-out-abs", "cold"),
        )
        rows.add(SLOW, system=system_id, lower=lower, words=words)
    everyone = total(f"{one}:slow-{lower}" for one in ids)
    context.workings.scope(system_id).add(SLOW_ALL, lower=lower, words=words, all=everyone)


def slow_share(rows: Scope, name: str, symbol: str, title: str, pressures: tuple[str, str, str]) -> None:
    """What real nitrogen takes off a slow discharge, as a share; `pressures` names the lower, the upper and the precharge."""
    lower, upper, precharge = pressures
    rows.add(SHARE, name=name, symbol=symbol, title=title, lower=lower, upper=upper, precharge=precharge)


@once
def count_rows(context: Context, system_id: str, lower: str, words: str) -> None:
    """How many applications the fast usable volume gives to a pressure: `count-<lower>`."""
    usable_rows(context, system_id, lower, words)
    context.workings.scope(system_id).add(COUNT, lower=lower, words=words)
