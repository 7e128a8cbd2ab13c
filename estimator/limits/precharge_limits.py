"""The precharge of each accumulator, two-sided, at its reference temperature; and its age. Absolute pressure inside.

Too low, and the strokes still to come when the lamp lights aren't there. Too high, and a hot accumulator is empty of
fluid when the lamp lights. Several accumulators of a system are taken to be charged alike.
"""

from __future__ import annotations

from collections.abc import Callable

from estimator.facts.checks import Check
from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.limits.lamp_limits import STROKES, lamp_rows
from estimator.limits.methods import Context, Found
from estimator.limits.secondary_rows import stroke_rows
from estimator.limits.shared import cite, known, once, published
from estimator.limits.system_rows import accumulator_data, accumulator_of, heating_share
from estimator.limits.usable_rows import exponent_row, usable_rows
from estimator.limits.working import CANNOT, Scope, Si
from estimator.places import Place

WHY_LOW = (
    "no precharge leaves the strokes to come: the lamp lights below the pressure of secondary braking, an application "
    "takes more than the accumulators give, or a temperature or pressure is outside the formulas (0 to 110 °C, 18 MPa)"
)
WHY_HIGH = (
    "no highest precharge can be had: the strokes to come don't fit into the accumulators, or a temperature or "
    "pressure is outside the formulas (0 to 110 °C, 18 MPa)"
)


def precharge(context: Context, check: Check, place: Place) -> Found:
    """Service band and danger limits at the reference temperature, as a gauge reads them."""
    system = accumulator_of(context, place.id).system
    _low_rows(context, system)
    _high_rows(context, system)
    _at_reference(context, place.id, system)
    names = {"service_low": "low", "danger_low": "lowest", "service_high": "high", "danger_high": "highest"}
    sides = {side: f"{place.id}.precharge-{name}" for side, name in names.items()}
    reasons = {"low": WHY_LOW, "high": WHY_HIGH}
    missing = [why for side, why in reasons.items() if not known(context.workings.si(sides[f"service_{side}"]))]
    return Found(sides, reason="; ".join(missing))


def accumulator_age(context: Context, check: Check, place: Place) -> Found:
    """The age at which the maker has it exchanged."""
    item = accumulator_of(context, place.id)
    context.workings.scope(place.id).datum("most-age", "age most", "age at which it is exchanged", item.most_age, "age")
    return Found({"service_high": f"{place.id}.most-age"})


@once
def _low_rows(context: Context, system_id: str) -> None:
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
        "lowest precharge at the coldest that leaves the strokes to come, absolute",
        f'IF({{low-found}}<=MIN({{empty-braked}},{{empty-leaked}}),{{low-found}},"{CANNOT}")',
        _not_above,
        "low-found",
        "empty-braked",
        "empty-leaked",
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        valid="0 to 110 °C; not known where no precharge leaves them",
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
        valid="reserve_left equals the strokes to come at the greater of both",
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
        "precharge, cold, with which the store gives the strokes asked for from cut-out, absolute",
        raw,
        lambda strokes, v, top, volume, x: strokes * v * top / (volume * (x - 1.0)),
        stored,
        "application",
        "cut-out-abs",
        "volume",
        "x-secondary",
        unit="pressure",
        source=cite("un-r13h", "span-2000"),
        status=f"computed; {rows.workings.rows[stored.replace(':', '.')].status}",
        valid=rows.workings.rows[stored.replace(":", ".")].valid,
    )
    ratio = published(context, "maximum-over-precharge-bladder", "p max/p0", "1")
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
def _high_rows(context: Context, system_id: str) -> None:
    """The highest precharge at the hottest: cut-in stays above it, and the lamp lights while the strokes are there."""
    rows = context.workings.scope(system_id)
    ratio = published(context, "cut-in-over-precharge", "p min/p0", "1")
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


