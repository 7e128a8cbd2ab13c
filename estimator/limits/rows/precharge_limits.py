"""The precharge of each accumulator, two-sided, at its reference temperature; and its age. Absolute pressure inside.

Too low, and the strokes before or after the lamp lights aren't there. Too high, and a hot accumulator is empty of
fluid when the lamp lights. Where one of the four limits can't be had, none is given: a precharge judged on one side
alone could be called good with no gas in it.
"""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.row_table import Row
from estimator.limits.rows.accumulator_rows import accumulator_data, accumulator_of
from estimator.limits.rows.common_rows import published
from estimator.limits.rows.floor_rows import floor_rows
from estimator.limits.rows.methods import Context, Found
from estimator.limits.rows.precharge_rows import high_rows, low_rows
from estimator.places import Place

FOUND = "low-reference lowest-reference high-reference high-lamp-reference"
LIMITS = "un-r13 span-2000 accumulator-maker-ratios"
HOLDS = "at the reference temperature; bladders and diaphragms"
ROOT = "0 to 110 °C, to 18 MPa: within 1.1% of real nitrogen"

# fmt: off
AT_REFERENCE = (
    Row("kept", "p0 kept", "precharge at T0 less the loss at which it is recharged, absolute",
        "{precharge-abs}*(1-{$loss})", "pressure", "trade", status="common-practice"),
    Row("floor", "p0 floor", "do-not-drive share of the manufacturer's precharge, at T0, absolute",
        "{floors:precharge}*{precharge-abs}", "pressure", "trade", "ours; the shop may raise the share", "common-practice"),
    Row("low-reference", "p0 low at T0", "p0 service low of the system, at T0, absolute",
        "{$system:low}*{reference}/{$system:coldest-now}", "pressure", "precharge-page"),
    Row("lowest-reference", "p0 lowest at T0", "p0 lowest of the system, at T0, absolute",
        "{$system:lowest}*{reference}/{$system:coldest-now}", "pressure", "precharge-page"),
    Row("warming", "a", "gas law from T0 to the hottest: T/T0",
        "{$system:hottest-now}/{reference}", "1", "precharge-page"),
    Row("cooler-now", "T cooler now", "the cooler of T0 and the hottest, as read or in use",
        "MIN({reference},{$system:hottest-now})", "temperature"),
    Row("warmer-now", "T warmer now", "the warmer of T0 and the hottest, as read or in use",
        "MAX({reference},{$system:hottest-now})", "temperature"),
    Row("inside-now", "T inside now", "1 if both lie between 0 and 110 °C",
        'IF(AND({cooler-now}>={constant.gas-coldest},{warmer-now}<={constant.gas-hottest}),1,"not known")', "1", "span-2000"),
    Row("heated", "b", "what real nitrogen adds from T0 to the hottest, for each pressure",
        "{inside-now}*{warming}*{constant.heating}/{constant.gas-p-ref}*({$system:hottest-now}-{reference})/100",
        "1/Pa", "span-2000"),
    # The precharge whose pressure at the hottest is known: the root of b p² + a p = p hot.
    Row("high-root", "√ p0 high at T0", "square root for p0 service high of the system at T0: √(a² + 4 b p hot)",
        "SQRT({warming}*{warming}+{constant.four}*{heated}*{$system:high})", "1", "span-2000"),
    Row("high-reference", "p0 high at T0",
        "p0 service high of the system, at T0, absolute: the p of p hot = a p + b p²",
        'IF({$system:high}<={constant.gas-highest},{constant.two}*{$system:high}/({warming}+{high-root}),"not known")',
        "pressure", "span-2000", ROOT),
    Row("high-lamp-root", "√ p0 highest at T0", "square root for p0 highest of the system at T0: √(a² + 4 b p hot)",
        "SQRT({warming}*{warming}+{constant.four}*{heated}*{$system:high-lamp})", "1", "span-2000"),
    Row("high-lamp-reference", "p0 highest at T0",
        "p0 highest of the system, at T0, absolute: the p of p hot = a p + b p²",
        "IF({$system:high-lamp}<={constant.gas-highest},"
        '{constant.two}*{$system:high-lamp}/({warming}+{high-lamp-root}),"not known")', "pressure", "span-2000", ROOT),
    Row("precharge-low", "precharge low",
        "lowest precharge for service: what the system needs, and no more lost than is common practice, gauge, at T0",
        "MAX({low-reference},{kept},{floor})-{constant.atmosphere}",
        "pressure", LIMITS + " trade", HOLDS, "computed; common-practice", guarded=FOUND),
    Row("precharge-lowest", "precharge lowest",
        "lowest precharge for driving: for the applications before and after the lamp, never below the floor, gauge, at T0",
        "MAX({lowest-reference},{floor})-{constant.atmosphere}",
        "pressure", LIMITS + " trade", HOLDS, "computed; common-practice", guarded=FOUND),
    Row("precharge-high", "precharge high", "highest precharge for service, gauge, at T0",
        "{high-reference}-{constant.atmosphere}", "pressure", LIMITS, HOLDS, guarded=FOUND),
    Row("precharge-highest", "precharge highest", "highest precharge that leaves the applications to come, gauge, at T0",
        "{high-lamp-reference}-{constant.atmosphere}", "pressure", LIMITS, HOLDS, guarded=FOUND),
)
# fmt: on
WHY_LOW = (
    "no precharge leaves the applications to come: the lamp comes on below the pressure of secondary braking, an application "
    "takes more than the accumulators give, or a temperature or pressure is outside the formulas (-40 to 110 °C, 18 MPa)"
)
WHY_HIGH = (
    "no highest precharge can be had: the applications to come do not fit into the accumulators, or a temperature or "
    "pressure is outside the formulas (0 to 110 °C, 18 MPa)"
)


def precharge(context: Context, check: Check, place: Place) -> Found:
    """Service band and danger limits at the reference temperature, as a gauge reads them."""
    system = accumulator_of(context, place.id).system
    low_rows(context, system)
    high_rows(context, system)
    _at_reference(context, place.id, system)
    names = {"service_low": "low", "danger_low": "lowest", "service_high": "high", "danger_high": "highest"}
    sides = {side: f"{place.id}.precharge-{name}" for side, name in names.items()}
    return Found(sides, reason=f"{WHY_LOW}; or {WHY_HIGH}")


def accumulator_age(context: Context, check: Check, place: Place) -> Found:
    """The age at which the maker has it exchanged."""
    item = accumulator_of(context, place.id)
    context.workings.scope(place.id).datum(
        "most-age", "age most", "age at which it is replaced", item.most_age, "age", key="[[accumulators]] most_age"
    )
    return Found({"service_high": f"{place.id}.most-age"})


def _at_reference(context: Context, accumulator_id: str, system: str) -> None:
    """The limits at the accumulator's reference temperature, as a gauge reads them."""
    accumulator_data(context, accumulator_id)
    floor_rows(context)
    rows = context.workings.scope(accumulator_id)
    loss = published(context, "precharge-loss-service", "loss", "%")
    rows.add(AT_REFERENCE, system=system, loss=loss)
