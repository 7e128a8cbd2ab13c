"""The pedal and, in variant A, its unpowered circuit, as rows: pressure, travel, and the air that a travel betrays."""

from __future__ import annotations

from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.row_table import Row
from estimator.limits.rows.brake_rows import application_rows
from estimator.limits.rows.common_rows import once, published
from estimator.limits.rows.methods import Context
from estimator.places import PEDAL_CIRCUIT

PEDAL = "pedal"

# fmt: off
MOST = (
    Row("most-travel", "s most", "travel of the pad at most, of the way to the floor",
        "{full-travel}*{$share}", "length", "cfr-570", "reference value: the clause exempts full power brakes (from memory)"),
)
AREA = (
    Row("area", "A", "area of the master cylinder", "PI()*{bore}*{bore}/{constant.four}", "mm²", "definition"),
)
LEFT_OUT = "a bled circuit; friction of linkage and springs not counted"
PRESSURE = (
    Row("pressure", "p test", "pressure of the pedal circuit at the test force, gauge",
        "{force}*{ratio}/{area}", "pressure", "definition", LEFT_OUT),
    Row("pressure-integrity", "p integrity", "pressure of the pedal circuit at the force of the integrity test, gauge",
        "{$integrity}*{ratio}/{area}", "pressure", "definition", LEFT_OUT),
)
TRAVEL = (
    Row("travel", "s", "travel of the pad that the pedal circuit requires at the test force: i v/A",
        "{ratio}*{application}/{area}", "length", "definition",
        "rigid linkage, no free travel, a bled circuit, the whole travel of its pistons"),
    Row("rod", "s rod", "travel of the push rod for it: v/A", "{application}/{area}", "length", "definition"),
    Row("stroke-left", "stroke left",
        "stroke of the master cylinder less that travel; below 0 it bottoms before the brakes are on",
        "{stroke}-{rod}", "length", "definition"),
)
AIR = (
    Row("excess-$phase", "V excess $phase", "fluid of a pedal movement above that travel, $phase work",
        'IF({$read}<0,"not known",MAX(0,{$read}-{travel})*{area}/{ratio})', "volume", "boyle", guarded="$read"),
    Row("air-$phase", "V air $phase",
        "air in the pedal circuit that would explain it, $phase work, at atmospheric pressure",
        "{excess-$phase}*({pressure}+{constant.atmosphere})/{pressure}", "volume", "boyle",
        "when nothing else lengthens the travel: play, soft hoses and wrong pads do the same"),
)
# fmt: on


def has_pedal_circuit(context: Context) -> bool:
    """Whether a master cylinder feeds pistons of this car."""
    return context.record.car.places.pedal_circuit


@once
def pedal_rows(context: Context) -> None:
    """Data of the pedal; the pressure of the pedal circuit at the test force."""
    rows, item = context.workings.scope(PEDAL), context.record.car.pedal
    rows.datum("ratio", "i", "travel of the pad over that of the push rod", item.ratio, "1", key="[pedal] ratio")
    rows.datum(
        "full-travel", "s full", "travel of the pad to the floor", item.full_travel, "length", key="[pedal] full_travel"
    )
    rows.datum("force", "F test", "test force on the pad", item.test_force, "force", key="[pedal] test_force")
    share = published(context, "pedal-travel-share", "share of travel", "%")
    rows.add(MOST, share=share)
    if not has_pedal_circuit(context):
        return
    bore, stroke = item.master_bore, item.master_stroke
    rows.datum("bore", "d", "bore of the master cylinder", bore, "length", key="[pedal] master_bore")
    rows.datum("stroke", "stroke", "stroke of the master cylinder", stroke, "length", key="[pedal] master_stroke")
    rows.add(AREA)
    integrity = published(context, "integrity-pedal-force", "F integrity", "force")
    rows.add(PRESSURE, integrity=integrity)


@once
def travel_rows(context: Context) -> None:
    """Variant A: the travel that the pedal circuit asks for, and the air that a longer one betrays."""
    pedal_rows(context)
    if not has_pedal_circuit(context):
        return
    application_rows(context, PEDAL, PEDAL_CIRCUIT, "pressure")
    rows = context.workings.scope(PEDAL)
    rows.add(TRAVEL)
    for phase in PHASES:
        read = f"judging.pedal-movement.car.si_{phase}"
        if read in context.readings:
            rows.add(AIR, phase=phase, read=read)
