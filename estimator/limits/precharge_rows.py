"""The lowest and the highest precharge of each system, at its coldest and its hottest, as rows. Absolute pressure.

Several accumulators of a system are taken to be charged alike.
"""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.limits.common_rows import cite, known, once, published
from estimator.limits.lamp_limits import STROKES, lamp_rows
from estimator.limits.methods import Context
from estimator.limits.secondary_rows import stroke_rows
from estimator.limits.usable_rows import exponent_row, usable_rows
from estimator.limits.working import CANNOT, Scope


@once
def low_rows(context: Context, system_id: str) -> None:
    """The lowest precharge at the coldest that leaves the strokes to come, and the ones of the other yardsticks."""
    lamp_rows(context, system_id)
    stroke_rows(context)
    usable_rows(context, system_id, "lamp", "lamp")
    rows = context.workings.scope(system_id)
    exponent_row(context, system_id, "n-settled", "n lamp to secondary", "secondary-abs", "lamp-abs")
    for name, symbol, title, upper, lower, exponent in (
        ("x-secondary", "x secondary", "from cut-out to p secondary", "cut-out-abs", "secondary-abs", "n-secondary"),
        ("x-lamp", "x lamp", "from cut-out to the lamp setting", "cut-out-abs", "lamp-abs", "n-lamp"),
        (
            "x-settled",
            "x settled",
            "from the lamp setting, settled, to p secondary",
            "lamp-abs",
            "secondary-abs",
            "n-settled",
        ),
    ):
        rows.row(
            name,
            symbol,
            f"how far a gas expands {title}, fast",
            f"POWER({{{upper}}}/{{{lower}}},1/{{{exponent}}})",
            lambda high, low, n: (high / low) ** (1.0 / n),
            upper,
            lower,
            exponent,
            unit="1",
            source=cite("span-2000"),
        )
    rows.row(
        "to-come",
        "V to come",
        "fluid of the strokes to come",
        f"{{{STROKES}}}*{{application}}",
        lambda strokes, application: strokes * application,
        STROKES,
        "application",
        unit="volume",
        source=cite("un-r13"),
    )
    _lowest(rows, "low-braked", "p0 braked", "braked down quickly", "cut-out-abs", "({x-secondary}-{x-lamp})", "x-lamp")
    _lowest(rows, "low-leaked", "p0 leaked", "leaked down slowly", "lamp-abs", "({x-settled}-1)", "")
    _emptied(rows, "empty-braked", "p0 empty braked", "cut-out-abs", "x-secondary")
    _emptied(rows, "empty-leaked", "p0 empty leaked", "lamp-abs", "x-settled")
    rows.row(
        "low-found",
        "p0 low",
        "the greater of those, never below that of a lost gas, absolute",
        "MAX({low-braked},{low-leaked},{constant.gas-lost})",
        lambda braked, leaked: max(braked, leaked, gas.LOST_PRECHARGE_PA),
        "low-braked",
        "low-leaked",
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        guarded=("low-braked", "low-leaked"),
    )
    rows.row(
        "lowest",
        "p0 lowest",
        "lowest precharge at the coldest that leaves the strokes to come, absolute; not known where none does",
        f'IF({{low-found}}<=MIN({{empty-braked}},{{empty-leaked}}),{{low-found}},"{CANNOT}")',
        _not_above,
        "low-found",
        "empty-braked",
        "empty-leaked",
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        valid="-40 to 110 °C",
        guarded=("low-found", "empty-braked", "empty-leaked"),
    )
    _others(context, rows)


def _lowest(rows: Scope, name: str, symbol: str, how: str, upper: str, expansion: str, further: str) -> None:
    needs = ("x-secondary", further) if further else ("x-settled",)
    rows.row(
        name,
        symbol,
        f"lowest precharge, cold, that leaves the strokes to come at the lamp setting, {how}, absolute",
        f"{{to-come}}*{{{upper}}}/({{volume}}*{expansion})",
        lambda volume_to_come, top, volume, *x: volume_to_come * top / (volume * (x[0] - (x[1] if further else 1.0))),
        "to-come",
        upper,
        "volume",
        *needs,
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        valid="-40 to 110 °C, below p0 empty; real nitrogen needs at most 2.7 % more",
    )


