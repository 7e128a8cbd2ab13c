"""Whether readings can all be true, as rows: what some foretell of others, and whether these lie beyond it.

A precharge, with the cut-outs read, foretells how long charging takes, and with the lamp how many applications reach it,
be it as read or as set: a lamp that comes on early contradicts no count. A loss in the hold foretells how much may run
into the pan. Tolerances are facts of ours, never the uncertainty of a gauge.
"""

from __future__ import annotations

from estimator.boxes import keys
from estimator.boxes.keys import check_ref
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.row_table import Row
from estimator.limits.rows.charge_and_hold import supply_rows
from estimator.limits.rows.common_rows import listed, published, total
from estimator.limits.rows.methods import Context
from estimator.limits.rows.system_rows import accumulators_of

# The rows that say of a check's readings whether they contradict others; "against" is of the pan.
AGAINST = {
    "applications": ("count-against",),
    "charge-time": ("time-against",),
    "precharge": ("count-against", "time-against"),
    "collected-leakage": ("against",),
    "hold": ("against",),
}
NITROGEN = "-40 to 110 °C, to 18 MPa"

# fmt: off
PRESSURES = (
    Row("said-lowest-$phase", "p cut-out said lowest $phase", "lowest cut-out read $phase work, else as set, absolute",
        "IF(COUNT($cut_outs)=0,{cut-out},MIN($cut_outs))+{constant.atmosphere}", "pressure", "si-brochure",
        without="cut-out"),
    Row("said-highest-$phase", "p cut-out said highest $phase", "highest cut-out read $phase work, else as set, absolute",
        "IF(COUNT($cut_outs)=0,{cut-out},MAX($cut_outs))+{constant.atmosphere}", "pressure", "si-brochure",
        without="cut-out"),
    Row("said-settled-$phase", "p settled said $phase", "the lowest, settled, absolute",
        "{said-lowest-$phase}*(1-{$settling})", "pressure", "trade span-2000"),
    Row("said-upper-$phase", "p upper said $phase", "that, where the formulas reach it",
        "IF(AND({said-settled-$phase}>0,{said-settled-$phase}<={constant.gas-highest}),"
        '{said-settled-$phase},"not known")', "pressure", "span-2000"),
    Row("said-charged-$phase", "p charged said $phase", "the lowest cut-out, where the formulas reach it",
        "IF(AND({said-lowest-$phase}>0,{said-lowest-$phase}<={constant.gas-highest}),"
        '{said-lowest-$phase},"not known")', "pressure", "span-2000"),
    Row("said-lamp-$phase", "p lamp said $phase", "lamp pressure read $phase work or as set, the higher, absolute",
        'IF(COUNT({$lamp},{lamp})=0,"not known",MAX({$lamp},{lamp})+{constant.atmosphere})', "pressure", "si-brochure",
        without="lamp"),
    Row("said-late-$phase", "p late said $phase", "lamp pressure read $phase work or as set, the lower, absolute",
        'IF(COUNT({$lamp},{lamp})=0,"not known",MIN({$lamp},{lamp})+{constant.atmosphere})', "pressure", "si-brochure",
        without="lamp"),
    Row("said-end-$phase", "p end said $phase", "that, where it is a pressure at all",
        'IF({said-late-$phase}>0,{said-late-$phase},"not known")', "pressure"),
    Row("said-top-$phase", "p top said $phase", "the highest cut-out, where it is a pressure at all",
        'IF({said-highest-$phase}>0,{said-highest-$phase},"not known")', "pressure"),
)
GAS = (
    Row("said-warm-$phase", "T gas said $phase", "gas temperature read $phase work", "{$warm}+0", "temperature"),
    Row("said-low-$phase", "p0 said low $phase", "precharge read $phase work, less its tolerance, absolute",
        'IF({$precharge}+{constant.atmosphere}>=0,({$precharge}+{constant.atmosphere})*(1-{$tolerance}),"not known")',
        "pressure", "trade", guarded="$precharge"),
    Row("said-high-$phase", "p0 said high $phase", "precharge read $phase work, with its tolerance, absolute",
        "{said-low-$phase}*(1+{$tolerance})/(1-{$tolerance})", "pressure", "trade"),
    Row("said-cold-$phase", "T n said $phase", "that temperature, for the exponent of a fast discharge",
        "IF(AND({said-warm-$phase}>={constant.fast-coldest},{said-warm-$phase}<={constant.gas-hottest}),"
        '{said-warm-$phase},"not known")', "temperature", "span-2000", "-40 to 110 °C"),
    Row("said-slope-$phase", "n p said $phase", "what each 10 MPa adds to that exponent; more below 0 °C",
        "{constant.fast-p}+{constant.fast-cold}*MAX(0,{constant.cold-below}-{said-cold-$phase})/100", "1", "span-2000",
        guarded="said-cold-$phase"),
    Row("said-base-$phase", "n 0 said $phase", "that exponent before the part of the pressure",
        "{constant.fast-base}+{constant.fast-t}*({said-cold-$phase}-{constant.gas-t-ref})/100", "1", "span-2000"),
    Row("said-n-$phase", "n said $phase", "exponent of a fast discharge from settled to lamp, at that temperature",
        "IF({$system:said-lamp-$phase}<={$system:said-upper-$phase},{said-base-$phase}+{said-slope-$phase}"
        '*SQRT({$system:said-lamp-$phase}*{$system:said-upper-$phase})/{constant.gas-p-ref},"not known")',
        "1", "span-2000", NITROGEN, guarded="$system:said-upper-$phase"),
    Row("said-x-$phase", "x said $phase", "how far the gas expands then",
        "POWER({$system:said-settled-$phase}/{$system:said-lamp-$phase},1/{said-n-$phase})", "1", "span-2000"),
    Row("said-given-$phase", "ΔV said given $phase", "fluid to the lamp, fast, at the low end of p0",
        "{volume}*{said-low-$phase}/{$system:said-settled-$phase}*({said-x-$phase}-1)", "volume", "span-2000", NITROGEN),
    Row("said-room-$phase", "V said room $phase", "fluid held for certain, at the high end of p0",
        "{constant.emptying}*{volume}*(1-{said-high-$phase}/{$system:said-settled-$phase})", "volume", "span-2000"),
    Row("said-fast-$phase", "ΔV said fast $phase", "the lesser of both", "MIN({said-given-$phase},{said-room-$phase})",
        "volume", guarded="said-given-$phase said-room-$phase"),
    Row("said-least-$phase", "ΔV said least $phase", "least fluid to the lamp: that; 0 if the gas is lost",
        "IF({said-low-$phase}<={constant.gas-lost},0,MAX(0,{said-fast-$phase}))",
        "volume", "span-2000", NITROGEN, guarded="said-low-$phase said-fast-$phase"),
    Row("said-best-$phase", "p0 said best $phase", "the precharge within its tolerance that gives most: nearest to the lamp",
        "MIN(MAX({$system:said-end-$phase},{said-low-$phase}),{said-high-$phase})", "pressure",
        guarded="said-low-$phase said-high-$phase $system:said-end-$phase"),
    Row("said-most-$phase", "ΔV said most $phase", "most fluid to the lamp: slow, from the highest cut-out, an ideal gas",
        "MAX(0,MIN({volume},{volume}*{said-best-$phase}/{$system:said-end-$phase})"
        "-{volume}*{said-best-$phase}/{$system:said-top-$phase})",
        "volume", "closing-unit-worksheet", guarded="said-best-$phase"),
    Row("said-start-$phase", "T m said $phase", "that temperature, for the exponent of a quick charge",
        "IF(AND({said-warm-$phase}>={constant.gas-coldest},{said-warm-$phase}<={constant.gas-hottest}),"
        '{said-warm-$phase},"not known")', "temperature", "span-2000", "0 to 110 °C"),
    Row("said-capped-$phase", "p0 said capped $phase", "the high end of p0, at most cut-out",
        "MIN({said-high-$phase},{$system:said-charged-$phase})", "pressure",
        guarded="said-high-$phase $system:said-charged-$phase"),
    Row("said-mean-$phase", "p m said $phase", "the mean of both pressures of that charge",
        "SQRT({said-capped-$phase}*{$system:said-charged-$phase})", "pressure"),
    Row("said-m-$phase", "m said $phase", "exponent of a quick charge to the lowest cut-out",
        "{constant.charging-base}+{constant.charging-t}*({said-start-$phase}-{constant.gas-t-ref})/100"
        "+{constant.charging-p}*{said-mean-$phase}/{constant.gas-p-ref}", "1", "span-2000", "0 to 110 °C, to 18 MPa"),
    Row("said-quick-$phase", "V said quick $phase", "least fluid taken up to cut-out: quickly, at the high end of p0",
        "{volume}*(1-POWER({said-capped-$phase}/{$system:said-charged-$phase},1/{said-m-$phase}))",
        "volume", "span-2000", "0 to 110 °C"),
    Row("said-slow-$phase", "V said slow $phase", "most fluid taken up to cut-out: slowly, at the lowest precharge",
        "MAX(0,{volume}*(1-{said-low-$phase}/{$system:said-top-$phase}))", "volume", "closing-unit-worksheet",
        guarded="said-low-$phase"),
)
FORETOLD = (
    Row("foretold-least-$phase", "count foretold least $phase", "applications that the precharge read foretells, least",
        "INT(($least)/({application}*(1+{$applied})))", "count", "trade span-2000", status="computed; common-practice"),
    Row("foretold-most-$phase", "count foretold most $phase", "applications that the precharge read foretells, most",
        "INT(($most)/({application}*(1-{$applied})))+1", "count", "trade", status="computed; common-practice"),
    Row("count-against-$phase", "count against precharge $phase", "1 if the applications counted lie beyond that",
        "IF(COUNT({$count},{foretold-least-$phase},{foretold-most-$phase})<COUNTA({$count},{foretold-least-$phase},{foretold-most-$phase}),0,"
        "IF(OR({$count}<{foretold-least-$phase},{$count}>{foretold-most-$phase}),1,0))", "count", plain=True,
        without="foretold-least-$phase foretold-most-$phase"),
    Row("foretold-soonest-$phase", "t foretold soonest $phase", "charge time that the precharge read foretells, least",
        "($quick)/({net-flow}*(1+{$delivered}))", "time", "trade span-2000", status="computed; common-practice"),
    Row("foretold-latest-$phase", "t foretold latest $phase", "charge time that the precharge read foretells, most",
        "($slow)/({net-flow}*(1-{$delivered}))", "time", "trade", status="computed; common-practice"),
    Row("time-against-$phase", "charge against precharge $phase", "1 if the charge time read is beyond that",
        "IF(COUNT({$time},{foretold-soonest-$phase},{foretold-latest-$phase})<COUNTA({$time},{foretold-soonest-$phase},{foretold-latest-$phase}),0,"
        "IF(OR({$time}<{foretold-soonest-$phase},{$time}>{foretold-latest-$phase}),1,0))", "count", plain=True,
        without="foretold-soonest-$phase foretold-latest-$phase"),
)
LOST = (
    Row("said-left-$phase", "p left lowest $phase", "pressure at the end of the hold $phase work, less its tolerance, absolute",
        "{$system:left-or-tight-$phase}-{$held}*{$system:cut-out}", "pressure", "trade"),
    Row("said-gas-$phase", "V gas said $phase", "gas volume then, an ideal gas",
        'IF({said-left-$phase}>0,{volume}*{hold-p0-$phase}/{said-left-$phase},"not known")',
        "volume", "closing-unit-worksheet", guarded="said-left-$phase"),
    Row("said-lost-$phase", "ΔV lost most $phase", "most fluid lost in the hold $phase work, an ideal gas",
        "MAX(0,MIN({volume},{said-gas-$phase})-{volume}*{hold-p0-$phase}/{$system:tight-$phase})",
        "volume", "closing-unit-worksheet", guarded="said-gas-$phase hold-p0-$phase $system:tight-$phase"),
)
PAN = (
    Row("foretold-$phase", "V pan foretold $phase", "most that may run into the pan in 30 min by the pressures lost $phase work",
        "$lost", "volume", status="computed; common-practice"),
    Row("against-$phase", "pan against hold $phase", "1 if more ran into the pan",
        "IF(COUNT({$pan},{foretold-$phase})<COUNTA({$pan},{foretold-$phase}),0,IF({$pan}>{foretold-$phase},1,0))",
        "count", plain=True, without="foretold-$phase"),
)
# fmt: on