def _at_reference(context: Context, accumulator_id: str, system: str) -> None:
    """The limits at the accumulator's reference temperature, as a gauge reads them."""
    accumulator_data(context, accumulator_id)
    rows = context.workings.scope(accumulator_id)
    loss = published(context, "precharge-loss-service", "loss", "%")
    rows.row(
        "kept",
        "p0 kept",
        "precharge at T0 less the loss at which it is recharged, absolute",
        f"{{precharge-abs}}*(1-{{{loss}}})",
        lambda p0, share: p0 * (1.0 - share),
        "precharge-abs",
        loss,
        unit="pressure",
        source=cite("trade"),
        status="common-practice",
    )
    for name, symbol, what in (("low", "p0 low", "service low"), ("lowest", "p0 lowest", "lowest")):
        rows.row(
            f"{name}-reference",
            f"{symbol} at T0",
            f"p0 {what} of the system, at T0, absolute",
            f"{{{system}:{name}}}*{{reference}}/{{{system}:coldest}}",
            gas.precharge_at_temperature,
            f"{system}:{name}",
            f"{system}:coldest",
            "reference",
            unit="pressure",
            source=cite("precharge-page"),
        )
    rows.row(
        "warming",
        "a",
        "gas law from T0 to the hottest: T/T0",
        f"{{{system}:hottest}}/{{reference}}",
        lambda hot, t0: hot / t0,
        f"{system}:hottest",
        "reference",
        unit="1",
        source=cite("precharge-page"),
    )
    inside = (
        f"AND(MIN({{reference}},{{{system}:hottest}})>={{constant.gas-coldest}},"
        f"MAX({{reference}},{{{system}:hottest}})<={{constant.gas-hottest}})"
    )
    rows.row(
        "inside",
        "T inside",
        "1 if T0 and the hottest lie between 0 and 110 °C",
        f'IF({inside},1,"{CANNOT}")',
        lambda t0, hot: 1.0 + 0.0 * heating_share(0.0, t0, hot),
        "reference",
        f"{system}:hottest",
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        "heated",
        "b",
        "what real nitrogen adds from T0 to the hottest, for each pressure",
        f"{{inside}}*{{warming}}*{{constant.heating}}/{{constant.gas-p-ref}}*({{{system}:hottest}}-{{reference}})/100",
        lambda one, a, hot, t0: one * a * heating_share(1.0, t0, hot),
        "inside",
        "warming",
        f"{system}:hottest",
        "reference",
        unit="1/Pa",
        source=cite("span-2000"),
    )
    for name, symbol, what in (("high", "p0 high", "service high"), ("high-lamp", "p0 highest", "highest")):
        _from_hot(rows, name, f"{symbol} at T0", f"p0 {what} of the system, at T0, absolute", f"{system}:{name}")
    _limits(rows)


def _from_hot(rows: Scope, name: str, symbol: str, title: str, hot: str) -> None:
    """The precharge that gas.hot_precharge takes to a pressure: the root of b p² + a p = p hot."""
    rows.row(
        f"{name}-reference",
        symbol,
        f"{title}: the p of p hot = a p + b p²",
        f"IF({{{hot}}}<={{constant.gas-highest}},{{constant.two}}*{{{hot}}}/"
        f'({{warming}}+SQRT({{warming}}*{{warming}}+{{constant.four}}*{{heated}}*{{{hot}}})),"{CANNOT}")',
        _root,
        hot,
        "warming",
        "heated",
        unit="pressure",
        source=cite("span-2000"),
        valid="0 to 110 °C, to 18 MPa: within 1.1 % of real nitrogen",
    )


def _root(hot: float, a: float, b: float) -> float:
    if hot > gas.HIGHEST_PRESSURE_PA:
        raise ValueError("above the pressures of the fit")
    return 2.0 * hot / (a + (a * a + 4.0 * b * hot) ** 0.5)


def _limits(rows: Scope) -> None:
    def limit(name: str, symbol: str, title: str, text: str, compute: Callable[..., Si], *needs: str) -> None:
        rows.row(
            name,
            symbol,
            f"{title}, gauge, at T0",
            f"{text}-{{constant.atmosphere}}",
            compute,
            *needs,
            unit="pressure",
            source=cite("un-r13", "span-2000", "accumulator-maker-ratios", "trade"),
            valid="at the reference temperature; bladders and diaphragms",
            guarded=needs if "(" in text else (),
        )

    def gauge(pressure: float) -> float:
        return pressure - gas.ATMOSPHERE_PA

    limit(
        "precharge-low",
        "precharge low",
        "lowest precharge for service: what the system needs, and no more lost than is common practice",
        "MAX({low-reference},{kept})",
        lambda low, kept: max(low, kept) - gas.ATMOSPHERE_PA,
        "low-reference",
        "kept",
    )
    for name, symbol, title, row in (
        (
            "precharge-lowest",
            "precharge lowest",
            "lowest precharge that leaves the strokes to come",
            "lowest-reference",
        ),
        ("precharge-high", "precharge high", "highest precharge for service", "high-reference"),
        (
            "precharge-highest",
            "precharge highest",
            "highest precharge that leaves the strokes to come",
            "high-lamp-reference",
        ),
    ):
        limit(name, symbol, title, f"{{{row}}}", gauge, row)
