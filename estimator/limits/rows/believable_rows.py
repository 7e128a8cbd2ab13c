"""The range beyond which a reading isn't believed, from the car's data and tolerances of ours, as rows.

Beyond it on a dangerous side a reading fails by its limit; on the other it counts as not measured. Tolerances are facts,
never the uncertainty of the gauge that was chosen: a worse gauge would make more believable.
"""

from __future__ import annotations

from collections.abc import Callable

from estimator.facts.checks import Check
from estimator.limits.judging.judging import Believable
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.row_table import Row
from estimator.limits.rows.accumulator_rows import accumulator_data, accumulator_of
from estimator.limits.rows.common_rows import listed, published, wear_of
from estimator.limits.rows.fluid_limits import fluid_class
from estimator.limits.rows.methods import Context
from estimator.limits.rows.pedal_rows import PEDAL, pedal_rows
from estimator.limits.rows.system_rows import system_rows
from estimator.places import Place

BelievableMethod = Callable[[Context, Check, Place], Believable]

# fmt: off
NEW = (
    Row("$part-believed", "$part believed", "a new $part with its tolerance", "{$part-new}+{$tolerance}", "length", "trade",
        status="common-practice"),
)
BOILING = (
    Row("dry-believed", "T dry believed", "dry boiling point of the class with what a fresh bottle may give over it",
        "{$dry}+{$tolerance}", "temperature", "trade cfr-571-116", status="memory"),
)
SETTLED = (
    Row("hold-start-lowest", "p settled lowest", "settled pressure, a share below cut-out", "{cut-out}*(1-{$share})",
        "pressure", "trade span-2000", "a quick top-up settles by 7 to 8%; the rest is the window of cut-out",
        "common-practice"),
    Row("hold-start-highest", "p settled highest", "settled pressure, a share above cut-out", "{cut-out}*(1+{$share})",
        "pressure", "trade", status="common-practice"),
)
RISE = (
    Row("hold-rise", "p rise", "loss of the hold below which the pressure rose by itself: less than nothing by a share of cut-out",
        "-{$share}*{cut-out}", "pressure", "trade", status="common-practice"),
)
OVER = (
    Row("$check-highest", "$check highest", "a share above cut-out: what was settled at cut-out only falls",
        "{cut-out}*(1+{$share})", "pressure", "trade", status="common-practice"),
)
IN_USE = (
    Row("$name-lowest", "T $words lowest", "coldest gas in use, with a tolerance", "{coldest}-{$spread}", "temperature",
        "trade", status="common-practice"),
    Row("$name-highest", "T $words highest", "hottest gas in use, with a tolerance", "{hottest}+{$spread}", "temperature",
        "trade", status="common-practice"),
)
DRIFT = (
    Row("hold-end-lowest-$phase", "T end lowest $phase", "shell at the start, $phase work, cooled as far as one does in 30 min",
        "{$start}-{$drift}", "temperature", "trade", status="common-practice", guarded="$start"),
    Row("hold-end-highest-$phase", "T end highest $phase", "shell at the start, $phase work, warmed as far",
        "{$start}+{$drift}", "temperature", "trade", status="common-practice", guarded="$start"),
)
NEAR = (
    Row("others-coldest-$phase", "T others coldest $phase", "coldest of the others' gas, $phase work; else coldest in use",
        "IF(COUNT($others)=0,{coldest},MIN($others))", "temperature"),
    Row("others-hottest-$phase", "T others hottest $phase", "hottest of the others' gas, $phase work; else hottest in use",
        "IF(COUNT($others)=0,{hottest},MAX($others))", "temperature"),
    Row("gas-lowest-$phase", "T gas lowest $phase", "coldest gas in use or of the others, $phase work, with a tolerance",
        "MAX({coldest},{others-coldest-$phase})-{$spread}", "temperature", "trade", status="common-practice"),
    Row("gas-highest-$phase", "T gas highest $phase", "hottest gas in use or of the others, $phase work, with a tolerance",
        "MIN({hottest},{others-hottest-$phase})+{$spread}", "temperature", "trade", status="common-practice"),
)
COUNT = (
    Row("count-highest", "count highest", "applications that the whole shells of its accumulators would give",
        "INT({volume}/({application}*(1-{$share})))", "count", "trade", status="common-practice"),
)
SHORTEST = (
    Row("shortest-stop", "S shortest", "stop on the best ground: v²/(2 μ g)",
        "{$speed}*{$speed}/({constant.two}*{$mu}*{constant.gravity})", "distance", "trade", status="common-practice"),
)
ZERO = (
    Row("$check-zero", "$check zero", "nothing, by the zero of a gauge", "-{$below}", "$unit", "trade", status="common-practice"),
)
WHOLE = (
    Row("whole", "whole", "one side does not brake at all", "1", "ratio", "definition"),
)
# fmt: on


def _range(context: Context, low: str = "", high: str = "") -> Believable:
    """The same range in both phases, by the references of its rows."""
    labels = [context.workings.rows[ref].label if ref else "" for ref in (low, high)]
    return Believable(*labels, *labels)


def _of_phases(context: Context, low: str, high: str) -> Believable:
    return Believable(*(context.workings.rows[f"{ref}-{phase}"].label for phase in PHASES for ref in (low, high)))


