"""Each system with its accumulators as rows: settings, temperatures, precharge cold and hot. Gas in absolute pressure.

A system's own figures take all its accumulators together: their volumes added, their precharges weighed by volume.
"""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.limits.accumulator_rows import accumulator_data, charged_rows, precharge_rows
from estimator.limits.brake_rows import application_rows
from estimator.limits.common_rows import cite, once, total
from estimator.limits.methods import Context
from estimator.limits.working import CANNOT
from estimator.records import Accumulator, System


def system_of(context: Context, system_id: str) -> System:
    return next(item for item in context.record.car.systems if item.id == system_id)


def accumulators_of(context: Context, system_id: str) -> tuple[Accumulator, ...]:
    return tuple(item for item in context.record.car.accumulators if item.system == system_id)


@once
def system_rows(context: Context, system_id: str) -> None:
    """Everything of a system and its accumulators that limits start from."""
    _settings(context, system_id)
    for accumulator in accumulators_of(context, system_id):
        accumulator_data(context, accumulator.id)
    _temperatures(context, system_id)
    for accumulator in accumulators_of(context, system_id):
        precharge_rows(context, accumulator)
        charged_rows(context, accumulator)
    _together(context, system_id)
    application_rows(context, system_id, system_id, "cut-out")


def _settings(context: Context, system_id: str) -> None:
    rows, system = context.workings.scope(system_id), system_of(context, system_id)
    for name, title, quantity in (
        ("cut-out", "cut-out", system.cut_out),
        ("cut-in", "cut-in", system.cut_in),
        ("lamp", "lamp setting", system.lamp),
    ):
        rows.datum(name, f"{title} gauge", f"{title}, as a gauge reads it", quantity, "pressure")
        rows.row(
            f"{name}-abs",
            f"p {name}",
            f"{title}, absolute",
            f"{{{name}}}+{{constant.atmosphere}}",
            gas.absolute_pressure,
            name,
            unit="pressure",
            source=cite("si-brochure"),
            valid="at sea level; 2.6 psi too high at 1,600 m",
        )


def _temperatures(context: Context, system_id: str) -> None:
    rows = context.workings.scope(system_id)
    ids = [item.id for item in accumulators_of(context, system_id)]

    def extreme(name: str, symbol: str, title: str, function: str, choose) -> None:
        names = [f"{one}:{name}" for one in ids]
        listed = ",".join(f"{{{one}}}" for one in names)
        expression = f"{function}({listed})"
        rows.row(name, symbol, title, expression, lambda *values: choose(values), *names, unit="temperature")

    extreme("coldest", "T cold", "coldest gas of its accumulators", "MIN", min)
    extreme("hottest", "T hot", "hottest gas of its accumulators", "MAX", max)
    rows.row(
        "fast-temperature",
        "T n",
        "temperature for the exponent of a fast discharge: the coldest",
        f'IF(AND({{coldest}}>={{constant.fast-coldest}},{{coldest}}<={{constant.gas-hottest}}),{{coldest}},"{CANNOT}")',
        _fast_temperature,
        "coldest",
        unit="temperature",
        source=cite("span-2000"),
        valid="-40 to 110 °C",
    )
    rows.row(
        "fast-slope",
        "n p",
        "what each 10 MPa adds to that exponent; more below 0 °C",
        "{constant.fast-p}+{constant.fast-cold}*MAX(0,{constant.cold-below}-{fast-temperature})/100",
        gas.fast_exponent_slope,
        "fast-temperature",
        unit="1",
        source=cite("span-2000"),
        valid="-40 to 110 °C",
    )
    rows.row(
        "fast-warmer",
        "n warm",
        "what the temperature adds to that exponent",
        "{constant.fast-t}*({fast-temperature}-{constant.gas-t-ref})/100",
        lambda kelvin: gas.FAST_EXPONENT_PER_TEMPERATURE * (kelvin - gas.REFERENCE_TEMPERATURE_K) / 100.0,
        "fast-temperature",
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        "fast-base",
        "n 0",
        "exponent of a fast discharge before the part of the pressure",
        f'IF({{cut-out-abs}}<={{constant.gas-highest}},{{constant.fast-base}}+{{fast-warmer}},"{CANNOT}")',
        _fast_base,
        "fast-temperature",
        "cut-out-abs",
        "fast-slope",
        unit="1",
        source=cite("span-2000"),
        valid="-40 to 110 °C, to 18 MPa",
    )


def _fast_temperature(kelvin: float) -> float:
    gas.fast_exponent_slope(kelvin)
    return kelvin


def _fast_base(temperature: float, upper: float, slope: float) -> float:
    return gas.fast_exponent(upper, upper, temperature) - slope * upper / gas.REFERENCE_PRESSURE_PA


def _together(context: Context, system_id: str) -> None:
    """All accumulators of a system as one: for pressures after applications and for the lamp."""
    rows = context.workings.scope(system_id)
    ids = [item.id for item in accumulators_of(context, system_id)]
    volumes = [f"{one}:volume" for one in ids]
    gases = [f"{one}:charged" for one in ids]
    alike = "accumulators of one precharge; of several, until the fullest runs out of fluid"

    def add(name: str, symbol: str, title: str, names: list[str]) -> None:
        rows.row(name, symbol, title, total(names), lambda *parts: sum(parts, 0.0), *names, unit="volume")

    add("volume", "V0 all", "gas volume at precharge", volumes)
    add("charged", "V gas", "gas volume at cut-out, settled and cold", gases)
    rows.row(
        "cold",
        "p0 cold",
        "precharge at the coldest, absolute, weighed by volume",
        "{charged}*{cut-out-abs}/{volume}",
        lambda charged, upper, volume: charged * upper / volume,
        "charged",
        "cut-out-abs",
        "volume",
        unit="pressure",
        valid=alike,
    )
    hot = [name for one in ids for name in (f"{one}:volume", f"{one}:hot")]
    products = "+".join(f"{{{one}:volume}}*{{{one}:hot}}" for one in ids)
    rows.row(
        "hot",
        "p0 hot",
        "precharge at the hottest, absolute, weighed by volume",
        f"({products})/{{volume}}",
        lambda volume, *pairs: sum(pairs[at] * pairs[at + 1] for at in range(0, len(pairs), 2)) / volume,
        "volume",
        *hot,
        unit="pressure",
        valid=alike,
    )
