"""Each system with its accumulators as rows: settings, temperatures, precharge cold and hot. Gas in absolute pressure.

A system's own figures take all its accumulators together: their volumes added, their precharges weighed by volume.
"""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.hydraulics.domain import within
from estimator.limits.brake_rows import application_rows
from estimator.limits.methods import Context
from estimator.limits.shared import cite, once, total
from estimator.limits.working import CANNOT
from estimator.records import Accumulator, System


def system_of(context: Context, system_id: str) -> System:
    return next(item for item in context.record.car.systems if item.id == system_id)


def accumulators_of(context: Context, system_id: str) -> tuple[Accumulator, ...]:
    return tuple(item for item in context.record.car.accumulators if item.system == system_id)


def accumulator_of(context: Context, accumulator_id: str) -> Accumulator:
    return next(item for item in context.record.car.accumulators if item.id == accumulator_id)


@once
def system_rows(context: Context, system_id: str) -> None:
    """Everything of a system and its accumulators that limits start from."""
    _settings(context, system_id)
    for accumulator in accumulators_of(context, system_id):
        accumulator_data(context, accumulator.id)
    _temperatures(context, system_id)
    for accumulator in accumulators_of(context, system_id):
        _precharges(context, accumulator)
        _charged(context, accumulator)
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


@once
def accumulator_data(context: Context, accumulator_id: str) -> None:
    """What car.toml says of an accumulator, and its precharge in absolute pressure."""
    rows, item = context.workings.scope(accumulator_id), accumulator_of(context, accumulator_id)
    rows.datum("volume", "V0", "gas volume at precharge", item.volume, "volume")
    rows.datum("precharge", "p0 gauge", "precharge, as a gauge reads it", item.precharge, "pressure")
    rows.datum("reference", "T0", "gas temperature of that precharge", item.precharge_temperature, "temperature")
    rows.datum("coldest", "T coldest", "coldest gas in use", item.coldest, "temperature")
    rows.datum("hottest", "T hottest", "hottest gas in use", item.hottest, "temperature")
    rows.row(
        "precharge-abs",
        "p0",
        "precharge, absolute",
        "{precharge}+{constant.atmosphere}",
        gas.absolute_pressure,
        "precharge",
        unit="pressure",
        source=cite("si-brochure"),
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
        "temperature for the exponent: the coldest, not below that of the fit",
        "MAX({coldest},{constant.gas-coldest})",
        lambda coldest: max(coldest, gas.COLDEST_K),
        "coldest",
        unit="temperature",
        source=cite("span-2000"),
        valid="0 to 110 °C; a gas at -20 °C gives up to 9 % less volume than is figured, one at -40 °C up to 20 % less",
    )
    rows.row(
        "fast-base",
        "n 0",
        "exponent of a fast discharge before the part of the pressure",
        "IF(AND({fast-temperature}<={constant.gas-hottest},{cut-out-abs}<={constant.gas-highest}),"
        f'{{constant.fast-base}}+{{constant.fast-t}}*({{fast-temperature}}-{{constant.gas-t-ref}})/100,"{CANNOT}")',
        _fast_base,
        "fast-temperature",
        "cut-out-abs",
        unit="1",
        source=cite("span-2000"),
        valid="0 to 110 °C, to 18 MPa",
    )


def _fast_base(temperature: float, upper: float) -> float:
    exponent = gas.fast_exponent(upper, upper, temperature)
    return exponent - gas.FAST_EXPONENT_PER_PRESSURE * upper / gas.REFERENCE_PRESSURE_PA


def _precharges(context: Context, accumulator: Accumulator) -> None:
    rows, system = context.workings.scope(accumulator.id), accumulator.system
    rows.row(
        "cold",
        "p0 cold",
        "precharge at the coldest, absolute: p0 T/T0",
        f"{{precharge-abs}}*{{{system}:coldest}}/{{reference}}",
        gas.precharge_at_temperature,
        "precharge-abs",
        "reference",
        f"{system}:coldest",
        unit="pressure",
        source=cite("precharge-page"),
        valid="within 2 % of real nitrogen from 0 to 40 °C",
    )
    hot = f"{system}:hottest"
    rows.row(
        "hot-law",
        "p0 hot by the gas law",
        "precharge at the hottest by the gas law alone, absolute: p0 T/T0",
        f'IF({{precharge-abs}}<={{constant.gas-highest}},{{precharge-abs}}*{{{hot}}}/{{reference}},"{CANNOT}")',
        _by_gas_law,
        "precharge-abs",
        "reference",
        hot,
        unit="pressure",
        source=cite("precharge-page"),
        valid="to 18 MPa",
    )
    rows.row(
        "hot-added",
        "hot nitrogen",
        "share that real nitrogen adds to the gas law",
        f"IF(AND(MIN({{reference}},{{{hot}}})>={{constant.gas-coldest}},MAX({{reference}},{{{hot}}})<={{constant.gas-hottest}}),"
        f'{{constant.heating}}*{{precharge-abs}}/{{constant.gas-p-ref}}*({{{hot}}}-{{reference}})/100,"{CANNOT}")',
        heating_share,
        "precharge-abs",
        "reference",
        hot,
        unit="1",
        source=cite("span-2000"),
        valid="precharge read and asked for between 0 and 110 °C",
    )
    rows.row(
        "hot",
        "p0 hot",
        "precharge at the hottest, absolute",
        "{hot-law}*(1+{hot-added})",
        lambda p0, t0, hottest, _law, _added: gas.hot_precharge(p0, t0, hottest),
        "precharge-abs",
        "reference",
        hot,
        "hot-law",
        "hot-added",
        unit="pressure",
        source=cite("span-2000"),
        valid="within 1.1 % of real nitrogen, 300 to 1,400 psi, 0 to 110 °C",
    )


def _by_gas_law(pressure: float, temperature: float, new_temperature: float) -> float:
    within(0.0, gas.HIGHEST_PRESSURE_PA, "the fits to real nitrogen", pressure_pa=pressure)
    return gas.precharge_at_temperature(pressure, temperature, new_temperature)


def heating_share(pressure: float, temperature: float, new_temperature: float) -> float:
    """What real nitrogen adds to the gas law when it is warmed, as a share: the middle step of gas.hot_precharge."""
    within(gas.COLDEST_K, gas.HOTTEST_K, "the fits to real nitrogen", first=temperature, second=new_temperature)
    warmer = (new_temperature - temperature) / gas.REFERENCE_WARMING_K
    return gas.HEATING_CORRECTION * pressure / gas.REFERENCE_PRESSURE_PA * warmer


def _charged(context: Context, accumulator: Accumulator) -> None:
    """The gas of one accumulator at cut-out, settled and cold, and when it is as good as empty of fluid."""
    rows, system = context.workings.scope(accumulator.id), accumulator.system
    rows.row(
        "charged",
        "V gas",
        "gas volume at cut-out, settled and cold: V0 p0/p2",
        f"{{volume}}*{{cold}}/{{{system}:cut-out-abs}}",
        lambda volume, cold, upper: volume * cold / upper,
        "volume",
        "cold",
        f"{system}:cut-out-abs",
        unit="volume",
        source=cite("span-2000"),
    )
    rows.row(
        "emptied",
        "V emptied",
        "gas volume when all fluid that counts is out",
        "{charged}+{constant.emptying}*({volume}-{charged})",
        lambda charged, volume: charged + EMPTYING_SHARE * (volume - charged),
        "charged",
        "volume",
        unit="volume",
        source=cite("span-2000"),
        valid="the last 5 % of the fluid isn't counted on",
    )


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