def conflict_rows(context: Context) -> None:
    """`count-against`, `time-against` in the scope of each system, `against` in that of the pan; each for both phases."""
    shares = {
        name: published(context, fact_id, symbol, "%")
        for name, fact_id, symbol in (
            ("settling", "settles-by", "share settling"),
            ("tolerance", "precharge-tolerance", "share of p0"),
            ("applied", "application-tolerance", "share of v"),
            ("delivered", "delivery-tolerance", "share of Q"),
            ("held", "hold-tolerance", "share held"),
        )
    }
    for system in context.record.car.systems:
        supply_rows(context, system.id)
        for phase in PHASES:
            _system(context, system.id, phase, shares)
    pan = context.workings.scope("pan")
    for phase in PHASES:
        everyone = [item.id for item in context.record.car.accumulators]
        lost = total(f"{one}:said-lost-{phase}" for one in everyone)
        pan.add(PAN, phase=phase, lost=lost, pan=keys.held(check_ref("collected-leakage", "car"), phase))


def _system(context: Context, system: str, phase: str, shares: dict[str, str]) -> None:
    rows = context.workings.scope(system)
    ids = [item.id for item in accumulators_of(context, system)]
    cut_outs = listed(keys.held(check_ref("cut-out", system, number), phase) for number in (1, 2, 3))
    lamp = keys.held(check_ref("lamp-pressure", system), phase)
    rows.add(PRESSURES, phase=phase, cut_outs=cut_outs, lamp=lamp, settling=shares["settling"])
    for one in ids:
        context.workings.scope(one).add(
            GAS,
            phase=phase,
            system=system,
            warm=keys.held(check_ref("gas-temperature", one), phase),
            precharge=keys.held(check_ref("precharge", one), phase),
            tolerance=shares["tolerance"],
        )
        context.workings.scope(one).add(LOST, phase=phase, system=system, held=shares["held"])
    sums = {name: total(f"{one}:said-{name}-{phase}" for one in ids) for name in ("least", "most", "quick", "slow")}
    rows.add(
        FORETOLD,
        phase=phase,
        count=keys.held(check_ref("applications", system), phase),
        time=keys.held(check_ref("charge-time", system), phase),
        applied=shares["applied"],
        delivered=shares["delivered"],
        **sums,
    )
