"""How much may run into the pan in 30 min: the maker says it; beyond a computed figure the reservoir doesn't last a drive."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import published
from estimator.limits.rows.methods import NO_DATUM, Context, Found
from estimator.places import Place

# fmt: off
EMPTIES = (
    Row("leakage-longest", "V leak most", "leakage in 30 min that empties the reservoir in the stated drive: share V t/t drive",
        "{$share}*{capacity}*{constant.hold-time}/{$drive}", "volume", "trade",
        "ours, no source: leaking all the while as it did at rest", "common-practice"),
)
# fmt: on


def collected_leakage(context: Context, check: Check, place: Place) -> Found:
    """Danger where the reservoir runs dry within a drive."""
    rows = context.workings.scope("fluid")
    rows.datum("capacity", "V fluid", "fluid of the whole car", context.record.car.fluid.capacity, "volume")
    share = published(context, "reservoir-share", "share of the reservoir", "%")
    rows.add(EMPTIES, share=share, drive=published(context, "stated-drive", "t drive", "min"))
    return Found({"danger_high": "fluid.leakage-longest"}, NO_DATUM)
