"""The pressure at which each system's lamp has to light: enough strokes must still come, cold and hot."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.hydraulics import gas, lamp
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.limits.common_rows import bearing, cite, once, published
from estimator.limits.methods import Context, Found
from estimator.limits.secondary_rows import secondary_rows, stroke_rows
from estimator.limits.usable_rows import exponent_row, usable_rows
from estimator.limits.working import CANNOT
from estimator.places import Place

STROKES = "yardsticks:strokes-to-come"
WHY = (
    "with this car's data no lamp pressure leaves the strokes to come: look at precharge, volume, bores and cut-out "
    "in car.toml, and whether its temperatures lie between 0 and 110 °C"
)


def lamp_pressure(context: Context, check: Check, place: Place) -> Found:
    """The greater of what secondary braking needs with the strokes to come, cold, and what they need hot."""
    lamp_rows(context, place.id)
    need = f"{place.id}.lamp-needed"
    return Found({"service_low": need, "danger_low": need}, reason=WHY)


@once
def lamp_rows(context: Context, system_id: str) -> None:
    secondary_rows(context, system_id)
    stroke_rows(context)
    usable_rows(context, system_id, "secondary", "secondary")
    _for_strokes(context, system_id)
    _for_hot_precharge(context, system_id)
    rows = context.workings.scope(system_id)
    rows.row(
        "lamp-needed",
        "p lamp needed",
        "lowest pressure at which the lamp may light, gauge: the greater of both",
        "MAX({lamp-strokes},{lamp-hot})-{constant.atmosphere}",
        lambda strokes, hot: max(strokes, hot) - gas.ATMOSPHERE_PA,
        "lamp-strokes",
        "lamp-hot",
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        valid="-40 to 110 °C; the strokes end at 98.8 % of p secondary or more with real nitrogen",
        guarded=("lamp-strokes", "lamp-hot"),
    )
    share = published(context, "lamp-share-of-normal", "share of normal", "%")
    rows.row(
        "lamp-half",
        "p half",
        f"one half of normal, beside it: share of cut-out, gauge ({bearing(context, share)})",
        f"{{{share}}}*{{cut-out}}",
        lambda part, normal: part * normal,
        share,
        "cut-out",
        unit="pressure",
        source=cite("cfr-571-135"),
    )


def _for_strokes(context: Context, system_id: str) -> None:
    """As lamp.lamp_pressure_for_strokes, step by step; several accumulators count as one."""
    rows = context.workings.scope(system_id)
    rows.row(
        "drawn-at-lamp",
        "ΔV at lamp",
        "fluid drawn when the lamp lights, the strokes to come ending at p secondary; not known where they can't",
        f'IF({{fast-secondary}}>{{{STROKES}}}*{{application}},{{fast-secondary}}-{{{STROKES}}}*{{application}},"{CANNOT}")',
        _drawn_at_lamp,
        "fast-secondary",
        STROKES,
        "application",
        unit="volume",
        source=cite("un-r13"),
        valid="-40 to 110 °C",
        guarded=("fast-secondary", "application"),
    )
    rows.row(
        "gas-at-lamp",
        "V gas at lamp",
        "gas volume then",
        "{charged}+{drawn-at-lamp}",
        lambda charged, drawn: charged + drawn,
        "charged",
        "drawn-at-lamp",
        unit="volume",
        source=cite("span-2000"),
    )
    rows.row(
        "lamp-estimate",
        "p lamp estimate",
        "pressure then with the exponent to p secondary, absolute",
        "{cut-out-abs}*POWER({charged}/{gas-at-lamp},{n-secondary})",
        lambda upper, charged, volume, n: upper * (charged / volume) ** n,
        "cut-out-abs",
        "charged",
        "gas-at-lamp",
        "n-secondary",
        unit="pressure",
        source=cite("span-2000"),
    )
    exponent_row(context, system_id, "n-lamp-needed", "n lamp needed", "lamp-estimate", "cut-out-abs")
    rows.row(
        "lamp-strokes",
        "p lamp strokes",
        "pressure at which the lamp must light for the strokes to come, cold, absolute",
        "{cut-out-abs}*POWER({charged}/{gas-at-lamp},{n-lamp-needed})",
        lambda upper, charged, volume, n: upper * (charged / volume) ** n,
        "cut-out-abs",
        "charged",
        "gas-at-lamp",
        "n-lamp-needed",
        unit="pressure",
        source=cite("un-r13", "span-2000"),
        valid="accumulators of one precharge; of several, on the safe side",
    )


def _drawn_at_lamp(fast: float, strokes: float, application: float) -> float:
    if fast <= strokes * application:
        raise ValueError("even from cut-out that many strokes pass the pressure of secondary braking")
    return fast - strokes * application


def _for_hot_precharge(context: Context, system_id: str) -> None:
    rows = context.workings.scope(system_id)
    rows.row(
        "held-share",
        "share held",
        "share of the accumulators that the strokes to come fill: strokes v/(0.95 V0)",
        f"{{{STROKES}}}*{{application}}/({{constant.emptying}}*{{volume}})",
        lambda strokes, application, volume: strokes * application / (EMPTYING_SHARE * volume),
        STROKES,
        "application",
        "volume",
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        "lamp-hot",
        "p lamp hot",
        "pressure below which hot accumulators no longer hold the strokes to come, absolute",
        f'IF({{held-share}}<1,{{hot}}/(1-{{held-share}}),"{CANNOT}")',
        lambda volume, hot, application, strokes, _share: lamp.lamp_pressure_for_hot_precharge(
            volume, hot, application, int(strokes)
        ),
        "volume",
        "hot",
        "application",
        STROKES,
        "held-share",
        unit="pressure",
        source=cite("span-2000"),
        valid="0 to 110 °C, to 2,400 psi",
        guarded=("held-share",),
    )
