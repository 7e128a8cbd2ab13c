"""Each accumulator as rows: data, precharge cold and hot, its gas at cut-out. Gas in absolute pressure."""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once
from estimator.limits.rows.methods import Context
from estimator.limits.rows.worst_rows import worst_temperatures
from estimator.records import Accumulator

# fmt: off
ABSOLUTE = (
    Row("precharge-abs", "p0", "precharge, absolute", "{precharge}+{constant.atmosphere}", "pressure", "si-brochure"),
)
GAS = (
    Row("cold", "p0 cold", "precharge at the coldest, absolute: p0 T/T0",
        "{precharge-abs}*{$system:coldest}/{reference}",
        "pressure", "precharge-page", "within 2% of real nitrogen from 0 to 40 °C"),
    Row("hot-law", "p0 hot by the gas law", "precharge at the hottest by the gas law alone, absolute: p0 T/T0",
        'IF({precharge-abs}<={constant.gas-highest},{precharge-abs}*{$system:hottest}/{reference},"not known")',
        "pressure", "precharge-page", "to 18 MPa"),
    Row("cooler", "T cooler", "the cooler of T0 and the hottest", "MIN({reference},{$system:hottest})", "temperature"),
    Row("warmer", "T warmer", "the warmer of T0 and the hottest", "MAX({reference},{$system:hottest})", "temperature"),
    Row("inside", "T inside", "1 if T0 and the hottest lie between 0 and 110 °C",
        'IF(AND({cooler}>={constant.gas-coldest},{warmer}<={constant.gas-hottest}),1,"not known")', "1", "span-2000"),
    Row("hot-added", "hot nitrogen", "share that real nitrogen adds to the gas law",
        "{inside}*{constant.heating}*{precharge-abs}/{constant.gas-p-ref}*({$system:hottest}-{reference})/100",
        "1", "span-2000", "precharge read and specified between 0 and 110 °C"),
    Row("hot", "p0 hot", "precharge at the hottest, absolute", "{hot-law}*(1+{hot-added})",
        "pressure", "span-2000", "within 1.1% of real nitrogen, 300 to 1,400 psi, 0 to 110 °C"),
    Row("charged", "V gas", "gas volume at cut-out, settled and cold: V0 p0/p2",
        "{volume}*{cold}/{$system:cut-out-abs}", "volume", "span-2000"),
    Row("emptied", "V emptied", "gas volume when all fluid that counts is out: the last 5% is not counted on",
        "{charged}+{constant.emptying}*({volume}-{charged})", "volume", "span-2000", "-40 to 110 °C"),
)
# fmt: on


def accumulator_of(context: Context, accumulator_id: str) -> Accumulator:
    return next(item for item in context.record.car.accumulators if item.id == accumulator_id)


@once
def accumulator_data(context: Context, accumulator_id: str) -> None:
    """What car.toml says of an accumulator, and its precharge in absolute pressure."""
    rows, item = context.workings.scope(accumulator_id), accumulator_of(context, accumulator_id)
    t0 = item.precharge_temperature
    for name, symbol, title, quantity, kind, key in (
        ("volume", "V0", "gas volume at precharge", item.volume, "volume", "volume"),
        ("precharge", "p0 gauge", "precharge, as a gauge reads it", item.precharge, "pressure", "precharge"),
        ("reference", "T0", "gas temperature of that precharge", t0, "temperature", "precharge_temperature"),
        ("coldest", "T coldest", "coldest gas in use", item.coldest, "temperature", "coldest"),
        ("hottest", "T hottest", "hottest gas in use", item.hottest, "temperature", "hottest"),
    ):
        rows.datum(name, symbol, title, quantity, kind, key=f"[[accumulators]] {key}")
    rows.add(ABSOLUTE)
    worst_temperatures(rows)


def gas_rows(context: Context, accumulator: Accumulator) -> None:
    """Its precharge at the coldest and the hottest of its system, and its gas at cut-out and when it is emptied."""
    context.workings.scope(accumulator.id).add(GAS, system=accumulator.system)
