"""Each system with its accumulators as rows: settings, temperatures, precharge cold and hot. Gas in absolute pressure.

A system's own figures take all its accumulators together: their volumes added, their precharges weighed by volume.
"""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.accumulator_rows import accumulator_data, gas_rows
from estimator.limits.rows.brake_rows import application_rows
from estimator.limits.rows.common_rows import listed, once, total
from estimator.limits.rows.methods import Context
from estimator.limits.rows.worst_rows import worst_settings
from estimator.records import Accumulator, System

ALIKE = "accumulators of one precharge; of several, until the fullest runs out of fluid"

# fmt: off
ABSOLUTE = (
    Row("$setting-abs", "p $setting", "$title, absolute", "{$setting}+{constant.atmosphere}",
        "pressure", "si-brochure", "at sea level; 2.6 psi too high at 1,600 m"),
)
TEMPERATURES = (
    Row("coldest$suffix", "T cold$words", "coldest gas of its accumulators$words", "MIN($coldest)", "temperature"),
    Row("hottest$suffix", "T hot$words", "hottest gas of its accumulators$words", "MAX($hottest)", "temperature"),
    Row("fast-temperature$suffix", "T n$words", "temperature for the exponent of a fast discharge: the coldest$words",
        'IF(AND({coldest$suffix}>={constant.fast-coldest},{coldest$suffix}<={constant.gas-hottest}),'
        '{coldest$suffix},"not known")', "temperature", "span-2000", "-40 to 110 °C"),
    Row("fast-slope$suffix", "n p$words", "what each 10 MPa adds to that exponent; more below 0 °C",
        "{constant.fast-p}+{constant.fast-cold}*MAX(0,{constant.cold-below}-{fast-temperature$suffix})/100",
        "1", "span-2000", "-40 to 110 °C"),
    Row("fast-warmer$suffix", "n warm$words", "what the temperature adds to that exponent",
        "{constant.fast-t}*({fast-temperature$suffix}-{constant.gas-t-ref})/100", "1", "span-2000"),
    Row("fast-base$suffix", "n 0$words", "exponent of a fast discharge before the part of the pressure",
        'IF({cut-out$highest-abs}<={constant.gas-highest},{constant.fast-base}+{fast-warmer$suffix},"not known")',
        "1", "span-2000", "-40 to 110 °C, to 18 MPa"),
)
TOGETHER = (
    Row("volume", "V0 all", "gas volume at precharge", "$volumes", "volume"),
    Row("charged", "V gas", "gas volume at cut-out, settled and cold", "$gases", "volume"),
    Row("cold", "p0 cold", "precharge at the coldest, absolute, weighed by volume",
        "{charged}*{cut-out-abs}/{volume}", "pressure", valid=ALIKE),
    Row("hot", "p0 hot", "precharge at the hottest, absolute, weighed by volume",
        "($hot_products)/{volume}", "pressure", valid=ALIKE),
)
# fmt: on


def system_of(context: Context, system_id: str) -> System:
    return next(item for item in context.record.car.systems if item.id == system_id)


def accumulators_of(context: Context, system_id: str) -> tuple[Accumulator, ...]:
    return tuple(item for item in context.record.car.accumulators if item.system == system_id)


@once
def system_rows(context: Context, system_id: str) -> None:
    """Everything of a system and its accumulators that limits start from."""
    rows, accumulators = context.workings.scope(system_id), accumulators_of(context, system_id)
    ids = [item.id for item in accumulators]
    _settings(context, system_id)
    for accumulator in accumulators:
        accumulator_data(context, accumulator.id)
    for suffix, words, highest in (("", "", ""), ("-now", " now", "-most")):
        ends = {name: listed(f"{one}:{name}{suffix}" for one in ids) for name in ("coldest", "hottest")}
        rows.add(TEMPERATURES, suffix=suffix, words=words, highest=highest, **ends)
    for accumulator in accumulators:
        gas_rows(context, accumulator)
    rows.add(
        TOGETHER,
        volumes=total(f"{one}:volume" for one in ids),
        gases=total(f"{one}:charged" for one in ids),
        hot_products="+".join(f"{{{one}:volume}}*{{{one}:hot}}" for one in ids),
    )
    application_rows(context, system_id, system_id, "cut-out")


def _settings(context: Context, system_id: str) -> None:
    rows, system = context.workings.scope(system_id), system_of(context, system_id)
    for name, title, quantity in (
        ("cut-out", "cut-out", system.cut_out),
        ("cut-in", "cut-in", system.cut_in),
        ("lamp", "lamp setting", system.lamp),
    ):
        rows.datum(
            name,
            f"{title} gauge",
            f"{title}, as a gauge reads it",
            quantity,
            "pressure",
            key=f"[[systems]] {name.replace('-', '_')}",
        )
        rows.add(ABSOLUTE, setting=name, title=title)
    worst_settings(rows, system_id)
