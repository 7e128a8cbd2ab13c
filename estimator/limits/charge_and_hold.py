"""How long the pump takes to charge each system, and what a sound system loses in the hold check."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.hydraulics import charge, gas
from estimator.hydraulics.accumulator import gas_volume
from estimator.limits.common_rows import bearing, cite, once, published, total
from estimator.limits.constants import HOLD_TIME_S
from estimator.limits.methods import Context, Found
from estimator.limits.secondary_rows import stroke_rows
from estimator.limits.system_rows import accumulators_of, system_of, system_rows
from estimator.limits.working import CANNOT
from estimator.places import Place

NO_FLOW = "the pump delivers no more than car.toml says leaks: cut-out would never be reached"
NO_LEAKAGE = (
    "car.toml gives no leakage for this system: write what a sound one loses at rest, or the maker's [[limits]]"
)
NO_HOLD = (
    "with the leakage in car.toml the gas of a lost or too high a precharge would be empty of fluid within the check"
)


def charge_time(context: Context, check: Check, place: Place) -> Found:
    """At most as long as the pump takes for what its accumulators hold, charged slowly at their T0."""
    charge_rows(context, place.id)
    return Found({"service_high": f"{place.id}.charge-time"}, reason=NO_FLOW)


def hold_loss(context: Context, check: Check, place: Place) -> Found:
    """At most the pressure that the leakage of a sound system takes in 30 min."""
    hold_rows(context, place.id)
    rows = context.workings.scope(place.id)
    leaks = float(rows.value("leakage")) > 0
    return Found({"service_high": f"{place.id}.hold-loss"}, reason=NO_HOLD if leaks else NO_LEAKAGE)


@once
def supply_rows(context: Context, system_id: str) -> None:
    """The pump's flow at idle and the leakage."""
    system_rows(context, system_id)
    rows, system = context.workings.scope(system_id), system_of(context, system_id)
    rows.datum("displacement", "pump", "displacement of the pump", system.pump.displacement, "volume")
    rows.datum("drive", "drive", "turns of the pump for each of the engine", system.pump.drive_ratio, "1")
    rows.datum("efficiency", "η", "volumetric efficiency of the pump", system.pump.volumetric_efficiency, "1")
    rows.datum("idle", "idle", "engine speed of the check", system.pump.idle_speed, "rpm")
    rows.datum("leakage", "Q leak", "leakage of a sound system at rest, charged", system.leakage, "mL/s")
    rows.row(
        "flow",
        "Q pump",
        "what the pump delivers at that speed",
        "{displacement}*{idle}*{drive}*{efficiency}",
        charge.pump_flow,
        "displacement",
        "idle",
        "drive",
        "efficiency",
        unit="mL/s",
        source=cite("definition"),
        valid="pumps of fixed displacement",
    )
    rows.row(
        "net-flow",
        "Q net",
        "what is left of it above the leakage; not known where the pump delivers no more",
        f'IF({{flow}}>{{leakage}},{{flow}}-{{leakage}},"{CANNOT}")',
        lambda flow, leakage: 1.0 / charge.charge_time(1.0, flow, leakage),
        "flow",
        "leakage",
        unit="mL/s",
        source=cite("definition"),
        valid="leakage at full pressure throughout",
    )