def no_thicker_than_new(context: Context, check: Check, place: Place) -> Believable:
    """Pads and rotors: a new one with its tolerance."""
    wear = wear_of(context, place.id)
    if wear is None:
        return Believable()
    part, new = ("pad", wear.pad_new) if check.id == "pad-thickness" else ("rotor", wear.rotor_new)
    rows = context.workings.scope(place.id)
    if f"{place.id}.{part}-new" not in context.workings.rows:
        rows.datum(f"{part}-new", f"{part} new", f"thickness of a new {part}", new, "length")
    rows.add(NEW, part=part, tolerance=published(context, "thickness-over-new", "over new", "length"))
    return _range(context, high=f"{place.id}.{part}-believed")


def boiling(context: Context, check: Check, place: Place) -> Believable:
    """The dry boiling point of the class with a tolerance."""
    name = fluid_class(context)
    if not name:
        return Believable()
    dry = published(context, f"{name}-boiling-dry", "T dry of the class", "temperature")
    tolerance = published(context, "boiling-over-dry", "T over dry", "K")
    context.workings.scope("fluid").add(BOILING, dry=dry, tolerance=tolerance)
    return _range(context, high="fluid.dry-believed")


def near_cut_out(context: Context, check: Check, place: Place) -> Believable:
    """The settled pressure from which a hold begins."""
    system_rows(context, place.id)
    share = published(context, "hold-start-share", "share settled", "%")
    context.workings.scope(place.id).add(SETTLED, share=share)
    return _range(context, f"{place.id}.hold-start-lowest", f"{place.id}.hold-start-highest")


def not_rising(context: Context, check: Check, place: Place) -> Believable:
    """The loss of a hold: with the engine stopped nothing pumps."""
    system_rows(context, place.id)
    share = published(context, "hold-tolerance", "share held", "%")
    context.workings.scope(place.id).add(RISE, share=share)
    return _range(context, f"{place.id}.hold-rise")


def below_cut_out(context: Context, check: Check, place: Place) -> Believable:
    """Pressures that only a falling pressure reaches: cut-in, lamp."""
    system_rows(context, place.id)
    share = published(context, "over-cut-out", "share over cut-out", "%")
    context.workings.scope(place.id).add(OVER, check=check.id, share=share)
    return _range(context, high=f"{place.id}.{check.id}-highest")


def shell_at_start(context: Context, check: Check, place: Place) -> Believable:
    """A shell as cold as its gas ever is, or as hot."""
    system_rows(context, place.id)
    spread = published(context, "gas-spread", "ΔT gas", "K")
    context.workings.scope(place.id).add(IN_USE, name=check.id, words="start", spread=spread)
    return _range(context, f"{place.id}.{check.id}-lowest", f"{place.id}.{check.id}-highest")


def shell_at_end(context: Context, check: Check, place: Place) -> Believable:
    """A shell warms or cools so much in 30 min, and no more."""
    drift = published(context, "shell-drift", "ΔT shell", "K")
    for phase in PHASES:
        start = f"judging.hold-start-temperature.{place.id}.si_{phase}"
        context.workings.scope(place.id).add(DRIFT, phase=phase, start=start, drift=drift)
    return _of_phases(context, f"{place.id}.hold-end-lowest", f"{place.id}.hold-end-highest")


def near_the_others(context: Context, check: Check, place: Place) -> Believable:
    """Shells that stood side by side at rest are about as warm as one another."""
    accumulator_data(context, place.id)
    rows, own = context.workings.scope(place.id), accumulator_of(context, place.id)
    spread = published(context, "gas-spread", "ΔT gas", "K")
    others = [item.id for item in context.record.car.accumulators if item.id != own.id]
    if not others:
        rows.add(IN_USE, name="gas", words="gas", spread=spread)
        return _range(context, f"{place.id}.gas-lowest", f"{place.id}.gas-highest")
    for phase in PHASES:
        names = listed(f"judging.gas-temperature.{other}.si_{phase}" for other in others)
        rows.add(NEAR, phase=phase, others=names, spread=spread)
    return _of_phases(context, f"{place.id}.gas-lowest", f"{place.id}.gas-highest")


def whole_shells(context: Context, check: Check, place: Place) -> Believable:
    """No more applications than the accumulators hold fluid."""
    system_rows(context, place.id)
    share = published(context, "application-tolerance", "share of v", "%")
    context.workings.scope(place.id).add(COUNT, share=share)
    return _range(context, high=f"{place.id}.count-highest")


def shortest_stop(context: Context, check: Check, place: Place) -> Believable:
    """No stop is shorter than tires and ground allow."""
    speed = published(context, "road-stop-speed", "v road stop", "mph")
    mu = published(context, "adhesion-most", "μ most", "1")
    context.workings.scope("yardsticks").add(SHORTEST, speed=speed, mu=mu)
    return _range(context, "yardsticks.shortest-stop")


def from_zero(context: Context, check: Check, place: Place) -> Believable:
    """What is nothing or more, by a gauge whose zero may be off."""
    below = published(context, f"zero-{check.quantity}", f"zero of {check.quantity}", check.quantity)
    context.workings.scope(place.id).add(ZERO, check=check.id, unit=check.quantity, below=below)
    return _range(context, f"{place.id}.{check.id}-zero")


def at_most_whole(context: Context, check: Check, place: Place) -> Believable:
    """A share of the greater force."""
    context.workings.scope(place.id).add(WHOLE)
    low = from_zero(context, check, place).low_before
    high = context.workings.rows[f"{place.id}.whole"].label
    return Believable(low, high, low, high)


def pedal_travel(context: Context, check: Check, place: Place) -> Believable:
    """The pedal moves no farther than to the floor."""
    pedal_rows(context)
    return _range(context, high=f"{PEDAL}.full-travel")
