"""The precharge of each accumulator, two-sided, at its reference temperature; and its age. Absolute pressure inside.

Too low, and the strokes still to come when the lamp lights aren't there. Too high, and a hot accumulator is empty of
fluid when the lamp lights. Where one of the four limits can't be had, none is given: a precharge judged on one side
alone could be called good with no gas in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from estimator.facts.checks import Check
from estimator.hydraulics import gas
from estimator.limits.accumulator_rows import accumulator_data, accumulator_of, heating_share
from estimator.limits.common_rows import cite, known, published
from estimator.limits.methods import Context, Found
from estimator.limits.precharge_rows import high_rows, low_rows
from estimator.limits.working import CANNOT, Scope, Si
from estimator.places import Place

WHY_LOW = (
    "no precharge leaves the strokes to come: the lamp lights below the pressure of secondary braking, an application "
    "takes more than the accumulators give, or a temperature or pressure is outside the formulas (-40 to 110 °C, 18 MPa)"
)
WHY_HIGH = (
    "no highest precharge can be had: the strokes to come don't fit into the accumulators, or a temperature or "
    "pressure is outside the formulas (0 to 110 °C, 18 MPa)"
)


def precharge(context: Context, check: Check, place: Place) -> Found:
    """Service band and danger limits at the reference temperature, as a gauge reads them."""
    system = accumulator_of(context, place.id).system
    low_rows(context, system)
    high_rows(context, system)
    _at_reference(context, place.id, system)
    names = {"service_low": "low", "danger_low": "lowest", "service_high": "high", "danger_high": "highest"}
    sides = {side: f"{place.id}.precharge-{name}" for side, name in names.items()}
    reasons = {f"{system}.low": WHY_LOW, f"{place.id}.high-lamp-reference": WHY_HIGH}
    missing = [why for ref, why in reasons.items() if not known(context.workings.si(ref))]
    return Found(sides, reason="; ".join(missing))


def accumulator_age(context: Context, check: Check, place: Place) -> Found:
    """The age at which the maker has it exchanged."""
    item = accumulator_of(context, place.id)
    context.workings.scope(place.id).datum("most-age", "age most", "age at which it is exchanged", item.most_age, "age")
    return Found({"service_high": f"{place.id}.most-age"})


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
        f"{name}-root",
        f"√ {symbol}",
        f"square root for {title.split(',')[0]} at T0: √(a² + 4 b p hot)",
        f"SQRT({{warming}}*{{warming}}+{{constant.four}}*{{heated}}*{{{hot}}})",
        lambda hot, a, b: math.sqrt(a * a + 4.0 * b * hot),
        hot,
        "warming",
        "heated",
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        f"{name}-reference",
        symbol,
        f"{title}: the p of p hot = a p + b p²",
        f'IF({{{hot}}}<={{constant.gas-highest}},{{constant.two}}*{{{hot}}}/({{warming}}+{{{name}-root}}),"{CANNOT}")',
        _root,
        hot,
        "warming",
        f"{name}-root",
        unit="pressure",
        source=cite("span-2000"),
        valid="0 to 110 °C, to 18 MPa: within 1.1 % of real nitrogen",
    )


def _root(hot: float, a: float, root: float) -> float:
    if hot > gas.HIGHEST_PRESSURE_PA:
        raise ValueError("above the pressures of the fit")
    return 2.0 * hot / (a + root)


def _limits(rows: Scope) -> None:
    found = ("low-reference", "lowest-reference", "high-reference", "high-lamp-reference")

    def limit(name: str, title: str, text: str, compute: Callable[..., Si], *more: str) -> None:
        rows.row(
            f"precharge-{name}",
            f"precharge {name}",
            f"{title}, gauge, at T0",
            f"{text}-{{constant.atmosphere}}",
            compute,
            *found,
            *more,
            unit="pressure",
            source=cite("un-r13", "span-2000", "accumulator-maker-ratios", *(["trade"] if more else [])),
            status="computed; common-practice" if more else "computed",
            valid="at the reference temperature; bladders and diaphragms",
            guarded=found,
        )

    def gauge(at: int) -> Callable[..., float]:
        return lambda *pressures: pressures[at] - gas.ATMOSPHERE_PA

    limit(
        "low",
        "lowest precharge for service: what the system needs, and no more lost than is common practice",
        "MAX({low-reference},{kept})",
        lambda low, _lowest, _high, _highest, kept: max(low, kept) - gas.ATMOSPHERE_PA,
        "kept",
    )
    limit("lowest", "lowest precharge that leaves the strokes to come", "{lowest-reference}", gauge(1))
    limit("high", "highest precharge for service", "{high-reference}", gauge(2))
    limit("highest", "highest precharge that leaves the strokes to come", "{high-lamp-reference}", gauge(3))