def _emptied(rows: Scope, name: str, symbol: str, upper: str, expansion: str) -> None:
    rows.row(
        name,
        symbol,
        "precharge, cold, above which the fluid runs out before p secondary, absolute",
        f"{{constant.emptying}}*{{{upper}}}/({{{expansion}}}-1+{{constant.emptying}})",
        lambda top, x: EMPTYING_SHARE * top / (x - 1.0 + EMPTYING_SHARE),
        upper,
        expansion,
        unit="pressure",
        source=cite("span-2000"),
    )


def _not_above(low: float, *most: float) -> float:
    if low > min(most):
        raise ValueError("the fluid runs out before that")
    return low


def _others(context: Context, rows: Scope) -> None:
    stored = "yardsticks:strokes-stored"
    raw = f"{{{stored}}}*{{application}}*{{cut-out-abs}}/({{volume}}*({{x-secondary}}-1))"
    rows.row(
        "low-stored",
        "p0 stored",
        "precharge, cold, with which the store gives the strokes asked for from cut-out, absolute: a yardstick",
        raw,
        lambda strokes, v, top, volume, x: strokes * v * top / (volume * (x - 1.0)),
        stored,
        "application",
        "cut-out-abs",
        "volume",
        "x-secondary",
        unit="pressure",
        source=cite("un-r13h", "span-2000"),
        status=f"computed; {context.record.fact('reserve-strokes').status}",
    )
    ratio = published(context, "maximum-over-precharge-bladder", "ratio most", "1")
    rows.row(
        "low-ratio",
        "p0 ratio low",
        "precharge below which cut-out crushes the bladder, absolute",
        f"{{cut-out-abs}}/{{{ratio}}}",
        lambda top, most: top / most,
        "cut-out-abs",
        ratio,
        unit="pressure",
        source=cite("accumulator-maker-ratios"),
        valid="bladders and diaphragms; a piston has no such limit",
    )
    store, most = rows.value("low-stored"), rows.value("empty-braked")
    reached = known(store) and known(most) and float(store) <= float(most)
    rows.row(
        "low-counted",
        "p0 stored counted",
        "that of the stored strokes where a precharge gives them, else 0: a yardstick never decides alone",
        "IF(COUNT({low-stored},{empty-braked})<COUNTA({low-stored},{empty-braked}),0,"
        "IF({low-stored}<={empty-braked},{low-stored},0))",
        store if reached else 0.0,
        unit="pressure",
        source=cite("un-r13h", "span-2000"),
    )
    rows.row(
        "low",
        "p0 service low",
        "lowest precharge for service at the coldest: the greatest of those, absolute",
        "MAX({lowest},{low-ratio},{low-counted})",
        max,
        "lowest",
        "low-ratio",
        "low-counted",
        unit="pressure",
        source=cite("un-r13", "un-r13h", "accumulator-maker-ratios"),
        guarded=("lowest", "low-ratio"),
    )


@once
def high_rows(context: Context, system_id: str) -> None:
    """The highest precharge at the hottest: cut-in stays above it, and the lamp lights while the strokes are there."""
    rows = context.workings.scope(system_id)
    ratio = published(context, "cut-in-over-precharge", "ratio least", "1")
    rows.row(
        "high-ratio",
        "p0 ratio high",
        "precharge, hot, above which the bladder strikes the port at cut-in, absolute",
        f"{{cut-in-abs}}/{{{ratio}}}",
        lambda low, least: low / least,
        "cut-in-abs",
        ratio,
        unit="pressure",
        source=cite("accumulator-maker-ratios"),
        valid="bladders and diaphragms; a piston has no such limit",
    )
    rows.row(
        "high-lamp",
        "p0 highest",
        "precharge, hot, above which the lamp lights with fewer strokes left: p lamp (1 - share held), absolute",
        f'IF({{held-share}}<1,{{lamp-abs}}*(1-{{held-share}}),"{CANNOT}")',
        _lamp_high,
        "lamp-abs",
        "held-share",
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        valid="0 to 110 °C, to 2,400 psi",
        guarded=("held-share",),
    )
    rows.row(
        "high",
        "p0 service high",
        "highest precharge for service at the hottest: the lesser of both, absolute",
        "MIN({high-ratio},{high-lamp})",
        min,
        "high-ratio",
        "high-lamp",
        unit="pressure",
        source=cite("accumulator-maker-ratios", "un-r13"),
        guarded=("high-lamp",),
    )


def _lamp_high(lamp: float, share: float) -> float:
    if share >= 1.0:
        raise ValueError("more than the accumulators hold")
    return lamp * (1.0 - share)
