"""Movement of the pedal: the maker says it; beside it the yardstick of the trade for variant A."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.rows.common_rows import published
from estimator.limits.rows.methods import NO_DATUM, Context, Found
from estimator.limits.rows.pedal_rows import travel_rows
from estimator.places import Place

WHY = "the trade's 1 to 1½ in is a reference value and does not decide: write the manufacturer's figure as [[limits]] in car.toml"
WHY_B = f"variant B: the elastomer buffer's movement is the manufacturer's; {NO_DATUM}"


def pedal_movement(context: Context, check: Check, place: Place) -> Found:
    """No limit but the maker's. That variant A moves 1 to 1½ in is common practice, no source."""
    travel_rows(context)
    if context.record.car.car.variant == "B":
        return Found(reason=WHY_B)
    published(context, "pedal-movement-least", "s least", "length")
    published(context, "pedal-movement-most", "s most", "length")
    return Found(reason=WHY)
