"""The lowest and the highest precharge of each system, at its coldest and its hottest, as rows. Absolute pressure.

Cut-out, lamp and temperatures are the worst of what was set and read. Several accumulators of a system are taken to be
charged alike.
"""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once, published
from estimator.limits.rows.lamp_limits import lamp_rows
from estimator.limits.rows.methods import Context
from estimator.limits.rows.secondary_rows import STROKES, stroke_rows
from estimator.limits.rows.usable_rows import exponent_row

NEEDS = "-40 to 110 °C, below p0 empty; real nitrogen needs at most 2.7% more"
BLADDERS = "bladders and diaphragms; a piston has no such limit"

# fmt: off
LOW = (
    Row("x-secondary", "x secondary", "how far a gas expands from cut-out to p secondary, fast",
        "POWER({cut-out-most-abs}/{secondary-abs},1/{n-braked})", "1", "span-2000"),
    Row("x-lamp", "x lamp", "how far a gas expands from cut-out to the lamp, fast, both at their widest",
        "POWER({cut-out-most-abs}/{lamp-least-abs},1/{n-wide})", "1", "span-2000"),
    Row("x-settled", "x settled", "how far a gas expands from the lamp, settled, to p secondary, fast",
        "POWER({lamp-least-abs}/{secondary-abs},1/{n-settled})", "1", "span-2000"),
    Row("x-before", "x before", "how far a gas expands from cut-out to the lamp, fast, both at their narrowest",
        "POWER({cut-out-least-abs}/{lamp-most-abs},1/{n-before})", "1", "span-2000"),
    Row("x-stored", "x stored", "how far a gas expands from the least cut-out to p secondary, fast",
        "POWER({cut-out-least-abs}/{secondary-abs},1/{n-stored})", "1", "span-2000"),
    Row("to-come", "V to come", "fluid of the applications to come", f"{{{STROKES}}}*{{application}}", "volume", "un-r13"),
    Row("low-braked", "p0 braked",
        "lowest precharge, cold, that leaves the applications to come at the lamp setting, braked down quickly, absolute",
        "{to-come}*{cut-out-most-abs}/({volume}*({x-secondary}-{x-lamp}))", "pressure", "un-r13 span-2000", NEEDS),
    Row("low-leaked", "p0 leaked",
        "lowest precharge, cold, that leaves the applications to come at the lamp setting, leaked down slowly, absolute",
        "{to-come}*{lamp-least-abs}/({volume}*({x-settled}-1))", "pressure", "un-r13 span-2000", NEEDS),
    Row("low-before", "p0 before",
        "lowest precharge, cold, that gives as many applications from cut-out to the lamp, braked down quickly, absolute",
        "{to-come}*{cut-out-least-abs}/({volume}*({x-before}-1))", "pressure", "trade span-2000",
        "as many applications before the lamp as after it: ours, no source"),
    Row("empty-braked", "p0 empty braked",
        "precharge, cold, above which the fluid runs out before p secondary, absolute",
        "{constant.emptying}*{cut-out-most-abs}/({x-secondary}-1+{constant.emptying})", "pressure", "span-2000"),
    Row("low-found", "p0 low", "the greater of those, never below that of a lost gas, absolute",
        "MAX({low-braked},{low-leaked},{low-before},{constant.gas-lost})",
        "pressure", "un-r13 span-2000", guarded="low-braked low-leaked low-before"),
    Row("room-cut-out", "V room cut-out", "fluid that the accumulators hold for certain at cut-out with that precharge",
        "{constant.emptying}*{volume}*(1-{low-found}/{cut-out-most-abs})", "volume", "span-2000"),
    Row("gas-cut-out", "V gas cut-out", "gas volume at cut-out with that precharge",
        "{volume}*{low-found}/{cut-out-most-abs}", "volume", "span-2000"),
    Row("left-braked", "V left braked", "fluid left at the lamp with that precharge, braked down quickly",
        "MIN({gas-cut-out}*({x-secondary}-1),{room-cut-out})-MIN({gas-cut-out}*({x-lamp}-1),{room-cut-out})",
        "volume", "span-2000", guarded="gas-cut-out x-secondary x-lamp"),
    Row("left-leaked", "V left leaked", "fluid left at the lamp with that precharge, leaked down slowly",
        "MIN({volume}*{low-found}/{lamp-least-abs}*({x-settled}-1),"
        "{constant.emptying}*{volume}*(1-{low-found}/{lamp-least-abs}))", "volume", "span-2000",
        guarded="low-found x-settled"),
    Row("given-before", "V before", "fluid from cut-out to the lamp with that precharge, braked down quickly",
        "MIN({volume}*{low-found}/{cut-out-least-abs}*({x-before}-1),"
        "{constant.emptying}*{volume}*(1-{low-found}/{cut-out-least-abs}))", "volume", "span-2000",
        guarded="low-found x-before"),
    Row("strokes-share", "V share", "the least of those, as a share of that of the applications to come",
        "MIN({left-braked},{left-leaked},{given-before})/{to-come}", "1", guarded="left-braked left-leaked given-before"),
    Row("lowest", "p0 lowest",
        "lowest precharge at the coldest that gives the applications before and after the lamp, absolute; not known where none",
        'IF(ROUND({strokes-share},9)>=1,{low-found},"not known")',
        "pressure", "un-r13 span-2000", "-40 to 110 °C", guarded="low-found strokes-share"),
    Row("low-stored", "p0 stored",
        "precharge, cold, with which the store gives the applications required from cut-out, absolute: a reference value",
        "{yardsticks:strokes-stored}*{application}*{cut-out-least-abs}/({volume}*({x-stored}-1))",
        "pressure", "un-r13h span-2000", status="computed; $stored_status"),
)
SERVICE_LOW = (
    Row("low-ratio", "p0 ratio low", "precharge below which cut-out crushes the bladder, absolute",
        "{cut-out-abs}/{$ratio}", "pressure", "accumulator-maker-ratios", BLADDERS),
    Row("low-counted", "p0 stored counted",
        "that of the stored applications where a precharge gives them, else 0: a reference value never decides alone",
        "IF(COUNT({low-stored},{empty-braked})<COUNTA({low-stored},{empty-braked}),0,"
        "IF({low-stored}<={empty-braked},{low-stored},0))", "pressure", "un-r13h span-2000", plain=True),
    Row("low", "p0 service low", "lowest precharge for service at the coldest: the greatest of those, absolute",
        "MAX({lowest},{low-ratio},{low-counted})",
        "pressure", "un-r13 un-r13h accumulator-maker-ratios", guarded="lowest low-ratio"),
)
HIGH = (
    Row("high-ratio", "p0 ratio high",
        "precharge, hot, above which the bladder strikes the port at cut-in, absolute",
        "{cut-in-abs}/{$ratio}", "pressure", "accumulator-maker-ratios", BLADDERS),
    Row("high-lamp", "p0 highest",
        "precharge, hot, above which the lamp comes on with fewer applications left: p lamp (1 - share held), absolute",
        'IF({held-share}<1,{lamp-least-abs}*(1-{held-share}),"not known")',
        "pressure", "un-r13 span-2000", "0 to 110 °C, to 2,400 psi", guarded="held-share"),
    Row("high", "p0 service high",
        "highest precharge for service at the hottest: the lesser of both, absolute",
        "MIN({high-ratio},{high-lamp})", "pressure", "accumulator-maker-ratios un-r13", guarded="high-lamp"),
)
# fmt: on


