"""Movement of the pedal: variant A as is common practice, variant B as the maker says."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.rows.common_rows import published
from estimator.limits.rows.methods import Context, Found, from_maker
from estimator.limits.rows.pedal_rows import travel_rows
from estimator.places import Place


def pedal_movement(context: Context, check: Check, place: Place) -> Found:
    """Variant A moves 1 to 1½ in (common practice, no source): too little is a fault as well as too much."""
    travel_rows(context)
    if context.record.car.car.variant == "B":
        return Found(needs=(from_maker(check),))
    least = published(context, "pedal-movement-least", "s least", "length")
    most = published(context, "pedal-movement-most", "s most", "length")
    return Found({"service_low": least.replace(":", "."), "service_high": most.replace(":", ".")})