@once
def charge_rows(context: Context, system_id: str) -> None:
    """From zero to cut-out; and after the strokes of the yardstick."""
    supply_rows(context, system_id)
    stroke_rows(context)
    rows = context.workings.scope(system_id)
    names = []
    for item in accumulators_of(context, system_id):
        names.append(f"{item.id}:taken")
        context.workings.scope(item.id).row(
            "taken",
            "V taken",
            "fluid that it takes up from zero to cut-out, slowly, at T0: V0 - V0 p0/p2",
            f"MAX(0,{{volume}}-{{volume}}*{{precharge-abs}}/{{{system_id}:cut-out-abs}})",
            lambda volume, p0, upper: volume - gas_volume(volume, p0, upper),
            "volume",
            "precharge-abs",
            f"{system_id}:cut-out-abs",
            unit="volume",
            source=cite("closing-unit-worksheet"),
            valid="2.6 % below to 5.4 % above real nitrogen at one temperature; charged quickly it takes less",
        )
    rows.row(
        "taken",
        "V taken",
        "fluid from zero to cut-out, all accumulators",
        total(names),
        lambda *parts: sum(parts, 0.0),
        *names,
        unit="volume",
        source=cite("closing-unit-worksheet"),
    )
    rows.row(
        "charge-time",
        "t charge",
        "charge time at most, zero to cut-out",
        "{taken}/{net-flow}",
        lambda taken, flow, leakage, _net: charge.charge_time(taken, flow, leakage),
        "taken",
        "flow",
        "leakage",
        "net-flow",
        unit="time",
        source=cite("definition", "closing-unit-worksheet"),
        valid="pump and leakage as car.toml says, other users isolated, pedal untouched",
    )
    strokes = "yardsticks:warning-strokes"
    most = published(context, "recharge-time", "t recharge most", "time")
    rows.row(
        "recharge",
        "t recharge",
        "time to recharge after the strokes without it: strokes v/Q net",
        f"{{{strokes}}}*{{application}}/{{net-flow}}",
        lambda count, application, net: count * application / net,
        strokes,
        "application",
        "net-flow",
        unit="time",
        source=cite("un-r13h"),
    )
    rows.row(
        "recharge-spare",
        "t to spare",
        f"the yardstick less that time; below 0 it isn't met ({bearing(context, most)})",
        f"{{{most}}}-{{recharge}}",
        lambda limit, time: limit - time,
        most,
        "recharge",
        unit="time",
        source=cite("un-r13h"),
    )


@once
def hold_rows(context: Context, system_id: str) -> None:
    """Leakage in proportion to the pressure, gas at one temperature: leakage.hold_time solved for the pressure."""
    supply_rows(context, system_id)
    rows = context.workings.scope(system_id)
    products = [f"{{{item.id}:volume}}*{{{item.id}:precharge-abs}}" for item in accumulators_of(context, system_id)]
    needs = [
        f"{item.id}:{name}" for item in accumulators_of(context, system_id) for name in ("volume", "precharge-abs")
    ]
    rows.row(
        "energy",
        "gas work",
        "gas volume times precharge at T0, all accumulators: a work",
        "+".join(products),
        lambda *pairs: sum(pairs[at] * pairs[at + 1] for at in range(0, len(pairs), 2)),
        *needs,
        unit="N·m",
        source=cite("boyle"),
    )
    rows.row(
        "leak-share",
        "leak share",
        "share that leaks: 2 Q t p2/(V0 p0)",
        "{constant.two}*{leakage}*{constant.hold-time}*{cut-out-abs}/{energy}",
        lambda leakage, upper, energy: 2.0 * leakage * HOLD_TIME_S * upper / energy,
        "leakage",
        "cut-out-abs",
        "energy",
        unit="1",
        source=cite("fox-mcdonald"),
    )
    rows.row(
        "hold-end",
        "p end",
        "pressure after 30 min, absolute: p2/√(1 + leak share)",
        "{cut-out-abs}/SQRT(1+{leak-share})",
        lambda upper, share: upper / (1.0 + share) ** 0.5,
        "cut-out-abs",
        "leak-share",
        unit="pressure",
        source=cite("fox-mcdonald"),
    )
    rows.row(
        "hold-precharge",
        "p0 at T0",
        "precharge at T0, weighed by volume, absolute",
        "{energy}/{volume}",
        lambda energy, volume: energy / volume,
        "energy",
        "volume",
        unit="pressure",
    )
    rows.row(
        "hold-loss",
        "p loss",
        "pressure that a sound system loses in 30 min, at most",
        "IF(AND({leakage}>0,{hold-precharge}>{constant.gas-lost},{hold-end}>={hold-precharge}),"
        f'{{cut-out-abs}}-{{hold-end}},"{CANNOT}")',
        _loss,
        "leakage",
        "hold-precharge",
        "hold-end",
        "cut-out-abs",
        unit="pressure",
        source=cite("fox-mcdonald"),
        valid="from cut-out, settled, at one temperature; laminar leakage; ideal gas",
    )


def _loss(leakage: float, precharge: float, end: float, upper: float) -> float:
    if leakage <= 0 or precharge <= gas.LOST_PRECHARGE_PA or end < precharge:
        raise ValueError("no leakage, or no fluid left")
    return upper - end