@once
def low_rows(context: Context, system_id: str) -> None:
    """The lowest precharge at the coldest that leaves the strokes to come, and the ones of the other yardsticks."""
    lamp_rows(context, system_id)
    stroke_rows(context)
    rows = context.workings.scope(system_id)
    for name, words, lower, upper in (
        ("n-settled", "n lamp to secondary", "secondary-abs", "lamp-least-abs"),
        ("n-braked", "n braked", "secondary-abs", "cut-out-most-abs"),
        ("n-wide", "n wide", "lamp-least-abs", "cut-out-most-abs"),
        ("n-before", "n before", "lamp-most-abs", "cut-out-least-abs"),
        ("n-stored", "n stored", "secondary-abs", "cut-out-least-abs"),
    ):
        exponent_row(context, system_id, name, words, lower, upper, "-now")
    rows.add(LOW, stored_status=context.record.fact("reserve-strokes").status)
    rows.add(SERVICE_LOW, ratio=published(context, "maximum-over-precharge-bladder", "ratio most", "1"))


@once
def high_rows(context: Context, system_id: str) -> None:
    """The highest precharge at the hottest: cut-in stays above it, and the lamp lights while the strokes are there."""
    ratio = published(context, "cut-in-over-precharge", "ratio least", "1")
    context.workings.scope(system_id).add(HIGH, ratio=ratio)
