"""Movement of the pedal: the maker says it; beside it the yardstick of the trade for variant A."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.rows.common_rows import published
from estimator.limits.rows.methods import Context, Found, from_maker
from estimator.limits.rows.pedal_rows import travel_rows
from estimator.places import Place


def pedal_movement(context: Context, check: Check, place: Place) -> Found:
    """No limit but the maker's. That variant A moves 1 to 1½ in is common practice, no source."""
    travel_rows(context)
    if context.record.car.car.variant != "B":
        published(context, "pedal-movement-least", "s least", "length")
        published(context, "pedal-movement-most", "s most", "length")
    return Found(needs=(from_maker(check),))
