"""Each accumulator as rows: data, precharge cold and hot, its gas at cut-out. Gas in absolute pressure."""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import EMPTYING_SHARE
from estimator.hydraulics.domain import within
from estimator.limits.common_rows import cite, once
from estimator.limits.methods import Context
from estimator.limits.working import CANNOT
from estimator.records import Accumulator


def accumulator_of(context: Context, accumulator_id: str) -> Accumulator:
    return next(item for item in context.record.car.accumulators if item.id == accumulator_id)


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


def precharge_rows(context: Context, accumulator: Accumulator) -> None:
    """Its precharge at the coldest and the hottest of its system."""
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
    for name, symbol, words, function, compute in (
        ("cooler", "T cooler", "the cooler of T0 and the hottest", "MIN", min),
        ("warmer", "T warmer", "the warmer of T0 and the hottest", "MAX", max),
    ):
        rows.row(
            name, symbol, words, f"{function}({{reference}},{{{hot}}})", compute, "reference", hot, unit="temperature"
        )
    inside = "AND({cooler}>={constant.gas-coldest},{warmer}<={constant.gas-hottest})"
    rows.row(
        "inside",
        "T inside",
        "1 if T0 and the hottest lie between 0 and 110 °C",
        f'IF({inside},1,"{CANNOT}")',
        lambda t0, hottest: 1.0 + heating_share(0.0, t0, hottest),
        "reference",
        hot,
        unit="1",
        source=cite("span-2000"),
    )
    rows.row(
        "hot-added",
        "hot nitrogen",
        "share that real nitrogen adds to the gas law",
        f"{{inside}}*{{constant.heating}}*{{precharge-abs}}/{{constant.gas-p-ref}}*({{{hot}}}-{{reference}})/100",
        lambda _one, p0, t0, hottest: heating_share(p0, t0, hottest),
        "inside",
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


def charged_rows(context: Context, accumulator: Accumulator) -> None:
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
        "gas volume when all fluid that counts is out: the last 5 % isn't counted on",
        "{charged}+{constant.emptying}*({volume}-{charged})",
        lambda charged, volume: charged + EMPTYING_SHARE * (volume - charged),
        "charged",
        "volume",
        unit="volume",
        source=cite("span-2000"),
        valid="-40 to 110 °C",
    )
