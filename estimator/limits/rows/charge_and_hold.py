"""How long the pump takes to charge each system, and what a sound system loses in the hold check."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.needs import Need
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import bearing, once, published, total
from estimator.limits.rows.methods import Context, Found
from estimator.limits.rows.secondary_rows import stroke_rows
from estimator.limits.rows.system_rows import accumulators_of, system_of, system_rows
from estimator.places import Place

NO_FLOW = "the pump delivers no more than the car file says leaks: cut-out would never be reached"
NO_HOLD = "with the leakage in the car file the gas of a lost or too high a precharge would be empty of fluid within the check"
CHARGE_SIDES = {"service_low": "least", "service_high": "time", "danger_high": "longest"}

# fmt: off
SUPPLY = (
    Row("flow", "Q pump", "what the pump delivers at that speed", "{displacement}*{idle}*{drive}*{efficiency}",
        "mL/s", "definition", "pumps of fixed displacement"),
    Row("net-flow", "Q net", "what is left of it above the leakage; not known where the pump delivers no more",
        'IF({flow}>{leakage},{flow}-{leakage},"not known")',
        "mL/s", "definition", "leakage at full pressure throughout"),
)
TAKEN = (
    Row("taken", "V taken", "fluid that it takes up from zero to cut-out, slowly, at T0: V0 - V0 p0/p2",
        "MAX(0,{volume}-{volume}*{precharge-abs}/{$system:cut-out-abs})", "volume", "closing-unit-worksheet",
        "2.6% below to 5.4% above real nitrogen at one temperature; charged quickly it takes less"),
)
CHARGE = (
    Row("taken", "V taken", "fluid from zero to cut-out, all accumulators", "$taken",
        "volume", "closing-unit-worksheet"),
    Row("charge-time", "t charge", "charge time at most, zero to cut-out", "{taken}/{net-flow}",
        "time", "definition closing-unit-worksheet",
        "pump and leakage as the car file says, other circuits isolated, pedal untouched"),
    Row("charge-least", "t charge least",
        "charge time at least, half of that: gas charged quickly and hot, at a high idle, takes 0.54 of it",
        "{charge-time}/{constant.two}", "time", "closing-unit-worksheet",
        "a shell full of fluid, or gas at nearly cut-out, is charged in seconds"),
)
FREE_FLOW = (
    Row("free-flow", "V free", "what the pump delivers at no pressure in $seconds, at least: Q t and the share of the idle speed",
        "{flow}*{$seconds_row}*{constant.idle-share}", "volume", "definition",
        "at no pressure a worn pump delivers nearly as much as a sound one: too little is the feed's"),
)
LONGEST = (
    Row("charge-longest", "t charge longest",
        "charge time above which the pump does not make up for one full application in every $seconds: V taken t/v",
        "{taken}*{$interval}/{application}", "time", "trade",
        "ours, no source: stops that follow one another in traffic, the engine at idle", "common-practice"),
)
RECHARGE = (
    Row("recharge", "t recharge", "time to recharge after the applications without it: applications v/Q net",
        "{yardsticks:warning-strokes}*{application}/{net-flow}", "time", "un-r13h"),
    Row("recharge-spare", "t to spare", "the reference value less that time; below 0 it is not met ($bearing)",
        "{$most}-{recharge}", "time", "un-r13h"),
)
HOLD = (
    Row("energy", "gas work", "gas volume times precharge at T0, all accumulators: a work", "$products",
        "N·m", "boyle"),
    Row("leak-share", "leak share", "share that leaks: 2 Q t p2/(V0 p0)",
        "{constant.two}*{leakage}*{constant.hold-time}*{cut-out-abs}/{energy}", "1", "fox-mcdonald"),
    Row("hold-end", "p end", "pressure after 30 min, absolute: p2/√(1 + leak share)",
        "{cut-out-abs}/SQRT(1+{leak-share})", "pressure", "fox-mcdonald"),
    Row("hold-precharge", "p0 at T0", "precharge at T0, weighed by volume, absolute", "{energy}/{volume}", "pressure"),
    Row("hold-loss", "p loss", "pressure that a sound system loses in 30 min, at most",
        "IF(AND({leakage}>0,{hold-precharge}>{constant.gas-lost},{hold-end}>={hold-precharge}),"
        '{cut-out-abs}-{hold-end},"not known")', "pressure", "fox-mcdonald",
        "from cut-out, settled, at one temperature; laminar leakage; ideal gas"),
)
# fmt: on


def charge_time(context: Context, check: Check, place: Place) -> Found:
    """At most as long as the pump takes for what its accumulators hold, charged slowly at their T0, and at least half."""
    charge_rows(context, place.id)
    sides = {name: f"{place.id}.charge-{row}" for name, row in CHARGE_SIDES.items()}
    return Found(sides, NO_FLOW, estimates=("service_low", "service_high"))


def cycle_interval(context: Context, check: Check, place: Place) -> Found:
    """At least the time of the trade: a pump that starts sooner makes up for a leak far above any hold limit."""
    least = published(context, "cycle-interval", "t cycle least", "time")
    return Found({"service_low": least.replace(":", ".")}, estimates=("service_low",))


def free_flow_rows(context: Context, system_id: str) -> None:
    """What a sound pump delivers at no pressure at the stated idle speed, less what that speed is off: for a test."""
    supply_rows(context, system_id)
    time = published(context, "free-flow-time", "t glass", "time")
    seconds = context.record.fact("free-flow-time").text
    context.workings.scope(system_id).add(FREE_FLOW, seconds=seconds, seconds_row=time)


def hold_loss(context: Context, check: Check, place: Place) -> Found:
    """At most the pressure that the leakage of a sound system takes in 30 min."""
    hold_rows(context, place.id)
    leaks = system_of(context, place.id).leakage.si > 0
    needs = () if leaks else (Need.of("[[systems]] leakage", place.id),)
    return Found({"service_high": f"{place.id}.hold-loss"}, NO_HOLD, estimates=("service_high",), needs=needs)


@once
def supply_rows(context: Context, system_id: str) -> None:
    """The pump's flow at idle and the leakage."""
    system_rows(context, system_id)
    rows, system = context.workings.scope(system_id), system_of(context, system_id)
    pump = system.pump
    for name, symbol, title, quantity, unit, key in (
        ("displacement", "pump", "displacement of the pump", pump.displacement, "volume", "displacement"),
        ("drive", "drive", "turns of the pump for each of the engine", pump.drive_ratio, "1", "drive_ratio"),
        (
            "efficiency",
            "η",
            "volumetric efficiency of the pump",
            pump.volumetric_efficiency,
            "1",
            "volumetric_efficiency",
        ),
        ("idle", "idle", "engine speed of the check", pump.idle_speed, "rpm", "idle_speed"),
    ):
        rows.datum(name, symbol, title, quantity, unit, key=f"[systems.pump] {key}")
    rows.datum("leakage", "Q leak", "leakage of a sound system at rest, charged", system.leakage, "mL/s")
    rows.add(SUPPLY)


@once
def charge_rows(context: Context, system_id: str) -> None:
    """From zero to cut-out; and after the strokes of the yardstick."""
    supply_rows(context, system_id)
    stroke_rows(context)
    ids = [item.id for item in accumulators_of(context, system_id)]
    for one in ids:
        context.workings.scope(one).add(TAKEN, system=system_id)
    rows = context.workings.scope(system_id)
    rows.add(CHARGE, taken=total(f"{one}:taken" for one in ids))
    interval = published(context, "stops-interval", "t stops", "time")
    rows.add(LONGEST, interval=interval, seconds=context.record.fact("stops-interval").text)
    most = published(context, "recharge-time", "t recharge most", "time")
    rows.add(RECHARGE, most=most, bearing=bearing(context, most))


@once
def hold_rows(context: Context, system_id: str) -> None:
    """Leakage in proportion to the pressure, gas at one temperature."""
    supply_rows(context, system_id)
    ids = [item.id for item in accumulators_of(context, system_id)]
    products = "+".join(f"{{{one}:volume}}*{{{one}:precharge-abs}}" for one in ids)
    context.workings.scope(system_id).add(HOLD, products=products)
